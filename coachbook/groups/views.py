"""The screens of a group: how it begins, one page to write it down, and the sheets to print."""

import uuid
import zoneinfo
from datetime import date, datetime

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from coachbook import pdf
from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.forms import render_form
from coachbook.groups.forms import AddForm, BeginForm
from coachbook.groups.log import Refusals, add_student, begin_group, finish_group, save_for_all
from coachbook.groups.page import GroupPage, absent_of, is_own, late_groups, open_page, taught
from coachbook.http import Request
from coachbook.loop.sheets.content import content_from
from coachbook.loop.sheets.views import drafts
from lessons.models import Session


@require_GET
def group_new(request: Request) -> HttpResponseRedirect:
    """A fresh address for a group: reload, back and a double tap then all meet the same rows."""
    gate.enter(request, Act.HOLD)
    return redirect("group", session_key=uuid.uuid4())


@require_http_methods(["GET", "POST"])
def group(request: Request, session_key: uuid.UUID) -> HttpResponse:
    """A group's page; at a fresh address the form to begin one."""
    gate.enter(request, Act.PLAN)
    session = find(request, session_key)
    if session is None:
        return begin(request, session_key)
    if request.method == "GET":
        return draw(request, open_page(request, session))
    if "begin" in request.POST:  # the form was sent twice, and the first one began the group
        return redirect("group", session_key=session_key)
    return save(request, session)


@require_GET
def group_sheets(request: Request, session_key: uuid.UUID) -> HttpResponse:
    """The sheets of all who were there, to print or to show."""
    gate.enter(request, Act.PLAN)
    page = open_page(request, there(request, session_key))
    return render(request, "groups/sheets.html", {"page": page, "session": page.session})


@require_GET
def group_pdf(request: Request, session_key: uuid.UUID) -> HttpResponse:
    """All their sheets as one PDF, a page for each."""
    gate.enter(request, Act.PLAN)
    page = open_page(request, there(request, session_key))
    if not page.has_sheets:
        return redirect("group_sheets", session_key=session_key)
    if problem := pdf.problem():
        context = {"page": page, "session": page.session, "problem": problem}
        return render(request, "groups/sheets.html", context, status=503)
    contents = [content_from(sheet.content) for row in page.rows for sheet in row.sheets]
    title = f"Practice sheets of {page.session.name or 'a group'}"
    written = pdf.write_together(title, [drafts(content, request.academy.paper, None) for content in contents])
    name = f'inline; filename="practice-sheets-{contents[0].day}.pdf"'
    headers = {"Content-Disposition": name, "Cache-Control": "no-store"}
    return HttpResponse(written, content_type="application/pdf", headers=headers)


def find(request: Request, key: uuid.UUID) -> Session | None:
    """The group at this address, or nothing at a fresh one: its coach writes, a manager reads, to others it is 404."""
    session = Session.objects.select_related("coach__user").filter(key=key).first()
    if session is None:
        gate.enter(request, Act.HOLD)
        return None
    own = is_own(request, session)
    if session.kind != Session.Kind.GROUP or not (own or request.user.is_manager):
        raise Http404
    if request.method == "POST" and not own:
        raise PermissionDenied
    return session


def there(request: Request, key: uuid.UUID) -> Session:
    """The group at this address, or 404."""
    session = find(request, key)
    if session is None:
        raise Http404
    return session


def begin(request: Request, key: uuid.UUID) -> HttpResponse:
    """Begin a group."""
    now = timezone.now()
    form = BeginForm(request.POST or None, students=taught(request), today=request.academy.today(now))
    if form.is_valid():
        told = {name: form.cleaned_data[name] for name in ("name", "place", "students", "areas")}
        day = form.cleaned_data["day"]
        at = moment(request, day, now)
        begin_group(key=key, coach=request.user.coach, at=at, begins=day, **told)
        return redirect("group", session_key=key)
    return render_form(request, "groups/begin.html", form, {"late": late_groups(request, now)})


def moment(request: Request, day: date, now: datetime) -> datetime:
    """The time of day it is now, on that day."""
    zone = zoneinfo.ZoneInfo(request.academy.time_zone)
    return min(datetime.combine(day, now.astimezone(zone).time(), zone), now)


def save(request: Request, session: Session) -> HttpResponse:
    """Save the same for all; add somebody, or make the sheets, if that was asked."""
    added = add(request, session) if "add" in request.POST else None
    page = open_page(request, session, request.POST)
    page.add = added or page.add
    page.check()
    if page.problems:
        return draw(request, page)
    page.refuse(write(request, page))
    if page.problems:
        return draw(request, page, saved=True)
    if "done" in request.POST:
        messages.success(request, "Done. This is what they take home.")
        return redirect("group_sheets", session_key=session.key)
    messages.success(request, f"{added.cleaned_data['student']} is in the group." if added else "Saved for all.")
    return redirect("group", session_key=session.key)


def add(request: Request, session: Session) -> AddForm:
    """Add somebody who came later, before the same for all is saved, so that it reaches them, too."""
    form = AddForm(request.POST, students=taught(request))
    if form.is_valid():
        try:
            begins = request.academy.today(session.starts_at)
            add_student(session=session, student=form.cleaned_data["student"], begins=begins)
        except ValidationError as refusal:
            form.add_error("student", refusal)
    return form


@transaction.atomic
def write(request: Request, page: GroupPage) -> Refusals:
    """Write what was typed; one student for whom something cannot be keeps nobody else from being done."""
    session, within = page.session, page.within
    said = page.same.values() | page.given.values()
    begins = request.academy.today(session.starts_at)
    refused = save_for_all(session=session, within=within, absent=absent_of(page), said=said, begins=begins)
    if "done" in request.POST:
        at, left = timezone.now(), set(refused)
        refused |= finish_group(session=session, within=within, leave=left, academy=request.academy, at=at)
    return refused


def draw(request: Request, page: GroupPage, *, saved: bool = False) -> HttpResponse:
    """The page of a group: 422 where something typed cannot be, with all of it still there."""
    context = {"page": page, "session": page.session, "saved": saved}
    return render(request, "groups/group.html", context, status=422 if page.problems else 200)
