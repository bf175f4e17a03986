"""Changing care together with the appointments that it touches, as one correction that can be undone."""

from collections.abc import Callable, Collection, Iterable
from datetime import datetime
from typing import Any, TypeVar

from django.db import transaction

from coachbook.accounts.models import Care, User
from coachbook.corrections.models import Correction
from coachbook.corrections.recorder import ChangeRecorder
from coachbook.diary.following.rearranging import Decision, rearrange
from coachbook.diary.models import Rearrangement

Result = TypeVar("Result")


@transaction.atomic
def change_care(
    change: Callable[[], Result],
    *,
    students: Collection[int],
    decisions: Iterable[Decision],
    summary: str,
    by: User,
    at: datetime,
    **about: Any,
) -> Result:
    """Change the care of some students (their ids) and their appointments, all or nothing.

    Returns what `change` returns. `about` is the student, or the person whose caseload it is.
    """
    recorder, before = ChangeRecorder(by), cares_of(students)
    result = change()
    recorder.compare(before, cares_of(students))
    rearrangement = rearrange(decisions, reason=Rearrangement.Reason.CARE, by=by, at=at)
    if recorder.entries or rearrangement:
        kept: dict[str, Any] = {"changes": recorder.entries, "rearrangement": rearrangement, "summary": summary}
        seen_at = at if by.is_manager else None  # managers need not be shown what a manager did
        Correction.objects.create(kind=Correction.Kind.CARE, by=by, at=at, seen_at=seen_at, **kept, **about)
    return result


def cares_of(students: Collection[int]) -> list[Care]:
    """All care of some students, as it is stored."""
    return list(Care.objects.filter(student__in=students).order_by("pk"))
