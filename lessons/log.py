"""Writing a lesson down: each function is an act of the coach, whole or not at all."""

import uuid
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q

from coachbook.accounts.models import Student, User
from lessons.models import Fault, Focus, Lesson, Look, Observation, Reader, SeenFault, Session, Skill

Degrees = dict[Fault, str]


@dataclass(frozen=True)
class Seen:
    """What a coach says of one skill at one look."""

    sound: bool
    degrees: Degrees
    measure: str = ""
    words: str = ""
    reader: str = ""  # empty: as it was

    @property
    def is_blank(self) -> bool:
        """Whether the skill was not looked at, which is never the same as sound."""
        return not (self.sound or self.degrees or self.measure or self.words)

    @property
    def verdict(self) -> str:
        """What follows from what was ticked."""
        if self.degrees:
            return Observation.Verdict.NOT_SOUND
        return Observation.Verdict.SOUND if self.sound else Observation.Verdict.NOT_SAID


@dataclass(frozen=True)
class Eyes:
    """With whose eyes a lesson is read: what its coach wrote for themselves, no other coach finds there."""

    taught: bool
    manages: bool
    coach: str

    @classmethod
    def of(cls, user: User, lesson: Lesson) -> "Eyes":
        """Those of a coach or manager, on one lesson."""
        coach = lesson.session.coach.user
        return cls(taught=coach == user, manages=user.is_manager, coach=coach.name)

    def see(self, reader: str) -> bool:
        """Whether they read words that are for this reader."""
        return reader != Reader.COACH or self.taught or self.manages

    @property
    def choices(self) -> list[tuple[str, str]]:
        """The readers they may name: only who taught the lesson can say "only me"."""
        if self.taught:
            return list(Reader.choices)
        own = {Reader.COACH: f"only {self.coach}"}
        return [(word, own.get(Reader(word), label)) for word, label in Reader.choices if self.see(word)]

    @property
    def usual(self) -> str:
        """The reader where none was named: as few as may be."""
        return self.choices[0][0]

    @property
    def kept(self) -> str:
        """What is said to a coach who writes where words are kept from them."""
        return f"{self.coach} keeps words of their own here, so yours were not saved. Write them into your own lesson."


@transaction.atomic
def note_skill(*, look: Look, skill: Skill, seen: Seen, before: Observation | None) -> None:
    """Bring one observation to what is said now; a blank one is taken back."""
    if seen.sound and seen.degrees:
        raise ValidationError("Sound and a fault cannot both be: take one of them away.")
    if seen.is_blank:
        if before:
            before.delete()
        return
    observation = before or Observation(look=look, skill=skill)
    reader = seen.reader or observation.reader
    values = {"verdict": seen.verdict, "measure": seen.measure, "words": seen.words, "reader": reader}
    if before is None or any(getattr(observation, name) != value for name, value in values.items()):
        for name, value in values.items():
            setattr(observation, name, value)
        observation.save()
    note_degrees(observation, seen.degrees)


def note_degrees(observation: Observation, degrees: Degrees) -> None:
    """Bring the faults of an observation to these degrees."""
    stored = {row.fault_id: row for row in observation.seen_faults.all()}
    for fault, degree in degrees.items():
        row = stored.pop(fault.pk, None) or SeenFault(observation=observation, fault=fault)
        if row.pk is None or row.degree != degree:
            row.degree = degree
            row.save()
    for row in stored.values():
        row.delete()


