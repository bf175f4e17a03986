"""The room of mistakes put right."""

from django.apps import AppConfig


class AmendsConfig(AppConfig):
    """Its one row is an amendment: what was put right, by whom, and how to undo it."""

    name = "coachbook.amends"
