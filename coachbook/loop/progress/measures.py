"""What was measured of a skill over time, as one reader sees it: a sentence, a picture, and the rows of its table."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from coachbook.accounts.models import Side
from lessons.arrivals import Arrivals
from lessons.measures import Measure
from lessons.models import Skill
from lessons.plain_words import plain
from lessons.progress.picture import ROOM
from lessons.progress.readings import (
    MeasurePicture,
    Reading,
    change_words,
    latest_words,
    measure_picture,
)
from lessons.progress.words import COACH, HistoryLabels

MeasureRow = tuple[Reading, str, str]  # the numbers on arrival and on departure with their unit


@dataclass(frozen=True)
class MeasureEntry:
    """The readings of one skill in their reader's words, the latest first in the table."""

    skill: Skill
    heading: str
    words: str
    hint: str
    picture: MeasurePicture | None
    rows: list[MeasureRow]


def measure_entries(arrivals: Arrivals, known: Mapping[int, Skill], labels: HistoryLabels) -> dict[int, MeasureEntry]:
    """What was measured of each skill, by the skill's number; a student reads it for their own side.

    `known` are skills that were read before, by number; there is one query where others were measured.
    """
    found: dict[int, MeasureEntry] = {}
    others = arrivals.measured.keys() - known.keys()
    rest = Skill.objects.filter(pk__in=others) if others else ()
    for skill in [*(skill for pk, skill in known.items() if pk in arrivals.measured), *rest]:
        if measure := skill.measured:
            side = None if labels is COACH else Side(arrivals.sides[skill.area])
            found[skill.pk] = measure_entry(skill, measure, arrivals.readings(skill.pk), side)
    return found


def measure_entry(skill: Skill, measure: Measure, readings: Sequence[Reading], side: Side | None) -> MeasureEntry:
    """The readings of one skill."""
    reworded: Callable[[str], str] = str if side is None else plain  # a side is given for a student
    latest = [reading for reading in reversed(readings) if not reading.is_empty][:ROOM]
    return MeasureEntry(
        skill=skill,
        heading=reworded(measure.heading(side)),
        words=reworded(f"{latest_words(readings, measure)}. {change_words(readings, measure)}".strip()),
        hint=measure.hint,
        picture=measure_picture(readings, measure, side),
        rows=[row_of(reading, measure) for reading in latest],
    )


def row_of(reading: Reading, measure: Measure) -> MeasureRow:
    """One row of the table; an empty text where nothing was measured."""
    arrival, departure = (
        "" if number is None else measure.value(number) for number in (reading.arrival, reading.departure)
    )
    return reading, arrival, departure
