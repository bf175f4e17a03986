"""What each line of a log says, and what it must not: tokens are as good as keys, search words are names."""

import logging
import re
from datetime import UTC, datetime

TOKEN = re.compile(
    r"(/sheet/|/calendar/|/mails/off/|/people/invitation/|/account/address/|/account/password/reset/key/)[^/\s?\"]+"
)
QUERY = re.compile(r"(/[^\s?\"']*)\?[^\s\"']+")


def without_secrets(words: str) -> str:
    """The words with every token in an address taken out, and all that follows its question mark."""
    return QUERY.sub(r"\1?…", TOKEN.sub(r"\1…", words))


class WithoutSecrets(logging.Filter):
    """Take the tokens and the search words out of a record before anybody reads it."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Always let it pass, cleaned."""
        record.msg, record.args = without_secrets(record.getMessage()), ()
        return True


class WithUser(logging.Filter):
    """Say by their number who was signed in, and by nothing else about them."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Always let it pass, with a `user`."""
        if not hasattr(record, "user"):
            user = getattr(getattr(record, "request", None), "_cached_user", None)  # asks the database for nobody
            record.user = getattr(user, "pk", None) or "-"
        return True


class LineFormatter(logging.Formatter):
    """Say the time in UTC, and begin every line that belongs to the one above with a tab: nobody writes their own."""

    def formatTime(self, record: logging.LogRecord, datefmt: str | None = None) -> str:
        """When it was, whatever zone the machine keeps."""
        return datetime.fromtimestamp(record.created, UTC).strftime(datefmt or "%Y-%m-%dT%H:%M:%S%z")

    def format(self, record: logging.LogRecord) -> str:
        """The record as one line, and what it brings along below it."""
        return "\n\t".join(super().format(record).splitlines())
