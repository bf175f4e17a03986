"""Merging two records of one person: everything of the duplicate moves to the other student, but no consent does.

Where the two differ in account, age or guardians, a second person is asked first (approvals/needs.py).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from itertools import chain
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Count, Exists, Q, QuerySet, Subquery

from coachbook.accounts.models import Care, Student, User
from coachbook.corrections.models import Correction
from coachbook.corrections.move import slot_for
from coachbook.corrections.recorder import ChangeRecorder
from coachbook.diary.following.rearranging import Decision, rearrange
from coachbook.diary.models import Appointment, Rearrangement
from coachbook.family.models import Message
from drills.models import PracticeDays
from lessons.derived import recompute_student
from lessons.models import Still

# Details of the duplicate that are kept where the other student has none.
DETAILS = [
    *("birth_year", "age_group"),
    *("phone", "phone_of", "goal", "event", "event_on"),
    *("putting_grip", "chipping_grip", "pitching_grip", "bunker_grip", "putter_length", "putter_loft"),
    *("putter_lie", "equipment", "practice_place", "practice_minutes", "practice_days", "limits"),
]
TOGETHER = {"phone_of": "phone", "event_on": "event"}  # kept only with the other one
EMPTY = (None, "")


@dataclass(frozen=True)
class RowCount:
    """How many rows of one kind there are."""

    one: str
    many: str
    number: int

    def __str__(self) -> str:
        return f"{self.number} {self.one if self.number == 1 else self.many}"


def rows_to_move(student: Student) -> list[RowCount]:
    """What a merge would move, to be shown before it."""
    kinds: list[tuple[str, str, Any]] = [
        ("lesson", "lessons", student.lessons),
        ("focus", "focuses", student.focuses),
        ("still", "stills", Still.objects.filter(lesson__student=student)),
        ("drill given", "drills given", student.prescriptions),
        ("test", "tests", student.scored_tests),
        ("round", "rounds", student.rounds),
        ("guardian", "guardians", student.guardianships),
        ("pause", "pauses", student.pauses),
        ("absence", "absences", student.absences),
        ("message", "messages", Message.objects.filter(student=student)),
        ("appointment", "appointments", appointments(student)),
    ]
    counts = [Subquery(count_of(rows, "lesson__student" if one == "still" else "student")) for one, _, rows in kinds]
    numbers = Student.objects.filter(pk=student.pk).values_list(*counts).get()
    counted = [RowCount(one, many, number or 0) for (one, many, _), number in zip(kinds, numbers, strict=True)]
    return [row for row in counted if row.number]


def count_of(rows: Any, path: str) -> QuerySet[Any]:
    """How many rows of one student there are, as a subquery; `path` leads to the student."""
    found: QuerySet[Any] = rows.all().order_by().values(path).annotate(number=Count("pk")).values("number")
    return found


def appointments(student: Student) -> QuerySet[Any]:
    """The student's places in appointments."""
    return Appointment.students.through._default_manager.filter(student=student)


def merge_problem(duplicate: Student, into: Student) -> str:
    """Why the two cannot be merged, or an empty text."""
    if duplicate == into:
        return "This is the same student. Choose the other one."
    if duplicate.user_id and into.user_id:
        return f"Both have an account, and only {into}’s could stay. Ask a manager."
    shared = Exists(duplicate.lessons.filter(session__in=into.lessons.values("session")))
    both = Student.objects.filter(pk__in=[duplicate.pk, into.pk])
    open_ones = Count("focuses", filter=Q(focuses__closed_in=None))
    facts = list(both.annotate(shared=shared, open=open_ones).values_list("shared", "open"))
    if any(shares for shares, _ in facts):
        return "Both took part in the same session, so they are two people."
    if sum(number for _, number in facts) > 3:
        return "Together they have four open focuses or more. Close one first."
    return ""


