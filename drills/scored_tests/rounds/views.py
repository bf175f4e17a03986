"""A student's rounds in four numbers: does it reach the course?"""

import uuid
from datetime import date, timedelta
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Student
from coachbook.forms import render_form
from coachbook.http import Request
from drills.models import Round
from drills.scored_tests.rounds.forms import RoundForm
from drills.scored_tests.rounds.picture import Picture
from drills.scored_tests.rounds.summary import SHOWN, change_words, numbers, per_18
from lessons.progress.words import counted

BACK = timedelta(days=14)  # so long after it was written down a round may be taken back


@require_GET
def rounds(request: Request, key: uuid.UUID) -> HttpResponse:
    """The rounds of two years: their numbers, the picture, and the form for another."""
    student = gate.student(request, Act.READ, key)
    return page(request, student, RoundForm(on=day_here(request)))


@require_POST
def round_report(request: Request, key: uuid.UUID, round_key: uuid.UUID) -> HttpResponse:
    """Write a round down, once: its key is in the address, so that a double tap meets the same row."""
    student = gate.student(request, Act.SCORE, key)
    form = RoundForm(request.POST, on=day_here(request), stored=stored_at(round_key, student))
    if not form.is_valid():
        return page(request, student, form)
    row, _ = Round.objects.get_or_create(
        key=round_key, defaults={"student": student, "by": request.user, **form.cleaned_data}
    )
    return done(request, student, row)


@require_POST
def round_strike(request: Request, key: uuid.UUID, round_key: uuid.UUID) -> HttpResponse:
    """Take a round back that was written down within two weeks; to do so twice changes nothing more."""
    student = gate.student(request, Act.SCORE, key)
    row = get_object_or_404(student.rounds.filter(pk__in=fresh(student)), key=round_key)
    if not row.struck:
        row.struck = True
        row.save(update_fields=["struck"])
    return done(request, student, row)


def day_here(request: Request) -> date:
    """Today, at the academy."""
    return request.academy.today(timezone.now())


def stored_at(key: uuid.UUID, student: Student) -> Round | None:
    """The round at this address; 404 where it is another student's."""
    row = Round.objects.filter(key=key).first()
    if row and row.student_id != student.pk:
        raise Http404
    return row


def fresh(student: Student) -> set[int]:
    """The rounds that may be taken back. A wrong day must not keep it from that, so the day played does not count."""
    own = student.rounds.values("pk")  # a merged page brought some along that were written down on another
    written = Round.history.filter(id__in=own, history_type="+", history_date__gte=timezone.now() - BACK)
    return set(written.values_list("id", flat=True))


def done(request: Request, student: Student, row: Round) -> HttpResponseRedirect:
    """Say what became of the round, and back to the page."""
    what = "Taken back" if row.struck else "Written down"
    told = f"{counted(row.putts, 'putt')} on {row.holes} holes"
    messages.success(request, f"{what} for {date_format(row.day, 'j F Y')}: {told}.")
    return HttpResponseRedirect(reverse("rounds", args=[student.key]), status=303)


def page(request: Request, student: Student, form: RoundForm) -> HttpResponse:
    """The page; with a form that cannot be, 422 and all that was typed."""
    since = day_here(request) - SHOWN
    found = list(student.rounds.filter(struck=False, day__gte=since).order_by("day", "pk"))
    tests = sorted(set(student.scored_tests.done().since(since).values_list("day", flat=True)))
    context = {
        "student": student,
        "rows": rows(found, fresh(student)),
        "numbers": numbers(found, counts_only=not gate.may(student, Act.NOTES)),
        "change": change_words(found),
        "picture": Picture(found, tests) if found else None,
        "may_score": gate.may(student, Act.SCORE),
        "round_key": uuid.uuid4(),
    }
    return render_form(request, "drills/scored_tests/rounds/rounds.html", form, context)


def rows(found: list[Round], strikable: set[int]) -> list[dict[str, Any]]:
    """The rounds as the table says them, newest first."""
    return [
        {
            "round": each,
            "per_18": per_18(each.putts, each.holes),
            "up_and_downs": f"{each.made} of {each.tried}" if each.tried else "",
            "may_strike": each.pk in strikable,
        }
        for each in reversed(found)
    ]
