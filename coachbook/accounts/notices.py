"""Letting people know that something changed in how they sign in: by mail, and at their next sign-in."""

import logging
from datetime import datetime
from zoneinfo import ZoneInfo

from allauth.account.models import EmailAddress
from django.contrib import messages
from django.core.mail import send_mail
from django.db import transaction
from django.http import HttpRequest
from django.template.loader import render_to_string

from coachbook.accounts.models import Academy, NewAddress, SignInChange, User

logger = logging.getLogger(__name__)


def record_change(user: User, what: SignInChange.What, at: datetime, *, email: str = "") -> None:
    """Keep what changed, and mail it to the person; `email` is the address that they had before."""
    change = SignInChange.objects.create(user=user, what=what, at=at)
    if address := email or user.email:
        transaction.on_commit(lambda: mail_change(change, address))


def record_new_address(user: User, before: str, at: datetime) -> None:
    """End that the address of before signs in, and let the person know there that it was changed."""
    if before.casefold() == user.email.casefold():
        return
    NewAddress.objects.filter(user=user).delete()
    EmailAddress.objects.filter(user=user).exclude(email__iexact=user.email).delete()
    if before:
        record_change(user, SignInChange.What.EMAIL, at, email=before)


def mail_change(change: SignInChange, address: str) -> None:
    """Mail a change; what has been done stands, whether or not the mail goes out."""
    academy = Academy.current()
    context = {"change": change, "academy": academy, "at": change.at.astimezone(ZoneInfo(academy.time_zone))}
    try:
        send_mail("A change of your sign-in", render_to_string("accounts/mail/change.txt", context), None, [address])
    except OSError:  # smtplib's errors are OSErrors, too
        logger.warning("A mail about a changed sign-in could not be sent.")


def show_changes(request: HttpRequest, user: User, at: datetime) -> None:
    """Show on the first page after signing in what changed since the last time, once."""
    zone = ZoneInfo(Academy.current().time_zone)
    unseen = user.sign_in_changes.filter(shown_at=None)
    for change in unseen:
        day = f"{change.at.astimezone(zone):%-d %B %Y, %H:%M}"
        messages.info(request, f"{change.get_what_display()} on {day}. If that was not you, ask a manager at once.")
    unseen.update(shown_at=at)
