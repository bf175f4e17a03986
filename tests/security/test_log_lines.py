"""What the log says of security, and how; ids are those of OWASP ASVS 5.0.0."""

import io
import logging
import logging.config
import re
from collections.abc import Callable, Iterator

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from tests.conftest import Cast
from tests.make import PASSWORD

Clients = Callable[[str], Client]
# One line: when with its offset from UTC, how grave, by whom it is said, of which account, what.
LINE = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\+0000 (INFO|WARNING|ERROR) ([\w.]+) user=(\d+|-) (.+)")


@pytest.fixture
def log() -> Iterator[io.StringIO]:
    """What the handler of the settings writes."""
    written = io.StringIO()
    words = {**settings.LOGGING["handlers"]["console"], "stream": written}
    configured = logging.config.DictConfigurator({**settings.LOGGING, "handlers": {"console": words}})
    for name, values in settings.LOGGING["formatters"].items():
        configured.config["formatters"][name] = configured.configure_formatter(values)
    for name, values in settings.LOGGING["filters"].items():
        configured.config["filters"][name] = configured.configure_filter(dict(values))
    handler = configured.configure_handler(dict(words))
    root, security = logging.getLogger(), logging.getLogger("coachbook.security")
    level = security.level
    root.addHandler(handler)
    security.setLevel(settings.LOGGING["loggers"]["coachbook.security"]["level"])
    yield written
    root.removeHandler(handler)
    security.setLevel(level)


def lines(log: io.StringIO) -> list[tuple[str, str, str, str]]:
    """Every line in its parts; one that has another form fails (16.2.1, 16.2.2, 16.2.4)."""
    found = [LINE.fullmatch(line) for line in log.getvalue().splitlines() if not line.startswith("\t")]
    assert None not in found, log.getvalue()
    return [match.groups() for match in found if match]  # type: ignore[misc]  # four groups


def test_signing_in_and_out_is_logged_and_refusals_are(cast: Cast, log: io.StringIO) -> None:
    """16.3.1."""
    client, name, pk = Client(), cast.coach.user.username, str(cast.coach.user.pk)
    client.post(reverse("account_login"), {"login": name, "password": "not this one at all"})
    client.post(reverse("account_login"), {"login": name, "password": PASSWORD})
    client.post(reverse("account_logout"))
    said = [line for line in lines(log) if line[1] == "coachbook.security"]
    assert said == [
        ("WARNING", "coachbook.security", "-", "sign-in refused at /account/login/"),
        ("INFO", "coachbook.security", pk, "signed in at /account/login/"),
        ("INFO", "coachbook.security", pk, "signed out"),
    ]


def test_no_line_says_a_name_or_a_password(cast: Cast, log: io.StringIO) -> None:
    """16.2.5."""
    user = cast.coach.user
    for password in ("not this one at all", PASSWORD):
        Client().post(reverse("account_login"), {"login": user.username, "password": password})
    text = log.getvalue()
    assert len(lines(log)) >= 3
    assert not [word for word in (user.username, user.name, PASSWORD, "not this one at all") if word in text]


@pytest.mark.parametrize(
    ("actor", "name", "status"), [("student", "people", "Forbidden"), ("other_coach", "student", "Not Found")]
)
def test_who_is_refused_is_logged(
    actor: str, name: str, status: str, cast: Cast, as_: Clients, log: io.StringIO
) -> None:
    """16.3.2: who, where, and what came of it."""
    address = reverse(name, args=[cast.student.key] if name == "student" else [])
    as_(actor).get(address)
    assert ("WARNING", "django.request", str(cast.user(actor).pk)) in {line[:3] for line in lines(log)}
    assert any(line[3].startswith(status) and line[3].endswith(address) for line in lines(log))


def test_what_goes_round_a_check_is_logged(cast: Cast, log: io.StringIO) -> None:
    """16.3.3: a form without its token, a value that a form refuses, a host that is none of ours, too many tries."""
    client = Client(enforce_csrf_checks=True, raise_request_exception=False)
    client.post(reverse("account_login"), {"login": "x", "password": "y"})
    Client().post(reverse("one_time_code"), {"username": "x", "code": ""})
    Client(SERVER_NAME="other.example").get("/account/login/")
    for _ in range(6):
        Client().post(reverse("one_time_code"), {"username": "x", "code": "BBBB BBBB BBBB"})
    said = {(line[1], line[3].split(":")[0]) for line in lines(log)}
    assert {("django.security.csrf", "Forbidden (CSRF cookie not set.)")} <= said
    assert ("django.request", "Unprocessable Entity") in said or ("django.request", "Unprocessable Content") in said
    assert ("django.request", "Too Many Requests") in said
    assert any(name == "django.security.DisallowedHost" for name, _ in said)


@pytest.mark.parametrize("word", ["%0aFORGED", "%0d%0aFORGED", "%1b[31mFORGED", "%E2%80%A8FORGED"])
def test_nobody_writes_a_line_of_their_own(word: str, db: None, log: io.StringIO) -> None:
    """16.4.1."""
    Client().get(f"/nowhere{word}")
    assert len(lines(log)) == 1 and "\x1b" not in log.getvalue() and not log.getvalue().startswith("FORGED")


def test_lines_that_belong_to_another_begin_with_a_tab(log: io.StringIO) -> None:
    """16.4.1: a traceback, and whatever line end somebody finds."""
    try:
        raise ValueError("one\ntwo\r\nthree\u2028four")
    except ValueError:
        logging.getLogger("coachbook.test").exception("five\n2026-01-01T00:00:00+0000 INFO forged user=1 six")
    assert len(lines(log)) == 1 and "\tthree" in log.getvalue() and "\tfour" in log.getvalue()


def test_the_log_goes_where_the_guide_says_and_nowhere_else() -> None:
    """16.2.3: to the process's own output; Django's mails about errors have no reader."""
    assert set(settings.LOGGING["handlers"]) == {"console"}
    assert settings.LOGGING["handlers"]["console"]["class"] == "logging.StreamHandler"
    assert settings.ADMINS == [] and settings.MANAGERS == []
