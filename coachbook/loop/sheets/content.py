"""The content of a take-home sheet: all its words, its calendar, and how it is stored."""

import json
from collections.abc import Collection, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date, timedelta
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder

from drills.library.drawing import draw

WEEKS_SHOWN = 6
Ticks = Mapping[date, Collection[int]]  # of a day the numbers of the focuses that were reported
# Keys of sheets that were issued earlier.
RENAMED = {"said": "coach_words"}
RENAMED_OF_DRILL = {"mistake": "watch_for"}


@dataclass(frozen=True)
class SheetDrawing:
    """The drawing of a drill as it was issued: its description in words of the side, that side, and its unit."""

    description: dict[str, Any]
    side: str
    units: str

    @property
    def svg(self) -> str:
        """The drawing itself."""
        return draw(self.description, self.side, self.units)


@dataclass(frozen=True)
class SheetDrill:
    """A drill with its dose, in the words that the student reads."""

    name: str
    dose: str
    equipment: str
    setup: str
    steps: tuple[str, ...]
    mark: str
    tip: str
    caution: str
    game: str
    begins: date
    days: int
    per_week: int
    purpose: str = ""  # of a junior's drill that has no game
    challenge: str = ""  # a target that was set for this student
    watch_for: str = ""  # on sheets issued before drills said what to do instead
    drawing: SheetDrawing | None = None  # on none of the sheets issued before drills had drawings

    @property
    def ends(self) -> date:
        """The first day after the dose."""
        return self.begins + timedelta(days=self.days)


@dataclass(frozen=True)
class SheetPair:
    """The stills of a focus by their keys, and what they show; whether they may be shown is asked when it is drawn."""

    arrival: str
    departure: str
    name: str


@dataclass(frozen=True)
class SheetFocus:
    """One focus: what to do, how it feels, and its drill if one was given."""

    number: int
    heading: str
    own: str
    plain: str
    feel: str
    trial: str
    drill: SheetDrill | None
    pair: SheetPair | None = None  # on none of the sheets issued before there were stills


@dataclass(frozen=True)
class SheetClosed:
    """A focus that the lesson closed: what it was, in the words of the other focuses, and what is said of it."""

    label: str
    heading: str
    words: str


@dataclass(frozen=True)
class SheetContent:
    """All the words of a sheet, as on the day it was issued."""

    student: str
    day: date
    coach: str
    academy: str
    junior: bool
    keep: str
    next_time: str
    focuses: tuple[SheetFocus, ...]
    cautions: tuple[str, ...]
    coach_words: tuple[str, ...] = ()
    child: bool = False
    tests: tuple[str, ...] = ()
    closed: tuple[SheetClosed, ...] = ()
    more: int = 0  # open focuses that a child's sheet leaves out
    measures: tuple[str, ...] = ()

    @property
    def first_name(self) -> str:
        """The name on a sheet that is opened without an account."""
        return self.student.split()[0]

    @property
    def practised(self) -> list[SheetFocus]:
        """The focuses that have a drill."""
        return [focus for focus in self.focuses if focus.drill]

    @property
    def drills(self) -> list[SheetDrill]:
        """The drills in the order of their focuses."""
        return [focus.drill for focus in self.focuses if focus.drill]

    @property
    def has_drawing(self) -> bool:
        """Whether one of the drills has a drawing."""
        return any(drill.drawing for drill in self.drills)

    @property
    def pairs(self) -> int:
        """How many focuses have a pair of stills."""
        return sum(focus.pair is not None for focus in self.focuses)

    @property
    def days(self) -> int:
        """The number of days from the lesson until the longest dose is over."""
        return max([(drill.ends - self.day).days for drill in self.drills], default=0)


@dataclass(frozen=True)
class SheetDay:
    """A day of the calendar, the numbers of the focuses that have a box there, and of those that were reported."""

    day: date
    boxes: tuple[int, ...]
    ticked: Collection[int] = ()


def weeks_of(content: SheetContent, ticks: Ticks | None = None) -> list[list[SheetDay | None]]:
    """The calendar: weeks of seven days from the day of the lesson, as many as the longest dose needs, six at most.

    `ticks` holds the numbers of the focuses that were reported, by day.
    """
    ticks = ticks or {}
    return [
        [day_of(content, number, ticks) if number < content.days else None for number in range(first, first + 7)]
        for first in range(0, min(content.days, 7 * WEEKS_SHOWN), 7)
    ]


def day_of(content: SheetContent, number: int, ticks: Ticks) -> SheetDay:
    """A day with a box for each drill that may be practised then."""
    day = content.day + timedelta(days=number)
    boxes = tuple(f.number for f in content.focuses if f.drill and f.drill.begins <= day < f.drill.ends)
    return SheetDay(day, boxes, ticks.get(day, ()))


def weeks_left(content: SheetContent) -> int:
    """For how many weeks practice goes on after the last one that has boxes."""
    return max(0, -(-content.days // 7) - WEEKS_SHOWN)


def as_stored(content: SheetContent) -> dict[str, Any]:
    """The content as JSON, to be stored."""
    stored: dict[str, Any] = json.loads(DjangoJSONEncoder().encode(asdict(content)))
    return stored


def content_from(stored: dict[str, Any]) -> SheetContent:
    """The content of a stored sheet."""
    stored = {RENAMED.get(name, name): value for name, value in stored.items()}
    focuses = tuple(focus_from(focus) for focus in stored["focuses"])
    dated = {"day": date.fromisoformat(stored["day"]), "cautions": tuple(stored["cautions"])}
    dated |= {
        name: tuple(stored.get(name, ())) for name in ("coach_words", "tests", "measures")
    }  # not on the earliest sheets
    closed = tuple(SheetClosed(**words) for words in stored.get("closed", ()))
    return SheetContent(**{**stored, **dated, "focuses": focuses, "closed": closed})


def focus_from(stored: dict[str, Any]) -> SheetFocus:
    """A focus of a stored sheet."""
    drill = stored["drill"]
    if drill:
        drill = {"tip": ""} | {RENAMED_OF_DRILL.get(name, name): value for name, value in drill.items()}
        typed = {"steps": tuple(drill["steps"]), "begins": date.fromisoformat(drill["begins"])}
        drawing = SheetDrawing(**drill["drawing"]) if drill.get("drawing") else None
        drill = SheetDrill(**{**drill, **typed, "drawing": drawing})
    pair = SheetPair(**stored["pair"]) if stored.get("pair") else None
    return SheetFocus(**{**stored, "drill": drill, "pair": pair})


def without_new_drawings(content: SheetContent, issued: SheetContent) -> SheetContent:
    """The content without drawings if an issued one has none: they alone are no reason to issue a sheet again."""
    if issued.has_drawing:
        return content
    focuses = (replace(focus, drill=focus.drill and replace(focus.drill, drawing=None)) for focus in content.focuses)
    return replace(content, focuses=tuple(focuses))
