"""Students without a lesson for years: whether to keep their record is for a manager to look at."""

from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from django.db.models import Exists, Max, Min, OuterRef, Q
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Academy, StudentQuerySet
from coachbook.diary.models import Appointment
from coachbook.http import Request
from coachbook.rights.models import ErasureRequest

SHOWN = 100


@require_GET
def long_gone(request: Request) -> HttpResponse:
    """The list, the longest gone first, and the erasures that are planned."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    on = request.academy.today(timezone.now())
    students = students_long_gone(gate.get_students(request), request.academy, on)
    planned = ErasureRequest.objects.planned().select_related("student").order_by("due_on", "pk")
    context = {"students": students[:SHOWN], "number": students.count(), "shown": SHOWN, "planned": planned}
    return render(request, "rights/long_gone.html", context)


def students_long_gone(students: StudentQuerySet, academy: Academy, on: date) -> StudentQuerySet:
    """The students whose last lesson is so many years ago; of whom there is none, since they came.

    Who has an appointment to come, or an erasure planned, is not among them.
    """
    before = years_before(on, academy.keep_years)
    moment = datetime.combine(before, time.min, ZoneInfo(academy.time_zone))
    coming = Appointment.objects.planned().filter(students=OuterRef("pk"), starts_at__gte=timezone.now())
    planned = ErasureRequest.objects.planned().filter(student=OuterRef("pk"))
    return (
        students.annotate(last_lesson=Max("lessons__session__starts_at"), came=Min("cares__since"))
        .filter(Q(last_lesson__lt=moment) | Q(last_lesson=None, came__lt=before))
        .exclude(Exists(coming) | Exists(planned))
        .order_by("last_lesson", "came", "pk")
    )


def years_before(on: date, years: int) -> date:
    """The same day so many years earlier; of a leap day the one after."""
    try:
        return on.replace(year=on.year - years)
    except ValueError:
        return date(on.year - years, 3, 1)
