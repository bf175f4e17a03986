"""Mail to those concerned; a mail server that fails never stops the change."""

from collections.abc import Iterable

from django.core.mail import send_mass_mail
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, User
from coachbook.corrections.approvals.people import readable_requests
from coachbook.corrections.approvals.wording import describe, outcome_words
from coachbook.corrections.models import ApprovalRequest
from coachbook.http import mailed_link


def mail_request(row: ApprovalRequest, http: HttpRequest, academy: Academy) -> None:
    """Mail everybody who was notified of a request: that it waits, or what became of it."""
    on = academy.today(timezone.now())
    notified = User.objects.filter(pk__in=row.notices.values("person"), is_active=True)
    people = [person for person in notified if readable_requests(person, academy, on).filter(pk=row.pk).exists()]
    context = {
        "row": row,
        "academy": academy,
        "wording": describe(row, academy, on),
        "outcome": outcome_words(row),
        "link": mailed_link(http, reverse("approval", args=[row.key])),
    }
    state = "A change is waiting for a second person" if row.is_waiting else "A change was decided"
    text = render_to_string("corrections/approvals/mail.txt", context)
    send(f"{state}, {academy.name}", text, addresses(row, people))


def addresses(row: ApprovalRequest, people: Iterable[User]) -> list[str]:
    """Everybody's address, and the earlier one of an account whose address is about to change or has changed."""
    own = {person.email for person in people} | {row.facts.get("email", "")}
    return sorted(own - {""})


def send(subject: str, text: str, to: list[str]) -> None:
    """A mail to each alone, so that nobody reads the addresses of others."""
    try:
        send_mass_mail([(" ".join(subject.split()), text, None, [address]) for address in to])
    except OSError:  # smtplib's errors are OSErrors, too: the notice on the site stands in any case
        return
