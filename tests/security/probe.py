"""What a site in production answers, from a fresh process: run by test_production.py, never by the site."""

import json
import sys
from typing import Any

import django
from django.conf import settings
from django.test import Client
from django.test.utils import override_settings

PLAIN_FILES = {"staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}
ASKED = [
    ("page", "GET", "/account/login/", True, {}),
    ("missing", "GET", "/nowhere/", True, {}),
    ("file", "GET", "/static/css/page.css", True, {}),
    ("plain", "GET", "/account/login/", False, {}),
    ("forged", "GET", "/account/login/", False, {"X-Forwarded-Proto": "https"}),
    ("feed", "GET", "/calendar/some-token.ics", False, {}),
    ("up", "GET", "/healthz", False, {}),
    ("host", "GET", "/account/login/", True, {"Host": "other.example"}),
    ("appearance", "GET", "/appearance/", True, {}),
]


def answer(method: str, path: str, secure: bool, headers: dict[str, str]) -> dict[str, Any]:
    """The status, headers and cookies of one answer."""
    host = headers.pop("Host", "book.example")
    client = Client(raise_request_exception=False, SERVER_NAME=host)
    got = client.generic(method, path, secure=secure, headers=headers)
    cookies = {name: dict(morsel) for name, morsel in got.cookies.items()}
    return {"status": got.status_code, "headers": dict(got.headers.items()), "cookies": cookies}


def main() -> None:
    """Print all of it as JSON."""
    django.setup()
    from django.contrib.auth.hashers import get_hasher
    from django.contrib.messages.storage import default_storage
    from django.http import HttpRequest, HttpResponse

    response = HttpResponse()
    request = HttpRequest()
    request.session = {}  # type: ignore[assignment]  # the cookie is asked for, not the session
    messages = default_storage(request)
    messages.add(20, "Saved.")
    messages.update(response)
    hasher: Any = get_hasher()
    named = {name: getattr(settings, name) for name in dir(settings) if name.startswith(("SESSION_", "CSRF_", "DEBUG"))}
    with override_settings(STORAGES={**settings.STORAGES, **PLAIN_FILES}):
        answers = {name: answer(*asked) for name, *asked in ASKED}
    words = {
        "answers": answers,
        "message_cookies": {name: dict(morsel) for name, morsel in response.cookies.items()},
        "hasher": [hasher.algorithm, hasher.iterations],
        "settings": named,
    }
    json.dump(words, sys.stdout, default=str)


if __name__ == "__main__":
    main()
