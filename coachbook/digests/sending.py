"""Sending the digests of a day.

"Never twice" and "at least once" cannot both hold: a crash, or a mail server that falls silent, can lie between
handing a mail over and knowing that it was taken. Here *never twice* wins. The row of a person and day is stored
before the mail is handed over, and the database lets no second one be stored, so that of two runs one sends. A row
of which the end is not known stays as it is: that person gets no other digest on that day. What it counted is
counted again on the next day, for only a digest that the mail server has taken moves the moment since which things
are new.

What was certainly not taken is no such case: the mail server was not there, or it said no. Then the row says so, and
the next run replaces it.
"""

import logging
import smtplib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.core.mail import EmailMessage, get_connection
from django.core.mail.backends.base import BaseEmailBackend
from django.db import IntegrityError, transaction
from django.utils import timezone

from coachbook.accounts.models import Academy, User
from coachbook.digests.gather import people_due
from coachbook.digests.mail import digest_mail
from coachbook.digests.models import KEPT, Digest, Kind

logger = logging.getLogger(__name__)
Due = Sequence[tuple[User, Mapping[Kind, int]]]
# Errors after which the mail was certainly not taken: the server answered, and its answer was no.
SAID_NO = (
    smtplib.SMTPRecipientsRefused,
    smtplib.SMTPSenderRefused,
    smtplib.SMTPDataError,
    smtplib.SMTPNotSupportedError,
)
PERMANENT = 500  # the first code of RFC 5321 for "no, and do not ask again"


@dataclass(frozen=True)
class Run:
    """One run: the academy, its day, and the moment up to which things are counted."""

    academy: Academy
    day: date
    at: datetime


def send_digests(at: datetime) -> tuple[int, int]:
    """Send everything that is due; how many were sent, and how many are kept for the next run."""
    academy = Academy.current()
    with timezone.override(ZoneInfo(academy.time_zone)):
        run = Run(academy, academy.today(at), at)
        due = people_due(academy, at)
        states = send_all(due, run, get_connection())
    kept = [person for person, state in states.items() if state in KEPT]
    # What else is kept from an earlier run was sent now, or has been read meanwhile.
    Digest.objects.kept().exclude(person__in=kept).delete()
    return sum(state == Digest.State.SENT for state in states.values()), len(kept)


def send_all(due: Due, run: Run, connection: BaseEmailBackend) -> dict[int, str]:
    """Send one after the other; where nobody answers, all others are kept. The states, by the id of the person."""
    states: dict[int, str] = {}
    try:
        for number, (person, news) in enumerate(due):
            if not is_reachable(connection):
                return states | {other.pk: keep(other, run) for other, _ in due[number:]}
            mail = digest_mail(person, news, run.academy)
            if digest := claim(person, run):
                states[person.pk] = deliver(digest, mail, connection)
    finally:
        connection.close()
    return states


def is_reachable(connection: BaseEmailBackend) -> bool:
    """Whether the mail server is there, and lets us in."""
    try:
        connection.open()
    except OSError as error:  # smtplib's errors are OSErrors, too
        logger.warning("The mail server cannot be reached: %s", type(error).__name__)
        return False
    return True


def claim(person: User, run: Run) -> Digest | None:
    """Store that the digest of this day is being sent, or None where another run does, or did, send it."""
    try:
        with transaction.atomic():
            Digest.objects.kept().filter(person=person, day=run.day).delete()
            return Digest.objects.create(person=person, day=run.day, at=run.at, state=Digest.State.SENDING)
    except IntegrityError:
        return None


def keep(person: User, run: Run) -> str:
    """Store that the digest could not be sent; returns the state, which is another where another run sent it."""
    values = {"at": run.at, "state": Digest.State.FAILED}
    return Digest.objects.get_or_create(person=person, day=run.day, defaults=values)[0].state


def deliver(digest: Digest, mail: EmailMessage, connection: BaseEmailBackend) -> str:
    """Hand the mail over, and store what became of it; returns the state."""
    try:
        connection.send_messages([mail])
    except SAID_NO as error:
        connection.close()
        digest.state = refusal(error)
    except OSError as error:  # the line broke: whether the mail was taken nobody knows
        connection.close()
        logger.warning("The mail server fell silent: %s", type(error).__name__)
        return digest.state
    else:
        digest.state = Digest.State.SENT
    digest.save(update_fields=["state"])
    return digest.state


def refusal(error: Exception) -> Digest.State:
    """Whether the server refuses the address for good, or does not take the mail now."""
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        codes = [code for code, _ in error.recipients.values()]
        if all(code >= PERMANENT for code in codes):
            return Digest.State.REFUSED
    return Digest.State.FAILED
