"""What the record holds of every coach's students, in a number of queries that never grows."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from django.db.models import Count, F, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce

from coachbook.accounts.models import Academy, Care, Coach, Pause, Student
from coachbook.caseload.counts import (
    RECENT_DAYS,
    Away,
    CaseloadTotals,
    DateRange,
    StudentInCare,
    summarise_students,
)
from coachbook.diary.absences.reporting import without_absent
from coachbook.diary.models import Absence, Appointment
from drills.models import Prescription
from drills.practice.reports import days_reported, practice_of
from lessons.models import Focus, Lesson, Session
from lessons.wording import render

T = TypeVar("T")
DRAFT = Q(status=Lesson.Status.DRAFT)
# A lesson that counts as one: finished, and the student stood there. A clip that was sent in is no visit.
HELD = Q(status=Lesson.Status.COMPLETE, attendance=Lesson.Attendance.KEPT) & ~Q(session__kind=Session.Kind.CLIP)


@dataclass(frozen=True)
class CoachRow:
    """A coach and what their caseload comes to."""

    coach: Coach
    sums: CaseloadTotals


@dataclass(frozen=True)
class Caseload:
    """The academy on one day: a row for each coach by name, their total, and closed accounts that still have care."""

    rows: list[CoachRow]
    total: CaseloadTotals
    shared: int
    closed: list[CoachRow]


def midnight(academy: Academy, day: date) -> datetime:
    """The moment at which a day begins at the academy."""
    return datetime.combine(day, time.min, ZoneInfo(academy.time_zone))


def gather_caseload(academy: Academy, on: date, days: int) -> Caseload:
    """Every coach's numbers on a day; `days` without a lesson make a student count as not seen."""
    students = students_by_coach(academy, on, with_focuses=False)
    rows = []
    for coach in with_lesson_counts(Coach.objects.named(), academy, on):
        sums = summarise_students(
            students.get(coach.pk, []), lessons=coach.lessons_held, drafts=coach.drafts_left, days=days
        )
        rows.append(CoachRow(coach, sums))
    opened = [row for row in rows if row.coach.user.is_active]
    closed = [row for row in rows if not row.coach.user.is_active and row.sums.students]
    return with_total(opened, closed, students, days)


def with_total(
    opened: list[CoachRow], closed: list[CoachRow], students: dict[int, list[StudentInCare]], days: int
) -> Caseload:
    """The rows with what they come to in all."""
    every = [student for row in opened for student in students.get(row.coach.pk, [])]
    lessons, drafts = sum(row.sums.lessons for row in opened), sum(row.sums.drafts for row in opened)
    total = summarise_students(every, lessons=lessons, drafts=drafts, days=days)
    return Caseload(opened, total, shared=len(every) - total.students, closed=closed)


def students_by_coach(
    academy: Academy, on: date, coach: Coach | None = None, *, with_focuses: bool = True
) -> dict[int, list[StudentInCare]]:
    """The students in the main care of each coach (or of one), by name; those who have left are in nobody's."""
    cares = main_cares_on(on)
    rows = care_rows(cares.filter(coach=coach) if coach else cares, academy, on)
    students = {row["student"] for row in rows}
    given, focuses = given_now(students, on), focus_words(students) if with_focuses else {}
    pauses, absences = pauses_and_absences(students, on)
    found: dict[int, dict[int, StudentInCare]] = defaultdict(dict)
    for row in rows:
        student, last_at, next_at = row["student"], row.pop("last_at"), row.pop("next_at")
        practice = practice_of(given[student], on)
        found[row["coach"]][student] = StudentInCare(
            on=on,
            last=academy.today(last_at) if last_at else None,
            next=academy.today(next_at) if next_at else None,
            asked=practice.asked,
            reported=practice.reported,
            reviews=tuple(each.review_on for each in given[student]),
            focuses=tuple(focuses.get(student, ())),
            pauses=tuple(pauses[student]),
            absences=tuple(absences[student]),
            **row,
        )
    return {pk: list(students.values()) for pk, students in found.items()}


def main_cares_on(on: date) -> QuerySet[Care]:
    """Main care on a day, of students who have not left."""
    return Care.objects.filter(role=Care.Role.MAIN).exclude(student__status=Student.Status.LEFT).in_force(on)


def care_rows(cares: QuerySet[Care], academy: Academy, on: date, **more: F) -> list[dict[str, Any]]:
    """Care as plain rows: coach, student, practice as reported at the last lesson, since when they are here, and more.

    Where a coach has two rows for a student, for two areas, the one that lasts longer comes last.
    """
    before = midnight(academy, on + timedelta(days=1))
    last = Lesson.objects.filter(HELD, student=OuterRef("student"), session__starts_at__lt=before)
    last = last.order_by("-session__starts_at", "-pk")
    booked = Appointment.objects.planned().filter(students=OuterRef("student"), starts_at__gte=midnight(academy, on))
    coming = without_absent(booked, OuterRef(OuterRef("student"))).order_by("starts_at")
    first = Care.objects.filter(student=OuterRef("student")).order_by("since")
    rows = cares.order_by("student__name", "student", F("until").asc(nulls_last=True)).values(
        "coach",
        "student",
        "until",
        key=F("student__key"),
        name=F("student__name"),
        in_care_since=Subquery(first.values("since")[:1]),
        last_at=Subquery(last.values("session__starts_at")[:1]),
        next_at=Subquery(coming.values("starts_at")[:1]),
        practice_reported=Coalesce(Subquery(last.values("practice_reported")[:1]), Value("")),
        **more,
    )
    return [dict(row) for row in rows]


