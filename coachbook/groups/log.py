"""Writing a group down: each function is an act of its coach, whole or not at all."""

import uuid
from collections.abc import Collection, Iterable, Mapping
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F

from coachbook.accounts.models import Academy, Area, Coach, Student
from coachbook.groups.give import carry_over, give, take_back_all
from coachbook.groups.models import ForAll
from coachbook.loop.log.save import finish_lesson
from coachbook.loop.sheets.content import void_sheet
from drills.practice.prescribe import prescribe
from lessons.derived import reckon
from lessons.log import complete, problems_at_done
from lessons.models import Lesson, Observation, Session

FEWEST, MOST = 2, 20
FULL = f"A group has {MOST} students at most."
WORDS = ("keep", "next_time")
Refusals = dict[uuid.UUID, str]


@transaction.atomic
def begin_group(
    *,
    key: uuid.UUID,
    coach: Coach,
    at: datetime,
    begins: date,
    name: str,
    place: str,
    students: Iterable[Student],
    areas: list[str],
) -> Session:
    """Begin a session with several students, each with a lesson of their own; one that is there stays as it is."""
    told = {"coach": coach, "starts_at": at, "name": name, "place": place, "kind": Session.Kind.GROUP}
    session, is_new = Session.objects.get_or_create(key=key, defaults=told)
    if is_new:
        covered = {area: area in areas for area in Area.values}
        ForAll.objects.create(session=session, **covered)
        for student in students:
            start_lesson(session, student, covered, begins)
    return session


@transaction.atomic
def add_student(*, session: Session, student: Student, begins: date) -> Lesson:
    """Let somebody who came later join the group; one who is in it already stays as they are."""
    lock(session)
    present = Lesson.objects.filter(session=session)
    if found := present.filter(student=student).first():
        return found
    if present.count() >= MOST:
        raise ValidationError(FULL)
    said = said_before(session)
    return start_lesson(session, student, {area: getattr(said, area) for area in Area.values}, begins)


def start_lesson(session: Session, student: Student, covered: Mapping[str, bool], begins: date) -> Lesson:
    """A student's own lesson of the group, in which goes on what they practise already."""
    lesson = Lesson.for_student(student, session, **covered)
    lesson.save()
    carry_over(lesson=lesson, begins=begins)
    return lesson


@transaction.atomic
def save_for_all(
    *, session: Session, within: Collection[int], absent: Collection[uuid.UUID], said: Mapping[str, Any], begins: date
) -> Refusals:
    """Say the same to all who are here, and change what was said before; what differs in a student's own log stays.

    Nobody but the students `within` is written. Answers, by lesson, what could not be given and why.
    """
    lock(session)
    before, now = said_before(session), ForAll(session=session, **said)
    lessons = written_lessons(session, within)
    looked = looked_areas(lessons)
    refused: Refusals = {}
    for lesson in lessons:
        is_here, was_here = lesson.key not in absent, lesson.attendance == Lesson.Attendance.KEPT
        write_words(lesson, before, now, is_here=is_here, looked=looked.get(lesson.pk, set()))
        try:
            with transaction.atomic():
                if is_here and not was_here:
                    carry_over(lesson=lesson, begins=begins)
                if is_here:
                    give(lesson=lesson, before=before, now=now, begins=begins)
                else:
                    take_back_all(lesson=lesson, before=before, begins=begins)
        except ValidationError as refusal:
            refused[lesson.key] = " ".join(refusal.messages)
        if is_here != was_here and lesson.status == Lesson.Status.COMPLETE:
            reckon(lesson)
    keep_said(before, said)
    return refused


@transaction.atomic
def finish_group(
    *, session: Session, within: Collection[int], leave: Collection[uuid.UUID], academy: Academy, at: datetime
) -> Refusals:
    """Call every lesson done that can be, and `leave` some: who was here gets a sheet, who did not come gets none."""
    lock(session)
    refused: Refusals = {}
    for lesson in written_lessons(session, within):
        if lesson.key not in leave:
            try:
                with transaction.atomic():
                    finish(lesson, academy, at)
            except ValidationError as refusal:
                refused[lesson.key] = " ".join(refusal.messages)
    return refused


def finish(lesson: Lesson, academy: Academy, at: datetime) -> None:
    """Call one lesson done, unless something still stands against it."""
    if lesson.attendance == Lesson.Attendance.ABSENT:
        finish_absent(lesson, academy, at)
    elif problems := problems_at_done(lesson):
        raise ValidationError([message for _, message in problems])
    else:
        finish_lesson(lesson=lesson, academy=academy, at=at)


def finish_absent(lesson: Lesson, academy: Academy, at: datetime) -> None:
    """Call the lesson of one who did not come done: what they practise goes on, and no sheet of it stands."""
    begins = academy.today(lesson.session.starts_at)
    for row in lesson.prescriptions.select_related("focus"):
        prescribe(lesson=lesson, focus=row.focus, drill=None, dose=None, begins=begins)
    complete(lesson, at)
    reckon(lesson)
    for sheet in lesson.sheets.standing():
        void_sheet(sheet=sheet, reason="did not come", at=at)


def lock(session: Session) -> None:
    """Let another save of the same group wait."""
    Session.objects.select_for_update().get(pk=session.pk)


def said_before(session: Session) -> ForAll:
    """What was last said to all, or nothing yet."""
    return ForAll.objects.select_related("fault", "drill").filter(session=session).first() or ForAll(session=session)


def keep_said(before: ForAll, said: Mapping[str, Any]) -> None:
    """Remember what was said to all."""
    if before.pk is None or any(getattr(before, name) != value for name, value in said.items()):
        for name, value in said.items():
            setattr(before, name, value)
        before.save()


def written_lessons(session: Session, within: Collection[int]) -> list[Lesson]:
    """The lessons of the group that may be written, always in the same order."""
    found = session.lessons.filter(student__in=within).select_related("student", "session__coach__user")
    return list(found.order_by("pk"))


def looked_areas(lessons: Iterable[Lesson]) -> dict[int, set[str]]:
    """The areas in which something was seen, by lesson: these are never taken away."""
    found: dict[int, set[str]] = {}
    rows = Observation.objects.filter(look__lesson__in=lessons).values_list("look__lesson", "skill__area")
    for lesson, area in rows:
        found.setdefault(lesson, set()).add(area)
    return found


def write_words(lesson: Lesson, before: ForAll, now: ForAll, *, is_here: bool, looked: Collection[str]) -> None:
    """Write attendance, areas and words into one lesson, as far as its own are empty or those of the group."""
    values: dict[str, Any] = {"attendance": Lesson.Attendance.KEPT if is_here else Lesson.Attendance.ABSENT}
    for name in WORDS:
        if getattr(lesson, name) in ("", getattr(before, name)):
            values[name] = getattr(now, name) if is_here else ""
    if lesson.areas == before.areas:
        values |= {area: getattr(now, area) or area in looked for area in Area.values}
    changed = [name for name, value in values.items() if getattr(lesson, name) != value]
    for name in changed:
        setattr(lesson, name, values[name])
    if changed:
        lesson.save(update_fields=changed)
    # A log that stands open elsewhere then says so before it writes over this.
    Lesson.objects.filter(pk=lesson.pk).update(version=F("version") + 1, page="")
