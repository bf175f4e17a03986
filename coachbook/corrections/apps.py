"""Corrections of what was recorded wrongly."""

from django.apps import AppConfig


class CorrectionsConfig(AppConfig):
    """Its one model, `Correction`, says what was corrected, by whom, and how to undo it."""

    name = "coachbook.corrections"
    label = "amends"  # stays as it was first called: tables and stored migrations have this prefix
