"""The form of a group: what is stored, and over it what was typed."""

import uuid
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import datetime

from django.db.models import F, Max, Prefetch, Q
from django.forms import BoundField
from django.http import QueryDict

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.groups.forms import AddForm, GroupFocusForm, GroupNotesForm, distinct_names
from coachbook.groups.session import MOST, Refusals, stored_defaults
from coachbook.http import Request
from coachbook.loop.log.catalogue import CatalogueChoices
from coachbook.loop.models import Sheet
from lessons.models import Lesson, Session

Problem = tuple[str, str]


@dataclass
class Row:
    """One student of a group; of one who is not reachable nothing is shown, not even the name."""

    lesson: Lesson
    name: str
    is_reachable: bool
    is_absent: bool
    sheets: list[Sheet]
    error: str = ""

    @property
    def anchor(self) -> str:
        """The id of its row on the page."""
        return f"row-{self.lesson.key}"


@dataclass
class GroupForm:
    """All that a group's page shows and saves."""

    session: Session
    rows: list[Row]
    notes: GroupNotesForm
    focus: GroupFocusForm
    add: AddForm
    writes: bool
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

    def check(self) -> None:
        """Collect the errors of what was typed."""
        self.problems += [problem for form in (self.notes, self.focus, self.add) for problem in problems_of(form)]

    def refuse(self, refused: Refusals) -> None:
        """Show beside each student why something could not be saved."""
        for row in self.rows:
            if message := refused.get(row.lesson.key):
                row.error = message
                self.problems.append((row.anchor, f"{row.name}: {message}"))


def problems_of(form: GroupNotesForm | GroupFocusForm | AddForm) -> list[Problem]:
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
    defaults, catalogue = stored_defaults(session), CatalogueChoices.read()
    chosen = data.get("student", "") if data else ""
    return GroupForm(
        session=session,
        rows=rows_of(lessons, reachable_ids(request, session, writes=writes), data),
        notes=GroupNotesForm(data, defaults=defaults),
        focus=GroupFocusForm(data, session_key=session.key, catalogue=catalogue, defaults=defaults),
        add=AddForm(None, students=others(request, lessons) if writes else [], chosen=chosen),
        writes=writes,
    )


def is_own(request: Request, session: Session) -> bool:
    """Whether this person is the coach of the group."""
    return request.user.is_coach and session.coach_id == request.user.coach.pk


def lessons_of(session: Session) -> "list[Lesson]":
    """The lessons of a group by the names of the students, each with its valid sheet."""
    found = session.lessons.select_related("student").order_by("student__name", "pk")
    return list(found.prefetch_related(Prefetch("sheets", Sheet.objects.valid())))


def reachable_ids(request: Request, session: Session, *, writes: bool) -> set[int]:
    """The primary keys of the group's students whose lessons this person may write, or else read."""
    permission = Permission.LOG_LESSONS if writes else Permission.READ_NOTES
    here = gate.get_students(request, permission).filter(lessons__session=session)
    if not writes:
        gate.note_readings(request, here)
    return set(here.values_list("pk", flat=True))


def rows_of(lessons: list[Lesson], reachable: Collection[int], data: QueryDict | None) -> list[Row]:
    """A row for each student, with attendance as stored or as typed; those who are not reachable come last."""
    names = distinct_names(lesson.student for lesson in lessons if lesson.student_id in reachable)
    typed = None if data is None else set(data.getlist("absent"))
    return [
        Row(
            lesson=lesson,
            name=names.get(lesson.student_id, gate.UNNAMED),
            is_reachable=lesson.student_id in reachable,
            is_absent=lesson.attendance == Lesson.Attendance.ABSENT if typed is None else str(lesson.key) in typed,
            sheets=list(lesson.sheets.all()) if lesson.student_id in reachable else [],
        )
        for lesson in sorted(lessons, key=lambda lesson: lesson.student_id not in names)
    ]


def others(request: Request, lessons: list[Lesson]) -> list[Student]:
    """The coach's students who are not in the group yet."""
    present = {lesson.student_id for lesson in lessons}
    return [student for student in taught(request) if student.pk not in present]


def taught(request: Request) -> list[Student]:
    """The coach's students today, those with recent lessons first."""
    here = gate.get_students(request, Permission.LOG_LESSONS).exclude(status=Student.Status.LEFT)
    seen = Q(lessons__session__coach=request.user.coach)
    dated = here.annotate(last=Max("lessons__session__starts_at", filter=seen))
    return list(dated.order_by(F("last").desc(nulls_last=True), "name", "pk"))


def absent_keys(group_form: GroupForm) -> set[uuid.UUID]:
    """The keys of the lessons of those who did not come."""
    return {row.lesson.key for row in group_form.rows if row.is_absent}


def recent_groups(request: Request, at: datetime) -> list[Session]:
    """The last five groups of this coach."""
    groups = Session.objects.filter(coach=request.user.coach, kind=Session.Kind.GROUP, starts_at__lte=at)
    return list(groups.order_by("-starts_at", "-pk")[:5])
