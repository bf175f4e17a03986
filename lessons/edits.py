"""Edits: what one page changed in a finished lesson, named in the history of every row that it changed."""

import uuid
from contextlib import AbstractContextManager
from typing import NamedTuple

from lessons.models import Lesson
from lessons.models.reasoned_history import changes_for


class EditReason(NamedTuple):
    """The reason in the history of an edit: the lesson, the edit, and the edit that it undoes, if it is an undoing."""

    lesson: uuid.UUID
    edit: uuid.UUID
    undoes: uuid.UUID | None = None

    @classmethod
    def read(cls, words: str) -> "EditReason":
        """The reason as it is stored in the history."""
        return cls(*(uuid.UUID(word) for word in words.split()))

    def __str__(self) -> str:
        return " ".join(key.hex for key in self if key)


def edit_of(lesson: Lesson, page: uuid.UUID | None) -> AbstractContextManager[None]:
    """Within this block what changes in a finished lesson belongs to the edit of this page; a draft has no edits.

    Whatever does not say which page it is makes an edit of its own.
    """
    is_finished = lesson.status == Lesson.Status.COMPLETE
    return changes_for(str(EditReason(lesson.key, page or uuid.uuid4())) if is_finished else None)
