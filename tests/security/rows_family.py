"""The addresses for guardians, consent, messages, one-time codes."""

import uuid

from tests.conftest import Cast
from tests.security.book import Row, own_student


def own_past_guardian(cast: Cast) -> list[object]:
    """The guardian of before: to end it once more changes nothing for the cells that follow."""
    return [cast.student.key, cast.past_guardian.key]


def own_purpose(cast: Cast) -> list[object]:
    return [cast.student.key, "photos"]


def fresh_message(cast: Cast) -> list[object]:
    return [cast.student.key, uuid.uuid4()]


ROWS: list[Row] = [
    Row("consents", "READ", args=own_student, about="student"),
    Row("consent_give", "CONSENT", "POST", args=own_purpose),
    Row("consent_withdraw", "CONSENT", "POST", args=own_purpose),
    Row("guardians", "ARRANGE", args=own_student),
    Row("guardian_add", "RUN", "POST", args=own_student, is_hidden=True),
    Row("guardian_end", "RUN", "POST", args=own_past_guardian, is_hidden=True),
    Row("messages", "READ", args=own_student, about="student"),
    Row("message_write", "SPEAK", "POST", args=fresh_message),
    Row("come_in", "PUBLIC", "GET POST"),
]
