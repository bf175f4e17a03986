"""Writing a lesson down: one form at the lesson's own address, saved as it goes, whole without a script."""

import uuid

from django.contrib import messages
from django.db import IntegrityError
from django.http import HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Student
from coachbook.http import Request, as_key
from coachbook.loop.log.lesson_form import Book, open_book, show_stored, show_typed
from coachbook.loop.log.rows import LOOKS
from coachbook.loop.log.save import Stale, finish_log, fresh_page, save_log
from drills.practice.prescribe import usual
from lessons.models import Session


@require_GET
def lesson_new(request: Request, key: uuid.UUID) -> HttpResponseRedirect:
    """A fresh address for a lesson: reload, back, a double tap and a lost reply then all meet the same row."""
    gate.student(request, Act.TEACH, key)
    kind = kind_of(request)
    address = reverse("lesson", args=[key, uuid.uuid4()])
    return redirect(address if kind == Session.Kind.LESSON else f"{address}?kind={kind}")


def kind_of(request: Request) -> Session.Kind:
    """What kind of log a fresh address opens: of a lesson, unless it names a course walk or a clip."""
    word = request.GET.get("kind")
    return next((kind for kind in LOOKS if kind == word), Session.Kind.LESSON)


@require_http_methods(["GET", "POST"])
def lesson(request: Request, key: uuid.UUID, lesson_key: uuid.UUID) -> HttpResponse:
    """The log of one lesson: coaches write it, a manager may read it."""
    student = gate.student(request, Act.TEACH if request.method == "POST" else Act.NOTES, key)
    book = read(request, student, lesson_key)
    if request.method == "POST":
        return save(request, book, typed(request, book))
    show_stored(book)
    return page(request, book)


def read(request: Request, student: Student, lesson_key: uuid.UUID) -> Book:
    """The log as it is stored; only one who teaches the student finds an empty one at a fresh address."""
    coach = request.user.coach if gate.may(student, Act.TEACH) else None
    return open_book(
        student,
        lesson_key,
        academy=request.academy,
        coach=coach,
        reader=request.user,
        at=timezone.now(),
        kind=kind_of(request),
    )


def typed(request: Request, book: Book) -> QueryDict:
    """What was posted, with "my usual drill and dose" filled in where that was tapped."""
    data = request.POST.copy()
    key = as_key(data.get("usual", ""))
    focus = next((focus for focus in book.stored_focuses if focus.key == key), None)
    fault = book.shelves.faults.get(data.get(f"focus-{key}-fault", "")) or (focus and focus.fault)
    if fault and (found := usual(request.user.coach, fault)):
        drill, dose = found
        filled = {
            "drill": drill.code,
            "amount": dose.amount,
            "unit": dose.unit,
            "per_week": dose.per_week,
            "days": dose.days,
        }
        for name, value in filled.items():
            data[f"focus-{key}-{name}"] = str(value)
    return data


def save(request: Request, book: Book, data: QueryDict, *, again: bool = True) -> HttpResponse:
    """Save what can be saved, finish if that was asked, and answer as page or as fragment."""
    is_new = book.lesson.pk is None
    try:
        save_log(book, data)
        sheet = finish_log(book, timezone.now()) if "done" in data and not book.problems else None
    except Stale:
        show_typed(book, data)
        return page(request, book, status=422, stale=True, base=data.get("base", ""))
    except IntegrityError:  # the same page was posted twice at once: the other one has made the row by now
        if not again:
            raise
        return save(request, read(request, book.student, book.lesson.key), data, again=False)
    if sheet:
        messages.success(request, "Done. This is what they take home.")
        return redirect("sheet", key=book.student.key, sheet_key=sheet.key)
    if request.htmx or book.problems:
        return page(request, book, status=422 if book.problems else 201 if is_new else 200)
    messages.success(request, "Saved.")
    address = reverse("lesson", args=[book.student.key, book.lesson.key])
    return redirect(f"{address}#block-{key}" if (key := as_key(data.get("usual", ""))) else address)


def offered_marks(book: Book) -> list[str]:
    """The success marks that the student's tests of late offer; loaded only where there are any."""
    if not book.is_tested:
        return []
    from drills.scored_tests.results.estimates import marks_of

    return marks_of(book.student, book.today)


def page(request: Request, book: Book, *, status: int = 200, stale: bool = False, base: str = "") -> HttpResponse:
    """The log as a page, or under htmx what to say about the saving."""
    context = {
        "book": book,
        "student": book.student,
        "lesson": book.lesson,
        "writes": gate.may(book.student, Act.TEACH),
        "page": fresh_page(),
        "base": base or book.lesson.version,
        "stale": stale,
        "at": timezone.now(),
        "address": request.get_full_path(),
        "marks": [] if request.htmx else offered_marks(book),
    }
    template = "loop/log/saved.html" if request.htmx else "loop/log/log.html"
    return render(request, template, context, status=status)
