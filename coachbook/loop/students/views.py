"""The list of students, and each student's page, details and invitation."""

import uuid
from collections.abc import Iterable
from contextlib import suppress
from datetime import datetime

from django.contrib import messages
from django.db import IntegrityError
from django.db.models import Max
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods
from django.views.decorators.vary import vary_on_headers

from coachbook import navigation
from coachbook.accounts import gate
from coachbook.accounts.forms import InviteStudentForm
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Side, Student, User, pauses_and_guardians, with_coaches
from coachbook.accounts.views.people import render_access_question, show_invitation
from coachbook.diary.following.forms import render_act
from coachbook.forms import render_form
from coachbook.http import Request
from coachbook.loop.record.timeline import timeline_of, with_outcomes, with_words_then
from coachbook.loop.students.children import child_cards
from coachbook.loop.students.forms import StudentForm
from coachbook.loop.students.leaving import leaving_form, save_with_appointments
from lessons.models import Focus, Lesson

FORM = ["GET", "POST"]
LESSONS_SHOWN, LINES_OPEN, LESSONS_OPEN = 100, 12, 3  # a coach reads lines, a student the words below them, too


@require_GET
@vary_on_headers("HX-Request")
def students(request: Request) -> HttpResponse:
    """The students whom this person may see, with recent ones first, and a search among them."""
    q, now = request.GET.get("q", ""), timezone.now()
    on = request.academy.today(now)
    found = with_coaches(gate.get_students(request).named(q), on)
    context = {"students": found, "recent": [] if q else recent_students(request), "q": q}
    if not (request.user.is_coach or request.user.is_manager):
        context["children"] = child_cards(found, on, now)
    return render(request, "loop/students/list.html" if request.htmx else "loop/students/students.html", context)


def recent_students(request: Request) -> list[Student]:
    """The last few students whom this coach taught."""
    if not request.user.is_coach:
        return []
    taught = gate.get_students(request).filter(lessons__session__coach=request.user.coach)
    return list(taught.annotate(last=Max("lessons__session__starts_at")).order_by("-last")[:5])


@require_GET
def student_new(request: Request) -> HttpResponseRedirect:
    """Redirect to a fresh address, so that reload, back and a double tap all reach the same student."""
    gate.require(request, Permission.ADD_STUDENT)
    return redirect("student_details", key=uuid.uuid4())


@require_GET
def student(request: Request, key: uuid.UUID) -> HttpResponse:
    """A student's page: coaches reach the log from here, students see their focuses and sheets."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    today = request.academy.today(timezone.now())
    reads_notes = gate.is_allowed(student, Permission.READ_NOTES)
    lessons = with_outcomes(student.lessons.latest_first())
    shown = list((lessons if reads_notes else lessons.complete())[:LESSONS_SHOWN])
    rows = student.focuses.select_related("fault__skill", "opened_in__session", "closed_in__session")
    focuses = list(with_words_then(rows))
    timeline = timeline_of(shown, focuses, reads_notes=reads_notes)
    in_sight = LINES_OPEN if reads_notes else LESSONS_OPEN
    pauses, guardians = pauses_and_guardians(student, today)
    context = {
        "student": student,
        "teaches": gate.is_allowed(student, Permission.LOG_LESSONS),
        "reads_notes": reads_notes,
        "arranges": gate.is_allowed(student, Permission.EDIT_STUDENT),
        "lends": gate.is_allowed(student, Permission.MANAGE_COACHES),
        "cares": student.cares.in_force(today).select_related("coach__user"),
        "pauses": pauses,
        "guardians": guardians,
        "timeline": timeline[:in_sight],
        "earlier": timeline[in_sight:],
        "draft": next((lesson for lesson in shown if lesson.status == Lesson.Status.DRAFT), None),
        "focuses": with_playing_sides(focus for focus in focuses if is_shown_open(focus, reads_notes)),
        "finished": [] if reads_notes else finished(focuses),
        "prescriptions": student.prescriptions.in_force(today),
    }
    return render(request, "loop/students/student.html", context)


def is_shown_open(focus: Focus, reads_notes: bool) -> bool:
    """Whether a focus stands among the open ones: what a draft opens or closes does not count yet for a student."""
    if reads_notes:
        return focus.closed_in is None
    is_agreed = focus.opened_in.status == Lesson.Status.COMPLETE
    return is_agreed and (focus.closed_in is None or focus.closed_in.status == Lesson.Status.DRAFT)


def finished(focuses: Iterable[Focus]) -> list[tuple[Focus, Side]]:
    """What a finished lesson closed and no open focus works on again, each thing once and the latest first."""
    latest: dict[object, Focus] = {}
    for focus in sorted((each for each in focuses if each.opened_in.status == Lesson.Status.COMPLETE), key=closed_at):
        latest.pop(focus.fault_id or focus.what, None)  # so that it takes its place anew
        latest[focus.fault_id or focus.what] = focus
    done = [each for each in latest.values() if not is_shown_open(each, reads_notes=False) and each.closed_in]
    return with_playing_sides(each for each in done[::-1] if each.decision != Focus.Decision.DROPPED)


def closed_at(focus: Focus) -> tuple[bool, datetime]:
    """Open focuses after all that are closed, and these in the order in which they were closed."""
    return is_shown_open(focus, reads_notes=False), (focus.closed_in or focus.opened_in).session.starts_at


def with_playing_sides(focuses: Iterable[Focus]) -> list[tuple[Focus, Side]]:
    """Each focus with the playing side that is stored on the lesson that opened it, for its wording."""
    return [(focus, focus.opened_in.side(focus.area)) for focus in focuses]


@require_http_methods(FORM)
def student_details(request: Request, key: uuid.UUID) -> HttpResponse:
    """Add a student, or change their details."""
    student = gate.get_or_new_student(request, Permission.EDIT_STUDENT, key)
    now, follow = timezone.now(), None
    visible = gate.get_students(request)
    form = StudentForm(
        request.POST or None,
        instance=student,
        user=request.user,
        visible=visible,
        today=request.academy.today(now),
        adult_at=request.academy.adult_at,
    )
    if form.is_valid():
        follow = leaving_form(request.POST, form, request.academy, now)
    if follow and follow.is_valid():
        back = ""
        with suppress(IntegrityError):  # the same page was posted twice at once: the other one saved it
            back = save_with_appointments(form, follow, request.user, now)
        if form.asked_age:
            return render(request, "loop/students/ask_age.html", {"student": student, "age": form.asked_age})
        messages.success(request, f"Saved. {back}".strip())
        return redirect("student", key=key)
    return render_act(request, "loop/students/details.html", form, follow, {"student": student})


@require_http_methods(FORM)
def student_invite(request: Request, key: uuid.UUID) -> HttpResponse:
    """Invite a student to sign in: by mail, or on paper without an address; an account in use needs a second person."""
    student = gate.get_student(request, Permission.EDIT_STUDENT, key)
    form = InviteStudentForm(request.POST or None, student=student)
    if form.is_valid() and student.user and student.user.is_opened:
        names = {name: form.cleaned_data[name] for name in ("email", "username")}
        action = navigation.address("student_access_ask", key)
        return render_access_question(request, User.objects.get(pk=student.user.pk), action, **names)
    if form.is_valid() and (user := form.save_or_report()):
        return show_invitation(request, user)
    return render_form(request, "loop/students/invite.html", form, {"student": student})
