"""Scored tests: those so far, one as it is begun, its balls as they are hit, and what it came to."""

import uuid
from datetime import date, timedelta
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Student
from coachbook.accounts.relationships import Tie
from coachbook.forms import render_form
from coachbook.http import Request
from drills.models import Design, ScoredTest
from drills.putting.lengths import listed, shown, stepped, unit_of
from drills.putting.units import Unit
from drills.scored_tests.recording.forms import BallForm, BeginForm
from drills.scored_tests.recording.pad import UNSAID, pad_of, seen_of
from drills.scored_tests.recording.scoring import (
    BACK,
    Refused,
    Taken,
    begin_test,
    finish_test,
    is_untouched,
    note_ball,
    strike_test,
    undo_ball,
)
from drills.scored_tests.stations import Plan, chosen, evenly
from drills.scored_tests.wording import ball_words, told
from lessons.models import Lesson, Session

LESSONS_BACK = timedelta(days=2)  # a test of a lesson is written down with it, or soon after
LONGEST_DAY = timedelta(hours=25)  # when the clocks go back
TAUGHT = (Session.Kind.LESSON, Session.Kind.GROUP)  # only these have an arrival
LAST_WORDS = 3


@require_GET
def tests(request: Request, key: uuid.UUID) -> HttpResponse:
    """The tests of a student so far, latest first, each with what it came to."""
    student = gate.student(request, Act.READ, key)
    found = student.scored_tests.filter(struck=False).select_related("design").prefetch_related("hit")
    may_score = gate.may(student, Act.SCORE)
    rows = [(test, told(test, unit_here(request))) for test in found if test.done_at or test.hit.all()]
    context = {"student": student, "rows": rows, "may_score": may_score}
    return render(request, "drills/scored_tests/recording/tests.html", context)


@require_GET
def test_new(request: Request, key: uuid.UUID) -> HttpResponseRedirect:
    """A fresh address for a test: reload, back, a double tap and a lost reply then all meet the same row."""
    gate.student(request, Act.SCORE, key)
    return redirect("scored_test", key, uuid.uuid4())


@require_http_methods(["GET", "POST"])
def scored_test(request: Request, key: uuid.UUID, test_key: uuid.UUID) -> HttpResponse:
    """Set the test at this address up, note its balls, or read what it came to."""
    student = gate.student(request, act_at(request, test_key), key)
    test = stored_at(test_key, student)
    if request.method == "POST":
        return begin(request, student, test_key, test)
    if test is None or (is_to_set_up(request, test) and gate.may(student, Act.SCORE)):
        return begin_page(request, student, begin_form(request, student, test))
    return one_page(request, student, test)


@require_POST
def test_ball(request: Request, key: uuid.UUID, test_key: uuid.UUID) -> HttpResponse:
    """Note what became of one ball: its number is posted, so that a double tap meets the same ball."""
    student = gate.student(request, Act.SCORE, key)
    test = own_test(student, test_key)
    form = BallForm(request.POST)
    if not form.is_valid():
        return refused(request, student, test, UNSAID)
    try:
        is_new = note(test, plan_at(request, test), **form.cleaned_data)
    except Taken as taken:
        return refused(request, student, test, f"{taken} It says: {ball_words(test, taken.ball)}.")
    except Refused as reason:
        return refused(request, student, test, str(reason))
    return noted(request, student, test, status=201 if is_new else 200)


@require_POST
def test_undo(request: Request, key: uuid.UUID, test_key: uuid.UUID) -> HttpResponse:
    """Take the last ball back; its number is posted, so that a double tap takes back one."""
    student = gate.student(request, Act.SCORE, key)
    test = own_test(student, test_key)
    form = BallForm(request.POST)
    if not form.is_valid():
        return refused(request, student, test, "Say which ball to take back.")
    try:
        undo_ball(test=test, number=form.cleaned_data["number"])
    except Refused as reason:
        return refused(request, student, test, str(reason))
    return noted(request, student, test)


