"""Fill the form of a log: with what is stored, and over it with what was typed."""

import uuid
import zoneinfo
from typing import Any

from django.http import QueryDict

from coachbook.http import parse_key
from coachbook.loop.log.forms import BasicsForm, FocusForm
from coachbook.loop.log.lesson_form import TRIAL, LessonForm
from coachbook.loop.log.rows import (
    BLANK,
    LESSON_LOOKS,
    LookRow,
    SkillRow,
    hide_withheld_words,
    posted_row,
    stored_row,
)
from lessons.models import Focus, Observation, SeenFault, Skill


def show_stored(lesson_form: LessonForm) -> None:
    """Fill the form from the database."""
    zone = zoneinfo.ZoneInfo(lesson_form.academy.time_zone)
    day = lesson_form.lesson.session.starts_at.astimezone(zone).date()
    session = lesson_form.lesson.session
    initial = {"day": day, "place": session.place, "filmed_on": session.filmed_on}
    lesson_form.basics = basics_form(lesson_form, None, initial)
    lesson_form.skills = [skill_row(lesson_form, skill, None) for skill in lesson_form.catalogue.skills]
    lesson_form.own_words_rows = lesson_form.own_words.rows(lesson_form.stored_focuses, lesson_form.looks, None)
    lesson_form.focuses = [stored_block(lesson_form, focus) for focus in lesson_form.stored_focuses]
    is_open = sum(focus.closed_in_id is None for focus in lesson_form.stored_focuses)
    trial = {"decide_on": day + TRIAL}
    lesson_form.focuses += [
        FocusForm(None, key=uuid.uuid4(), catalogue=lesson_form.catalogue, initial=trial) for _ in range(3 - is_open)
    ]


def show_unsaved(lesson_form: LessonForm) -> None:
    """Show again what was typed of focuses and could not be saved, with its errors."""
    stored = {focus.key: focus for focus in lesson_form.stored_focuses}
    for word, kept in lesson_form.lesson.unsaved.items():
        key, data = uuid.UUID(word), QueryDict(mutable=True)
        for name, value in kept["typed"].items():
            data[name] = value
        form = typed_block(lesson_form, key, stored.get(key), data)
        for name, messages in kept["errors"].items():
            if name not in form.errors and (name in form.fields or name == "__all__"):
                form.add_error(None if name == "__all__" else name, messages)
        others = [other for other in lesson_form.focuses if other.key != key]
        taken = 0 if key in stored else 1
        lesson_form.focuses = [*others[: len(others) - taken], form]


def show_typed(lesson_form: LessonForm, data: QueryDict) -> None:
    """Fill the form from what was posted."""
    lesson_form.basics = basics_form(lesson_form, data)
    lesson_form.skills = [skill_row(lesson_form, skill, data) for skill in lesson_form.catalogue.skills]
    lesson_form.own_words_rows = lesson_form.own_words.rows(lesson_form.stored_focuses, lesson_form.looks, data)
    stored = {focus.key: focus for focus in lesson_form.stored_focuses}
    keys = dict.fromkeys(key for word in data.getlist("focus") if (key := parse_key(word)))
    lesson_form.focuses = [typed_block(lesson_form, key, stored.get(key), data) for key in keys]
    show_lost(lesson_form, [focus for key, focus in stored.items() if key not in keys])


def show_lost(lesson_form: LessonForm, missing: list[Focus]) -> None:
    """Show also what a button of this log began and the page never heard of: the answer was lost on its way."""
    here = [focus for focus in missing if focus.opened_in_id == lesson_form.lesson.pk]
    lost = [focus for focus in here if str(focus.key) != lesson_form.dropped]
    lesson_form.begun += [str(focus.key) for focus in lost]
    lesson_form.focuses += [stored_block(lesson_form, focus) for focus in lost]


def basics_form(lesson_form: LessonForm, data: QueryDict | None, initial: dict[str, Any] | None = None) -> BasicsForm:
    """The lesson's own fields, with `data` as posted or `initial` as stored."""
    about: dict[str, Any] = {
        "instance": lesson_form.lesson,
        "today": lesson_form.today,
        "visibility": lesson_form.visibility,
    }
    return BasicsForm(data, initial=initial, **about)


def skill_row(lesson_form: LessonForm, skill: Any, data: QueryDict | None) -> SkillRow:
    """One skill with its looks, and what was recorded last time."""
    looks = [look_row(lesson_form, skill, letter, data) for letter in lesson_form.looks]
    before = [LookRow(skill, letter, BLANK) for letter in LESSON_LOOKS]
    last_time = [(row.moment, in_words(lesson_form.observation(lesson_form.last, row))) for row in before]
    last_time = [(moment, words) for moment, words in last_time if words]
    return SkillRow(skill, looks, list(skill.faults.all()), last_time, lesson_form.worked_on)


def look_row(lesson_form: LessonForm, skill: Skill, letter: str, data: QueryDict | None) -> LookRow:
    """One look at a skill as it was typed, or else as it is stored."""
    stored = lesson_form.observation(lesson_form.lesson, LookRow(skill, letter, BLANK))
    row = stored_row(skill, letter, stored) if data is None else posted_row(skill, letter, data)
    return hide_withheld_words(row, stored, lesson_form.visibility)


def in_words(observation: Observation | None) -> str:
    """An observation in a word or two: the greatest degree among its faults."""
    if observation is None:
        return ""
    degrees = {row.degree for row in observation.seen_faults.all()}
    for degree in (SeenFault.Degree.CLEAR, SeenFault.Degree.SLIGHT):
        if degree in degrees:
            return str(degree.label).lower()
    return "seen" if degrees else str(observation.get_verdict_display()).lower()


def stored_block(lesson_form: LessonForm, focus: Focus) -> FocusForm:
    """The form of a stored focus, with the drill and dose that were last given for it."""
    initial: dict[str, Any] = {name: getattr(focus, name) for name in ("kind", "what", "area", "feel", "reason")}
    initial["decision"] = "open" if focus.closed_in_id is None else focus.decision or "close"
    initial |= {"fault": focus.fault.code if focus.fault else "", "decide_on": focus.decide_on}
    if row := lesson_form.given.get(focus.pk):
        dose = {name: getattr(row, name) for name in ("amount", "unit", "per_week", "days", "mark")}
        initial |= {"drill": row.drill.code, **dose}
    return FocusForm(None, initial=initial, **block_of(lesson_form, focus.key, focus))


def typed_block(lesson_form: LessonForm, key: uuid.UUID, focus: Focus | None, data: QueryDict) -> FocusForm:
    """The form of a focus as it was posted."""
    return FocusForm(data, **block_of(lesson_form, key, focus))


def block_of(lesson_form: LessonForm, key: uuid.UUID, focus: Focus | None) -> dict[str, Any]:
    """The arguments that stored and posted forms share; a focus of an earlier lesson `continues`."""
    continues = focus is not None and focus.opened_in_id != lesson_form.lesson.pk
    given = lesson_form.given.get(focus.pk) if focus else None
    return {"key": key, "catalogue": lesson_form.catalogue, "focus": focus, "continues": continues, "given": given}
