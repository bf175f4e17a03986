"""How often a password may be guessed, and by whom: a stranger's guesses never lock the owner out of an own device."""

import os
import subprocess
import sys
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.conf import settings as site_settings
from django.core import mail
from django.core.cache import cache, caches
from django.core.cache.backends.filebased import FileBasedCache
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import CacheEntry, User
from coachbook.accounts.one_time_codes import issue_slip
from tests.conftest import Cast
from tests.make import PASSWORD, make_user

WAIT = "Too many tries. Wait five minutes, then try again."
STORED = {"BACKEND": "coachbook.cache.LastingCache", "LOCATION": "accounts_cacheentry"}
ADDRESSES = {"own": "192.0.2.1", "strange": "198.51.100.7"}  # for documents: RFC 5737


@pytest.fixture(params=["memory", "database"])
def counts(request: pytest.FixtureRequest, settings: Any) -> Iterator[str]:
    """The limits on the cache of the tests, and on the one that is served."""
    if request.param == "database":
        settings.CACHES = {**settings.CACHES, "default": STORED}
    yield request.param
    cache.clear()


def sign_in(client: Client, name: str, password: str = "x" * 12, address: str = ADDRESSES["own"], **more: Any) -> bool:
    """Whether a password was accepted."""
    typed = {"login": name, "password": password}
    answer = client.post(reverse("account_login"), typed, REMOTE_ADDR=address, **more)
    return answer.status_code == 302


def guess(name: str, times: int, address: str = ADDRESSES["strange"]) -> None:
    for _ in range(times):
        assert not sign_in(Client(), name, address=address)


def test_a_stranger_elsewhere_does_not_lock_the_owner_out(cast: Cast, counts: str) -> None:
    name = cast.student.user.username
    guess(name, 8)
    assert not sign_in(Client(), name, PASSWORD, ADDRESSES["strange"])
    assert sign_in(Client(), name, PASSWORD)


def test_a_stranger_on_the_same_wifi_does_not_lock_out_a_device_that_is_known(cast: Cast, counts: str) -> None:
    name, phone = cast.student.user.username, Client()
    assert sign_in(phone, name, PASSWORD)
    phone.post(reverse("account_logout"))
    guess(name, 8, ADDRESSES["own"])
    assert not sign_in(Client(), name, PASSWORD)
    assert sign_in(phone, name, PASSWORD)


def test_guesses_from_everywhere_are_stopped_but_not_on_a_known_device(cast: Cast) -> None:
    """Thirty an hour for one name, from however many addresses."""
    name, phone = cast.student.user.username, Client()
    assert sign_in(phone, name, PASSWORD)
    phone.post(reverse("account_logout"))
    for number in range(30):
        assert not sign_in(Client(), name, address=f"198.51.100.{number}")
    answer = Client().post(reverse("account_login"), {"login": name, "password": PASSWORD})
    assert answer.status_code == 422 and "Wait an hour" in answer.content.decode()
    assert sign_in(phone, name, PASSWORD)
    with time_machine.travel(timezone.now() + timedelta(hours=1, minutes=1), tick=False):
        assert sign_in(Client(), name, PASSWORD)


def test_a_known_device_guesses_five_times_in_five_minutes_too(cast: Cast, counts: str) -> None:
    name, phone = cast.student.user.username, Client()
    assert sign_in(phone, name, PASSWORD)
    phone.post(reverse("account_logout"))
    for _ in range(5):
        assert not sign_in(phone, name)
    assert not sign_in(phone, name, PASSWORD)
    del phone.cookies[site_settings.KNOWN_DEVICE_COOKIE_NAME]
    assert sign_in(phone, name, PASSWORD), "counted apart from what is not known"


def test_a_device_is_known_to_those_alone_who_signed_in_on_it(cast: Cast) -> None:
    own, other, phone = cast.student.user.username, cast.other_student.user.username, Client()
    assert sign_in(phone, own, PASSWORD)
    phone.post(reverse("account_logout"))
    for _ in range(5):
        sign_in(phone, other)
    assert not sign_in(phone, other, PASSWORD)


