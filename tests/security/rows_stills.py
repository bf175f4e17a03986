"""The addresses of stills, of what becomes of them, and of checkpoints."""

from django.utils import timezone

from lessons.models import Lesson, Still
from tests.conftest import Cast
from tests.make import make_checkpoint, make_consent, make_still, make_still_measure
from tests.security.row import Row, own_lesson, own_student


def own_still(cast: Cast) -> list[object]:
    """A still of a finished lesson of the student, shown, with a guardian's consent."""
    still = Still.objects.filter(lesson__student=cast.student, moment="arrival").first()
    if still is None:
        if not cast.student.consents.filter(purpose="photos").exists():
            make_consent(cast.student, cast.guardian, "photos")
        still = make_still(finished_lesson(cast))
    elif still.hidden_at:
        still.set_hidden(None)
    return [cast.student.key, still.lesson.key, still.key]


def finished_lesson(cast: Cast) -> Lesson:
    """The one that another row of the matrix made, or one of its own."""
    if not cast.student.lessons.exists():
        own_lesson(cast)
    return cast.student.lessons.complete().order_by("pk")[0]


def hidden_still(cast: Cast) -> list[object]:
    """The same, taken away."""
    keys = own_still(cast)
    Still.objects.get(key=keys[-1]).set_hidden(timezone.now())
    return keys


def own_measure(cast: Cast) -> list[object]:
    """What was measured in it, made once."""
    keys = own_still(cast)
    still = Still.objects.get(key=keys[-1])
    return [*keys, (still.measures.first() or make_still_measure(still)).key]


def own_stills(cast: Cast) -> list[object]:
    return own_still(cast)[:2]


def academy_checkpoint(cast: Cast) -> list[object]:
    return [make_checkpoint().key]


ROWS: list[Row] = [
    Row("stills", "READ_RECORD", args=own_stills, about="student"),
    Row("stills_to_come", "LOG_LESSONS", "POST", args=own_stills),
    Row("still", "READ_RECORD", "GET POST", args=own_still, about="student", post="LOG_LESSONS"),
    Row("still_picture", "READ_RECORD", args=own_still),
    Row("still_thumbnail", "READ_RECORD", args=own_still),
    Row("still_change", "LOG_LESSONS", "GET POST", args=own_still),
    Row("still_hide", "LOG_LESSONS", "POST", args=own_still),
    Row("still_show", "LOG_LESSONS", "POST", args=hidden_still),
    Row("still_erase", "LOG_LESSONS", "POST", args=hidden_still),
    Row("still_measures", "LOG_LESSONS", args=own_still, about="student"),
    Row("still_measure", "LOG_LESSONS", "POST", args=own_measure),
    Row("still_measure_void", "LOG_LESSONS", "POST", args=own_measure),
    Row("still_measure_restore", "LOG_LESSONS", "POST", args=own_measure),
    Row("pictures", "GIVE_CONSENT", "GET POST", args=own_student),
    Row("pictures_no_more", "LOG_LESSONS", "POST", args=own_student),
    Row("checkpoints", "MANAGE_LIBRARY"),
    Row("checkpoint", "MANAGE_LIBRARY", "GET POST", args=academy_checkpoint),
]
