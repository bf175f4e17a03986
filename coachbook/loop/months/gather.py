"""Gather a student's month, in the words that the student reads: goals and drills, and nothing that coaches keep."""

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from coachbook.accounts.models import Academy, Side, Student
from coachbook.loop.months.report import Line, MonthLesson, MonthReport, Step, counted, fitted, for_child, next_month
from coachbook.loop.record.gather import areas_in_words
from coachbook.loop.record.timeline import STUDENT_WORDS
from coachbook.loop.sheets.gather import CLOSED, heading_of
from drills.library.drawing.lengths import in_units
from drills.models import PracticeEntry, Prescription
from drills.practice.doses import dose_until
from drills.putting.lengths import unit_of
from drills.scored_tests.wording import summarise_test
from lessons.models import Focus, Lesson, Outcome
from lessons.models.record import LessonQuerySet
from lessons.plain_words import plain
from lessons.wording import render_typed

MONTH = re.compile(r"\d{4}-\d{2}", re.ASCII)


@dataclass(frozen=True)
class MonthWithData:
    """A month of which there is something to say."""

    first: date
    lessons: int
    days: int

    @property
    def words(self) -> str:
        """What there is: "3 lessons, practice on 12 days"."""
        found = [counted(self.lessons, "lesson")] if self.lessons else []
        return ", ".join([*found, *([f"practice on {counted(self.days, 'day')}"] if self.days else [])])


def parse_month(text: str) -> date | None:
    """The first day of a month that is written as 2026-06, or None where there is no such month."""
    try:
        return date.fromisoformat(f"{text}-01") if MONTH.fullmatch(text) else None
    except ValueError:
        return None


def months_of(student: Student, academy: Academy) -> list[MonthWithData]:
    """The months in which the student came or reported practice, the latest first; two queries."""
    starts = came_to(student).order_by().values_list("session__starts_at", flat=True)
    entries = PracticeEntry.objects.filter(prescription__student=student, is_void=False)
    lessons = Counter(academy.today(start).replace(day=1) for start in starts)
    days = Counter(day.replace(day=1) for day in entries.order_by().values_list("day", flat=True).distinct())
    return [MonthWithData(first, lessons[first], days[first]) for first in sorted({*lessons, *days}, reverse=True)]


def came_to(student: Student) -> LessonQuerySet:
    """The finished lessons to which the student came."""
    return student.lessons.complete().filter(attendance=Lesson.Attendance.KEPT)


def report_of(student: Student, first: date, academy: Academy, today: date) -> MonthReport:
    """The report of a month that has begun, in a constant number of queries."""
    last = min(next_month(first) - timedelta(days=1), today)
    lessons, focuses = lessons_between(student, first, last, academy), list(focuses_until(student, last, academy))
    entries = entries_between(student, first, last)
    report = MonthReport(
        student=student.name,
        academy=academy.name,
        first=first,
        last=last,
        is_over=next_month(first) <= today,
        child=student.is_child(last, academy.child_until),
        lessons=tuple(lesson_of(lesson, focuses, academy) for lesson in lessons),
        held=(*closed_lines(focuses, first, academy), *held_lines(student, focuses, first, last)),
        drills=tuple(drill_lines(entries, academy)),
        tests=tuple(test_lines(student, first, last, academy)),
        steps=tuple(steps_of(student, focuses, last, academy)),
        next_time=lessons[-1].next_time.strip() if lessons else "",
        practised=tuple(sorted(Counter(day for day, _ in {(e.day, e.prescription_id) for e in entries}).items())),
    )
    return fitted(for_child(report) if report.child else report)


# --- Lessons and what was agreed ------------------------------------------------------------------


def lessons_between(student: Student, first: date, last: date, academy: Academy) -> list[Lesson]:
    """The lessons of these days to which the student came, the earliest first."""
    zone = ZoneInfo(academy.time_zone)
    begins, ends = (datetime.combine(day, time.min, zone) for day in (first, last + timedelta(days=1)))
    rows = came_to(student).filter(session__starts_at__gte=begins, session__starts_at__lt=ends)
    return list(rows.select_related("session__coach__user").order_by("session__starts_at", "pk"))


def lesson_of(lesson: Lesson, focuses: Iterable[Focus], academy: Academy) -> MonthLesson:
    """One lesson, with the goals that it agreed on."""
    kind = lesson.session.get_kind_display()
    about = areas_in_words(lesson) or kind.capitalize()
    opened = [focus for focus in focuses if focus.opened_in_id == lesson.pk]
    agreed = tuple(heading_of(focus, lesson.side(focus.area)) for focus in opened)
    return MonthLesson(academy.today(lesson.session.starts_at), about, str(lesson.session.coach), agreed)


