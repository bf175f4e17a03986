"""Scored tests: the list, the set-up of one, its balls as they are noted, and its result."""

import uuid
from collections.abc import Callable
from dataclasses import asdict
from datetime import date, timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.accounts.relationships import Relationship
from coachbook.forms import render_form
from coachbook.http import Request
from coachbook.outbox.once import conflict_status, day_of, once
from drills.library.rows.access import coach_of
from drills.models import Ball, Design, ScoredTest
from drills.putting.lengths import format_length, format_lengths, format_steps, unit_of
from drills.putting.units import Unit
from drills.scored_tests.recording.forms import BallForm, BeginForm
from drills.scored_tests.recording.pad import NO_RESULT, pad_for, read_tap
from drills.scored_tests.recording.scoring import (
    TEST_UNDO_PERIOD,
    AlreadyNoted,
    ScoringError,
    begin_test,
    finish_test,
    has_no_balls,
    note_ball,
    undo_ball,
    void_test,
)
from drills.scored_tests.stations import Plan, choose_plan, even_plan
from drills.scored_tests.wording import aim_words, ball_words, child_aim_words, summarise_test
from lessons.models import Lesson, Session

RECENT_LESSONS = timedelta(days=2)  # the test of a lesson is recorded during it or soon after
LONGEST_DAY = timedelta(hours=25)  # when the clocks go back
TAUGHT = (Session.Kind.LESSON, Session.Kind.GROUP)  # only these have an arrival
LAST_BALLS = 3


@require_GET
def tests(request: Request, key: uuid.UUID) -> HttpResponse:
    """The tests of a student, latest first, each with its result in counts."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    found = student.scored_tests.filter(is_void=False).select_related("design").prefetch_related("balls")
    may_score = gate.is_allowed(student, Permission.RECORD_SCORES)
    rows = [(test, summarise_test(test, academy_unit(request))) for test in found if test.done_at or test.balls.all()]
    context = {"student": student, "rows": rows, "may_score": may_score}
    return render(request, "drills/scored_tests/recording/tests.html", context)


@require_GET
def test_new(request: Request, key: uuid.UUID) -> HttpResponseRedirect:
    """Redirect to the URL of a new key, so that reload, back, a double tap and a lost reply all reach the same row."""
    gate.get_student(request, Permission.RECORD_SCORES, key)
    return redirect("scored_test", key, uuid.uuid4())


@once
@require_http_methods(["GET", "POST"])
def scored_test(request: Request, key: uuid.UUID, test_key: uuid.UUID) -> HttpResponse:
    """Set up the test with this key, note its balls, or read its result."""
    student = gate.get_student(request, permission_at(request, test_key), key)
    test = find_test(test_key, student)
    if request.method == "POST":
        return begin(request, student, test_key, test)
    if test is None or (is_to_set_up(request, test) and gate.is_allowed(student, Permission.RECORD_SCORES)):
        return render_begin(request, student, begin_form(request, student, test))
    return render_test(request, student, test)


@once
@require_POST
def test_ball(request: Request, key: uuid.UUID, test_key: uuid.UUID) -> HttpResponse:
    """Note one ball: its number is posted, so that a double tap stores one ball."""
    student = gate.get_student(request, Permission.RECORD_SCORES, key)
    test = own_test(student, test_key)
    form = BallForm(request.POST)
    if not form.is_valid():
        return refuse(request, student, test, NO_RESULT)
    try:
        is_new = note_tap(test, plan_at(request, test), **form.cleaned_data)
    except AlreadyNoted as reason:
        stored, tapped = (ball_words(test, ball) for ball in (reason.ball, Ball(**asdict(reason.seen))))
        both = f"{reason} Its result: {stored}. Tapped on this phone: {tapped}."
        return refuse(request, student, test, both, conflict_status(request))
    except ScoringError as reason:
        return refuse(request, student, test, str(reason))
    return render_next_ball(request, student, test, status=201 if is_new else 200)


@once
@require_POST
def test_undo(request: Request, key: uuid.UUID, test_key: uuid.UUID) -> HttpResponse:
    """Undo the last ball; its number is posted, so that a double tap undoes one."""
    student = gate.get_student(request, Permission.RECORD_SCORES, key)
    test = own_test(student, test_key)
    form = BallForm(request.POST)
    if not form.is_valid():
        return refuse(request, student, test, "Choose the ball to undo.")
    try:
        undo_ball(test=test, number=form.cleaned_data["number"])
    except ScoringError as reason:
        return refuse(request, student, test, str(reason))
    return render_next_ball(request, student, test)


@once
@require_POST
def test_done(request: Request, key: uuid.UUID, test_key: uuid.UUID) -> HttpResponse:
    """Finish the test with the balls so far."""
    student = gate.get_student(request, Permission.RECORD_SCORES, key)
    test = own_test(student, test_key)
    try:
        finish_test(test=test, at=timezone.now())
    except ScoringError as reason:
        return refuse(request, student, test, str(reason))
    return HttpResponseRedirect(reverse("scored_test", args=[key, test_key]), status=303)


@require_POST
def test_void(request: Request, key: uuid.UUID, test_key: uuid.UUID) -> HttpResponse:
    """Undo a test of the last two weeks; a second time changes nothing."""
    student = gate.get_student(request, Permission.RECORD_SCORES, key)
    since = academy_today(request) - TEST_UNDO_PERIOD
    test = get_object_or_404(student.scored_tests.filter(day__gte=since), key=test_key)
    if not may_void(request, student, test):
        return refuse(request, student, test, "Only the person who recorded it, a guardian or a coach can undo it.")
    void_test(test=test)
    messages.success(request, "Undone. This test no longer counts.")
    return HttpResponseRedirect(reverse("tests", args=[key]), status=303)


# --- Set-up -------------------------------------------------------------------------------------


def permission_at(request: Request, test_key: uuid.UUID) -> Permission:
    """READ_RECORD for a GET of a test that exists, else RECORD_SCORES."""
    reads = request.method == "GET" and ScoredTest.objects.filter(key=test_key).exists()
    return Permission.READ_RECORD if reads else Permission.RECORD_SCORES


def find_test(test_key: uuid.UUID, student: Student) -> ScoredTest | None:
    """The test with this key, or None; 404 if it is another student's."""
    return gate.own_or_new(student.scored_tests.select_related("design", "lesson", "by"), test_key)


