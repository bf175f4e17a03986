"""What is kept out of the logs: tokens in addresses are as good as keys, and search words are names."""

import logging
import re

TOKEN = re.compile(r"(/sheet/|/calendar/|/people/invitation/|/account/password/reset/key/)[^/\s?\"]+")
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
