"""The addresses for who teaches whom."""

from tests.security.book import Row

ROWS: list[Row] = []
