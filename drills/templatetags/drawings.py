"""Drawings of drills in templates."""

from typing import Any

from django import template
from django.template import Context

from drills.library.drawing import Svg, draw

register = template.Library()


@register.simple_tag(takes_context=True)
def drawing(context: Context, description: Any, side: str | None = None) -> Svg:
    """The drawing of a drill for a side, in the academy's unit: `{% drawing drill.drawing side %}`."""
    return draw(description, side or None, context["request"].academy.units)
