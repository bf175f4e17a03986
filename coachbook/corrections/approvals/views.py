"""The pages of changes that wait for a second person: asking, seeing, deciding."""

import uuid
from datetime import timedelta

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.forms import InviteStudentForm
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import User
from coachbook.accounts.views.people import show_invitation
from coachbook.corrections.approvals.asking import Kind, access_request, age_request, ask
from coachbook.corrections.approvals.deciding import Outcome, decide
from coachbook.corrections.approvals.mail import mail_request
from coachbook.corrections.approvals.people import Concerned, people_concerned, readable_requests
from coachbook.corrections.approvals.wording import describe, outcome_words, title_of
from coachbook.corrections.models import ApprovalRequest
from coachbook.http import Request
from coachbook.loop.students.forms import AgeForm

SHOWN = 100
# What a person may choose on the page of a request.
DECISIONS = {"approve": Outcome.APPROVED, "refuse": Outcome.REFUSED, "withdraw": Outcome.WITHDRAWN}


@require_POST
def age_ask(request: Request, key: uuid.UUID) -> HttpResponse:
    """Ask for another year of birth, or another answer to child or adult."""
    student = gate.get_student(request, Permission.EDIT_STUDENT, key)
    form = AgeForm(request.POST, instance=student, today=request.academy.today(timezone.now()))
    if not form.is_valid():
        return redirect("student_details", key=key)
    student.refresh_from_db()  # the form has set what is only asked for
    values = {name: form.cleaned_data[name] for name in AgeForm.Meta.fields}
    return ask_and_show(request, age_request(student, by=request.user, values=values))


@require_POST
def student_access_ask(request: Request, key: uuid.UUID) -> HttpResponse:
    """Ask for a new link, and perhaps another name, for the account of a student."""
    student = gate.get_student(request, Permission.EDIT_STUDENT, key)
    form = InviteStudentForm(request.POST, student=student)
    if student.user is None or not form.is_valid():
        return redirect("student_invite", key=key)
    names = {name: form.cleaned_data[name] for name in ("email", "username")}
    return ask_and_show(request, access_request(User.objects.get(pk=student.user.pk), by=request.user, names=names))


@require_POST
def person_access_ask(request: Request, key: uuid.UUID) -> HttpResponse:
    """Ask for a new link for anybody's account."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    person = get_object_or_404(User, key=key)
    if not person.is_active:  # its owner would neither see the notice nor could refuse
        messages.error(request, f"The account of {person} is closed. Reopen it first.")
        return redirect("people")
    return ask_and_show(request, access_request(person, by=request.user, names={}))


def ask_and_show(request: Request, approval: ApprovalRequest) -> HttpResponseRedirect:
    """Ask, notify everybody concerned, and go to the page of what waits."""
    row, is_new = ask(approval, request.academy, timezone.now())
    if is_new:
        mail_request(row, request, request.academy)
        messages.success(request, "Asked. Nothing changes until somebody decides.")
    elif (row.values, row.asked_by_id) != (approval.values, request.user.pk):
        messages.warning(request, "Nothing new was asked: the change on this page waits already.")
    return redirect("approval", key=row.key)


@require_GET
def approvals(request: Request) -> HttpResponse:
    """Everything that waits, and what was decided of late."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    rows = ApprovalRequest.objects.with_people()[:SHOWN]
    shown = [(row, title_of(row), outcome_words(row)) for row in sorted(rows, key=lambda row: not row.is_waiting)]
    return render(request, "corrections/approvals/approvals.html", {"rows": shown})


def get_approval(request: Request, key: uuid.UUID) -> ApprovalRequest:
    """The request, for those who asked it, were notified of it, or manage; 404 to all others."""
    gate.require(request, Permission.USE_SITE)
    rows = readable_requests(request.user, request.academy, request.academy.today(timezone.now()))
    return get_object_or_404(rows.with_people(), key=key)


