"""Accounts: the list of people, inviting, and the pages for those who were invited."""

import unicodedata
import uuid
from datetime import datetime
from typing import Any

import segno
from allauth.account.internal.flows.login import perform_login, record_authentication
from allauth.account.models import Login
from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.core.mail import send_mail
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from coachbook import navigation
from coachbook.accounts import gate
from coachbook.accounts.forms import ChoosePasswordForm, InvitePersonForm, OneTimeCodeForm
from coachbook.accounts.gate import Permission
from coachbook.accounts.limits import TooManyTries, count_try
from coachbook.accounts.models import Academy, Invitation, StudentQuerySet, User
from coachbook.accounts.one_time_codes import exchange_for_token, find_by_code, issue_slip
from coachbook.accounts.outgoing import has_mail_server
from coachbook.accounts.sessions import end_sessions
from coachbook.forms import render_form
from coachbook.http import Request, mailed_link

SEARCHED_FROM = 12  # rows: a shorter list is read faster than it is searched


@require_GET
def people(request: Request) -> HttpResponse:
    """Everybody who has an account, and a search among their names and those of the children of guardians."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    everybody, q = list(User.objects.for_list()), request.GET.get("q", "")
    found = [
        person
        for person in everybody
        if all(part in without_accents(names_of(person)) for part in without_accents(q).split())
    ]
    context = {"people": found, "q": q, "has_search": bool(q) or len(everybody) >= SEARCHED_FROM}
    return render(request, "accounts/people.html", context)


def names_of(person: User) -> str:
    """Every name by which somebody may look for a person."""
    children = (guardianship.student.name for guardianship in person.guardianships.all())
    return " ".join([person.name, person.email, person.username, *children])


def without_accents(words: str) -> str:
    """Words without what people type in different ways: capitals and accents."""
    letters = unicodedata.normalize("NFKD", words.casefold())
    return "".join(letter for letter in letters if not unicodedata.combining(letter))


@require_http_methods(["GET", "POST"])
def person_invite(request: Request) -> HttpResponse:
    """Invite a coach, a guardian or another manager."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    students = gate.get_students(request)
    form = InvitePersonForm(
        request.POST or None, students=students, by=request.user, initial=initial_for_child(request, students)
    )
    if form.is_valid() and (user := form.save_or_report()):
        return show_invitation(request, user)
    return render_form(request, "accounts/person_invite.html", form)


def initial_for_child(request: Request, students: StudentQuerySet) -> dict[str, object]:
    """The initial values, where somebody came from a child's page."""
    key = request.GET.get("child", "")
    child = next((student for student in students if str(student.key) == key), None) if key else None
    return {"role": "guardian", "child": child} if child else {}


