"""The rows of a log for focuses in a coach's own words: each is drawn and posted as a skill with one fault, itself."""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from django.db import DEFAULT_DB_ALIAS
from django.db.models import BooleanField, ExpressionWrapper, F, OuterRef, Q, QuerySet, Subquery
from django.http import QueryDict

from coachbook.loop.log.rows import BLANK, LESSON_LOOKS, FaultRow, LookRow, posted_degrees
from lessons.history import FAULT_AS_COUNTED
from lessons.log import is_around
from lessons.models import Focus, Lesson, SeenFocus
from lessons.observations import ObservationValues

LAST_TIME = {**dict(SeenFocus.Degree.choices), SeenFocus.Degree.NOT_GRADED: "not good"}

SEEN_FIELDS = ["id", "look_id", "focus_id", "degree"]


@dataclass
class FocusRow:
    """A focus with its looks in order, and what was recorded of it last time; it has what `SkillRow` has."""

    skill: Focus
    looks: list[LookRow]
    last_time: list[tuple[str, str]] = field(default_factory=list)

    @property
    def first(self) -> list[FaultRow]:
        """Its one fault, itself."""
        return [FaultRow(self.skill, [(look, look.seen.degrees.get(self.skill, "")) for look in self.looks])]

    @property
    def worked_on(self) -> frozenset[Focus]:
        """What is worked on: itself."""
        return frozenset([self.skill])


@dataclass
class OwnWordsLooks:
    """What is stored of a student's focuses in own words in a lesson and in the last one before it.

    `seen` holds it by lesson, kind of look, and focus.
    """

    lesson: Lesson
    last: Lesson | None
    seen: dict[tuple[int, str, int], SeenFocus] = field(default_factory=dict)

    def stored(self, row: LookRow, lesson: Lesson | None) -> SeenFocus | None:
        """What is stored of a row in a lesson, if anything."""
        return self.seen.get((lesson.pk, row.moment, row.skill.pk)) if lesson and lesson.pk else None

    def rows(self, shown: Iterable[Focus], letters: str, data: QueryDict | None) -> list[FocusRow]:
        """A row for each focus in own words that the log shows, and that this lesson saw and a later one closed."""
        seen = [row.focus for (lesson, *_), row in self.seen.items() if lesson == self.lesson.pk]
        focuses = dict.fromkeys([*(focus for focus in shown if focus.is_own_words), *seen])
        return [self.row(focus, letters, data) for focus in focuses]

    def row(self, focus: Focus, letters: str, data: QueryDict | None) -> FocusRow:
        """One focus with its looks as they were typed, or else as they are stored."""
        blanks = [LookRow(focus, letter, BLANK) for letter in letters]
        looks = [
            stored_look(row, self.stored(row, self.lesson)) if data is None else posted_look(row, data)
            for row in blanks
        ]
        before = [LookRow(focus, letter, BLANK) for letter in LESSON_LOOKS]
        last_time = [(row.moment, self.stored(row, self.last)) for row in before]
        return FocusRow(focus, looks, [(moment, LAST_TIME[seen.degree].lower()) for moment, seen in last_time if seen])


def read_focuses(
    lesson: Lesson, last: Lesson | None, spoken_of: Iterable[uuid.UUID] = ()
) -> tuple[list[Focus], OwnWordsLooks]:
    """The focuses that a log shows, and what was seen of those in own words; one query for both.

    What a lesson that was moved here showed of another student's focus is left out.
    """
    focuses: dict[int, Any] = {}
    found = OwnWordsLooks(lesson, last)
    for row in focus_rows(lesson, last, spoken_of):
        focus = focuses.setdefault(row.pk, row)
        if focus.is_own_words and row.seen_pk:
            seen = SeenFocus.from_db(DEFAULT_DB_ALIAS, SEEN_FIELDS, [row.seen_pk, row.look_pk, row.pk, row.degree])
            seen.focus = focus
            found.seen[row.seen_in, row.look_kind, row.pk] = seen
    return [focus for focus in focuses.values() if focus.is_shown], found


def focus_rows(lesson: Lesson, last: Lesson | None, spoken_of: Iterable[uuid.UUID]) -> "QuerySet[Any]":
    """A row for each focus that the log shows, or of which this lesson saw something, and each look of both lessons.

    A focus that neither lesson looked at comes with its first look, if it has any, or it would have no row.
    """
    both = [row.pk for row in (lesson, last) if row and row.pk]
    first = SeenFocus.objects.filter(focus=OuterRef("pk")).order_by("pk").values("pk")[:1]
    rows = lesson.student.focuses.annotate(
        is_shown=ExpressionWrapper(is_around(lesson, spoken_of), BooleanField()),
        seen_pk=F("seen__pk"),
        degree=F("seen__degree"),
        look_pk=F("seen__look"),
        look_kind=F("seen__look__kind"),
        seen_in=F("seen__look__lesson"),
    ).filter(
        Q(is_shown=True) | Q(seen_in=lesson.pk or 0, fault=None),
        Q(seen_pk=None) | Q(seen_in__in=both) | Q(seen_pk=Subquery(first)),
    )
    return rows.select_related(*FAULT_AS_COUNTED, "opened_in__session").order_by(
        "opened_in__session__starts_at", "slot"
    )


def posted_look(blank: LookRow, data: QueryDict) -> LookRow:
    """A look as it was posted."""
    good = f"{blank.name}.good" in data
    seen = ObservationValues(good, posted_degrees(blank.skill, blank.letter, data))
    return LookRow(blank.skill, blank.letter, seen)


def stored_look(blank: LookRow, stored: SeenFocus | None) -> LookRow:
    """A look as it is stored."""
    if stored is None:
        return blank
    good = stored.degree == SeenFocus.Degree.GOOD
    seen = ObservationValues(good, {} if good else {stored.focus: stored.degree})
    return LookRow(blank.skill, blank.letter, seen)