@require_POST
def test_done(request: Request, key: uuid.UUID, test_key: uuid.UUID) -> HttpResponse:
    """Finish the test with the balls so far."""
    student = gate.student(request, Act.SCORE, key)
    test = own_test(student, test_key)
    try:
        finish_test(test=test, at=timezone.now())
    except Refused as reason:
        return refused(request, student, test, str(reason))
    return HttpResponseRedirect(reverse("scored_test", args=[key, test_key]), status=303)


@require_POST
def test_strike(request: Request, key: uuid.UUID, test_key: uuid.UUID) -> HttpResponse:
    """Take a test of the last two weeks back; to do so twice changes nothing more."""
    student = gate.student(request, Act.SCORE, key)
    test = get_object_or_404(student.scored_tests.filter(day__gte=day_here(request) - BACK), key=test_key)
    if not may_strike(request, student, test):
        return refused(request, student, test, "Who recorded it can take it back, and a guardian or a coach.")
    strike_test(test=test)
    messages.success(request, "Taken back. It counts no longer.")
    return HttpResponseRedirect(reverse("tests", args=[key]), status=303)


# --- Begun --------------------------------------------------------------------------------------


def act_at(request: Request, test_key: uuid.UUID) -> Act:
    """What is done at a test's address: one that is there is read, anything else is scoring."""
    reads = request.method == "GET" and ScoredTest.objects.filter(key=test_key).exists()
    return Act.READ if reads else Act.SCORE


def stored_at(test_key: uuid.UUID, student: Student) -> ScoredTest | None:
    """The test at this address; 404 where it is another student's."""
    test = ScoredTest.objects.select_related("design", "lesson", "by").filter(key=test_key).first()
    if test and test.student_id != student.pk:
        raise Http404
    return test


def is_to_set_up(request: Request, test: ScoredTest) -> bool:
    """Whether no ball was hit, and the address does not say from where: then it is asked again."""
    return "plan" not in request.GET and is_untouched(test)


def begin_form(request: Request, student: Student, test: ScoredTest | None) -> BeginForm:
    """The form to set a test up; a coach may set it into a lesson of these days."""
    return BeginForm(
        request.POST if request.method == "POST" else None,
        student=student,
        academy=request.academy,
        on=day_here(request),
        lessons=lessons_of_late(request, student),
        stored=test,
    )


def lessons_of_late(request: Request, student: Student) -> list[Lesson]:
    """The lessons of these days, written down or being so; what a student or guardian records belongs to none."""
    if Tie.SELF in gate.ties_of(student) or not gate.may(student, Act.TEACH):
        return []
    on = day_here(request)
    kept = student.lessons.filter(session__kind__in=TAUGHT, attendance=Lesson.Attendance.KEPT).latest_first()
    near = kept.filter(session__starts_at__gte=timezone.now() - LESSONS_BACK - LONGEST_DAY)
    days = ((lesson, request.academy.today(lesson.session.starts_at)) for lesson in near)
    return [lesson for lesson, day in days if on - LESSONS_BACK <= day <= on]


def begin_page(request: Request, student: Student, form: BeginForm) -> HttpResponse:
    """What is asked before the first ball."""
    unit = unit_here(request)
    cards = [(radio, design, side, usual_words(design, unit)) for radio, design, side in form.cards]
    return render_form(request, "drills/scored_tests/recording/begin.html", form, {"student": student, "cards": cards})


def usual_words(design: Design, unit: Unit) -> str:
    """How many balls a test has, and from where."""
    place = "from each of" if len(design.distances_m) > 1 else "from"
    return f"{design.balls} balls {place} {listed(design.distances_m, unit)}"


def begin(request: Request, student: Student, test_key: uuid.UUID, test: ScoredTest | None) -> HttpResponse:
    """Begin the test once, and go where its balls are noted."""
    form = begin_form(request, student, test)
    if not form.is_valid():
        return begin_page(request, student, form)
    if test and not is_untouched(test):
        messages.info(request, "This test was begun before, and goes on as it was set up then.")
    begin_test(key=test_key, student=student, set_up=form.set_up, by=request.user)
    return HttpResponseRedirect(record_address(student, test_key, form.plan), status=303)


def record_address(student: Student, test_key: uuid.UUID, plan: Plan) -> str:
    """Where the balls are noted; the plan stands in the address."""
    return f"{reverse('scored_test', args=[student.key, test_key])}?{urlencode({'plan': plan.word})}"


