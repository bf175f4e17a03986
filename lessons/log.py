"""Saving what a coach logs of a lesson: each function is one action, saved as a whole or not at all."""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Prefetch, Q

from coachbook.accounts.models import Student, User
from lessons.models import Focus, Lesson, Look, Reader, SeenFocus, Session, Skill


@dataclass(frozen=True)
class NoteVisibility:
    """Which notes of a lesson one user may read: what its coach wrote for themselves, no other coach reads."""

    taught: bool
    manages: bool
    coach: str

    @classmethod
    def of(cls, user: User, lesson: Lesson) -> "NoteVisibility":
        """What a coach or manager may read of one lesson."""
        coach = lesson.session.coach.user
        return cls(taught=coach == user, manages=user.is_manager, coach=coach.name)

    def can_read(self, reader: str) -> bool:
        """Whether they may read a note that is meant for this reader."""
        return reader != Reader.COACH or self.taught or self.manages

    @cached_property
    def choices(self) -> list[tuple[str, str]]:
        """The readers they may choose: only the coach who taught the lesson keeps a note from other coaches."""
        if self.taught:
            return list(Reader.choices)
        own = {Reader.COACH: f"{self.coach} and the managers"}
        return [(word, own.get(Reader(word), label)) for word, label in Reader.choices if self.can_read(word)]

    @cached_property
    def default_reader(self) -> str:
        """The reader where none was chosen: as few people as possible."""
        return self.choices[0][0]

    @property
    def refusal(self) -> str:
        """The error for a coach who writes a note where one is stored that they may not read."""
        return f"{self.coach} has a private note here, so yours was not saved. Write it in a lesson of your own."


@transaction.atomic
def open_focus(*, lesson: Lesson, key: uuid.UUID, values: dict[str, Any]) -> Focus:
    """Open a focus, or change one that was opened in this lesson.

    It gets the first free of three slots; the third needs a reason and there is no fourth. A reason that another one of
    this lesson gives is as good: that one becomes the third.
    """
    focus = Focus.objects.filter(key=key).first()
    if focus and focus.student_id != lesson.student_id:
        raise ValidationError({"fault": "This focus belongs to another student. Open the lesson again."})
    if focus and (focus.opened_in_id != lesson.pk or focus.closed_in_id not in (None, lesson.pk)):
        return check_unchanged(focus, values)
    if focus is None:
        focus = Focus(key=key, student=lesson.student, opened_in=lesson, slot=free_slot(lesson.student))
    if focus.slot == 3 and not values.get("reason"):
        focus.slot = slot_of_one_with_a_reason(focus)
    for name, value in values.items():
        setattr(focus, name, value)
    focus.save()
    return focus


def check_unchanged(focus: Focus, values: dict[str, Any]) -> Focus:
    """Return a focus that another lesson opened or closed. Raises ValidationError where a value would change."""
    if any(getattr(focus, name) != value for name, value in values.items()):
        raise ValidationError("Another lesson opened or closed this focus, so it cannot be changed here.")
    return focus


def free_slot(student: Student) -> int:
    """The first slot that no open focus of the student has."""
    taken = set(student.focuses.filter(closed_in=None).values_list("slot", flat=True))
    for slot in (1, 2, 3):
        if slot not in taken:
            return slot
    raise ValidationError({"fault": "Three focuses are open already. Close one first."})


def slot_of_one_with_a_reason(third: Focus) -> int:
    """The slot that another new focus of the lesson gives up, as it has the reason to be the third one."""
    others = third.opened_in.focuses_opened.filter(closed_in=None).exclude(reason="")
    other = others.first() if third.pk is None else None
    if other is None:
        raise ValidationError({"reason": "A third focus needs a reason."})
    given_up, other.slot = other.slot, third.slot
    other.save()
    return given_up


def close_focus(*, focus: Focus, lesson: Lesson, decision: str = "") -> None:
    """Close a focus in a lesson; closing a trial decides it."""
    focus.closed_in = lesson
    focus.decision = decision if focus.kind == Focus.Kind.TRIAL else ""
    focus.save()


@transaction.atomic
def reopen_focus(*, focus: Focus) -> None:
    """Open a focus again that this lesson had closed, in the first free slot."""
    try:
        focus.slot = free_slot(focus.student)
    except ValidationError as refusal:
        raise ValidationError({"decision": refusal.messages}) from None
    if focus.slot == 3 and not focus.reason:
        raise ValidationError({"decision": "Two others are open now. Close one of them first."})
    focus.closed_in, focus.decision = None, ""
    focus.save()


def find_completion_problems(lesson: Lesson) -> list[tuple[str, str]]:
    """What is missing before a lesson can be finished, as (name of the field, message)."""
    rows = lesson.looks.prefetch_related("observations__skill", own_words_seen(lesson))
    looks = {look.kind: looked_at(look) for look in rows}
    arrival, departure = (looks.get(kind, []) for kind in ("arrival", "departure"))
    seen = any(looks.values())
    unseen = [skill for skill in departure if skill not in arrival]
    found = [
        (
            f"d-{skill.code}",
            f"{skill}: not looked at on arrival, so its departure has nothing to compare with.",
        )
        for skill in unseen
    ]
    focuses = Focus.objects.filter(Q(opened_in=lesson) | Q(closed_in=lesson)).exists()
    if not (seen or focuses or lesson.shared_focus_id or lesson.keep or lesson.next_time or lesson.note):
        found.append(("id_keep", "Nothing is logged yet."))
    if lesson.session.kind == Session.Kind.CLIP and lesson.session.filmed_on is None:
        found.append(("id_filmed_on", "Enter the day on which it was filmed."))
    return found


def own_words_seen(lesson: Lesson) -> "Prefetch[str]":
    """What looks showed of the focuses in own words of a lesson's student, to be read with the looks."""
    own = SeenFocus.objects.filter(focus__student=lesson.student_id, focus__fault=None).select_related("focus")
    return Prefetch("seen_focuses", own)


def looked_at(look: Look) -> list[Skill | Focus]:
    """The skills, and the focuses in own words, that a look saw."""
    return [row.skill for row in look.observations.all()] + [row.focus for row in look.seen_focuses.all()]


def complete(lesson: Lesson, at: datetime) -> None:
    """Finish a lesson: from now on it counts, and the student may read it."""
    lesson.status = Lesson.Status.COMPLETE
    lesson.completed_at = lesson.completed_at or at
    lesson.save(update_fields=["status", "completed_at"])


def is_around(lesson: Lesson, spoken_of: Iterable[uuid.UUID] = ()) -> Q:
    """Which focuses a log shows: open ones, those that this lesson opened or closed, and those of which it speaks
    although another lesson closed them since; none from later lessons.
    """
    shown = Q(closed_in=None) | Q(opened_in__key=lesson.key) | Q(closed_in__key=lesson.key) | Q(key__in=list(spoken_of))
    earlier = Q(opened_in__session__starts_at__lte=lesson.session.starts_at) | Q(opened_in__key=lesson.key)
    return shown & earlier