def test_the_cookie_of_a_device_is_signed_hidden_from_scripts_and_names_nobody(cast: Cast) -> None:
    client, user = Client(), cast.student.user
    User.objects.filter(pk=user.pk).update(email="alder@example.org")
    assert sign_in(client, "alder@example.org", PASSWORD)
    cookie = client.cookies[site_settings.KNOWN_DEVICE_COOKIE_NAME]
    assert cookie["httponly"] and cookie["samesite"] == "Lax" and int(cookie["max-age"]) > 300 * 24 * 3600
    assert user.username not in cookie.value and "alder" not in cookie.value
    client.post(reverse("account_logout"))
    guess(user.username, 5, ADDRESSES["own"])
    assert sign_in(client, user.username, PASSWORD), "by either name"
    client.post(reverse("account_logout"))
    client.cookies[site_settings.KNOWN_DEVICE_COOKIE_NAME] = cookie.value[:-1] + (
        "A" if cookie.value[-1] != "A" else "B"
    )
    assert not sign_in(client, user.username, PASSWORD), "a forged one counts for nothing"


@pytest.mark.parametrize("host", ["testserver:8000", "testserver:1", "TESTSERVER"])
def test_another_port_gives_no_more_guesses(host: str, cast: Cast) -> None:
    name = cast.student.user.username
    guess(name, 5, ADDRESSES["own"])
    assert not sign_in(Client(), name, PASSWORD, HTTP_HOST=host)


@pytest.mark.parametrize(
    "spelling", [str.upper, lambda name: f"  {name} ", lambda name: name.replace("a", "\uff41", 1)]
)
def test_another_spelling_gives_no_more_guesses(spelling: Any, cast: Cast) -> None:
    name = cast.student.user.username
    for _ in range(5):
        sign_in(Client(), spelling(name))
    assert not sign_in(Client(), name, PASSWORD)


def test_one_address_signs_in_a_whole_academy(cast: Cast) -> None:
    """Nineteen people on one Wi-Fi mistype once in a minute, and all the others still sign in; at twenty they wait."""
    for number in range(19):
        sign_in(Client(), f"nobody{number}")
    assert sign_in(Client(), cast.student.user.username, PASSWORD)
    sign_in(Client(), "nobody")
    answer = Client().post(
        reverse("account_login"), {"login": "somebody", "password": PASSWORD}, REMOTE_ADDR=ADDRESSES["own"]
    )
    assert "Wait a minute" in answer.content.decode()
    assert sign_in(Client(), cast.student.user.username, PASSWORD, ADDRESSES["strange"])


def test_the_addresses_of_one_ipv6_network_count_as_one(cast: Cast) -> None:
    """A network of 64 bits belongs to one household (RFC 6177); 2001:db8::/32 is for documents (RFC 3849)."""
    name = cast.student.user.username
    for number in range(5):
        sign_in(Client(), name, address=f"2001:db8::{number + 1:x}")
    assert not sign_in(Client(), name, PASSWORD, "2001:db8::ffff")
    assert sign_in(Client(), name, PASSWORD, "2001:db8:0:1::1")


def test_right_passwords_are_not_counted(cast: Cast) -> None:
    assert all(sign_in(Client(), cast.student.user.username, PASSWORD) for _ in range(7))


def test_the_refusal_says_how_long_to_wait_and_that_a_mail_helps(cast: Cast) -> None:
    guess(cast.student.user.username, 5, "127.0.0.1")
    answer = Client().post(reverse("account_login"), {"login": cast.student.user.username, "password": PASSWORD})
    page = answer.content.decode()
    assert answer.status_code == 422 and WAIT in page
    assert "choose a new password by e-mail" in page and reverse("account_reset_password") in page
    assert f'value="{cast.student.user.username}"' in page


