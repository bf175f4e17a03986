"""Guardians, consent and messages."""

from django.apps import AppConfig


class FamilyConfig(AppConfig):
    """Its one model is the message; consents and guardianships belong to the accounts, since the gate reads them."""

    name = "coachbook.family"
