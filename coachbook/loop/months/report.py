"""A student's month as one page shows it: plain rows, the chart, and how long words are cut where room is short."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import NamedTuple

from django.utils.formats import date_format
from django.utils.text import Truncator

MOST_LESSONS, MOST_LINES, MOST_STEPS = 12, 8, 3  # what one page holds, in the densest print
CHILD_LINES, CHILD_STEPS = 4, 2
SHORT = 110  # letters of a line in the densest print
STEP, UNIT, TOP, GROUND = 17, 12, 3, 38  # the chart: a day, a drill, the most drills drawn, where bars stand


class MonthLesson(NamedTuple):
    """One lesson: its day, what it was about, who taught it, and what was agreed there."""

    day: date
    about: str
    coach: str
    agreed: tuple[str, ...]


class Line(NamedTuple):
    """What a line is about, and what is said of it."""

    about: str
    words: str


class Step(NamedTuple):
    """What to go on with: the goal, how it is done or feels, and the drill with its dose."""

    goal: str
    how: str
    drill: str


class ChartDay(NamedTuple):
    """A day of the chart: where it stands, its bar, whether there was a lesson, and whether its number is written."""

    x: int
    number: int
    top: int
    height: int
    has_lesson: bool
    is_named: bool


@dataclass(frozen=True)
class MonthReport:
    """All the words of a month. `last` is its last day, or today while it goes on; `practised` counts drills by day."""

    student: str
    academy: str
    first: date
    last: date
    is_over: bool
    child: bool
    lessons: tuple[MonthLesson, ...] = ()
    held: tuple[Line, ...] = ()
    drills: tuple[Line, ...] = ()
    tests: tuple[Line, ...] = ()
    steps: tuple[Step, ...] = ()
    next_time: str = ""
    practised: tuple[tuple[date, int], ...] = ()
    more: int = 0  # lessons that the page has no room for

    @property
    def is_empty(self) -> bool:
        """Whether nothing happened that a report could say."""
        return not (self.lessons or self.held or self.practised or self.tests)

    @property
    def days(self) -> list[ChartDay]:
        """The chart: a bar for each day on which practice was reported, as tall as drills were practised."""
        drills, lessons = dict(self.practised), {lesson.day for lesson in self.lessons}
        length = (next_month(self.first) - self.first).days
        return [chart_day(self.first + timedelta(days=number), drills, lessons) for number in range(length)]

    @property
    def chart_words(self) -> str:
        """What the chart shows."""
        practice = counted(len(self.practised), "day")
        lessons = ", ".join(date_format(lesson.day, "j F") for lesson in self.lessons)
        return f"Practice was reported on {practice}. {f'Lessons: {lessons}.' if lessons else 'There was no lesson.'}"


def chart_day(day: date, drills: dict[date, int], lessons: Collection[date]) -> ChartDay:
    """One day of the chart; the first of the month and every fifth day is named."""
    height, is_named = UNIT * min(drills.get(day, 0), TOP), day.day == 1 or day.day % 5 == 0
    return ChartDay((day.day - 1) * STEP, day.day, GROUND - height, height, day in lessons, is_named)


def next_month(first: date) -> date:
    """The first day of the month after one."""
    return (first + timedelta(days=31)).replace(day=1)


def counted(number: int, noun: str) -> str:
    """A number and its noun: 1 day, 2 days."""
    return f"{number} {noun}{'' if number == 1 else 's'}"


def for_child(report: MonthReport) -> MonthReport:
    """The same in few words for a child: the latest things that were looked at, and two to go on with."""
    return replace(
        report,
        held=report.held[:CHILD_LINES],
        drills=report.drills[:CHILD_LINES],
        tests=(),
        steps=report.steps[:CHILD_STEPS],
        next_time="",
    )


def fitted(report: MonthReport) -> MonthReport:
    """As much as one page holds: the latest lessons, and the first of each list."""
    return replace(
        report,
        lessons=report.lessons[-MOST_LESSONS:],
        more=max(0, len(report.lessons) - MOST_LESSONS),
        held=report.held[:MOST_LINES],
        drills=report.drills[:MOST_LINES],
        tests=report.tests[:MOST_STEPS],
        steps=report.steps[:MOST_STEPS],
    )


def cut(report: MonthReport) -> MonthReport:
    """The same with long words cut, for a page that would run over."""
    return replace(
        report,
        student=short(report.student),
        academy=short(report.academy),
        lessons=tuple(map(cut_lesson, report.lessons)),
        held=cut_lines(report.held),
        drills=cut_lines(report.drills),
        tests=cut_lines(report.tests),
        steps=tuple(Step(*map(short, step)) for step in report.steps),
        next_time=short(report.next_time),
    )


def cut_lesson(lesson: MonthLesson) -> MonthLesson:
    """A lesson with the first thing that was agreed in it."""
    return MonthLesson(lesson.day, lesson.about, short(lesson.coach), tuple(map(short, lesson.agreed[:1])))


def cut_lines(lines: Iterable[Line]) -> tuple[Line, ...]:
    """Some lines with long words cut."""
    return tuple(Line(*map(short, line)) for line in lines)


def short(words: str) -> str:
    """Words that are no longer than a line or two."""
    return Truncator(words).chars(SHORT)