def test_a_new_password_by_mail_ends_the_wait(cast: Cast, counts: str) -> None:
    make_user("Wren Alderjay", username="wren", email="wren@example.org")
    for name in ("wren", "wren@example.org"):
        guess(name, 5, "127.0.0.1")
    Client().post(reverse("account_reset_password"), {"email": "wren@example.org"})
    (link,) = [word for word in mail.outbox[0].body.split() if word.startswith("http://")]
    visitor = Client()
    page = visitor.get(link.removeprefix("http://testserver"), follow=True)
    chosen = {"password1": "three dry bunkers", "password2": "three dry bunkers"}
    visitor.post(page.request["PATH_INFO"], chosen)
    for name in ("wren", "wren@example.org"):
        assert sign_in(Client(), name, "three dry bunkers", "127.0.0.1")


def test_codes_on_paper_are_counted_in_the_same_way(cast: Cast, counts: str) -> None:
    name = cast.student.user.username
    code = issue_slip(cast.student.user, by=cast.manager, at=timezone.now()).code

    def typed(code: str, address: str, host: str = "testserver") -> int:
        words = {"username": name, "code": code}
        return Client().post(reverse("one_time_code"), words, REMOTE_ADDR=address, HTTP_HOST=host).status_code

    assert [typed("BBBB BBBB BBBB", ADDRESSES["strange"]) for _ in range(6)] == [422] * 5 + [429]
    assert typed(code, ADDRESSES["strange"], "testserver:81") == 429
    assert typed(code, ADDRESSES["own"]) == 302


# --- The cache that holds the counts -------------------------------------------------------------


def test_a_file_cache_forgets_counts_and_ours_does_not(cast: Cast, settings: Any, tmp_path: Any) -> None:
    """Django's caches drop entries beyond 300, whether or not their time is over (docs, "Cache arguments")."""
    files = FileBasedCache(str(tmp_path), {})
    settings.CACHES = {**settings.CACHES, "default": STORED}
    for store in (files, caches["default"]):
        for number in range(700):
            store.set(f"count{number}", number, 300)
    kept = [sum(store.get(f"count{n}") is not None for n in range(700)) for store in (files, caches["default"])]
    assert kept[0] < 700 and kept[1] == 700


def test_counts_outlive_three_hundred_others(cast: Cast, settings: Any) -> None:
    settings.CACHES = {**settings.CACHES, "default": STORED}
    guess(cast.student.user.username, 5)
    for number in range(310):
        cache.set(f"other{number}", number, 300)
    assert not sign_in(Client(), cast.student.user.username, PASSWORD, ADDRESSES["strange"])


def test_what_has_expired_is_deleted(cast: Cast, settings: Any) -> None:
    """Counts hold addresses: they are kept no longer than they serve."""
    settings.CACHES = {**settings.CACHES, "default": STORED}
    guess(cast.student.user.username, 2)
    assert CacheEntry.objects.filter(cache_key__contains=ADDRESSES["strange"]).exists()
    with time_machine.travel(timezone.now() + timedelta(hours=2), tick=False):
        cache.set("another", 1)
        assert CacheEntry.objects.count() == 1


PROCESS = """
import django, sys
from django.conf import settings
settings.DATABASES["default"]["NAME"] = sys.argv[1]
settings.ALLOWED_HOSTS.append("testserver")
django.setup()
from django.test import Client
typed = {"login": sys.argv[2], "password": "x" * 12}
pages = [Client().post("/account/login/", typed).content.decode() for _ in range(int(sys.argv[3]))]
print(sum("Too many tries" in page for page in pages))
"""


@pytest.mark.one_database
@pytest.mark.django_db(transaction=True)
def test_two_processes_count_together(cast: Cast) -> None:
    name = connection.settings_dict["NAME"]

    def guesses(times: int) -> int:
        words = [sys.executable, "-c", PROCESS, str(name), cast.student.user.username, str(times)]
        environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "coachbook.settings"}
        ran = subprocess.run(
            words, env=environment, cwd=site_settings.BASE_DIR, capture_output=True, text=True, check=True
        )
        return int(ran.stdout)

    assert guesses(3) == 0
    assert guesses(3) == 1
