"""What every template may use without loading it."""

from django import template
from django.utils.html import conditional_escape
from django.utils.safestring import SafeString

from coachbook.accounts import gate, outgoing
from coachbook.accounts.models import Student
from lessons.plain_words import plain
from lessons.wording import SideWord, render, render_typed

register = template.Library()


@register.filter
def typed_for(words: str, side: SideWord) -> SafeString:
    """Words that a person typed, in which markers work too; with other braces they stay as they were typed."""
    return conditional_escape(render_typed(words, side))


@register.filter
def worded(wording: str, side: SideWord | None = None) -> SafeString:
    """A catalogue wording as its reader reads it: `{{ fault.goal|worded:side }}`; without a side, the coach."""
    return conditional_escape(render(wording, side or None))


@register.filter(is_safe=True)
def plain_for(words: str, student: Student) -> str:
    """Words of the trade in their plain form, unless the reader may read what coaches write of this student."""
    return words if gate.is_allowed(student, gate.Permission.READ_NOTES) else plain(words)


@register.simple_tag
def has_mail_server() -> bool:
    """Whether a page may say that something is mailed: `{% has_mail_server as is_mailed %}`."""
    return outgoing.has_mail_server()
