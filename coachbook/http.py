"""The request as our views know it, and what comes in with it."""

import uuid

from django.http import HttpRequest
from django_htmx.middleware import HtmxDetails

from coachbook.accounts.models import Academy, User


class Request(HttpRequest):
    """A signed-in person's request: the middleware saw to all three."""

    user: User
    htmx: HtmxDetails
    academy: Academy


def as_key(word: str) -> uuid.UUID | None:
    """A key as it came in, unless it is none."""
    try:
        return uuid.UUID(word)
    except ValueError:
        return None
