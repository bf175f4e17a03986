"""The results of scored tests: all recent ones together, and one test alone. The model is imported late."""

import uuid

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.http import Request


@require_GET
def test_results(request: Request, key: uuid.UUID) -> HttpResponse:
    """The recent tests together, from the side that the student plays from now."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    from drills.scored_tests.results.coach_page import coach_page
    from drills.scored_tests.results.gather import recent_results, share_asked
    from drills.scored_tests.results.student_page import student_page

    today = request.academy.today(timezone.now())
    results = recent_results(student, request.academy, today, share_asked(request.GET))
    teaches = gate.is_allowed(student, Permission.READ_NOTES)
    page = coach_page(results) if teaches else student_page(results)
    context = {"student": student, "page": page, "teaches": teaches}
    return render(request, "drills/scored_tests/results/recent.html", context)


@require_GET
def test_result(request: Request, key: uuid.UUID, test_key: uuid.UUID) -> HttpResponse:
    """One finished test, beside all recent ones."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    test = get_object_or_404(student.scored_tests.done().prefetch_related("balls"), key=test_key)
    from drills.scored_tests.results.coach_page import coach_page
    from drills.scored_tests.results.gather import share_asked, single_test_results
    from drills.scored_tests.results.student_page import student_page

    today = request.academy.today(timezone.now())
    results = single_test_results(test, request.academy, today, share_asked(request.GET))
    teaches = gate.is_allowed(student, Permission.READ_NOTES)
    page = coach_page(results) if teaches else student_page(results)
    context = {"student": student, "test": test, "page": page, "teaches": teaches}
    return render(request, "drills/scored_tests/results/single.html", context)
