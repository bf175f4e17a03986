"""What a coach logs of a lesson's looks: compared with what is stored first, then written at once."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from simple_history.utils import bulk_create_with_history, bulk_update_with_history

from lessons.models import Fault, Focus, Lesson, Look, Observation, SeenFault, SeenFocus, Skill, StillMeasure
from lessons.models.reasoned_history import current_reason

Degrees = dict[Fault | Focus, str]


@dataclass(frozen=True)
class ObservationValues:
    """What a coach logs of one skill at one look; a focus in own words is its own skill and its own fault."""

    good: bool
    degrees: Degrees
    measure: Decimal | None = None
    measure_words: str = ""
    words: str = ""
    reader: str = ""  # empty: unchanged
    read_from: StillMeasure | None = None

    @property
    def is_blank(self) -> bool:
        """Whether nothing was logged: the skill was not looked at, which is never the same as good."""
        return not (self.good or self.degrees or self.is_measured or self.words)

    @property
    def is_measured(self) -> bool:
        """Whether something was measured, in a number or in words."""
        return self.measure is not None or self.measure_words != ""

    @property
    def verdict(self) -> str:
        """The verdict that follows from what was ticked."""
        if self.degrees:
            return Observation.Verdict.NOT_GOOD
        return Observation.Verdict.GOOD if self.good else Observation.Verdict.NOT_GRADED


@dataclass
class ObservationChanges:
    """The rows to create, to change and to delete for what was logged of one lesson.

    `looks` are those that the lesson has, by kind. Collecting asks the database nothing, so that others who save wait
    for the writing alone.
    """

    lesson: Lesson
    looks: dict[str, Look]
    created: list[models.Model] = field(default_factory=list)
    updated: list[models.Model] = field(default_factory=list)
    deleted: list[models.Model] = field(default_factory=list)

    def __bool__(self) -> bool:
        return bool(self.created or self.updated or self.deleted)

    def add(self, kind: str, means: str, skill: Skill, *, seen: ObservationValues, before: Observation | None) -> None:
        """Collect what changes about one skill at one look; `before` with its seen faults, if it is stored."""
        if seen.good and seen.degrees:
            raise ValidationError("A skill cannot be good and show a fault: clear one of the two.")
        if seen.is_blank:
            self.deleted += [before] if before else []
            return
        observation = before or Observation(look=self.look_of(kind, means), skill=skill)
        reader = seen.reader or observation.reader
        measured: dict[str, Any] = {"measure": seen.measure, "measure_words": seen.measure_words}
        measured["read_from_id"] = read_from(seen, before)
        self.keep(observation, {"verdict": seen.verdict, **measured, "words": seen.words, "reader": reader})
        self.add_degrees(observation, seen.degrees)

    def add_focus(
        self, kind: str, means: str, focus: Focus, *, seen: ObservationValues, before: SeenFocus | None
    ) -> None:
        """Collect what changes about a focus in a coach's own words at one look; `before` is what is stored of it."""
        if seen.good and seen.degrees:
            raise ValidationError("It cannot be good and not good at once: clear one of the two.")
        if seen.is_blank:
            self.deleted += [before] if before else []
            return
        row = before or SeenFocus(look=self.look_of(kind, means), focus=focus)
        self.keep(row, {"degree": SeenFocus.Degree.GOOD if seen.good else seen.degrees[focus]})

    def look_of(self, kind: str, means: str) -> Look:
        """The lesson's look of this kind, to be created if there is none."""
        if kind not in self.looks:
            self.looks[kind] = Look(lesson=self.lesson, kind=kind, means=means)
            self.created.append(self.looks[kind])
        return self.looks[kind]

    def add_degrees(self, observation: Observation, degrees: Degrees) -> None:
        """Make these the faults of an observation, and no others."""
        stored = {row.fault_id: row for row in observation.seen_faults.all()} if observation.pk else {}
        for fault, degree in degrees.items():
            row = stored.pop(fault.pk, None) or SeenFault(observation=observation, fault_id=fault.pk)
            self.keep(row, {"degree": degree})
        self.deleted += stored.values()

    def keep(self, row: models.Model, values: dict[str, Any]) -> None:
        """Collect a row if it is new, or if a value changes."""
        is_same = all(getattr(row, name) == value for name, value in values.items())
        for name, value in values.items():
            setattr(row, name, value)
        if row.pk is None:
            self.created.append(row)
        elif not is_same:
            self.updated.append(row)

    def write(self) -> None:
        """Write all of it, each kind of row at once; a look on which nothing is left is deleted."""
        reason = current_reason()
        for model, rows in by_model(self.created):
            bulk_create_with_history(rows, model, default_change_reason=reason)
        for model, rows in by_model(self.updated):
            bulk_update_with_history(rows, model, FIELDS[model], default_change_reason=reason)
        for row in self.deleted:
            row.delete()
        if self.deleted:
            Look.objects.filter(lesson=self.lesson, observations=None, seen_focuses=None).delete()


def read_from(seen: ObservationValues, before: Observation | None) -> int | None:
    """The measure of a still from which a number was read: the one given, or that of before while the number stays."""
    if seen.read_from:
        return seen.read_from.pk
    return before.read_from_id if before and before.measure == seen.measure else None


# A look comes before what it showed, and an observation before the faults that were seen.
FIELDS: dict[type[models.Model], list[str]] = {
    Look: [],
    Observation: ["verdict", "measure", "measure_words", "read_from", "words", "reader"],
    SeenFault: ["degree"],
    SeenFocus: ["degree"],
}


def by_model(rows: Iterable[models.Model]) -> list[tuple[type[models.Model], list[models.Model]]]:
    """The rows of each model, in the order in which they can be written."""
    found = [(model, [row for row in rows if isinstance(row, model)]) for model in FIELDS]
    return [(model, chosen) for model, chosen in found if chosen]
