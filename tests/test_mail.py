"""An invitation goes out by real SMTP and is read back as a mail program would."""

import email
from collections.abc import Callable, Iterator
from email.message import Message
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from coachbook.accounts.models import Student, User
from tests.conftest import Cast
from tests.post_office import Box, serving

Clients = Callable[[str], Client]


@pytest.fixture
def post_office(settings: Any) -> Iterator[Box]:
    with serving(Box(), settings) as box:
        yield box


def test_an_invitation_arrives_with_a_link_that_works(post_office: Box, as_: Clients) -> None:
    typed = {"name": "Wren Alderjay", "role": "coach", "email": "wren@example.org"}
    assert as_("manager").post(reverse("person_invite"), typed).status_code == 200
    (envelope,) = post_office.envelopes
    assert envelope.rcpt_tos == ["wren@example.org"]
    message: Message = email.message_from_bytes(envelope.content)  # type: ignore[arg-type]
    words = message.get_payload(decode=True).decode()  # type: ignore[union-attr]
    (link,) = [word for word in words.split() if word.startswith("http://testserver/")]
    assert Client().get(link.removeprefix("http://testserver")).status_code == 200


def test_a_forgotten_password_is_chosen_anew_by_a_link_that_works_once(post_office: Box, cast: Cast) -> None:
    User.objects.filter(pk=cast.coach.user.pk).update(email="ida@example.org")
    assert Client().post(reverse("account_reset_password"), {"email": "ida@example.org"}).status_code == 302
    message: Message = email.message_from_bytes(post_office.envelopes[0].content)  # type: ignore[arg-type]
    words = message.get_payload(decode=True).decode()  # type: ignore[union-attr]
    assert "Ida" in words and "works once" in words
    (link,) = [word for word in words.split() if word.startswith("http://testserver/")]
    visitor = Client()
    page = visitor.get(link.removeprefix("http://testserver"), follow=True)
    assert "Choose a new password" in page.content.decode()
    chosen = {"password1": "four quiet words here", "password2": "four quiet words here"}
    done = visitor.post(page.request["PATH_INFO"], chosen, follow=True)
    assert "Your password is changed" in done.content.decode()
    assert Client().login(username=cast.coach.user.username, password="four quiet words here")
    again = Client().get(link.removeprefix("http://testserver"), follow=True)
    assert "This link has ended" in again.content.decode()


def test_asking_for_a_password_of_nobody_mails_nobody_and_says_the_same(post_office: Box, cast: Cast) -> None:
    answer = Client().post(reverse("account_reset_password"), {"email": "nobody@example.org"}, follow=True)
    assert post_office.envelopes == [] and "Check your e-mail" in answer.content.decode()


@pytest.mark.parametrize(
    "forged",
    [{"HTTP_HOST": "elsewhere.book.example"}, {"HTTP_HOST": "book.example:666"},
     {"HTTP_X_FORWARDED_HOST": "elsewhere.example"}, {"HTTP_X_FORWARDED_PROTO": "gopher"}],
    ids=str,
)  # fmt: skip
def test_the_link_for_a_new_password_leads_to_us_whatever_the_request_says(
    forged: dict[str, str], post_office: Box, cast: Cast, settings: Any
) -> None:
    settings.ALLOWED_HOSTS, settings.SITE_ADDRESS = [".book.example", "testserver"], "https://book.example"
    User.objects.filter(pk=cast.coach.user.pk).update(email="ida@example.org")
    answer = Client().post(reverse("account_reset_password"), {"email": "ida@example.org"}, **forged)
    assert answer.status_code == 302
    message: Message = email.message_from_bytes(post_office.envelopes[0].content)  # type: ignore[arg-type]
    words = message.get_payload(decode=True).decode()  # type: ignore[union-attr]
    (link,) = [word for word in words.split() if "://" in word]
    assert link.startswith("https://book.example/account/password/reset/key/")
    assert "elsewhere" not in envelope_text(post_office) and ":666" not in envelope_text(post_office)


def test_no_other_mail_takes_a_link_from_the_request_either(
    post_office: Box, cast: Cast, as_: Clients, settings: Any
) -> None:
    settings.ALLOWED_HOSTS, settings.SITE_ADDRESS = [".book.example", "testserver"], "https://book.example"
    User.objects.filter(pk=cast.guardian.pk).update(email="maud@example.org")
    forged = {"HTTP_HOST": "elsewhere.book.example"}
    typed = {"name": "Wren Alderjay", "role": "coach", "email": "wren@example.org"}
    as_("manager").post(reverse("person_invite"), typed, **forged)
    Student.objects.filter(pk=cast.student.pk).update(birth_year=2016)
    ask = reverse("age_ask", args=[cast.student.key])
    as_("coach").post(ask, {"birth_year": 1980, "age_group": ""}, **forged)
    texts = [bytes(envelope.content).decode() for envelope in post_office.envelopes]  # type: ignore[arg-type]
    assert len(texts) == 2 and all("https://book.example/" in text and "elsewhere" not in text for text in texts)


def envelope_text(box: Box) -> str:
    content = box.envelopes[0].content
    return content.decode() if isinstance(content, bytes) else str(content)


def test_a_mail_server_that_is_down_still_shows_the_link(as_: Clients, settings) -> None:  # type: ignore[no-untyped-def]
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 1
    typed = {"name": "Wren Alderjay", "role": "coach", "email": "wren@example.org"}
    answer = as_("manager").post(reverse("person_invite"), typed)
    assert answer.status_code == 200
    assert "/people/invitation/" in answer.content.decode()
    assert "could not be sent" in answer.content.decode()
