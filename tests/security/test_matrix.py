"""Every address, method and actor against the policy; then every gate dropped in turn, to see the matrix turn red."""

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student, User
from coachbook.accounts.relationships import Relationship
from coachbook.middleware import SignInRequired
from tests.conftest import Cast
from tests.make import make_drill
from tests.security.matrix import ACTORS, ALLAUTH, ALLAUTH_SIGNED_IN, ALLAUTH_UNUSED, METHODS, POLICY, names, reds
from tests.security.row import OF_A_STUDENT, Row
from tests.security.rows import ROWS

Clients = Callable[[str], Client]
row_ids = [f"{row.name}{'-' * bool(row.label)}{row.label}" for row in ROWS]


@pytest.fixture(autouse=True)
def a_drill(cast: Cast) -> None:
    """The one drill that the matrix asks for."""
    make_drill("putting-ball-gate")


def test_the_matrix_knows_every_address() -> None:
    assert set(names()) - {row.name for row in ROWS} - ALLAUTH - ALLAUTH_SIGNED_IN - ALLAUTH_UNUSED == set()


def test_few_addresses_are_public() -> None:
    assert len({row.name for row in ROWS if row.permission == "PUBLIC"}) <= 8


@pytest.mark.parametrize("row", ROWS, ids=row_ids)
def test_every_cell_answers_as_the_policy_says(row: Row, cast: Cast, as_: Clients) -> None:
    assert list(reds(row, cast, as_, METHODS)) == []


@pytest.mark.parametrize("name", sorted(ALLAUTH_SIGNED_IN))
def test_allauth_pages_for_the_signed_in_send_others_to_sign_in(name: str, as_: Clients) -> None:
    address = reverse(name, args=[1] if name == "mfa_remove_webauthn" else [])
    assert as_("anonymous").post(address).status_code == 401
    response = as_("anonymous").get(address)
    assert response.status_code == 302 and reverse("account_login") in response.url


@pytest.mark.parametrize("actor", ["anonymous", "student", "manager"])
@pytest.mark.parametrize("name", sorted(ALLAUTH_UNUSED))
def test_a_page_that_nobody_can_use_is_a_plain_404(name: str, actor: str, as_: Clients) -> None:
    address = reverse(name, args=["key"] if name == "account_confirm_email" else [])
    for answer in (as_(actor).get(address), as_(actor).post(address)):
        assert answer.status_code == 404 and "<h1>" in answer.content.decode()


def test_nobody_signs_up(as_: Clients) -> None:
    typed = {
        "username": "sly",
        "email": "sly@example.org",
        "password1": "a long password",
        "password2": "a long password",
    }
    as_("anonymous").post(reverse("account_signup"), typed)
    assert not User.objects.filter(username="sly").exists()


@pytest.mark.parametrize("row", [row for row in ROWS if "POST" in row.methods], ids=lambda row: row.name + row.label)
def test_a_post_without_the_token_is_refused(row: Row, cast: Cast) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.manager)
    assert client.post(reverse(row.name, args=row.args(cast))).status_code == 403


def test_a_closed_account_is_out_at_its_next_request(cast: Cast, as_: Clients) -> None:
    client = as_("coach")
    assert client.get(reverse("students")).status_code == 200
    cast.coach.user.is_active = False
    cast.coach.user.save()
    assert client.get(reverse("students")).status_code == 302


def test_care_that_ended_yesterday_shows_nothing_at_the_next_request(cast: Cast, as_: Clients) -> None:
    client, page = as_("coach"), reverse("student", args=[cast.student.key])
    assert client.get(page).status_code == 200
    cast.student.cares.filter(coach=cast.coach).update(until="2020-01-02")
    assert client.get(page).status_code == 404


# --- The matrix itself: does it notice? ---------------------------------------------------------


def no_check(request: Any, permission: Permission, key: uuid.UUID | None = None) -> Any:
    """A gate that lets everybody through to any student."""
    return Student.objects.filter(key=key).first() or Student(key=key) if key else None


def every_student(request: Any, permission: Permission = Permission.READ_RECORD) -> Any:
    return Student.objects.all()


def only_may_see(request: Any, permission: Permission, key: uuid.UUID) -> Any:
    """A gate that does not ask what the person wants to do."""
    return get_student_by_gate(request, Permission.READ_RECORD, key)


get_student_by_gate = gate.get_student
BY_STUDENT = [row for row in ROWS if row.is_about_a_student and row.name != "student_details"]
DROPS = [
    *(
        (row, {"require": no_check})
        for row in ROWS
        if row.permission in ("ADD_STUDENT", "MANAGE_ACADEMY") and row not in BY_STUDENT and not row.label
    ),
    *((row, {"get_or_new_student": no_check}) for row in ROWS if row.name == "student_details"),
    *((row, {"get_student": no_check}) for row in BY_STUDENT),
    # Who may read may also send messages: by their answers these two permissions cannot be told apart.
    *((row, {"get_student": only_may_see}) for row in BY_STUDENT if POLICY[row.permission] != POLICY["READ_RECORD"]),
    *((row, {"get_students": every_student}) for row in ROWS if row.name == "students"),
]


@pytest.mark.one_database
@pytest.mark.parametrize(
    ("row", "dropped"), DROPS, ids=[f"{r.name}{r.label}-{'-'.join(d)}-{n}" for n, (r, d) in enumerate(DROPS)]
)
def test_dropping_a_gate_turns_a_cell_red(
    row: Row, dropped: dict[str, Any], cast: Cast, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, stand_in in dropped.items():
        monkeypatch.setattr(gate, name, stand_in)
    assert any(reds(row, cast, as_, row.methods.split(), fragments=False))


@pytest.mark.one_database
@pytest.mark.parametrize(
    "row",
    [row for row in ROWS if POLICY[row.permission][ACTORS.index("anonymous")] == "in"],
    ids=lambda row: row.name + row.label,
)
def test_dropping_the_sign_in_turns_a_cell_red(
    row: Row, cast: Cast, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(SignInRequired, "process_view", lambda *args: None)
    assert any(reds(row, cast, as_, row.methods.split(), fragments=False))


GENERAL = {Relationship.SIGNED_IN, Relationship.ANY_COACH, Relationship.MANAGER}
PERSONAL = {*Relationship} - {Relationship.SIGNED_IN, Relationship.ANY_COACH, Relationship.ADULT_SELF}
TOGGLES = [
    (permission, relationship)
    for permission in Permission
    for relationship in Relationship
    if relationship in (PERSONAL if permission.name in OF_A_STUDENT else GENERAL)
    if (permission is Permission.USE_SITE) == (relationship is Relationship.SIGNED_IN)
]


PDFS = (
    "sheet_pdf",
    "month_pdf",
    "paper_log_pdf",
    "paper_log_blank_pdf",
)  # they take long, and another row has each permission


@pytest.mark.one_database
@pytest.mark.parametrize(("permission", "relationship"), TOGGLES, ids=[f"{p.name}-{r.name}" for p, r in TOGGLES])
def test_changing_any_entry_of_the_policy_turns_a_cell_red(
    permission: Permission, relationship: Relationship, cast: Cast, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(gate.POLICY, permission, gate.POLICY[permission] ^ {relationship})
    rows = [row for row in ROWS if permission.name in (row.permission, row.post) and row.name not in PDFS]
    assert any(red for row in rows for red in reds(row, cast, as_, row.methods.split(), fragments=False))
