"""What the pages of skills and faults show, in a constant number of queries."""

from collections import defaultdict
from typing import Any, NamedTuple

from coachbook.accounts.models import Area, Side
from coachbook.http import Request
from drills.library.rows.access import kind_of, may_change, readable
from drills.library.rows.offers import word_of
from drills.library.skills.forms import FaultForm, SkillForm
from lessons.counted import COUNTED_SKILL
from lessons.models import Fault, Skill

SkillOrFault = Skill | Fault


class SkillFaults(NamedTuple):
    """A skill with its faults."""

    skill: Skill
    faults: list[Fault]


def skills_in(request: Request, area: Area) -> dict[str, list[Any]]:
    """The skills of an area, what of it is archived, and what of every area is offered; three queries."""
    found = list(readable(request, Skill).filter(area=area).order_by("position", "pk"))
    faults = list(faults_under(request).filter(skill__area=area))
    under: dict[int, list[Fault]] = defaultdict(list)
    for fault in faults:
        if not fault.archived:
            under[fault.counted_skill.pk].append(fault)
    kept = [skill for skill in found if not skill.archived]
    return {
        "of_academy": [SkillFaults(skill, under[skill.pk]) for skill in kept if not skill.owner_id],
        "own": [SkillFaults(skill, under[skill.pk]) for skill in kept if skill.owner_id],
        "archived": [row for row in (*found, *faults) if row.archived],
        "offers": offers(request) if request.user.is_manager else [],
    }


def offers(request: Request) -> list[SkillOrFault]:
    """What coaches offer to the academy, the oldest offer first."""
    rows: list[SkillOrFault] = [
        *readable(request, Skill).filter(offered_at__isnull=False),
        *faults_under(request).filter(offered_at__isnull=False),
    ]
    return sorted(rows, key=lambda row: str(row.offered_at))


def faults_under(request: Request) -> Any:
    """Faults in their order, each with its skill and its owner."""
    return readable(request, Fault).order_by("skill__position", "skill", "position", "pk")


def row_context(request: Request, row: SkillOrFault) -> dict[str, Any]:
    """The page of one row."""
    form = SkillForm if isinstance(row, Skill) else FaultForm
    labels = {**form.base_fields}
    skill = row if isinstance(row, Skill) else row.counted_skill
    return {
        "row": row,
        "kind": kind_of(row),
        "skill": skill,
        "area": Area(skill.area),
        "texts": [(str(labels[name].label), name, getattr(row, name)) for name in form.WORDINGS],
        "sides": Side,
        "may_change": may_change(request.user, row),
        "is_own": row.owner is not None and row.owner.user_id == request.user.pk,
        "manages": request.user.is_manager,
        "goes_with_skill": isinstance(row, Fault) and row.skill.owner_id is not None,
        "word": word_of(row),
        "faults": faults_of(request, row) if isinstance(row, Skill) else [],
        "merged": list(row.merged_rows()),
    }


def faults_of(request: Request, skill: Skill) -> list[Fault]:
    """The faults that stand with a skill, those of skills that were merged into it, too."""
    rows = faults_under(request).annotate(under=COUNTED_SKILL).filter(under=skill.pk, archived=False)
    return list(rows.order_by("position", "pk"))


def skills_to_choose(request: Request, fault: Fault) -> list[Skill]:
    """The skills of its area under which a fault may stand."""
    rows = readable(request, Skill).filter(area=fault.skill.area, archived=False)
    allowed = [skill for skill in rows.order_by("position", "pk") if skill.owner_id in (None, fault.owner_id)]
    own = fault.counted_skill
    return allowed if own in allowed else [own, *allowed]
