"""A real mail server on loopback, which keeps what it takes, and can refuse, break off or be away."""

import email
import email.policy
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from email.message import EmailMessage
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, Envelope, Session


class Box:
    """A mail server's memory, and whom it refuses."""

    def __init__(self) -> None:
        self.envelopes: list[Envelope] = []
        self.refused: dict[str, str] = {}  # by address, what the server answers
        self.breaks_off = False  # once it has taken a mail, before it says so

    async def handle_RCPT(
        self, server: SMTP, session: Session, envelope: Envelope, address: str, options: list[str]
    ) -> str:
        if address in self.refused:
            return self.refused[address]
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server: SMTP, session: Session, envelope: Envelope) -> str:
        self.envelopes.append(envelope)
        if self.breaks_off:
            server.transport.close()
        return "250 kept"

    @property
    def mails(self) -> list[EmailMessage]:
        """What was taken, as a mail program reads it."""
        contents = [bytes(envelope.content or b"") for envelope in self.envelopes]  # type: ignore[arg-type]
        return [email.message_from_bytes(content, policy=email.policy.default) for content in contents]  # type: ignore[misc]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def serving(box: Box, settings: Any) -> Iterator[Box]:
    """The server is there, and the settings name it; afterwards they name one that is away."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", free_port()
    server = Controller(box, hostname="127.0.0.1", port=settings.EMAIL_PORT)
    server.start()
    try:
        yield box
    finally:
        server.stop()


def text_of(mail: EmailMessage) -> str:
    """The words of a mail."""
    words: str = mail.get_content()
    return words
