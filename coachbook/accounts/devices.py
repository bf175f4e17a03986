"""Devices from which somebody signed in before: a signed cookie names the accounts, none of them by name."""

import secrets
from datetime import timedelta

from django.conf import settings
from django.core import signing
from django.db.models import Q
from django.http import HttpRequest, HttpResponseBase

from coachbook.accounts.models import User

SALT = "known device"
KEPT = timedelta(days=400)  # as long as browsers keep a cookie at most: RFC 6265bis, "The Max-Age Attribute"
ACCOUNTS = 8  # on one device; beyond that the earliest is left out


def read_devices(request: HttpRequest) -> dict[str, str]:
    """For each account that was signed in here, by its key, the random id under which it knows this device."""
    cookie = request.COOKIES.get(settings.KNOWN_DEVICE_COOKIE_NAME, "")
    try:
        return dict(signing.loads(cookie, salt=SALT, max_age=KEPT))
    except (signing.BadSignature, ValueError):
        return {}


def known_device(request: HttpRequest, name: str) -> str:
    """The id of this device if the account with this e-mail or user name was signed in on it before, or ""."""
    devices = read_devices(request)
    if not devices:
        return ""
    of_name = Q(username__iexact=name) | Q(email__iexact=name)
    user = User.objects.filter(of_name, key__in=devices).only("key").first()
    return devices[str(user.key)] if user else ""


def remember_device(request: HttpRequest, response: HttpResponseBase, user: User) -> None:
    """Let this device be known to the account that has just been signed in."""
    devices = read_devices(request)
    device = devices.pop(str(user.key), "") or secrets.token_urlsafe(16)
    kept = dict([*devices.items(), (str(user.key), device)][-ACCOUNTS:])
    response.set_cookie(
        settings.KNOWN_DEVICE_COOKIE_NAME,
        signing.dumps(kept, salt=SALT),
        max_age=KEPT,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )
