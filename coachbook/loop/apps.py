"""The room of the loop's screens."""

from django.apps import AppConfig


class LoopConfig(AppConfig):
    """No rows of its own."""

    name = "coachbook.loop"
