"""The second factor: required of managers, offered to coaches; apps with codes, recovery codes, and what resets it.

Passkeys are tried in tests/browser/test_passkey.py.
"""

import re
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
import time_machine
from allauth.mfa.models import Authenticator
from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from allauth.mfa.totp.internal.auth import format_hotp_value, hotp_value
from django.core import mail
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Invitation, User
from coachbook.accounts.second_factor import SecondFactor
from coachbook.demo import people
from tests.conftest import Cast
from tests.make import PASSWORD, TOTP_SECRET, make_factor, make_user

Clients = Callable[[str], Client]
ASK = "/account/factor/ask/"


def code_now(secret: str = TOTP_SECRET, periods: int = 0) -> str:
    """The code that an app shows: RFC 6238, a new one every 30 seconds."""
    return format_hotp_value(hotp_value(secret, int(time.time()) // 30 + periods))


def test_codes_are_those_of_the_standard() -> None:
    """RFC 6238, appendix B: the secret is the ASCII text 12345678901234567890, the last six of its eight digits."""
    secret = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"
    for second, code in ((59, "287082"), (1111111109, "081804"), (2000000000, "279037")):
        with time_machine.travel(datetime.fromtimestamp(second, UTC), tick=False):
            assert code_now(secret) == code


def password_typed(user: User) -> Client:
    client = Client()
    answer = client.post(reverse("account_login"), {"login": user.username, "password": PASSWORD})
    assert answer.status_code == 302
    return client


def is_in(client: Client) -> bool:
    return client.get(reverse("students")).status_code == 200


# --- Signing in ----------------------------------------------------------------------------------


def test_a_manager_signs_in_with_the_code_of_the_app(cast: Cast) -> None:
    client = password_typed(cast.manager)
    assert not is_in(client)
    page = client.get(ASK).content.decode()
    assert "The six digits in your app" in page and "<h1>Second factor</h1>" in page
    assert client.post(ASK, {"code": code_now()}).status_code == 302
    assert is_in(client)


def test_a_wrong_code_is_reported_beside_its_field(cast: Cast) -> None:
    client = password_typed(cast.manager)
    for wrong in ("000000", "", "x" * 300, "12\0"):
        answer = client.post(ASK, {"code": wrong})
        assert answer.status_code == 422 and 'id="id_code_error"' in answer.content.decode(), wrong
    assert not is_in(client)


@pytest.mark.parametrize("periods", [-2, 2])
def test_a_code_of_another_time_is_refused(periods: int, cast: Cast) -> None:
    client = password_typed(cast.manager)
    assert client.post(ASK, {"code": code_now(periods=periods)}).status_code == 422


def test_a_code_works_once(cast: Cast, settings: Any) -> None:
    """OWASP ASVS v5.0.0-6.5.1; on the cache that is served, too."""
    stored = {"BACKEND": "coachbook.cache.LastingCache", "LOCATION": "accounts_cacheentry"}
    settings.CACHES = {**settings.CACHES, "default": stored}
    with time_machine.travel(timezone.now(), tick=False) as clock:
        code = code_now(periods=1)
        assert password_typed(cast.manager).post(ASK, {"code": code}).status_code == 302
        for seconds in (0, 31, 28):
            clock.shift(seconds)
            assert password_typed(cast.manager).post(ASK, {"code": f" {code} "}).status_code == 422, seconds


@pytest.mark.parametrize("periods", [-1, 0, 1])
def test_the_codes_beside_that_of_now_count_too(periods: int, cast: Cast) -> None:
    """RFC 6238, 5.2: a person may type the code of the last half minute."""
    with time_machine.travel(timezone.now(), tick=False):
        assert password_typed(cast.manager).post(ASK, {"code": code_now(periods=periods)}).status_code == 302


def test_the_sixth_wrong_code_waits_and_the_right_one_with_it(cast: Cast) -> None:
    client = password_typed(cast.manager)
    with time_machine.travel(timezone.now(), tick=False) as clock:
        for _ in range(5):
            client.post(ASK, {"code": "000000"})
        answer = password_typed(cast.manager).post(ASK, {"code": code_now()})
        assert answer.status_code == 422
        assert "Too many tries. Wait five minutes, then try again." in answer.content.decode()
        clock.shift(timedelta(minutes=5, seconds=1))
        assert password_typed(cast.manager).post(ASK, {"code": code_now()}).status_code == 302


def test_a_recovery_code_works_once(cast: Cast) -> None:
    code, other = RecoveryCodes.activate(cast.manager).get_unused_codes()[:2]
    client = password_typed(cast.manager)
    assert client.post(ASK, {"code": code}).status_code == 302 and is_in(client)
    assert password_typed(cast.manager).post(ASK, {"code": code}).status_code == 422
    assert password_typed(cast.manager).post(ASK, {"code": other}).status_code == 302


def test_a_new_password_by_invitation_does_not_go_round_the_second_factor(cast: Cast) -> None:
    token = Invitation.issue(cast.manager, by=cast.manager, at=timezone.now())
    client, chosen = Client(), {"new_password1": "three dry bunkers", "new_password2": "three dry bunkers"}
    assert client.post(reverse("invitation", args=[token]), chosen).headers["Location"] == ASK
    assert not is_in(client)
    assert client.post(ASK, {"code": code_now()}).status_code == 302 and is_in(client)


def test_a_new_password_by_mail_does_not_go_round_the_second_factor(cast: Cast) -> None:
    User.objects.filter(pk=cast.manager.pk).update(email="odile@example.org")
    visitor = Client()
    visitor.post(reverse("account_reset_password"), {"email": "odile@example.org"})
    [link] = re.findall(r"http://testserver(/\S+)", mail.outbox[-1].body)
    form = visitor.get(link, follow=True).request["PATH_INFO"]
    visitor.post(form, {"password1": "three dry bunkers", "password2": "three dry bunkers"})
    assert not is_in(visitor)
    answer = visitor.post(reverse("account_login"), {"login": cast.manager.username, "password": "three dry bunkers"})
    assert answer.headers["Location"] == ASK and not is_in(visitor)
    assert visitor.post(ASK, {"code": code_now()}).status_code == 302 and is_in(visitor)


def test_recovery_codes_are_random_and_long(cast: Cast) -> None:
    """ASVS v5.0.0-6.5.4: 20 bits at least; eight digits are 26."""
    one = RecoveryCodes.activate(cast.manager)
    other = RecoveryCodes.activate(make_user("Wren Alderjay"))
    assert len(bytes.fromhex(SecondFactor().decrypt(one.instance.data["seed"]))) * 8 >= 160
    codes = one.get_unused_codes()
    assert all(len(code) >= 8 and code.isdigit() for code in codes) and len(set(codes)) == len(codes) >= 8
    assert not set(codes) & set(other.get_unused_codes())


def test_the_code_is_asked_for_after_the_password_only(cast: Cast) -> None:
    assert Client().get(ASK).headers["Location"] == reverse("account_login")
    assert Client().post(ASK, {"code": code_now()}).headers["Location"] == reverse("account_login")


# --- Setting it up -------------------------------------------------------------------------------


@pytest.fixture
def fresh(cast: Cast) -> User:
    """A manager without a second factor."""
    return make_user("Wren Alderjay", is_manager=True, email="wren@example.org")


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize(
    "name", ["home", "caseload", "people", "students", "account", "academy", "drills", "appearance"]
)
def test_nothing_opens_to_a_manager_without_a_second_factor(name: str, method: str, fresh: User) -> None:
    client = Client()
    client.force_login(fresh)
    for headers in ({}, {"HX-Request": "true"}):
        answer = getattr(client, method)(reverse(name), headers=headers)
        assert reverse("mfa_index") in (answer.headers.get("Location"), answer.headers.get("HX-Redirect"))
        assert "Wren" not in answer.content.decode()
    page = client.get(reverse("mfa_index"))
    assert page.status_code == 200 and "a password alone is not enough" in page.content.decode()


def set_up(client: Client) -> str:
    """Add an app as its page says, and return its secret."""
    page = client.get(reverse("mfa_activate_totp")).content.decode()
    found = re.search(r'class="link">([A-Z2-7]{32})<', page)
    assert found and 'src="data:image/svg+xml;base64,' in page
    answer = client.post(reverse("mfa_activate_totp"), {"code": code_now(found[1])})
    assert answer.headers["Location"] == reverse("mfa_view_recovery_codes")
    return found[1]


def test_a_manager_adds_an_app_and_gets_recovery_codes(transactional_db: None) -> None:
    fresh = make_user("Wren Alderjay", is_manager=True, email="wren@example.org")
    client, elsewhere = password_typed(fresh), Client()
    elsewhere.force_login(fresh)
    secret = set_up(client)
    page = client.get(reverse("mfa_view_recovery_codes")).content.decode()
    codes = re.findall(r'class="code">(\d{8})<', page)
    assert len(set(codes)) == 10 and is_in(client)
    assert elsewhere.get(reverse("mfa_index")).status_code == 302, "signed out where no factor was asked for"
    assert "A second factor was added" in mail.outbox[-1].body and mail.outbox[-1].to == ["wren@example.org"]
    again = password_typed(fresh)
    with time_machine.travel(timezone.now() + timedelta(seconds=31)):
        assert again.post(ASK, {"code": code_now(secret)}).status_code == 302


def test_a_wrong_code_adds_nothing(fresh: User) -> None:
    client = password_typed(fresh)
    key = re.search(r'class="link">(\w+)<', client.get(reverse("mfa_activate_totp")).content.decode())
    answer = client.post(reverse("mfa_activate_totp"), {"code": "000000"})
    assert answer.status_code == 422 and key and key[1] in answer.content.decode(), "the key that was scanned stays"
    assert not Authenticator.objects.filter(user=fresh).exists()


def test_later_the_password_is_asked_for_again(cast: Cast) -> None:
    client = password_typed(cast.coach.user)
    with time_machine.travel(timezone.now() + timedelta(minutes=6)):
        answer = client.get(reverse("mfa_activate_totp"))
        assert answer.headers["Location"].startswith(reverse("account_reauthenticate"))
        address = answer.headers["Location"]
        assert client.post(address, {"password": "x" * 12}).status_code == 422
        assert client.post(address, {"password": PASSWORD}).headers["Location"] == reverse("mfa_activate_totp")
        assert client.get(reverse("mfa_activate_totp")).status_code == 200


def test_a_manager_who_removes_the_last_one_adds_another_first(cast: Cast) -> None:
    client = password_typed(cast.manager)
    client.post(ASK, {"code": code_now()})
    assert client.get(reverse("mfa_deactivate_totp")).status_code == 200
    assert client.post(reverse("mfa_deactivate_totp")).status_code == 302
    assert client.get(reverse("caseload")).headers["Location"] == reverse("mfa_index")


def test_nobody_removes_the_passkey_of_somebody_else(cast: Cast) -> None:
    passkey = Authenticator.objects.create(
        user=cast.manager, type="webauthn", data={"name": "Theirs", "credential": {}}
    )
    client = password_typed(cast.coach.user)
    address = reverse("mfa_remove_webauthn", args=[passkey.pk])
    assert client.get(address).status_code == client.post(address).status_code == 404
    assert Authenticator.objects.filter(pk=passkey.pk).exists()


def test_it_is_offered_to_coaches_and_not_to_children(as_: Clients) -> None:
    for actor, offered in (("coach", True), ("manager", True), ("student", False), ("guardian", False)):
        page = as_(actor).get(reverse("account")).content.decode()
        assert (reverse("mfa_index") in page) == offered, actor
    assert as_("coach").get(reverse("students")).status_code == 200


def test_secrets_are_not_stored_as_they_are(cast: Cast, settings: Any) -> None:
    codes = RecoveryCodes.activate(cast.manager)
    with connection.cursor() as cursor:
        stored = str(cursor.execute("SELECT data FROM mfa_authenticator") and cursor.fetchall())
    assert TOTP_SECRET not in stored and not any(code in stored for code in codes.get_unused_codes())
    settings.SECRET_KEY = "another"
    stored_secret = Authenticator.objects.filter(user=cast.manager, type="totp")[0].data["secret"]
    assert SecondFactor().decrypt(stored_secret) != SecondFactor().decrypt(stored_secret), "nobody has it"
    assert password_typed(cast.manager).post(ASK, {"code": code_now()}).status_code == 422


# --- Reset ---------------------------------------------------------------------------------------


def test_the_command_resets_it_and_signs_out(
    cast: Cast, as_: Clients, caplog: pytest.LogCaptureFixture, django_capture_on_commit_callbacks: Any
) -> None:
    User.objects.filter(pk=cast.manager.pk).update(email="odile@example.org")
    client, said = as_("manager"), StringIO()
    with django_capture_on_commit_callbacks(execute=True):
        call_command("reset_factor", cast.manager.username.upper(), stdout=said)
    assert client.get(reverse("caseload")).status_code == 302
    assert not Authenticator.objects.filter(user=cast.manager).exists()
    assert "reset" in mail.outbox[-1].body and mail.outbox[-1].to == ["odile@example.org"]
    for text in (caplog.text, said.getvalue()):
        assert "reset" in text and "Odile" not in text and cast.manager.username not in text and "@" not in text
    again = password_typed(cast.manager)
    assert "Your second factor was reset" in again.get(reverse("mfa_index")).content.decode()
    assert again.get(reverse("caseload")).headers["Location"] == reverse("mfa_index")


def test_the_command_knows_nobody_else(cast: Cast) -> None:
    make_factor(cast.coach.user)
    with pytest.raises(CommandError, match="No account"):
        call_command("reset_factor", "nobody")
    assert Authenticator.objects.count() == 2


def test_the_demo_prints_what_its_manager_needs(transactional_db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    said = StringIO()
    monkeypatch.setattr("coachbook.management.commands.demo.fill", people.fill)
    call_command("demo", "--no-serve", stdout=said)
    key = re.search(r"Key for an app +([A-Z2-7]{32})\n", said.getvalue())
    codes = re.search(r"Recovery codes +((?:\d{8} *)+)\n", said.getvalue())
    assert key and codes
    odile = User.objects.get(is_manager=True)
    for code in (code_now(key[1]), codes[1].split()[0]):
        client = Client()
        client.post(reverse("account_login"), {"login": odile.username, "password": people.PASSWORD})
        assert client.post(ASK, {"code": code}).status_code == 302
