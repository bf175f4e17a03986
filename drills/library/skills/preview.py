"""A skill or fault as it would be read, made of what stands in the form, valid or not."""

from typing import Any

from django.http import QueryDict

from coachbook.accounts.models import Side
from drills.library.editing.words import as_wording, put_in_brackets
from drills.library.skills.forms import FaultForm, SkillForm

WORDINGS = {*SkillForm.WORDINGS, *FaultForm.WORDINGS}


def preview_of(form: SkillForm | FaultForm) -> dict[str, Any]:
    """The wordings as they were typed, for a coach and for players of either side."""
    texts = [(str(field.label), field.name, as_wording(str(field.value() or ""))) for field in form.word_fields]
    return {"texts": texts, "sides": Side}


def with_brackets(data: QueryDict) -> QueryDict:
    """What was typed, with every lead and trail in brackets."""
    changed = data.copy()
    for name in WORDINGS & {*changed}:
        changed[name] = put_in_brackets(str(changed[name]))
    return changed
