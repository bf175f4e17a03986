"""Each fault's history."""

import uuid
from dataclasses import dataclass
from typing import cast

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Student
from coachbook.http import Request
from coachbook.loop.explore import figures
from lessons.history import FaultHistory, fault_histories
from lessons.progress.picture import Picture, Row, lines, picture, rows
from lessons.progress.words import COACH, STUDENT, Voice
from lessons.wording import SideWord
from lessons.wording import render as worded


@dataclass(frozen=True)
class Entry:
    """A history as its reader reads it: heading, sentence, picture, and every row of the table, the latest first."""

    history: FaultHistory
    heading: str
    words: str
    picture: Picture
    rows: list[Row]


@require_GET
def progress(request: Request, key: uuid.UUID) -> HttpResponse:
    """All histories of a student."""
    student = gate.student(request, Act.READ, key)
    voice = voice_for(student)
    context = {
        "student": student,
        "voice": voice,
        "teaches": voice is COACH,
        "entries": [entry(history, voice) for history in fault_histories(student) if is_told(history, voice)],
    }
    return render(request, "loop/progress.html", context)


@require_GET
def progress_explore(request: Request, key: uuid.UUID, number: int) -> HttpResponse:
    """One history as a chart to zoom into, with its picture and table for those without a script."""
    student = gate.student(request, Act.READ, key)
    voice = voice_for(student)
    history = next((found for found in fault_histories(student) if found.fault.pk == number), None)
    if history is None:
        raise Http404
    every = rows(history.points, voice)
    days = lines(every, taken=history.focus_taken, closed=history.focus_closed, voice=voice)
    context = {
        "student": student,
        "voice": voice,
        "teaches": voice is COACH,
        "entry": entry(history, voice),
        "figures": figures(every, days, voice),
    }
    return render(request, "loop/progress_explore.html", context)


def is_told(history: FaultHistory, voice: Voice) -> bool:
    """A student is told of what they work on or worked on; a coach of all that was ever seen."""
    return voice is COACH or history.focus_taken is not None


def voice_for(student: Student) -> Voice:
    """The trade's words for those who may read what coaches write; plain ones for the student and guardians."""
    return COACH if gate.may(student, Act.NOTES) else STUDENT


def entry(history: FaultHistory, voice: Voice) -> Entry:
    """A history in the reader's words."""
    every = rows(history.points, voice)
    fault = history.fault
    return Entry(
        history=history,
        heading=worded(fault.name) if voice is COACH else worded(fault.goal, cast(SideWord, history.side)),
        words=voice.summary(history.points),
        picture=picture(every, taken=history.focus_taken, closed=history.focus_closed, voice=voice),
        rows=every[::-1],
    )
