"""The app of e-mail notices."""

from django.apps import AppConfig


class DigestsConfig(AppConfig):
    """Which kinds each person switched on, and the digests that were sent."""

    name = "coachbook.digests"
