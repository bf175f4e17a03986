"""Changes that waited long enough take effect with the next request that may write."""

from collections.abc import Callable
from typing import cast

from django.http import HttpRequest, HttpResponseBase
from django.utils import timezone

from coachbook.corrections.approvals.deciding import settle_due
from coachbook.corrections.approvals.mail import mail_request
from coachbook.http import Request


class SettleDue:
    """Before a signed-in person's POST, make the changes whose time has come: nothing is written on a GET."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Settle first, then answer."""
        if request.method == "POST" and request.user.is_authenticated:
            academy = cast(Request, request).academy
            for row in settle_due(academy, timezone.now()):
                mail_request(row, request, academy)
        return self.get_response(request)
