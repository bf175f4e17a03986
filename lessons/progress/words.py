"""The words of a fault's history: those of a coach, and those of a student.

A student never reads the trade's name of a fault: the heading says what to do, and the levels say how good it is.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date

from lessons.progress.points import Level, LookPoint, Totals, has_selective_looks, looks, totals

OWN_WORDS = "These are a coach’s own words: seen means that it was not good yet."
LATEST = 8  # common practice, no source: a coach asks about the last eight arrivals


@dataclass(frozen=True)
class HistoryLabels:
    """The labels of a history for one kind of reader, and whether the reader sees which coach taught."""

    levels: Mapping[Level, str]
    opened: str
    closed: str
    often: str
    seen: str
    summary: Callable[[list[LookPoint]], str]
    names_coaches: bool
    counts_good: bool  # a student sees the count of what was good, a coach of what was seen
    arrival: str = ""  # the names of the two rows of symbols; an empty name leaves the name or the row out
    departure: str = ""


def on(day: date) -> str:
    """A day as in a label: 3 Mar 2026."""
    return f"{day.day} {day:%b} {day.year}"


def counted(number: int, word: str) -> str:
    """A number and its noun: 1 lesson, 2 lessons."""
    return f"{number} {word}{'' if number == 1 else 's'}"


def plain_words(points: list[LookPoint]) -> str:
    """For a student: on how many of the last looks, eight at most, it was good."""
    if has_selective_looks(points):
        return "We looked at this mostly on days when it needed work, so how often it is good is not known yet"
    latest = totals(looks(points)[-LATEST:])
    if latest.looked == 0:
        return "Not looked at yet"
    if latest.looked == 1:
        return "Looked at once"
    if latest.good == 0:
        return f"Still working on this on each of the last {latest.looked} times we looked"
    return f"Good on {latest.good} of the last {latest.looked} times we looked"


def coach_words(points: list[LookPoint]) -> str:
    """For a coach: on how many arrivals it was seen, and in how many lessons nobody looked."""
    total = totals(points)
    if has_selective_looks(points):
        return selective_words(total)
    if total.looked == 0:
        return f"Not looked at on any arrival yet{unlooked_words(total.not_looked_at, '')}."
    if total.looked == 1:
        seen = "" if total.seen else "not "
        return f"Looked at on one arrival, and {seen}seen{unlooked_words(total.not_looked_at)}."
    lessons = unlooked_words(total.not_looked_at)
    return f"Seen on {total.seen} of the {total.looked} arrivals where it was looked at{lessons}."


def selective_words(total: Totals) -> str:
    """Why it is not said how often it was seen: whoever looks on bad days only always sees it."""
    seen = "it was there each time" if total.seen == total.looked else "it was there nearly each time"
    looked = f"Looked at on {total.looked} of {total.arrivals} arrivals, and {seen}"
    why = "It is mostly looked at when it is there, so how often it shows is not known; look on the good days, too."
    return f"{looked}. {why}"


def unlooked_words(lessons: int, other: str = "other ") -> str:
    """The half sentence about lessons without a look; empty where there are none."""
    if lessons == 0:
        return ""
    return f"; {counted(lessons, f'{other}lesson')} had no look and {'says' if lessons == 1 else 'say'} nothing"


COACH = HistoryLabels(
    levels={"none": "not looked at", "0": "good", "1": "slight", "2": "clear", "any": "seen, not graded"},
    opened="opened",
    closed="closed",
    often="Seen, of the last eight looks",
    seen="Seen on arrival",
    summary=coach_words,
    names_coaches=True,
    counts_good=False,
    arrival="Arrival",
    departure="Departure, rated by the coach who taught it",
)
STUDENT = HistoryLabels(
    levels={
        "none": "not looked at",
        "0": "good",
        "1": "nearly there",
        "2": "still learning",
        "any": "on the way",
    },
    opened="started",
    closed="finished",
    often="Good, of the last eight times",
    seen="How it was",
    summary=plain_words,
    names_coaches=False,
    counts_good=True,
)
