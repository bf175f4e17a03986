"""Closing an account and reopening it, with the appointments that it touches."""

import uuid
from datetime import date, datetime

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Care, User
from coachbook.accounts.views.people import set_active
from coachbook.diary.following.acts import effect_of_closing
from coachbook.diary.following.forms import FollowForm, render_act
from coachbook.diary.following.rearranging import rearrange
from coachbook.diary.following.touched import touched_by
from coachbook.diary.following.undo import Back, bring_back_what_can_be
from coachbook.diary.models import Rearrangement
from coachbook.http import Request

CLOSE = Rearrangement.Reason.CLOSE


@require_http_methods(["GET", "POST"])
def person_close(request: Request, key: uuid.UUID) -> HttpResponse:
    """Close an account: access ends at the next request; nothing the person wrote is lost."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    user, now = get_object_or_404(User.objects.select_related("coach"), key=key), timezone.now()
    if user == request.user:
        messages.error(request, "You cannot close your own account. Ask another manager.")
        return redirect("people")
    follow = FollowForm(request.POST, touched_by(effect_of_closing(user, request.academy, now), now))
    if request.method == "POST" and follow.is_valid():
        close_with_appointments(user, follow, request.user, now)
        messages.success(request, f"The account of {user} is closed. You can reopen it at any time.")
        return redirect("people")
    context = {"person": user, "in_care": students_in_care(user, request.academy.today(now))}
    return render_act(request, "diary/following/close.html", None, follow, context)


@require_POST
def person_reopen(request: Request, key: uuid.UUID) -> HttpResponseRedirect:
    """Reopen a closed account, with the password it had, and with the appointments that its closing changed."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    user = get_object_or_404(User, key=key)
    back = reopen_with_appointments(user, request.user, timezone.now())
    messages.success(request, f"The account of {user} is open again. {back.words}".strip())
    return redirect("people")


def students_in_care(user: User, on: date) -> int:
    """How many students a coach has as main coach."""
    return Care.objects.in_force(on).filter(coach__user=user, role=Care.Role.MAIN).values("student").distinct().count()


@transaction.atomic
def close_with_appointments(user: User, follow: FollowForm, by: User, at: datetime) -> None:
    """Close an account with what becomes of the appointments."""
    set_active(user, False)
    rearrange(follow.decisions, reason=CLOSE, by=by, at=at, person=user)


@transaction.atomic
def reopen_with_appointments(user: User, by: User, at: datetime) -> Back:
    """Reopen an account, and which appointments came back."""
    set_active(user, True)
    return bring_back_what_can_be(Rearrangement.objects.filter(person=user, reason=CLOSE), by=by, at=at)
