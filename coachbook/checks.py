"""What `manage.py check` says about this machine beyond Django's own checks."""

import sqlite3
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.checks import CheckMessage, Error, Info, Tags, Warning, register
from django.http.request import validate_host

WAL_RESET_FIXED = (3, 51, 3)


@register(Tags.database)
def sqlite_is_recent(**kwargs: Any) -> list[CheckMessage]:
    """SQLite before 3.51.3 can, very rarely, damage a WAL database that several processes write to."""
    sqlite = settings.DATABASES["default"]["ENGINE"].endswith("sqlite3")
    if not sqlite or sqlite3.sqlite_version_info >= WAL_RESET_FIXED:
        return []
    hint = "Serve from one process, keep backups, or set DATABASE_URL to PostgreSQL."
    return [Info(f"SQLite {sqlite3.sqlite_version} has a rare race in its write-ahead log.", hint, id="coachbook.I001")]


@register(Tags.security, deploy=True)
def mail_goes_out(**kwargs: Any) -> list[CheckMessage]:
    """Without a mail server, invitations and new passwords reach nobody."""
    if settings.EMAIL_HOST:
        return []
    return [Warning("No mail server: invitations are only shown.", "Set EMAIL_HOST.", id="coachbook.W001")]


LOCAL = ("", "localhost", "127.0.0.1", "::1")


@register(Tags.security, deploy=True)
def mail_is_encrypted(**kwargs: Any) -> list[CheckMessage]:
    """Invitations hold links that are as good as keys."""
    if settings.EMAIL_HOST in LOCAL or settings.EMAIL_USE_TLS:
        return []
    return [Warning("Mail travels to another machine as plain text.", "Set EMAIL_TLS.", id="coachbook.W002")]


@register(Tags.security, deploy=True)
def database_is_encrypted(**kwargs: Any) -> list[CheckMessage]:
    """A database on another machine is asked over TLS, and only if its certificate is the right one."""
    database = settings.DATABASES["default"]
    host = str(database.get("HOST", ""))
    local = host in LOCAL or host.startswith("/") or database["ENGINE"].endswith("sqlite3")
    if local or database.get("OPTIONS", {}).get("sslmode") == "verify-full":
        return []
    hint = "Add ?sslmode=verify-full to DATABASE_URL."
    return [Warning("The database is on another machine, and TLS is not required.", hint, id="coachbook.W003")]


@register(Tags.security)
def site_address_is_ours(**kwargs: Any) -> list[CheckMessage]:
    """Links in mails lead to one address of our own: with `.book.example` among the hosts it cannot be guessed."""
    if not settings.PRODUCTION:
        return []
    address = urlsplit(settings.SITE_ADDRESS)
    host = address.hostname or ""
    named = host.strip(".*") == host != "" and validate_host(host, settings.ALLOWED_HOSTS)
    if named and address.scheme == "https" and address.path in ("", "/") and not address.query:
        return []
    hint = "Set SITE_ADDRESS, such as https://book.example; its host must be one of ALLOWED_HOSTS."
    return [Error("SITE_ADDRESS is no address under which the site is served.", hint, id="coachbook.E001")]
