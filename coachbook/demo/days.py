"""The days to come at the invented academy: a few appointments for each coach, one of them week after week.

Of those with an account one cannot come, and one has written to the coach.
"""

import uuid
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.utils import timezone

from coachbook.accounts.models import Academy, Care, Coach, Pause, Student
from coachbook.diary.absences.reporting import report_absence
from coachbook.diary.models import Absence
from coachbook.diary.recurrence import expand
from coachbook.diary.scheduling import Plan, create_appointments
from coachbook.family.messages.thread import readers_of, send_message

HOURS = (time(10), time(14, 30))
PLACE = "The long green"
WEEKLY = "FREQ=WEEKLY;COUNT=6"
NEWS = "The ladder went better this week. May I bring my old putter on the day?"


def fill(on: date, at: datetime) -> None:
    """Plan the next week for every coach, two students a day, in the order of their names."""
    zone = ZoneInfo(Academy.current().time_zone)
    days = [day for day in (on + timedelta(days=number) for number in range(1, 8)) if day.weekday() < 5]
    for coach in Coach.objects.select_related("user"):
        moments = [datetime.combine(day, hour, zone) for day in days for hour in HOURS]
        for number, (student, moment) in enumerate(zip(expected(coach, on), moments, strict=False)):
            rule = WEEKLY if number == 0 else ""
            all_of_them = expand(rule, moment, 6) if rule else [moment]
            plan = Plan(coach, [student], [one.astimezone(UTC) for one in all_of_them], 60, PLACE, rule)
            create_appointments(key=uuid.uuid4(), plan=plan, by=coach.user, at=at)
        hear(coach, on, at)


def hear(coach: Coach, on: date, at: datetime) -> None:
    """Have a student of the coach write, and another one report that they are ill on the day of their lesson."""
    academy = Academy.current()
    writing = [
        (student, student.user)
        for student in expected(coach, on)
        if student.user and readers_of(student, academy, on).is_open
    ]
    for student, user in writing[:1]:
        send_message(key=uuid.uuid4(), student=student, by=user, text=NEWS, at=at)
    for student, user in writing[1:2]:
        day = timezone.localdate(student.appointments.latest("starts_at").starts_at)
        values = {"first_day": day, "last_day": day, "reason": Absence.Reason.ILL}
        report_absence(key=uuid.uuid4(), student=student, by=user, at=at, **values)


def expected(coach: Coach, on: date) -> list[Student]:
    """The students in a coach's main care who do not pause."""
    cares = Care.objects.in_force(on).filter(coach=coach, role=Care.Role.MAIN)
    resting = Pause.objects.in_force(on).values("student")
    return list(Student.objects.present().filter(cares__in=cares).exclude(pk__in=resting).order_by("name")[:8])
