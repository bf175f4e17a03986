"""What the templates of sheets use."""

from collections.abc import Mapping

from django import template

from coachbook.loop.sheets.content import SheetFocus
from coachbook.loop.stills.beside.focuses import DrawnPair

register = template.Library()


@register.filter
def pair_of(focus: SheetFocus, pairs: Mapping[int, DrawnPair] | None) -> DrawnPair | None:
    """The pair of stills of a focus, where it may be shown: `{{ focus|pair_of:pairs }}`."""
    return (pairs or {}).get(focus.number)
