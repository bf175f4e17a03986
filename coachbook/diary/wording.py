"""The days of appointments in words."""

from collections.abc import Sequence
from datetime import date, datetime
from itertools import groupby

from django.utils.formats import date_format


def day_in_words(day: date) -> str:
    """A date with the day of the week."""
    return date_format(day, "l j F Y")


def series_in_words(moments: Sequence[datetime]) -> str:
    """How many lessons a series has, when, and on which days; the moments are in the academy's zone."""
    first = moments[0]
    days = days_in_words([moment.date() for moment in moments])
    return f"{len(moments)} lessons on {date_format(first, 'l')}s at {first:%H:%M}: {days}"


def count_in_words(number: int, what: str) -> str:
    """So many of something."""
    return f"{number} {what}{'' if number == 1 else 's'}"


def days_in_words(days: Sequence[date]) -> str:
    """Days in their order, those of a month together, with the year after the last month of each year."""
    months = [list(group) for _, group in groupby(days, lambda day: (day.year, day.month))]
    words = []
    for month, following in zip(months, [*months[1:], []], strict=True):
        is_last = not following or following[0].year != month[0].year
        *firsts, last = [str(day.day) for day in month]
        numbers = f"{', '.join(firsts)} and {last}" if firsts else last
        words.append(f"{numbers} {date_format(month[0], 'F Y' if is_last else 'F')}")
    return "; ".join(words)
