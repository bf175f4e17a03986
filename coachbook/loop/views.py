"""The screens of the loop: the students, and each student's page."""

import uuid

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods
from django.views.decorators.vary import vary_on_headers

from coachbook.accounts import gate
from coachbook.accounts.forms import InviteStudentForm
from coachbook.accounts.gate import Act
from coachbook.accounts.views import show_invitation
from coachbook.forms import render_form
from coachbook.http import Request
from coachbook.loop.forms import StudentForm

FORM = ["GET", "POST"]


@require_GET
@vary_on_headers("HX-Request")
def students(request: Request) -> HttpResponse:
    """The students whom this person may see, and a search among them."""
    found = gate.students(request).named(request.GET.get("q", ""))
    context = {"students": found.for_list(), "q": request.GET.get("q", "")}
    return render(request, "loop/parts/students.html" if request.htmx else "loop/students.html", context)


@require_GET
def student_new(request: Request) -> HttpResponseRedirect:
    """A fresh address for a student: reload, back and a double tap then all meet the same row."""
    gate.enter(request, Act.ADD)
    return redirect("student_details", key=uuid.uuid4())


@require_GET
def student(request: Request, key: uuid.UUID) -> HttpResponse:
    """A student's page."""
    student = gate.student(request, Act.READ, key)
    context = {
        "student": student,
        "teaches": gate.may(student, Act.NOTES),
        "arranges": gate.may(student, Act.ARRANGE),
        "cares": student.cares.in_force(request.academy.today(timezone.now())).select_related("coach__user"),
        "guardianships": student.guardianships.select_related("guardian"),
        "lessons": student.lessons.none(),
    }
    return render(request, "loop/student.html", context)


@require_http_methods(FORM)
def student_details(request: Request, key: uuid.UUID) -> HttpResponse:
    """Write a student down, or change what is written."""
    student = gate.new_student(request, Act.ARRANGE, key)
    today = request.academy.today(timezone.now())
    form = StudentForm(request.POST or None, instance=student, user=request.user, today=today)
    if form.is_valid():
        form.save()
        messages.success(request, "Saved.")
        return redirect("student", key=key)
    return render_form(request, "loop/student_details.html", form, {"student": student})


@require_http_methods(FORM)
def student_invite(request: Request, key: uuid.UUID) -> HttpResponse:
    """Invite a student to sign in: a link by mail, or on paper for one without an address."""
    student = gate.student(request, Act.ARRANGE, key)
    form = InviteStudentForm(request.POST or None, student=student)
    if form.is_valid():
        return show_invitation(request, form.save())
    return render_form(request, "loop/student_invite.html", form, {"student": student})
