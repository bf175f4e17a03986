"""The words that skills and faults had when a lesson was finished, in the query that reads its rows."""

from datetime import datetime
from typing import Any

from django.db.models import DateTimeField, F, Model, OuterRef, Subquery, Value
from django.db.models.functions import Coalesce
from django.utils import timezone

from lessons.models import Fault, Skill
from lessons.wording import SideWord, render

MODELS: dict[str, type[Skill | Fault]] = {"skill": Skill, "fault": Fault}
NAME = "name_then"  # the name of an annotation


def words_then(row: str, at: str | datetime | None, text: str = "name") -> Any:
    """A text of the skill or fault in a column, as it was at a moment: one that is given, or the lesson's at a path.

    A lesson that is not finished has the words of now. What was logged before the history of a row begins has the
    first words that the history knows.
    """
    now = Value(timezone.now(), DateTimeField())
    moment = Coalesce(OuterRef(f"{at}__completed_at"), now) if isinstance(at, str) else at or now
    past = MODELS[row].history.filter(id=OuterRef(row))
    then = past.filter(history_date__lte=moment).order_by("-history_date", "-history_id")
    first = past.order_by("history_date", "history_id")
    return Coalesce(Subquery(then.values(text)[:1]), Subquery(first.values(text)[:1]), F(f"{row}__{text}"))


def name_then(row: Model, side: SideWord | None = None) -> str:
    """The name that a row was read with, rendered for a side."""
    return render(getattr(row, NAME), side)
