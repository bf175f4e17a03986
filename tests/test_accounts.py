"""Accounts: invited, used once, closed, reopened; and signing in."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Coach, Guardianship, Invitation, User
from tests.conftest import Cast
from tests.make import PASSWORD, make_student, make_user

Clients = Callable[[str], Client]
CHOSEN = {"new_password1": "three dry bunkers", "new_password2": "three dry bunkers"}


def link_in(page: str) -> str:
    """The invitation's path, as the page shows it."""
    found = re.search(r"/people/invitation/[\w-]+/", page)
    assert found
    return found[0]


def invitation_by_code(page: str, username: str) -> str:
    """The path to which the code on a slip leads; without an address the page shows no link."""
    found = re.search(r'class="code">([A-Z ]+)<', page)
    assert found and "/people/invitation/" not in page
    answer = Client().post(reverse("one_time_code"), {"username": username, "code": found[1]})
    return str(answer.headers["Location"])


def invite(client: Client, **typed: object) -> str:
    """The link of an invitation: mailed, and then not on the page; without an address, on the page."""
    page = client.post(reverse("person_invite"), typed).content.decode()
    if not typed.get("email"):
        return link_in(page)
    assert "/people/invitation/" not in page and str(typed["email"]).replace("'", "&#x27;") in page
    return link_in(str(mail.outbox[-1].body))


def test_a_manager_invites_a_coach_who_chooses_a_password_and_signs_in(as_: Clients) -> None:
    link = invite(as_("manager"), name="Wren Alderjay", role="coach", email="wren@example.org")
    wren = Client()
    assert wren.post(link, CHOSEN).url == reverse("home")  # type: ignore[attr-defined]
    assert wren.get(reverse("students")).status_code == 200
    assert Coach.objects.get(user__name="Wren Alderjay")
    assert link in mail.outbox[0].body and mail.outbox[0].to == ["wren@example.org"]


def test_an_invitation_works_once(as_: Clients) -> None:
    link = invite(as_("manager"), name="Wren Alderjay", role="manager", username="wren")
    assert Client().post(link, CHOSEN).status_code == 302
    assert Client().get(link).status_code == 404
    assert Client().post(link, CHOSEN).status_code == 404


def test_an_invitation_ends_after_a_week_and_when_a_newer_one_is_made(cast: Cast) -> None:
    now = timezone.now()
    first = Invitation.issue(cast.student.user, by=cast.manager, at=now)
    second = Invitation.issue(cast.student.user, by=cast.manager, at=now)
    assert not Invitation.objects.usable(first, now).exists()
    assert Invitation.objects.usable(second, now + timedelta(days=6, hours=23)).exists()
    assert not Invitation.objects.usable(second, now + timedelta(days=7, minutes=1)).exists()


def test_the_token_itself_is_not_stored(cast: Cast) -> None:
    token = Invitation.issue(cast.student.user, by=cast.manager, at=timezone.now())
    assert token not in str(list(Invitation.objects.values()))


def test_a_guardian_is_invited_for_a_child(cast: Cast, as_: Clients) -> None:
    typed = {"name": "Piers Larkwren", "role": "guardian", "username": "piers", "child": cast.student.pk}
    invitation_by_code(as_("manager").post(reverse("person_invite"), typed).content.decode(), "piers")
    assert Guardianship.objects.filter(guardian__username="piers", student=cast.student).exists()


@pytest.mark.parametrize(
    ("typed", "field", "message"),
    [
        ({"role": "guardian", "username": "piers"}, "child", "Choose whose guardian this person is."),
        ({"role": "coach"}, "email", "Give an e-mail address or a user name."),
        (
            {"role": "coach", "username": "IDA.FERNKETTLE"},
            "username",
            "Another account has this user name.",
        ),
        ({"role": "coach", "email": "not an address"}, "email", "Enter a valid email address."),
        ({"role": "coach", "username": "two words"}, "username", "Enter a valid username."),
        ({"role": "emperor", "username": "x"}, "role", "Select a valid choice."),
    ],
)
def test_an_invalid_invitation_says_why_and_keeps_what_was_typed(
    typed: dict[str, str], field: str, message: str, as_: Clients
) -> None:
    answer = as_("manager").post(reverse("person_invite"), {"name": "Wren Alderjay", **typed})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "<title>Please check – " in page and "To put right" in page
    assert message in answer.context["form"].errors[field][0] and f'id="id_{field}_error"' in page
    assert 'value="Wren Alderjay"' in page
    assert not User.objects.filter(name="Wren Alderjay").exists()


@pytest.mark.parametrize(("first", "again"), [("short", "short"), ("three dry bunkers", "three wet bunkers")])
def test_an_invalid_password_is_refused(first: str, again: str, cast: Cast) -> None:
    token = Invitation.issue(cast.student.user, by=cast.manager, at=timezone.now())
    answer = Client().post(reverse("invitation", args=[token]), {"new_password1": first, "new_password2": again})
    assert answer.status_code == 422 and answer.context["form"].errors["new_password2"]
    assert f'value="{first}"' not in answer.content.decode()


