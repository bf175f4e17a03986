"""The typed request of our views, and reading keys from it."""

import uuid

from django.http import HttpRequest
from django_htmx.middleware import HtmxDetails

from coachbook.accounts.models import Academy, Student, User


class Request(HttpRequest):
    """A signed-in person's request; the middleware sets these."""

    user: User
    htmx: HtmxDetails
    academy: Academy
    juniors_read: list[Student]  # those whose record a manager reads with this request


def parse_key(text: str) -> uuid.UUID | None:
    """The key in a text, or None if it is no key."""
    try:
        return uuid.UUID(text)
    except ValueError:
        return None
