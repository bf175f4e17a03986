"""The addresses for appointments and calendars."""

from tests.security.book import Row

ROWS: list[Row] = []
