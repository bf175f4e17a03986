"""A group's page: what is stored, and over it what was typed."""

import uuid
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import datetime

from django.db.models import F, Max, Prefetch, Q
from django.forms import BoundField
from django.http import QueryDict

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Student
from coachbook.groups.forms import AddForm, GivenForm, SameForm, told_apart
from coachbook.groups.log import MOST, Refusals, said_before
from coachbook.http import Request
from coachbook.loop.log.forms import Shelves
from coachbook.loop.models import Sheet
from lessons.models import Lesson, Session

Problem = tuple[str, str]


@dataclass
class Row:
    """One student of a group; one who is not `within` reach is named and nothing more."""

    lesson: Lesson
    name: str
    within: bool
    is_absent: bool
    sheets: list[Sheet]
    error: str = ""

    @property
    def slot(self) -> str:
        """The id of its place on the page."""
        return f"row-{self.lesson.key}"


@dataclass
class GroupPage:
    """What a group's page shows."""

    session: Session
    rows: list[Row]
    same: SameForm
    given: GivenForm
    add: AddForm
    writes: bool
    problems: list[Problem] = field(default_factory=list)

    @property
    def within(self) -> list[int]:
        """The students who may be written."""
        return [row.lesson.student_id for row in self.rows if row.within]

    @property
    def has_sheets(self) -> bool:
        """Whether anybody has a sheet to print."""
        return any(row.sheets for row in self.rows)

    @property
    def is_full(self) -> bool:
        """Whether nobody else can be added."""
        return len(self.rows) >= MOST

    def check(self) -> None:
        """Say what cannot be as it was typed."""
        self.problems += [problem for form in (self.same, self.given, self.add) for problem in problems_of(form)]

    def refuse(self, refused: Refusals) -> None:
        """Say beside each student what could not be."""
        for row in self.rows:
            if message := refused.get(row.lesson.key):
                row.error = message
                self.problems.append((row.slot, f"{row.name}: {message}"))


def problems_of(form: SameForm | GivenForm | AddForm) -> list[Problem]:
    """The messages of a form, each with the field beside which it stands."""
    if isinstance(form, GivenForm) and form.is_blank:
        return []
    return [(anchor(form[name]), f"{form[name].label}: {e}") for name, told in form.errors.items() for e in told]


def anchor(bound: BoundField) -> str:
    """The id of the place of a field."""
    return f"{bound.auto_id}_whole" if bound.use_fieldset else bound.id_for_label


def open_page(request: Request, session: Session, data: QueryDict | None = None) -> GroupPage:
    """Read all that a group's page needs, in a number of queries that does not follow its size."""
    writes = is_own(request, session)
    lessons = list(lessons_of(session))
    said, shelves = said_before(session), Shelves.read()
    chosen = data.get("student", "") if data else ""
    return GroupPage(
        session=session,
        rows=rows_of(lessons, reached(request, session, writes=writes), data),
        same=SameForm(data, said=said),
        given=GivenForm(data, session_key=session.key, shelves=shelves, said=said),
        add=AddForm(None, students=others(request, lessons) if writes else [], chosen=chosen),
        writes=writes,
    )


def is_own(request: Request, session: Session) -> bool:
    """Whether this person is the coach of the group."""
    return request.user.is_coach and session.coach_id == request.user.coach.pk


def lessons_of(session: Session) -> "list[Lesson]":
    """The lessons of a group by the names of the students, each with the sheet that stands."""
    found = session.lessons.select_related("student").order_by("student__name", "pk")
    return list(found.prefetch_related(Prefetch("sheets", Sheet.objects.standing())))


def reached(request: Request, session: Session, *, writes: bool) -> set[int]:
    """Those of the group whom this person may write about, or only read of."""
    within = gate.students(request, Act.TEACH if writes else Act.NOTES).filter(lessons__session=session)
    return set(within.values_list("pk", flat=True))


def rows_of(lessons: list[Lesson], within: Collection[int], data: QueryDict | None) -> list[Row]:
    """A row for each student, with who did not come as stored or as typed."""
    names = told_apart(lesson.student for lesson in lessons)
    typed = None if data is None else set(data.getlist("absent"))
    return [
        Row(
            lesson=lesson,
            name=names[lesson.student_id],
            within=lesson.student_id in within,
            is_absent=lesson.attendance == Lesson.Attendance.ABSENT if typed is None else str(lesson.key) in typed,
            sheets=list(lesson.sheets.all()) if lesson.student_id in within else [],
        )
        for lesson in lessons
    ]


def others(request: Request, lessons: list[Lesson]) -> list[Student]:
    """Those whom this coach teaches and who are not in the group, as far as one can tell before it is saved."""
    present = {lesson.student_id for lesson in lessons}
    return [student for student in taught(request) if student.pk not in present]


def taught(request: Request) -> list[Student]:
    """The students whom this coach teaches today, those of late lessons first."""
    here = gate.students(request, Act.TEACH).exclude(status=Student.Status.LEFT)
    seen = Q(lessons__session__coach=request.user.coach)
    dated = here.annotate(last=Max("lessons__session__starts_at", filter=seen))
    return list(dated.order_by(F("last").desc(nulls_last=True), "name", "pk"))


def absent_of(page: GroupPage) -> set[uuid.UUID]:
    """The lessons of those who did not come."""
    return {row.lesson.key for row in page.rows if row.is_absent}


def late_groups(request: Request, at: datetime) -> list[Session]:
    """The last few groups of this coach, to go on with."""
    groups = Session.objects.filter(coach=request.user.coach, kind=Session.Kind.GROUP, starts_at__lte=at)
    return list(groups.order_by("-starts_at", "-pk")[:5])
