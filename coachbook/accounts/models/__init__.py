"""People, their relationships and their consents. Who may do what with these rows is decided in gate.py alone."""

from coachbook.accounts.models.academy import Academy
from coachbook.accounts.models.base import (
    Area,
    AreaFlags,
    KeyedModel,
    PlayingSides,
    Side,
    covers_an_area,
    is_one_of,
    sides_are_valid,
)
from coachbook.accounts.models.consent import Consent
from coachbook.accounts.models.invitation import Invitation
from coachbook.accounts.models.people import Coach, Student, StudentQuerySet, User
from coachbook.accounts.models.relationships import Care, Guardianship, Pause, pauses_and_guardians, with_coaches

__all__ = [
    "Academy",
    "Area",
    "AreaFlags",
    "Care",
    "Coach",
    "Consent",
    "Guardianship",
    "Invitation",
    "KeyedModel",
    "Pause",
    "PlayingSides",
    "Side",
    "Student",
    "StudentQuerySet",
    "User",
    "covers_an_area",
    "is_one_of",
    "pauses_and_guardians",
    "sides_are_valid",
    "with_coaches",
]
