"""Who teaches whom: a student's second coaches, and a caseload handed over."""

import uuid
from datetime import date, datetime
from functools import partial
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Care, Coach, Student
from coachbook.caseload.care import second_coach
from coachbook.caseload.care.assignments import move_student
from coachbook.caseload.care.changing import change_care
from coachbook.caseload.care.effects import effect_of_cover, effect_of_ending, effect_of_hand_over, effect_of_move
from coachbook.caseload.care.forms import CareForm, HandOverForm
from coachbook.caseload.forms import MoveForm
from coachbook.caseload.views import today
from coachbook.diary.following.forms import FollowForm, render_act
from coachbook.diary.following.touched import Effect, touched_by
from coachbook.http import Request


@require_http_methods(["GET", "POST"])
def care(request: Request, key: uuid.UUID) -> HttpResponse:
    """Who teaches a student now, later and earlier, and a second coach for them."""
    student = gate.get_student(request, Permission.MANAGE_COACHES, key)
    on = today(request)
    by_time, follow, now = second_coach.coaches_by_time(student, on), None, timezone.now()
    form = CareForm(posted(request), student=student, cares=by_time.all, today=on)
    if form.is_valid():
        follow = follow_form(request, effect_of_cover(student, by_time.all, request.academy, now, **form.care), now)
        if follow.is_valid():
            given = change_care(
                lambda: second_coach.add_second_coach(student=student, by=request.user, **form.care),
                students=[student.pk],
                summary="A second coach was added",
                student=student,
                **decided(request, follow, now),
            )
            messages.success(request, second_coach_words(given, on))
            return redirect("care", key=key)
    lacks_consent = second_coach.without_consent_to_share(
        Student.objects.filter(pk=student.pk), request.academy, on
    ).exists()
    context = {
        "student": student,
        "coaches_by_time": by_time,
        "lacks_consent": lacks_consent,
        "on": on,
    }
    context["second"] = second_coach.SECOND
    return render_act(request, "caseload/care/care.html", form, follow, context)


@require_POST
def care_end(request: Request, key: uuid.UUID, number: int) -> HttpResponse:
    """End a second coach's care before its last day; to end it twice is to end it once.

    Where the coach has lessons to come, the page asks first what becomes of them.
    """
    student = gate.get_student(request, Permission.MANAGE_COACHES, key)
    on, now = today(request), timezone.now()
    care = student.cares.filter(pk=number, role__in=second_coach.SECOND).select_related("coach__user").first()
    if care is None and not Care.history.filter(id=number, student=student, role__in=second_coach.SECOND).exists():
        raise Http404
    if care and (care.until is None or care.until >= on):
        follow = follow_form(request, effect_of_ending(care, request.academy, now, on), now)
        if not follow.is_valid():
            return render_act(request, "caseload/care/end.html", None, follow, {"student": student, "care": care})
        change_care(
            partial(second_coach.end_care, care=care, on=on, by=request.user),
            students=[student.pk],
            summary="The care of a second coach was ended",
            student=student,
            **decided(request, follow, now),
        )
        messages.success(request, f"{care.coach} is no longer {care.get_role_display()} coach of {student}.")
    return redirect("care", key=key)


@require_http_methods(["GET", "POST"])
def hand_over(request: Request, coach: uuid.UUID) -> HttpResponse:
    """Give all students of a coach to another one, for good or for some days."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    teacher = get_object_or_404(Coach.objects.select_related("user"), user__key=coach)
    on = today(request)
    form, follow, now = HandOverForm(posted(request), coach=teacher, today=on), None, timezone.now()
    if form.is_valid():
        plan = form.hand_over
        follow = follow_form(request, effect_of_hand_over(teacher, form.cares, request.academy, now, **plan), now)
        if follow.is_valid():
            number = change_care(
                lambda: second_coach.hand_over(coach=teacher, by=request.user, **plan),
                students={care.student_id for care in second_coach.main_cares_among(form.cares)},
                summary="The caseload was handed over",
                person=teacher.user,
                **decided(request, follow, now),
            )
            messages.success(request, hand_over_words(teacher, number, plan, on))
            return redirect("coach_caseload", teacher.user.key)
    students = Student.objects.filter(cares__in=second_coach.main_cares_between(teacher, on)).distinct()
    lacks_consent = second_coach.lacks_consent_to_share(request.academy, on)
    found = list(students.annotate(lacks_consent=lacks_consent).order_by("name", "pk"))
    lacking = [student for student in found if vars(student)["lacks_consent"]]
    context = {"coach": teacher, "number": len(found), "lacks_consent": lacking}
    return render_act(request, "caseload/care/hand_over.html", form, follow, context)


@require_http_methods(["GET", "POST"])
def student_move(request: Request, key: uuid.UUID) -> HttpResponse:
    """Give a student another main coach, from a day on."""
    student = gate.get_student(request, Permission.MANAGE_ACADEMY, key)
    on, now = today(request), timezone.now()
    of_student = list(student.cares.select_related("coach__user").order_by("since", "pk"))
    cares = [care for care in of_student if care.role == Care.Role.MAIN and (care.until is None or care.until >= on)]
    asked = request.GET.get("from", "")
    coach = next((care.coach for care in cares if asked in ("", str(care.coach.user.key))), None)
    form, follow = MoveForm(posted(request), cares=cares, today=on, taken_from=asked), None
    if form.is_valid():
        follow = follow_form(request, effect_of_move(student, of_student, request.academy, now, **form.move), now)
        if follow.is_valid():
            change_care(
                lambda: move_student(student=student, by=request.user, **form.move),
                students=[student.pk],
                summary="The main coach was changed",
                student=student,
                **decided(request, follow, now),
            )
            messages.success(request, moved_words(student, form.move["to"], form.move["since"], on))
            return redirect("coach_caseload", coach.user.key) if coach else redirect("caseload")
    context = {"student": student, "cares": cares, "coach": coach}
    return render_act(request, "caseload/care/move.html", form, follow, context)


def posted(request: Request) -> QueryDict | None:
    """What was posted."""
    return request.POST if request.method == "POST" else None


def follow_form(request: Request, effect: Effect, at: datetime) -> FollowForm:
    """What becomes of the appointments that an act touches."""
    return FollowForm(request.POST, touched_by(effect, at))


def decided(request: Request, follow: FollowForm, at: datetime) -> dict[str, Any]:
    """What was decided about appointments, by whom and when, for `change_care`."""
    return {"decisions": follow.decisions, "by": request.user, "at": at}


def moved_words(student: Student, to: Coach, since: date, on: date) -> str:
    """What a move comes to."""
    day = "today" if since == on else date_format(since, "j F Y")
    return f"{student} is with {to} from {day} on."


def second_coach_words(care: Care, on: date) -> str:
    """What a second coach comes to."""
    return f"{care.coach} is {care.get_role_display()} coach {days_words(care.since, care.until, on)}."


def hand_over_words(coach: Coach, number: int, plan: dict[str, Any], on: date) -> str:
    """What a hand-over comes to."""
    whom = f"{number} student{'' if number == 1 else 's'} of {coach} {'is' if number == 1 else 'are'}"
    manner = " as covering coach" if plan["until"] else ""
    return f"{whom} with {plan['to']}{manner} {days_words(plan['since'], plan['until'], on)}."


def days_words(since: date, until: date | None, on: date) -> str:
    """From a day on, or until another."""
    day = "today" if since == on else date_format(since, "j F Y")
    return f"from {day} until {date_format(until, 'j F Y')}" if until else f"from {day} on"
