"""Consent: the words in which it is asked, and giving and withdrawing it."""

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from coachbook.accounts.models import Consent, Student, User

# Each consent keeps the words that it was given to: to change them here changes no row.
WORDS = {
    Consent.Purpose.PHOTOS: (
        "The coaches of the academy may take photos and films of {name} during lessons, to look at the stroke. They "
        "stay in this book, for the coaches, the student and the guardians. They are shown to nobody else."
    ),
    Consent.Purpose.EMAIL: (
        "The academy may send e-mail about {name}’s lessons and practice. A link to sign in, which somebody asks for, "
        "is sent in any case."
    ),
    Consent.Purpose.SHARING: (
        "A second coach, who stands in for {name}’s own coach or helps, may read {name}’s record while they teach "
        "{name}. Without this only the main coach and the managers of the academy read it."
    ),
}


@dataclass(frozen=True)
class Asked:
    """One purpose, as a student's page shows it."""

    purpose: str
    label: str
    words: str
    standing: Consent | None
    withdrawn: list[Consent]


def words_for(purpose: str, student: Student) -> str:
    """What is shown, and kept, when consent is asked for."""
    return WORDS[Consent.Purpose(purpose)].replace("{name}", student.name)


def asked_of(student: Student) -> list[Asked]:
    """Every purpose with what was given for it, the newest first."""
    rows = list(student.consents.select_related("given_by").order_by("-given_at", "-pk"))
    return [asked(purpose, student, [row for row in rows if row.purpose == purpose]) for purpose in Consent.Purpose]


def asked(purpose: Consent.Purpose, student: Student, rows: list[Consent]) -> Asked:
    """One purpose with its own rows."""
    standing = next((row for row in rows if row.withdrawn_at is None), None)
    withdrawn = [row for row in rows if row.withdrawn_at]
    return Asked(purpose.value, str(purpose.label), words_for(purpose, student), standing, withdrawn)


def give_consent(*, student: Student, purpose: str, by: User, at: datetime) -> Consent:
    """Give consent; where it stands already, it stays as it was given."""
    told = {"given_by": by, "given_at": at, "text_shown": words_for(purpose, student)}
    consent, _ = Consent.objects.get_or_create(student=student, purpose=purpose, withdrawn_at=None, defaults=told)
    return consent


@transaction.atomic
def withdraw_consent(*, student: Student, purpose: str, at: datetime) -> None:
    """Withdraw what stands for a purpose, at once; the row stays."""
    for consent in student.consents.filter(purpose=purpose, withdrawn_at=None):
        consent.withdrawn_at = at
        consent.save(update_fields=["withdrawn_at"])
