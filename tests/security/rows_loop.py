"""The addresses for walk-ins, intake, pauses."""

from datetime import date

from tests.conftest import Cast
from tests.make import fresh_key, make_pause
from tests.security.book import Row, own_student


def fresh_student(cast: Cast) -> list[object]:
    return [fresh_key()]


def own_pause(cast: Cast) -> list[object]:
    pause = cast.student.pauses.first() or make_pause(cast.student, since=date(2026, 3, 3))
    return [cast.student.key, pause.key]


ROWS: list[Row] = [
    Row("walk_in_new", "ADD"),
    Row("walk_in", "ADD", "GET POST", args=fresh_student),
    Row("walk_in", "TEACH", "GET POST", args=own_student, label="again"),
    Row("brief", "NOTES", args=own_student),
    Row("intake", "ARRANGE", "GET POST", args=own_student),
    Row("pauses", "ARRANGE", "GET POST", args=own_student),
    Row("pause_end", "ARRANGE", "POST", args=own_pause),
]
