"""The site itself: its commands, template tags and checks."""

from django.apps import AppConfig


class SiteConfig(AppConfig):
    """No rows of its own."""

    name = "coachbook"

    def ready(self) -> None:
        """Register the checks."""
        from coachbook import checks  # noqa: F401  # only after every app is loaded
