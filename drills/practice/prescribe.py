"""Give a drill with its dose, and end the prescriptions that a later lesson replaces."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Model

from coachbook.accounts.models import Academy, Coach
from drills.models import Drill, Prescription
from lessons.models import Fault, Focus, Lesson


@dataclass(frozen=True)
class Dose:
    """How much, how often, for how long; and what counts as done well, where that is not the drill's own target."""

    amount: int
    unit: str
    per_week: int
    days: int
    mark: str = ""

    @classmethod
    def usual_of(cls, drill: Drill) -> "Dose":
        """The dose that comes with a drill."""
        return cls(drill.dose_amount, drill.dose_unit, drill.dose_per_week, drill.dose_days)


@transaction.atomic
def prescribe(*, lesson: Lesson, focus: Focus, drill: Drill | None, dose: Dose | None, begins: date) -> None:
    """Give the focus this drill in this lesson, or none."""
    stored = Prescription.objects.filter(lesson=lesson, focus=focus).first()
    if stored and stored.entries.exists() and (drill != stored.drill or dose is None or dose.unit != stored.unit):
        raise ValidationError({"drill": "Practice was reported for this drill, so it stays until the next lesson."})
    if drill is None or dose is None:
        if stored:
            stored.delete()
        return
    row = stored or Prescription(lesson=lesson, focus=focus, student=lesson.student)
    values = prescription_values(focus, drill, dose, begins)
    if stored is None or not has_values(stored, values):
        for name, value in values.items():
            setattr(row, name, value)
        row.save()


def prescription_values(focus: Focus, drill: Drill, dose: Dose, begins: date) -> dict[str, Any]:
    """The columns of a prescription beside its lesson, focus and student."""
    return {
        "drill": drill,
        "feel": focus.feel,
        "amount": dose.amount,
        "unit": dose.unit,
        "per_week": dose.per_week,
        "days": dose.days,
        "mark": dose.mark,
        "begins": begins,
        "review_on": begins + timedelta(days=dose.days),
    }


def has_values(row: Model, values: dict[str, Any]) -> bool:
    """Whether a row holds all these values."""
    return all(getattr(row, name) == value for name, value in values.items())


def replace_prescriptions(*, lesson: Lesson, academy: Academy) -> None:
    """End the prescriptions of earlier lessons; if a later lesson was kept, end those of this lesson instead."""
    finished, begins = lesson.student.lessons.complete(), lesson.session.starts_at
    kept = finished.filter(session__starts_at__gt=begins, attendance=Lesson.Attendance.KEPT)
    later = kept.order_by("session__starts_at").select_related("session").first()
    if later:
        ending, ends = lesson.prescriptions.filter(ended_on=None), academy.today(later.session.starts_at)
    else:
        in_force = lesson.student.prescriptions.filter(ended_on=None, lesson__in=finished)
        ending, ends = in_force.exclude(lesson=lesson), academy.today(begins)
    for row in ending:
        row.ended_on = max(ends, row.begins)
        row.save(update_fields=["ended_on"])


def usual_prescription(coach: Coach, fault: Fault, fitting: Sequence[Drill]) -> tuple[Drill, Dose] | None:
    """What this coach last gave for the fault, or else the first drill that fits it, with its own dose."""
    given = Prescription.objects.filter(lesson__session__coach=coach, focus__fault=fault).select_related("drill").last()
    if given:
        return given.drill, Dose(given.amount, given.unit, given.per_week, given.days)
    return (fitting[0], Dose.usual_of(fitting[0])) if fitting else None
