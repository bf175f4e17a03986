"""The app of the outbox."""

from django.apps import AppConfig


class OutboxConfig(AppConfig):
    """Which entries of outboxes were answered."""

    name = "coachbook.outbox"
