"""Send the e-mail notices of the day."""

from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from coachbook.accounts.outgoing import has_mail_server
from coachbook.digests.models import Digest
from coachbook.digests.sending import send_digests

NO_ADDRESS = "Set SITE_ADDRESS to an address that begins with https://, such as https://book.example: mails link to it."


class Command(BaseCommand):
    """`notify`, for cron: run it as often as you like, nobody gets more than one mail a day."""

    help = "Sends each person what waits for them, in one mail a day at most; run by cron."

    def handle(self, *args: Any, **options: Any) -> None:
        """Send what is due; exit code 1 where something is kept for the next run."""
        if not has_mail_server():
            Digest.objects.kept().delete()
            self.stdout.write("No mail server is set up (EMAIL_HOST), so nothing is sent.")
            return
        if urlsplit(settings.SITE_ADDRESS).scheme != "https":  # RFC 8058, section 3.1: an HTTPS address
            raise CommandError(NO_ADDRESS)
        sent, kept = send_digests(timezone.now())
        self.stdout.write(f"Sent: {sent}.")
        if kept:
            raise CommandError(f"Not sent: {kept}. They are kept, and the next run tries again.")
