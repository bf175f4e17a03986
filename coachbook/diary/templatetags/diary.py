"""What pages of other apps show of appointments."""

from datetime import timedelta

from django import template
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.diary.models import Appointment

register = template.Library()


@register.simple_tag
def next_appointment(student: Student) -> Appointment | None:
    """The next planned appointment of a student; today's counts until it is over."""
    coming = student.appointments.planned().select_related("coach__user").order_by("starts_at")
    now = timezone.now()
    return next((row for row in coming.filter(starts_at__gt=now - timedelta(hours=4)) if row.ends_at > now), None)
