"""Edits of finished lessons: listed with who made them and when, and undone as a whole or not at all."""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction
from django.db.models import F, QuerySet

from coachbook.accounts.models import Academy, User
from coachbook.corrections.changes import UNKNOWN
from coachbook.corrections.recorder import set_history_user
from drills.models import Prescription
from lessons.derived import recompute_for_lesson
from lessons.edits import EditReason
from lessons.log import NoteVisibility
from lessons.models import Focus, Lesson, Look, Observation, SeenFault, SeenFocus, Session
from lessons.models.reasoned_history import changes_for

CHANGED_SINCE = "Something of this was changed again since. Undo the later change first, or edit the lesson."
MOVED = "Since then the lesson was moved from another student, so this cannot be undone. Edit the lesson instead."
NOTHING = "There is nothing to undo: it left the lesson as it was before."
IN_USE = "Since then something was added that depends on this, so it cannot be undone. Edit the lesson instead."
# What an edit may change, in the order in which rows are created again; they are deleted in the reverse order.
MODELS: list[Any] = [Session, Lesson, Look, Observation, SeenFault, Focus, SeenFocus, Prescription]
# Rows that would be deleted along with one of these, and were not made by the same edit.
CHILDREN = {Look: ("observations", "seen_focuses"), Observation: ("seen_faults",), Focus: ("seen",)}
NOTES = {Lesson: ("note", "note_reader"), Observation: ("words", "reader")}
LATER = {Prescription: {"ended_on"}}  # what later lessons set, whatever the edit did


@dataclass(frozen=True)
class LessonEdit:
    """What one page changed in a finished lesson, or an undoing of it; `at` is when it was last saved."""

    key: uuid.UUID
    at: datetime
    by: str
    undoes: uuid.UUID | None
    is_undone: bool


@dataclass(frozen=True)
class RowChange:
    """One row before an edit and after it; None where there was no such row."""

    model: Any
    pk: int
    before: Any
    after: Any
    changed: list[str] = field(init=False)

    def __post_init__(self) -> None:
        both = self.before is not None and self.after is not None
        names = [name for name in columns(self.model) if both and differs(self.before, self.after, name)]
        object.__setattr__(self, "changed", names)

    @property
    def is_empty(self) -> bool:
        """Whether the row is after the edit as it was before it."""
        return (self.before is None) == (self.after is None) and not self.changed


def columns(model: Any) -> list[str]:
    """The columns of a model whose history is kept."""
    return [column.attname for column in model.history.model.tracked_fields]


def differs(one: Any, other: Any, column: str) -> bool:
    """Whether a column of two rows, stored or of the history, does not hold the same."""
    return bool(getattr(one, column) != getattr(other, column))


# --- Which edits there are ------------------------------------------------------------------------


def history_of(lesson: Lesson) -> dict[Any, "QuerySet[Any, Any]"]:
    """For each model the history of the lesson's rows that edits wrote, also of rows that are gone."""
    looks = Look.history.filter(lesson_id=lesson.pk)
    observations = Observation.history.filter(look_id__in=looks.values("id"))
    rows = {
        Session: Session.history.filter(id=lesson.session_id),
        Lesson: Lesson.history.filter(id=lesson.pk),
        Look: looks,
        Observation: observations,
        SeenFault: SeenFault.history.filter(observation_id__in=observations.values("id")),
        Focus: Focus.history.filter(student_id=lesson.student_id),
        SeenFocus: SeenFocus.history.filter(look_id__in=looks.values("id")),
        Prescription: Prescription.history.filter(lesson_id=lesson.pk),
    }
    return {model: found.filter(history_change_reason__startswith=lesson.key.hex) for model, found in rows.items()}


def edits_of(lesson: Lesson) -> list[LessonEdit]:
    """The edits of a finished lesson, the newest first, in one query."""
    names = ("history_change_reason", "history_date", "history_user__name")
    parts = [found.order_by().values_list(*names) for found in history_of(lesson).values()]
    latest: dict[str, tuple[datetime, str]] = {}
    for reason, at, by in parts[0].union(*parts[1:], all=True):
        latest[reason] = max(latest.get(reason, (at, "")), (at, by or UNKNOWN))
    undone: set[uuid.UUID] = set()
    edits = []
    for words, (at, by) in sorted(latest.items(), key=lambda found: found[1], reverse=True):
        reason = EditReason.read(words)
        if reason.edit not in undone and reason.undoes:
            undone.add(reason.undoes)
        edits.append(LessonEdit(reason.edit, at, by, reason.undoes, reason.edit in undone))
    return edits


# --- Undoing one ----------------------------------------------------------------------------------


