"""The addresses of pairs of stills, of a checkpoint over time, and of the academy's own reference stills."""

import uuid

from lessons.models import ReferenceStill, Still
from lessons.stills.picture import clean_picture
from lessons.stills.rows import sizes_of, write_files
from tests.conftest import Cast
from tests.make import make_checkpoint, make_picture, make_still
from tests.security.row import Row, own_student
from tests.security.rows_stills import own_still


def own_pair(cast: Cast) -> list[object]:
    """An arrival and a departure of one checkpoint and view."""
    student_key, lesson_key, _ = own_still(cast)
    arrival = Still.objects.get(moment="arrival")
    if not Still.objects.filter(moment="departure").exists():
        make_still(arrival.lesson, checkpoint=arrival.checkpoint, moment="departure")
    return [student_key, lesson_key, arrival.checkpoint.key, arrival.view]


def own_pairs(cast: Cast) -> list[object]:
    return own_pair(cast)[:2]


def academy_reference(cast: Cast) -> list[object]:
    row = ReferenceStill.objects.first()
    if row is None:
        picture = clean_picture(make_picture())
        row = ReferenceStill(checkpoint=make_checkpoint(), view="face_on", side="right", **sizes_of(picture))
        write_files(row, picture)
        row.save()
    ReferenceStill.objects.update(archived=False)
    return [row.key]


ROWS: list[Row] = [
    Row("stills_pairs", "READ_RECORD", args=own_pairs, about="student"),
    Row("stills_beside", "READ_RECORD", args=own_pair, about="student"),
    Row("stills_align", "LOG_LESSONS", "POST", args=own_pair),
    Row("stills_focus", "LOG_LESSONS", "POST", args=own_pair),
    Row("stills_over_time", "READ_RECORD", args=own_student, about="student"),
    Row("references", "MANAGE_LIBRARY"),
    Row("reference_new", "MANAGE_LIBRARY"),
    Row("reference", "MANAGE_LIBRARY", "GET POST", args=lambda cast: [uuid.uuid4()]),
    Row("reference_archive", "MANAGE_LIBRARY", "POST", args=academy_reference),
    Row("reference_picture", "USE_SITE", args=academy_reference),
    Row("reference_thumbnail", "USE_SITE", args=academy_reference),
]
