"""The one-time code on a slip of paper, for somebody without an e-mail address: typed once, in place of a link."""

import re
import secrets
from datetime import datetime
from typing import NamedTuple

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction

from coachbook.accounts.models import Invitation, User
from coachbook.accounts.tokens import hash_token, new_token

# No two look alike, on paper or in a child's hand, and without vowels they spell no word. 12 of them: 50 random bits.
ALPHABET = "BCDFGHJKMNPRSTWXYZ"
GROUPS, LETTERS = 3, 4


def new_code() -> str:
    """Twelve letters in three groups."""
    return " ".join("".join(secrets.choice(ALPHABET) for _ in range(LETTERS)) for _ in range(GROUPS))


def normalise(code: str) -> str:
    """The letters of a code alone: capitals, spaces and dashes do not matter."""
    return re.sub(r"[^A-Z]", "", code.upper())


class Slip(NamedTuple):
    """The two ways into one invitation that a slip offers: a code to type, and the token of a link to scan."""

    code: str
    token: str


@transaction.atomic
def issue_slip(user: User, *, by: User, at: datetime) -> Slip:
    """Create an invitation with a code, and return what is printed, which is not stored; one way used ends both."""
    token, code = Invitation.issue(user, by=by, at=at), new_code()
    Invitation.record_shown(token, by)
    Invitation.objects.filter(token_hash=hash_token(token)).update(code_hash=make_password(normalise(code)))
    return Slip(code, token)


def find_by_code(username: str, code: str, at: datetime) -> Invitation | None:
    """The invitation with this code; an unknown name takes as much work as a wrong code."""
    usable = Invitation.objects.filter(accepted_at=None, expires_at__gt=at, user__is_active=True).exclude(code_hash="")
    invitation = usable.filter(user__username__iexact=username).select_related("user").first()
    if invitation is None:
        make_password(normalise(code))
        return None
    return invitation if check_password(normalise(code), invitation.code_hash) else None


def exchange_for_token(invitation: Invitation) -> str:
    """A new token, in exchange for a right code: its link leads to the page where the person chooses a password."""
    token = new_token()
    invitation.token_hash = hash_token(token)
    invitation.save(update_fields=["token_hash"])
    return token