def is_to_set_up(request: Request, test: ScoredTest) -> bool:
    """Whether the test has no ball and the URL has no plan: then its set-up is shown again."""
    return "plan" not in request.GET and has_no_balls(test)


def begin_form(request: Request, student: Student, test: ScoredTest | None) -> BeginForm:
    """The form to set up a test; a coach may assign it to a recent lesson."""
    return BeginForm(
        request.POST if request.method == "POST" else None,
        student=student,
        academy=request.academy,
        on=day_of(request),
        lessons=recent_lessons(request, student),
        stored=test,
        coach=coach_of(request.user),
    )


def recent_lessons(request: Request, student: Student) -> list[Lesson]:
    """The kept lessons of the last two days; none for a student or guardian, whose tests belong to no lesson."""
    if Relationship.SELF in gate.relationships_of(student) or not gate.is_allowed(student, Permission.LOG_LESSONS):
        return []
    on = academy_today(request)
    kept = student.lessons.filter(session__kind__in=TAUGHT, attendance=Lesson.Attendance.KEPT).latest_first()
    near = kept.filter(session__starts_at__gte=timezone.now() - RECENT_LESSONS - LONGEST_DAY)
    days = ((lesson, request.academy.today(lesson.session.starts_at)) for lesson in near)
    return [lesson for lesson, day in days if on - RECENT_LESSONS <= day <= on]


def render_begin(request: Request, student: Student, form: BeginForm) -> HttpResponse:
    """The page that sets up a test."""
    unit = academy_unit(request)
    aim_of = aim_writer(request, student)
    choices = [
        (radio, design, side, usual_words(design, unit), aim_of(design, unit))
        for radio, design, side in form.design_choices
    ]
    context = {"student": student, "design_choices": choices}
    return render_form(request, "drills/scored_tests/recording/begin.html", form, context)


def aim_writer(request: Request, student: Student) -> Callable[[Design | ScoredTest, Unit], str]:
    """What says where putts are meant to stop: to a child who plays in a child's words, to a coach in plain ones."""
    reads_as_child = student.is_child(academy_today(request), request.academy.child_until)
    return child_aim_words if reads_as_child and not gate.is_allowed(student, Permission.READ_NOTES) else aim_words


def usual_words(design: Design, unit: Unit) -> str:
    """The usual number of balls and distances of a test, in words."""
    place = "from each of" if len(design.distances_m) > 1 else "from"
    return f"{design.balls} balls {place} {format_lengths(design.distances_m, unit)}"


def begin(request: Request, student: Student, test_key: uuid.UUID, test: ScoredTest | None) -> HttpResponse:
    """Begin the test once, and redirect to the page that records its balls."""
    form = begin_form(request, student, test)
    if not form.is_valid():
        return render_begin(request, student, form)
    if test and not has_no_balls(test):
        messages.info(request, "This test has already begun; it continues with its first set-up.")
    begin_test(key=test_key, student=student, set_up=form.set_up, by=request.user)
    return HttpResponseRedirect(record_address(student, test_key, form.plan), status=303)


