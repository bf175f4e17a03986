"""Words that were overwritten: read again, and restored, by those who may read them."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction
from django.db.models import F

from coachbook.accounts.models import Student, User
from coachbook.corrections.recorder import set_history_user
from lessons.log import NoteVisibility
from lessons.measures import format_decimal
from lessons.models import Focus, Lesson, Look, Observation, Reader

CHANGED_SINCE = "This was changed since the page was opened. Read both again, then restore it if you still want to."
NOT_POSSIBLE = "This cannot be restored as it was. Copy the words into the log instead."


@dataclass(frozen=True)
class WordKind:
    """A model whose words are kept: which of its fields hold words, and which of them has a reader, in which field."""

    slug: str
    model: Any
    name: str
    fields: tuple[str, ...]
    private: str = ""
    reader: str = ""


WORD_KINDS = {
    "lesson": WordKind(
        "lesson", Lesson, "a lesson", ("keep", "next_time", "note"), private="note", reader="note_reader"
    ),
    "focus": WordKind("focus", Focus, "a focus", ("what", "feel", "reason")),
    "observation": WordKind(
        "observation",
        Observation,
        "what was seen",
        ("words", "measure", "measure_words"),
        private="words",
        reader="reader",
    ),
}
NARROW_FIRST = [Reader.COACH, Reader.ACADEMY, Reader.STUDENT]


@dataclass(frozen=True)
class EarlierWords:
    """One field of one change: what it said before and after, and what it says now."""

    field: str
    label: str
    before: str
    after: str
    now: str


@dataclass(frozen=True)
class WordChange:
    """One change of words, as far as one person may read it."""

    kind: WordKind
    past: Any  # the row of the history
    lesson: Lesson
    row: Any  # as it is stored now; None once it is deleted
    fields: list[EarlierWords]

    @property
    def base(self) -> str:
        """What is stored now, to notice whether somebody changed it while the page was open."""
        version = Lesson.objects.values_list("version", flat=True).get(pk=self.lesson.pk)
        latest = self.kind.model.history.filter(id=self.past.id).order_by("-history_id").first()
        return f"{version}-{latest.history_id}"


def most_private(readers: list[str]) -> str:
    """The reader who lets the fewest people read."""
    return min(readers, key=lambda reader: NARROW_FIRST.index(Reader(reader)))


def find_change(student: Student, kind_name: str, number: int, reader: User) -> WordChange | None:
    """A change in the record of a student by its number in the history, or None where this person reads no such one.

    A note is shown to those who may read both what it was and what it is now.
    """
    kind = WORD_KINDS.get(kind_name)
    past: Any = kind.model.history.filter(history_id=number).first() if kind and number < 2**63 else None
    lesson = lesson_of(past) if past else None
    if kind is None or lesson is None or lesson.student_id != student.pk:
        return None
    row = kind.model.objects.filter(pk=past.id).first()
    visibility, before = NoteVisibility.of(reader, lesson), past.prev_record
    fields = [
        words_of(kind, name, before, past, row)
        for name in kind.fields
        if name != kind.private or all(map(visibility.can_read, readers_of(kind, before, past, row)))
    ]
    changed = [words for words in fields if words.before != words.after and before]
    return WordChange(kind, past, lesson, row, changed) if changed else None


def lesson_of(past: Any) -> Lesson | None:
    """The lesson to which a row of the history belongs, also where the row is gone."""
    lessons = Lesson.objects.select_related("session__coach__user")
    if isinstance(past, Lesson.history.model):
        return lessons.filter(pk=past.id).first()
    if isinstance(past, Focus.history.model):
        focus = Focus.objects.filter(pk=past.id).first()
        return lessons.filter(pk=focus.opened_in_id).first() if focus else None
    look = Look.history.filter(id=past.look_id).order_by("-history_id").first()
    return lessons.filter(pk=look.lesson_id).first() if look else None


def readers_of(kind: WordKind, *rows: Any) -> list[str]:
    """For whom a note was meant before a change and after it, and for whom it is now."""
    return [getattr(row, kind.reader) for row in rows if row is not None]


def words_of(kind: WordKind, name: str, before: Any, past: Any, row: Any) -> EarlierWords:
    """One field before and after a change, and now."""
    label = str(kind.model._meta.get_field(name).verbose_name)
    deleted = past.history_type == "-"
    earlier = past if deleted else before
    return EarlierWords(
        field=name,
        label=label,
        before=text_in(earlier, name),
        after="" if deleted else text_in(past, name),
        now=text_in(row, name),
    )


def text_in(row: Any, name: str) -> str:
    """A field as text; a measure without trailing zeros, and empty where nothing was measured."""
    value = getattr(row, name, None)
    return format_decimal(value) if isinstance(value, Decimal) else value or ""


def values_for(name: str, text: str) -> dict[str, Any]:
    """The values that store a text in a field: a measure is a number or words, never both."""
    if name == "measure":
        return {"measure": Decimal(text.replace("−", "-")), "measure_words": ""} if text else {"measure": None}
    return {name: text} | ({"measure": None} if name == "measure_words" and text else {})


@transaction.atomic
def restore_words(*, change: WordChange, field: str, base: str, by: User) -> None:
    """Store again what a field said before a change, for the fewest of its readers.

    Raises ValidationError where that is not possible, or where it was changed since `base`.
    """
    Lesson.objects.select_for_update().get(pk=change.lesson.pk)
    if base != change.base:
        raise ValidationError(CHANGED_SINCE)
    earlier = {words.field: words.before for words in change.fields}
    row = change.row or row_again(change)
    values = values_for(field, earlier[field])
    if field == change.kind.private:
        values[change.kind.reader] = most_private(
            readers_of(change.kind, change.past.prev_record, change.past, change.row)
        )
    for name, value in values.items():
        setattr(row, name, value)
    set_history_user(row, by)
    save_checked(row, list(values))
    # A log that is open elsewhere then warns before it overwrites this.
    Lesson.objects.filter(pk=change.lesson.pk).update(version=F("version") + 1, page="")


def row_again(change: WordChange) -> Observation:
    """An observation for words whose row is deleted, not graded; the one that was made since, if there is one."""
    past = change.past
    if found := Observation.objects.filter(look=past.look_id, skill=past.skill_id).first():
        if found.words:
            raise ValidationError(NOT_POSSIBLE)
        return found
    if not Look.objects.filter(pk=past.look_id).exists():
        look = Look.history.filter(id=past.look_id).order_by("-history_id")[0].instance
        save_checked(look, None)
    return Observation(look_id=past.look_id, skill_id=past.skill_id, verdict=Observation.Verdict.NOT_GRADED)


def save_checked(row: models.Model, fields: list[str] | None) -> None:
    """Save a row; raises ValidationError where the database would refuse it."""
    try:
        with transaction.atomic():
            row.save(update_fields=fields if row.pk and fields and not row._state.adding else None)
    except IntegrityError:
        raise ValidationError(NOT_POSSIBLE) from None
