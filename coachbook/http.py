"""The typed request of our views, and reading keys from it."""

import uuid
from urllib.parse import urljoin

from django.conf import settings
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


def mailed_link(request: HttpRequest, path: str) -> str:
    """The whole address of a page for a mail or a calendar: whoever asks may write any host into a request."""
    return urljoin(settings.SITE_ADDRESS, path) if settings.SITE_ADDRESS else request.build_absolute_uri(path)
