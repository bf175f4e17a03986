"""What every template may use without loading it."""

from django import template
from django.utils.html import conditional_escape
from django.utils.safestring import SafeString

from lessons.wording import SideWord, render

register = template.Library()


@register.filter
def worded(wording: str, side: SideWord | None = None) -> SafeString:
    """A catalogue wording as its reader reads it: `{{ fault.goal|worded:side }}`; without a side, the coach."""
    return conditional_escape(render(wording, side or None))
