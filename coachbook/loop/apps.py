"""The room of the loop's screens."""

from django.apps import AppConfig


class LoopConfig(AppConfig):
    """Its one row is the take-home sheet."""

    name = "coachbook.loop"