# --- Noted --------------------------------------------------------------------------------------


def own_test(student: Student, test_key: uuid.UUID) -> ScoredTest:
    """A test of this student."""
    return get_object_or_404(student.scored_tests.select_related("design", "by"), key=test_key)


def plan_at(request: Request, test: ScoredTest) -> Plan:
    """The plan as page or tap carry it, or else as it was begun, if the balls so far fit it."""
    word = request.POST.get("plan") or request.GET.get("plan") or test.plan
    return chosen(word, evenly(test.design.distances_m, test.design.balls), test.hit.all())


def note(test: ScoredTest, plan: Plan, number: int, what: str, far: str) -> bool:
    """Note a ball from where the plan says; True: it is new. Raises Refused."""
    if number > plan.total:
        raise Refused(f"All {plan.total} balls are noted.")
    distance_m = plan.distance_at(number)
    seen = seen_of(test, distance_m, what, far)
    return note_ball(test=test, number=number, distance_m=distance_m, seen=seen)[1]


def noted(request: Request, student: Student, test: ScoredTest, status: int = 200) -> HttpResponse:
    """The pad for the next ball, or, without a script, the way back to the page."""
    if request.htmx:
        context = pad_context(request, student, test)
        return render(request, "drills/scored_tests/recording/pad.html", context, status=status)
    return HttpResponseRedirect(record_address(student, test.key, plan_at(request, test)), status=303)


def refused(request: Request, student: Student, test: ScoredTest, problem: str) -> HttpResponse:
    """What cannot be, in words, and what is stored."""
    test.refresh_from_db()
    if request.htmx:
        context = pad_context(request, student, test) | {"problem": problem}
        return render(request, "drills/scored_tests/recording/pad.html", context, status=422)
    return one_page(request, student, test, problem)


# --- What is drawn ------------------------------------------------------------------------------


def one_page(request: Request, student: Student, test: ScoredTest, problem: str = "") -> HttpResponse:
    """The page that records while a test goes on, for whoever may; else what it came to."""
    context = pad_context(request, student, test) | {"problem": problem}
    records = context["goes_on"] and gate.may(student, Act.SCORE)
    template = "drills/scored_tests/recording/record.html" if records else "drills/scored_tests/recording/result.html"
    return render(request, template, context, status=422 if problem else 200)


def pad_context(request: Request, student: Student, test: ScoredTest) -> dict[str, Any]:
    """A test with its balls in words, and the ball that comes next."""
    balls, unit = list(test.hit.all()), unit_here(request)
    words = [(ball.number, ball_words(test, ball), shown(ball.distance_m, unit)) for ball in balls]
    return {
        "student": student,
        "test": test,
        "goes_on": not (test.done_at or test.struck),
        "told": told(test, unit),
        "words": words,
        "last": words[-LAST_WORDS:],
        "may_score": gate.may(student, Act.SCORE),
        "may_strike": may_strike(request, student, test) and test.day >= day_here(request) - BACK,
        **next_ball(test, plan_at(request, test), len(balls) + 1, unit),
    }


def next_ball(test: ScoredTest, plan: Plan, number: int, unit: Unit) -> dict[str, Any]:
    """The ball that comes next, from where, and its pad; none after the last."""
    if number > plan.total:
        return {"plan": plan, "number": None}
    distance_m = plan.distance_at(number)
    where = f"{shown(distance_m, unit)} ({stepped(distance_m)})"
    return {"plan": plan, "number": number, "where": where, "pad": pad_of(test, distance_m)}


def may_strike(request: Request, student: Student, test: ScoredTest) -> bool:
    """Whether the person may take a test back: who recorded it, a guardian, a coach."""
    return test.by_id == request.user.pk or bool(gate.ties_of(student) & {*gate.EVERY_COACH, Tie.GUARDIAN})


def day_here(request: Request) -> date:
    """Today, at the academy."""
    return request.academy.today(timezone.now())


def unit_here(request: Request) -> Unit:
    """The unit in which the academy reads lengths."""
    return unit_of(request.academy.units)
