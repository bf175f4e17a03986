"""Give a drill with its dose, and end the prescriptions that a later lesson replaces."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, NamedTuple

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Model, QuerySet
from django.db.models.functions import Coalesce

from coachbook.accounts.models import Academy, Coach
from drills.library.fitting import OfferedDrill, fitting_drills
from drills.models import Drill, Prescription
from drills.practice.doses import dose_in_words
from lessons.models import Fault, Focus, Lesson, Session


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

    @property
    def words(self) -> str:
        """How much, how often and for how long, in words."""
        return dose_in_words(self.amount, self.unit, self.per_week, self.days)


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
    """End the prescriptions of earlier lessons; if a later lesson was kept, end those of this lesson instead.

    A group ends only those for focuses to which it gave a drill, or which it closed: all others go on as they are.
    """
    finished, begins = lesson.student.lessons.complete(), lesson.session.starts_at
    kept = finished.filter(session__starts_at__gt=begins, attendance=Lesson.Attendance.KEPT)
    later = list(kept.order_by("session__starts_at").select_related("session"))
    for row in lesson.prescriptions.filter(ended_on=None) if later else []:
        if ends_it := next((one for one in later if replaces(one, row.focus_id)), None):
            end_prescription(row, academy.today(ends_it.session.starts_at))
    if not any(one.session.kind != Session.Kind.GROUP for one in later):
        earlier = lesson.student.prescriptions.filter(ended_on=None, lesson__in=finished.exclude(pk=lesson.pk))
        for row in earlier.exclude(lesson__in=later):
            if replaces(lesson, row.focus_id):
                end_prescription(row, academy.today(begins))


def replaces(lesson: Lesson, focus: int) -> bool:
    """Whether a lesson ends what was prescribed for a focus before it."""
    if lesson.session.kind != Session.Kind.GROUP:
        return True
    return lesson.prescriptions.filter(focus=focus).exists() or lesson.focuses_closed.filter(pk=focus).exists()


def end_prescription(row: Prescription, on: date) -> None:
    """End a prescription on a day, though never before it begins."""
    row.ended_on = max(on, row.begins)
    row.save(update_fields=["ended_on"])


class UsualPrescription(NamedTuple):
    """What a coach usually gives for a fault, and why: chosen by them, given last, or the library's first."""

    drill: Drill
    dose: Dose
    why: str


def usual_prescription(
    fault: Fault, offered: Sequence[OfferedDrill], given: Mapping[int, Prescription], taken: Collection[str] = ()
) -> UsualPrescription | None:
    """What a coach chose as usual for the fault, or else last gave for it, or else the first drill that fits it.

    What they last gave counts unless it is no longer offered, or is wrong for the fault. Of the library, a drill comes
    first that is not `taken` (codes) by another focus, if any is left.
    """
    if chosen := next((row for row in offered if fault.pk in row.usual and row.mends(fault)), None):
        return UsualPrescription(chosen.drill, Dose(*chosen.usual[fault.pk]), "my usual")
    last = given.get(fault.pk)
    known = next((row for row in offered if last and row.drill.pk == last.drill_id), None)
    if last and known and not known.is_wrong_for(fault):
        return UsualPrescription(
            known.drill, Dose(last.amount, last.unit, last.per_week, last.days), "as I gave it last"
        )
    fitting = sorted(fitting_drills(fault, offered), key=lambda drill: drill.code in taken)
    return UsualPrescription(fitting[0], Dose.usual_of(fitting[0]), "") if fitting else None


def given_last(coach: Coach, fault: Fault | None = None) -> dict[int, Prescription]:
    """What a coach last gave for each fault, or for one, by the id of the fault; one query."""
    counted = Coalesce("focus__fault__merged_into", "focus__fault")
    rows: QuerySet[Any] = Prescription.objects.filter(lesson__session__coach=coach).annotate(counted=counted)
    found = rows.filter(counted=fault.pk) if fault else rows.exclude(counted=None)
    return {row.counted: row for row in found.order_by("begins", "pk")}