@require_GET
def approval(request: Request, key: uuid.UUID) -> HttpResponse:
    """One request: what is asked, of whom, what follows, and what became of it."""
    return render_approval(request, get_approval(request, key))


@require_POST
def approval_decide(request: Request, key: uuid.UUID) -> HttpResponse:
    """Approve, refuse or withdraw; of two people at once the first decides, and the other sees what was decided."""
    row = get_approval(request, key)
    now = timezone.now()
    outcome = DECISIONS.get(request.POST.get("decision", ""))
    if row.is_waiting and outcome not in choices(request, row, concerned_now(request, row)):
        return render_approval(request, row, status=422 if outcome is None else 403)
    row, is_first = decide(row, by=request.user, outcome=outcome or Outcome.REFUSED, academy=request.academy, at=now)
    if not is_first:
        messages.warning(request, "This was decided already.")
        return redirect("approval", key=key)
    mail_request(row, request, request.academy)
    if row.kind == Kind.ACCESS and row.outcome == Outcome.APPROVED:
        return make_link(request, row)
    return redirect("approval", key=key)


@require_POST
def approval_seen(request: Request, key: uuid.UUID) -> HttpResponseRedirect:
    """Take the notice from a person's first page; a second time changes nothing."""
    row = get_approval(request, key)
    row.notices.filter(person=request.user, seen_at=None).update(seen_at=timezone.now())
    return redirect("home")


@require_POST
def approval_link(request: Request, key: uuid.UUID) -> HttpResponse:
    """Make the link of a change that took effect by itself, once."""
    row = get_approval(request, key)
    if not may_make_link(request, row):
        raise Http404
    return make_link(request, row)


def make_link(request: Request, row: ApprovalRequest) -> HttpResponse:
    """Make the link, mail it or show it to whoever decided, and keep that it was made."""
    first = ApprovalRequest.objects.filter(pk=row.pk, link_made_at=None).update(link_made_at=timezone.now())
    if not first or row.person is None:
        return redirect("approval", key=row.key)
    return show_invitation(request, User.objects.get(pk=row.person.pk))


def may_make_link(request: Request, row: ApprovalRequest) -> bool:
    """Whether the person may make the link now: who asked, while it is fresh, where nobody could be asked."""
    if row.kind != Kind.ACCESS or row.outcome != Outcome.ELAPSED or row.link_made_at or row.decided_at is None:
        return False
    is_fresh = timezone.now() < row.decided_at + timedelta(days=settings.INVITATION_DAYS)
    return is_fresh and row.asked_by_id == request.user.pk


def concerned_now(request: Request, row: ApprovalRequest) -> Concerned | None:
    """Whom a request concerns that waits."""
    return people_concerned(row, request.academy, request.academy.today(timezone.now())) if row.is_waiting else None


def choices(request: Request, row: ApprovalRequest, concerned: Concerned | None) -> list[ApprovalRequest.Outcome]:
    """What the person may decide about a request that waits."""
    if concerned is None:
        return []
    if row.asked_by_id == request.user.pk:
        return [Outcome.WITHDRAWN]
    approves = [Outcome.APPROVED] if request.user in concerned.deciding else []
    return approves + ([Outcome.REFUSED] if request.user in concerned.refusing else [])


def render_approval(request: Request, row: ApprovalRequest, status: int = 200) -> HttpResponse:
    """The page of one request, with the buttons for what the person may do."""
    now = timezone.now()
    concerned = concerned_now(request, row)
    context = {
        "row": row,
        "wording": describe(row, request.academy, request.academy.today(now)),
        "outcome": outcome_words(row),
        "concerned": concerned,
        "is_due": row.is_due(now),
        "choices": choices(request, row, concerned),
        "may_make_link": may_make_link(request, row),
        "is_unseen": row.notices.filter(person=request.user, seen_at=None).exists(),
        "reads_student": row.student and gate.get_students(request).filter(pk=row.student.pk).exists(),
    }
    return render(request, "corrections/approvals/approval.html", context, status=status)
