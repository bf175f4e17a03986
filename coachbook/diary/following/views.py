"""Closing an account and reopening it, with the appointments that it touches."""

import uuid

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import User
from coachbook.diary.following.acts import effect_of_closing
from coachbook.diary.following.closing import close_with_appointments, reopen_with_appointments, students_in_care
from coachbook.diary.following.forms import FollowForm, render_act
from coachbook.diary.following.touched import touched_by
from coachbook.http import Request


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
