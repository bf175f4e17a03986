"""A lesson that was written under the wrong student, moved to the right one with everything that hangs on it."""

from collections.abc import Iterable
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.formats import date_format

from coachbook.accounts.models import Academy, Student, User
from coachbook.corrections.models import Amendment
from coachbook.corrections.record import Record, undo
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.content import as_stored, content_of, issue_sheet, void_sheet
from drills.models import Ball, PracticeEntry, Prescription
from drills.practice.prescribe import hand_over_practice
from lessons.derived import reckon_student
from lessons.log import free_slot, pick_up_again
from lessons.models import Focus, Lesson

MOVED_AWAY = "moved to another student"
MOVED_BACK = "the lesson was moved back"


@transaction.atomic
def move_lesson(
    *, lesson: Lesson, to: Student, strikes: bool, reason: str, by: User, at: datetime, academy: Academy
) -> Amendment:
    """Move a lesson to the student it was held with; the two records then read as if it had been written there."""
    lesson = Lesson.objects.select_for_update().select_related("session", "student").get(pk=lesson.pk)
    was, record = lesson.student, Record(by)
    if problem := problem_of(lesson, to):
        raise ValidationError({"to": problem})
    replaced, news = replaced_by(lesson, academy), told_in(lesson)
    later_sheets = sheets_after(lesson)
    take_back_sheets(lesson.sheets.standing(), record, at)
    sides = {f"{area}_side": side for area, side in to.sides.items()}
    record.change(lesson, student=to, **sides)
    move_focuses(lesson, to, reason, record)
    open_again(lesson, was, record)
    move_prescriptions(lesson, to, reason, record)
    move_tests(lesson, to, record)
    for entry in news if strikes else []:
        record.change(entry, struck=True)
    go_on(replaced, record, academy)
    if lesson.status == Lesson.Status.COMPLETE and lesson.attendance == Lesson.Attendance.KEPT:
        with record.watched(to.prescriptions.all()):
            hand_over_practice(lesson=lesson, academy=academy)
        made_sheet(lesson, record, at)
    for sheet in later_sheets:
        issue_afresh(sheet, record, academy, at)
    for student in sorted((was, to), key=lambda student: student.pk):
        reckon_student(student)
    day = date_format(academy.today(lesson.session.starts_at), "j F Y")
    return Amendment.objects.create(
        kind=Amendment.Kind.MOVED,
        student=to,
        other_student=was,
        lesson=lesson,
        by=by,
        at=at,
        words=f"The lesson of {day} was moved to the right student",
        changes=record.entries,
    )


@transaction.atomic
def move_back(*, amendment: Amendment, by: User, at: datetime, academy: Academy) -> None:
    """Undo a move; later sheets of whoever had the lesson meanwhile speak of it no longer."""
    sheets = sheets_after(amendment.lesson) if amendment.lesson else []
    undo(amendment=amendment, by=by, at=at)
    for sheet in sheets:
        issue_afresh(sheet, Record(by), academy, at)


def problem_of(lesson: Lesson, to: Student) -> str:
    """What stands against the move, or nothing."""
    if to == lesson.student:
        return f"The lesson is under {to} already."
    if lesson.session.lessons.filter(student=to).exists():
        return f"{to} has a lesson in that session already."
    opened = Focus.objects.filter(opened_in=lesson)
    later = opened.exclude(closed_in=None).exclude(closed_in=lesson).exists()
    if later or Prescription.objects.filter(focus__in=opened).exclude(lesson=lesson).exists():
        return f"A later lesson of {lesson.student} goes on with what was begun in this one. Move that one first."
    return ""


def told_in(lesson: Lesson) -> list[PracticeEntry]:
    """The practice that was reported of what the lesson gave, and stands."""
    return list(PracticeEntry.objects.filter(prescription__lesson=lesson, struck=False))


def replaced_by(lesson: Lesson, academy: Academy) -> list[Prescription]:
    """What earlier lessons gave and this one ended."""
    if lesson.status != Lesson.Status.COMPLETE:
        return []
    begins = lesson.session.starts_at
    earlier = lesson.student.prescriptions.filter(lesson__session__starts_at__lte=begins).exclude(lesson=lesson)
    day = academy.today(begins)
    return [row for row in earlier.select_related("lesson__session") if row.ended_on == max(day, row.begins)]


def sheets_after(lesson: Lesson) -> list[Sheet]:
    """The standing sheets of the student's later lessons, which may speak of what this one opened."""
    later = {"lesson__student": lesson.student, "lesson__session__starts_at__gte": lesson.session.starts_at}
    found = Sheet.objects.standing().filter(**later).exclude(lesson=lesson).select_related("lesson__session")
    return list(found) if lesson.focuses_opened.exists() or lesson.prescriptions.exists() else []


