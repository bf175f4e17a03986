"""The addresses for guardians, consent, messages, one-time codes."""

import uuid

from tests.conftest import Cast
from tests.security.row import Row, own_student


def own_past_guardian(cast: Cast) -> list[object]:
    """A past guardian: ending that once more changes nothing for the cells that follow."""
    return [cast.student.key, cast.past_guardian.key]


def own_purpose(cast: Cast) -> list[object]:
    return [cast.student.key, "photos"]


def fresh_message(cast: Cast) -> list[object]:
    return [cast.student.key, uuid.uuid4()]


ROWS: list[Row] = [
    Row("consents", "READ_RECORD", args=own_student, about="student"),
    Row("consent_give", "GIVE_CONSENT", "POST", args=own_purpose),
    Row("consent_withdraw", "GIVE_CONSENT", "POST", args=own_purpose),
    Row("guardians", "EDIT_STUDENT", args=own_student),
    Row("guardian_add", "MANAGE_ACADEMY", "POST", args=own_student, is_hidden=True),
    Row("guardian_end", "MANAGE_ACADEMY", "POST", args=own_past_guardian, is_hidden=True),
    Row("messages", "READ_RECORD", args=own_student, about="student"),
    Row("messages_read", "READ_RECORD", "POST", args=own_student),
    Row("message_write", "SEND_MESSAGES", "POST", args=fresh_message),
    Row("one_time_code", "PUBLIC", "GET POST"),
]
