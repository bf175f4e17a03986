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
from coachbook.accounts.models.cache_entry import CacheEntry
from coachbook.accounts.models.consent import Consent
from coachbook.accounts.models.invitation import Invitation
from coachbook.accounts.models.new_address import NewAddress
from coachbook.accounts.models.people import Coach, Student, StudentQuerySet, User
from coachbook.accounts.models.record_view import RecordView, store_record_views
from coachbook.accounts.models.relationships import Care, Guardianship, Pause, pauses_and_guardians, with_coaches
from coachbook.accounts.models.sign_in_change import SignInChange

__all__ = [
    "Academy",
    "Area",
    "AreaFlags",
    "CacheEntry",
    "Care",
    "Coach",
    "Consent",
    "Guardianship",
    "Invitation",
    "KeyedModel",
    "NewAddress",
    "Pause",
    "PlayingSides",
    "RecordView",
    "Side",
    "SignInChange",
    "Student",
    "StudentQuerySet",
    "User",
    "covers_an_area",
    "is_one_of",
    "pauses_and_guardians",
    "sides_are_valid",
    "store_record_views",
    "with_coaches",
]
