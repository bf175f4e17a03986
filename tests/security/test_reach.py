"""How views reach rows: through a student whom the gate returned, and never by a key alone."""

import ast
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.test import Client
from django.urls import get_resolver, reverse
from django.utils import timezone

from coachbook.accounts.models import Student
from tests.conftest import Cast
from tests.make import make_care, make_consent, make_drill, make_guardian, make_lesson, make_student
from tests.security import rows_catalogue, rows_skills
from tests.security.matrix import POLICY
from tests.security.row import Row
from tests.security.rows import ROWS

Clients = Callable[[str], Client]
ROOT = Path(__file__).resolve().parents[2]
VIEWS = sorted(
    path
    for folder in ("coachbook", "drills", "lessons")
    for path in (ROOT / folder).rglob("*.py")
    if path.stem == "views" or path.parent.name == "views"
)
# Where a view asks for rows of a model without coming from a student: by module and model, with the reason.
ALLOWED = {
    ("coachbook/accounts/views/academy.py", "Student"): "how many juniors another age would free, which managers set",
    ("coachbook/accounts/views/people.py", "Invitation"): "whoever holds the token is the person invited",
    ("coachbook/accounts/views/people.py", "User"): "accounts, which managers alone reach",
    ("coachbook/caseload/attention/views.py", "Coach"): "coaches, among whom managers alone choose here",
    ("coachbook/caseload/care/views.py", "Coach"): "coaches, which managers alone choose here",
    ("coachbook/caseload/care/views.py", "Student"): "the one whom the gate returned; and a manager sees all",
    ("coachbook/caseload/views.py", "Coach"): "coaches, which managers alone choose here",
    (
        "coachbook/corrections/approvals/views.py",
        "ApprovalRequest",
    ): "narrowed to those whom it concerns",
    (
        "coachbook/corrections/approvals/views.py",
        "User",
    ): "accounts, of which managers decide",
    ("coachbook/corrections/views.py", "Correction"): "narrowed to the student, or all of them for a manager",
    ("coachbook/corrections/views.py", "Lesson"): "narrowed to those whom the gate lets the person correct",
    ("coachbook/diary/following/views.py", "User"): "accounts, which managers alone reach",
    ("coachbook/diary/views.py", "Coach"): "coaches are no students",
    ("coachbook/family/views.py", "Student"): "the one whom the gate returned, locked",
    ("coachbook/groups/views.py", "Appointment"): "narrowed to the coach's own, and its students to those they teach",
    ("coachbook/groups/views.py", "Session"): "a group belongs to its coach: find_group asks who that is",
    ("coachbook/loop/days/views.py", "Coach"): "coaches are no students",
    ("coachbook/loop/days/views.py", "Lesson"): "narrowed to those whom the gate lets the person see in a diary",
    ("coachbook/loop/log/views.py", "Lesson"): "the one whom the gate's student has, locked to be saved anew",
    ("coachbook/loop/phrases/views.py", "Phrase"): "words of the catalogue are about no student",
    ("coachbook/loop/sheets/views.py", "Sheet"): "narrowed to the student, since a sheet belongs to a lesson",
    ("coachbook/loop/stills/consent/views.py", "Still"): "narrowed to the student, since a still belongs to a lesson",
    ("coachbook/loop/stills/views.py", "Still"): "the same",
    ("coachbook/loop/stills/beside/views.py", "Checkpoint"): "moments of a stroke are about no student",
    ("coachbook/loop/stills/beside/references/views.py", "ReferenceStill"): "the academy's own pictures, of no student",
    ("coachbook/loop/students/views.py", "User"): "the account of the student whom the gate returned",
    ("coachbook/rights/academy_file/views.py", "AcademyFile"): "who saved a file and when, which managers alone read",
    ("coachbook/family/views.py", "Still"): "how many there are of the student whom the gate returned",
    ("drills/library/checkpoints/views.py", "Checkpoint"): "moments of a stroke are about no student",
    ("drills/library/views.py", "Drill"): "the library is everybody's, and what is a coach's own is narrowed to it",
    ("drills/library/views.py", "Fault"): "the catalogue is about no student",
    ("drills/scored_tests/recording/views.py", "ScoredTest"): "only whether a key is taken, before the gate is asked",
}
MODELS = {model.__name__ for model in apps.get_models()}


def asked_models(path: Path) -> Iterator[str]:
    """The models of which a module asks for rows by their manager, or which it hands to `get_object_or_404`."""
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Attribute) and node.attr in ("objects", "_default_manager", "_base_manager", "history"):
            yield ast.unparse(node.value)
        if isinstance(node, ast.Call) and ast.unparse(node.func) in ("get_object_or_404", "get_list_or_404"):
            yield ast.unparse(node.args[0])


