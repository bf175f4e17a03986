"""The room of people and of the one gate."""

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """Its label is not allauth's, which is `account`."""

    name = "coachbook.accounts"
    label = "accounts"
