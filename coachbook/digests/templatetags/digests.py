"""What pages of managers show of mails that could not be sent."""

from typing import Any

from django import template

from coachbook.digests.models import Digest

register = template.Library()


@register.inclusion_tag("digests/problem.html", takes_context=True)
def mail_problem(context: dict[str, Any]) -> dict[str, Any]:
    """Since when the notices of how many people are kept, and which addresses are refused; for managers alone."""
    if not context["request"].user.is_manager:
        return {}
    rows = list(Digest.objects.kept().select_related("person").order_by("person__name", "pk"))
    failed = {row.person_id for row in rows if row.state == Digest.State.FAILED}
    refused = dict.fromkeys(row.person for row in rows if row.state == Digest.State.REFUSED)
    return {"failed": len(failed), "refused": list(refused), "since": min((row.at for row in rows), default=None)}
