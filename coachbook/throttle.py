"""How many forms one signed-in person may send in a minute.

Counted in the memory of each process, so that no form waits for it: with four processes somebody may send at most four
times as much. Where CACHE_URL is set, all processes count together, as they always do what guards passwords
(accounts/limits.py).
"""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.conf import settings
from django.core.cache import caches
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from coachbook.accounts.models import User
from coachbook.views import too_many

PERIOD = 60  # seconds


def is_within(limit: int, what: str, user: User, at: datetime) -> bool:
    """Count one form, and say whether there were no more than the limit in the last minute.

    Of the minute before, the part counts that is not over: else twice as many could come around its turn.
    """
    counts, (minute, passed) = caches["posts"], divmod(at.timestamp(), PERIOD)
    now, before = (f"{what}:{user.key}:{number}" for number in (minute, minute - 1))
    counts.add(now, 0, timeout=2 * PERIOD)
    sent, earlier = int(counts.incr(now)), min(int(counts.get(before, 0)), limit)
    return sent + earlier * (1 - passed / PERIOD) <= limit


class Throttle:
    """The middleware: only who sends something is counted."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass on: the page is known later."""
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> HttpResponse | None:
        """Nothing, or a page that keeps what was typed."""
        user, page = request.user, request.resolver_match
        if request.method != "POST" or not isinstance(user, User):
            return None
        at, names = timezone.now(), {"all", page.url_name if page else ""}
        limits = {name: limit for name, limit in settings.POSTS_A_MINUTE.items() if name in names}
        within = [is_within(limit, name, user, at) for name, limit in limits.items()]
        return None if all(within) else too_many(request)
