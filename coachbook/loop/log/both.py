"""What differs between a log as it is stored and as it was typed on another page, side by side."""

from collections.abc import Iterator
from dataclasses import dataclass

from coachbook.loop.log.fill import show_stored
from coachbook.loop.log.forms import FocusForm
from coachbook.loop.log.lesson_form import LessonForm
from coachbook.loop.log.rows import LookRow
from lessons.models import SeenFault

COMPARED = ("decision", "feel", "drill", "reason", "decide_on")  # of a focus


@dataclass(frozen=True)
class Difference:
    """One thing that two saves say otherwise; "" where one says nothing of it."""

    what: str
    stored: str
    typed: str


def differences(stored: LessonForm, typed: LessonForm) -> list[Difference]:
    """All that differs between what is stored, which is filled in here, and what was typed."""
    show_stored(stored)
    pairs = [*of_fields(stored, typed), *of_looks(stored, typed), *of_focuses(stored, typed)]
    return [Difference(*pair) for pair in pairs if pair[1] != pair[2]]


def of_fields(stored: LessonForm, typed: LessonForm) -> Iterator[tuple[str, str, str]]:
    """The lesson's own fields."""
    for field in typed.basics:
        if field.name in stored.basics.fields:
            yield str(field.label), in_words(stored.basics[field.name].value()), in_words(field.value())


def in_words(value: object) -> str:
    """The value of a field as it is read."""
    if isinstance(value, bool):
        return "yes" if value else ""
    return "" if value is None else str(value).strip()


def of_looks(stored: LessonForm, typed: LessonForm) -> Iterator[tuple[str, str, str]]:
    """What each look showed."""
    before = {row.anchor: row for row in stored.rows}
    for row in typed.rows:
        if row.anchor in before:
            yield f"{row.skill}, {row.moment}", look_words(before[row.anchor]), look_words(row)


def look_words(row: LookRow) -> str:
    """What is said in a row: good or the faults, the measure, the words."""
    degrees = [f"{fault}: {SeenFault.Degree(degree).label.lower()}" for fault, degree in row.seen.degrees.items()]
    return ", ".join(filter(None, ["good" if row.seen.good else "", *degrees, row.measure.text, row.seen.words]))


def of_focuses(stored: LessonForm, typed: LessonForm) -> Iterator[tuple[str, str, str]]:
    """What is decided of each focus; one that only one of the two has stands there with its name."""
    before = {form.key: form for form in stored.focuses if form.focus}
    after = {form.key: form for form in typed.focuses if form.focus or not form.is_blank}
    for key, form in (before | after).items():
        yield str(form.title), focus_words(before.get(key)), focus_words(after.get(key))


def focus_words(form: FocusForm | None) -> str:
    """The values of a focus, with its name in front so that an empty one is told from none."""
    values = [in_words(form[name].value()) for name in COMPARED if name in form.fields] if form else []
    return ", ".join(filter(None, [str(form.title), *values])) if form else ""
