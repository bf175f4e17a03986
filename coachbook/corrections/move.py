"""Moving a lesson that was logged for the wrong student, with its focuses, drills, tests and sheets."""

from collections.abc import Iterable
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.formats import date_format

from coachbook.accounts.models import Academy, Student, User
from coachbook.corrections.models import Correction
from coachbook.corrections.recorder import ChangeRecorder, set_history_user
from coachbook.corrections.undo import undo_correction
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.content import content_from, without_new_drawings
from coachbook.loop.sheets.gather import content_of
from coachbook.loop.sheets.issue import issue_sheet, void_sheet
from drills.models import Ball, PracticeEntry, Prescription
from drills.practice.prescribe import replace_prescriptions
from lessons.arrivals import subject_of
from lessons.derived import recompute_student
from lessons.log import free_slot, reopen_focus
from lessons.models import Focus, Lesson, SeenFocus

MOVED_AWAY = "moved to another student"
MOVED_BACK = "the lesson was moved back"


@transaction.atomic
def move_lesson(
    *, lesson: Lesson, to: Student, voids_practice: bool, reason: str, by: User, at: datetime, academy: Academy
) -> Correction:
    """Move a lesson to the student who took it; both records then read as if it had been logged there.

    Raises ValidationError, by form field, where the move is not possible.
    """
    lesson = Lesson.objects.select_for_update().select_related("session", "student").get(pk=lesson.pk)
    previous, recorder = lesson.student, ChangeRecorder(by)
    if problem := move_problem(lesson, to):
        raise ValidationError({"to": problem})
    ended, practice = prescriptions_ended_by(lesson, academy), reported_practice(lesson)
    sheets = later_sheets(lesson)
    void_sheets(lesson.sheets.valid(), recorder, at)
    move_with_contents(lesson, to, reason, recorder)
    for entry in practice if voids_practice else []:
        recorder.change(entry, is_void=True)
    resume(ended, recorder, academy)
    if lesson.status == Lesson.Status.COMPLETE and lesson.attendance == Lesson.Attendance.KEPT:
        with recorder.recording(to.prescriptions.all()):
            replace_prescriptions(lesson=lesson, academy=academy)
        issue_new_sheet(lesson, recorder, at)
    for sheet in sheets:
        reissue_if_changed(sheet, recorder, academy, at)
    for student in sorted((previous, to), key=lambda student: student.pk):
        recompute_student(student)
    day = date_format(academy.today(lesson.session.starts_at), "j F Y")
    return Correction.objects.create(
        kind=Correction.Kind.MOVED,
        student=to,
        other_student=previous,
        lesson=lesson,
        by=by,
        at=at,
        summary=f"The lesson of {day} was moved",
        changes=recorder.entries,
    )


def move_with_contents(lesson: Lesson, to: Student, reason: str, recorder: ChangeRecorder) -> None:
    """Move a lesson with its focuses, drills and tests, for the playing sides of the right student."""
    previous, sides = lesson.student, {f"{area}_side": side for area, side in to.sides.items()}
    recorder.change(lesson, student=to, **sides)
    move_focuses(lesson, to, reason, recorder)
    reopen_closed(lesson, previous, recorder)
    move_prescriptions(lesson, to, reason, recorder)
    move_seen_focuses(lesson, to, recorder)
    move_tests(lesson, to, recorder)


@transaction.atomic
def move_back(*, correction: Correction, by: User, at: datetime, academy: Academy) -> None:
    """Undo a move; later sheets of the student who had the lesson meanwhile are issued again without it."""
    sheets = later_sheets(correction.lesson) if correction.lesson else []
    undo_correction(correction=correction, by=by, at=at)
    for sheet in sheets:
        reissue_if_changed(sheet, ChangeRecorder(by), academy, at)


def move_problem(lesson: Lesson, to: Student) -> str:
    """Why the lesson cannot move to this student, or an empty text."""
    if to == lesson.student:
        return f"This is a lesson of {to} already."
    if lesson.session.lessons.filter(student=to).exists():
        return f"{to} has a lesson in that session already."
    opened = Focus.objects.filter(opened_in=lesson)
    later = opened.exclude(closed_in=None).exclude(closed_in=lesson).exists()
    if later or Prescription.objects.filter(focus__in=opened).exclude(lesson=lesson).exists():
        return f"A later lesson of {lesson.student} continues what this lesson started. Move that lesson first."
    return ""


def reported_practice(lesson: Lesson) -> list[PracticeEntry]:
    """The practice reported on the drills that the lesson gave, without what was voided."""
    return list(PracticeEntry.objects.filter(prescription__lesson=lesson, is_void=False))


def prescriptions_ended_by(lesson: Lesson, academy: Academy) -> list[Prescription]:
    """The prescriptions of earlier lessons that this lesson ended."""
    if lesson.status != Lesson.Status.COMPLETE:
        return []
    begins = lesson.session.starts_at
    earlier = lesson.student.prescriptions.filter(lesson__session__starts_at__lte=begins).exclude(lesson=lesson)
    day = academy.today(begins)
    return [row for row in earlier.select_related("lesson__session") if row.ended_on == max(day, row.begins)]


def later_sheets(lesson: Lesson) -> list[Sheet]:
    """The valid sheets of the student's later lessons, which may show what this lesson opened."""
    later = {"lesson__student": lesson.student, "lesson__session__starts_at__gte": lesson.session.starts_at}
    found = Sheet.objects.valid().filter(**later).exclude(lesson=lesson).select_related("lesson__session")
    return list(found) if lesson.focuses_opened.exists() or lesson.prescriptions.exists() else []


