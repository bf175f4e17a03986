"""The addresses by which a mail is switched off without signing in: signed, and good for that alone."""

import uuid
from typing import NamedTuple

from django.core import signing

from coachbook.accounts.models import User
from coachbook.digests.models import Kind

SALT = "coachbook.digests.off"  # never changed: it would end every link in every mail
ALL = "all"


class Order(NamedTuple):
    """Whose mails an address switches off, and which."""

    person: User
    kinds: list[Kind]


def off_token(person: User, kind: Kind | None = None) -> str:
    """The token that switches one kind off, or all of them; it has no end, as RFC 8058 wants a link to work."""
    return signing.Signer(salt=SALT).sign(f"{person.key.hex}.{kind.value if kind else ALL}")


def read_token(token: str) -> Order | None:
    """What a token was made for, or None for one that was changed or made for something else."""
    try:
        key, _, name = signing.Signer(salt=SALT).unsign(token).partition(".")
    except signing.BadSignature:
        return None
    person = User.objects.filter(key=uuid.UUID(key)).first()
    kinds = list(Kind) if name == ALL else [kind for kind in Kind if kind.value == name]
    return Order(person, kinds) if person and kinds else None
