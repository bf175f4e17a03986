"""Requests that no browser sends: each gets an answer below 500, and a page that says what is wrong."""

import uuid
from collections.abc import Callable

import pytest
from django.core import mail
from django.test import Client, RequestFactory
from django.urls import reverse

from coachbook.accounts.models import Academy
from coachbook.wsgi import application
from tests.conftest import Cast

Clients = Callable[[str], Client]
FORM = "application/x-www-form-urlencoded"
MULTIPART = "multipart/form-data"


@pytest.mark.parametrize(
    "content_type",
    [
        *(f"{kind}; charset={charset}" for kind in (FORM, f"{MULTIPART}; boundary=x") for charset in ("utf-16", "no")),
        MULTIPART,
        f"{MULTIPART}; boundary=\xff",
        "text/plain; charset=utf-7",
        ";",
    ],
)
@pytest.mark.parametrize("page", ["lesson", "student_details", "account_login", "one_time_code"])
@pytest.mark.parametrize(
    "body", [b"a=1&b=%ff\xff", b'--x\r\nContent-Disposition: form-data; name="keep"\r\n\r\n1\r\n--x--']
)
def test_a_body_in_another_encoding(content_type: str, page: str, body: bytes, cast: Cast, as_: Clients) -> None:
    args = {"lesson": [cast.student.key, uuid.uuid4()], "student_details": [cast.student.key]}.get(page, [])
    for actor in ("coach", "anonymous"):
        answer = as_(actor).generic("POST", reverse(page, args=args), body, content_type=content_type)
        assert answer.status_code < 500, (actor, answer.status_code)


@pytest.mark.parametrize(
    "content_type",
    [MULTIPART, f"{MULTIPART}; boundary=\xff", f"{MULTIPART}; boundary={'x' * 300}", f"{MULTIPART}; boundary=x"],
)
def test_a_body_that_cannot_be_read_where_nothing_may_be_sent(content_type: str, cast: Cast, as_: Clients) -> None:
    part = b'--x\r\nContent-Disposition: form-data; name="a"\r\nContent-Transfer-Encoding: base64\r\n\r\nabc\r\n--x--'
    pages = [reverse("lesson", args=[cast.student.key, uuid.uuid4()]), reverse("people"), "/nowhere/"]
    for actor in ("anonymous", "student", "other_coach", "manager"):
        for page in pages:
            answer = as_(actor).generic("POST", page, part, content_type=content_type)
            assert 400 <= answer.status_code < 500, (actor, page)


def test_more_fields_than_a_form_has_where_nothing_may_be_sent(cast: Cast, as_: Clients) -> None:
    fields = "&".join(f"n{number}=1" for number in range(3500))
    page = reverse("lesson", args=[cast.student.key, uuid.uuid4()])
    for actor in ("anonymous", "student", "other_coach", "coach"):
        answer = as_(actor).generic("POST", page, fields, content_type=FORM)
        assert 400 <= answer.status_code < 500, actor


@pytest.mark.parametrize("number", ["9223372036854775808", "-9223372036854775809", "9" * 400, "NaN", "\x00", "1e3"])
def test_a_row_number_that_no_row_has_is_no_choice(number: str, cast: Cast, as_: Clients) -> None:
    chosen = [
        ("coach", "appointment", [cast.student.key, uuid.uuid4()], ("others", "coach")),
        ("manager", "person_invite", [], ("child",)),
        ("coach", "student_merge", [cast.student.key], ("into",)),
        ("manager", "student_move", [cast.student.key], ("to", "coach")),
        ("manager", "hand_over", [cast.coach.user.key], ("to", "coach")),
        ("coach", "care", [cast.student.key], ("coach",)),
    ]
    for actor, page, args, fields in chosen:
        answer = as_(actor).post(reverse(page, args=args), dict.fromkeys(fields, number))
        assert answer.status_code == 422, page


@pytest.mark.parametrize("charset", ["hex", "rot13", "base64", "utf-16", "undefined", "idna", "no"])
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_a_server_hands_on_a_request_in_an_encoding_that_is_none(charset: str, method: str, cast: Cast) -> None:
    body, begun = b"login=a&password=b", []
    environ = RequestFactory().generic(method, reverse("account_login"), body, QUERY_STRING="next=%ff").environ
    environ["CONTENT_TYPE"] = f"{FORM}; charset={charset}"
    answer = application(environ, lambda status, headers, exc_info=None: begun.append(status))
    assert answer.status_code < 500 and begun[0][0] in "24"


@pytest.mark.parametrize(
    "address", ["http://[::1", "http://[", "\xff", "//x", "http://testserver:99999/", "http://t/\x00"]
)
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_a_header_that_is_no_address(address: str, method: str, cast: Cast, as_: Clients) -> None:
    log = reverse("lesson", args=[cast.student.key, uuid.uuid4()])
    for actor in ("coach", "anonymous"):
        for page in (log, reverse("students"), reverse("account_login")):
            for headers in (
                {"HX-Request": "true", "HX-Current-URL": address},
                {"Referer": address, "Origin": address},
            ):
                answer = as_(actor).generic(method, page, headers=headers)
                assert answer.status_code < 500, (actor, page, headers)


@pytest.mark.parametrize("words", ["a " * 1100, "x" * 5000, "\x00", "'" * 50, "%" * 50], ids=len)
def test_a_search_for_anything(words: str, as_: Clients) -> None:
    for actor in ("coach", "manager", "student"):
        assert as_(actor).get(reverse("students"), {"q": words}).status_code < 500


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31", "0000-00-00", "-1", "1900-01-01"])
@pytest.mark.parametrize("zone", ["Europe/Dublin", "Pacific/Kiritimati", "Pacific/Pago_Pago"])
def test_a_day_at_the_ends_of_the_calendar(day: str, zone: str, cast: Cast, as_: Clients) -> None:
    cast.academy.time_zone = zone
    cast.academy.save()
    client = as_("coach")
    for page in ("day", "week"):
        assert client.get(reverse(page), {"day": day}).status_code < 500, page
    appointment = reverse("appointment", args=[cast.student.key, uuid.uuid4()])
    assert client.get(appointment, {"day": day}).status_code < 500
    for until in ("0001-01-01", "9999-12-31", "2026-13-01"):
        for rule in ("once", "weekly", "fortnightly"):
            typed = {"day": day, "time": "10:00", "minutes": "60", "repeat": rule, "until": until, "place": "x"}
            assert client.post(appointment, typed).status_code < 500, (until, rule)
            assert client.post(appointment, {**typed, "day": "2027-03-01"}).status_code < 500, (until, rule)


def test_a_line_end_in_the_academys_name_ends_no_header_of_a_mail(cast: Cast, as_: Clients) -> None:
    client, name = as_("manager"), "Sedge\r\nBcc: everybody@example.org"
    page = client.get(reverse("academy"))
    typed = {field.html_name: field.value() for field in page.context["form"] if field.value() is not None}
    assert client.post(reverse("academy"), {**typed, "name": name}).status_code == 302
    cast.academy.refresh_from_db()
    assert cast.academy.name == "Sedge Bcc: everybody@example.org"


def test_a_name_stored_with_a_line_end_still_invites(cast: Cast, as_: Clients) -> None:
    Academy.objects.update(name="Sedge\r\nBcc: everybody@example.org")
    invited = {"name": "Wilf Tarkle", "username": "wilf", "email": "wilf@example.org", "role": "coach"}
    assert as_("manager").post(reverse("person_invite"), invited).status_code < 500
    [sent] = mail.outbox
    assert sent.to == ["wilf@example.org"] and sent.subject == "Your account at Sedge Bcc: everybody@example.org"
