"""Keeping what was measured in a still, and entering it as the measure of a skill; each act whole or not at all."""

import uuid
from datetime import datetime
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F

from lessons.derived import recompute_for_lesson
from lessons.edits import edit_of
from lessons.log import find_completion_problems
from lessons.models import Lesson, Look, Observation, Session, Still, StillMeasure
from lessons.observations import ObservationChanges, ObservationValues

# The first look of a session that is no lesson has a name of its own.
FIRST_LOOKS = {Session.Kind.COURSE: Look.Kind.COURSE, Session.Kind.CLIP: Look.Kind.CLIP}
TAKEN = "Another number stands there now. Type over it in the log, or leave it."


@transaction.atomic
def keep_measure(*, row: StillMeasure) -> str:
    """Keep what was measured, and enter it where a skill was chosen; returns what stood there before, if anything."""
    row.save()
    if not row.skill_id:
        return ""
    before = stored(row, look_kind(row.still))
    enter(row, row.for_skill, look_kind(row.still))
    return before.measured if before else ""


@transaction.atomic
def change_still(*, still: Still) -> None:
    """Save what a still shows; what was read from it is entered at the look that it is of now.

    Raises ValidationError where another number stands there.
    """
    still.save()
    for row in still.measures.standing():
        row.still = still
        for kind in row.observations.exclude(look__kind=look_kind(still)).values_list("look__kind", flat=True):
            enter(row, None, kind)
            enter_where_free(row)


@transaction.atomic
def void_measure(*, row: StillMeasure, at: datetime) -> None:
    """Take away what was measured; a number that was read from it goes, too."""
    row.voided_at = at
    row.save(update_fields=["voided_at"])
    for kind in row.observations.values_list("look__kind", flat=True):
        enter(row, None, kind)


@transaction.atomic
def restore_measure(*, row: StillMeasure) -> None:
    """Put back what was taken away, and enter it again. Raises ValidationError where another number stands by now."""
    row.voided_at = None
    row.save(update_fields=["voided_at"])
    if row.skill_id:
        enter_where_free(row)


def enter_where_free(row: StillMeasure) -> None:
    """Enter a value at the look of its still. Raises ValidationError where another number stands there."""
    kind = look_kind(row.still)
    before = stored(row, kind)
    if before and (before.measure is not None or before.measure_words):
        raise ValidationError(TAKEN)
    enter(row, row.for_skill, kind)


def enter(row: StillMeasure, number: Decimal | None, kind: str) -> None:
    """Make this the measure of the row's skill at a look of its lesson; with None there is none.

    Raises ValidationError where a finished lesson would have a departure without an arrival.
    """
    skill, lesson = row.skill, locked(row.still)
    assert skill is not None
    looks = {look.kind: look for look in lesson.looks.all()}
    changes, before = ObservationChanges(lesson, looks), stored(row, kind)
    seen = values_of(before, number, row)
    changes.add(kind, Look.Means.FILM, skill, seen=seen, before=before)
    with edit_of(lesson, uuid.uuid4()):
        changes.write()
    # A log that is open elsewhere then warns before it overwrites this.
    Lesson.objects.filter(pk=lesson.pk).update(version=F("version") + 1, page="")
    if lesson.status == Lesson.Status.COMPLETE:
        check_finished(lesson, skill.code)
        recompute_for_lesson(lesson)


def locked(still: Still) -> Lesson:
    """The lesson of a still, kept from others who save it now."""
    rows = Lesson.objects.select_for_update(of=("self",)).select_related("session__coach", "student")
    return rows.get(pk=still.lesson_id)


def look_kind(still: Still) -> str:
    """The look at which a still was taken."""
    if still.moment == Still.Moment.DEPARTURE:
        return Look.Kind.DEPARTURE
    return FIRST_LOOKS.get(Session.Kind(still.lesson.session.kind), Look.Kind.ARRIVAL)


def stored(row: StillMeasure, kind: str) -> Observation | None:
    """What a look of the lesson showed of the row's skill, if anything."""
    rows = Observation.objects.filter(look__lesson=row.still.lesson_id, look__kind=kind, skill=row.skill_id)
    return rows.select_related("look", "skill").prefetch_related("seen_faults__fault").first()


def values_of(before: Observation | None, number: Decimal | None, row: StillMeasure) -> ObservationValues:
    """What was logged of a skill, with its measure read from the still."""
    return ObservationValues(
        good=before is not None and before.verdict == Observation.Verdict.GOOD,
        degrees={seen.fault: seen.degree for seen in before.seen_faults.all()} if before else {},
        measure=number,
        words=before.words if before else "",
        read_from=row if number is not None else None,
    )


def check_finished(lesson: Lesson, code: str) -> None:
    """Raise ValidationError where what was measured leaves a departure without an arrival to compare it with."""
    for anchor, message in find_completion_problems(lesson):
        if anchor == f"d-{code}":
            raise ValidationError(message)