def focuses_until(student: Student, last: date, academy: Academy) -> Iterator[Focus]:
    """The focuses that were agreed by a day, the latest first; a lesson that is not finished has agreed nothing."""
    rows = student.focuses.filter(opened_in__status=Lesson.Status.COMPLETE)
    rows = rows.select_related("fault", "opened_in__session", "closed_in__session")
    for focus in rows.order_by("-opened_in__session__starts_at", "slot"):
        if academy.today(focus.opened_in.session.starts_at) <= last:
            yield focus


def closed_on(focus: Focus, academy: Academy) -> date | None:
    """The day on which a finished lesson closed a focus."""
    closed = focus.closed_in
    is_closed = closed is not None and closed.status == Lesson.Status.COMPLETE
    return academy.today(closed.session.starts_at) if closed and is_closed else None


# --- What held ------------------------------------------------------------------------------------


def closed_lines(focuses: Iterable[Focus], first: date, academy: Academy) -> Iterator[Line]:
    """The focuses that this month finished, each as the success it is."""
    for focus in focuses:
        day = closed_on(focus, academy)
        if day and first <= day < next_month(first):
            label, _ = CLOSED[Focus.Decision(focus.decision)]
            yield Line(heading_of(focus, focus.opened_in.side(focus.area)), label.lower())


def held_lines(student: Student, focuses: Iterable[Focus], first: date, last: date) -> Iterator[Line]:
    """For each goal whether the changes were still there at the next arrivals; only of what they work or worked on."""
    worked_on = {focus.fault.merged_into_id or focus.fault_id: focus for focus in focuses if focus.fault}
    verdicts: dict[int, list[str]] = defaultdict(list)
    rows = Outcome.objects.filter(student=student, day__gte=first, day__lte=last).order_by("-day", "fault")
    for number, merged, verdict in rows.values_list("fault", "fault__merged_into", "verdict"):
        verdicts[merged or number].append(verdict)
    for number, found in verdicts.items():
        if focus := worked_on.get(number):
            yield Line(heading_of(focus, focus.opened_in.side(focus.area)), held_words(found))


def held_words(verdicts: list[str]) -> str:
    """What became of the changes to one goal, the latest first."""
    if len(verdicts) == 1:
        return STUDENT_WORDS[Outcome.Verdict(verdicts[0])]
    held = verdicts.count(Outcome.Verdict.HELD)
    return f"held {held} of {len(verdicts)} times" if held else STUDENT_WORDS[Outcome.Verdict(verdicts[0])]


# --- Practice, tests and what comes next ----------------------------------------------------------


def entries_between(student: Student, first: date, last: date) -> list[PracticeEntry]:
    """The practice that was reported of these days, with its drills."""
    rows = PracticeEntry.objects.filter(prescription__student=student, is_void=False, day__gte=first, day__lte=last)
    return list(rows.select_related("prescription__drill", "prescription__lesson").order_by("day", "pk"))


def drill_lines(entries: Iterable[PracticeEntry], academy: Academy) -> list[Line]:
    """On how many days each drill was practised, the most often first."""
    names = ((entry.day, drill_name(entry.prescription, academy)) for entry in entries)
    days = Counter(name for _, name in dict.fromkeys(names))
    return [Line(name, counted(number, "day")) for name, number in days.most_common()]


def drill_name(given: Prescription, academy: Academy) -> str:
    """The name of a drill for the side that its lesson keeps, lengths in the academy's unit."""
    return in_units(render_typed(given.drill.name, given.side), academy.units)


def test_lines(student: Student, first: date, last: date, academy: Academy) -> Iterator[Line]:
    """The results of the scored tests of these days, in counts, the latest first."""
    tests = student.scored_tests.done().filter(day__gte=first, day__lte=last).order_by("-day", "-pk")
    for test in tests.prefetch_related("balls"):
        yield Line(plain(render_typed(test.design.name, Side(test.side))), summarise_test(test, unit_of(academy.units)))


def steps_of(student: Student, focuses: Iterable[Focus], last: date, academy: Academy) -> Iterator[Step]:
    """What was open at the end of these days, the latest agreed first, each with its drill."""
    given = {row.focus_id: row for row in student.prescriptions.in_force(last).order_by("begins", "pk")}
    for focus in focuses:
        closed = closed_on(focus, academy)
        if closed is None or closed > last:
            yield step_of(focus, given.get(focus.pk), academy)


def step_of(focus: Focus, given: Prescription | None, academy: Academy) -> Step:
    """One thing to go on with: its goal, its feel or else its plain words, and its drill."""
    side, fault = focus.opened_in.side(focus.area), focus.fault
    how = focus.feel or (fault.feel or fault.plain if fault else "")
    drill = ""
    if given:
        dose = dose_until(given.amount, given.unit, given.per_week, given.last_day)
        drill = f"{drill_name(given, academy)}: {dose}"
    return Step(heading_of(focus, side), render_typed(how, side), drill)
