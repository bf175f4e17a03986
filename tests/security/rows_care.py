"""The addresses for who teaches whom."""

from tests.conftest import Cast
from tests.make import make_care, make_coach
from tests.security.book import Row, own_student


def some_care(cast: Cast) -> list[object]:
    """A second coach's care of the student, apart from the care that the cast's own coaches stand on."""
    care = cast.student.cares.filter(role="assistant", note="to end").first()
    return [cast.student.key, (care or make_care(make_coach(), cast.student, role="assistant", note="to end")).pk]


ROWS: list[Row] = [
    Row("care", "LEND", "GET POST", args=own_student),
    Row("care_end", "LEND", "POST", args=some_care),
    Row("hand_over", "RUN", "GET POST", args=lambda cast: [cast.coach.user.key]),
]
