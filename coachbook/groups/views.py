"""The pages of a group: to begin it, to log it, and its sheets."""

import uuid
import zoneinfo
from datetime import date, datetime
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from coachbook import pdf
from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Area, Student
from coachbook.diary.models import Appointment
from coachbook.forms import render_form
from coachbook.groups.forms import AddForm, BeginForm
from coachbook.groups.group_form import GroupForm, is_own, load_group_form, present_lessons, recent_groups, taught
from coachbook.groups.session import (
    FEWEST,
    Refusals,
    add_student,
    begin_group,
    finish_group,
    save_for_all,
    stored_defaults,
)
from coachbook.http import Request
from coachbook.loop.sheets.content import content_from
from coachbook.loop.sheets.views import layouts
from lessons.models import Session


@require_GET
def group_new(request: Request) -> HttpResponseRedirect:
    """Redirect to a fresh address, so that reload, back and a double tap all reach the same group."""
    gate.require(request, Permission.ACT_AS_COACH)
    return redirect("group", session_key=uuid.uuid4())


@require_http_methods(["GET", "POST"])
def group(request: Request, session_key: uuid.UUID) -> HttpResponse:
    """A group's page; at a fresh address the form to begin one."""
    gate.require(request, Permission.VIEW_DIARY)
    session = find_group(request, session_key)
    if session is None:
        return begin(request, session_key)
    if request.method == "GET":
        return render_group(request, load_group_form(request, session))
    if "begin" in request.POST:  # the form was sent twice, and the first one began the group
        return redirect("group", session_key=session_key)
    return save(request, session)


@require_POST
def group_again(request: Request, session_key: uuid.UUID) -> HttpResponse:
    """Begin the same group again today, with everybody of it who is still a student of this coach.

    A second tap on the same day meets the same new group.
    """
    gate.require(request, Permission.VIEW_DIARY)
    earlier, now = get_group_or_404(request, session_key), timezone.now()
    students = [lesson.student for lesson in present_lessons(request).filter(session=earlier)]
    key = uuid.uuid5(earlier.key, f"again on {request.academy.today(now)}")
    values = {"name": earlier.name, "place": earlier.place, "areas": stored_defaults(earlier).areas}
    return begin_with(request, key, students, at=now, **values)


@require_POST
def group_of_appointment(request: Request, appointment_key: uuid.UUID) -> HttpResponse:
    """Begin one group with the students of an appointment of this coach, but for those who left."""
    gate.require(request, Permission.ACT_AS_COACH)
    own = Appointment.objects.filter(coach=request.user.coach)
    appointment, now = get_object_or_404(own, key=appointment_key), timezone.now()
    agreed = set(appointment.students.values_list("pk", flat=True))
    students = [student for student in taught(request) if student.pk in agreed]
    key = uuid.uuid5(appointment.key, "group")
    at, place = min(appointment.starts_at, now), appointment.place
    return begin_with(request, key, students, at=at, name="", place=place, areas=[Area.PUTTING])


def begin_with(request: Request, key: uuid.UUID, students: list[Student], **values: Any) -> HttpResponseRedirect:
    """Begin a group with these students, or open the one at this address; fewer than two are chosen by hand."""
    if len(students) < FEWEST:
        messages.error(request, "Fewer than two of them are still your students. Tick who is here.")
        return redirect("group_new")
    begin_group(key=key, coach=request.user.coach, students=students, **values)
    return redirect("group", session_key=key)


@require_GET
def group_sheets(request: Request, session_key: uuid.UUID) -> HttpResponse:
    """The sheets of all who were there, to print or to show."""
    gate.require(request, Permission.VIEW_DIARY)
    group_form = load_group_form(request, get_group_or_404(request, session_key))
    return render(request, "groups/sheets.html", {"group_form": group_form, "session": group_form.session})


