"""The app by which one student's data leave the site."""

from django.apps import AppConfig


class RightsConfig(AppConfig):
    """Its own rows are the erasures that are planned, and those that were carried out."""

    name = "coachbook.rights"
