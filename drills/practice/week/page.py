"""The page of a week: its days in lines, and what it says of when it begins and of what has no room."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from coachbook.accounts.models import Side
from drills.models import Drill, Prescription
from drills.practice.doses import format_amount
from drills.practice.week.gather import GivesWay, StudentWeek
from lessons.wording import render


@dataclass(frozen=True)
class Line:
    """A drill on a day: its name for the student's side, and what was done or is to do."""

    drill: str
    words: str


@dataclass(frozen=True)
class DayLines:
    """A day: what was reported, what moved away from it, and what is planned."""

    day: date
    is_over: bool
    is_today: bool
    reported: Sequence[Line]
    moved: Sequence[Line]
    planned: Sequence[Line]
    minutes: int  # of what is planned


@dataclass(frozen=True)
class WeekPage:
    """The whole page."""

    days: Sequence[DayLines]
    begins: str
    gives_way: Sequence[str]
    let_go: Sequence[str]
    is_picked: bool

    @property
    def over(self) -> list[DayLines]:
        """The days before today."""
        return [line for line in self.days if line.is_over]

    @property
    def to_come(self) -> list[DayLines]:
        """Today and the days after it."""
        return [line for line in self.days if not line.is_over]


def page_of(week: StudentWeek) -> WeekPage:
    """The page of a week; one without a drill has no days."""
    days = [lines_of(week, day) for day in week.days] if week.given else []
    return WeekPage(
        days=days,
        begins=why_it_begins(week),
        gives_way=[gives_way_words(each, week) for each in week.gives_way],
        let_go=[name_of(row, week) for row in week.let_go],
        is_picked=week.is_picked,
    )


def lines_of(week: StudentWeek, day: date) -> DayLines:
    """The lines of a day."""
    planned = week.planned_on(day)
    return DayLines(
        day=day,
        is_over=day < week.on,
        is_today=day == week.on,
        reported=reported_lines(week, day),
        moved=[Line(name_of(row, week), words) for row, words in week.moved_from(day)],
        planned=[Line(name_of(row, week), dose_words(row)) for row in planned],
        minutes=sum(week.minutes_of(row) for row in planned),
    )


def reported_lines(week: StudentWeek, day: date) -> list[Line]:
    """What was reported for a day, a line a drill."""
    amounts = {
        row: [
            format_amount(each.amount, row.unit)
            for each in week.entries
            if (each.prescription_id, each.day) == (row.pk, day)
        ]
        for row in week.given
    }
    return [Line(name_of(row, week), f"reported, {' and '.join(words)}") for row, words in amounts.items() if words]


def name_of(row: Prescription, week: StudentWeek) -> str:
    """The name of a drill as its student reads it; of one that is given for two things, with its feel."""
    is_twice = sum(each.drill_id == row.drill_id for each in week.given) > 1
    words = f"{row.drill.name} ({row.feel.rstrip('.')})" if is_twice and row.feel else row.drill.name
    return render(words, Side(row.side))


def dose_words(row: Prescription) -> str:
    """How much of a drill: `10 minutes`, or `30 balls, about 15 minutes`."""
    words = format_amount(row.amount, row.unit)
    return words if row.unit == Drill.Unit.MINUTES else f"{words}, about {format_amount(row.drill.minutes, 'minutes')}"


def why_it_begins(week: StudentWeek) -> str:
    """On which weekday the week begins, and why on that one."""
    is_one_day = len({(row.begins - week.first).days % 7 for row in week.given}) == 1
    brought = "the drills" if is_one_day else "the newest drill"
    return (
        f"This week runs from {week.first:%A} to {week.days[-1]:%A}. "
        f"It begins on the weekday on which {brought} came, so that the first week is a whole one. "
        "Today counts the same week, for every drill."
    )


def gives_way_words(each: GivesWay, week: StudentWeek) -> str:
    """Which drill gives way, and how far."""
    row = each.prescription
    times = f"{each.planned} of {row.per_week} times a week"
    minutes = week.minutes_of(row)
    if minutes > max(week.room):
        return f"{name_of(row, week)} gives way: it takes {format_amount(minutes, 'minutes')}, and no day has as many."
    return f"{name_of(row, week)} gives way: {times}."
