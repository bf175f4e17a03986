"""The rows of a log for focuses in a coach's own words: each is drawn and posted as a skill with one fault, itself."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property

from django.http import QueryDict

from coachbook.loop.log.rows import BLANK, LESSON_LOOKS, MOMENTS, FaultRow, LookRow, posted_degrees
from lessons.models import Focus, Lesson, SeenFocus
from lessons.observations import ObservationValues

LAST_TIME = {**dict(SeenFocus.Degree.choices), SeenFocus.Degree.NOT_GRADED: "not good"}


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
    """What is stored of a student's focuses in own words in a lesson and in the last one before it."""

    lesson: Lesson
    last: Lesson | None
    seen: list[SeenFocus]

    @classmethod
    def read(cls, lesson: Lesson, last: Lesson | None) -> "OwnWordsLooks":
        """From the database, in one query; without what a lesson that was moved here showed of another's focus."""
        both = [row.pk for row in (lesson, last) if row and row.pk]
        own = SeenFocus.objects.filter(focus__student=lesson.student_id, focus__fault=None)
        rows = own.filter(look__lesson__in=both, look__kind__in=MOMENTS.values()).select_related("look", "focus")
        return cls(lesson, last, list(rows) if both else [])

    @cached_property
    def by_look(self) -> dict[tuple[int, str, int], SeenFocus]:
        """The same by lesson, kind of look, and focus."""
        return {(row.look.lesson_id, row.look.kind, row.focus_id): row for row in self.seen}

    def stored(self, row: LookRow, lesson: Lesson | None) -> SeenFocus | None:
        """What is stored of a row in a lesson, if anything."""
        return self.by_look.get((lesson.pk, row.moment, row.skill.pk)) if lesson and lesson.pk else None

    def rows(self, shown: Iterable[Focus], letters: str, data: QueryDict | None) -> list[FocusRow]:
        """A row for each focus in own words that the log shows, and that this lesson saw and a later one closed."""
        seen = [row.focus for row in self.seen if row.look.lesson_id == self.lesson.pk]
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
