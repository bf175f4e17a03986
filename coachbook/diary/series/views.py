"""A series moved or ended from one of its days on."""

import uuid

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from coachbook import navigation
from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.diary.series.forms import SeriesForm
from coachbook.diary.series.rest import Rest, move_rest, rest_of_series
from coachbook.diary.views import coaches_of
from coachbook.diary.wording import count_in_words
from coachbook.forms import render_form
from coachbook.http import Request


@require_http_methods(["GET", "POST"])
def series_from_day(request: Request, key: uuid.UUID, appointment_key: uuid.UUID) -> HttpResponse:
    """Move this lesson of a series and all later ones; earlier ones stay as they were."""
    student = gate.get_student(request, Permission.SCHEDULE, key)
    row = get_object_or_404(student.appointments.select_related("coach__user", "series"), key=appointment_key)
    rest, now = rest_of_series(row, timezone.get_current_timezone()), timezone.now()
    if rest is None:
        raise Http404
    form = SeriesForm(
        request.POST if request.method == "POST" else None, rest=rest, at=now, coaches=coaches_of(request, row)
    )
    if form.is_valid():
        values = {name: form.cleaned_data[name] for name in ("coach", "minutes", "place")}
        words = moved_words(rest, len(form.moments))
        move_rest(rest, form.moments, by=request.user, at=now, **values)
        messages.success(request, words)
        return redirect(navigation.address("student", key))
    return render_form(request, "diary/series.html", form, {"student": student, "appointment": row, "rest": rest})


def moved_words(rest: Rest, moved: int) -> str:
    """What a move comes to, and which lessons it leaves as they were."""
    left, cancelled = len(rest.planned) - moved, len(rest.cancelled)
    words = [f"Moved {count_in_words(moved, 'lesson')}. Earlier ones stay as they were."]
    if left:
        words.append(f"{left} that {'was' if left == 1 else 'were'} moved by hand stay{'s' if left == 1 else ''}.")
    if cancelled:
        words.append(f"{cancelled} cancelled stay{'s' if cancelled == 1 else ''} cancelled.")
    return " ".join(words)
