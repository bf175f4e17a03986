"""An invitation goes out by real SMTP and is read back as a mail program would."""

import email
import socket
from collections.abc import Callable, Iterator
from email.message import Message

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session
from django.test import Client
from django.urls import reverse

Clients = Callable[[str], Client]


class Box:
    """A mail server's memory."""

    def __init__(self) -> None:
        self.envelopes: list[Envelope] = []

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        self.envelopes.append(envelope)
        return "250 kept"


@pytest.fixture
def post_office(settings) -> Iterator[Box]:  # type: ignore[no-untyped-def]
    box = Box()
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    server = Controller(box, hostname="127.0.0.1", port=port)
    server.start()
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", port
    yield box
    server.stop()


def test_an_invitation_reaches_its_reader_with_a_link_that_opens(post_office: Box, as_: Clients) -> None:
    typed = {"name": "Wren Alderley", "role": "coach", "email": "wren@example.org"}
    assert as_("manager").post(reverse("person_invite"), typed).status_code == 200
    (envelope,) = post_office.envelopes
    assert envelope.rcpt_tos == ["wren@example.org"]
    message: Message = email.message_from_bytes(envelope.content)  # type: ignore[arg-type]
    words = message.get_payload(decode=True).decode()  # type: ignore[union-attr]
    (link,) = [word for word in words.split() if word.startswith("http://testserver/")]
    assert Client().get(link.removeprefix("http://testserver")).status_code == 200


def test_a_mail_server_that_is_down_still_shows_the_link(as_: Clients, settings) -> None:  # type: ignore[no-untyped-def]
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 1
    typed = {"name": "Wren Alderley", "role": "coach", "email": "wren@example.org"}
    answer = as_("manager").post(reverse("person_invite"), typed)
    assert answer.status_code == 200
    assert "/people/invitation/" in answer.content.decode()
    assert "could not be sent" in answer.content.decode()
