"""What a guardian sees first of each child: the next lesson, the practice of a week, what they work on."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db.models import Count, Q
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.diary.absences.reporting import absence_on, absences_of
from coachbook.diary.models import Absence, Appointment
from coachbook.loop.sheets.gather import heading_of
from drills.models import PracticeEntry
from lessons.models import Focus, Lesson

WEEK = timedelta(days=7)


@dataclass
class ChildCard:
    """One child; `days` is on how many of the last seven days practice was reported."""

    student: Student
    next_lesson: Appointment | None = None
    absence: Absence | None = None
    days: int = 0
    works_on: list[str] = field(default_factory=list)


def child_cards(students: Iterable[Student], on: date, at: datetime) -> list[ChildCard]:
    """A card for each child, in four queries whatever their number; takes each child once."""
    cards = {student.pk: ChildCard(student) for student in students}
    for pk, row in next_lessons(cards, at).items():
        cards[pk].next_lesson = row
    for pk, rows in absences_of(cards, on, on + timedelta(days=366)).items():
        if coming := cards[pk].next_lesson:
            cards[pk].absence = absence_on(rows, timezone.localdate(coming.starts_at))
    for pk, days in practice_days(cards, on).items():
        cards[pk].days = days
    for pk, words in works_on(cards).items():
        cards[pk].works_on = words
    return list(cards.values())


def next_lessons(students: Collection[int], at: datetime) -> dict[int, Appointment]:
    """The next planned appointment of each student, by the student's id."""
    of_one = Appointment.students.through.objects.filter(student__in=students)
    coming = of_one.filter(appointment__status=Appointment.Status.PLANNED, appointment__starts_at__gte=at)
    rows = coming.select_related("appointment__coach__user").order_by("-appointment__starts_at")
    return {row.student_id: row.appointment for row in rows}


def practice_days(students: Collection[int], on: date) -> dict[int, int]:
    """On how many of the seven days up to this one practice was reported, by student."""
    week = Q(day__gt=on - WEEK, day__lte=on, is_void=False, prescription__student__in=students)
    days = PracticeEntry.objects.filter(week).order_by().values_list("prescription__student")
    return dict(days.annotate(days=Count("day", distinct=True)))


def works_on(students: Collection[int]) -> dict[int, list[str]]:
    """What each student works on, in their own words and for their own side."""
    focuses = Focus.objects.open().filter(student__in=students, opened_in__status=Lesson.Status.COMPLETE)
    found: dict[int, list[str]] = defaultdict(list)
    for focus in focuses.select_related("fault", "opened_in").order_by("slot"):
        found[focus.student_id].append(heading_of(focus, focus.opened_in.side(focus.area)))
    return found
