"""The looks before a focus was opened, and whether it was opened on a bad day: regression to the mean."""

from collections.abc import Sequence
from datetime import date

from lessons.progress.points import LookPoint, first_of_each_day, looks

# Common practice, no source.
BEFORE = 8  # looks before the opening say what was usual, ...
LEAST = 3  # ... or fewer, down to so many; below that the first ones after it
AFTER = 4
USUAL = 0.8  # seen on more of these than this share, no day was a bad one


def looks_before(points: Sequence[LookPoint], opened: date) -> list[LookPoint]:
    """The latest looks before the opening day, one a day, oldest first; none where they are too few."""
    before = first_of_each_day(looks([point for point in points if point.day < opened]))
    return before[-BEFORE:] if len(before) >= LEAST else []


def is_bad_day(points: Sequence[LookPoint], opened: date) -> bool:
    """Whether the opening day saw a fault that was often enough not seen around it. Takes points oldest first."""
    after = looks([point for point in points if point.day > opened])
    around = looks_before(points, opened) or after[:AFTER]
    is_usual = sum(point.seen for point in around) > USUAL * len(around)
    return not is_usual and any(point.seen for point in points if point.day == opened)
