"""One's own account: a new address that a mailed link confirms, large text, the side one plays from."""

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from allauth.account.internal.flows.login import AUTHENTICATION_METHODS_SESSION_KEY
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Guardianship, NewAddress, Student, User
from coachbook.family.consents import consent_problem
from tests.conftest import Cast
from tests.make import PASSWORD, make_student

Clients = Callable[[str], Client]
FILES = "django.core.mail.backends.filebased.EmailBackend"  # what the settings choose without EMAIL_HOST
LINK = re.compile(r"/account/address/[\w-]+/")


def signed_in(user: User) -> Client:
    """Signed in with the password, just now: the page of the address asks for it anew after some minutes."""
    client = Client()
    client.post(reverse("account_login"), {"login": user.username, "password": PASSWORD})
    return client


def ask(client: Client, email: str) -> Any:
    return client.post(reverse("address"), {"email": email})


def link_to(address: str) -> str:
    [found] = [message for message in mail.outbox if message.to == [address]][-1:]
    return LINK.search(str(found.body))[0]  # type: ignore[index]


@pytest.mark.parametrize("actor", ["guardian", "student", "coach"])
def test_an_address_counts_once_its_owner_opened_the_mailed_link(actor: str, cast: Cast) -> None:
    user = cast.user(actor)
    client = signed_in(user)
    assert "Add an address" in client.get(reverse("account")).content.decode()
    assert ask(client, "new@example.org").status_code == 302
    link = link_to("new@example.org")
    assert "Waiting to be confirmed: new@example.org" in client.get(reverse("account")).content.decode()
    assert "new@example.org" in client.get(link).content.decode()
    user.refresh_from_db()
    assert user.email == "", "a look changes nothing"
    assert client.post(link).status_code == 302 and client.post(link).status_code == 404
    user.refresh_from_db()
    assert user.email == "new@example.org"
    page = client.get(reverse("account")).content.decode()
    assert "The e-mail address of your account was changed" in page and "Waiting" not in page
    assert Client().login(username="new@example.org", password=PASSWORD)


def test_a_changed_address_is_mailed_to_the_earlier_one(cast: Cast, django_capture_on_commit_callbacks: Any) -> None:
    User.objects.filter(pk=cast.guardian.pk).update(email="old@example.org")
    client = signed_in(cast.guardian)
    ask(client, "new@example.org")
    with django_capture_on_commit_callbacks(execute=True):
        client.post(link_to("new@example.org"))
    assert [message.to for message in mail.outbox if "was changed" in str(message.body)] == [["old@example.org"]]


def test_the_link_is_for_its_owner_for_a_day_and_ended_by_a_newer_one(cast: Cast, as_: Clients) -> None:
    client = signed_in(cast.guardian)
    ask(client, "first@example.org")
    first = link_to("first@example.org")
    assert as_("coach").post(first).status_code == 404
    assert Client().get(first).url.startswith(reverse("account_login"))  # type: ignore[attr-defined]
    assert first.split("/")[3] not in str(list(NewAddress.objects.values())), "only its hash is kept"
    ask(client, "second@example.org")
    assert client.post(first).status_code == 404
    with time_machine.travel(timezone.now() + timedelta(days=1, minutes=1)):
        assert client.post(link_to("second@example.org")).status_code == 404
    assert client.post(reverse("address_confirm", args=["made-up"])).status_code == 404
    assert User.objects.get(pk=cast.guardian.pk).email == ""


def test_an_address_of_somebody_else_reads_the_same_and_is_never_taken(cast: Cast) -> None:
    User.objects.filter(pk=cast.coach.user.pk).update(email="ida@example.org")
    client = signed_in(cast.guardian)
    free, taken = ask(client, "free@example.org"), ask(client, "IDA@example.org")
    assert free.status_code == taken.status_code == 302
    texts = {message.to[0]: str(message.body) for message in mail.outbox}
    assert LINK.search(texts["free@example.org"]) and not LINK.search(texts["IDA@example.org"])
    token = NewAddress.issue(cast.guardian, "ida@example.org", timezone.now())
    assert client.post(reverse("address_confirm", args=[token])).status_code == 404
    assert User.objects.get(pk=cast.guardian.pk).email == ""


@pytest.mark.parametrize("typed", ["", "no address", "a@b", "old@example.org", "OLD@example.org", "x" * 250 + "@a.org"])
def test_what_is_no_new_address_is_refused_and_stays(typed: str, cast: Cast) -> None:
    User.objects.filter(pk=cast.guardian.pk).update(email="old@example.org")
    answer = ask(signed_in(cast.guardian), typed)
    assert (answer.status_code == 422 and f'value="{typed}"' in answer.content.decode()) or typed == ""
    assert mail.outbox == [] and not NewAddress.objects.exists()


