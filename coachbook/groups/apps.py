"""The app of group sessions."""

from django.apps import AppConfig


class GroupsConfig(AppConfig):
    """Its one table holds what is the same for everyone in a group."""

    name = "coachbook.groups"
