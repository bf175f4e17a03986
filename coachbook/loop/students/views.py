"""The screens of the loop: the students, and each student's page."""

import uuid
from collections.abc import Iterable
from contextlib import suppress

from django.contrib import messages
from django.db import IntegrityError
from django.db.models import Max, Prefetch
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods
from django.views.decorators.vary import vary_on_headers

from coachbook.accounts import gate
from coachbook.accounts.forms import InviteStudentForm
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Side, Student
from coachbook.accounts.views.people import show_invitation
from coachbook.forms import render_form
from coachbook.http import Request
from coachbook.loop.models import Sheet
from coachbook.loop.students.forms import StudentForm
from lessons.models import Focus, Lesson

FORM = ["GET", "POST"]
LESSONS_SHOWN, LESSONS_OPEN = 40, 3


@require_GET
@vary_on_headers("HX-Request")
def students(request: Request) -> HttpResponse:
    """The students whom this person may see, those of late lessons first, and a search among them."""
    q = request.GET.get("q", "")
    found = gate.students(request).named(q).for_list(request.academy.today(timezone.now()))
    context = {"students": found, "recent": [] if q else recent_students(request), "q": q}
    return render(request, "loop/students/list.html" if request.htmx else "loop/students/students.html", context)


def recent_students(request: Request) -> list[Student]:
    """The last few students whom this coach taught."""
    if not request.user.is_coach:
        return []
    taught = gate.students(request).filter(lessons__session__coach=request.user.coach)
    return list(taught.annotate(last=Max("lessons__session__starts_at")).order_by("-last")[:5])


@require_GET
def student_new(request: Request) -> HttpResponseRedirect:
    """A fresh address for a student: reload, back and a double tap then all meet the same row."""
    gate.enter(request, Act.ADD)
    return redirect("student_details", key=uuid.uuid4())


@require_GET
def student(request: Request, key: uuid.UUID) -> HttpResponse:
    """A student's page: for who teaches them the way into the log, for themselves what is agreed and their sheets."""
    student = gate.student(request, Act.READ, key)
    today = request.academy.today(timezone.now())
    reads_notes = gate.may(student, Act.NOTES)
    lessons = student.lessons.latest_first().prefetch_related(Prefetch("sheets", Sheet.objects.standing()))
    shown = list((lessons if reads_notes else lessons.complete())[:LESSONS_SHOWN])
    focuses = student.focuses.open() if reads_notes else student.focuses.standing()
    context = {
        "student": student,
        "teaches": gate.may(student, Act.TEACH),
        "reads_notes": reads_notes,
        "arranges": gate.may(student, Act.ARRANGE),
        "lends": gate.may(student, Act.LEND),
        "cares": student.cares.in_force(today).select_related("coach__user"),
        "pauses": student.pauses.in_force(today),
        "guardianships": student.guardianships.in_force(today).select_related("guardian"),
        "lessons": shown[:LESSONS_OPEN],
        "earlier": shown[LESSONS_OPEN:],
        "draft": next((lesson for lesson in shown if lesson.status == Lesson.Status.DRAFT), None),
        "focuses": with_sides(focuses),
        "prescriptions": student.prescriptions.in_force(today),
    }
    return render(request, "loop/students/student.html", context)


def with_sides(focuses: Iterable[Focus]) -> list[tuple[Focus, Side]]:
    """Each focus with the side that was frozen on its lesson, from which the student reads it."""
    return [(focus, focus.opened_in.side(focus.area)) for focus in focuses]


@require_http_methods(FORM)
def student_details(request: Request, key: uuid.UUID) -> HttpResponse:
    """Write a student down, or change what is written."""
    student = gate.new_student(request, Act.ARRANGE, key)
    today = request.academy.today(timezone.now())
    seen = gate.students(request)
    form = StudentForm(request.POST or None, instance=student, user=request.user, seen=seen, today=today)
    if form.is_valid():
        with suppress(IntegrityError):  # the same page was posted twice at once: the other one wrote it down
            form.save()
        messages.success(request, "Saved.")
        return redirect("student", key=key)
    return render_form(request, "loop/students/details.html", form, {"student": student})


@require_http_methods(FORM)
def student_invite(request: Request, key: uuid.UUID) -> HttpResponse:
    """Invite a student to sign in: a link by mail, or on paper for one without an address."""
    student = gate.student(request, Act.ARRANGE, key)
    form = InviteStudentForm(request.POST or None, student=student)
    if form.is_valid() and (user := form.invited()):
        return show_invitation(request, user)
    return render_form(request, "loop/students/invite.html", form, {"student": student})
