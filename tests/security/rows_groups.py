"""The addresses for sessions with several students."""

from tests.security.book import Row

ROWS: list[Row] = []
