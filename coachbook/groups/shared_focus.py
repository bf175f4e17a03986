"""Give one student of a group the focus and drill for everyone, and withdraw them again."""

import uuid
from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from coachbook.groups.models import GroupDefaults
from drills.models import Prescription
from drills.practice.prescribe import prescribe
from lessons.log import close_focus, free_slot, open_focus
from lessons.models import Focus, Lesson, Session
from lessons.models.record import FocusQuerySet

OwnDrills = dict[int, list[Prescription]]


@dataclass(frozen=True)
class Choices:
    """What a coach chose for one student: no focus, the drill beside their own, and the reason for a third focus."""

    skips_focus: bool = False
    adds_drill: bool = False
    reason: str = ""


def focus_key(lesson: Lesson) -> uuid.UUID:
    """The key of the group's focus for one student, the same at every save."""
    return uuid.uuid5(lesson.session.key, str(lesson.key))


def own_drills(session: Session, day: date) -> OwnDrills:
    """The drills of earlier lessons whose dose includes the day of the group, by student; in one query.

    Those that the group's own drill has replaced are among them.
    """
    here = Q(lesson__session=session)
    earlier = Q(lesson__status=Lesson.Status.COMPLETE, lesson__session__starts_at__lt=session.starts_at)
    running = Q(begins__lte=day, review_on__gt=day) & (Q(ended_on=None) | Q(ended_on__gte=day))
    found = Prescription.objects.filter(here | (earlier & running), student__lessons__session=session)
    rows = list(found.select_related("drill", "lesson").order_by("begins", "pk"))
    replaced = {row.focus_id for row in rows if row.lesson.session_id == session.pk}
    own: OwnDrills = defaultdict(list)
    for row in rows:
        if row.lesson.session_id != session.pk and (row.ended_on != day or row.focus_id in replaced):
            own[row.student_id].append(row)
    return own


def apply_shared_focus(
    *,
    lesson: Lesson,
    before: GroupDefaults,
    now: GroupDefaults,
    choices: Choices,
    own: Collection[Prescription],
    begins: date,
) -> None:
    """Give a student the focus for everyone: the open focus they have on it already, or else one of the group's own.

    They get its drill unless they have drills of their `own`; with those only if the coach says so.
    """
    already = existing_focus(lesson, now)
    mine = Focus.objects.filter(key=focus_key(lesson)).first()
    kept = already or (mine if now.has_focus else None)
    for old in (mine, existing_focus(lesson, before)):
        if old and old != kept:
            withdraw_from(lesson, old, before, begins)
    focus = already or (open_group_focus(lesson, mine, before, now, choices.reason) if now.has_focus else None)
    set_shared_focus(lesson, focus)
    stored = given_in(lesson, focus) if focus else None
    if focus is None or (stored and not before.gave(stored)):
        return
    if now.drill and (choices.adds_drill or not own):
        prescribe(lesson=lesson, focus=focus, drill=now.drill, dose=now.dose, begins=begins)
    else:
        withdraw_drill(lesson, focus, begins)


def withdraw_shared_focus(*, lesson: Lesson, before: GroupDefaults, begins: date) -> None:
    """Withdraw the focus for everyone from a student who did not come, or for whom it is skipped."""
    for old in (Focus.objects.filter(key=focus_key(lesson)).first(), existing_focus(lesson, before)):
        if old:
            withdraw_from(lesson, old, before, begins)
    set_shared_focus(lesson, None)


def set_shared_focus(lesson: Lesson, focus: Focus | None) -> None:
    """Note on the lesson which focus is the one for everyone."""
    if lesson.shared_focus_id != (focus.pk if focus else None):
        lesson.shared_focus = focus
        lesson.save(update_fields=["shared_focus"])


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


def open_group_focus(
    lesson: Lesson, own: Focus | None, before: GroupDefaults, now: GroupDefaults, reason: str
) -> Focus | None:
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
    return open_focus(lesson=lesson, key=focus_key(lesson), values=values | ({"reason": reason} if slot == 3 else {}))


def is_as_given(focus: Focus, before: GroupDefaults) -> bool:
    """Whether a focus is still as the group gave it."""
    return before.is_about(focus) and focus.feel == before.feel


def given_in(lesson: Lesson, focus: Focus) -> Prescription | None:
    """The lesson's prescription for a focus, if any."""
    return Prescription.objects.filter(lesson=lesson, focus=focus).first()


def withdraw_from(lesson: Lesson, focus: Focus, before: GroupDefaults, begins: date) -> None:
    """Withdraw the drill for everyone, and the focus if it is the group's own and still as given."""
    stored = given_in(lesson, focus)
    if stored and not before.gave(stored):
        return
    withdraw_drill(lesson, focus, begins)
    if focus.key != focus_key(lesson) or focus.closed_in_id or not is_as_given(focus, before):
        return
    if lesson.status == Lesson.Status.DRAFT and not focus.prescriptions.exists():
        focus.delete()  # no student has seen it, and its history stays
    else:
        close_focus(focus=focus, lesson=lesson)


def withdraw_drill(lesson: Lesson, focus: Focus, begins: date) -> None:
    """Withdraw what this lesson gave for a focus; a drill of an earlier lesson that it had replaced goes on."""
    if given_in(lesson, focus) is None:
        return
    prescribe(lesson=lesson, focus=focus, drill=None, dose=None, begins=begins)
    earlier = focus.prescriptions.filter(lesson__session__starts_at__lt=lesson.session.starts_at, ended_on=begins)
    for row in earlier if lesson.status == Lesson.Status.COMPLETE else []:
        row.ended_on = None
        row.save(update_fields=["ended_on"])