def void_sheets(sheets: Iterable[Sheet], recorder: ChangeRecorder, at: datetime) -> None:
    """Void the sheets and their shared links."""
    for sheet in sheets:
        with recorder.recording([sheet]):
            void_sheet(sheet=sheet, reason=MOVED_AWAY, at=at)


def issue_new_sheet(lesson: Lesson, recorder: ChangeRecorder, at: datetime) -> None:
    """Issue the sheet that is valid for the lesson from now on."""
    sheet = issue_sheet(lesson=Lesson.objects.get(pk=lesson.pk), at=at)
    recorder.created(sheet, voided_at=at, void_reason=MOVED_BACK)


def reissue_if_changed(sheet: Sheet, recorder: ChangeRecorder, academy: Academy, at: datetime) -> None:
    """Issue the sheet of a later lesson again if it would be different without the lesson that moved."""
    lesson = Lesson.objects.select_related("session__coach__user", "student").get(pk=sheet.lesson_id)
    issued = content_from(sheet.content)
    if without_new_drawings(content_of(lesson, academy), issued).focuses != issued.focuses:
        void_sheets([sheet], recorder, at)
        issue_new_sheet(lesson, recorder, at)


def move_focuses(lesson: Lesson, to: Student, reason: str, recorder: ChangeRecorder) -> None:
    """Move the focuses that the lesson opened; an open one gets a free slot."""
    for focus in lesson.focuses_opened.order_by("slot"):
        if focus.closed_in_id is None:
            recorder.change(focus, student=to, **slot_for(to, focus.reason, reason))
        else:
            recorder.change(focus, student=to)


def slot_for(to: Student, own: str, reason: str, field: str = "to") -> dict[str, object]:
    """The slot and the reason of a focus that moves to a student: the third open focus needs a reason.

    Errors go to `field` of the form, or to its reason.
    """
    try:
        slot = free_slot(to)
    except ValidationError:
        raise ValidationError({field: f"{to} has three open focuses already. Close one first."}) from None
    if slot == 3 and not (own or reason):
        raise ValidationError({"reason": f"{to} would have three open focuses: a third needs a reason."})
    return {"slot": slot, "reason": own or reason if slot == 3 else own}


def reopen_closed(lesson: Lesson, previous: Student, recorder: ChangeRecorder) -> None:
    """Reopen the focuses that the lesson had closed for the wrong student."""
    for focus in Focus.objects.filter(closed_in=lesson, student=previous).select_related("student"):
        try:
            with recorder.recording([focus]):
                reopen_focus(focus=focus)
        except ValidationError:
            problem = f"{previous} has too many open focuses to open “{focus}” again. Close one of them first."
            raise ValidationError({"to": problem}) from None


def move_prescriptions(lesson: Lesson, to: Student, reason: str, recorder: ChangeRecorder) -> None:
    """Move the drills that the lesson gave, without an end."""
    for row in lesson.prescriptions.select_related("focus"):
        focus = row.focus if row.focus.student_id == to.pk else matching_focus(row.focus, lesson, to, reason, recorder)
        recorder.change(row, student=to, focus=focus, ended_on=None)


def move_seen_focuses(lesson: Lesson, to: Student, recorder: ChangeRecorder) -> None:
    """Let what was seen of own words count for the right student's focus on the same; else nobody reads it there."""
    open_last = sorted(to.focuses.filter(fault=None), key=lambda focus: focus.closed_in_id is None)
    focuses, taken = {subject_of(focus): focus for focus in open_last}, set()
    for row in SeenFocus.objects.filter(look__lesson=lesson).exclude(focus__student=to).select_related("focus"):
        subject = subject_of(row.focus)
        if subject in focuses and (row.look_id, subject) not in taken:
            recorder.change(row, focus=focuses[subject])
            taken.add((row.look_id, subject))


def move_tests(lesson: Lesson, to: Student, recorder: ChangeRecorder) -> None:
    """Move the scored tests; left stays left, though it is push for one side and pull for the other."""
    other = {Ball.Miss.PUSH: Ball.Miss.PULL, Ball.Miss.PULL: Ball.Miss.PUSH}
    for test in lesson.scored_tests.select_related("design"):
        side = to.side(test.design.area)
        for ball in test.balls.exclude(miss="") if side != test.side else []:
            recorder.change(ball, miss=other[Ball.Miss(ball.miss)])
        recorder.change(test, student=to, side=side)


def matching_focus(old: Focus, lesson: Lesson, to: Student, reason: str, recorder: ChangeRecorder) -> Focus:
    """The right student's focus on the same thing, opened in this lesson if there is none."""
    about = {"fault": old.fault_id, "what": old.what, "area": old.area}
    if found := to.focuses.filter(closed_in=None, **about).exclude(prescriptions__lesson=lesson).first():
        return found
    names = ("kind", "area", "fault_id", "what", "feel", "decide_on")
    values = {name: getattr(old, name) for name in names}
    focus = Focus(student=to, opened_in=lesson, **values, **slot_for(to, old.reason, reason))
    set_history_user(focus, recorder.by)
    focus.save()
    recorder.created(focus)
    return focus


def resume(ended: list[Prescription], recorder: ChangeRecorder, academy: Academy) -> None:
    """Let the prescriptions that the lesson had ended run on, until the lesson that ends them now."""
    for row in ended:
        recorder.change(row, ended_on=None)
    for lesson in {row.lesson for row in ended}:
        with recorder.recording(lesson.student.prescriptions.all()):
            replace_prescriptions(lesson=lesson, academy=academy)
