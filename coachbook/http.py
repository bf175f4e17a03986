"""The request as our views know it."""

from django.http import HttpRequest
from django_htmx.middleware import HtmxDetails

from coachbook.accounts.models import Academy, User


class Request(HttpRequest):
    """A signed-in person's request: the middleware saw to all three."""

    user: User
    htmx: HtmxDetails
    academy: Academy
