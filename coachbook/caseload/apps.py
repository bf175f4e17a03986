"""The manager's room."""

from django.apps import AppConfig


class CaseloadConfig(AppConfig):
    """Its own rows are the rules of the list of who needs attention, and what was put off in it."""

    name = "coachbook.caseload"