def test_a_view_reaches_rows_through_a_student_whom_the_gate_returned() -> None:
    found = {(str(path.relative_to(ROOT)), name) for path in VIEWS for name in asked_models(path) if name in MODELS}
    by_history = {("coachbook/caseload/care/views.py", "Care"), ("coachbook/loop/intake/views.py", "Pause")}
    by_history |= {("coachbook/family/views.py", "Guardianship"), ("drills/scored_tests/rounds/views.py", "Round")}
    assert len(VIEWS) > 15
    assert found - by_history == set(ALLOWED), "a new one needs a reason, and one that is gone needs none"


def test_a_manager_is_seen_wherever_it_is_asked(tmp_path: Path) -> None:
    module = tmp_path / "views.py"
    module.write_text("a = Focus.objects.all()\nb = get_object_or_404(Look, key=1)\nc = student.lessons.all()\n")
    assert set(asked_models(module)) == {"Focus", "Look"}


# --- Two keys in an address -----------------------------------------------------------------------

WORDS = {"consent_give", "consent_withdraw"}  # their second word is a purpose, which every student has
WORDS |= {"attention_snooze", "month", "month_pdf", "practice_month"}  # and here a reason, and a month
WORDS |= {"log_choices"}  # kinds of looks, and a digest
# Rows of the catalogue, named by what they are and their code, are about no student.
WORDS |= {row.name for row in (*rows_skills.ROWS, *rows_catalogue.ROWS)}


def keys_of(name: str) -> list[str]:
    """The names of what stands in an address."""
    return list(get_resolver().reverse_dict.getlist(name)[0][0][0][1])


TWO_KEYS = [row for row in ROWS if row.is_about_a_student and len(keys_of(row.name)) > 1 and row.name not in WORDS]


def test_every_address_with_two_keys_is_tried() -> None:
    names = {name for name in get_resolver().reverse_dict if isinstance(name, str)}
    many = {name for name in names if len(keys_of(name)) > 1 and not name.startswith("account_")}
    assert {row.name for row in TWO_KEYS} == many - WORDS and len(many) > 20


def own_round(cast: Cast) -> uuid.UUID:
    return cast.student.rounds.create(day="2026-06-01", holes=9, putts=17, by=cast.coach.user).key


def own_message(cast: Cast) -> uuid.UUID:
    return cast.student.messages.create(written_by=cast.coach.user, text="Well done").key


def own_absence(cast: Cast) -> uuid.UUID:
    day = "2026-06-01"
    return cast.student.absences.create(first_day=day, last_day=day, reported_by=cast.coach.user).key


# What takes a fresh key, and is never opened again: a row that has the key already.
TAKEN = {"round_report": own_round, "message_write": own_message, "absence_report": own_absence}


@pytest.fixture
def sibling(cast: Cast) -> Student:
    """Another student to whom everybody is what they are to the first one."""
    other = make_student("Wilf Tarkle", account=False)
    for coach, role in [(cast.coach, "main"), (cast.cover, "cover"), (cast.assistant, "assistant")]:
        make_care(coach, other, role=role)
    other.guardianships.create(guardian=cast.guardian)
    make_consent(other, make_guardian("Nan Tarkle", other))
    make_drill("putting-ball-gate")
    make_lesson(other, cast.coach, status="complete", completed_at=timezone.now())
    return other


@pytest.mark.parametrize("row", TWO_KEYS, ids=lambda row: row.name + row.label)
def test_what_belongs_to_one_student_is_not_there_under_another(
    row: Row, cast: Cast, as_: Clients, sibling: Student
) -> None:
    first, *others = row.args(cast)
    assert first == cast.student.key
    if row.label == "new" or row.name in TAKEN:
        others = taken_keys(row, cast)
    for method in row.methods.split():
        for actor in actors_of(row, method):
            answer = as_(actor).generic(method, reverse(row.name, args=[sibling.key, *others]))
            assert answer.status_code == 404, (method, actor)


def actors_of(row: Row, method: str) -> list[str]:
    """Those who may do this with both students."""
    columns = "anonymous closed student other_student guardian past_guardian coach cover assistant".split()
    columns += ["past_coach", "other_coach", "manager"]
    verdicts = dict(zip(columns, POLICY[row.permission_for(method)], strict=True))
    return [actor for actor in ("guardian", "coach", "cover", "manager") if verdicts[actor] == "ok"]


def taken_keys(row: Row, cast: Cast) -> list[Any]:
    """The keys of the row that another line of the matrix has at the same address."""
    if row.name in TAKEN:
        return [TAKEN[row.name](cast)]
    made = next(each for each in ROWS if each.name == row.name and each.label != "new")
    return made.args(cast)[1:]
