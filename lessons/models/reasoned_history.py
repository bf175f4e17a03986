"""A history whose rows hold why they were written, so that everything that belongs to one change is found together."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from django.db import models
from simple_history.models import HistoricalRecords

_reason: ContextVar[str | None] = ContextVar("reason", default=None)


@contextmanager
def changes_for(reason: str | None) -> Iterator[None]:
    """Within this block each row of the history that is written holds this reason, of 100 letters at most."""
    token = _reason.set(reason)
    try:
        yield
    finally:
        _reason.reset(token)


def current_reason() -> str | None:
    """The reason of the changes that are being made, or None."""
    return _reason.get()


class ReasonedHistory(HistoricalRecords):  # type: ignore[misc]  # simple_history has no types
    """The history of a model whose rows belong to a lesson, with the reason of each change."""

    def get_change_reason_for_object(self, instance: models.Model, history_type: str, using: Any) -> str | None:
        """The reason of the block in which a row is saved or deleted."""
        return current_reason()
