"""Drawings of drills, and the words beside them, in templates."""

from typing import Any

from django import template
from django.template import Context

from drills.library.drawing import Svg, draw
from drills.library.drawing.lengths import in_units
from lessons.wording import SideWord, render

register = template.Library()


@register.simple_tag(takes_context=True)
def drawing(context: Context, description: Any, side: str | None = None) -> Svg:
    """The drawing of a drill for a side, in the academy's unit: `{% drawing drill.drawing side %}`."""
    return draw(description, side or None, context["request"].academy.units)


@register.simple_tag(takes_context=True)
def drill_text(context: Context, wording: str, side: SideWord | None = None) -> str:
    """A text of a drill for a side, its lengths in the academy's unit: `{% drill_text drill.setup side %}`."""
    return in_units(render(wording, side or None), context["request"].academy.units)
