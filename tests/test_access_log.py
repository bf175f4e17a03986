"""What a log of requests may hold: no token that opens something, and no words that somebody searched for."""

import io
import logging
import re
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from urllib.request import urlopen
from wsgiref.simple_server import make_server

import pytest
from django.conf import settings
from django.core.handlers.wsgi import WSGIHandler
from django.core.servers.basehttp import WSGIRequestHandler
from django.urls import URLPattern, URLResolver, get_resolver

from coachbook.logs import without_secrets
from coachbook.operations import gunicorn_conf

SECRET, WORDS = "s3cret-Token_0123456789", "alder+quimble"
OPERATIONS = Path(settings.BASE_DIR, "coachbook/operations")


def addresses_with_tokens(resolver: URLResolver | None = None, before: str = "/") -> Iterator[str]:
    """Every address of the site in which a text stands that opens something, as each of its patterns says."""
    for entry in (resolver or get_resolver()).url_patterns:
        pattern = before + str(entry.pattern).lstrip("^")
        if isinstance(entry, URLResolver):
            yield from addresses_with_tokens(entry, pattern)
        elif isinstance(entry, URLPattern) and ("<str:token>" in pattern or "(?P<key>" in pattern):
            yield re.sub(r"<uuid:\w+>", "00000000-0000-0000-0000-000000000000", pattern.replace("<str:token>", SECRET))


ADDRESSES = [
    re.sub(r"\(\?P<uidb36>.*\$$", f"1-{SECRET}/", address)
    for address in addresses_with_tokens()
    if "confirm-email" not in address  # a page that nobody can use
]


def test_the_addresses_with_tokens_are_found() -> None:
    assert {address.split(SECRET)[0] for address in ADDRESSES} >= {
        "/people/invitation/", "/sheet/", "/mails/off/", "/account/password/reset/key/1-",
    }  # fmt: skip


@pytest.fixture
def served(db: None) -> Iterator[tuple[str, io.StringIO]]:
    """Django's own server, with the handler that `runserver` uses, and what it logs."""
    said, logger = io.StringIO(), logging.getLogger("django.server")
    handler = logging.StreamHandler(said)
    logger.addHandler(handler)
    server = make_server("127.0.0.1", 0, WSGIHandler(), handler_class=WSGIRequestHandler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}", said
    server.shutdown()
    server.server_close()
    logger.removeHandler(handler)


def test_djangos_own_server_logs_neither_tokens_nor_search_words(served: tuple[str, io.StringIO]) -> None:
    origin, said = served
    with urlopen(f"{origin}/account/login/?next=/students/?q={WORDS}") as answer:
        assert answer.status == 200
    deadline = time.monotonic() + 10
    while not said.getvalue() and time.monotonic() < deadline:
        time.sleep(0.01)  # the line is written after the answer was sent
    assert "GET /account/login/" in said.getvalue()
    assert WORDS not in said.getvalue()


@pytest.mark.parametrize("address", ADDRESSES)
def test_a_record_is_cleaned_however_it_was_made(address: str, caplog: pytest.LogCaptureFixture) -> None:
    """As Django logs requests (arguments in a tuple), and as gunicorn does (in a mapping)."""
    line, query = "GET %s HTTP/1.1", f"{address}?q={WORDS}"
    gunicorn_conf.post_worker_init(
        SimpleNamespace(log=SimpleNamespace(access_log=logging.getLogger("gunicorn.access")))
    )
    for name in ("django.server", "django.request", "gunicorn.access"):
        logger = logging.getLogger(name)
        logger.warning('"%s" %s %s', line % query, "404", "12")
        logger.warning('"%(r)s" %(s)s "%(f)s"', {"r": line % query, "s": "200", "f": f"https://book.example{query}"})
    assert len(caplog.records) == 6
    for record in caplog.records:
        said = record.getMessage()
        assert SECRET not in said and WORDS not in said and "HTTP/1.1" in said


def test_other_words_of_a_log_stay() -> None:
    for said in ("Is this right? Yes.", "GET /students/ 200", "a/b c?d"):
        assert without_secrets(said) == said


def test_the_sample_for_nginx_cleans_the_same_addresses() -> None:
    sample = (OPERATIONS / "nginx.conf.example").read_text()
    (rule,) = re.findall(r"^\s*~(\S+)\s+\$kept…;$", sample, re.MULTILINE)
    for address in ADDRESSES:
        found = re.match(rule.replace("(?<", "(?P<"), address)
        assert found and SECRET not in found["kept"], address
    for address in ("/students/", "/caseload/", "/drills/putting-ball-gate/"):
        assert not re.match(rule.replace("(?<", "(?P<"), address)
    written = re.search(r"log_format[^;]+;", sample)
    assert written and "$path_without_tokens" in written[0]
    for variable in ("$request ", "$request_uri", "$uri", "$args", "$query_string", "$http_referer", "$http_cookie"):
        assert variable not in written[0] + " "
