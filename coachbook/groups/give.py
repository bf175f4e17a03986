"""Giving one student of a group what all are given to work on, and taking it back."""

import uuid
from datetime import date

from coachbook.groups.models import ForAll
from drills.models import Drill, Prescription
from drills.practice.prescribe import Dose, prescribe
from lessons.log import free_slot, put_down, take_on
from lessons.models import Focus, Lesson
from lessons.models.record import FocusQuerySet

REASON = "given to the whole group"


def focus_key(lesson: Lesson) -> uuid.UUID:
    """The key of the focus that a group gives to one of its students, the same at every save."""
    return uuid.uuid5(lesson.session.key, str(lesson.key))


def give(*, lesson: Lesson, before: ForAll, now: ForAll, begins: date) -> None:
    """Give a student what all work on: on the focus they have on it already, or else on one of the group's own."""
    mine = Focus.objects.filter(key=focus_key(lesson)).first()
    already = open_already(lesson, now)
    kept = already or (mine if now.has_focus else None)
    for old in (mine, open_already(lesson, before)):
        if old and old != kept:
            take_back(lesson, old, before, begins)
    focus = already or (given_focus(lesson, mine, before, now) if now.has_focus else None)
    if focus is None:
        return
    stored, last = given(lesson, focus), given_before(lesson, focus)
    if stored is None or before.gave(stored) or (now.drill and is_same(stored, last)):
        drill, dose = (now.drill, now.dose) if now.drill else as_given_before(last)
        prescribe(lesson=lesson, focus=focus, drill=drill, dose=dose, begins=begins)


def carry_over(*, lesson: Lesson, begins: date) -> None:
    """Give again what was last given for each open focus, as a log of one student does: else it would end here."""
    for focus in begun_before(lesson):
        last = given_before(lesson, focus)
        if last and given(lesson, focus) is None:
            drill, dose = as_given_before(last)
            prescribe(lesson=lesson, focus=focus, drill=drill, dose=dose, begins=begins)


def take_back_all(*, lesson: Lesson, before: ForAll, begins: date) -> None:
    """Take back from one who did not come what all were given."""
    for old in (Focus.objects.filter(key=focus_key(lesson)).first(), open_already(lesson, before)):
        if old:
            take_back(lesson, old, before, begins)


def open_already(lesson: Lesson, said: ForAll) -> Focus | None:
    """The student's open focus on the same thing that is not the group's own."""
    if not said.has_focus:
        return None
    about = {"fault": said.fault} if said.fault else {"fault": None, "what": said.what, "area": said.area}
    return begun_before(lesson).filter(kind=Focus.Kind.FIX, **about).exclude(key=focus_key(lesson)).first()


def begun_before(lesson: Lesson) -> FocusQuerySet:
    """The student's open focuses that did not begin after this lesson."""
    return lesson.student.focuses.open().filter(opened_in__session__starts_at__lte=lesson.session.starts_at)


def given_focus(lesson: Lesson, mine: Focus | None, before: ForAll, now: ForAll) -> Focus | None:
    """The group's focus for one student, as it is said now; one that their own log changed or closed stays."""
    feel = now.feel
    if mine:
        if mine.closed_in_id:
            return None
        if now.is_about(mine):
            feel = now.feel if mine.feel == before.feel else mine.feel
        elif not is_as_given(mine, before):
            return None
    slot = mine.slot if mine else free_slot(lesson.student)
    values = {"fault": now.fault, "what": now.what, "area": now.area, "feel": feel}
    return take_on(lesson=lesson, key=focus_key(lesson), values=values | ({"reason": REASON} if slot == 3 else {}))


def is_as_given(focus: Focus, before: ForAll) -> bool:
    """Whether a focus is still what the group made of it."""
    return before.is_about(focus) and focus.feel == before.feel


def given(lesson: Lesson, focus: Focus) -> Prescription | None:
    """What the lesson gave for a focus."""
    return Prescription.objects.filter(lesson=lesson, focus=focus).first()


def given_before(lesson: Lesson, focus: Focus) -> Prescription | None:
    """What earlier lessons last gave for a focus."""
    earlier = {"status": Lesson.Status.COMPLETE, "session__starts_at__lt": lesson.session.starts_at}
    found = focus.prescriptions.filter(**{f"lesson__{name}": value for name, value in earlier.items()})
    return found.exclude(lesson=lesson).select_related("drill").order_by("begins", "pk").last()


def as_given_before(last: Prescription | None) -> tuple[Drill | None, Dose | None]:
    """The drill and dose of an earlier lesson, or none."""
    return (last.drill, dose_of(last)) if last else (None, None)


def dose_of(row: Prescription) -> Dose:
    """The dose that a prescription gives."""
    return Dose(row.amount, row.unit, row.per_week, row.days, row.mark)


def is_same(stored: Prescription, last: Prescription | None) -> bool:
    """Whether a prescription is nothing but what was given before."""
    return last is not None and (stored.drill, dose_of(stored)) == (last.drill, dose_of(last))


def take_back(lesson: Lesson, focus: Focus, before: ForAll, begins: date) -> None:
    """Take back the drill that all were given, and the focus where it is the group's own and still as given.

    What was given for it before comes back.
    """
    stored = given(lesson, focus)
    if stored and not before.gave(stored):
        return
    drill, dose = as_given_before(given_before(lesson, focus))
    prescribe(lesson=lesson, focus=focus, drill=drill, dose=dose, begins=begins)
    if focus.key != focus_key(lesson) or focus.closed_in_id or not is_as_given(focus, before):
        return
    if lesson.status == Lesson.Status.DRAFT and not focus.prescriptions.exists():
        focus.delete()  # nobody has read of it, and its history stays
    else:
        put_down(focus=focus, lesson=lesson)
