"""The page of a finished lesson, to be read."""

from django.http import HttpResponse
from django.shortcuts import render

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.http import Request
from coachbook.loop.record.gather import record_of
from lessons.models import Lesson


def render_record(request: Request, student: Student, lesson: Lesson) -> HttpResponse:
    """The record of a finished lesson, for somebody whom the gate lets read notes."""
    context = {
        "student": student,
        "lesson": lesson,
        "record": record_of(lesson, academy=request.academy, reader=request.user),
        "writes": gate.is_allowed(student, Permission.LOG_LESSONS),
    }
    return render(request, "loop/record/record.html", context)
