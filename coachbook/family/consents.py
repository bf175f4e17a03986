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
        "The coaches of the academy may take photos and films of {name} in lessons, to look at the stroke. This site "
        "keeps single pictures without place or camera, and shows them to {name}, the guardians, the coaches who teach "
        "{name} and the managers, and to nobody else. It keeps no films."
    ),
    Consent.Purpose.SHARING: (
        "A covering coach or an assistant coach may read {name}’s record while they teach {name}. Without this "
        "consent no coach but the main coach reads it. The managers of the academy read it in any case."
    ),
}
# What is said in place of a text where nobody is asked, or nobody any more.
NOT_ASKED = {
    Consent.Purpose.EMAIL: "Nobody is asked this any more: people choose their own e-mail, each in their account.",
    Consent.Purpose.SHARING: (
        "Only guardians are asked this, for as long as they decide. A covering coach or an assistant coach reads the "
        "record of an adult while they teach them."
    ),
}


@dataclass(frozen=True)
class PurposeConsents:
    """One purpose with its text, the consent in force, and those that were withdrawn, the newest first."""

    purpose: str
    label: str
    is_asked: bool
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
    can_prove = user.email and not user.has_added_address and has_mail_server()
    return SEEN.format(name=student.name, or_mail=OR_MAIL if can_prove else "")


def asked_purposes(*, is_junior: bool) -> list[Consent.Purpose]:
    """What consent is asked for: for an adult nothing that would change nothing."""
    return [Consent.Purpose.PHOTOS, Consent.Purpose.SHARING] if is_junior else [Consent.Purpose.PHOTOS]


def consent_text(purpose: str, student: Student) -> str:
    """The text that is shown, and stored, when consent is asked for."""
    return TEXTS[Consent.Purpose(purpose)].replace("{name}", student.name)


def consents_of(student: Student, *, is_junior: bool) -> list[PurposeConsents]:
    """The purposes with the student's consents for each; one that is asked no more, only where there were some."""
    rows = list(student.consents.select_related("given_by").order_by("-given_at", "-pk"))
    asked = asked_purposes(is_junior=is_junior)
    shown = {*TEXTS, *(row.purpose for row in rows)}
    return [
        consents_for(purpose, student, [row for row in rows if row.purpose == purpose], is_asked=purpose in asked)
        for purpose in Consent.Purpose
        if purpose in shown
    ]


def consents_for(purpose: Consent.Purpose, student: Student, rows: list[Consent], *, is_asked: bool) -> PurposeConsents:
    """One purpose with its own rows."""
    current = next((row for row in rows if row.withdrawn_at is None), None)
    withdrawn = [row for row in rows if row.withdrawn_at]
    text = consent_text(purpose, student) if is_asked else NOT_ASKED[purpose]
    return PurposeConsents(purpose.value, str(purpose.label), is_asked, text, current, withdrawn)


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