@require_POST
def person_link(request: Request, key: uuid.UUID) -> HttpResponse:
    """A new invitation for somebody who lost the old one; for an account in use, a second person is asked."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    user = get_object_or_404(User, key=key)
    if user.is_opened:
        return render_access_question(request, user, navigation.address("person_access_ask", key))
    return show_invitation(request, user)


def render_access_question(request: Request, user: User, action: str, **names: str) -> HttpResponse:
    """What would be asked of a second person before somebody gets a new way into an account, and the button."""
    return render(request, "accounts/ask_access.html", {"person": user, "action": action, "names": names})


def set_active(user: User, active: bool) -> None:
    """Open or close an account; neither its old sessions nor its invitations open it again."""
    user.is_active = active
    user.save(update_fields=["is_active"])
    end_sessions(user, timezone.now())
    user.invitations.filter(accepted_at=None).delete()


def show_invitation(request: Request, user: User) -> HttpResponse:
    """Create an invitation: a link, which is mailed; without an address a slip with a code.

    Coaches and managers get a link in any case: it is longer than a code. A link that was mailed is shown to nobody;
    where it could not be mailed it is shown once, and kept is who saw it.
    """
    if not (user.email or user.is_coach or user.is_manager):
        return show_slip(request, user)
    token = Invitation.issue(user, by=request.user, at=timezone.now())
    link = mailed_link(request, reverse("invitation", args=[token]))
    context = {"person": user, "link": link, "days": settings.INVITATION_DAYS, "academy": request.academy}
    mailed = mail_invitation(user, context)
    if mailed != "sent":
        Invitation.record_shown(token, request.user)
        context["scan"] = code_to_scan(link)
    return render(request, "accounts/invited.html", {**context, "mailed": mailed})


def show_slip(request: Request, user: User) -> HttpResponse:
    """Create a one-time code and show its slip once, to be printed or copied, in words for whoever gets it."""
    slip = issue_slip(user, by=request.user, at=timezone.now())
    context = {
        "person": user,
        "code": slip.code,
        "scan": code_to_scan(mailed_link(request, reverse("invitation", args=[slip.token]))),
        "address": request.build_absolute_uri(reverse("one_time_code")),
        "days": settings.INVITATION_DAYS,
        "academy": request.academy,
        "reader": reader_of_slip(user, request.academy),
    }
    return render(request, "accounts/slip.html", context)


def reader_of_slip(user: User, academy: Academy) -> str:
    """To whom a slip speaks: a "child" (whoever may be one), an adult "student", or a "guardian"."""
    if not hasattr(user, "student"):
        return "guardian"
    is_junior = user.student.is_junior(academy.today(timezone.now()), academy.adult_at)
    return "child" if is_junior else "student"


def code_to_scan(link: str) -> str:
    """A link as a QR code (ISO/IEC 18004), drawn as the data of an image."""
    code: str = segno.make(link, error="m", micro=False).svg_data_uri(dark="#000", light="#fff", border=4)
    return code


def mail_invitation(user: User, context: dict[str, Any]) -> str:
    """Whether the invitation went out by mail: "sent", "failed", "filed" without a mail server, or ""."""
    if not user.email:
        return ""
    text = render_to_string("accounts/mail/invitation.txt", context)
    try:
        subject = " ".join(f"Your account at {context['academy']}".split())  # no line end ends the header
        send_mail(subject, text, None, [user.email])
    except OSError:  # the page shows the link then; smtplib's errors are OSErrors, too
        return "failed"
    return "sent" if has_mail_server() else "filed"


@login_not_required
@never_cache
@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def one_time_code(request: HttpRequest) -> HttpResponse:
    """Exchange a user name and a one-time code for the page to choose a password.

    Every failure gives the same answer after the same work; tries are counted by name and by address (ASVS
    v5.0.0-6.3.1).
    """
    form = OneTimeCodeForm(request.POST if request.method == "POST" else None)
    if not form.is_valid():
        return render_form(request, "accounts/one_time_code.html", form)
    username, code = form.cleaned_data["username"], form.cleaned_data["code"]
    try:
        count_try(request, "code", username)
    except TooManyTries as refusal:
        form.add_error("code", str(refusal))
        return render(request, "accounts/one_time_code.html", {"form": form}, status=429)
    invitation = find_by_code(username, code, timezone.now())
    if invitation is None:
        form.add_error("code", OneTimeCodeForm.WRONG)
        return render_form(request, "accounts/one_time_code.html", form)
    return redirect("invitation", token=exchange_for_token(invitation))


@login_not_required
@never_cache
@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def invitation(request: HttpRequest, token: str) -> HttpResponse:
    """Choose a password and sign in: for the person with the token, once."""
    usable = Invitation.objects.usable(token, timezone.now()).first()
    if usable is None or not usable.user.is_active:
        return render(request, "accounts/invitation_gone.html", status=404)
    form = ChoosePasswordForm(usable.user, request.POST or None)
    if form.is_valid():
        if not accept(usable, form, timezone.now()):
            return render(request, "accounts/invitation_gone.html", status=404)
        return sign_in(request, usable.user)
    return render_form(request, "accounts/invitation.html", form, {"person": usable.user})


def sign_in(request: HttpRequest, user: User) -> HttpResponse:
    """Sign in who has just chosen a password; who has a second factor is asked for it first."""
    record_authentication(request, user, "invitation")
    response: HttpResponse = perform_login(request, Login(user=user))
    return response


@transaction.atomic
def accept(invitation: Invitation, form: ChoosePasswordForm, at: datetime) -> bool:
    """Use the invitation and store the password with who saw the link; of several at once, the first alone does."""
    if not Invitation.objects.filter(pk=invitation.pk, accepted_at=None, expires_at__gt=at).update(accepted_at=at):
        return False
    form.user.link_seen_by_id = invitation.shown_to_id
    form.save()
    return True
