"""What somebody has not read yet: messages of others, and notes that came with practice from home."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Count, F, FilteredRelation, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce
from django.utils import timezone

from coachbook.accounts.models import Pause, Student, StudentQuerySet, User
from coachbook.family.models import Message, ThreadReading
from drills.models import PracticeEntry

PERIOD = timedelta(days=60)  # what is older is no news to anybody; common practice, no source
NOTES_SHOWN = 20


@dataclass(frozen=True)
class Unread:
    """How much of one student's thread somebody has not read."""

    student: Student
    messages: int
    notes: int

    @property
    def words(self) -> str:
        """Both numbers in words: "2 messages, 1 note from practice"."""
        counts = ((self.messages, "message"), (self.notes, "note"))
        found = [f"{count} {word}{'' if count == 1 else 's'}" for count, word in counts if count]
        return ", ".join(found) + (" from practice" if self.notes else "")


def unread_by(reader: User, students: StudentQuerySet, at: datetime) -> list[Unread]:
    """The students of whom somebody has not read something, by name; one query."""
    rows = with_unread(students, reader, at).filter(Q(unread_messages__gt=0) | Q(unread_notes__gt=0))
    return [Unread(row, row.unread_messages, row.unread_notes) for row in rows.order_by("name", "pk")]


def with_unread(students: StudentQuerySet, reader: User, at: datetime) -> QuerySet[Any]:
    """The students with `unread_messages` and `unread_notes`: how many of each somebody has not read."""
    read = ThreadReading.objects.filter(reader=reader, student=OuterRef("student"))
    own = Q(written_by=reader)
    messages = Message.objects.filter(student=OuterRef("pk"), written_at__gte=at - PERIOD).exclude(own)
    messages = messages.filter(pk__gt=Coalesce(Subquery(read.values("last_message")), Value(0)))
    noted = ThreadReading.objects.filter(reader=reader, student=OuterRef("prescription__student"))
    notes = notes_since(first_day(at)).filter(prescription__student=OuterRef("pk"))
    notes = notes.filter(pk__gt=Coalesce(Subquery(noted.values("last_note")), Value(0)))
    # Who reported it has no need to read it.
    notes = notes.exclude(by_family(reader))
    return students.annotate(unread_messages=count_of(messages), unread_notes=count_of(notes))


def unread_of(student: Student, reader: User, at: datetime) -> Unread | None:
    """What somebody has not read of one student, or None."""
    return next(iter(unread_by(reader, Student.objects.filter(pk=student.pk), at)), None)


def pauses_and_unread(student: Student, reader: User, on: date, at: datetime) -> tuple[list[Pause], Unread]:
    """The pauses of a student on a day, and how much of their thread somebody has not read, in one query."""
    begun = Q(pauses__since__lte=on) & (Q(pauses__until=None) | Q(pauses__until__gte=on))
    rows = Student.objects.filter(pk=student.pk).annotate(pause=FilteredRelation("pauses", condition=begun))
    columns = ("unread_messages", "unread_notes", "pause__reason", "pause__since", "pause__until")
    found = list(with_unread(rows, reader, at).order_by("pause__since", "pause__pk").values_list(*columns))
    pauses = [Pause(reason=reason, since=since, until=until) for *_, reason, since, until in found if reason]
    return pauses, Unread(student, *found[0][:2])


def count_of(rows: "QuerySet[Message] | QuerySet[PracticeEntry]") -> Coalesce:
    """How many of some rows there are, in a query of other rows."""
    counted = rows.order_by().values(none=Value(1)).annotate(number=Count("pk")).values("number")
    return Coalesce(Subquery(counted), Value(0))


def by_family(reader: User) -> Q:
    """The condition that a note was written by this person, or for the student by one of their guardians."""
    student = Q(source=PracticeEntry.Source.STUDENT, prescription__student__user=reader)
    guardian = Q(source=PracticeEntry.Source.GUARDIAN, prescription__student__guardianships__guardian=reader)
    return student | guardian


def first_day(at: datetime) -> date:
    """The first day of the period, in the academy's zone, which every request sets."""
    return timezone.localdate(at) - PERIOD


def notes_since(day: date) -> "QuerySet[PracticeEntry]":
    """The notes that came with practice reported since a day, the latest first."""
    return PracticeEntry.objects.filter(is_void=False, day__gte=day).exclude(note="").order_by("-day", "-pk")


def notes_of(student: Student, at: datetime) -> list[PracticeEntry]:
    """The latest notes of a student, each with its drill and the messages that answer it."""
    rows = notes_since(first_day(at)).filter(prescription__student=student)
    return list(rows.select_related("prescription__drill").prefetch_related("answers__written_by")[:NOTES_SHOWN])


@transaction.atomic
def mark_read(reader: User, student: Student, message: int, note: int) -> None:
    """Remember that somebody has seen the messages and notes of a student up to these row numbers."""
    row, _ = ThreadReading.objects.select_for_update().get_or_create(reader=reader, student=student)
    row.last_message = max(row.last_message, min(message, last_of(student.messages.all())))
    row.last_note = max(row.last_note, min(note, last_of(PracticeEntry.objects.filter(prescription__student=student))))
    row.save()


def last_of(rows: "QuerySet[Message] | QuerySet[PracticeEntry]") -> int:
    """The greatest row number, or 0."""
    return rows.order_by("-pk").values_list(F("pk"), flat=True).first() or 0
