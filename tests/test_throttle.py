"""Nobody who is signed in can flood the site, and nobody who types ever meets the limit."""

import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.conf import settings as site_settings
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook import throttle
from coachbook.family.models import Message
from tests.conftest import Cast

Clients = Callable[[str], Client]


@pytest.fixture(autouse=True)
def one_minute() -> Any:
    """Everything happens at the same moment; the clock is set on by hand."""
    with time_machine.travel(timezone.now().replace(second=10), tick=False) as clock:
        yield clock


def send(client: Client, cast: Cast, text: str = "Words", **headers: str) -> Any:
    address = reverse("message_write", args=[cast.student.key, uuid.uuid4()])
    return client.post(address, {"text": text}, headers=headers)


def test_sixty_messages_at_once_are_half_too_many(cast: Cast, as_: Clients, one_minute: Any) -> None:
    client = as_("coach")
    statuses = [send(client, cast).status_code for _ in range(60)]
    assert statuses == [302] * 30 + [429] * 30 and Message.objects.count() == 30
    answer = send(client, cast, "What I wanted to say")
    page = answer.content.decode()
    assert "What I wanted to say" in page and "Wait a minute" in page and "Send it again" in page
    assert send(as_("guardian"), cast).status_code == 302, "others are not held up"
    assert client.get(reverse("messages", args=[cast.student.key])).status_code == 200, "reading goes on"
    one_minute.shift(timedelta(minutes=1))
    assert send(client, cast, "What I wanted to say").status_code == 302


def test_sixty_messages_around_the_turn_of_a_minute_are_half_too_many(
    cast: Cast, as_: Clients, one_minute: Any
) -> None:
    client = as_("coach")
    one_minute.move_to(timezone.now().replace(second=58))
    assert [send(client, cast).status_code for _ in range(30)] == [302] * 30
    one_minute.shift(timedelta(seconds=4))
    assert [send(client, cast).status_code for _ in range(30)].count(429) >= 29 and Message.objects.count() <= 31


def test_all_forms_together_have_a_limit(cast: Cast, as_: Clients, settings: Any) -> None:
    settings.POSTS_A_MINUTE = {**settings.POSTS_A_MINUTE, "all": 3}
    client = as_("coach")
    addresses = [reverse(name) for name in ("calendar_link", "calendar_end", "calendar_link", "calendar_end")]
    assert [client.post(address).status_code for address in addresses] == [200, 302, 200, 429]


def test_a_fragment_is_answered_for_the_script_of_the_page(cast: Cast, as_: Clients, settings: Any) -> None:
    """static/js/page.js has the words: tests/browser/test_not_saved.py shows them."""
    settings.POSTS_A_MINUTE = {"all": 0}
    answer = send(as_("coach"), cast, **{"HX-Request": "true"})
    assert answer.status_code == 429 and answer.content == b""


def test_a_log_that_saves_itself_every_second_is_far_from_the_limit() -> None:
    assert site_settings.POSTS_A_MINUTE["all"] >= 4 * 60


def test_counting_asks_no_database(cast: Cast, django_assert_num_queries: Any) -> None:
    with django_assert_num_queries(0):
        assert throttle.is_within(1, "x", cast.manager, timezone.now())
        assert not throttle.is_within(1, "x", cast.manager, timezone.now())


def test_too_many_requests_for_a_new_password_keep_what_was_typed(db: None) -> None:
    """Twenty a minute from one address: allauth's own limit, answered by our page."""
    client = Client()
    for number in range(20):
        assert client.post(reverse("account_reset_password"), {"email": f"{number}@example.org"}).status_code == 302
    answer = client.post(reverse("account_reset_password"), {"email": "wren@example.org"})
    assert answer.status_code == 429 and "wren@example.org" in answer.content.decode()


def test_neither_password_nor_code_is_repeated(cast: Cast, as_: Clients, settings: Any) -> None:
    settings.POSTS_A_MINUTE = {"all": 0}
    typed = {"oldpassword": "quiet hands one", "code": "quiet hands two", "credential": "quiet hands three"}
    page = as_("coach").post(reverse("account_change_password"), typed).content.decode()
    assert "quiet hands" not in page
