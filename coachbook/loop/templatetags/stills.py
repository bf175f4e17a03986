"""What the templates of stills use."""

from django import template

from lessons.models import Still

register = template.Library()


@register.filter
def shown_words(still: Still, plain: bool) -> str:
    """What a still shows, in plain words for a student and their family: `{{ still|shown_words:plain }}`."""
    return still.words_for(plain=plain)
