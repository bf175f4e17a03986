"""What pages of other apps show of appointments."""

from datetime import timedelta
from typing import NamedTuple

from django import template
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.diary.absences.reporting import with_absence
from coachbook.diary.models import Absence, Appointment

register = template.Library()
NEWS = timedelta(days=14)  # so long a page says that an appointment was changed
CANCELLED_SHOWN = 3


class Coming(NamedTuple):
    """The next lesson of a student, and those up to it, or of the next weeks, that were cancelled of late."""

    next: Appointment | None
    cancelled: list[Appointment]


@register.simple_tag
def coming_appointments(student: Student) -> Coming:
    """The next planned appointment of a student; today's counts until it is over.

    Its `absence_reason` says why the student cannot come, or is None.
    """
    now, shown = timezone.now(), (Appointment.Status.PLANNED, Appointment.Status.CANCELLED)
    near = student.appointments.filter(status__in=shown, starts_at__gt=now - timedelta(hours=4))
    found = list(with_absence(near.select_related("coach__user").order_by("starts_at", "pk"), student))
    planned = (row for row in found if row.status == Appointment.Status.PLANNED and row.ends_at > now)
    cancelled = [row for row in found if row.status == Appointment.Status.CANCELLED and row.starts_at > now]
    return Coming(next(planned, None), [row for row in cancelled if row.changed_at > now - NEWS][:CANCELLED_SHOWN])


@register.filter
def absence_in_words(reason: str) -> str:
    """Why somebody cannot come, in words."""
    return str(Absence.Reason(reason).label)