def record_address(student: Student, test_key: uuid.UUID, plan: Plan) -> str:
    """The URL of the page that records the balls, with the plan."""
    return f"{reverse('scored_test', args=[student.key, test_key])}?{urlencode({'plan': plan.word})}"


# --- Balls --------------------------------------------------------------------------------------


def own_test(student: Student, test_key: uuid.UUID) -> ScoredTest:
    """A test of this student."""
    return get_object_or_404(student.scored_tests.select_related("design", "by"), key=test_key)


def plan_at(request: Request, test: ScoredTest) -> Plan:
    """The plan of the request, or else the one stored with the test, if the balls so far fit it."""
    word = request.POST.get("plan") or request.GET.get("plan") or test.plan
    return choose_plan(word, even_plan(test.design.distances_m, test.design.balls), test.balls.all())


def note_tap(test: ScoredTest, plan: Plan, number: int, what: str, far: str) -> bool:
    """Note a ball from its planned distance, and return whether it is new. Raises ScoringError."""
    if number > plan.total:
        raise ScoringError(f"All {plan.total} balls are noted.")
    distance_m = plan.distance_at(number)
    seen = read_tap(test, distance_m, what, far)
    return note_ball(test=test, number=number, distance_m=distance_m, seen=seen)[1]


def render_next_ball(request: Request, student: Student, test: ScoredTest, status: int = 200) -> HttpResponse:
    """The pad for the next ball, or, without a script, a redirect to the page."""
    if request.htmx:
        context = pad_context(request, student, test)
        return render(request, "drills/scored_tests/recording/pad.html", context, status=status)
    return HttpResponseRedirect(record_address(student, test.key, plan_at(request, test)), status=303)


def refuse(request: Request, student: Student, test: ScoredTest, problem: str, status: int = 422) -> HttpResponse:
    """A refusal, with the problem in words and what is stored."""
    test.refresh_from_db()
    if request.htmx:
        context = pad_context(request, student, test) | {"problem": problem}
        return render(request, "drills/scored_tests/recording/pad.html", context, status=status)
    return render_test(request, student, test, problem, status)


# --- Rendering ----------------------------------------------------------------------------------


def render_test(
    request: Request, student: Student, test: ScoredTest, problem: str = "", status: int = 200
) -> HttpResponse:
    """The page that records the balls while the test is open, for a user who may; else the page of its balls."""
    context = pad_context(request, student, test) | {"problem": problem}
    is_recording = context["is_open"] and gate.is_allowed(student, Permission.RECORD_SCORES)
    name = "record" if is_recording else "result"
    return render(request, f"drills/scored_tests/recording/{name}.html", context, status=status)


def pad_context(request: Request, student: Student, test: ScoredTest) -> dict[str, Any]:
    """A test, its balls in words, and the next ball."""
    balls, unit = list(test.balls.all()), academy_unit(request)
    noted = [(ball.number, ball_words(test, ball), format_length(ball.distance_m, unit)) for ball in balls]
    return {
        "student": student,
        "test": test,
        "is_open": not (test.done_at or test.is_void),
        "summary": summarise_test(test, unit),
        "aim": "" if balls else aim_writer(request, student)(test, unit),
        "noted_balls": noted,
        "last_balls": noted[-LAST_BALLS:],
        "may_score": gate.is_allowed(student, Permission.RECORD_SCORES),
        "may_void": may_void(request, student, test) and test.day >= academy_today(request) - TEST_UNDO_PERIOD,
        **next_ball(test, plan_at(request, test), len(balls) + 1, unit),
        "stations": stations_words(plan_at(request, test), unit),
    }


def stations_words(plan: Plan, unit: Unit) -> str:
    """The distances of a plan with their balls, for a phone without a network: "1 m*10|1.5 m*10"."""
    return "|".join(f"{format_length(station.distance_m, unit)}*{station.balls}" for station in plan.stations)


def next_ball(test: ScoredTest, plan: Plan, number: int, unit: Unit) -> dict[str, Any]:
    """Number, distance and pad of the next ball; no number after the last one."""
    if number > plan.total:
        return {"plan": plan, "number": None}
    distance_m = plan.distance_at(number)
    where = f"{format_length(distance_m, unit)} ({format_steps(distance_m)})"
    return {"plan": plan, "number": number, "where": where, "pad": pad_for(test, distance_m)}


def may_void(request: Request, student: Student, test: ScoredTest) -> bool:
    """Whether the user may undo a test: who recorded it, a guardian, a coach."""
    return test.by_id == request.user.pk or bool(
        gate.relationships_of(student) & {*gate.COACHES, Relationship.GUARDIAN}
    )


def academy_today(request: Request) -> date:
    """Today, at the academy."""
    return request.academy.today(timezone.now())


def academy_unit(request: Request) -> Unit:
    """The unit in which the academy reads lengths."""
    return unit_of(request.academy.units)
