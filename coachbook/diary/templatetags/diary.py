"""What other rooms' pages say of appointments."""

from datetime import timedelta

from django import template
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.diary.models import Appointment
from coachbook.diary.scheduling import day_bounds
from coachbook.http import Request

register = template.Library()


@register.simple_tag
def next_appointment(student: Student) -> Appointment | None:
    """The next planned appointment of a student, that of today included until it is over."""
    coming = student.appointments.planned().select_related("coach__user").order_by("starts_at")
    now = timezone.now()
    return next((row for row in coming.filter(starts_at__gt=now - timedelta(hours=4)) if row.ends_at > now), None)


@register.simple_tag
def appointments_today(request: Request) -> list[Appointment]:
    """The appointments of a coach on this day."""
    if not request.user.is_coach:
        return []
    first, before = day_bounds(request.academy, request.academy.today(timezone.now()))
    return list(request.user.coach.appointments.planned().between(first, before))
