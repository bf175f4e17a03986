"""The addresses of scored tests, of what they say, and of rounds."""

from tests.security.book import Row

ROWS: list[Row] = []
