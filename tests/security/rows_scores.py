"""The addresses of scored tests, of their results, and of rounds."""

import uuid

from django.utils import timezone

from drills.models import Design
from tests.conftest import Cast
from tests.make import academy_today, make_design
from tests.security.row import Row, own_student


def fresh_round(cast: Cast) -> list[object]:
    return [cast.student.key, uuid.uuid4()]


def own_round(cast: Cast) -> list[object]:
    """A round of the student, made once: withdrawing it twice changes nothing more."""
    by, day = cast.coach.user, academy_today()
    row = cast.student.rounds.first() or cast.student.rounds.create(day=day, holes=9, putts=17, by=by)
    return [cast.student.key, row.key]


def some_design(cast: Cast) -> list[object]:
    """A design of a test, made once."""
    texts = dict.fromkeys(["name", "purpose", "setup", "note", "caution"], "Some words.")
    values = {"area": "putting", "kind": "leaves", "distances_m": [6.0], "balls": 20, **texts}
    return [Design.objects.get_or_create(code="putting-some-leaves", defaults=values)[0].code]


def own_design(cast: Cast) -> list[object]:
    """A design of the coach's own, made once."""
    row = Design.objects.filter(code="own-some-leaves").first() or make_design("own-some-leaves", owner=cast.coach)
    return [row.code]


def own_finished_test(cast: Cast) -> list[object]:
    """A finished test of the student with a few balls, made once."""
    day, at = academy_today(), timezone.now()
    values = {"day": day, "side": "right", "by": cast.coach.user, "done_at": at}
    design = Design.objects.get(code=some_design(cast)[0])
    test, is_new = cast.student.scored_tests.get_or_create(design=design, step_m=0.5, defaults=values)
    if is_new:
        for number in range(1, 11):
            test.balls.create(number=number, distance_m=6.0, result="missed", leave_m=0.5 * (number % 4 - 1))
    return [cast.student.key, test.key]


def own_test(cast: Cast) -> list[object]:
    """A test that the student began themselves, with a ball, made once."""
    test = cast.student.scored_tests.first()
    if test is None:
        some_design(cast)
        values = {"day": academy_today(), "side": "right", "by": cast.student.user}
        test = cast.student.scored_tests.create(design=Design.objects.get(code="putting-some-leaves"), **values)
        test.balls.create(number=1, distance_m=6.0, result="missed", length="past", leave_m=0.9)
    return [cast.student.key, test.key]


def fresh_test(cast: Cast) -> list[object]:
    return [cast.student.key, uuid.uuid4()]


ROWS: list[Row] = [
    Row("tests", "READ_RECORD", args=own_student, about="student"),
    Row("test_new", "RECORD_SCORES", args=own_student),
    Row("scored_test", "RECORD_SCORES", "GET POST", args=fresh_test, label="new"),
    Row("scored_test", "READ_RECORD", "GET POST", args=own_test, post="RECORD_SCORES"),
    Row("test_ball", "RECORD_SCORES", "POST", args=own_test),
    Row("test_undo", "RECORD_SCORES", "POST", args=own_test),
    Row("test_done", "RECORD_SCORES", "POST", args=own_test),
    Row("test_void", "RECORD_SCORES", "POST", args=own_test),
    Row("rounds", "READ_RECORD", args=own_student, about="student"),
    Row("round_report", "RECORD_SCORES", "POST", args=fresh_round),
    Row("round_void", "RECORD_SCORES", "POST", args=own_round),
    Row("test_results", "READ_RECORD", args=own_student, about="student"),
    Row("test_result", "READ_RECORD", args=own_finished_test, about="student"),
    Row("designs", "EDIT_LIBRARY"),
    Row("design_new", "EDIT_LIBRARY", "GET POST"),
    Row("design", "MANAGE_LIBRARY", "GET POST", args=some_design),
    Row("design", "EDIT_OWN_ROW", "GET POST", args=own_design, label="own"),
]
