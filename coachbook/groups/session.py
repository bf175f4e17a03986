"""Begin, save and finish a group's session; each function is one transaction."""

import uuid
from collections.abc import Collection, Iterable, Mapping
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F

from coachbook.accounts.models import Academy, Area, Coach, Student
from coachbook.groups.models import GroupDefaults, GroupMember
from coachbook.groups.shared_focus import Choices, apply_shared_focus, own_drills, withdraw_drill, withdraw_shared_focus
from coachbook.loop.log.save import finish_lesson
from coachbook.loop.sheets.issue import void_sheet
from lessons.derived import recompute_for_lesson
from lessons.log import complete, find_completion_problems
from lessons.models import Lesson, Observation, SeenFocus, Session

FEWEST, MOST = 2, 20
FULL = f"A group has {MOST} students at most."
WORDS = ("keep", "next_time")
Refusals = dict[uuid.UUID, ValidationError]


@transaction.atomic
def begin_group(
    *,
    key: uuid.UUID,
    coach: Coach,
    at: datetime,
    name: str,
    place: str,
    students: Iterable[Student],
    areas: list[str],
) -> Session:
    """Begin a session with several students, each with a lesson of their own; one that exists stays as it is."""
    values = {"coach": coach, "starts_at": at, "name": name, "place": place, "kind": Session.Kind.GROUP}
    session, is_new = Session.objects.get_or_create(key=key, defaults=values)
    if is_new:
        covered = {area: area in areas for area in Area.values}
        GroupDefaults.objects.create(session=session, **covered)
        for student in students:
            start_lesson(session, student, covered)
    return session


@transaction.atomic
def add_student(*, session: Session, student: Student) -> Lesson:
    """Add a student who came later; the lesson of one who is in the group already stays as it is."""
    lock(session)
    present = Lesson.objects.filter(session=session)
    if found := present.filter(student=student).first():
        return found
    if present.count() >= MOST:
        raise ValidationError(FULL)
    defaults = stored_defaults(session)
    return start_lesson(session, student, {area: getattr(defaults, area) for area in Area.values})


def start_lesson(session: Session, student: Student, covered: Mapping[str, bool]) -> Lesson:
    """Create a student's own lesson of the group."""
    lesson = Lesson.for_student(student, session, **covered)
    lesson.save()
    return lesson


@transaction.atomic
def save_for_all(
    *,
    session: Session,
    reachable: Collection[int],
    absent: Collection[uuid.UUID],
    choices: Mapping[uuid.UUID, Choices],
    defaults: Mapping[str, Any],
    begins: date,
) -> Refusals:
    """Save the same for everyone who is here, replacing what was saved before; what a student's own log changed stays.

    Only lessons of the students `reachable` are written, and `choices` say by lesson where one student differs.
    Returns, by lesson, what could not be given and why.
    """
    lock(session)
    before, now = stored_defaults(session), GroupDefaults(session=session, **defaults)
    lessons = writable_lessons(session, reachable)
    looked, own = looked_areas(lessons), own_drills(session, begins)
    refused: Refusals = {}
    for lesson in lessons:
        is_here, was_here = lesson.key not in absent, lesson.attendance == Lesson.Attendance.KEPT
        write_defaults(lesson, before, now, is_here=is_here, looked=looked.get(lesson.pk, set()))
        chosen = choices.get(lesson.key, Choices())
        store_choices(lesson, chosen)
        try:
            with transaction.atomic():
                if is_here and not chosen.skips_focus:
                    theirs = own.get(lesson.student_id, [])
                    apply_shared_focus(lesson=lesson, before=before, now=now, choices=chosen, own=theirs, begins=begins)
                else:
                    withdraw_shared_focus(lesson=lesson, before=before, begins=begins)
        except ValidationError as refusal:
            refused[lesson.key] = refusal
        if is_here != was_here and lesson.status == Lesson.Status.COMPLETE:
            recompute_for_lesson(lesson)
    store_defaults(before, defaults)
    return refused


