"""The addresses of scored tests, of what they say, and of rounds."""

import uuid

from django.utils import timezone

from drills.models import Design
from tests.conftest import Cast
from tests.make import academy_today
from tests.security.book import Row, own_student


def fresh_round(cast: Cast) -> list[object]:
    return [cast.student.key, uuid.uuid4()]


def own_round(cast: Cast) -> list[object]:
    """A round of the student, made once: to take it back twice changes nothing more."""
    by, day = cast.coach.user, academy_today()
    row = cast.student.rounds.first() or cast.student.rounds.create(day=day, holes=9, putts=17, by=by)
    return [cast.student.key, row.key]


def some_design(cast: Cast) -> list[object]:
    """A design of a test, made once."""
    texts = dict.fromkeys(["name", "purpose", "setup", "note", "caution"], "Some words.")
    values = {"area": "putting", "kind": "leaves", "distances_m": [6.0], "balls": 20, **texts}
    return [Design.objects.get_or_create(code="putting-some-leaves", defaults=values)[0].code]


def own_told_test(cast: Cast) -> list[object]:
    """A finished test of the student with a few balls, made once."""
    day, at = academy_today(), timezone.now()
    values = {"day": day, "side": "right", "by": cast.coach.user, "done_at": at}
    design = Design.objects.get(code=some_design(cast)[0])
    test, is_new = cast.student.scored_tests.get_or_create(design=design, step_m=0.5, defaults=values)
    if is_new:
        for number in range(1, 11):
            test.hit.create(number=number, distance_m=6.0, result="missed", leave_m=0.5 * (number % 4 - 1))
    return [cast.student.key, test.key]


def own_test(cast: Cast) -> list[object]:
    """A test that the student began themselves, with a ball, made once."""
    test = cast.student.scored_tests.first()
    if test is None:
        some_design(cast)
        told = {"day": academy_today(), "side": "right", "by": cast.student.user}
        test = cast.student.scored_tests.create(design=Design.objects.get(code="putting-some-leaves"), **told)
        test.hit.create(number=1, distance_m=6.0, result="missed", length="past", leave_m=0.9)
    return [cast.student.key, test.key]


def fresh_test(cast: Cast) -> list[object]:
    return [cast.student.key, uuid.uuid4()]


ROWS: list[Row] = [
    Row("tests", "READ", args=own_student, about="student"),
    Row("test_new", "SCORE", args=own_student),
    Row("scored_test", "SCORE", "GET POST", args=fresh_test, label="new"),
    Row("scored_test", "READ", "GET POST", args=own_test, post="SCORE"),
    Row("test_ball", "SCORE", "POST", args=own_test),
    Row("test_undo", "SCORE", "POST", args=own_test),
    Row("test_done", "SCORE", "POST", args=own_test),
    Row("test_strike", "SCORE", "POST", args=own_test),
    Row("rounds", "READ", args=own_student, about="student"),
    Row("round_report", "SCORE", "POST", args=fresh_round),
    Row("round_strike", "SCORE", "POST", args=own_round),
    Row("putter", "READ", args=own_student, about="student"),
    Row("test_says", "READ", args=own_told_test, about="student"),
    Row("designs", "RUN"),
    Row("design_new", "RUN", "GET POST"),
    Row("design", "RUN", "GET POST", args=some_design),
]
