"""The door for a web server."""

import os
from typing import Any

import django
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.core.handlers.wsgi import WSGIHandler, WSGIRequest
from django.utils.http import parse_header_parameters

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coachbook.settings")


class Utf8Request(WSGIRequest):
    """A request read as UTF-8, as our pages send it, whatever it says: not every encoding of Python is one of text."""

    def _set_content_type_params(self, meta: dict[str, Any]) -> None:
        self.content_type, self.content_params = parse_header_parameters(meta.get("CONTENT_TYPE", ""))


class Application(WSGIHandler):
    """Django's own handler, with requests that are read as UTF-8."""

    request_class = Utf8Request


def refuse_without_files() -> None:
    """Say at the start, and not on every page, that nobody has gathered the style sheets and scripts."""
    manifest = settings.STATIC_ROOT / "staticfiles.json"
    if settings.PRODUCTION and not manifest.exists():
        raise ImproperlyConfigured(f"No static files in {settings.STATIC_ROOT}: type python3 manage.py start first.")


django.setup(set_prefix=False)
refuse_without_files()
application = Application()
