"""The room of guardians and children."""

from django.apps import AppConfig


class FamilyConfig(AppConfig):
    """Its one row is a message; consents and guardianships are rows of the accounts, since the gate reads them."""

    name = "coachbook.family"
