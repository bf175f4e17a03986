"""What was measured in one lesson, as its sheet says it; `Arrivals.readings` has it over time."""

from django.utils import timezone

from lessons.models import Lesson, Look, Observation, Skill
from lessons.progress.readings import Reading
from lessons.shown import MOMENTS


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
