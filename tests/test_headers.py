"""What every answer carries. Names and values: OWASP ASVS 5.0, chapter 3 (v5.0.0-3.4.1, 3.4.3 to 3.4.6, 3.3.1)."""

from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from django.conf import settings
from django.http import HttpResponse
from django.templatetags.static import static
from django.test import Client

Clients = Callable[[str], Client]


@pytest.mark.parametrize(
    "address", ["/", "/students/", "/account/login/", "/nowhere/", "/drills/", static("js/page.js")]
)
@pytest.mark.parametrize("actor", ["anonymous", "coach"])
def test_every_answer_carries_the_policy(address: str, actor: str, as_: Clients) -> None:
    with closing(as_(actor).get(address)) as answer:
        check_policies(answer)


def check_policies(answer: HttpResponse) -> None:
    policy = answer.headers["Content-Security-Policy"]
    assert "unsafe" not in policy and "http" not in policy and "*" not in policy
    assert {"default-src 'none'", "script-src 'self'", "frame-ancestors 'none'"} <= set(policy.split("; "))
    assert {"object-src 'none'", "base-uri 'none'", "form-action 'self'"} <= set(policy.split("; "))
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Referrer-Policy"] == "same-origin"
    assert answer.headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin"
    refused = set(answer.headers["Permissions-Policy"].split(", "))
    assert {"camera=()", "microphone=()", "geolocation=()", "payment=()"} <= refused


def test_a_private_page_is_kept_by_no_cache(as_: Clients) -> None:
    """OWASP ASVS v5.0.0-14.3.2."""
    assert "no-store" in as_("coach").get("/students/").headers["Cache-Control"]


def test_a_search_for_nothing_that_can_be_stored_finds_nothing(as_: Clients) -> None:
    assert as_("coach").get("/students/", {"q": "\0"}).status_code == 200


def test_no_template_or_script_works_around_the_policy() -> None:
    for path in [
        *Path(settings.BASE_DIR, "templates").rglob("*.html"),
        *Path(settings.BASE_DIR, "static").rglob("*.js"),
    ]:
        text = path.read_text()
        for way_out in (" style=", "<style", "onclick", "hx-on", "|safe", "javascript:", "eval(", "{% autoescape off"):
            assert way_out not in text, f"{path}: {way_out}"
