"""Take a lost second factor off an account."""

import logging
from argparse import ArgumentParser
from typing import Any

from allauth.mfa.models import Authenticator
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from coachbook.accounts.models import SignInChange, User
from coachbook.accounts.notices import record_change
from coachbook.accounts.sessions import end_sessions

logger = logging.getLogger(__name__)


class Command(BaseCommand):
    """`reset_factor NAME`: for the last manager, who lost both phone and recovery codes."""

    help = "Removes the second factor of one account and signs it out everywhere; the password stays."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Whose."""
        parser.add_argument("name", help="the user name or the e-mail address")

    def handle(self, *args: Any, name: str, **options: Any) -> None:
        """Reset it, and let the person know."""
        user = User.objects.filter(Q(username__iexact=name) | Q(email__iexact=name)).first()
        if user is None:
            raise CommandError("No account has this user name or e-mail address.")
        with transaction.atomic():
            Authenticator.objects.filter(user=user).delete()
            end_sessions(user, timezone.now())
        record_change(user, SignInChange.What.FACTOR_RESET, timezone.now())
        logger.warning("The second factor of account %s was reset.", user.key)
        self.stdout.write("The second factor is reset, and the account is signed out everywhere.")
        self.stdout.write("At the next sign-in with the password, a manager is led to add a new one.")
