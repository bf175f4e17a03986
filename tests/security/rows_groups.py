"""The addresses of groups: any coach can start one, its own coach leads it, a manager reads it."""

import uuid

from django.utils import timezone

from coachbook.diary.models import Appointment
from lessons.models import Lesson, Session
from tests.conftest import Cast
from tests.make import make_lesson, make_student
from tests.security.row import Row


def own_group(cast: Cast) -> list[object]:
    """A group of the coach with the student in it, made once."""
    session = Session.objects.filter(kind=Session.Kind.GROUP).first()
    if session is None:
        session = make_lesson(cast.student, cast.coach).session
        session.kind = Session.Kind.GROUP
        session.save()
        Lesson.for_student(make_student("Rosalind Tuftle", coach=cast.coach), session).save()
    return [session.key]


def own_appointment_of_two(cast: Cast) -> list[object]:
    """An appointment of the coach with two students, made once."""
    row = Appointment.objects.first()
    if row is None:
        row = Appointment.objects.create(coach=cast.coach, starts_at=timezone.now(), made_by=cast.coach.user)
        row.students.set([cast.student, make_student("Rosalind Tuftle", coach=cast.coach)])
    return [row.key]


ROWS: list[Row] = [
    Row("group_new", "ACT_AS_COACH"),
    Row("group", "ACT_AS_COACH", "GET POST", args=lambda cast: [uuid.uuid4()], label="new"),
    Row("group", "SEE_GROUP", "GET POST", args=own_group, post="LEAD_GROUP", about="student"),
    Row("group_again", "LEAD_GROUP", "POST", args=own_group),
    Row("group_of_appointment", "LEAD_GROUP", "POST", args=own_appointment_of_two),
    Row("group_sheets", "SEE_GROUP", args=own_group),
    Row("group_pdf", "SEE_GROUP", args=own_group),
]
