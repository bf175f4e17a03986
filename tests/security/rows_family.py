"""The addresses for guardians, consent, messages, one-time codes."""

from tests.security.book import Row

ROWS: list[Row] = []
