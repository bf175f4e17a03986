"""Which kinds a person may switch on, and switching them on and off."""

from collections.abc import Collection
from datetime import date, datetime

from django.db import transaction

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Academy, Student, StudentQuerySet, User
from coachbook.accounts.relationships import Viewer, junior_condition, relationship_conditions
from coachbook.digests.models import DigestConsent, Kind

FAMILY = {Kind.MESSAGES, Kind.SHEETS, Kind.CHANGES, Kind.TOMORROW, Kind.PRACTICE}
COACH = {Kind.MESSAGES, Kind.NOTES, Kind.ABSENCES, Kind.CHANGES, Kind.TOMORROW}


def text_of(kind: Kind) -> str:
    """The text to which somebody consents."""
    return f"An e-mail, one a day at most, when there are {kind.label}. It says how many, and nothing of what they say."


def students_for(user: User, academy: Academy, on: date, permission: Permission) -> StudentQuerySet:
    """The students for whom a person who is not signed in has a permission on a day."""
    return gate.students_with(relationship_conditions(Viewer.of(user), academy, on), permission)


def own_students(user: User, academy: Academy, on: date) -> StudentQuerySet:
    """Those for whom a person decides: themselves once of age, and the children whose guardian they are."""
    return students_for(user, academy, on, Permission.GIVE_CONSENT)


def is_junior_account(user: User, academy: Academy, on: date) -> bool:
    """Whether it is the account of a junior, for whom guardians decide, who get the mails in their place."""
    return Student.objects.filter(junior_condition(academy, on), user=user).exists()


def kinds_for(user: User, academy: Academy, on: date) -> list[Kind]:
    """The kinds that a person may switch on, by what they are at the academy."""
    if is_junior_account(user, academy, on):
        return []
    kinds = COACH if user.is_coach else set()
    if own_students(user, academy, on).exists():
        kinds = kinds | FAMILY
    if user.is_manager:
        kinds = kinds | {Kind.MESSAGES}
    return [kind for kind in Kind if kind in kinds]


def switched_on(user: User) -> dict[Kind, datetime]:
    """The kinds that are on, each with since when."""
    rows = user.digest_consents.filter(withdrawn_at=None).values_list("kind", "given_at")
    return {Kind(kind): given_at for kind, given_at in rows}


@transaction.atomic
def switch(user: User, wanted: Collection[Kind], offered: Collection[Kind], at: datetime) -> None:
    """Have just these kinds on, of those that were offered; what is on already stays as it was consented to."""
    switch_off(user, set(offered) - set(wanted), at)
    for kind in sorted(set(wanted) & set(offered)):
        values = {"text_shown": text_of(kind), "given_at": at}
        DigestConsent.objects.get_or_create(person=user, kind=kind, withdrawn_at=None, defaults=values)


def switch_off(user: User, kinds: Collection[Kind], at: datetime) -> None:
    """Switch kinds off, at once; what is off already stays as it is."""
    user.digest_consents.filter(kind__in=list(kinds), withdrawn_at=None).update(withdrawn_at=at)
