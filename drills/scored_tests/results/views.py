"""What the tests say: all of late together, and one test alone. What they import of the model is imported late."""

import uuid

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.http import Request


@require_GET
def putter(request: Request, key: uuid.UUID) -> HttpResponse:
    """The tests of the last weeks, from the side that is played from now, in one likelihood."""
    student = gate.student(request, Act.READ, key)
    from drills.scored_tests.results.page import coach_page, of_late, share_asked
    from drills.scored_tests.results.student_page import student_page

    late = of_late(student, request.academy, request.academy.today(timezone.now()), share_asked(request.GET))
    teaches = gate.may(student, Act.NOTES)
    page = coach_page(late) if teaches else student_page(late)
    context = {"student": student, "page": page, "teaches": teaches}
    return render(request, "drills/scored_tests/results/putter.html", context)


@require_GET
def test_says(request: Request, key: uuid.UUID, test_key: uuid.UUID) -> HttpResponse:
    """One finished test alone, beside all of late."""
    student = gate.student(request, Act.READ, key)
    test = get_object_or_404(student.scored_tests.done().prefetch_related("hit"), key=test_key)
    from drills.scored_tests.results.page import coach_page, of_one, share_asked
    from drills.scored_tests.results.student_page import student_page

    one = of_one(test, request.academy, request.academy.today(timezone.now()), share_asked(request.GET))
    teaches = gate.may(student, Act.NOTES)
    page = coach_page(one) if teaches else student_page(one)
    context = {"student": student, "test": test, "page": page, "teaches": teaches}
    return render(request, "drills/scored_tests/results/one_test.html", context)
