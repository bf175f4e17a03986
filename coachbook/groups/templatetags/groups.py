"""What pages of other apps show of groups."""

from typing import Any

from django import template
from django.utils import timezone

from coachbook.groups.group_form import groups_to_repeat
from lessons.models import Session

register = template.Library()


@register.simple_tag(takes_context=True)
def earlier_groups(context: dict[str, Any]) -> list[Session]:
    """Earlier groups of the signed-in coach, to begin again today."""
    return groups_to_repeat(context["request"], timezone.now())
