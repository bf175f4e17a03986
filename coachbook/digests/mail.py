"""The words of a digest: how many of what, and links; never a name, nor a word of a record."""

from collections.abc import Mapping
from urllib.parse import urljoin

from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.urls import reverse

from coachbook.accounts.models import Academy, User
from coachbook.digests.models import Kind
from coachbook.digests.unsubscribe import off_token

# How a count of each kind is said: of one, and of several.
COUNTED = {
    Kind.MESSAGES: ("message that you have not read", "messages that you have not read"),
    Kind.NOTES: ("note that came with practice", "notes that came with practice"),
    Kind.ABSENCES: ("report that a student cannot come", "reports that a student cannot come"),
    Kind.SHEETS: ("new practice sheet", "new practice sheets"),
    Kind.CHANGES: ("lesson planned, moved or cancelled", "lessons planned, moved or cancelled"),
    Kind.TOMORROW: ("lesson tomorrow", "lessons tomorrow"),
    Kind.PRACTICE: ("practice day today", "practice days today"),
}


def count_words(kind: Kind, count: int) -> str:
    """A count in words: "2 messages that you have not read"."""
    one, several = COUNTED[kind]
    return f"{count} {one if count == 1 else several}"


def address(name: str, *args: str) -> str:
    """The whole address of a page."""
    return urljoin(settings.SITE_ADDRESS, reverse(name, args=args))


def digest_mail(person: User, news: Mapping[Kind, int], academy: Academy) -> EmailMessage:
    """The mail. Its headers are those of RFC 8058, with which a mail program switches it off by one tap.

    `Auto-Submitted` (RFC 3834) keeps the machines that answer mail from answering this one.
    """
    off = address("mails_off", off_token(person))
    lines = [(count_words(kind, count), address("mails_off", off_token(person, kind))) for kind, count in news.items()]
    context = {"person": person, "academy": academy, "lines": lines, "site": address("home"), "off": off}
    headers = {
        "List-Unsubscribe": f"<{off}>",
        "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
        "Auto-Submitted": "auto-generated",
    }
    subject = " ".join(f"Something waits for you at {academy.name}".split())
    text = render_to_string("digests/mail.txt", {**context, "account": address("mails")})
    return EmailMessage(subject, text, None, [person.email], headers=headers)
