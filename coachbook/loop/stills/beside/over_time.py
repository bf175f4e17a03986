"""One checkpoint and view through all lessons of a student."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from coachbook.accounts.models import Side
from coachbook.loop.stills.beside.gather import heading
from lessons.models import Checkpoint, Lesson, Still, StillMeasure
from lessons.models.stills import stroke_order

LESSONS = 60  # so many of the latest are shown


@dataclass(frozen=True)
class Choice:
    """A checkpoint and view of which there are stills."""

    checkpoint: Checkpoint
    view: str
    name: str
    is_shown: bool

    @property
    def value(self) -> str:
        """How an address names it."""
        return choice_value(self.checkpoint, self.view)


@dataclass(frozen=True)
class Shot:
    """A still with what it shows in words."""

    still: Still
    label: str
    words: str
    measures: tuple[StillMeasure, ...] = ()


@dataclass(frozen=True)
class LessonRow:
    """The stills of one lesson, arrival first."""

    lesson: Lesson
    taken: list[Shot]

    @property
    def side(self) -> Side:
        """The side that the student played from."""
        return self.lesson.side(self.taken[0].still.checkpoint.area)

    @property
    def day(self) -> datetime:
        """When the lesson began."""
        return self.lesson.session.starts_at


def choice_value(checkpoint: Checkpoint, view: str) -> str:
    """How an address names a checkpoint and view."""
    return f"{checkpoint.key}-{view}"


def choices_of(stills: Iterable[Still], asked: str, *, plain: bool) -> list[Choice]:
    """What there are stills of, in the order of lists; the one that was asked for is shown, or the first."""
    found = {(still.checkpoint, still.view) for still in stills}
    ordered = sorted(found, key=lambda each: stroke_order(*each))
    values = [choice_value(*each) for each in ordered]
    shown = asked if asked in values else next(iter(values), "")
    among_areas = len({checkpoint.area for checkpoint, _ in ordered}) > 1
    return [
        Choice(checkpoint, view, heading(checkpoint, view, plain=plain, among_areas=among_areas), value == shown)
        for (checkpoint, view), value in zip(ordered, values, strict=True)
    ]


def rows_of(stills: Iterable[Still], choice: Choice | None, *, plain: bool) -> list[LessonRow]:
    """The lessons with stills of the choice, the newest first, with the latest still of each moment."""
    if choice is None:
        return []
    found: dict[Lesson, dict[str, Still]] = {}
    for still in sorted(stills, key=lambda still: (still.taken_at, still.pk)):
        if (still.checkpoint, still.view) == (choice.checkpoint, choice.view):
            found.setdefault(still.lesson, {})[still.moment] = still
    rows = [LessonRow(lesson, list(shots_of(moments, plain))) for lesson, moments in found.items()]
    return sorted(rows, key=lambda row: (row.day, row.lesson.pk), reverse=True)


def with_measures(rows: list[LessonRow]) -> list[LessonRow]:
    """The lessons with what was measured in their stills, in one query."""
    known = StillMeasure.objects.by_still([taken.still for row in rows for taken in row.taken])
    return [
        replace(row, taken=[replace(each, measures=tuple(known[each.still.pk])) for each in row.taken]) for row in rows
    ]


def shots_of(moments: dict[str, Still], plain: bool) -> Iterable[Shot]:
    """The stills of one lesson in words, arrival first."""
    for moment in Still.Moment:
        if still := moments.get(moment):
            yield Shot(still, moment.label.capitalize(), still.words_for(plain=plain))
