"""The addresses for sessions with several students: any coach holds one, its own coach leads it, a manager reads it."""

import uuid

from lessons.models import Lesson, Session
from tests.conftest import Cast
from tests.make import make_lesson, make_student
from tests.security.book import Row


def own_group(cast: Cast) -> list[object]:
    """A group of the coach with the student in it, made once."""
    session = Session.objects.filter(kind=Session.Kind.GROUP).first()
    if session is None:
        session = make_lesson(cast.student, cast.coach).session
        session.kind = Session.Kind.GROUP
        session.save()
        Lesson.for_student(make_student("Rosalind Teasel", coach=cast.coach), session).save()
    return [session.key]


ROWS: list[Row] = [
    Row("group_new", "HOLD"),
    Row("group", "HOLD", "GET POST", args=lambda cast: [uuid.uuid4()], label="new"),
    Row("group", "OWNED", "GET POST", args=own_group, post="LEAD", about="student"),
    Row("group_sheets", "OWNED", args=own_group),
    Row("group_pdf", "OWNED", args=own_group),
]
