"""How long people stay signed in, on which devices, what ends it, and who is let know of a changed sign-in."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
import time_machine
from allauth.usersessions.models import UserSession
from django.core import mail
from django.db import DatabaseError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Invitation, SignInChange, User
from coachbook.accounts.sessions import device_words
from coachbook.corrections.models import ApprovalRequest
from tests.conftest import Cast
from tests.make import PASSWORD, make_user

Clients = Callable[[str], Client]
NEW = "three dry bunkers"
PHONE = (
    "Mozilla/5.0 (Linux; Android 15; K) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0.0.0 Mobile Safari/537.36"
)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


def is_in(client: Client) -> bool:
    return client.get(reverse("home")).status_code == 302 and "_auth_user_id" in client.session


def typed_in(user: User, **more: Any) -> Client:
    client = Client()
    client.post(reverse("account_login"), {"login": user.username, "password": PASSWORD}, **more)
    assert is_in(client)
    return client


# --- Closing -------------------------------------------------------------------------------------


def test_reopening_a_closed_account_does_not_revive_its_sessions(cast: Cast, as_: Clients) -> None:
    user = cast.other_coach.user
    client = typed_in(user)
    as_("manager").post(reverse("person_close", args=[user.key]))
    as_("manager").post(reverse("person_reopen", args=[user.key]))
    assert not is_in(client)
    assert is_in(typed_in(user))


def test_a_session_that_was_not_used_while_the_account_was_closed_stays_over_too(cast: Cast, as_: Clients) -> None:
    user, client = cast.other_coach.user, Client()
    client.force_login(user)
    for name in ("person_close", "person_reopen", "person_close", "person_reopen"):
        as_("manager").post(reverse(name, args=[user.key]))
    assert not is_in(client)


# --- Limits --------------------------------------------------------------------------------------

LIMITS = {
    "manager": (12 * HOUR, 12 * HOUR),
    "coach": (14 * DAY, 90 * DAY),
    "student": (30 * DAY, 180 * DAY),
    "guardian": (30 * DAY, 180 * DAY),
}


@pytest.mark.parametrize("actor", list(LIMITS))
def test_without_use_a_session_ends_when_the_role_says(actor: str, cast: Cast, as_: Clients) -> None:
    idle, client = LIMITS[actor][0], as_(actor)
    with time_machine.travel(timezone.now() + idle - HOUR / 2, tick=False):
        assert is_in(client)
    begun = timezone.now() + idle - HOUR / 2
    if actor != "manager":
        with time_machine.travel(begun + idle + HOUR / 2, tick=False):
            assert not is_in(client)


@pytest.mark.parametrize("actor", list(LIMITS))
def test_with_use_it_ends_too(actor: str, cast: Cast, as_: Clients) -> None:
    (idle, absolute), client = LIMITS[actor], as_(actor)
    begun, step = timezone.now(), min(idle * 0.9, absolute / 3)
    with time_machine.travel(begun, tick=False) as clock:
        while timezone.now() + step < begun + absolute:
            clock.shift(step)
            assert is_in(client), timezone.now() - begun
        clock.move_to(begun + absolute + HOUR)
        assert not is_in(client)


def test_somebody_who_is_both_has_the_strictest_limit(cast: Cast) -> None:
    User.objects.filter(pk=cast.manager.pk).update(name="Odile")
    client = Client()
    cast.coach.user.is_manager = True
    cast.coach.user.save()
    client.force_login(cast.coach.user)
    with time_machine.travel(timezone.now() + 13 * HOUR, tick=False):
        assert not is_in(client)


def test_what_was_typed_when_it_ended_is_kept(cast: Cast, as_: Clients) -> None:
    client = as_("coach")
    with time_machine.travel(timezone.now() + 15 * DAY, tick=False):
        answer = client.post(reverse("student_details", args=[cast.student.key]), {"name": "Typed at length"})
    assert answer.status_code == 401 and "Typed at length" in answer.content.decode()


def test_a_database_that_takes_no_writes_still_lets_people_read(
    cast: Cast, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = as_("coach")

    def refuse(*args: Any, **kwargs: Any) -> None:
        raise DatabaseError("attempt to write a readonly database")

    monkeypatch.setattr("django.contrib.sessions.backends.db.SessionStore.save", refuse)
    with time_machine.travel(timezone.now() + 2 * DAY, tick=False):
        assert client.get(reverse("students")).status_code == 200


# --- The list of devices -------------------------------------------------------------------------


def test_a_person_sees_their_devices_and_signs_out_all_others(cast: Cast) -> None:
    user = cast.student.user
    phone, desk = typed_in(user, HTTP_USER_AGENT=PHONE), typed_in(user)
    stranger = typed_in(cast.other_student.user)
    page = desk.get(reverse("usersessions_list")).content.decode()
    assert "Chrome on Android" in page and page.count("since ") == 2 and page.count("this device") == 1
    assert desk.post(reverse("usersessions_list")).status_code == 302
    assert not is_in(phone) and is_in(desk) and is_in(stranger)
    assert "You are signed out on all other devices." in desk.get(reverse("usersessions_list")).content.decode()


def test_neither_the_address_nor_the_exact_browser_is_kept(cast: Cast) -> None:
    typed_in(cast.student.user, HTTP_USER_AGENT=PHONE, REMOTE_ADDR="192.0.2.77")
    kept = str(list(UserSession.objects.values()))
    assert "192.0.2.77" not in kept and "Mozilla" not in kept and "140" not in kept


@pytest.mark.parametrize(
    ("agent", "words"),
    [
        (PHONE, "Chrome on Android"),
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 18_6 like Mac OS X) Version/18.6 Safari/604.1", "Safari on an iPhone"),
        ("Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) Version/18.6 Safari/605.1.15", "Safari on a Mac"),
        ("Mozilla/5.0 (Windows NT 10.0; Win64; x64; rv:143.0) Gecko/20100101 Firefox/143.0", "Firefox on Windows"),
        ("Mozilla/5.0 (Windows NT 10.0) Chrome/140.0.0.0 Safari/537.36 Edg/140.0.0.0", "Edge on Windows"),
        ("Mozilla/5.0 (X11; CrOS x86_64) Chrome/140.0.0.0 Safari/537.36", "Chrome on a Chromebook"),
        ("something else", "A browser"),
        ("", "A browser"),
    ],
)  # fmt: skip
def test_a_device_is_named_in_plain_words(agent: str, words: str) -> None:
    assert device_words(agent) == words == device_words(words)


# --- Changes are let known -----------------------------------------------------------------------


@pytest.fixture
def mailed(cast: Cast) -> User:
    """A student with an address."""
    User.objects.filter(pk=cast.student.user.pk).update(email="alder@example.org")
    cast.student.user.refresh_from_db()
    return cast.student.user


def test_a_new_password_ends_all_other_sessions_and_is_let_known(
    mailed: User, django_capture_on_commit_callbacks: Any
) -> None:
    phone, desk = typed_in(mailed), typed_in(mailed)
    chosen = {"oldpassword": PASSWORD, "password1": NEW, "password2": NEW}
    with django_capture_on_commit_callbacks(execute=True):
        assert desk.post(reverse("account_change_password"), chosen).status_code == 302
    assert is_in(desk) and not is_in(phone)
    assert [(m.to, "Your password was changed" in m.body) for m in mail.outbox] == [(["alder@example.org"], True)]
    assert NEW not in mail.outbox[0].body and "127.0.0.1" not in mail.outbox[0].body
    assert "Your password was changed" in desk.get(reverse("account")).content.decode()


def test_a_new_password_by_mail_is_let_known_as_well(mailed: User, django_capture_on_commit_callbacks: Any) -> None:
    old, visitor = typed_in(mailed), Client()
    visitor.post(reverse("account_reset_password"), {"email": mailed.email})
    (link,) = [word for word in mail.outbox[0].body.split() if word.startswith("http://")]
    page = visitor.get(link.removeprefix("http://testserver"), follow=True)
    with django_capture_on_commit_callbacks(execute=True):
        visitor.post(page.request["PATH_INFO"], {"password1": NEW, "password2": NEW})
    assert "Your password was changed" in mail.outbox[1].body and not is_in(old)


def test_a_password_that_somebody_else_set_is_shown_at_the_next_sign_in_once(cast: Cast) -> None:
    """For a child without an address, the page is the only place."""
    user, at = cast.student.user, timezone.now()
    token = Invitation.issue(user, by=cast.manager, at=at)
    Client().post(reverse("invitation", args=[token]), {"new_password1": NEW, "new_password2": NEW})
    SignInChange.objects.update(shown_at=None, at=datetime.fromisoformat("2026-07-01T10:00:00+00:00"))
    for shown in (True, False):
        client = Client()
        client.post(reverse("account_login"), {"login": user.username, "password": NEW})
        page = client.get(reverse("today", args=[cast.student.key])).content.decode()
        assert ("Your password was changed on 1 July 2026, 11:00. If that was not you" in page) == shown


def test_a_first_password_is_no_change(cast: Cast) -> None:
    user = make_user("Flora Larkwren")
    user.set_unusable_password()
    user.save()
    token = Invitation.issue(user, by=cast.manager, at=timezone.now())
    Client().post(reverse("invitation", args=[token]), {"new_password1": NEW, "new_password2": NEW})
    assert not SignInChange.objects.exists()


def test_a_changed_address_is_mailed_to_the_old_one(
    mailed: User, cast: Cast, as_: Clients, django_capture_on_commit_callbacks: Any
) -> None:
    page = reverse("student_invite", args=[cast.student.key])
    typed = {"username": mailed.username, "email": "new@example.org"}
    ask = reverse("student_access_ask", args=[cast.student.key])
    assert as_("coach").post(page, typed).status_code == 200, "it is asked first"
    assert as_("coach").post(ask, typed).status_code in (200, 302)
    decide = reverse("approval_decide", args=[ApprovalRequest.objects.get().key])
    with django_capture_on_commit_callbacks(execute=True):
        assert as_("manager").post(decide, {"decision": "approve"}).status_code in (200, 302)
    (notice,) = [message for message in mail.outbox if "address of your account was changed" in message.body]
    assert notice.to == ["alder@example.org"] and "new@example.org" not in notice.body
    assert "address of your account was changed" in as_("student").get(reverse("account")).content.decode()


def test_a_mail_server_that_is_down_undoes_nothing(
    mailed: User, settings: Any, django_capture_on_commit_callbacks: Any
) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 1
    client = typed_in(mailed)
    with django_capture_on_commit_callbacks(execute=True):
        answer = client.post(
            reverse("account_change_password"), {"oldpassword": PASSWORD, "password1": NEW, "password2": NEW}
        )
    assert answer.status_code == 302 and Client().login(username=mailed.username, password=NEW)
