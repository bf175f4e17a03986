"""The addresses of skills and faults: the academy's, and a coach's own."""

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


def skill_of_academy() -> Skill:
    return Skill.objects.filter(code="academy-skill").first() or make_skill("academy-skill")


ROWS: list[Row] = [
    Row("skills", "EDIT_LIBRARY"),
    Row("skill_new", "EDIT_LIBRARY", "GET POST"),
    Row("fault_new", "EDIT_LIBRARY", "GET POST", args=lambda cast: [skill_of_academy().code]),
    Row("skill_row", "EDIT_LIBRARY", args=academy_skill),
    Row("skill_row", "SEE_OWN_SKILL", args=own_fault, label="own"),
    Row("skill_row_edit", "MANAGE_LIBRARY", "GET POST", args=academy_skill),
    Row("skill_row_edit", "EDIT_OWN_ROW", "GET POST", args=own_fault, label="own"),
]
