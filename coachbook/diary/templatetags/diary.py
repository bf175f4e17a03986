"""What pages of other apps show of appointments."""

from datetime import timedelta

from django import template
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.diary.absences.reporting import with_absence
from coachbook.diary.models import Absence, Appointment

register = template.Library()


@register.simple_tag
def next_appointment(student: Student) -> Appointment | None:
    """The next planned appointment of a student; today's counts until it is over.

    Its `absence_reason` says why the student cannot come, or is None.
    """
    coming = student.appointments.planned().select_related("coach__user").order_by("starts_at")
    now = timezone.now()
    found = with_absence(coming.filter(starts_at__gt=now - timedelta(hours=4)), student)
    return next((row for row in found if row.ends_at > now), None)


@register.filter
def absence_in_words(reason: str) -> str:
    """Why somebody cannot come, in words."""
    return str(Absence.Reason(reason).label)
