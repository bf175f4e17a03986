"""The form of a lesson's log: what is stored, and over it what was typed."""

import uuid
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from django.db.models import DateTimeField, Exists, OuterRef, Q, Subquery, Value
from django.db.models.functions import Coalesce
from django.forms import BoundField
from django.http import Http404
from django.utils import timezone
from django.utils.functional import cached_property

from coachbook.accounts.models import Academy, Area, Coach, Student, User
from coachbook.http import parse_key
from coachbook.loop.log.catalogue import CatalogueChoices
from coachbook.loop.log.forms import BasicsForm, FocusForm
from coachbook.loop.log.own_words import FocusRow, OwnWordsLooks, read_focuses
from coachbook.loop.log.rows import (
    LESSON_LOOKS,
    LOOKS,
    MOMENTS,
    LookRow,
    SkillRow,
)
from coachbook.loop.models import valid_sheet_key
from drills.models import Prescription
from drills.scored_tests.observations import RECENT_PERIOD
from lessons.joined import read_observations
from lessons.log import NoteVisibility
from lessons.models import Fault, Focus, Lesson, Observation, Session, Still

if TYPE_CHECKING:
    from coachbook.loop.log.sentence import NoteReading

TRIAL = timedelta(days=30)  # until the day on which a trial is decided, unless another one is chosen
Problem = tuple[str, str]
ThisAndLast = tuple[Lesson | None, Lesson | None]
Observed = dict[tuple[int, str, int], Observation]


@dataclass
class LessonForm:
    """All that the page of a log shows and saves: the lesson's fields, a row for each look, a form for each focus."""

    student: Student
    academy: Academy
    lesson: Lesson
    last: Lesson | None
    visibility: NoteVisibility
    catalogue: CatalogueChoices
    observed: Observed
    stored_focuses: list[Focus]
    given: dict[int, Prescription]
    own_words: OwnWordsLooks
    basics: BasicsForm = field(init=False)
    skills: list[SkillRow] = field(init=False)
    own_words_rows: list[FocusRow] = field(init=False)
    focuses: list[FocusForm] = field(init=False)
    problems: list[Problem] = field(default_factory=list)
    # What a button did: the keys of the blocks that it began, filled in and dropped, the codes of the skills of which
    # it entered what was seen, whether it added to what is kept, which proposals were left out, and what it read.
    begun: list[str] = field(default_factory=list)
    filled: list[str] = field(default_factory=list)
    dropped: str = ""
    entered: list[str] = field(default_factory=list)
    kept: bool = False
    left: list[str] = field(default_factory=list)
    reading: "NoteReading | None" = None

    @property
    def today(self) -> date:
        """Today in the academy's time zone."""
        return self.academy.today(timezone.now())

    @property
    def is_tested(self) -> bool:
        """Whether the student has recent scored tests."""
        return any(getattr(lesson, "tested", False) for lesson in (self.lesson, self.last))

    @property
    def kind(self) -> Session.Kind:
        """What kind of session it is."""
        return Session.Kind(self.lesson.session.kind)

    @property
    def title(self) -> str:
        """What the heading of the page calls the session."""
        return {Session.Kind.COURSE: "the course walk", Session.Kind.CLIP: "a clip"}.get(self.kind, "the lesson")

    @property
    def looks(self) -> str:
        """The letters of the looks that a log of this kind has."""
        return LOOKS.get(self.kind, LESSON_LOOKS)

    @property
    def area_fields(self) -> list[BoundField]:
        """The fields that say which areas the lesson was about."""
        return [self.basics[area] for area in Area.values]

    @property
    def continuing(self) -> list[FocusForm]:
        """The blocks of focuses that began earlier."""
        return [form for form in self.focuses if form.continues]

    @property
    def fresh(self) -> list[FocusForm]:
        """The blocks of focuses that begin here, and the empty ones."""
        return [form for form in self.focuses if not form.continues]

    @cached_property
    def worked_on(self) -> frozenset[Fault]:
        """The faults with a focus that is open, or that this lesson opened or closed."""
        return frozenset(focus.fault.counted for focus in self.stored_focuses if focus.fault)

    @property
    def opened(self) -> list[FocusForm]:
        """The blocks of focuses that begin here."""
        return [form for form in self.focuses if form.is_shown]

    @property
    def places(self) -> list[FocusForm]:
        """The empty blocks."""
        return [form for form in self.focuses if not (form.is_shown or form.continues)]

    @property
    def begun_forms(self) -> list[FocusForm]:
        """The blocks that a button began."""
        return [form for form in self.focuses if str(form.key) in self.begun]

    @property
    def filled_forms(self) -> list[FocusForm]:
        """The blocks of before that a button filled in."""
        return [form for form in self.focuses if str(form.key) in self.filled and str(form.key) not in self.begun]

    @property
    def entered_rows(self) -> list[SkillRow]:
        """The rows in which a button entered something."""
        return [row for row in self.skills if row.skill.code in self.entered]

    @property
    def open_rows(self) -> list[tuple[FocusForm, SkillRow | FocusRow | None]]:
        """The focuses of earlier lessons, each with the row of its skill or of its own words; two may share a row."""
        rows = {row.skill.pk: row for row in self.skills}
        own = {row.skill.key: row for row in self.own_words_rows}
        return [
            (form, rows.pop(form.about.counted_skill.pk, None) if form.about else own.get(form.key))
            for form in self.continuing
        ]

    @property
    def other_own_words(self) -> list[FocusRow]:
        """The rows of own words beside those: of focuses that begin here, and of those that were closed since."""
        first = {form.key for form in self.continuing}
        return [row for row in self.own_words_rows if row.skill.key not in first]

    @property
    def areas(self) -> list[tuple[Area, list[tuple[str, list[SkillRow]]]]]:
        """All other rows by area and phase."""
        first = {row.skill.pk for _, row in self.open_rows if isinstance(row, SkillRow)}
        rest = {area: [row for row in self.skills if row.skill.area == area] for area in Area}
        return [
            (area, list(by_phase([row for row in rows if row.skill.pk not in first]))) for area, rows in rest.items()
        ]

    @property
    def rows(self) -> list[LookRow]:
        """Every row of every skill, and of every focus in own words."""
        groups = [skill.looks for skill in self.skills] + [focus.looks for focus in self.own_words_rows]
        return [row for looks in groups for row in looks]

    def observation(self, lesson: Lesson | None, row: LookRow) -> Observation | None:
        """The stored observation of a row in a lesson, if any."""
        return self.observed.get((lesson.pk, row.moment, row.skill.pk)) if lesson and lesson.pk else None


