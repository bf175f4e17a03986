"""A student with a row in every table that is about one, and a canary in every word of it that somebody may type."""

from datetime import date
from typing import Any

from django.apps import apps
from django.db import models
from django.utils import timezone

from coachbook.accounts.models import Coach, Invitation, NewAddress, RecordView, SignInChange, Student, User
from coachbook.caseload.models import Snooze
from coachbook.corrections.models import ApprovalNotice, ApprovalRequest, Correction
from coachbook.diary.models import Absence, Appointment, FamilyFeed
from coachbook.family.models import Message, ThreadReading
from coachbook.groups.models import GroupDefaults, GroupMember
from coachbook.loop.sheets.issue import issue_sheet
from coachbook.rights.models import GRACE, ErasureRequest
from drills.models import Design, Drill, PracticeDays, PracticeEntry, Round
from lessons.models import Alignment, Fault, Focus, FocusView, Observation, Outcome, SeenFault, SeenFocus
from tests.make import (
    academy_today,
    make_ball,
    make_consent,
    make_guardian,
    make_lesson,
    make_look,
    make_pause,
    make_prescription,
    make_still,
    make_still_measure,
    make_test,
)

# Words that the program or a key writes, that nobody types: no canary can stand there.
NOT_TYPED = {"password", "token_hash", "code_hash", "code", "page"}


def canary(bird: str, field: Any) -> str:
    """A word that stands in one column alone; short, since some columns are."""
    return f"{bird}{field.model._meta.model_name}{field.name}".replace("_", "")[: field.max_length or 200]


def typed_fields(model: type[models.Model]) -> list[Any]:
    """The columns of a table in which somebody's words stand."""
    return [
        field
        for field in model._meta.concrete_fields
        if isinstance(field, models.CharField | models.TextField)
        and not field.choices
        and field.name not in NOT_TYPED
        and not field.primary_key
        and (field.model.__name__, field.name) != ("Still", "name")  # of its files
    ]


def make_whole_record(student: Student, coach: Coach, manager: User) -> None:
    """Rows in every table that is about a student; the catalogue that they use has names of its own."""
    now, today, by = timezone.now(), academy_today(), coach.user
    done = {"status": "complete", "completed_at": now}
    fault, drill, design = Fault.objects.get(), Drill.objects.get(), Design.objects.get()
    first, lesson = make_lesson(student, coach, days_ago=9, **done), make_lesson(student, coach, days_ago=2, **done)
    look = make_look(lesson)
    seen = Observation.objects.create(look=look, skill=fault.skill, verdict="not_good", reader="student")
    SeenFault.objects.create(observation=seen, fault=fault, degree="slight")
    focus = Focus.objects.create(student=student, opened_in=lesson, slot=1, area="putting", what="own")
    SeenFocus.objects.create(look=look, focus=focus, degree="slight")
    derived: dict[str, Any] = {"student": student, "coach": coach, "fault": fault, "verdict": "held"}
    Outcome.objects.create(lesson=lesson, before=first, day=today, days=7, **derived)
    given = make_prescription(lesson, focus, drill=drill)
    still = make_still(lesson, caption="ball too far up", club="putter")
    make_still_measure(still, name="width of the stance")
    points, departure = [[20, 80], [70, 80]], make_still(lesson, moment="departure", caption="better", club="wedge")
    Alignment.objects.create(arrival=still, departure=departure, arrival_points=points, departure_points=points)
    FocusView.objects.create(focus=focus, checkpoint=still.checkpoint, view=still.view)
    entry = PracticeEntry.objects.create(prescription=given, day=today, amount=5, note="done")
    issue_sheet(lesson=lesson, at=now)
    make_ball(make_test(student, design, by=by))
    PracticeDays.objects.create(student=student, monday=True)
    Round.objects.create(student=student, day=today, holes=9, putts=17, by=by)
    guardian = make_guardian(f"Guardian of {student.pk}", student)
    make_consent(student, guardian, "photos")
    make_pause(student, date(2026, 1, 1), date(2026, 1, 9))
    student.cares.update(note="for whoever takes over")
    Message.objects.create(student=student, written_by=by, text="words", answers=entry)
    ThreadReading.objects.create(student=student, reader=by)
    Absence.objects.create(student=student, first_day=today, last_day=today, reported_by=by)
    Snooze.objects.create(student=student, kind="review", until=today, why="away", by=by)
    RecordView.objects.create(student=student, manager=manager, page="student", day=today, at=now)
    Appointment.objects.create(coach=coach, starts_at=now, made_by=by).students.add(student)
    GroupMember.objects.create(lesson=lesson)
    GroupDefaults.objects.create(session=lesson.session)
    correction = Correction.objects.create(kind="opened", student=student, lesson=lesson, by=by, at=now, summary="s")
    about: dict[str, Any] = {"student": student, "correction": correction, "asked_by": by, "asked_at": now}
    waiting = ApprovalRequest.objects.create(kind="undo", **about)
    ApprovalNotice.objects.create(request=waiting, person=manager)
    if student.user:
        Invitation.issue(student.user, by=by, at=now)
        NewAddress.issue(student.user, "new@example.org", now)
        FamilyFeed.objects.create(person=student.user, token_hash=f"hash of {student.pk}", made_at=now)
        SignInChange.objects.create(user=student.user, what="password", at=now)
    ErasureRequest.objects.create(student=student, asked_by=guardian, asked_at=now, due_on=today + GRACE)


def plant(bird: str, rows: dict[str, str], student: Student) -> set[str]:
    """Put a canary into every typed word of these tables; `rows` names the way from each to the student.

    Each is planted by saving the row, so that the history has it as well.
    """
    planted = set()
    for label, path in rows.items():
        model = apps.get_model(label)
        for row in model._base_manager.filter(**{path: student.pk}).distinct():
            for field in typed_fields(model):
                setattr(row, field.name, canary(bird, field))
                planted.add(canary(bird, field))
            if label == "loop.Sheet":
                row.content = {**row.content, "keep": f"{bird}sheetcontent"}
                planted.add(f"{bird}sheetcontent")
            row.save()
    return planted
