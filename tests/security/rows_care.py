"""The addresses of a student's coaches and of handing students over."""

from tests.conftest import Cast
from tests.make import make_care, make_coach
from tests.security.row import Row, own_student


def some_care(cast: Cast) -> list[object]:
    """A second coach's care of the student, apart from that of the cast's own coaches."""
    care = cast.student.cares.filter(role="assistant", note="to end").first()
    return [cast.student.key, (care or make_care(make_coach(), cast.student, role="assistant", note="to end")).pk]


ROWS: list[Row] = [
    Row("care", "MANAGE_COACHES", "GET POST", args=own_student),
    Row("care_end", "MANAGE_COACHES", "POST", args=some_care),
    Row("hand_over", "MANAGE_ACADEMY", "GET POST", args=lambda cast: [cast.coach.user.key]),
]
