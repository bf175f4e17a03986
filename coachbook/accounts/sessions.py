"""How long somebody stays signed in on a device, the list of those devices, and how all of them are signed out."""

from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from typing import Any, NamedTuple

from allauth.usersessions.models import UserSession
from django.conf import settings
from django.contrib.auth import logout, update_session_auth_hash
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from coachbook.accounts.models import User

BEGAN, SEEN = "began", "seen"  # keys in the session: when it began, and when it was last used, in seconds since 1970
STEPS = 24  # use is noted in steps of the idle limit, so that few requests write
NO_ADDRESS = "0.0.0.0"  # nosec B104 # nothing listens there

BROWSERS = {
    "Edge": ("Edg",), "Opera": ("OPR", "Opera"), "Samsung Internet": ("Samsung",), "Firefox": ("Firefox", "FxiOS"),
    "Chrome": ("Chrome/", "Chrome on", "CriOS"), "Safari": ("Safari",),
}  # fmt: skip
SYSTEMS = {
    "an iPhone": ("iPhone",), "an iPad": ("iPad",), "Android": ("Android",), "Windows": ("Windows",),
    "a Mac": ("Mac",), "a Chromebook": ("CrOS", "Chromebook"), "Linux": ("Linux",),
}  # fmt: skip


class Limits(NamedTuple):
    """After how many seconds without use, and after how many in any case, a person signs in again."""

    idle: float
    absolute: float


def limits_of(user: User) -> Limits:
    """The limits by what a person is; somebody who is several has the strictest."""
    role = "manager" if user.is_manager else "coach" if user.is_coach else "others"
    return Limits(*(limit.total_seconds() for limit in settings.SESSION_LIMITS[role]))


def begin_session(request: HttpRequest, **kwargs: Any) -> None:
    """Note when a session begins: a receiver of `user_logged_in`."""
    request.session[BEGAN] = request.session[SEEN] = timezone.now().timestamp()


def is_over(began: float, seen: float, limits: Limits, at: datetime) -> bool:
    """Whether a session has come to one of its limits."""
    now = at.timestamp()
    return now - seen > limits.idle or now - began > limits.absolute


def continue_session(request: HttpRequest, user: User, at: datetime) -> None:
    """Sign out whose session has come to its end, and note that the others are used."""
    began, seen = (request.session.get(key, 0.0) for key in (BEGAN, SEEN))
    limits = limits_of(user)
    if is_over(began, seen, limits, at):
        logout(request)
    elif at.timestamp() - seen > limits.idle / STEPS:
        request.session[SEEN] = at.timestamp()
        with suppress(DatabaseError):  # a database that takes no writes still lets people read
            request.session.save()
        request.session.modified = False


def session_limits(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """The middleware that ends sessions."""

    def middleware(request: HttpRequest) -> HttpResponse:
        if isinstance(request.user, User):
            continue_session(request, request.user, timezone.now())
        return get_response(request)

    return middleware


def end_sessions(user: User, at: datetime) -> None:
    """Sign a person out on every device, for good: the hash in their sessions no longer fits."""
    user.sessions_ended_at = at
    user.save(update_fields=["sessions_ended_at"])
    UserSession.objects.filter(user=user).delete()


def end_other_sessions(request: HttpRequest, user: User, at: datetime) -> None:
    """Sign a person out on every device but this one."""
    end_sessions(user, at)
    update_session_auth_hash(request, user)
    UserSession.objects.create_from_request(request)


def device_words(user_agent: str) -> str:
    """A device in plain words, such as "Chrome on Android"; words that were made by this stay as they are."""
    browser = next((name for name, marks in BROWSERS.items() if any(mark in user_agent for mark in marks)), "A browser")
    system = next((name for name, marks in SYSTEMS.items() if any(mark in user_agent for mark in marks)), "")
    return f"{browser} on {system}" if system else browser


def keep_little(instance: UserSession, **kwargs: Any) -> None:
    """Keep of a device what its owner reads, and no address: a receiver of `pre_save`."""
    instance.ip, instance.user_agent = NO_ADDRESS, device_words(instance.user_agent)