@transaction.atomic
def merge_students(
    *,
    duplicate: Student,
    into: Student,
    reason: str,
    by: User,
    at: datetime,
    on: date,
    decisions: Iterable[Decision] = (),
) -> Correction:
    """Move everything of the duplicate to the other student; the duplicate then appears on no list.

    `decisions` say what becomes of coming appointments; without them they stay with their coach.
    Raises ValidationError, by form field, where the merge is not possible.
    """
    both = Student.objects.select_for_update().present().filter(pk__in=[duplicate.pk, into.pk])
    if both.count() != 2 or (problem := merge_problem(duplicate, into)):
        merged = "This duplicate was merged already."
        raise ValidationError({"into": problem if duplicate.merged_into_id is None else merged})
    recorder = ChangeRecorder(by)
    rearrangement = rearrange(decisions, reason=Rearrangement.Reason.MERGE, by=by, at=at)
    move_lessons(duplicate, into, reason, recorder)
    move_people(duplicate, into, recorder, on)
    for row in Message.objects.filter(student=duplicate):
        recorder.change(row, student=into)
    move_appointments(duplicate, into, recorder)
    move_details(duplicate, into, recorder)
    recorder.change(duplicate, merged_into=into)
    for student in sorted((duplicate, into), key=lambda student: student.pk):
        recompute_student(student)
    return Correction.objects.create(
        kind=Correction.Kind.MERGED,
        student=into,
        other_student=duplicate,
        by=by,
        at=at,
        summary="A duplicate was merged",
        changes=recorder.entries,
        rearrangement=rearrangement,
    )


def move_details(duplicate: Student, into: Student, recorder: ChangeRecorder) -> None:
    """Fill details that are empty, and move the account."""
    if filled := details_to_keep(duplicate, into):
        recorder.change(into, **filled)
    if duplicate.user:
        user = duplicate.user
        recorder.change(duplicate, user=None)
        recorder.change(into, user=user)


def details_to_keep(duplicate: Student, into: Student) -> dict[str, Any]:
    """The details of the duplicate that the other student has not."""
    missing = [
        name for name in DETAILS if all(getattr(into, each) in EMPTY for each in (name, TOGETHER.get(name, name)))
    ]
    return {name: value for name in missing if (value := getattr(duplicate, name)) not in EMPTY}


def check_merge(*, duplicate: Student, into: Student, **about: Any) -> None:
    """Try a merge and take it back; raises ValidationError, by form field, where it is not possible."""
    duplicate, into = (Student.objects.get(pk=student.pk) for student in (duplicate, into))
    with transaction.atomic():
        merge_students(duplicate=duplicate, into=into, **about)
        transaction.set_rollback(True)


def move_lessons(duplicate: Student, into: Student, reason: str, recorder: ChangeRecorder) -> None:
    """Move lessons, focuses (to free slots), drills, pauses, absences, tests, rounds and days of practice."""
    for lesson in duplicate.lessons.all():
        recorder.change(lesson, student=into)
    for focus in duplicate.focuses.all():
        slot = slot_for(into, focus.reason, reason, "into") if focus.closed_in_id is None else {}
        recorder.change(focus, student=into, **slot)
    names = ("prescriptions", "pauses", "absences", "scored_tests", "rounds")
    for row in chain(*(getattr(duplicate, name).all() for name in names)):
        recorder.change(row, student=into)
    # One row a student: the days that the other student picked stay.
    if not PracticeDays.objects.filter(student=into).exists():
        for days in PracticeDays.objects.filter(student=duplicate):
            recorder.change(days, student=into)


def move_people(duplicate: Student, into: Student, recorder: ChangeRecorder, on: date) -> None:
    """Move guardians and coaches, except those that the other student has already."""
    guardians = into.guardianships.values("guardian")
    for guardianship in duplicate.guardianships.exclude(guardian__in=guardians):
        recorder.change(guardianship, student=into)
    coaches = set(into.cares.in_force(on).values_list("coach", flat=True))
    for care in duplicate.cares.in_force(on):
        if care.coach_id not in coaches:
            coaches.add(care.coach_id)
            recorder.change(care, student=into, role=Care.Role.ASSISTANT, since=on)


def move_appointments(duplicate: Student, into: Student, recorder: ChangeRecorder) -> None:
    """Move the student's places in appointments; where the other student has one already, theirs is enough."""
    has = {row.appointment_id for row in appointments(into)}
    for row in appointments(duplicate):
        if row.appointment_id not in has:
            recorder.change(row, student=into)
        else:
            recorder.compare([row], [])
            row.__class__._default_manager.filter(pk=row.pk).delete()
