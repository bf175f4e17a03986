"""Consent: the text for which it is asked, and giving and withdrawing it."""

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from coachbook.accounts.links import link_chains
from coachbook.accounts.models import Care, Consent, Guardianship, Student, User
from coachbook.accounts.outgoing import has_mail_server

# Each consent keeps the text to which it was given: changing a text here changes no row.
TEXTS = {
    Consent.Purpose.PHOTOS: (
        "The coaches of the academy may take photos and films of {name} during lessons, to look at the stroke. Only "
        "the coaches, the student and the guardians see them."
    ),
    Consent.Purpose.EMAIL: (
        "The academy may send e-mail about {name}’s lessons and practice. E-mails for signing in, which somebody asks "
        "for, are sent in any case."
    ),
    Consent.Purpose.SHARING: (
        "A covering coach or an assistant coach may read {name}’s record while they teach {name}. Without this consent "
        "only the main coach and the managers of the academy read it."
    ),
}


@dataclass(frozen=True)
class PurposeConsents:
    """One purpose with its text, the consent in force, and those that were withdrawn, the newest first."""

    purpose: str
    label: str
    text: str
    current: Consent | None
    withdrawn: list[Consent]


SELF_MADE = (
    "You added yourself as a guardian. Before you can consent, another manager must remove you and add you again."
)
SEEN = (
    "A coach of {name}, or whoever added you as a guardian, saw the link that opened your account. So consent cannot "
    "be given from it yet. Ask a manager who does not coach {name} to hand over a new link{or_mail}."
)
OR_MAIL = "; or sign out, and choose a new password by e-mail with “Forgot your password?”"


def consent_problem(user: User, student: Student) -> str:
    """Why a consent that this person gives for a student is not their own beyond doubt, or an empty text.

    It is not, where the link to their account was seen by a coach of the student, of now or before, or by whoever made
    them a guardian: these could have opened the account themselves. Who decides at all is for the gate.
    """
    chain = link_chains([user])[user.pk]
    if Guardianship.objects.filter(student=student, guardian=user, made_by=user).exists():
        return SELF_MADE
    others = chain - {user.pk}
    coached = Care.objects.filter(student=student, coach__user__in=others)
    added = Guardianship.objects.filter(student=student, guardian=user, made_by__in=others)
    if not others or not (coached.exists() or added.exists()):
        return ""
    return SEEN.format(name=student.name, or_mail=OR_MAIL if user.email and has_mail_server() else "")


def consent_text(purpose: str, student: Student) -> str:
    """The text that is shown, and stored, when consent is asked for."""
    return TEXTS[Consent.Purpose(purpose)].replace("{name}", student.name)


def consents_of(student: Student) -> list[PurposeConsents]:
    """Every purpose with the student's consents for it."""
    rows = list(student.consents.select_related("given_by").order_by("-given_at", "-pk"))
    return [
        consents_for(purpose, student, [row for row in rows if row.purpose == purpose]) for purpose in Consent.Purpose
    ]


def consents_for(purpose: Consent.Purpose, student: Student, rows: list[Consent]) -> PurposeConsents:
    """One purpose with its own rows."""
    current = next((row for row in rows if row.withdrawn_at is None), None)
    withdrawn = [row for row in rows if row.withdrawn_at]
    return PurposeConsents(purpose.value, str(purpose.label), consent_text(purpose, student), current, withdrawn)


def give_consent(*, student: Student, purpose: str, by: User, at: datetime) -> Consent:
    """Give consent; one that is in force already stays as it was given."""
    values = {"given_by": by, "given_at": at, "text_shown": consent_text(purpose, student)}
    consent, _ = Consent.objects.get_or_create(student=student, purpose=purpose, withdrawn_at=None, defaults=values)
    return consent


@transaction.atomic
def withdraw_consent(*, student: Student, purpose: str, at: datetime) -> None:
    """Withdraw the consent for a purpose, at once; the row stays."""
    for consent in student.consents.filter(purpose=purpose, withdrawn_at=None):
        consent.withdrawn_at = at
        consent.save(update_fields=["withdrawn_at"])
