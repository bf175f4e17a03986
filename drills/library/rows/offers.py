"""A coach's own rows, offered to the academy: taken in by a manager, or given back with a word."""

from collections.abc import Iterator
from datetime import datetime

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction
from simple_history.utils import update_change_reason

from drills.library.rows.access import Row
from drills.library.rows.places import name_is_taken, next_position
from lessons.models import Fault, Skill


class GiveBackForm(forms.Form):
    """A word to the coach whose offer is given back."""

    word = forms.CharField(label="A word to the coach", max_length=100, help_text="Why it is not taken in, or not yet.")


def with_own_faults(row: Row) -> Iterator[Row]:
    """A row, and the faults that go with a skill: those of the same coach."""
    yield row
    if isinstance(row, Skill) and row.owner_id is not None:
        yield from row.faults.filter(owner=row.owner_id).select_related("skill")


@transaction.atomic
def offer(row: Row, at: datetime) -> None:
    """Offer a row to the academy. Raises ValidationError for a fault of a skill that is a coach's own."""
    if isinstance(row, Fault) and row.skill.owner_id is not None:
        raise ValidationError("It goes with its skill: offer the skill.")
    if row.archived:
        raise ValidationError("Bring it back first: what is archived is not offered.")
    row.offered_at = row.offered_at or at
    row.save(update_fields=["offered_at"])


def keep(row: Row) -> None:
    """Take an offer back."""
    row.offered_at = None
    row.save(update_fields=["offered_at"])


@transaction.atomic
def take_in(row: Row) -> None:
    """Make an offered row the academy's, the last in its place. Raises ValidationError where its name is taken."""
    for each in list(with_own_faults(row)):
        each.owner, each.offered_at = None, None
        if name_is_taken(each, each.name):
            name = f"{each._meta.verbose_name} named {each}"
            raise ValidationError(f"The academy has a {name} already. Merge the two, or change a name.")
        each.position = next_position(each)
        each.save(update_fields=["owner", "offered_at", "position"])


@transaction.atomic
def give_back(row: Row, word: str) -> None:
    """End an offer; the word to the coach is kept in the history of the row."""
    keep(row)
    update_change_reason(row, word)


def word_of(row: Row) -> str:
    """With which word a row was given back last; empty once it is offered again, or where it never was."""
    latest = row.history.exclude(history_change_reason=None).first() if row.owner_id and not row.offered_at else None
    return latest.history_change_reason or "" if latest else ""