@transaction.atomic
def take_on(*, lesson: Lesson, key: uuid.UUID, values: dict[str, Any]) -> Focus:
    """Take a focus on, or change one that was taken on in this lesson.

    The first free of three slots is used; the third asks for a reason and there is no fourth.
    """
    focus = Focus.objects.filter(key=key).first()
    if focus and focus.student_id != lesson.student_id:
        raise ValidationError({"fault": "This block belongs to another page. Open the lesson again."})
    if focus and (focus.opened_in_id != lesson.pk or focus.closed_in_id not in (None, lesson.pk)):
        return as_it_stands(focus, values)
    if focus is None:
        focus = Focus(key=key, student=lesson.student, opened_in=lesson, slot=free_slot(lesson.student))
    if focus.slot == 3 and not values.get("reason"):
        raise ValidationError({"reason": "A third focus needs a reason."})
    for name, value in values.items():
        setattr(focus, name, value)
    focus.save()
    return focus


def as_it_stands(focus: Focus, values: dict[str, Any]) -> Focus:
    """A focus that other lessons have decided about, if nothing in it is to change."""
    if any(getattr(focus, name) != value for name, value in values.items()):
        raise ValidationError("This focus was opened in another lesson or closed in a later lesson: it stays as it is.")
    return focus


def free_slot(student: Student) -> int:
    """The first slot that no open focus of the student holds."""
    taken = set(student.focuses.filter(closed_in=None).values_list("slot", flat=True))
    for slot in (1, 2, 3):
        if slot not in taken:
            return slot
    raise ValidationError({"fault": "Three focuses are open already. Finish one first."})


def put_down(*, focus: Focus, lesson: Lesson, decision: str = "") -> None:
    """Close a focus in a lesson; a trial is decided by that."""
    focus.closed_in = lesson
    focus.decision = decision if focus.kind == Focus.Kind.TRIAL else ""
    focus.save()


@transaction.atomic
def pick_up_again(*, focus: Focus) -> None:
    """Open a focus again that this lesson had closed, in a slot that is free."""
    try:
        focus.slot = free_slot(focus.student)
    except ValidationError as refusal:
        raise ValidationError({"still": refusal.messages}) from None
    if focus.slot == 3 and not focus.reason:
        raise ValidationError({"still": "Two others are open now. Finish one of them first."})
    focus.closed_in, focus.decision = None, ""
    focus.save()


def problems_at_done(lesson: Lesson) -> list[tuple[str, str]]:
    """What still stands against calling a lesson done, as (name of the field, message)."""
    looks = {look.kind: look for look in lesson.looks.prefetch_related("observations__skill")}
    arrival, departure = (
        {o.skill: o for o in looks[kind].observations.all()} if kind in looks else {}
        for kind in ("arrival", "departure")
    )
    seen = any(look.observations.all() for look in looks.values())
    unseen = [skill for skill in departure if skill not in arrival]
    found = [
        (f"d-{skill.code}", f"{skill}: nobody looked at it on arrival, so a departure says nothing.")
        for skill in unseen
    ]
    focuses = Focus.objects.filter(Q(opened_in=lesson) | Q(closed_in=lesson)).exists()
    if not (seen or focuses or lesson.keep or lesson.next_time or lesson.note):
        found.append(("id_keep", "Nothing is written down yet."))
    if lesson.session.kind == Session.Kind.CLIP and lesson.session.filmed_on is None:
        found.append(("id_filmed_on", "Say on which day it was filmed."))
    return found


def complete(lesson: Lesson, at: datetime) -> None:
    """Call a lesson done: from now on it counts, and the student may read of it."""
    lesson.status = Lesson.Status.COMPLETE
    lesson.completed_at = lesson.completed_at or at
    lesson.save(update_fields=["status", "completed_at"])


def focuses_around(lesson: Lesson) -> list[Focus]:
    """The focuses that a log shows: open ones, and those that this lesson opened or closed; none of later lessons."""
    shown = Q(closed_in=None) | Q(opened_in__key=lesson.key) | Q(closed_in__key=lesson.key)
    earlier = Q(opened_in__session__starts_at__lte=lesson.session.starts_at) | Q(opened_in__key=lesson.key)
    found = lesson.student.focuses.filter(shown, earlier).select_related("fault__skill", "opened_in__session")
    return list(found.order_by("opened_in__session__starts_at", "slot"))
