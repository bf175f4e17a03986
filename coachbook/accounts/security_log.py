"""Signing in and out is logged, with the number of the account and nothing else about a person."""

import logging
from typing import Any

from django.contrib.auth.signals import user_logged_in, user_logged_out, user_login_failed
from django.http import HttpRequest

from coachbook.accounts.models import User

logger = logging.getLogger("coachbook.security")


def connect() -> None:
    """Listen to what Django says of people who sign in and out."""
    user_logged_in.connect(log_sign_in)
    user_logged_out.connect(log_sign_out)
    user_login_failed.connect(log_failure)


def log_sign_in(user: User, request: HttpRequest, **kwargs: Any) -> None:
    """Somebody signed in, at this address."""
    logger.info("signed in at %s", request.path, extra={"user": user.pk})


def log_sign_out(user: User | None, **kwargs: Any) -> None:
    """Somebody signed out."""
    if user:
        logger.info("signed out", extra={"user": user.pk})


def log_failure(request: HttpRequest | None = None, **kwargs: Any) -> None:
    """Somebody typed a name and a password that do not belong together; neither is logged."""
    logger.warning("sign-in refused at %s", request.path if request else "-")
