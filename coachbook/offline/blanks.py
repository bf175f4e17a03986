"""The forms of a log and of a walk-in, blank: the same templates as online, filled in with nobody.

A phone keeps them and fills in names and keys; nothing in them is about a student.
"""

import uuid
from datetime import UTC, datetime
from typing import Any

from django.template.loader import render_to_string

from coachbook.accounts.models import Academy, Area, Coach, Student, User
from coachbook.loop.intake.forms import WalkInForm
from coachbook.loop.log.catalogue import CatalogueChoices
from coachbook.loop.log.fill import show_stored
from coachbook.loop.log.forms import FocusForm
from coachbook.loop.log.lesson_form import LessonForm
from coachbook.loop.log.own_words import OwnWordsLooks
from lessons.log import NoteVisibility
from lessons.models import Fault, Focus, Lesson, Session

STUDENT, LESSON, FOCUS = (uuid.UUID(int=number) for number in range(3))  # the phone puts real keys in their places
FAULT = "some-fault"  # and the code of a fault
WHAT = "some-words"  # and what a focus is about
LONG_AGO = datetime(2000, 1, 1, 12, tzinfo=UTC)  # the same on every day, so that the text stays the same


def blank_forms(user: User, catalogue: CatalogueChoices, academy: Academy) -> dict[str, str]:
    """Each as HTML, by a name."""
    log = blank_log(user.coach, catalogue, academy)
    own_words = log.own_words.row(log.stored_focuses[0], log.looks, None)
    walk_in = WalkInForm(visible=Student.objects.none(), today=academy.today(LONG_AGO))
    blocks: dict[str, tuple[str, dict[str, Any]]] = {
        "fix": ("loop/log/open_focus.html", {"form": continued(log, Focus.Kind.FIX)}),
        "trial": ("loop/log/open_focus.html", {"form": continued(log, Focus.Kind.TRIAL)}),
        "fresh": ("loop/log/new_focus.html", {"form": begun(log)}),
        "own-words": ("loop/log/panel.html", {"row": own_words}),
    }
    shared = {
        "lesson_form": log,
        "visibility": log.visibility,
        "student": log.student,
        "lesson": log.lesson,
        "writes": True,
        "base": 0,
    }
    page = render_to_string("loop/log/log.html", {**shared, "layout": "offline/content.html"})
    parts = {name: render_to_string(template, {**shared, **more}) for name, (template, more) in blocks.items()}
    return {"log": page, **parts, "walk-in": walk_in.render()}


def blank_log(coach: Coach, catalogue: CatalogueChoices, academy: Academy) -> LessonForm:
    """The log of a lesson that nobody has had."""
    student = Student(key=STUDENT)
    lesson = Lesson.for_student(student, Session(coach=coach, starts_at=LONG_AGO), key=LESSON, putting=True)
    form = LessonForm(
        student=student,
        academy=academy,
        lesson=lesson,
        last=None,
        visibility=NoteVisibility.of(coach.user, lesson),
        catalogue=catalogue,
        observed={},
        stored_focuses=[],
        given={},
        own_words=OwnWordsLooks(lesson, None),
    )
    show_stored(form)
    for number, focus in enumerate(form.focuses):
        form.focuses[number] = FocusForm(
            None, key=uuid.UUID(int=10 + number), catalogue=catalogue, initial=dict(focus.initial)
        )
    form.stored_focuses.append(Focus(pk=0, key=FOCUS, student=student, area=Area.PUTTING, what=WHAT, opened_in=lesson))
    return form


def continued(log: LessonForm, kind: Focus.Kind) -> FocusForm:
    """The block of a focus of an earlier lesson."""
    [focus] = log.stored_focuses
    about = Focus(key=FOCUS, kind=kind, what=WHAT, opened_in=focus.opened_in)
    initial = {"decision": "open", "unit": "minutes"}
    return FocusForm(None, key=FOCUS, catalogue=log.catalogue, focus=about, continues=True, initial=initial)


def begun(log: LessonForm) -> FocusForm:
    """The block of a focus that begins here with a fault of the catalogue."""
    catalogue = CatalogueChoices([], log.catalogue.offered)
    catalogue.faults, catalogue.fault_names = {FAULT: Fault(code=FAULT, name=WHAT)}, {FAULT: WHAT}
    initial = {"fault": FAULT, "unit": "minutes"}
    return FocusForm(None, key=FOCUS, catalogue=catalogue, focus=Focus(key=FOCUS, what=WHAT), initial=initial)
