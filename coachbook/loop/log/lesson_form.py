"""A lesson's log, open on the table: what is stored, and over it what was typed."""

import uuid
import zoneinfo
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.db.models import DateTimeField, Exists, OuterRef, Q, Subquery, Value
from django.db.models.functions import Coalesce
from django.forms import BoundField
from django.http import Http404, QueryDict
from django.utils import timezone

from coachbook.accounts.models import Academy, Area, Coach, Student, User
from coachbook.http import as_key
from coachbook.loop.log.forms import BasicsForm, FocusForm, Shelves
from coachbook.loop.log.rows import (
    BLANK,
    LESSON_LOOKS,
    LOOKS,
    MOMENTS,
    LookRow,
    SkillRow,
    posted_row,
    stored_row,
    with_readers,
)
from coachbook.loop.models import Sheet
from drills.models import Prescription
from drills.scored_tests.observations import OF_LATE
from lessons.log import Eyes, focuses_around
from lessons.models import Focus, Lesson, Observation, SeenFault, Session

Problem = tuple[str, str]
Observed = dict[tuple[int, str, int], Observation]


@dataclass
class Book:
    """What a log page shows and saves."""

    student: Student
    academy: Academy
    lesson: Lesson
    last: Lesson | None
    eyes: Eyes
    shelves: Shelves
    observed: Observed
    stored_focuses: list[Focus]
    given: dict[int, Prescription]
    basics: BasicsForm = field(init=False)
    skills: list[SkillRow] = field(init=False)
    focuses: list[FocusForm] = field(init=False)
    problems: list[Problem] = field(default_factory=list)

    @property
    def today(self) -> date:
        """The academy's day."""
        return self.academy.today(timezone.now())

    @property
    def is_tested(self) -> bool:
        """Whether scored tests of late are known, by the lessons that were read."""
        return any(getattr(lesson, "tested", False) for lesson in (self.lesson, self.last))

    @property
    def kind(self) -> Session.Kind:
        """What kind of session it is."""
        return Session.Kind(self.lesson.session.kind)

    @property
    def title(self) -> str:
        """What the page calls it."""
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

    @property
    def open_skills(self) -> list[SkillRow]:
        """The rows that are looked at first: those of the open focuses."""
        codes = [f.fault.skill_id for f in self.stored_focuses if f.fault and f.opened_in_id != self.lesson.pk]
        return [row for row in self.skills if row.skill.pk in codes]

    @property
    def areas(self) -> list[tuple[Area, bool, list[tuple[str, list[SkillRow]]]]]:
        """All other rows by area and phase; an area stands open where something is seen, or nothing comes before it."""
        first = {row.skill.pk for row in self.open_skills}
        rest = {
            area: [row for row in self.skills if row.skill.area == area and row.skill.pk not in first] for area in Area
        }
        return [
            (area, not first or any(row.is_open for row in rows), list(by_phase(rows))) for area, rows in rest.items()
        ]

    @property
    def rows(self) -> list[LookRow]:
        """Every row of every skill."""
        return [row for skill in self.skills for row in skill.looks]

    def observation(self, lesson: Lesson | None, row: LookRow) -> Observation | None:
        """What is stored of a row in a lesson."""
        return self.observed.get((lesson.pk, row.moment, row.skill.pk)) if lesson and lesson.pk else None


def by_phase(rows: list[SkillRow]) -> Iterator[tuple[str, list[SkillRow]]]:
    """The rows of an area under setup, motion, finish and mind."""
    for phase in dict.fromkeys(row.skill.get_phase_display() for row in rows):
        yield phase, [row for row in rows if row.skill.get_phase_display() == phase]


def open_book(
    student: Student,
    key: uuid.UUID,
    *,
    academy: Academy,
    coach: Coach | None,
    reader: User,
    at: datetime,
    kind: Session.Kind = Session.Kind.LESSON,
) -> Book:
    """Read everything that a log needs, in a constant number of queries."""
    lesson, last = this_and_last(student, key, at, academy)
    if lesson is None:
        if coach is None:
            raise Http404
        lesson = Lesson.for_student(
            student, Session(coach=coach, starts_at=at, kind=kind), key=key, **usual_areas(last)
        )
    focuses = focuses_around(lesson)
    rows = Prescription.objects.filter(focus__in=focuses).select_related("drill").order_by("begins", "pk")
    if lesson.pk:  # a lesson that is written shows what it gave itself; a fresh one what was given last
        rows = rows.filter(lesson=lesson)
    given = {row.focus_id: row for row in rows}
    return Book(
        student=student,
        academy=academy,
        lesson=lesson,
        last=last,
        eyes=Eyes.of(reader, lesson),
        shelves=Shelves.read(),
        observed=observed(lesson, last),
        stored_focuses=focuses,
        given=given,
    )


