"""The addresses for walk-ins, intake, pauses."""

from tests.security.book import Row

ROWS: list[Row] = []