@transaction.atomic
def finish_group(
    *, session: Session, reachable: Collection[int], leave: Collection[uuid.UUID], academy: Academy, at: datetime
) -> Refusals:
    """Complete every lesson that can be, except those in `leave`; only students who were here get a sheet."""
    lock(session)
    refused: Refusals = {}
    for lesson in writable_lessons(session, reachable):
        if lesson.key not in leave:
            try:
                with transaction.atomic():
                    finish(lesson, academy, at)
            except ValidationError as refusal:
                refused[lesson.key] = refusal
    return refused


def finish(lesson: Lesson, academy: Academy, at: datetime) -> None:
    """Complete one lesson, unless something is missing."""
    if lesson.attendance == Lesson.Attendance.ABSENT:
        finish_absent(lesson, academy, at)
    elif problems := find_completion_problems(lesson):
        raise ValidationError([message for _, message in problems])
    else:
        finish_lesson(lesson=lesson, academy=academy, at=at)


def finish_absent(lesson: Lesson, academy: Academy, at: datetime) -> None:
    """Complete the lesson of one who did not come: their drills continue, and its sheet becomes void."""
    begins = academy.today(lesson.session.starts_at)
    for row in lesson.prescriptions.select_related("focus"):
        withdraw_drill(lesson, row.focus, begins)
    complete(lesson, at)
    recompute_for_lesson(lesson)
    for sheet in lesson.sheets.all():
        void_sheet(sheet=sheet, reason="did not come", at=at)


def lock(session: Session) -> None:
    """Lock the session, so that another save of the same group waits."""
    Session.objects.select_for_update().get(pk=session.pk)


def stored_defaults(session: Session) -> GroupDefaults:
    """What was last saved for everyone, or an empty row."""
    return GroupDefaults.objects.select_related("fault", "drill").filter(session=session).first() or GroupDefaults(
        session=session
    )


def store_defaults(before: GroupDefaults, defaults: Mapping[str, Any]) -> None:
    """Store what is the same for everyone."""
    if before.pk is None or any(getattr(before, name) != value for name, value in defaults.items()):
        for name, value in defaults.items():
            setattr(before, name, value)
        before.save()


def store_choices(lesson: Lesson, chosen: Choices) -> None:
    """Store what was chosen for one student."""
    member = GroupMember.objects.filter(lesson=lesson).first() or GroupMember(lesson=lesson)
    values = {"skips_focus": chosen.skips_focus, "adds_drill": chosen.adds_drill}
    if any(getattr(member, name) != value for name, value in values.items()):
        for name, value in values.items():
            setattr(member, name, value)
        member.save()


def writable_lessons(session: Session, reachable: Collection[int]) -> list[Lesson]:
    """The lessons of the group that may be written, always in the same order, against deadlocks."""
    found = session.lessons.filter(student__in=reachable).select_related("student", "session__coach__user")
    return list(found.order_by("pk"))


def looked_areas(lessons: Iterable[Lesson]) -> dict[int, set[str]]:
    """The areas in which something is recorded, by lesson: these stay ticked."""
    found: dict[int, set[str]] = {}
    skills = Observation.objects.filter(look__lesson__in=lessons).values_list("look__lesson", "skill__area")
    own_words = SeenFocus.objects.filter(look__lesson__in=lessons).values_list("look__lesson", "focus__area")
    for lesson, area in skills.union(own_words):
        found.setdefault(lesson, set()).add(area)
    return found


def write_defaults(
    lesson: Lesson, before: GroupDefaults, now: GroupDefaults, *, is_here: bool, looked: Collection[str]
) -> None:
    """Write attendance, areas and words into one lesson, unless the student's own log changed them."""
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
    # A log that is open elsewhere then warns before it overwrites this.
    Lesson.objects.filter(pk=lesson.pk).update(version=F("version") + 1, page="")
