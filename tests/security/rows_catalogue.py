"""What is done with rows of the catalogue: the academy's, a coach's own, and those that are offered."""

from collections.abc import Callable
from typing import Any

from django.utils import timezone

from drills.models import Design, Drill
from lessons.models import Fault, Skill
from tests.conftest import Cast
from tests.make import make_design, make_drill, make_fault, make_skill
from tests.security.row import Row

Args = Callable[[Cast], list[object]]
MODELS: dict[str, Any] = {"skill": Skill, "fault": Fault, "drill": Drill, "design": Design}


def make_row(kind: str, code: str, **values: Any) -> None:
    if kind == "fault":
        skill = Skill.objects.filter(code="of-rows").first() or make_skill("of-rows")
        make_fault(skill, code, name=code, **values)
    else:
        {"skill": make_skill, "drill": make_drill, "design": make_design}[kind](code, name=code, **values)


def row(kind: str, whose: str) -> Args:
    """The arguments of an address: a row of the academy's, of the coach's own, or one that the coach offers.

    It is made once, and is as it was again after each time that something was done with it.
    """

    def args(cast: Cast) -> list[object]:
        code = f"{whose}-{kind}-row"
        rows = MODELS[kind].objects.filter(code=code)
        if not rows.exists():
            make_row(kind, code)
        owner = None if whose == "academy" else cast.coach
        rows.update(owner=owner, offered_at=timezone.now() if whose == "offered" else None, archived=False)
        return [kind, code]

    return args


OF_COACHES = ("row_archive", "row_restore", "row_offer", "row_keep")
ROWS: list[Row] = [
    *(Row("row_archive", "EDIT_OWN_ROW", "POST", args=row(kind, "own"), label=f"own {kind}") for kind in MODELS),
    *(Row(name, "EDIT_OWN_ROW", "POST", args=row("drill", "own"), label="own") for name in OF_COACHES[1:]),
    *(Row(name, "MANAGE_LIBRARY", "POST", args=row("fault", "academy")) for name in OF_COACHES[:2]),
    *(Row("row_take_in", "MANAGE_LIBRARY", "POST", args=row(kind, "offered"), label=kind) for kind in MODELS),
    Row("row_give_back", "MANAGE_LIBRARY", "GET POST", args=row("drill", "offered")),
    Row("row_move", "MANAGE_LIBRARY", "POST", args=row("fault", "academy")),
    Row("row_merge", "MANAGE_LIBRARY", "GET POST", args=row("drill", "academy")),
    Row("row_unmerge", "MANAGE_LIBRARY", "POST", args=row("fault", "academy")),
]
