"""Give one student of a group the focus and drill for everyone, and withdraw them again."""

import uuid
from datetime import date

from coachbook.groups.models import GroupDefaults
from drills.models import Drill, Prescription
from drills.practice.prescribe import Dose, prescribe
from lessons.log import close_focus, free_slot, open_focus
from lessons.models import Focus, Lesson
from lessons.models.record import FocusQuerySet

REASON = "given to the whole group"


def focus_key(lesson: Lesson) -> uuid.UUID:
    """The key of the group's focus for one student, the same at every save."""
    return uuid.uuid5(lesson.session.key, str(lesson.key))


def apply_shared_focus(*, lesson: Lesson, before: GroupDefaults, now: GroupDefaults, begins: date) -> None:
    """Give a student the focus for everyone: the open focus they have on it already, or else one of the group's own."""
    own = Focus.objects.filter(key=focus_key(lesson)).first()
    already = existing_focus(lesson, now)
    kept = already or (own if now.has_focus else None)
    for old in (own, existing_focus(lesson, before)):
        if old and old != kept:
            withdraw_from(lesson, old, before, begins)
    focus = already or (open_group_focus(lesson, own, before, now) if now.has_focus else None)
    if focus is None:
        return
    stored, last = given_in(lesson, focus), given_before(lesson, focus)
    if stored is None or before.gave(stored) or (now.drill and is_same(stored, last)):
        drill, dose = (now.drill, now.dose) if now.drill else drill_and_dose_of(last)
        prescribe(lesson=lesson, focus=focus, drill=drill, dose=dose, begins=begins)


def carry_over(*, lesson: Lesson, begins: date) -> None:
    """Prescribe again what was last prescribed for each open focus, as a student's own log does; else it would end."""
    for focus in focuses_open_at(lesson):
        last = given_before(lesson, focus)
        if last and given_in(lesson, focus) is None:
            drill, dose = drill_and_dose_of(last)
            prescribe(lesson=lesson, focus=focus, drill=drill, dose=dose, begins=begins)


def withdraw_shared_focus(*, lesson: Lesson, before: GroupDefaults, begins: date) -> None:
    """Withdraw the focus for everyone from a student who did not come."""
    for old in (Focus.objects.filter(key=focus_key(lesson)).first(), existing_focus(lesson, before)):
        if old:
            withdraw_from(lesson, old, before, begins)


def existing_focus(lesson: Lesson, defaults: GroupDefaults) -> Focus | None:
    """The student's open focus on the same thing, other than the group's own."""
    if not defaults.has_focus:
        return None
    about = (
        {"fault": defaults.fault} if defaults.fault else {"fault": None, "what": defaults.what, "area": defaults.area}
    )
    return focuses_open_at(lesson).filter(kind=Focus.Kind.FIX, **about).exclude(key=focus_key(lesson)).first()


def focuses_open_at(lesson: Lesson) -> FocusQuerySet:
    """The student's open focuses that were opened no later than this lesson."""
    return lesson.student.focuses.open().filter(opened_in__session__starts_at__lte=lesson.session.starts_at)


def open_group_focus(lesson: Lesson, own: Focus | None, before: GroupDefaults, now: GroupDefaults) -> Focus | None:
    """Open or update the group's focus for one student; one that their own log changed or closed stays as it is."""
    feel = now.feel
    if own:
        if own.closed_in_id:
            return None
        if now.is_about(own):
            feel = now.feel if own.feel == before.feel else own.feel
        elif not is_as_given(own, before):
            return None
    slot = own.slot if own else free_slot(lesson.student)
    values = {"fault": now.fault, "what": now.what, "area": now.area, "feel": feel}
    return open_focus(lesson=lesson, key=focus_key(lesson), values=values | ({"reason": REASON} if slot == 3 else {}))


def is_as_given(focus: Focus, before: GroupDefaults) -> bool:
    """Whether a focus is still as the group gave it."""
    return before.is_about(focus) and focus.feel == before.feel


def given_in(lesson: Lesson, focus: Focus) -> Prescription | None:
    """The lesson's prescription for a focus, if any."""
    return Prescription.objects.filter(lesson=lesson, focus=focus).first()


def given_before(lesson: Lesson, focus: Focus) -> Prescription | None:
    """The last prescription of an earlier lesson for a focus, if any."""
    earlier = {"status": Lesson.Status.COMPLETE, "session__starts_at__lt": lesson.session.starts_at}
    found = focus.prescriptions.filter(**{f"lesson__{name}": value for name, value in earlier.items()})
    return found.exclude(lesson=lesson).select_related("drill").order_by("begins", "pk").last()


def drill_and_dose_of(last: Prescription | None) -> tuple[Drill | None, Dose | None]:
    """The drill and dose of a prescription, or none."""
    return (last.drill, dose_of(last)) if last else (None, None)


def dose_of(row: Prescription) -> Dose:
    """The dose of a prescription."""
    return Dose(row.amount, row.unit, row.per_week, row.days, row.mark)


def is_same(stored: Prescription, last: Prescription | None) -> bool:
    """Whether a prescription equals the one before."""
    return last is not None and (stored.drill, dose_of(stored)) == (last.drill, dose_of(last))


def withdraw_from(lesson: Lesson, focus: Focus, before: GroupDefaults, begins: date) -> None:
    """Withdraw the drill for everyone, and the focus if it is the group's own and still as given.

    The drill that was prescribed before comes back.
    """
    stored = given_in(lesson, focus)
    if stored and not before.gave(stored):
        return
    drill, dose = drill_and_dose_of(given_before(lesson, focus))
    prescribe(lesson=lesson, focus=focus, drill=drill, dose=dose, begins=begins)
    if focus.key != focus_key(lesson) or focus.closed_in_id or not is_as_given(focus, before):
        return
    if lesson.status == Lesson.Status.DRAFT and not focus.prescriptions.exists():
        focus.delete()  # no student has seen it, and its history stays
    else:
        close_focus(focus=focus, lesson=lesson)