@require_GET
def group_pdf(request: Request, session_key: uuid.UUID) -> HttpResponse:
    """All their sheets as one PDF, a page for each."""
    gate.require(request, Permission.VIEW_DIARY)
    group_form = load_group_form(request, get_group_or_404(request, session_key))
    if not group_form.has_sheets:
        return redirect("group_sheets", session_key=session_key)
    if problem := pdf.problem():
        context = {"group_form": group_form, "session": group_form.session, "problem": problem}
        return render(request, "groups/sheets.html", context, status=503)
    contents = [content_from(sheet.content) for row in group_form.rows for sheet in row.sheets]
    title = f"Practice sheets of {group_form.session.name or 'a group'}"
    written = pdf.write_together(title, [layouts(content, request.academy.paper, None) for content in contents])
    name = f'inline; filename="practice-sheets-{contents[0].day}.pdf"'
    headers = {"Content-Disposition": name, "Cache-Control": "no-store"}
    return HttpResponse(written, content_type="application/pdf", headers=headers)


def find_group(request: Request, key: uuid.UUID) -> Session | None:
    """The group at this address, None at a fresh one: its coach may write, a manager may read, others get 404."""
    session = Session.objects.select_related("coach__user").filter(key=key).first()
    if session is None:
        gate.require(request, Permission.ACT_AS_COACH)
        return None
    own = is_own(request, session)
    if session.kind != Session.Kind.GROUP or not (own or request.user.is_manager):
        raise Http404
    if request.method == "POST" and not own:
        raise PermissionDenied
    return session


def get_group_or_404(request: Request, key: uuid.UUID) -> Session:
    """The group at this address, or 404."""
    session = find_group(request, key)
    if session is None:
        raise Http404
    return session


def begin(request: Request, key: uuid.UUID) -> HttpResponse:
    """Begin a group."""
    now = timezone.now()
    form = BeginForm(request.POST or None, students=taught(request), today=request.academy.today(now))
    if form.is_valid():
        values = {name: form.cleaned_data[name] for name in ("name", "place", "students", "areas")}
        begin_group(key=key, coach=request.user.coach, at=moment(request, form.cleaned_data["day"], now), **values)
        return redirect("group", session_key=key)
    return render_form(request, "groups/begin.html", form, {"recent": recent_groups(request, now)})


def moment(request: Request, day: date, now: datetime) -> datetime:
    """That day at the present time of day, not later than now."""
    zone = zoneinfo.ZoneInfo(request.academy.time_zone)
    return min(datetime.combine(day, now.astimezone(zone).time(), zone), now)


def save(request: Request, session: Session) -> HttpResponse:
    """Save the same for everyone; add a student or create the sheets, if that was asked."""
    added = add(request, session) if "add" in request.POST else None
    group_form = load_group_form(request, session, request.POST)
    group_form.add = added or group_form.add
    group_form.check()
    if group_form.problems:
        return render_group(request, group_form)
    group_form.refuse(write(request, group_form))
    if group_form.problems:
        return render_group(request, group_form, saved=True)
    if "done" in request.POST:
        messages.success(request, "The group is finished. These are the sheets to take home.")
        return redirect("group_sheets", session_key=session.key)
    messages.success(request, f"{added.cleaned_data['student']} is in the group." if added else "Saved for everyone.")
    return redirect("group", session_key=session.key)


def add(request: Request, session: Session) -> AddForm:
    """Add a student before the same for everyone is saved, so that it reaches them, too."""
    form = AddForm(request.POST, students=taught(request))
    if form.is_valid():
        try:
            add_student(session=session, student=form.cleaned_data["student"])
        except ValidationError as refusal:
            form.add_error("student", refusal)
    return form


@transaction.atomic
def write(request: Request, group_form: GroupForm) -> Refusals:
    """Save what was typed; an error for one student does not hold up the others."""
    session, reachable = group_form.session, group_form.reachable
    defaults = group_form.notes.values() | group_form.focus.values()
    begins = request.academy.today(session.starts_at)
    refused = save_for_all(
        session=session,
        reachable=reachable,
        absent=group_form.absent,
        choices=group_form.choices,
        defaults=defaults,
        begins=begins,
    )
    if "done" in request.POST:
        at, left = timezone.now(), set(refused)
        refused |= finish_group(session=session, reachable=reachable, leave=left, academy=request.academy, at=at)
    return refused


def render_group(request: Request, group_form: GroupForm, *, saved: bool = False) -> HttpResponse:
    """The page of a group; 422 with errors, and then with all that was typed."""
    context = {"group_form": group_form, "session": group_form.session, "saved": saved}
    return render(request, "groups/group.html", context, status=422 if group_form.problems else 200)
