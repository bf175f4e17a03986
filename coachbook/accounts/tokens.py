"""Secret tokens for links: a person gets the token, the database keeps only its hash."""

import hashlib
import secrets


def new_token() -> str:
    """A token of 256 random bits, as text for an address."""
    return secrets.token_urlsafe(32)


def hash_token(token: str) -> str:
    """The hash that is stored for a token; with 256 random bits, a plain hash cannot be guessed back."""
    return hashlib.sha256(token.encode()).hexdigest()
