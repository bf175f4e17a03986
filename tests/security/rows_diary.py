"""The addresses for appointments, absences and calendars."""

import uuid

from django.utils import timezone

from coachbook.diary.calendar.feed import new_link
from coachbook.diary.models import Absence, Appointment, Series
from tests.conftest import Cast
from tests.make import academy_today
from tests.security.row import Row, own_student


def own_appointment(cast: Cast) -> list[object]:
    """An appointment of the student with the coach, made once."""
    row = Appointment.objects.first()
    if row is None:
        row = Appointment.objects.create(coach=cast.coach, starts_at=timezone.now(), made_by=cast.coach.user)
        row.students.add(cast.student)
    return [cast.student.key, row.key]


def fresh_appointment(cast: Cast) -> list[object]:
    return [cast.student.key, uuid.uuid4()]


def own_series(cast: Cast) -> list[object]:
    """The same appointment, in a series."""
    student, key = own_appointment(cast)
    row = Appointment.objects.get(key=key)
    if row.series is None:
        about = {"rule": "FREQ=WEEKLY;INTERVAL=1;COUNT=2", "first_at": row.starts_at, "made_by": cast.coach.user}
        row.series = Series.objects.create(**about)
        row.save()
    return [student, key]


def own_absence(cast: Cast) -> list[object]:
    """An absence of the student, made once; withdrawing it once more changes nothing."""
    today = academy_today()
    row = Absence.objects.first() or Absence.objects.create(
        student=cast.student, first_day=today, last_day=today, reported_by=cast.coach.user
    )
    return [cast.student.key, row.key]


def calendar_token(cast: Cast) -> list[object]:
    return [new_link(cast.coach, timezone.now())]


def family_token(cast: Cast) -> list[object]:
    return [new_link(cast.guardian, timezone.now())]


ROWS: list[Row] = [
    Row("day", "VIEW_DIARY"),
    Row("week", "VIEW_DIARY"),
    Row("calendar", "ACT_AS_COACH"),
    Row("calendar_link", "ACT_AS_COACH", "POST"),
    Row("calendar_end", "ACT_AS_COACH", "POST"),
    Row("calendar_feed", "PUBLIC", "GET", args=calendar_token),
    Row("calendar_feed", "PUBLIC", "GET", args=family_token, label="family"),
    Row("family_calendar", "USE_SITE"),
    Row("family_calendar_link", "OWN_CALENDAR", "POST"),
    Row("family_calendar_end", "USE_SITE", "POST"),
    Row("appointment_new", "SCHEDULE", args=own_student),
    Row("appointment", "SCHEDULE", "GET POST", args=fresh_appointment, label="new"),
    Row("appointment", "SCHEDULE", "GET POST", args=own_appointment),
    Row("appointment_decide", "SCHEDULE", "POST", args=own_appointment),
    Row("series_from_day", "SCHEDULE", "GET POST", args=own_series),
    Row("absences", "REPORT_ABSENCE", args=own_student),
    Row("absence_report", "REPORT_ABSENCE", "POST", args=fresh_appointment),
    Row("absence_withdraw", "REPORT_ABSENCE", "POST", args=own_absence),
]
