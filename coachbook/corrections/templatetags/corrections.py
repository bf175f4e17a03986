"""What pages of other apps show of corrections, and of changes that wait for a second person."""

from typing import Any

from django import template
from django.db.models import Exists, OuterRef, Q, Value
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.corrections.approvals.asking import access_request, age_request
from coachbook.corrections.approvals.people import people_concerned, readable_requests
from coachbook.corrections.approvals.wording import describe, outcome_words, title_of
from coachbook.corrections.edits import edits_of
from coachbook.corrections.models import UNDO_PERIOD, WAIT, ApprovalNotice, ApprovalRequest, Correction
from coachbook.corrections.reopen import REOPEN_PERIOD, recently_closed
from lessons.models import Lesson

register = template.Library()


@register.simple_tag
def undo_days() -> int:
    """For how many days a correction can be undone."""
    return UNDO_PERIOD.days


@register.inclusion_tag("corrections/parts/unseen.html")
def unseen_corrections() -> dict[str, int]:
    """How many corrections no manager has seen yet."""
    return {"number": Correction.objects.filter(seen_at=None).count()}


@register.inclusion_tag("corrections/parts/edit_list.html", takes_context=True)
def lesson_edits(context: dict[str, Any], student: Student, lesson: Lesson) -> dict[str, Any]:
    """The edits of a finished lesson that are not undone: the latest in sight, and those before it."""
    edits = [edit for edit in edits_of(lesson) if not edit.is_undone]
    shown = {"latest": next(iter(edits), None), "earlier": [edit for edit in edits[1:] if not edit.undoes]}
    return {**shown, "student": student, "lesson": lesson, "csrf_token": context.get("csrf_token")}


@register.inclusion_tag("corrections/parts/recently_closed.html", takes_context=True)
def closed_focuses(context: dict[str, Any], student: Student) -> dict[str, Any]:
    """The focuses that were closed not long ago, to open again."""
    closed = recently_closed(student, timezone.now())
    return {"student": student, "closed": closed, "days": REOPEN_PERIOD.days, "csrf_token": context.get("csrf_token")}


@register.inclusion_tag("corrections/approvals/whom.html", takes_context=True)
def second_person(context: dict[str, Any]) -> dict[str, Any]:
    """Whom the request of this page would concern: it holds the request, or an age or names that are asked for."""
    http = context["request"]
    today = http.academy.today(timezone.now())
    if "approval" in context:
        row = context["approval"]
    elif "age" in context:
        row = age_request(context["student"], by=http.user, values=context["age"])
    else:
        row = access_request(context["person"], by=http.user, names=context["names"])
    wording, concerned = describe(row, http.academy, today), people_concerned(row, http.academy, today)
    return {"wording": wording, "concerned": concerned, "wait_days": WAIT.days}


@register.inclusion_tag("corrections/approvals/notice_list.html", takes_context=True)
def approval_notices(context: dict[str, Any]) -> dict[str, Any]:
    """What waits about the student of this page, and what the signed-in person has not seen yet; in one query."""
    http, student = context["request"], context.get("student")
    user, on = http.user, http.academy.today(timezone.now())
    own = ApprovalNotice.objects.filter(request=OuterRef("pk"), person=user)
    rows = ApprovalRequest.objects.with_people()
    rows = rows.annotate(may_open=Exists(own) | Q(asked_by=user) | Q(Value(user.is_manager)))
    shown = Q(Exists(own.filter(seen_at=None)), pk__in=readable_requests(user, http.academy, on).values("pk"))
    if student:
        shown |= Q(pk__in=ApprovalRequest.objects.waiting().about(student).values("pk"))
    return {"rows": [(row, title_of(row), outcome_words(row)) for row in rows.filter(shown)]}
