"""The session and what ends it; ids are those of OWASP ASVS 5.0.0."""

from collections.abc import Callable

import pytest
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse

from coachbook.accounts.models import User
from tests.conftest import Cast
from tests.make import PASSWORD

Clients = Callable[[str], Client]
COOKIE = "sessionid"


def sign_in(cast: Cast, client: Client | None = None) -> Client:
    client = client or Client()
    answer = client.post(reverse("account_login"), {"login": cast.coach.user.username, "password": PASSWORD})
    assert answer.status_code == 302
    return client


def is_in(client: Client) -> bool:
    return client.get(reverse("students")).status_code == 200


def with_cookie(value: str) -> Client:
    client = Client()
    client.cookies[COOKIE] = value
    return client


def test_no_account_is_there_before_somebody_makes_one(db: None) -> None:
    """6.3.2."""
    assert User.objects.count() == 0


def test_a_session_that_the_server_does_not_know_opens_nothing(cast: Cast) -> None:
    """7.2.1."""
    key = sign_in(cast).cookies[COOKIE].value
    assert is_in(with_cookie(key))
    for forged in ("x" * 32, key[::-1], key[:-1], key.upper(), f"{cast.coach.user.pk}"):
        assert not is_in(with_cookie(forged))


def test_each_sign_in_has_a_key_of_its_own(cast: Cast) -> None:
    """7.2.2 and 7.2.3: Django draws 32 of 36 letters with `secrets`, which are 165 bits; 128 are asked for."""
    keys = {sign_in(cast).cookies[COOKIE].value for _ in range(4)}
    assert len(keys) == 4 and all(len(key) == 32 and key.isalnum() for key in keys)


def test_signing_in_ends_the_session_before_it(cast: Cast) -> None:
    """7.2.4."""
    client = sign_in(cast)
    first = client.cookies[COOKIE].value
    sign_in(cast, Client())
    client.post(reverse("account_logout"))
    planted = Client()
    planted.cookies[COOKIE] = first
    second = sign_in(cast, planted).cookies[COOKIE].value
    assert second != first and not is_in(with_cookie(first)) and is_in(with_cookie(second))


def test_a_key_that_somebody_else_laid_there_is_not_taken_over(cast: Cast) -> None:
    """7.2.4: a session of a visitor, whose key another person may know."""
    visitor = Client()
    session = visitor.session
    session["laid"] = "there"
    session.save()
    before = session.session_key
    visitor.cookies[COOKIE] = before
    after = sign_in(cast, visitor).cookies[COOKIE].value
    assert after != before and not Session.objects.filter(session_key=before).exists()


def test_signing_out_ends_the_session_on_the_server_and_clears_the_browser(cast: Cast) -> None:
    """7.4.1 and 14.3.1."""
    client = sign_in(cast)
    key = client.cookies[COOKIE].value
    answer = client.post(reverse("account_logout"))
    assert answer.status_code == 302 and not is_in(with_cookie(key))
    assert not Session.objects.filter(session_key=key).exists()
    assert answer.headers["Clear-Site-Data"] == '"cache", "storage"'


def test_asking_whether_to_sign_out_ends_nothing(cast: Cast) -> None:
    client = sign_in(cast)
    answer = client.get(reverse("account_logout"))
    assert answer.status_code == 200 and "Clear-Site-Data" not in answer.headers and is_in(client)


def test_a_new_password_ends_the_other_sessions(cast: Cast) -> None:
    """7.4.3."""
    here, elsewhere = sign_in(cast), sign_in(cast)
    new = "four quiet herons there"
    typed = {"oldpassword": PASSWORD, "password1": new, "password2": new}
    assert here.post(reverse("account_change_password"), typed).status_code == 302
    assert is_in(here) and not is_in(elsewhere)


@pytest.mark.parametrize("actor", ["student", "guardian", "coach", "manager"])
def test_every_page_for_the_signed_in_leads_to_signing_out(actor: str, cast: Cast, as_: Clients) -> None:
    """7.4.4."""
    for page in (reverse("students"), reverse("drills"), reverse("student", args=[cast.student.key]),
                 reverse("messages", args=[cast.student.key]), reverse("account_change_password")):  # fmt: skip
        html = as_(actor).get(page).content.decode()
        assert f'href="{reverse("account_logout")}"' in html, page


@pytest.mark.parametrize(
    "target",
    [
        "https://other.example/",
        "//other.example",
        "/\\other.example",
        "javascript:alert(1)",
        "data:text/html,x",
        "https:other.example",
    ],
)
def test_signing_in_leads_to_no_other_site(target: str, cast: Cast) -> None:
    """1.2.2 and 3.7.2."""
    typed = {"login": cast.coach.user.username, "password": PASSWORD, "next": target}
    assert Client().post(reverse("account_login"), typed).headers["Location"] == reverse("home")
    answer = sign_in(cast).post(reverse("account_logout"), {"next": target})
    assert answer.headers["Location"] == reverse("account_login")
