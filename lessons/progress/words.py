"""A fault's history in words: the coach's, and those that a student reads.

A student never reads what the trade calls a thing that goes wrong: the heading says what to do, the marks how
far the old habit is gone.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date

from lessons.progress.points import Level, LookPoint, looks, totals

LATELY = 8  # common practice, no source: a coach asks about the last eight arrivals


@dataclass(frozen=True)
class Voice:
    """How a history speaks to its reader, and whether it tells coaches apart."""

    marks: Mapping[Level, str]
    taken: str
    closed: str
    often: str
    seen: str
    summary: Callable[[list[LookPoint]], str]
    names_coaches: bool
    counts_clean: bool  # a student sees grow what gets better
    arrival: str = ""  # the names of the two rows of marks; without a name, a row has none or is not shown
    departure: str = ""


def on(day: date) -> str:
    """A day as a label says it: 3 Mar 2026."""
    return f"{day.day} {day:%b} {day.year}"


def counted(number: int, word: str) -> str:
    """A number and its noun: 1 lesson, 2 lessons."""
    return f"{number} {word}{'' if number == 1 else 's'}"


def plain_words(points: list[LookPoint]) -> str:
    """For a student: on how many of the last looks, eight at most, the old habit was gone."""
    lately = totals(looks(points)[-LATELY:])
    if lately.looked == 0:
        return "Not looked at yet"
    if lately.looked == 1:
        return "Looked at once"
    if lately.clean == 0:
        return f"Not clean yet on any of the last {lately.looked} times we looked"
    return f"Clean on {lately.clean} of the last {lately.looked} times we looked"


def coach_words(points: list[LookPoint]) -> str:
    """For a coach: on how many arrivals it was seen, and how many lessons say nothing."""
    total = totals(points)
    if total.looked == 0:
        return f"Not looked at on any arrival yet{silent(total.unlooked, '')}."
    if total.looked == 1:
        return f"Looked at on one arrival, and {'' if total.seen else 'not '}seen{silent(total.unlooked)}."
    return f"Seen on {total.seen} of the {total.looked} arrivals where it was looked at{silent(total.unlooked)}."


def silent(lessons: int, other: str = "other ") -> str:
    """The half sentence about lessons without a look; nothing where there is none."""
    if lessons == 0:
        return ""
    return f"; {counted(lessons, f'{other}lesson')} had no look and {'says' if lessons == 1 else 'say'} nothing"


COACH = Voice(
    marks={"none": "no look", "0": "clean", "1": "slight", "2": "marked", "any": "seen, degree not said"},
    taken="taken on",
    closed="closed",
    often="Seen, of the last eight looks",
    seen="Seen at arrival",
    summary=coach_words,
    names_coaches=True,
    counts_clean=False,
    arrival="Arrival",
    departure="Departure, rated by the coach who taught it",
)
STUDENT = Voice(
    marks={"none": "no look", "0": "clean", "1": "a little", "2": "clearly there", "any": "there"},
    taken="begun",
    closed="ended",
    often="Clean, of the last eight looks",
    seen="The old habit",
    summary=plain_words,
    names_coaches=False,
    counts_clean=True,
)
