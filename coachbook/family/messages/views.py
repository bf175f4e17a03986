"""The screens of a student's thread of messages."""

import uuid

from django.contrib import messages as notices
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Student
from coachbook.family.forms import MessageForm
from coachbook.family.messages.thread import Readers, readers_of, send
from coachbook.family.models import Message
from coachbook.forms import render_form
from coachbook.http import Request

SHOWN = 50
SENT_ALREADY = "Your message before this one was sent. To send these words, too, press the button again."
NO_GUARDIAN = "No guardian can read this yet, so nothing can be sent. The academy has to invite one first."


@require_GET
def messages(request: Request, key: uuid.UUID) -> HttpResponse:
    """The thread: its last messages, who reads it, and a place to write."""
    student = gate.student(request, Act.READ, key)
    return show(request, student, MessageForm(), readers_now(request, student))


@require_POST
def message_write(request: Request, key: uuid.UUID, message_key: uuid.UUID) -> HttpResponse:
    """Send a message, once: its key is in the address, so that a double tap meets the same row."""
    student = gate.student(request, Act.SPEAK, key)
    form, readers = MessageForm(request.POST), readers_now(request, student)
    if not readers.is_open:
        form.add_error("words", NO_GUARDIAN)
    if not form.is_valid():
        return show(request, student, form, readers)
    words = form.cleaned_data["words"]
    sent = send(key=message_key, student=student, by=request.user, words=words, at=timezone.now())
    if (sent.student_id, sent.written_by_id) != (student.pk, request.user.pk):
        raise Http404
    if sent.words != words:  # somebody went back to the old page and wrote on
        form.add_error("words", SENT_ALREADY)
        return show(request, student, form, readers)
    notices.success(request, "Sent.")
    return redirect("messages", key=key)


def readers_now(request: Request, student: Student) -> Readers:
    """Who reads the thread today."""
    return readers_of(student, request.academy, request.academy.today(timezone.now()))


def show(request: Request, student: Student, form: MessageForm, readers: Readers) -> HttpResponse:
    """The thread's page, the newest message last; each page drawn has a fresh address to send to."""
    page = Paginator(Message.objects.latest_first().filter(student=student), SHOWN).get_page(request.GET.get("page"))
    context = {
        "student": student,
        "page": page,
        "thread": list(page)[::-1],
        "readers": readers,
        "fresh_key": uuid.uuid4(),
        "speaks": gate.may(student, Act.SPEAK),
    }
    return render_form(request, "family/messages/messages.html", form, context)
