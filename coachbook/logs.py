"""What each line of a log says and what it must not say: tokens in addresses are as good as keys."""

import logging
import re

TOKEN = re.compile(r"(/sheet/|/calendar/|/people/invitation/|/account/password/reset/key/)[^/\s]+")


def without_tokens(words: object) -> object:
    """The words with every token in an address taken out."""
    return TOKEN.sub(r"\1…", words) if isinstance(words, str) else words


class WithoutTokens(logging.Filter):
    """Take the tokens out of a record before anybody reads it."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Always let it pass, cleaned."""
        record.msg = without_tokens(record.msg)
        if isinstance(record.args, tuple):
            record.args = tuple(without_tokens(word) for word in record.args)
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
    """Begin every line that belongs to the one above with a tab, so that nobody writes a line of their own."""

    def format(self, record: logging.LogRecord) -> str:
        """The record as one line, and what it brings along below it."""
        return "\n\t".join(super().format(record).splitlines())
