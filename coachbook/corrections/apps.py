"""Mistakes put right."""

from django.apps import AppConfig


class CorrectionsConfig(AppConfig):
    """Its one row says what was put right, by whom, and how to undo it."""

    name = "coachbook.corrections"
    label = "amends"  # the name of its tables and migrations since the first version
