"""The addresses of corrections."""

from django.utils import timezone

from coachbook.corrections.models import Correction
from tests.conftest import Cast
from tests.security.row import Row, own_lesson, own_student


def some_correction(cast: Cast) -> Correction:
    """A correction of the student that is not undone yet and changes nothing; a new one after each undoing."""
    values = {"kind": "opened", "student": cast.student, "by": cast.coach.user, "summary": "A focus was opened again"}
    return Correction.objects.filter(undone_at=None).first() or Correction.objects.create(at=timezone.now(), **values)


def own_correction(cast: Cast) -> list[object]:
    return [cast.student.key, some_correction(cast).key]


def closed_focus(cast: Cast) -> list[object]:
    """A focus that the student's lesson opened and closed again."""
    _, lesson_key = own_lesson(cast)
    lesson = cast.student.lessons.get(key=lesson_key)
    focus = cast.student.focuses.get()
    if focus.closed_in is None:
        focus.closed_in = lesson
        focus.save()
    return [cast.student.key, focus.key]


def own_words(cast: Cast) -> list[object]:
    """A change of the words of the student's lesson, made once."""
    lesson = cast.student.lessons.get(key=own_lesson(cast)[1])
    if not (found := lesson.history.filter(keep="after").first()):
        for words in ("before", "after"):
            lesson.keep = words
            lesson.save()
        found = lesson.history.first()
    return [cast.student.key, "lesson", found.history_id]


ROWS: list[Row] = [
    Row("earlier_words", "READ_NOTES", args=own_words, about="student"),
    Row("words_restore", "CORRECT", "POST", args=own_words),
    Row("lesson_move", "CORRECT", "GET POST", args=own_lesson),
    Row("student_merge", "EDIT_STUDENT", "GET POST", args=own_student),
    Row("focus_reopen", "LOG_LESSONS", "POST", args=closed_focus),
    Row("changes", "READ_NOTES", args=own_student, about="student"),
    Row("correction_undo", "CORRECT", "POST", args=own_correction),
    Row("corrections", "MANAGE_ACADEMY"),
    Row("correction_seen", "MANAGE_ACADEMY", "POST", args=lambda cast: [some_correction(cast).key]),
]
