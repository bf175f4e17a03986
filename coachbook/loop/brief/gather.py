"""What a coach reads in the two minutes before a lesson, gathered in a constant number of queries.

What was agreed comes first, in the order in which to look at it, each with its reason; then the plan for today.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q
from django.utils import timezone

from coachbook.accounts.models import Academy, Pause, Student, User
from coachbook.diary.models import Appointment
from coachbook.family.messages.unread import Unread, pauses_and_unread
from coachbook.loop.brief.focuses import FocusBrief, brief_focuses
from coachbook.loop.brief.wording import (
    absence_words,
    coach_name,
    day_words,
    event_words,
    last_visit_words,
    next_event_words,
    no_room_words,
    practice_line,
)
from drills.models import PracticeEntry, Prescription, ScoredTest
from drills.practice.reports import days_reported, practice_of
from drills.practice.week.gather import lay_out, with_days_picked
from drills.putting.lengths import unit_of
from drills.putting.units import Unit
from drills.scored_tests.observations import latest_test_balls
from drills.scored_tests.wording import summarise_balls
from lessons.arrivals import arrivals_in, is_arrival
from lessons.history import day_of, focus_histories, focuses_of, is_open, judge_histories, rules_of
from lessons.log import NoteVisibility
from lessons.models import Lesson
from lessons.progress.sentences import rules_words
from lessons.wording import render_typed

PLAN_SHOWN = 160  # letters of the plan on the first screen
EVENTS = 3  # so many things that happened since the last visit are shown


@dataclass(frozen=True)
class Plan:
    """What a coach wrote for the next time."""

    who: str
    day: date
    day_words: str
    next_time: str
    note: str

    @property
    def is_long(self) -> bool:
        """Whether the first screen holds its beginning only."""
        return len(self.next_time) > PLAN_SHOWN


@dataclass(frozen=True)
class HomeReport:
    """A score or a note that was reported from home."""

    words: str
    day: date
    drill: str


@dataclass(frozen=True)
class Brief:
    """The whole page."""

    visited: bool
    last_visit: str
    events: Sequence[str]
    drafts: Sequence[Lesson]
    pauses: Sequence[Pause]
    unread: Unread
    practice: str
    week: str
    event: str
    focuses: Sequence[FocusBrief]
    plans: Sequence[Plan]
    score: HomeReport | None
    note: HomeReport | None
    test: ScoredTest | None
    test_words: str
    rules: Sequence[tuple[str, str]]

    @property
    def plan(self) -> Plan | None:
        """What was planned last for the next time, which stands on the first screen."""
        return next((plan for plan in self.plans if plan.next_time), None)

    @property
    def more_plans(self) -> list[Plan]:
        """The plans of which the first screen holds not all."""
        return [plan for plan in self.plans if plan is not self.plan or plan.note or plan.is_long]

    @property
    def focuses_with_trend(self) -> list[FocusBrief]:
        """The focuses of which there is more to say than their state."""
        return [focus for focus in self.focuses if focus.trend or focus.held or focus.measured_change]


def brief_of(student: Student, *, academy: Academy, reader: User, at: datetime) -> Brief:
    """Gather the page for somebody who may read notes."""
    today, rules = academy.today(at), rules_of(academy)
    lessons = list(student.lessons.latest_first())
    complete = [lesson for lesson in lessons if lesson.status == Lesson.Status.COMPLETE]
    visit = next((lesson for lesson in complete if has_arrival(lesson)), None)
    later = complete[: complete.index(visit)] if visit else complete
    every_focus = focuses_of(student)
    arrivals = arrivals_in(student, complete)
    judged = judge_histories(focus_histories(every_focus, arrivals), rules)
    given = list(with_days_picked(student.prescriptions.in_force(today).annotate(days_reported=days_reported(today))))
    score, note = reports_from_home(student, today, since=day_of(visit) if visit else None)
    test, test_words = latest_test(student, unit_of(academy.units))
    pauses, unread = pauses_and_unread(student, reader, today, at)
    return Brief(
        visited=visit is not None,
        last_visit=last_visit_words(visit, reader, today),
        events=events_since(missed_days(student, visit, at), later, reader, today),
        drafts=[lesson for lesson in lessons if lesson.status == Lesson.Status.DRAFT],
        pauses=pauses,
        unread=unread,
        practice=practice_line(visit, practice_of(given, today), first_day(given), today),
        week=no_room_words(lay_out(given, {}, today)),
        event=next_event_words(student.event, student.event_on, today),
        focuses=brief_focuses(filter(is_open, every_focus), judged, given, arrivals.readings, today),
        plans=plans_in([*later, *([visit] if visit else [])], reader, today),
        score=score,
        note=note,
        test=test,
        test_words=test_words,
        rules=rules_words(rules),
    )


def first_day(given: Iterable[Prescription]) -> date | None:
    """The day from which the drills in force were given, if there is one."""
    return min((row.begins for row in given), default=None)


def has_arrival(lesson: Lesson) -> bool:
    """Whether the student came for a lesson."""
    return is_arrival(lesson.attendance, lesson.session.kind)


def events_since(missed: Iterable[date], later: Iterable[Lesson], reader: User, today: date) -> list[str]:
    """What happened since the last visit, in a sentence each: the latest three, the latest first."""
    events = {(day, absence_words(day, today)) for day in missed}
    events |= {(day_of(lesson), event_words(lesson, reader, today)) for lesson in later}
    return [words for _, words in sorted(events, reverse=True)[:EVENTS]]


def missed_days(student: Student, visit: Lesson | None, at: datetime) -> list[date]:
    """The days of the appointments that the student missed since a visit."""
    missed = student.appointments.filter(status=Appointment.Status.MISSED, starts_at__lte=at)
    since = missed.filter(starts_at__gt=visit.session.starts_at) if visit else missed
    return [timezone.localdate(moment) for moment in since.values_list("starts_at", flat=True)]


def reports_from_home(student: Student, today: date, since: date | None) -> tuple[HomeReport | None, HomeReport | None]:
    """The latest score from home, and the latest note written since a day; one query for both."""
    entries = PracticeEntry.objects.filter(prescription__student=student, is_void=False, day__lte=today)
    scores = entries.exclude(score=None, score_words="")
    notes = entries.exclude(note="")
    latest = Q(pk__in=scores.values("pk")[:1]) | Q(pk__in=notes.values("pk")[:1])
    rows = list(PracticeEntry.objects.filter(latest).select_related("prescription__drill"))
    score = next((row for row in rows if row.score_in_words), None)
    note = next((row for row in rows if row.note and (since is None or row.day >= since)), None)
    return (
        HomeReport(score.score_in_words, score.day, str(score.prescription.drill)) if score else None,
        HomeReport(note.note, note.day, str(note.prescription.drill)) if note else None,
    )


def latest_test(student: Student, unit: Unit) -> tuple[ScoredTest | None, str]:
    """The last scored test and its result in counts."""
    balls = latest_test_balls(student)
    return (balls[0].test, summarise_balls(balls[0].test, balls, unit)) if balls else (None, "")


def plans_in(lessons: Iterable[Lesson], reader: User, today: date) -> list[Plan]:
    """What was written in some lessons for the next time, as far as this reader may read it."""
    found = [
        Plan(
            coach_name(lesson, reader),
            day_of(lesson),
            day_words(day_of(lesson), today),
            render_typed(lesson.next_time),
            render_typed(lesson.note) if NoteVisibility.of(reader, lesson).can_read(lesson.note_reader) else "",
        )
        for lesson in lessons
    ]
    return [plan for plan in found if plan.next_time or plan.note]
