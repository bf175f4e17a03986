"""A student's month as a page of days: practice that was reported, and lessons. A gap is a gap."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from coachbook.accounts.models import Academy, Student
from coachbook.loop.months.gather import drill_name, entries_between, lessons_between
from coachbook.loop.months.report import counted, next_month
from coachbook.loop.record.gather import areas_in_words
from drills.models import PracticeEntry
from drills.practice.reports import report_of
from lessons.models import Lesson

MOST_DOTS = 3  # for one day; the words beside it say how many


@dataclass
class MonthDay:
    """One day: the drills of which practice was reported, and the lessons, each as a line of words."""

    day: date
    drills: dict[str, list[str]] = field(default_factory=dict)
    lessons: list[str] = field(default_factory=list)

    @property
    def dots(self) -> range:
        """A dot for each drill."""
        return range(min(len(self.drills), MOST_DOTS))

    @property
    def words(self) -> str:
        """What the day shows, read out; empty for a day of which nothing is known."""
        practised = [f"practice of {counted(len(self.drills), 'drill')}"] if self.drills else []
        return ", ".join([*practised, *(["a lesson"] if self.lessons else [])])

    @property
    def lines(self) -> list[tuple[str, str]]:
        """Each drill with what was reported of it, and the lessons."""
        drills = [(name, "; ".join(reports)) for name, reports in self.drills.items()]
        return [*drills, *(("Lesson", words) for words in self.lessons)]


Week = list[MonthDay | None]


@dataclass(frozen=True)
class DaysOfMonth:
    """The days of a month."""

    days: list[MonthDay]

    @property
    def weekdays(self) -> list[str]:
        """Their names, from Monday on."""
        return [f"{date(2024, 1, 1) + timedelta(days=number):%A}" for number in range(7)]  # a Monday

    @property
    def weeks(self) -> list[Week]:
        """The weeks from Monday to Sunday; None for a day of another month."""
        before: Week = [None] * self.days[0].day.weekday()
        after: Week = [None] * (6 - self.days[-1].day.weekday())
        every = [*before, *self.days, *after]
        return [every[start : start + 7] for start in range(0, len(every), 7)]

    @property
    def noted(self) -> list[MonthDay]:
        """The days of which something is known, the latest first."""
        return [day for day in reversed(self.days) if day.words]


def days_of(student: Student, first: date, academy: Academy) -> DaysOfMonth:
    """The days of a month, in two queries."""
    last = next_month(first) - timedelta(days=1)
    days = {first + timedelta(days=number): MonthDay(first + timedelta(days=number)) for number in range(last.day)}
    add_practice(days, entries_between(student, first, last), academy)
    for lesson in lessons_between(student, first, last, academy):
        days[academy.today(lesson.session.starts_at)].lessons.append(lesson_words(lesson))
    return DaysOfMonth(list(days.values()))


def add_practice(days: Mapping[date, MonthDay], entries: Iterable[PracticeEntry], academy: Academy) -> None:
    """Put what was reported of each drill to its day."""
    for entry in entries:
        found = days[entry.day].drills
        name = drill_name(entry.prescription, academy)
        found.setdefault(name, []).append(report_of(entry, entry.prescription.unit).words)


def lesson_words(lesson: Lesson) -> str:
    """What a lesson was about, and who taught it."""
    about = areas_in_words(lesson) or lesson.session.get_kind_display().capitalize()
    return f"{about}, with {lesson.session.coach}"
