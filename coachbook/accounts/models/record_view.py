"""Which manager read a junior's record: who, whose, which kind of page, on which day."""

import logging
import uuid
from collections.abc import Iterable
from datetime import date, datetime

from django.db import DatabaseError, models

from coachbook.accounts.models.people import Student, User

logger = logging.getLogger(__name__)


class RecordView(models.Model):
    """A manager's reading of a junior's record, once for each kind of page and day; never what stood there."""

    manager = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    student = models.ForeignKey(Student, on_delete=models.PROTECT, related_name="record_views")
    page = models.CharField("name of the address", max_length=40)
    day = models.DateField()
    at = models.DateTimeField("when it was first read that day")

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["manager", "student", "page", "day"], name="one_record_view_a_day"),
        ]

    def __str__(self) -> str:
        return f"{self.page} on {self.day}"


stored_here: set[tuple[uuid.UUID, uuid.UUID, str, date]] = set()
MOST_REMEMBERED = 10_000


def store_record_views(*, manager: User, students: Iterable[Student], page: str, day: date, at: datetime) -> None:
    """Store that a manager read this; what cannot be stored is logged, and never keeps anybody from reading.

    What this process stored is remembered, so that reading again waits for nobody who writes.
    """
    new = {(manager.key, student.key, page, day): student for student in students}
    new = {key: student for key, student in new.items() if key not in stored_here}
    rows = [RecordView(manager=manager, page=page, day=day, student=student, at=at) for student in new.values()]
    if not rows:
        return
    try:
        RecordView.objects.bulk_create(rows, ignore_conflicts=True)  # another process may have stored them
        if len(stored_here) >= MOST_REMEMBERED:
            stored_here.clear()
        for key in new:
            stored_here.add(key)
    except DatabaseError as error:
        logger.error("That a manager read a record could not be stored: %s", type(error).__name__)
