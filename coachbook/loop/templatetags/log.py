"""The rows of a log. Nearly all are blank, and a blank row is the same in every log: it is rendered once."""

from typing import Any

from django import template
from django.template.context import Context
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from coachbook.loop.log.lesson_form import LessonForm
from coachbook.loop.log.rows import SkillRow

register = template.Library()
KEPT = 1000  # blank rows: several times the skills of a large catalogue
blank_rows: dict[tuple[Any, ...], SafeString] = {}


@register.simple_tag(takes_context=True)
def skill(context: Context, row: SkillRow) -> SafeString:
    """A skill to unfold."""
    lesson_form: LessonForm = context["lesson_form"]
    if not row.is_blank:
        return render_skill(row, lesson_form)
    content = content_of(row, lesson_form)
    if content not in blank_rows:
        if len(blank_rows) >= KEPT:
            blank_rows.clear()
        blank_rows[content] = render_skill(row, lesson_form)
    return blank_rows[content]


def render_skill(row: SkillRow, lesson_form: LessonForm) -> SafeString:
    """The HTML of a row."""
    return render_to_string("loop/log/skill.html", {"row": row, "lesson_form": lesson_form})


def content_of(row: SkillRow, lesson_form: LessonForm) -> tuple[Any, ...]:
    """All that the HTML of a blank row is made of."""
    skill, visibility = row.skill, lesson_form.visibility
    faults = tuple((fault.code, fault.name) for fault in skill.faults.all())
    words = (skill.code, skill.name, skill.look, skill.goal, skill.measure)
    return (words, faults, lesson_form.looks, tuple(visibility.choices), visibility.default_reader)
