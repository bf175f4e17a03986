"""The skills of a log: each row in full, or only its name where a phone fetches the rest."""

from django import template
from django.template.context import Context
from django.utils.safestring import SafeString

from coachbook.loop.log.choices import bare_skill, blank_skill, render_skill
from coachbook.loop.log.lesson_form import LessonForm
from coachbook.loop.log.rows import SkillRow

register = template.Library()


@register.simple_tag(takes_context=True)
def skill(context: Context, row: SkillRow) -> SafeString:
    """A skill to unfold; unfolded already where it was asked for."""
    lesson_form: LessonForm = context["lesson_form"]
    is_asked = row.skill.code == context.get("asked")
    if is_asked or not row.is_blank:
        return render_skill(row, lesson_form.visibility, is_asked=is_asked)
    whole, fetched = blank_skill(row, lesson_form.visibility), context.get("choices")
    is_fetched = fetched is not None and fetched.rows.get(row.skill.code) == whole
    return bare_skill(row.skill.code, str(row.skill)) if is_fetched else whole
