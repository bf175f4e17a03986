"""People and how they belong together. Who may do what with these rows is decided in gate.py alone."""

from coachbook.accounts.models.academy import Academy
from coachbook.accounts.models.base import Area, Areas, Keyed, PlayingSides, Side, known, sides_known, some_area
from coachbook.accounts.models.consent import Consent, Invitation
from coachbook.accounts.models.people import Coach, Student, StudentQuerySet, User
from coachbook.accounts.models.relationships import Care, Guardianship, Pause

__all__ = [
    "Academy",
    "Area",
    "Areas",
    "Care",
    "Coach",
    "Consent",
    "Guardianship",
    "Invitation",
    "Keyed",
    "Pause",
    "PlayingSides",
    "Side",
    "Student",
    "StudentQuerySet",
    "User",
    "known",
    "sides_known",
    "some_area",
]