def test_a_coach_invites_a_student_without_an_address(cast: Cast, as_: Clients) -> None:
    student = make_student("Flora Larkwren", coach=cast.coach, account=False)
    answer = as_("coach").post(reverse("student_invite", args=[student.key]), {"username": "flora"})
    student.refresh_from_db()
    assert student.user and not student.user.has_usable_password()
    assert Client().post(invitation_by_code(answer.content.decode(), "flora"), CHOSEN).status_code == 302
    assert Client().login(username="flora", password=CHOSEN["new_password1"])


def test_a_coach_gets_no_link_to_a_colleagues_account(cast: Cast, as_: Clients) -> None:
    cast.student.user.is_manager = True
    cast.student.user.save()
    page = reverse("student_invite", args=[cast.student.key])
    answer = as_("coach").post(page, {"username": cast.student.user.username})
    assert answer.status_code == 422 and "Ask a manager" in answer.content.decode()
    assert not Invitation.objects.exists()


def test_inviting_again_leaves_the_password_alone_until_the_link_is_used(cast: Cast, as_: Clients) -> None:
    student = make_student("Flora Larkwren", coach=cast.coach, account=False)
    page = reverse("student_invite", args=[student.key])
    links = [invitation_by_code(as_("coach").post(page, {"username": "flora"}).content.decode(), "flora") for _ in "12"]
    assert [Client().get(link).status_code for link in links] == [404, 200], "never opened: a new link at once"
    page = reverse("student_invite", args=[cast.student.key])
    assert as_("coach").post(page, {"username": cast.student.user.username}).status_code == 200
    assert Client().login(username=cast.student.user.username, password=PASSWORD)


def test_closing_an_account_ends_it_and_its_invitations_and_reopening_gives_it_back(cast: Cast, as_: Clients) -> None:
    user = cast.other_coach.user
    token = Invitation.issue(user, by=cast.manager, at=timezone.now())
    as_("manager").post(reverse("person_close", args=[user.key]))
    assert not Client().login(username=user.username, password=PASSWORD)
    assert Client().get(reverse("invitation", args=[token])).status_code == 404
    as_("manager").post(reverse("person_reopen", args=[user.key]))
    assert Client().login(username=user.username, password=PASSWORD)


def test_a_manager_cannot_lock_themselves_out(cast: Cast, as_: Clients) -> None:
    as_("manager").post(reverse("person_close", args=[cast.manager.key]))
    cast.manager.refresh_from_db()
    assert cast.manager.is_active


@pytest.mark.parametrize("name", ["wren@example.org", "WREN@example.org", "wren", "Wren"])
def test_sign_in_by_address_or_user_name_in_any_capitals(name: str, cast: Cast) -> None:
    make_user("Wren Alderjay", username="wren", email="wren@example.org")
    answer = Client().post(reverse("account_login"), {"login": name, "password": PASSWORD})
    assert answer.status_code == 302 and answer.url == reverse("home")  # type: ignore[attr-defined]


def test_a_wrong_password_and_a_stranger_get_the_same_answer(cast: Cast) -> None:
    pages = [
        Client().post(reverse("account_login"), {"login": name, "password": "x" * 12})
        for name in (cast.student.user.username, "nobody")
    ]
    assert pages[0].context["form"].errors == pages[1].context["form"].errors


def test_the_sixth_wrong_password_is_refused_but_others_still_sign_in(cast: Cast) -> None:
    """Five failures for one account in five minutes: the rate that allauth documents as its default."""
    name = cast.student.user.username
    for _ in range(5):
        Client().post(reverse("account_login"), {"login": name, "password": "x" * 12})
    right = Client().post(reverse("account_login"), {"login": name, "password": PASSWORD})
    assert right.status_code != 302
    other = Client().post(reverse("account_login"), {"login": cast.other_student.user.username, "password": PASSWORD})
    assert other.status_code == 302


def test_a_closed_account_cannot_sign_in(cast: Cast) -> None:
    answer = Client().post(reverse("account_login"), {"login": cast.closed.username, "password": PASSWORD})
    assert "_auth_user_id" not in answer.client.session  # type: ignore[attr-defined]


def test_an_invitation_does_not_outlive_a_new_password(cast: Cast, as_: Clients) -> None:
    token = Invitation.issue(cast.student.user, by=cast.manager, at=timezone.now())
    typed = {"oldpassword": PASSWORD, "password1": "three dry bunkers", "password2": "three dry bunkers"}
    assert as_("student").post(reverse("account_change_password"), typed).status_code == 302
    assert Client().get(reverse("invitation", args=[token])).status_code == 404


def test_an_address_with_an_apostrophe_is_an_address(as_: Clients) -> None:
    invite(as_("manager"), name="Wren O'Brien", role="coach", email="wren.o'brien@example.org")
    assert User.objects.get(email="wren.o'brien@example.org").username == "wren.obrien@example.org"


def test_tokens_stay_out_of_the_log(cast: Cast, caplog: pytest.LogCaptureFixture) -> None:
    token = Invitation.issue(cast.student.user, by=cast.manager, at=timezone.now())
    for checks in (True, False):
        Client(enforce_csrf_checks=checks).post(reverse("invitation", args=[token]), {"new_password1": "x"})
    assert len(caplog.records) >= 2 and token not in caplog.text
