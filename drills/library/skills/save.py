"""Saving a skill or fault, unless somebody else saved it meanwhile."""

from django.db import transaction

from drills.library.rows.access import Row
from drills.library.rows.editions import add_row, save_changes
from drills.library.skills.forms import FaultForm, SkillForm
from lessons.derived import recompute_for_merged

RowForm = SkillForm | FaultForm


def save_row(form: RowForm, edition: str) -> bool:
    """Store a valid row; whether anything changed. Raises Overtaken if this edition is past."""
    names = store_row(form, edition)
    if "skill" in names:
        recompute_for_merged([form.instance])
    return bool(names)


@transaction.atomic
def store_row(form: RowForm, edition: str) -> list[str]:
    """Store what was changed, and return the names of these fields; for a new row its code alone."""
    row: Row = form.instance
    if isinstance(form, FaultForm) and form.cleaned_data["skill"] != form.instance.counted_skill:
        form.instance.skill = form.cleaned_data["skill"]
    if row.pk is None:
        add_row(row)
        return ["code"]
    return save_changes(row, edition, [*form.Meta.fields, *(["skill"] if isinstance(form, FaultForm) else [])])
