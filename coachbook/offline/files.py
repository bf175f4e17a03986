"""The static files that open without a network, and their version: a hash of what they contain."""

import hashlib
from functools import lru_cache
from pathlib import Path

from django.conf import settings
from django.template.loader import render_to_string
from django.templatetags.static import static

STATIC = settings.BASE_DIR / "static"
WORKER = STATIC / "js" / "offline" / "worker.js"  # fetched at an address of its own, for the whole site
STYLES = ("tokens", "page", "forms", "outbox")
STYLES_OF_PAGES = ("log", "practice", "score", "sheet", "sheet-page")  # each is switched on where it is needed
OTHERS = ("icons/favicon.svg", "js/log_marks.js")
FOLDERS = ("js/offline", "js/outbox")
PATIENCE = 8000  # milliseconds that a page may take before the empty page comes in its place


def kept_files() -> list[str]:
    """The names of all files that the empty page needs, in a fixed order."""
    modules = [path for folder in FOLDERS for path in sorted((STATIC / folder).glob("*.js")) if path != WORKER]
    names = [str(path.relative_to(STATIC)) for path in modules]
    return [*map(style, (*STYLES, *STYLES_OF_PAGES)), *OTHERS, *names]


def style(name: str) -> str:
    """The file of a style sheet."""
    return f"css/{name}.css"


def shell() -> str:
    """The empty page: the same for everybody, with nobody's data."""
    of_pages = {name: style(name) for name in STYLES_OF_PAGES}
    return render_to_string("offline/shell.html", {"styles": list(map(style, STYLES)), "of_pages": of_pages})


def worker() -> str:
    """The text of the service worker."""
    return WORKER.read_text(encoding="utf-8")


def addresses() -> list[str]:
    """The addresses of those files; in production they hold a hash of what is in them."""
    return [static(name) for name in kept_files()]


def version() -> str:
    """A word that changes with any of those files, the empty page or the worker."""
    return lasting_version() if settings.PRODUCTION else hash_of_all()


def hash_of_all() -> str:
    """The first half of a SHA-256 over all of them."""
    files = (WORKER, *(STATIC / name for name in kept_files()))
    return hashlib.sha256(b"".join([shell().encode(), *map(Path.read_bytes, files)])).hexdigest()[:32]


lasting_version = lru_cache(maxsize=1)(hash_of_all)
