"""The addresses of skills and faults: the academy's, a coach's own, and those that are offered to the academy."""

from django.utils import timezone

from lessons.models import Fault, Skill
from tests.conftest import Cast
from tests.make import make_fault, make_skill
from tests.security.row import Row


def academy_skill(cast: Cast) -> list[object]:
    return ["skill", skill_of_academy().code]


def academy_fault(cast: Cast) -> list[object]:
    code = "academy-fault"
    return ["fault", (Fault.objects.filter(code=code).first() or make_fault(skill_of_academy(), code)).code]


def own_fault(cast: Cast) -> list[object]:
    """A fault of the coach's own, offered to nobody."""
    code = "own-fault"
    fault = Fault.objects.filter(code=code).first() or make_fault(skill_of_academy(), code, owner=cast.coach, name=code)
    return ["fault", fault.code]


def offered_fault(cast: Cast) -> list[object]:
    """A fault that the coach offers to the academy, whatever became of it."""
    code = "offered-fault"
    fault = Fault.objects.filter(code=code).first() or make_fault(skill_of_academy(), code, name=code)
    Fault.objects.filter(pk=fault.pk).update(owner=cast.coach, offered_at=timezone.now())
    return ["fault", fault.code]


def skill_of_academy() -> Skill:
    return Skill.objects.filter(code="academy-skill").first() or make_skill("academy-skill")


OF_COACHES = ("archive", "restore", "offer", "keep")
ROWS: list[Row] = [
    Row("skills", "EDIT_LIBRARY"),
    Row("skill_new", "EDIT_LIBRARY", "GET POST"),
    Row("fault_new", "EDIT_LIBRARY", "GET POST", args=lambda cast: [skill_of_academy().code]),
    Row("skill_row", "EDIT_LIBRARY", args=academy_skill),
    Row("skill_row", "SEE_OWN_SKILL", args=own_fault, label="own"),
    Row("skill_row_edit", "MANAGE_LIBRARY", "GET POST", args=academy_skill),
    Row("skill_row_edit", "EDIT_OWN_SKILL", "GET POST", args=own_fault, label="own"),
    *(Row(f"skill_row_{name}", "EDIT_OWN_SKILL", "POST", args=own_fault, label="own") for name in OF_COACHES),
    *(Row(f"skill_row_{name}", "MANAGE_LIBRARY", "POST", args=academy_fault) for name in OF_COACHES[:2]),
    *(Row(f"skill_row_{name}", "MANAGE_LIBRARY", "POST", args=offered_fault) for name in ("take_in", "give_back")),
    Row("skill_row_move", "MANAGE_LIBRARY", "POST", args=academy_fault),
    Row("skill_row_merge", "MANAGE_LIBRARY", "GET POST", args=academy_fault),
    Row("skill_row_unmerge", "MANAGE_LIBRARY", "POST", args=academy_fault),
]
