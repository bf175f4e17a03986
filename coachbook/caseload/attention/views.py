"""One list of who needs attention, why, and what to do next."""

import uuid
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Coach, Student
from coachbook.caseload.attention.forms import RulesForm, SnoozeForm
from coachbook.caseload.attention.gather import Line, attention_lines, numbers_of
from coachbook.caseload.attention.rules import RULES, Kind
from coachbook.forms import render_form
from coachbook.http import Request, parse_key

# What to do for each reason: the words, and the name of the page.
ACTIONS = {
    Kind.UNANSWERED: ("Answer", "messages"),
    Kind.CONSENT: ("Consents", "consents"),
    Kind.DRAFT: ("Finish the log", "lesson"),
    Kind.NOT_SEEN: ("Plan a lesson", "appointment_new"),
    Kind.REVIEW: ("Plan a lesson", "appointment_new"),
    Kind.SILENT: ("Write", "messages"),
    Kind.LOST: ("Progress", "progress"),
    Kind.OF_AGE: ("Their page", "student"),
}


@require_GET
def attention(request: Request) -> HttpResponse:
    """A coach's own students; for a manager those of every coach, or of one."""
    gate.require(request, Permission.VIEW_DIARY)
    coach = chosen_coach(request)
    lines = attention_lines(request.academy, timezone.now(), coach)
    if request.user.is_manager:  # what each line needs was read already, so nothing more is asked
        juniors = {line.facts.student: line.facts.key for line in lines if line.facts.is_junior}
        request.juniors_read += [Student(pk=pk, key=key) for pk, key in juniors.items()]
    rows = [(line, *action_of(line, request)) for line in lines]
    context = {
        "now": [row for row in rows if not row[0].snooze],
        "put_off": [row for row in rows if row[0].snooze],
        "coach": coach,
    }
    return render(request, "caseload/attention/attention.html", context)


@require_http_methods(["GET", "POST"])
def attention_snooze(request: Request, key: uuid.UUID, kind: str) -> HttpResponse:
    """Put one reason off until a day."""
    student = gate.get_student(request, Permission.SCHEDULE, key)
    if kind not in list(Kind):
        raise Http404
    now = timezone.now()
    form = SnoozeForm(request.POST if request.method == "POST" else None, today=request.academy.today(now))
    if form.is_valid():
        row = form.save(student, kind, request.user, now)
        messages.success(request, f"Put off until {row.until:%-d %B}: {student}.")
        return redirect("attention")
    context = {"student": student, "rule": RULES[Kind(kind)]}
    return render_form(request, "caseload/attention/snooze.html", form, context)


@require_http_methods(["GET", "POST"])
def attention_rules(request: Request) -> HttpResponse:
    """The number of each rule, and which reasons the list shows."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    about: dict[str, Any] = {"numbers": numbers_of(request.academy), "usual": request.academy.not_seen_days}
    form = RulesForm(request.POST if request.method == "POST" else None, **about)
    if form.is_valid():
        form.save()
        messages.success(request, "Saved.")
        return redirect("attention")
    return render_form(request, "caseload/attention/rules.html", form, {})


def chosen_coach(request: Request) -> Coach | None:
    """Whose students: a coach's own; a manager may choose one, and begins with all."""
    if not request.user.is_manager:
        return request.user.coach
    key = parse_key(request.GET.get("coach", ""))
    return get_object_or_404(Coach.objects.named(), user__key=key) if key else None


def action_of(line: Line, request: Request) -> tuple[str, str]:
    """The words and the address of what to do next; a manager who coaches nobody finishes no log."""
    words, name = ACTIONS[line.reason.kind]
    keys = [line.facts.key]
    if name == "appointment_new" and line.facts.next_lesson:
        words, name = "Brief", "brief"
    if name == "lesson":
        if not request.user.is_coach or line.facts.draft_key is None:
            return "Their page", reverse("student", args=keys)
        keys.append(line.facts.draft_key)
    return words, reverse(name, args=keys)
