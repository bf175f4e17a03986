"""Two pages that are about one person, made one: what was written on the first is found on the other."""

from dataclasses import dataclass
from datetime import date, datetime
from itertools import chain
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet

from coachbook.accounts.models import Care, Student, User
from coachbook.corrections.models import Amendment
from coachbook.corrections.move import place_for
from coachbook.corrections.record import Record
from coachbook.diary.models import Appointment
from coachbook.family.models import Message
from lessons.derived import reckon_student

# What is asked once: where the other page says nothing of it, what the first one says is kept.
DETAILS = [
    *("birth_year", "putting_grip", "chipping_grip", "pitching_grip", "bunker_grip", "putter_length", "putter_loft"),
    *("putter_lie", "equipment", "practice_place", "practice_minutes", "practice_days", "limits"),
]


@dataclass(frozen=True)
class Moving:
    """How many rows of one kind there are to move."""

    one: str
    many: str
    number: int

    def __str__(self) -> str:
        return f"{self.number} {self.one if self.number == 1 else self.many}"


def moving(student: Student) -> list[Moving]:
    """What would move, for whoever decides."""
    rows: list[tuple[str, str, Any]] = [
        ("lesson", "lessons", student.lessons),
        ("focus", "focuses", student.focuses),
        ("drill given", "drills given", student.prescriptions),
        ("test", "tests", student.scored_tests),
        ("round", "rounds", student.rounds),
        ("guardian", "guardians", student.guardianships),
        ("consent", "consents", student.consents),
        ("pause", "pauses", student.pauses),
        ("message", "messages", Message.objects.filter(student=student)),
        ("appointment", "appointments", appointments(student)),
    ]
    counted = [Moving(one, many, row.count()) for one, many, row in rows]
    return [row for row in counted if row.number]


def appointments(student: Student) -> QuerySet[Any]:
    """The student's places in appointments."""
    return Appointment.students.through._default_manager.filter(student=student)


def merge_problem(first: Student, into: Student) -> str:
    """What stands against it, or nothing."""
    if first == into:
        return "This is the same page. Choose the other one."
    if first.user_id and into.user_id:
        return f"Both have an account. Only {into}’s could stay: ask a manager."
    if first.lessons.filter(session__in=into.lessons.values("session")).exists():
        return "Both were in the same session, so these are two people."
    if (first.focuses.open() | into.focuses.open()).count() > 3:
        return "Together they have four open focuses or more. Finish one first."
    return ""


@transaction.atomic
def merge_students(*, first: Student, into: Student, reason: str, by: User, at: datetime, on: date) -> Amendment:
    """Put everything that was written on one page on the other; the first is then on no list."""
    both = Student.objects.select_for_update().present().filter(pk__in=[first.pk, into.pk])
    if both.count() != 2 or (problem := merge_problem(first, into)):
        raise ValidationError({"into": problem if first.merged_into_id is None else "This was made one already."})
    record = Record(by)
    move_record(first, into, reason, record)
    move_people(first, into, record, on)
    for row in Message.objects.filter(student=first):
        record.change(row, student=into)
    move_appointments(first, into, record)
    told = {name: getattr(first, name) for name in DETAILS if getattr(into, name) in (None, "")}
    if filled := {name: value for name, value in told.items() if value not in (None, "")}:
        record.change(into, **filled)
    if first.user:
        user = first.user
        record.change(first, user=None)
        record.change(into, user=user)
    record.change(first, merged_into=into)
    for student in sorted((first, into), key=lambda student: student.pk):
        reckon_student(student)
    return Amendment.objects.create(
        kind=Amendment.Kind.MERGED,
        student=into,
        other_student=first,
        by=by,
        at=at,
        words="Two pages about one person were made one",
        changes=record.entries,
    )


def move_record(first: Student, into: Student, reason: str, record: Record) -> None:
    """Move what was taught: lessons as they were, focuses to free places, drills, pauses, tests, rounds."""
    for lesson in first.lessons.all():
        record.change(lesson, student=into)
    for focus in first.focuses.all():
        place = place_for(into, focus.reason, reason, "into") if focus.closed_in_id is None else {}
        record.change(focus, student=into, **place)
    for row in chain(*(getattr(first, name).all() for name in ("prescriptions", "pauses", "scored_tests", "rounds"))):
        record.change(row, student=into)


def move_people(first: Student, into: Student, record: Record, on: date) -> None:
    """Move guardians, consents and care, but what the other has already stays behind."""
    guardians = into.guardianships.values("guardian")
    for guardianship in first.guardianships.exclude(guardian__in=guardians):
        record.change(guardianship, student=into)
    standing = into.consents.filter(withdrawn_at=None).values("purpose")
    for consent in first.consents.exclude(withdrawn_at=None, purpose__in=standing):
        record.change(consent, student=into)
    coaches = set(into.cares.in_force(on).values_list("coach", flat=True))
    for care in first.cares.in_force(on):
        if care.coach_id not in coaches:
            coaches.add(care.coach_id)
            record.change(care, student=into, role=Care.Role.ASSISTANT, since=on)


def move_appointments(first: Student, into: Student, record: Record) -> None:
    """Move the places in appointments, but not where the other has one already."""
    has = {row.appointment_id for row in appointments(into)}
    for row in appointments(first):
        if row.appointment_id not in has:
            record.change(row, student=into)
