"""The addresses for walk-ins, intake, pauses."""

from datetime import date

from lessons.models import Phrase
from tests.conftest import Cast
from tests.make import fresh_key, make_pause
from tests.security.row import Row, own_student


def fresh_student(cast: Cast) -> list[object]:
    return [fresh_key()]


def own_pause(cast: Cast) -> list[object]:
    pause = cast.student.pauses.first() or make_pause(cast.student, since=date(2026, 3, 3))
    return [cast.student.key, pause.key]


def own_phrase(cast: Cast) -> list[object]:
    phrase, _ = Phrase.objects.get_or_create(code="putting-grip-apart", words="split hands")
    return [phrase.key]


ROWS: list[Row] = [
    Row("log_choices", "ACT_AS_COACH", args=lambda cast: ["ad", "0"]),
    Row("phrases", "ADD_PHRASES", "GET POST"),
    Row("phrase_remove", "ADD_PHRASES", "POST", args=own_phrase),
    Row("students_file", "ADD_STUDENT", "GET POST"),
    Row("students_file_save", "ADD_STUDENT", "POST"),
    Row("walk_in_new", "ADD_STUDENT"),
    Row("walk_in", "ADD_STUDENT", "GET POST", args=fresh_student),
    Row("walk_in", "LOG_LESSONS", "GET POST", args=own_student, label="again"),
    Row("brief", "READ_NOTES", args=own_student),
    Row("paper_log", "READ_NOTES", args=own_student),
    Row("paper_log_pdf", "READ_NOTES", args=own_student),
    Row("paper_log_blank", "VIEW_DIARY"),
    Row("paper_log_blank_pdf", "VIEW_DIARY"),
    Row("months", "READ_RECORD", args=own_student, about="student"),
    Row("month", "READ_RECORD", args=lambda cast: [cast.student.key, "2020-01"]),
    Row("month_pdf", "READ_RECORD", args=lambda cast: [cast.student.key, "2020-01"]),
    Row("intake", "EDIT_STUDENT", "GET POST", args=own_student),
    Row("pauses", "EDIT_STUDENT", "GET POST", args=own_student),
    Row("pause_end", "EDIT_STUDENT", "POST", args=own_pause),
]