def this_and_last(
    student: Student, key: uuid.UUID, at: datetime, academy: Academy
) -> tuple[Lesson | None, Lesson | None]:
    """The lesson at this address and the finished one before it to which they came, no walk and no clip.

    404 where the address is another student's.
    """
    this_begins = Session.objects.filter(lessons__key=key).values("starts_at")[:1]
    before = (
        student.lessons.complete()
        .exclude(session__kind__in=LOOKS)
        .exclude(attendance=Lesson.Attendance.ABSENT)
        .filter(session__starts_at__lt=Coalesce(Subquery(this_begins), Value(at, DateTimeField())))
    )
    last_pk = before.exclude(key=key).order_by("-session__starts_at", "-pk").values("pk")[:1]
    sheet_key = Subquery(Sheet.objects.standing().filter(lesson=OuterRef("pk")).values("key")[:1])
    tested = Exists(student.scored_tests.done().since(academy.today(at) - OF_LATE))
    both = Lesson.objects.filter(Q(key=key) | Q(pk=Subquery(last_pk))).annotate(sheet_key=sheet_key, tested=tested)
    found = both.select_related("session__coach__user")
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
    """What was seen in these lessons, by lesson, moment and skill."""
    of = [row.pk for row in (lesson, last) if row and row.pk]
    if not of:
        return {}
    rows = Observation.objects.filter(look__lesson__in=of, look__kind__in=MOMENTS.values())
    found = rows.select_related("look").prefetch_related("seen_faults")
    return {(row.look.lesson_id, row.look.kind, row.skill_id): row for row in found}


def show_stored(book: Book) -> None:
    """Fill the page from what is stored."""
    zone = zoneinfo.ZoneInfo(book.academy.time_zone)
    day = book.lesson.session.starts_at.astimezone(zone).date()
    session = book.lesson.session
    initial = {"day": day, "place": session.place, "filmed_on": session.filmed_on}
    book.basics = BasicsForm(instance=book.lesson, today=book.today, eyes=book.eyes, initial=initial)
    book.skills = [skill_row(book, skill, None) for skill in book.shelves.skills]
    book.focuses = [stored_block(book, focus) for focus in book.stored_focuses]
    is_open = sum(focus.closed_in_id is None for focus in book.stored_focuses)
    book.focuses += [FocusForm(None, key=uuid.uuid4(), shelves=book.shelves) for _ in range(3 - is_open)]


def show_typed(book: Book, data: QueryDict) -> None:
    """Fill the page from what was typed."""
    book.basics = BasicsForm(data, instance=book.lesson, today=book.today, eyes=book.eyes)
    book.skills = [skill_row(book, skill, data) for skill in book.shelves.skills]
    stored = {focus.key: focus for focus in book.stored_focuses}
    keys = dict.fromkeys(key for word in data.getlist("focus") if (key := as_key(word)))
    book.focuses = [typed_block(book, key, stored.get(key), data) for key in keys]


def skill_row(book: Book, skill: Any, data: QueryDict | None) -> SkillRow:
    """One skill with its looks and what was seen last time."""
    looks = [look_row(book, LookRow(skill, letter, BLANK), data) for letter in book.looks]
    before = [LookRow(skill, letter, BLANK) for letter in LESSON_LOOKS]
    last_time = [(row.moment, in_words(book.observation(book.last, row))) for row in before]
    return SkillRow(skill, looks, [(moment, words) for moment, words in last_time if words])


def look_row(book: Book, blank: LookRow, data: QueryDict | None) -> LookRow:
    """One look at a skill as it was typed, or else as it is stored."""
    stored, name = book.observation(book.lesson, blank), (blank.skill, blank.letter)
    row = stored_row(*name, stored) if data is None else posted_row(*name, data)
    return with_readers(row, stored, book.eyes)


def in_words(observation: Observation | None) -> str:
    """What an observation came to, in a word: the worst of its faults."""
    if observation is None:
        return ""
    degrees = {row.degree for row in observation.seen_faults.all()}
    for degree in (SeenFault.Degree.MARKED, SeenFault.Degree.SLIGHT):
        if degree in degrees:
            return str(degree.label).lower()
    return "seen" if degrees else str(observation.get_verdict_display()).lower()


def stored_block(book: Book, focus: Focus) -> FocusForm:
    """A focus as it is stored, with the drill and dose that were last given for it."""
    initial: dict[str, Any] = {name: getattr(focus, name) for name in ("kind", "what", "area", "feel", "reason")}
    initial["still"] = "on" if focus.closed_in_id is None else focus.decision or "done"
    initial |= {"fault": focus.fault.code if focus.fault else "", "decide_on": focus.decide_on}
    if row := book.given.get(focus.pk):
        dose = {name: getattr(row, name) for name in ("amount", "unit", "per_week", "days", "mark")}
        initial |= {"drill": row.drill.code, **dose}
    return FocusForm(None, initial=initial, **block_of(book, focus.key, focus))


def typed_block(book: Book, key: uuid.UUID, focus: Focus | None, data: QueryDict) -> FocusForm:
    """A block as it was typed."""
    return FocusForm(data, **block_of(book, key, focus))


def block_of(book: Book, key: uuid.UUID, focus: Focus | None) -> dict[str, Any]:
    """What makes a block: a focus of an earlier lesson goes on or is closed, a new one is written."""
    continues = focus is not None and focus.opened_in_id != book.lesson.pk
    given = book.given.get(focus.pk) if focus else None
    return {"key": key, "shelves": book.shelves, "focus": focus, "continues": continues, "given": given}
