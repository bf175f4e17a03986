"""The pages of a student's thread of messages."""

import uuid

from django.contrib import messages as notices
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.family.forms import MessageForm
from coachbook.family.messages.thread import Readers, readers_of, send_message
from coachbook.family.messages.unread import mark_read, notes_of, unread_of
from coachbook.forms import LONGEST_KEY, render_form
from coachbook.http import Request

PAGE_SIZE = 50
SENT_ALREADY = "Your earlier message was sent. To send this one as well, press the button again."
NO_GUARDIAN = "No guardian can read this yet, so nothing can be sent."


@require_GET
def messages(request: Request, key: uuid.UUID) -> HttpResponse:
    """The thread: its latest messages, who reads it, and a form to write."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    form = MessageForm(student=student, initial={"answers": request.GET.get("answers", "")})
    return render_thread(request, student, form, readers_now(request, student))


@require_POST
def message_write(request: Request, key: uuid.UUID, message_key: uuid.UUID) -> HttpResponse:
    """Send a message once: its key is in the address, so a double tap sends nothing twice."""
    student = gate.get_student(request, Permission.SEND_MESSAGES, key)
    gate.own_or_new(student.messages.all(), message_key)
    form, readers = MessageForm(request.POST, student=student), readers_now(request, student)
    if not readers.is_open:
        form.add_error("text", NO_GUARDIAN)
    if not form.is_valid():
        return render_thread(request, student, form, readers)
    text, now = form.cleaned_data["text"], timezone.now()
    sent = send_message(key=message_key, student=student, by=request.user, text=text, at=now, answers=form.note)
    if (sent.student_id, sent.written_by_id) != (student.pk, request.user.pk):
        raise Http404
    if sent.text != text:  # somebody went back to the old page and sent another message
        form.add_error("text", SENT_ALREADY)
        return render_thread(request, student, form, readers)
    notices.success(request, "Sent.")
    return redirect("messages", key=key)


@require_POST
def messages_read(request: Request, key: uuid.UUID) -> HttpResponse:
    """Remember that the person has read the thread as far as the page showed it."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    message, note = (number_in(request.POST.get(name, "")) for name in ("message", "note"))
    mark_read(request.user, student, message, note)
    return HttpResponse() if request.htmx else redirect("messages", key=key)


def number_in(typed: str) -> int:
    """A row number as it was posted, or 0."""
    return int(typed) if typed.isascii() and typed.isdigit() and len(typed) <= LONGEST_KEY else 0


def readers_now(request: Request, student: Student) -> Readers:
    """Who may read the thread today."""
    return readers_of(student, request.academy, request.academy.today(timezone.now()))


def render_thread(request: Request, student: Student, form: MessageForm, readers: Readers) -> HttpResponse:
    """The page of the thread, the newest message last; each page gets a new address to send to."""
    page = Paginator(student.messages.latest_first(), PAGE_SIZE).get_page(request.GET.get("page"))
    now = timezone.now()
    notes = notes_of(student, now)
    context = {
        "student": student,
        "notes": notes,
        "unread": unread_of(student, request.user, now),
        "last_message": page[0].pk if page.number == 1 and page else 0,
        "last_note": max((note.pk for note in notes), default=0),
        "page": page,
        "thread": list(page)[::-1],
        "readers": readers,
        "new_key": uuid.uuid4(),
        "may_send": gate.is_allowed(student, Permission.SEND_MESSAGES),
        "may_edit": gate.is_allowed(student, Permission.EDIT_STUDENT),
    }
    return render_form(request, "family/messages/messages.html", form, context)
