"""The invented academy."""

from django.apps import AppConfig


class DemoConfig(AppConfig):
    """No rows of its own."""

    name = "coachbook.demo"
