"""What a manager should know of how the site is run."""

from typing import Any

from django import template
from django.conf import settings
from django.utils import timezone

from coachbook.operations.backups.last import is_overdue, last_backup

register = template.Library()


@register.inclusion_tag("operations/backup_overdue.html")
def backup_overdue() -> dict[str, Any]:
    """Whether the last good backup is too old, and when it was made; in the demo nothing needs one."""
    return {"is_overdue": settings.PRODUCTION and is_overdue(timezone.now()), "last": last_backup()}