def by_phase(rows: list[SkillRow]) -> Iterator[tuple[str, list[SkillRow]]]:
    """The rows of an area under setup, motion, finish and mind."""
    for phase in dict.fromkeys(row.skill.get_phase_display() for row in rows):
        yield phase, [row for row in rows if row.skill.get_phase_display() == phase]


def load_lesson_form(
    student: Student,
    key: uuid.UUID,
    *,
    academy: Academy,
    coach: Coach | None,
    reader: User,
    at: datetime,
    kind: Session.Kind = Session.Kind.LESSON,
    both: ThisAndLast | None = None,
    posted: Iterable[str] = (),
) -> LessonForm:
    """Read everything that a log needs, in a constant number of queries; 404 at a fresh address without a coach.

    `posted` are the keys of the focuses of which a page speaks: one may have been closed elsewhere meanwhile.
    """
    lesson, last = both or this_and_last(student, key, at, academy)
    if lesson is None:
        if coach is None:
            raise Http404
        lesson = Lesson.for_student(
            student, Session(coach=coach, starts_at=at, kind=kind), key=key, **usual_areas(last)
        )
    spoken_of = [named for word in (*posted, *lesson.unsaved) if (named := parse_key(word))]
    focuses, own_words = read_focuses(lesson, last, spoken_of)
    given, stored = given_for(focuses, lesson), lesson if lesson.pk else None
    drills = [row.drill_id for row in given.values()]
    return LessonForm(
        student=student,
        academy=academy,
        lesson=lesson,
        last=last,
        visibility=NoteVisibility.of(reader, lesson),
        catalogue=CatalogueChoices.read(coach or lesson.session.coach, [student], stored, drills),
        observed=observed(lesson, last),
        stored_focuses=focuses,
        given=given,
        own_words=own_words,
    )


def given_for(focuses: list[Focus], lesson: Lesson) -> dict[int, Prescription]:
    """The drills that a stored lesson gave itself, or that were given last where the lesson is new, by their focus."""
    rows = Prescription.objects.filter(focus__in=focuses).select_related("drill").order_by("begins", "pk")
    return {row.focus_id: row for row in (rows.filter(lesson=lesson) if lesson.pk else rows)}


def this_and_last(student: Student, key: uuid.UUID, at: datetime, academy: Academy) -> ThisAndLast:
    """The lesson at this address, and the last complete lesson or group before it that the student attended.

    404 if the lesson is another student's.
    """
    this_begins = Session.objects.filter(lessons__key=key).values("starts_at")[:1]
    before = (
        student.lessons.complete()
        .exclude(session__kind__in=LOOKS)
        .exclude(attendance=Lesson.Attendance.ABSENT)
        .filter(session__starts_at__lt=Coalesce(Subquery(this_begins), Value(at, DateTimeField())))
    )
    last_pk = before.order_by("-session__starts_at", "-pk").values("pk")[:1]
    tested = Exists(student.scored_tests.done().since(academy.today(at) - RECENT_PERIOD))
    both = Lesson.objects.filter(Q(key=key) | Q(pk=Subquery(last_pk))).select_related("session__coach__user")
    has_stills = Exists(Still.objects.shown().filter(lesson=OuterRef("pk")))
    found = both.annotate(sheet_key=valid_sheet_key(), tested=tested, has_stills=has_stills)
    lessons = {lesson.key == key: lesson for lesson in found}
    this, last = lessons.get(True), lessons.get(False)
    if this and this.student_id != student.pk:
        raise Http404
    for lesson in lessons.values():
        lesson.student = student
    return this, last


def usual_areas(last: Lesson | None) -> dict[str, Any]:
    """The areas of the last lesson, or putting in a first one."""
    return {area: getattr(last, area) if last else area == Area.PUTTING for area in Area.values}


def observed(lesson: Lesson, last: Lesson | None) -> Observed:
    """The observations of these lessons, by lesson, kind of look, and skill."""
    of = [row.pk for row in (lesson, last) if row and row.pk]
    if not of:
        return {}
    rows = Observation.objects.filter(look__lesson__in=of, look__kind__in=MOMENTS.values())
    found = read_observations(rows.select_related("look"))
    return {(row.look.lesson_id, row.look.kind, row.skill_id): row for row in found}
