"""What was measured of one student at every visit, read once for all skills."""

from collections.abc import Sequence

from django.utils import timezone

from coachbook.accounts.models import Student
from lessons.arrivals import MOMENTS, Visit
from lessons.models import Lesson, Look, Observation, Skill
from lessons.progress.readings import Reading


def readings_of(student: Student, visits: Sequence[Visit]) -> dict[Skill, list[Reading]]:
    """For every skill that was measured in its unit, one reading for each visit, oldest first; one query."""
    rows = Observation.objects.filter(look__lesson__student=student, look__kind__in=MOMENTS, measure__isnull=False)
    places = {visit.pk: place for place, visit in enumerate(visits)}
    found: dict[Skill, list[Reading]] = {}
    for row in rows.select_related("look", "skill").order_by("skill__area", "skill__position", "pk"):
        place = places.get(row.look.lesson_id)
        if place is not None and row.skill.measured:
            readings = found.setdefault(row.skill, [Reading(visit.day) for visit in visits])
            readings[place] = with_reading(readings[place], row)
    return found


def readings_in(lesson: Lesson) -> dict[Skill, Reading]:
    """What was measured in one lesson, skill by skill in the order of the catalogue; one query."""
    rows = Observation.objects.filter(look__lesson=lesson, look__kind__in=MOMENTS, measure__isnull=False)
    day = timezone.localdate(lesson.session.starts_at)
    found: dict[Skill, Reading] = {}
    for row in rows.select_related("look", "skill").order_by("skill__area", "skill__position", "pk"):
        if row.skill.measured:
            found[row.skill] = with_reading(found.get(row.skill, Reading(day)), row)
    return found


def with_reading(reading: Reading, row: Observation) -> Reading:
    """The reading of a visit with one observation added."""
    if row.look.kind == Look.Kind.ARRIVAL:
        return Reading(reading.day, row.measure, reading.departure)
    return Reading(reading.day, reading.arrival, row.measure)
