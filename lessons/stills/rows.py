"""Keeping stills: two files, then their row; and which of them may be shown."""

import uuid
from datetime import date, datetime
from typing import Any

from django.conf import settings
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import IntegrityError, transaction
from django.db.models import Exists, OuterRef, QuerySet, Sum

from coachbook.accounts.models import Academy, Student, User
from coachbook.accounts.relationships import pictures_condition
from lessons.models import Lesson, Still
from lessons.models.stills import Picture, StillQuerySet
from lessons.stills.picture import CleanPicture


def shown_stills(student: Student, academy: Academy, on: date) -> StillQuerySet:
    """The stills of a student that may be shown on a day, the newest first: none without consent, none hidden.

    Whatever shows a still, on a page, on a sheet or in a PDF, asks this.
    """
    consenting = Student.objects.filter(pictures_condition(academy, on), pk=OuterRef("lesson__student"))
    return Still.objects.shown().filter(Exists(consenting), lesson__student=student)


def keep_still(
    *, lesson: Lesson, key: uuid.UUID, picture: CleanPicture, by: User, at: datetime, **values: Any
) -> Still:
    """Keep a still under its key; sent twice, also at the same time, it is one row with the files of the first.

    Raises OSError where the storage does not take the files; then there is no row.
    """
    still = Still(lesson=lesson, key=key, taken_by=by, taken_at=at, **sizes_of(picture), **values)
    write_files(still, picture)
    try:
        with transaction.atomic():
            still.save(force_insert=True)
    except IntegrityError:
        delete_files(still)
        return lesson.stills.get(key=key)
    except BaseException:
        delete_files(still)
        raise
    return still


def sizes_of(picture: CleanPicture) -> dict[str, int]:
    """What a row holds of its files."""
    bytes_of_both = len(picture.large) + len(picture.small)
    return {"width": picture.width, "height": picture.height, "bytes": bytes_of_both}


class NoRoom(ValueError):
    """As many pictures are kept as may be; its words are for whoever sent one more."""


def check_room(student: Student, more: int) -> None:
    """Raise NoRoom where so many bytes more are more than the stills of a student, or all pictures, may take."""
    own = bytes_of(Still.objects.filter(lesson__student=student))
    if own + more > settings.MOST_PICTURES["student"]:
        raise NoRoom(
            f"The pictures of {student.name} take all the room that one student’s may take. Erase some that were taken "
            "away, or ask a manager."
        )
    if own + more > settings.MOST_PICTURES["academy"] - bytes_of(Still.objects.exclude(lesson__student=student)):
        raise NoRoom("The pictures of the academy take all the room that they may take. Ask a manager.")


def bytes_of(rows: QuerySet[Still]) -> int:
    """Bytes of the files of these stills."""
    return int(rows.order_by().aggregate(all=Sum("bytes"))["all"] or 0)


def write_files(row: Picture, picture: CleanPicture) -> None:
    """Write both files; where the second cannot be written, there is not the first either."""
    try:
        default_storage.save(row.path, ContentFile(picture.large))
        default_storage.save(row.thumbnail_path, ContentFile(picture.small))
    except OSError:
        delete_files(row)
        raise


def delete_files(row: Picture) -> None:
    """Delete both files; what the storage does not delete now is without a row, and is cleaned up later."""
    for path in (row.path, row.thumbnail_path):
        try:
            default_storage.delete(path)
        except OSError:
            continue
