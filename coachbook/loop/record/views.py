"""The page of a finished lesson, to be read, and the search in the lessons of a student."""

import uuid

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.http import Request
from coachbook.loop.record.gather import record_of
from coachbook.loop.record.search import LONGEST, SHOWN, search
from lessons.matching import words_of
from lessons.models import Lesson, Session


def render_record(request: Request, student: Student, lesson: Lesson) -> HttpResponse:
    """The record of a finished lesson, for somebody whom the gate lets read notes."""
    context = {
        "student": student,
        "lesson": lesson,
        "record": record_of(lesson, academy=request.academy, reader=request.user),
        "is_own_group": is_own_group(request, lesson.session),
        "writes": gate.is_allowed(student, Permission.LOG_LESSONS),
    }
    return render(request, "loop/record/record.html", context)


def is_own_group(request: Request, session: Session) -> bool:
    """Whether the lesson belongs to a group that this person may open."""
    is_own = request.user.is_coach and session.coach_id == request.user.coach.pk
    return session.kind == Session.Kind.GROUP and (is_own or request.user.is_manager)


@require_GET
def lesson_search(request: Request, key: uuid.UUID) -> HttpResponse:
    """The lessons of a student in which some words stand, as far as this person may read them."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    q = request.GET.get("q", "").strip()[:LONGEST]
    reads_notes, words = gate.is_allowed(student, Permission.READ_NOTES), words_of(q)
    found = search(student, words, reader=request.user, reads_notes=reads_notes) if words else []
    context = {
        "student": student,
        "reads_notes": reads_notes,
        "q": q,
        "is_asked": bool(words),
        "found": found[:SHOWN],
        "number": len(found),
        "shown": SHOWN,
    }
    return render(request, "loop/record/search.html", context)
