"""The form of a group: what is stored, and over it what was typed."""

import uuid
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db.models import F, Max, Prefetch, Q, QuerySet
from django.forms import BaseForm, BoundField
from django.http import QueryDict
from django.utils import timezone

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.groups.forms import AddForm, GroupFocusForm, GroupNotesForm
from coachbook.groups.rows import Row, load_rows
from coachbook.groups.session import FEWEST, MOST, Refusals, stored_defaults
from coachbook.groups.shared_focus import Choices
from coachbook.http import Request
from coachbook.loop.log.catalogue import CatalogueChoices
from coachbook.loop.models import Sheet
from lessons.models import Lesson, Session

Problem = tuple[str, str]


@dataclass
class GroupForm:
    """All that a group's page shows and saves."""

    session: Session
    rows: list[Row]
    notes: GroupNotesForm
    focus: GroupFocusForm
    add: AddForm
    writes: bool
    is_earlier: bool
    problems: list[Problem] = field(default_factory=list)

    @property
    def reachable(self) -> list[int]:
        """The primary keys of the students whose lessons this person may write or read."""
        return [row.lesson.student_id for row in self.rows if row.is_reachable]

    @property
    def has_sheets(self) -> bool:
        """Whether anybody has a sheet to print."""
        return any(row.sheets for row in self.rows)

    @property
    def is_full(self) -> bool:
        """Whether nobody else can be added."""
        return len(self.rows) >= MOST

    @property
    def practising(self) -> list[str]:
        """The names of those who have drills of their own in the days of the dose."""
        return [row.name for row in self.rows if row.own]

    @property
    def absent(self) -> set[uuid.UUID]:
        """The keys of the lessons of those who did not come."""
        return {row.lesson.key for row in self.rows if row.is_absent}

    @property
    def choices(self) -> dict[uuid.UUID, Choices]:
        """What was chosen for single students, by the keys of their lessons."""
        return {row.lesson.key: row.choices for row in self.rows if row.is_reachable}

    def check(self) -> None:
        """Collect the errors of what was typed."""
        members = [row.form for row in self.rows if row.is_reachable]
        forms: list[BaseForm] = [*members, self.notes, self.focus, self.add]
        self.problems += [problem for form in forms for problem in problems_of(form)]

    def refuse(self, refused: Refusals) -> None:
        """Show beside each student why something could not be saved."""
        self.problems += [row.refuse(refused[row.lesson.key]) for row in self.rows if row.lesson.key in refused]


def problems_of(form: BaseForm) -> list[Problem]:
    """The errors of a form, as (id of the field on the page, message)."""
    if isinstance(form, GroupFocusForm) and form.is_blank:
        return []
    return [(anchor(form[name]), f"{form[name].label}: {e}") for name, errors in form.errors.items() for e in errors]


def anchor(bound: BoundField) -> str:
    """The id of a field on the page."""
    return f"{bound.auto_id}_whole" if bound.use_fieldset else bound.id_for_label


def load_group_form(request: Request, session: Session, data: QueryDict | None = None) -> GroupForm:
    """Read all that a group's page needs, in a constant number of queries."""
    writes = is_own(request, session)
    lessons = list(lessons_of(session))
    defaults, catalogue = stored_defaults(session), CatalogueChoices.read(session.coach)
    chosen, day = data.get("student", "") if data else "", request.academy.today(session.starts_at)
    students = writable_students(request) if writes else []
    reachable = {student.pk for student in students} if writes else readable_ids(request, session)
    return GroupForm(
        session=session,
        rows=load_rows(session, lessons, reachable, data, day),
        notes=GroupNotesForm(data, defaults=defaults),
        focus=GroupFocusForm(data, session_key=session.key, catalogue=catalogue, defaults=defaults),
        add=AddForm(None, students=others(students, lessons), chosen=chosen),
        writes=writes,
        is_earlier=day < request.academy.today(timezone.now()),
    )


def is_own(request: Request, session: Session) -> bool:
    """Whether this person is the coach of the group."""
    return request.user.is_coach and session.coach_id == request.user.coach.pk


def lessons_of(session: Session) -> "list[Lesson]":
    """The lessons of a group by the names of the students, each with its valid sheet."""
    found = session.lessons.select_related("student", "group_member").order_by("student__name", "pk")
    return list(found.prefetch_related(Prefetch("sheets", Sheet.objects.valid())))


def readable_ids(request: Request, session: Session) -> set[int]:
    """The primary keys of the group's students whose lessons this person may read."""
    here = gate.get_students(request, Permission.READ_NOTES).filter(lessons__session=session)
    gate.note_readings(request, here)
    return set(here.values_list("pk", flat=True))


def others(students: list[Student], lessons: list[Lesson]) -> list[Student]:
    """The coach's students who are not in the group yet."""
    present = {lesson.student_id for lesson in lessons}
    return [student for student in students if student.status != Student.Status.LEFT and student.pk not in present]


def taught(request: Request) -> list[Student]:
    """The coach's students today, those with recent lessons first."""
    return [student for student in writable_students(request) if student.status != Student.Status.LEFT]


def writable_students(request: Request) -> list[Student]:
    """The students whose lessons this coach may write, those who left too, those with recent lessons first."""
    seen = Q(lessons__session__coach=request.user.coach)
    here = gate.get_students(request, Permission.LOG_LESSONS)
    dated = here.annotate(last=Max("lessons__session__starts_at", filter=seen))
    return list(dated.order_by(F("last").desc(nulls_last=True), "name", "pk"))


def groups_to_repeat(request: Request, at: datetime) -> list[Session]:
    """The last three groups of earlier days, each name and set of students once, if two of them may come again."""
    today = request.academy.today(at)
    found: dict[tuple[str, frozenset[int]], Session] = {}
    for session in recent_groups(request, at, 20):
        students = frozenset(lesson.student_id for lesson in session.present)
        if len(students) >= FEWEST and request.academy.today(session.starts_at) < today:
            found.setdefault((session.name, students), session)
    return list(found.values())[:3]


def recent_groups(request: Request, at: datetime, count: int = 5) -> list[Any]:
    """The last groups of this coach, each with the lessons `present` of those who are still the coach's students."""
    groups = Session.objects.filter(coach=request.user.coach, kind=Session.Kind.GROUP, starts_at__lte=at)
    present = Prefetch("lessons", present_lessons(request), to_attr="present")
    return list(groups.order_by("-starts_at", "-pk").prefetch_related(present)[:count])


def present_lessons(request: Request) -> "QuerySet[Lesson]":
    """The lessons of students whom this coach still teaches, by name."""
    students = gate.get_students(request, Permission.LOG_LESSONS).exclude(status=Student.Status.LEFT)
    return Lesson.objects.filter(student__in=students).select_related("student").order_by("student__name", "pk")
