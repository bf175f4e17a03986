"""The manager's room."""

from django.apps import AppConfig


class CaseloadConfig(AppConfig):
    """No rows of its own."""

    name = "coachbook.caseload"
