"""The addresses for mistakes put right."""

from tests.security.book import Row

ROWS: list[Row] = []
