"""A new address for one's own account: mailed to it is a link, and it counts once its owner has opened that.

The link works only for whoever is signed in to the account. Else a stranger to whom a mistyped address belongs could
open it, and then choose a new password by mail.
"""

import logging
from datetime import datetime

from django.core.mail import send_mail
from django.db import IntegrityError, transaction
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.urls import reverse

from coachbook.accounts.models import Academy, NewAddress, SignInChange, User
from coachbook.accounts.notices import record_change, record_new_address
from coachbook.accounts.tokens import hash_token
from coachbook.http import mailed_link

logger = logging.getLogger(__name__)


def ask_for_address(request: HttpRequest, user: User, email: str, at: datetime) -> bool:
    """Mail a link to the address; whether it went out. An address that somebody else has gets a mail without one.

    To whoever asked both look the same: nobody learns here who has an account.
    """
    link = mailed_link(request, reverse("address_confirm", args=[NewAddress.issue(user, email, at)]))
    is_taken = User.objects.filter(email__iexact=email).exclude(pk=user.pk).exists()
    context = {"person": user, "academy": Academy.current(), "link": "" if is_taken else link}
    try:
        send_mail("Your new e-mail address", render_to_string("accounts/mail/address.txt", context), None, [email])
    except OSError:  # smtplib's errors are OSErrors, too
        logger.warning("A mail about a new address could not be sent.")
        return False
    return True


def waiting_address(user: User, at: datetime) -> NewAddress | None:
    """The address for which the person's link can still be opened."""
    return NewAddress.objects.waiting(at).filter(user=user).first()


def find_new_address(user: User, token: str, at: datetime) -> NewAddress | None:
    """The address that this token confirms, for the person who asked, while nobody else has it."""
    found = NewAddress.objects.waiting(at).filter(user=user, token_hash=hash_token(token)).first()
    if found is None or User.objects.filter(email__iexact=found.email).exclude(pk=user.pk).exists():
        return None
    return found


def confirm_address(new: NewAddress, user: User, at: datetime) -> bool:
    """Use the address from now on, and let the earlier one know; False where somebody else took it meanwhile."""
    before = user.email
    user.email = user.added_address = new.email
    try:
        with transaction.atomic():
            user.save(update_fields=["email", "added_address"])
            new.delete()
            record_new_address(user, before, at)
            if not before:
                record_change(user, SignInChange.What.EMAIL, at)
    except IntegrityError:
        return False
    return True
