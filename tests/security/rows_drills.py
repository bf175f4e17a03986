"""The addresses of the drill library: the academy's drills, a coach's own, and a coach's usual ones."""

from django.utils import timezone

from coachbook.accounts.models import Coach
from drills.models import Drill
from lessons.models import Fault, Focus
from tests.conftest import Cast
from tests.make import make_drill, make_fault, make_lesson, make_prescription, make_skill
from tests.security.row import Row


def academy_drill(cast: Cast) -> list[object]:
    return ["putting-ball-gate"]


def own_drill(cast: Cast) -> list[object]:
    """A drill of the coach's own that was given to nobody, made once."""
    return [drill_of(cast.coach, "own-quiet-hands").code]


def given_drill(cast: Cast) -> list[object]:
    """A drill of the coach's own that the student has from a finished lesson, made once."""
    drill = drill_of(cast.coach, "own-long-roll")
    if not drill.prescriptions.exists():
        lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())
        within = {"opened_in": lesson, "closed_in": lesson}  # beside the open focuses of other rows
        fault = make_fault(make_skill())
        focus = Focus.objects.create(student=cast.student, slot=1, area="putting", fault=fault, **within)
        make_prescription(lesson, focus, drill=drill)
    return [drill.code]


def drill_of(coach: Coach, code: str) -> Drill:
    return Drill.objects.filter(code=code).first() or make_drill(code, owner=coach, name=code)


def some_fault(cast: Cast) -> list[object]:
    fault = Fault.objects.filter(code="some-fault").first() or make_fault(make_skill("some-skill"), "some-fault")
    return [fault.code]


ROWS: list[Row] = [
    Row("drills", "USE_SITE"),
    Row("drill", "USE_SITE", args=academy_drill),
    Row("drill", "SEE_OWN_DRILL", args=own_drill, label="own"),
    Row("drill", "SEE_GIVEN_DRILL", args=given_drill, label="given"),
    Row("drill_new", "EDIT_LIBRARY", "GET POST"),
    Row("drill_edit", "MANAGE_LIBRARY", "GET POST", args=academy_drill),
    Row("drill_edit", "EDIT_OWN_ROW", "GET POST", args=own_drill, label="own"),
    Row("usual_drills", "ACT_AS_COACH"),
    Row("usual_drill", "ACT_AS_COACH", "GET POST", args=some_fault),
    Row("usual_reset", "ACT_AS_COACH", "POST", args=some_fault),
]