@transaction.atomic
def undo_edit(*, lesson: Lesson, edit: LessonEdit, by: User) -> None:
    """Store every row as it was before an edit. The sheets that were issued stay as they are.

    Raises ValidationError with the reason where that cannot be: something was changed again since, or a note would
    change that this person may not read.
    """
    lesson = Lesson.objects.select_for_update(of=("self",)).select_related("session__coach__user").get(pk=lesson.pk)
    check_student(lesson, edit)
    changes = changes_in(lesson, edit)
    if not changes:
        raise ValidationError(NOTHING)
    check_notes(changes, NoteVisibility.of(by, lesson))
    for change in changes:
        check_same(change)
    day = Academy.current().today(lesson.session.starts_at)
    try:
        with transaction.atomic(), changes_for(str(EditReason(lesson.key, uuid.uuid4(), edit.key))):
            set_back(changes, by)
    except (IntegrityError, models.ProtectedError):
        raise ValidationError(IN_USE) from None
    # A log that is open elsewhere then warns before it overwrites this.
    Lesson.objects.filter(pk=lesson.pk).update(version=F("version") + 1, page="")
    recompute_for_lesson(Lesson.objects.select_related("session__coach", "student").get(pk=lesson.pk), day)


def check_student(lesson: Lesson, edit: LessonEdit) -> None:
    """Refuse if the lesson belonged to another student when it was edited: their focuses are out of reach here."""
    then = Lesson.history.filter(id=lesson.pk, history_date__lte=edit.at).order_by("-history_id").first()
    if then and then.student_id != lesson.student_id:
        raise ValidationError(MOVED)


def changes_in(lesson: Lesson, edit: LessonEdit) -> list[RowChange]:
    """What the edit changed, row by row, from its first save to its last."""
    reason = str(EditReason(lesson.key, edit.key, edit.undoes))
    found = []
    for model, history in history_of(lesson).items():
        rows: dict[int, list[Any]] = {}
        for row in history.filter(history_change_reason=reason).order_by("history_id"):
            rows.setdefault(row.id, []).append(row)
        found += [RowChange(model, pk, state_before(saved[0]), state(saved[-1])) for pk, saved in rows.items()]
    return [change for change in found if not change.is_empty]


def state(row: Any) -> Any:
    """A row of the history, or None where it says that its object was deleted."""
    return None if row is None or row.history_type == "-" else row


def state_before(row: Any) -> Any:
    """What was stored before a row of the history was written, or None."""
    earlier = row.instance_type.history.filter(id=row.id, history_id__lt=row.history_id)
    # Rows written without their history begin with a change: what they were before that is not known.
    before = state(earlier.order_by("-history_id").first())
    if before is None and row.history_type == "~":
        raise ValidationError("What it was before is not known.")
    return before


def check_notes(changes: Iterable[RowChange], visibility: NoteVisibility) -> None:
    """Refuse if a note would change that this person may not read as it was, or as it is."""
    for change in changes:
        if change.model in NOTES and not all(map(visibility.can_read, readers_of(change))):
            who = visibility.coach
            raise ValidationError(f"This changes a private note of {who}. Ask {who} or a manager to undo it.")


def readers_of(change: RowChange) -> list[str]:
    """For whom a note is that would change: before the edit, after it, and now; nobody where it stays."""
    text, reader = NOTES[change.model]
    if change.changed and not {text, reader} & set(change.changed):
        return []
    rows = (change.before, change.after, change.model._base_manager.filter(pk=change.pk).first())
    return [getattr(row, reader) for row in rows if row is not None and getattr(row, text)]


def check_same(change: RowChange) -> None:
    """Refuse if the row is no longer as the edit left it."""
    row = change.model._base_manager.filter(pk=change.pk).first()
    if (row is None) != (change.after is None):
        raise ValidationError(CHANGED_SINCE)
    if row is None:
        return
    names = change.changed or set(columns(change.model)) - LATER.get(change.model, set())
    if any(differs(row, change.after, name) for name in names):
        raise ValidationError(CHANGED_SINCE)


def set_back(changes: list[RowChange], by: User) -> None:
    """Delete what was created, children first; create what was deleted, parents first; and set the rest back."""
    for change in sorted(changes, key=place_of, reverse=True):
        if change.before is None:
            delete(change, by)
    for change in sorted(changes, key=place_of):
        if change.after is None:
            row = change.before.instance
            set_history_user(row, by)
            row.save(force_insert=True)
    for change in changes:
        if change.changed:
            set_columns(change, by)


def place_of(change: RowChange) -> int:
    """Where the model stands in the order of creating rows."""
    return MODELS.index(change.model)


def delete(change: RowChange, by: User) -> None:
    """Delete a row, unless others hang on it."""
    row = change.model._base_manager.get(pk=change.pk)
    if any(getattr(row, children).exists() for children in CHILDREN.get(change.model, ())):
        raise ValidationError(IN_USE)
    set_history_user(row, by)
    row.delete()


def set_columns(change: RowChange, by: User) -> None:
    """Set the columns back that the edit changed."""
    row = change.model._base_manager.get(pk=change.pk)
    for name in change.changed:
        setattr(row, name, getattr(change.before, name))
    set_history_user(row, by)
    row.save(update_fields=[row._meta.get_field(name).name for name in change.changed])