def given_now(students: set[int], on: date) -> dict[int, list[Any]]:
    """What each student practises now, on how many days each was reported, and when it is to be reviewed."""
    rows = Prescription.objects.in_force(on).filter(student__in=students).select_related(None)
    return grouped((row.student_id, row) for row in rows.annotate(days_reported=days_reported(on)).order_by("pk"))


def review_days(students: set[int], on: date) -> dict[int, list[date]]:
    """The review days of what each student practises now."""
    rows = Prescription.objects.in_force(on).filter(student__in=students).values_list("student", "review_on")
    return grouped(rows)


def pause_days(students: set[int], on: date) -> dict[int, list[DateRange]]:
    """The first and the last day of every pause of each student that has begun."""
    rows = Pause.objects.filter(student__in=students, since__lte=on).values_list("student", "since", "until")
    return grouped((student, (since, until)) for student, since, until in rows)


def pauses_and_absences(students: set[int], on: date) -> tuple[dict[int, list[DateRange]], dict[int, list[Away]]]:
    """Every pause of each student that has begun, and each absence of today and to come; one query for both."""
    columns = ("student", "since", "until", "reason")
    begun = Pause.objects.filter(student__in=students, since__lte=on).order_by()
    pauses = begun.annotate(is_pause=Value(True)).values_list("is_pause", *columns)
    coming = Absence.objects.standing().filter(student__in=students, last_day__gte=on).order_by()
    absences = coming.annotate(is_pause=Value(False), since=F("first_day"), until=F("last_day"))
    rows = list(pauses.union(absences.values_list("is_pause", *columns), all=True).order_by("since", "until"))
    return (
        grouped((student, (since, until)) for is_pause, student, since, until, _ in rows if is_pause),
        grouped(
            (student, Away(since, until, Absence.Reason(reason).label))
            for is_pause, student, since, until, reason in rows
            if not is_pause
        ),
    )


def focus_words(students: set[int]) -> dict[int, list[str]]:
    """What each student works on, as a coach says it; a focus counts once its lesson is finished."""
    focuses = Focus.objects.open().filter(student__in=students, opened_in__status=Lesson.Status.COMPLETE)
    return grouped((focus.student_id, coach_words(focus)) for focus in focuses.order_by("slot"))


def coach_words(focus: Focus) -> str:
    """A focus in the trade's words, a trial named as one. Only a catalogue's words hold markers."""
    words = focus.what or (render(focus.fault.name) if focus.fault else "")
    return f"trial: {words}" if focus.kind == Focus.Kind.TRIAL else words


def grouped(rows: Iterable[tuple[int, T]]) -> dict[int, list[T]]:
    """The second halves under the first."""
    found: dict[int, list[T]] = defaultdict(list)
    for key, value in rows:
        found[key].append(value)
    return found


def counted_lessons(academy: Academy, on: date) -> QuerySet[Lesson]:
    """What a coach wrote that the caseload counts: lessons held of late, and each log that is not finished."""
    first, before = midnight(academy, on - timedelta(days=RECENT_DAYS - 1)), midnight(academy, on + timedelta(days=1))
    recent = HELD & Q(session__starts_at__gte=first)
    return Lesson.objects.filter(recent | DRAFT, session__starts_at__lt=before)


def with_lesson_counts(coaches: QuerySet[Coach], academy: Academy, on: date) -> QuerySet[Any]:
    """The coaches with `lessons_held` of late and `drafts_left`: how many logs they have not finished."""
    written = counted_lessons(academy, on).filter(session__coach=OuterRef("pk")).order_by().values("session__coach")
    held, drafts = (written.filter(each).annotate(number=Count("pk")).values("number") for each in (~DRAFT, DRAFT))
    return coaches.annotate(
        lessons_held=Coalesce(Subquery(held), Value(0)), drafts_left=Coalesce(Subquery(drafts), Value(0))
    )


def lessons_of(coach: Coach | None, academy: Academy, on: date) -> list[Lesson]:
    """The same lessons and drafts of one coach, or of all whose account is open, the latest day first."""
    by = Q(session__coach=coach) if coach else Q(session__coach__user__is_active=True)
    lessons = counted_lessons(academy, on).filter(by).select_related("session__coach__user", "student")
    return list(lessons.order_by("-session__starts_at", "student__name", "pk"))
