"""The room of sessions with several students."""

from django.apps import AppConfig


class GroupsConfig(AppConfig):
    """Its one row is what was said to all of a group."""

    name = "coachbook.groups"