def take_back_sheets(sheets: Iterable[Sheet], record: Record, at: datetime) -> None:
    """Take the sheets back, with their shared links."""
    for sheet in sheets:
        with record.watched([sheet]):
            void_sheet(sheet=sheet, reason=MOVED_AWAY, at=at)


def made_sheet(lesson: Lesson, record: Record, at: datetime) -> None:
    """Issue the sheet that the lesson has from now on."""
    sheet = issue_sheet(lesson=Lesson.objects.get(pk=lesson.pk), at=at)
    record.made(sheet, voided_at=at, void_reason=MOVED_BACK)


def issue_afresh(sheet: Sheet, record: Record, academy: Academy, at: datetime) -> None:
    """Issue a later lesson's sheet again if it would read otherwise without the lesson that went."""
    lesson = Lesson.objects.select_related("session__coach__user", "student").get(pk=sheet.lesson_id)
    if as_stored(content_of(lesson, academy))["focuses"] != sheet.content["focuses"]:
        take_back_sheets([sheet], record, at)
        made_sheet(lesson, record, at)


def move_focuses(lesson: Lesson, to: Student, reason: str, record: Record) -> None:
    """Let what was opened in the lesson go along; what is open gets a free place."""
    for focus in lesson.focuses_opened.order_by("slot"):
        if focus.closed_in_id is None:
            record.change(focus, student=to, **place_for(to, focus.reason, reason))
        else:
            record.change(focus, student=to)


def place_for(to: Student, own: str, reason: str, field: str = "to") -> dict[str, object]:
    """A free place among the open focuses of a student; the third needs a reason."""
    try:
        slot = free_slot(to)
    except ValidationError:
        raise ValidationError({field: f"{to} has three open focuses already. Finish one first."}) from None
    if slot == 3 and not (own or reason):
        raise ValidationError({"reason": f"{to} then has three open focuses: a third needs a reason."})
    return {"slot": slot, "reason": own or reason if slot == 3 else own}


def open_again(lesson: Lesson, was: Student, record: Record) -> None:
    """Let what the lesson had closed for the wrong student stand open again."""
    for focus in Focus.objects.filter(closed_in=lesson, student=was).select_related("student"):
        try:
            with record.watched([focus]):
                pick_up_again(focus=focus)
        except ValidationError:
            told = f"{was} has too many open focuses for “{focus}” to be open again. Finish one of them first."
            raise ValidationError({"to": told}) from None


def move_prescriptions(lesson: Lesson, to: Student, reason: str, record: Record) -> None:
    """Let the drills go along, as they stood when the lesson gave them."""
    for row in lesson.prescriptions.select_related("focus"):
        focus = row.focus if row.focus.student_id == to.pk else same_focus(row.focus, lesson, to, reason, record)
        record.change(row, student=to, focus=focus, ended_on=None)


def move_tests(lesson: Lesson, to: Student, record: Record) -> None:
    """Let the scored tests go along; left stays left, though it is push for one side and pull for the other."""
    other = {Ball.Away.PUSH: Ball.Away.PULL, Ball.Away.PULL: Ball.Away.PUSH}
    for test in lesson.scored_tests.select_related("design"):
        side = to.side(test.design.area)
        for ball in test.hit.exclude(away="") if side != test.side else []:
            record.change(ball, away=other[Ball.Away(ball.away)])
        record.change(test, student=to, side=side)


def same_focus(old: Focus, lesson: Lesson, to: Student, reason: str, record: Record) -> Focus:
    """What the right student works on in place of an earlier focus of the wrong one, opened where it is not yet."""
    about = {"fault": old.fault_id, "what": old.what, "area": old.area}
    if found := to.focuses.filter(closed_in=None, **about).exclude(prescriptions__lesson=lesson).first():
        return found
    names = ("kind", "area", "fault_id", "what", "feel", "decide_on")
    told = {name: getattr(old, name) for name in names}
    focus = Focus(student=to, opened_in=lesson, **told, **place_for(to, old.reason, reason))
    vars(focus)["_history_user"] = record.by
    focus.save()
    record.made(focus)
    return focus


def go_on(replaced: list[Prescription], record: Record, academy: Academy) -> None:
    """Let what the lesson had ended go on again, until the lesson that ends it now."""
    for row in replaced:
        record.change(row, ended_on=None)
    for lesson in {row.lesson for row in replaced}:
        with record.watched(lesson.student.prescriptions.all()):
            hand_over_practice(lesson=lesson, academy=academy)
