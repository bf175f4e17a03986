"""Whether the site is up and ready, for programs that watch it: no sign-in, no names, no versions."""

from functools import cache

from django.contrib.auth.decorators import login_not_required
from django.db import Error, connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

Migration = tuple[str, str]  # the label of its app, and its name


@login_not_required
@never_cache
@require_safe
def healthz(request: HttpRequest) -> HttpResponse:
    """That the process answers; it asks no database."""
    return words("ok", 200)


@login_not_required
@never_cache
@require_safe
def readyz(request: HttpRequest) -> HttpResponse:
    """Whether the database answers and has every migration of this version."""
    return words("ready", 200) if is_ready() else words("not ready", 503)


def words(text: str, status: int) -> HttpResponse:
    """A line of plain text."""
    return HttpResponse(f"{text}\n", content_type="text/plain; charset=utf-8", status=status)


def is_ready() -> bool:
    """Whether the database answers and lacks no migration."""
    try:
        return not known_migrations() - stored_migrations()
    except Error:
        return False


@cache
def known_migrations() -> frozenset[Migration]:
    """The migrations that this version of the program brings along."""
    return frozenset(MigrationLoader(None).disk_migrations or ())


def stored_migrations() -> set[Migration]:
    """The migrations that the database has."""
    return set(MigrationRecorder(connection).applied_migrations())
