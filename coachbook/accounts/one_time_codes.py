"""The short code on a slip of paper, for somebody who has no e-mail: typed once, in place of a link."""

import re
import secrets
from datetime import datetime

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction

from coachbook.accounts.models import Invitation, User
from coachbook.accounts.models.consent import hashed

# No two look alike, on paper or in a child's hand, and without vowels they spell no word. 12 of them: 50 random bits.
ALPHABET = "BCDFGHJKMNPRSTWXYZ"
GROUPS, LETTERS = 3, 4


def fresh_code() -> str:
    """Twelve letters in three groups."""
    return " ".join("".join(secrets.choice(ALPHABET) for _ in range(LETTERS)) for _ in range(GROUPS))


def bare(code: str) -> str:
    """The letters of a code alone: capitals, spaces and dashes do not matter."""
    return re.sub(r"[^A-Z]", "", code.upper())


@transaction.atomic
def issue_code(user: User, *, by: User, at: datetime) -> str:
    """Make a fresh invitation with a code, and return the code, which is not kept."""
    token, code = Invitation.issue(user, by=by, at=at), fresh_code()
    Invitation.objects.filter(token_hash=hashed(token)).update(code_hash=make_password(bare(code)))
    return code


def find_by_code(username: str, code: str, at: datetime) -> Invitation | None:
    """The invitation that this code opens; a name without one costs as much work as a wrong code."""
    waiting = Invitation.objects.filter(accepted_at=None, expires_at__gt=at, user__is_active=True).exclude(code_hash="")
    found = waiting.filter(user__username__iexact=username).select_related("user").first()
    if found is None:
        make_password(bare(code))
        return None
    return found if check_password(bare(code), found.code_hash) else None


def trade_in(invitation: Invitation) -> str:
    """A fresh token for a person whose code was right: it opens the page where they choose a password."""
    token = secrets.token_urlsafe(32)
    invitation.token_hash = hashed(token)
    invitation.save(update_fields=["token_hash"])
    return token
