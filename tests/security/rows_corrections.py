"""The addresses for mistakes put right."""

from django.utils import timezone

from coachbook.corrections.models import Amendment
from tests.conftest import Cast
from tests.security.book import Row, own_lesson, own_student


def some_amendment(cast: Cast) -> Amendment:
    """An amendment of the student that stands and has nothing in it, fresh for each undoing of it."""
    told = {"kind": "opened", "student": cast.student, "by": cast.coach.user, "words": "A focus was opened again"}
    return Amendment.objects.filter(undone_at=None).first() or Amendment.objects.create(at=timezone.now(), **told)


def own_amendment(cast: Cast) -> list[object]:
    return [cast.student.key, some_amendment(cast).key]


def closed_focus(cast: Cast) -> list[object]:
    """A focus that the student's lesson opened and closed again."""
    _, lesson_key = own_lesson(cast)
    lesson = cast.student.lessons.get(key=lesson_key)
    focus = cast.student.focuses.get()
    if focus.closed_in is None:
        focus.closed_in = lesson
        focus.save()
    return [cast.student.key, focus.key]


ROWS: list[Row] = [
    Row("lesson_move", "BOOK", "GET POST", args=own_lesson),
    Row("student_merge", "ARRANGE", "GET POST", args=own_student),
    Row("focus_reopen", "TEACH", "POST", args=closed_focus),
    Row("changes", "NOTES", args=own_student, about="student"),
    Row("amendment_undo", "BOOK", "POST", args=own_amendment),
    Row("corrections", "RUN"),
    Row("correction_seen", "RUN", "POST", args=lambda cast: [some_amendment(cast).key]),
]