def test_without_a_mail_server_the_page_says_so_and_nothing_is_kept(cast: Cast, settings: Any) -> None:
    settings.EMAIL_BACKEND, settings.EMAIL_HOST = FILES, ""
    client = signed_in(cast.guardian)
    for answer in (client.get(reverse("address")), ask(client, "new@example.org")):
        assert "No mail server is set up" in answer.content.decode() and "Mail the link" not in answer.content.decode()
    assert not NewAddress.objects.exists()


def test_a_mail_that_cannot_be_sent_is_said_and_many_are_refused(
    cast: Cast, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = signed_in(cast.guardian)
    settings.EMAIL_BACKEND, settings.EMAIL_HOST, settings.EMAIL_PORT = (
        "django.core.mail.backends.smtp.EmailBackend", "127.0.0.1", 1,
    )  # fmt: skip
    answer = ask(client, "new@example.org")
    assert answer.status_code == 422 and "could not be sent" in answer.content.decode()
    for _ in range(5):
        answer = ask(client, "new@example.org")
    assert answer.status_code == 422 and "Too many tries" in answer.content.decode()


def test_the_password_is_asked_for_first(cast: Cast, as_: Clients) -> None:
    """Whoever finds a phone that is signed in adds no address by which the password could then be changed."""
    for client in (as_("guardian"), signed_in(cast.guardian)):
        session = client.session
        session[AUTHENTICATION_METHODS_SESSION_KEY] = []
        session.save()
        answer = client.get(reverse("address"))
        assert answer.status_code == 302 and answer.url.startswith(reverse("account_reauthenticate"))  # type: ignore[attr-defined]
        assert ask(client, "new@example.org").status_code == 302
    assert mail.outbox == [] and not NewAddress.objects.exists()


def reset_by_mail(email: str) -> None:
    Client().post(reverse("account_reset_password"), {"email": email})
    [link] = re.findall(r"http://testserver(/account/password/\S+)", str(mail.outbox[-1].body))
    visitor = Client()
    form = visitor.get(link, follow=True).request["PATH_INFO"]
    words = {"password1": "four quiet words here", "password2": "four quiet words here"}
    assert visitor.post(form, words).status_code == 302


@pytest.mark.parametrize("added", [True, False])
def test_an_address_that_was_added_from_within_proves_nothing_about_who_opened_the_account(
    added: bool, cast: Cast
) -> None:
    """A coach who saw the link could have opened the account, added an address, and chosen a password by mail."""
    child = make_student("Wren Ashknot", coach=cast.coach, birth_year=2018)
    Guardianship.objects.create(guardian=cast.guardian, student=child)
    User.objects.filter(pk=cast.guardian.pk).update(link_seen_by=cast.coach.user)
    if added:
        client = signed_in(cast.guardian)
        ask(client, "maud@example.org")
        client.post(link_to("maud@example.org"))
        assert "by e-mail" not in consent_problem(User.objects.get(pk=cast.guardian.pk), child)
    else:
        User.objects.filter(pk=cast.guardian.pk).update(email="maud@example.org")
    reset_by_mail("maud@example.org")
    assert bool(consent_problem(User.objects.get(pk=cast.guardian.pk), child)) == added


def test_large_text_is_one_class_of_the_page_for_who_chose_it(cast: Cast, as_: Clients) -> None:
    pages = [reverse("account"), reverse("student", args=[cast.student.key]), "/nowhere/"]
    as_("guardian").post(reverse("text_size"), {"size": "large"})
    shown = [as_("guardian").get(page).content.decode() for page in pages]
    assert ['<html lang="en-GB" class="large">' in page for page in shown] == [True, True, False]
    assert "Usual text" in shown[0] and 'class="large"' not in as_("coach").get(pages[1]).content.decode()
    as_("guardian").post(reverse("text_size"), {"size": "usual"})
    assert 'class="large"' not in as_("guardian").get(pages[0]).content.decode()


def test_a_student_reads_which_side_they_play_from(cast: Cast, as_: Clients) -> None:
    """A right-side player stands with the left side nearer the target (common practice, no source)."""
    page = as_("student").get(reverse("account")).content.decode()
    all_four = "I putt, chip, pitch and play bunkers from the right: when I stand at the ball, my left side"
    assert all_four in page
    Student.objects.filter(pk=cast.student.pk).update(putting_side="left")
    page = as_("student").get(reverse("account")).content.decode()
    assert "I putt from the left: when I stand at the ball, my right side is nearer the target." in page
    assert "I chip, pitch and play bunkers from the right" in page
    assert "The side you play from" not in as_("guardian").get(reverse("account")).content.decode()


def test_the_account_costs_few_queries(cast: Cast, as_: Clients, django_assert_max_num_queries: Any) -> None:
    as_("student").get("/")
    with django_assert_max_num_queries(12):
        as_("student").get(reverse("account"))
