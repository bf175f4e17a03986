"""Students from a spreadsheet: the file, its preview, and taking it in."""

from django.contrib import messages
from django.db import IntegrityError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.forms import render_form
from coachbook.http import Request
from coachbook.loop.students_file.columns import COLUMNS, LARGEST, MOST_ROWS
from coachbook.loop.students_file.forms import UNREADABLE, StudentsFileForm, TakeInStudentsForm, sign
from coachbook.loop.students_file.plan import Plan, Reader, make_plan
from coachbook.loop.students_file.save import Changed, save_students

MEANWHILE = "The list of students was changed since this preview was made. Look at it again; nothing was stored."
SHOWN_PROBLEMS = 100


@require_http_methods(["GET", "POST"])
def students_file(request: Request) -> HttpResponse:
    """What a file may hold, and a file to be previewed."""
    gate.require(request, Permission.ADD_STUDENT)
    form = StudentsFileForm(request.POST, request.FILES) if request.method == "POST" else StudentsFileForm()
    if form.is_valid():
        table = form.cleaned_data["file"]
        return preview(request, make_plan(table, reader_of(request)), table)
    return file_page(request, form)


@require_POST
def students_file_save(request: Request) -> HttpResponse:
    """Take in what was previewed: everything or nothing."""
    gate.require(request, Permission.ADD_STUDENT)
    form = TakeInStudentsForm(request.POST, person=request.user.pk)
    if not form.is_valid():
        upload = StudentsFileForm(request.POST, request.FILES)
        upload.errors["file"] = upload.error_class([UNREADABLE])
        return file_page(request, upload)
    table = form.cleaned_data["table"]
    try:
        plan = save_students(table, reader_of(request), previewed=form.cleaned_data["new"])
    except Changed as changed:
        return preview(request, changed.plan, table, MEANWHILE)
    except IntegrityError:  # somebody else stored one of the addresses in this moment
        return preview(request, make_plan(table, reader_of(request)), table, MEANWHILE)
    number = len(plan.new)
    messages.success(request, f"{number} student{'' if number == 1 else 's'} added.")
    return redirect("students")


def preview(request: Request, plan: Plan, table: list[list[str]], notice: str = "") -> HttpResponse:
    """Every row as it would be stored, and everything that is to be put right; then with status 422."""
    context = {
        "plan": plan,
        "notice": notice,
        "problems": plan.problems[:SHOWN_PROBLEMS],
        "further": max(0, len(plan.problems) - SHOWN_PROBLEMS),
        "table": "" if plan.problems else sign(table, request.user.pk),
        "today": reader_of(request).today,
    }
    return render(request, "loop/students_file/preview.html", context, status=422 if plan.problems or notice else 200)


def file_page(request: Request, form: StudentsFileForm) -> HttpResponse:
    """The page with the form and the columns."""
    limits = {"largest": LARGEST, "most_rows": MOST_ROWS, "columns": COLUMNS.values()}
    return render_form(request, "loop/students_file/file.html", form, limits)


def reader_of(request: Request) -> Reader:
    """Who takes students in."""
    today = request.academy.today(timezone.now())
    return Reader(request.user, gate.get_students(request), today, request.academy.adult_at)
