"""A group: how it begins, who may write it, who comes later, and what nobody else reads of it."""

import re
import uuid
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from coachbook.accounts.models import Student
from coachbook.groups.session import add_student
from coachbook.loop.models import Sheet
from lessons.models import Lesson, Session
from tests.conftest import Cast
from tests.group_page import GIVEN, Group, text
from tests.library import load_library
from tests.make import make_lesson, make_student
from tests.security.matrix import reds
from tests.security.rows_groups import ROWS

Clients = Callable[[str], Client]


@pytest.fixture(autouse=True)
def catalogue(cast: Cast) -> None:
    load_library()


@pytest.fixture
def rosalind(cast: Cast) -> Student:
    return make_student("Rosalind Tuftle", coach=cast.coach)


@pytest.fixture
def fresh(cast: Cast, as_: Clients, rosalind: Student) -> Group:
    return Group(as_("coach"), [cast.student, rosalind])


@pytest.fixture
def group(fresh: Group) -> Group:
    assert fresh.begin().status_code == 302
    return fresh


# --- Beginning ----------------------------------------------------------------------------------


def test_a_new_group_has_a_fresh_address_that_saves_nothing(as_: Clients) -> None:
    first, second = (as_("coach").get(reverse("group_new")).url for _ in range(2))  # type: ignore[attr-defined]
    assert first != second and as_("coach").get(first).status_code == 200
    assert not Session.objects.exists()


def test_a_group_begins_with_a_draft_for_each_student_and_their_own_sides(fresh: Group, cast: Cast) -> None:
    Student.objects.filter(pk=cast.student.pk).update(putting_side="left")
    assert fresh.begin(areas=["putting", "chipping"]).url == fresh.address
    session = Session.objects.get()
    assert (session.kind, session.name, session.place) == ("group", "Saturday juniors", "The big green")
    assert session.coach == cast.coach and {lesson.status for lesson in session.lessons.all()} == {"draft"}
    assert fresh.lesson(cast.student).areas == ["putting", "chipping"]
    assert [fresh.lesson(student).putting_side for student in fresh.students] == ["left", "right"]


def test_a_group_needs_no_name(fresh: Group) -> None:
    assert fresh.begin(name="").status_code == 302 and Session.objects.get().name == ""
    assert "<h1>Group</h1>" in text(fresh.client.get(fresh.address))


def test_beginning_twice_meets_the_same_rows(fresh: Group, cast: Cast) -> None:
    fresh.begin()
    make_student("Wilf Tarkle", coach=cast.coach)
    assert fresh.begin(name="Another").url == fresh.address
    assert Session.objects.get().name == "Saturday juniors" and Lesson.objects.count() == 2


@pytest.mark.parametrize("number", [1, 21])
def test_fewer_than_two_or_more_than_twenty_are_refused_and_the_ticks_stay(
    number: int, cast: Cast, as_: Clients
) -> None:
    students = [make_student(f"Child {n}", coach=cast.coach, account=False) for n in range(number)]
    answer = Group(as_("coach"), students).begin()
    assert answer.status_code == 422 and not Session.objects.exists()
    assert (
        f"Tick at {'least two' if number == 1 else 'most 20'} students"
        in re.findall(r'id="id_students_error">(.*?)</div>', text(answer), re.DOTALL)[0]
    )
    assert len(re.findall(r'name="students"[^>]*checked', text(answer))) == number
    assert "Saturday juniors" in text(answer)


@pytest.mark.parametrize("number", [2, 20])
def test_two_and_twenty_are_a_group(number: int, cast: Cast, as_: Clients) -> None:
    students = [make_student(f"Child {n}", coach=cast.coach, account=False) for n in range(number)]
    assert Group(as_("coach"), students).begin().status_code == 302
    assert Lesson.objects.count() == number


@pytest.mark.parametrize(
    "typed, field",
    [
        ({"name": "x" * 61}, "id_name"),
        ({"day": "2999-01-01"}, "id_day"),
        ({"day": "0002-01-01"}, "id_day"),
        ({"day": "soon"}, "id_day"),
        ({"areas": []}, "id_areas"),
        ({"areas": ["cricket"]}, "id_areas"),
        ({"place": "\0"}, "id_place"),
        ({"students": ["no key", "none either"]}, "id_students"),
        ({"students": []}, "id_students"),
    ],
)
def test_an_error_is_shown_beside_its_field(fresh: Group, typed: dict[str, Any], field: str) -> None:
    answer = fresh.begin(**typed)
    assert answer.status_code == 422 and f'id="{field}_error"' in text(answer)
    assert not Session.objects.exists()


def test_only_those_whom_the_coach_teaches_can_be_ticked(fresh: Group, cast: Cast) -> None:
    assert "Petra Sallowpipit" not in text(fresh.client.get(fresh.address))
    fresh.students.append(cast.other_student)
    answer = fresh.begin()
    assert answer.status_code == 422 and "not one of yours" in text(answer)
    assert "Petra Sallowpipit" not in text(answer) and not Session.objects.exists()


def test_those_of_late_lessons_come_first(fresh: Group, cast: Cast, rosalind: Student) -> None:
    make_lesson(rosalind, cast.coach)
    page = text(fresh.client.get(fresh.address))
    assert page.index("Rosalind Tuftle") < page.index("Alder Quimble")


def test_students_of_the_same_name_are_distinguished(fresh: Group, cast: Cast) -> None:
    make_student("Sorrel Purl", coach=cast.coach, account=False, birth_year=2014)
    left = {f"{area}_side": "left" for area in ("putting", "chipping", "pitching", "bunker")}
    make_student("Sorrel Purl", coach=cast.coach, account=False, birth_year=2016, **left)
    page = text(fresh.client.get(fresh.address))
    assert "Sorrel Purl (right side, born 2014)" in page and "Sorrel Purl (left side, born 2016)" in page
    assert "Alder Quimble (" not in page


# --- Who may ------------------------------------------------------------------------------------


def test_one_who_is_no_longer_a_student_of_the_coach_is_named_and_never_changed(
    group: Group, cast: Cast, rosalind: Student
) -> None:
    rosalind.cares.update(until=date(2020, 1, 2))
    page = text(group.client.get(group.address))
    assert (
        "no longer one of your students" in page
        and reverse("lesson", args=[rosalind.key, group.lesson(rosalind).key]) not in page
    )
    assert group.send(keep="Good rhythm", given=GIVEN, done="1").status_code == 302
    lesson = group.lesson(rosalind)
    assert (lesson.keep, lesson.status, lesson.version) == ("", "draft", 0) and not rosalind.focuses.exists()
    assert group.lesson(cast.student).status == "complete"


def test_a_manager_reads_and_writes_nothing(group: Group, as_: Clients) -> None:
    answer = as_("manager").get(group.address)
    assert answer.status_code == 200 and "Save for everyone" not in text(answer) and "Add a student" not in text(answer)
    assert as_("manager").post(group.address, {"areas": ["putting"], "keep": "Mine"}).status_code == 403
    assert not Lesson.objects.exclude(keep="").exists()


def test_a_students_own_log_leads_back_to_the_group_for_those_who_may_see_it(
    group: Group, cast: Cast, as_: Clients
) -> None:
    log = reverse("lesson", args=[cast.student.key, group.lesson(cast.student).key])
    for actor, leads in [("coach", True), ("manager", True), ("cover", False)]:
        answer = as_(actor).get(log)
        assert answer.status_code == 200 and (group.address in text(answer)) == leads, actor


def test_a_coach_of_one_of_its_students_does_not_reach_another_coachs_group(group: Group, as_: Clients) -> None:
    for actor in ("cover", "assistant", "past_coach", "other_coach"):
        assert as_(actor).get(group.address).status_code == 404, actor
        assert as_(actor).post(group.address, {"areas": ["putting"]}).status_code == 404, actor


def test_a_lesson_alone_is_no_group(cast: Cast, as_: Clients) -> None:
    session = make_lesson(cast.student, cast.coach).session
    for name in ("group", "group_sheets"):
        assert as_("coach").get(reverse(name, args=[session.key])).status_code == 404


def test_a_group_that_nobody_began_has_no_sheets(as_: Clients) -> None:
    assert as_("coach").get(reverse("group_sheets", args=[uuid.uuid4()])).status_code == 404


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.name + row.label)
def test_dropping_the_gate_of_a_group_turns_a_cell_red(
    row: Any, cast: Cast, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("coachbook.accounts.gate.require", lambda *args: None)
    assert any(reds(row, cast, as_, row.methods.split(), fragments=False))


# --- Later-comers, other students, and what a page costs ----------------------------------------


def test_somebody_who_comes_later_gets_the_same(group: Group, cast: Cast) -> None:
    late = make_student("Wilf Tarkle", coach=cast.coach)
    for _ in range(2):
        answer = group.send(keep="Good rhythm", areas=["putting", "bunker"], student=str(late.key), add="1")
        assert answer.status_code == 302
    assert Lesson.objects.count() == 3
    assert (group.lesson(late).areas, group.lesson(late).keep) == (["putting", "bunker"], "Good rhythm")


@pytest.mark.parametrize("typed", ["", "nobody", "stranger"])
def test_nobody_else_can_be_added_and_nothing_typed_is_lost(group: Group, cast: Cast, typed: str) -> None:
    key = str(cast.other_student.key) if typed == "stranger" else typed
    answer = group.send(student=key, add="1", keep="Good rhythm")
    assert answer.status_code == 422 and 'id="id_student_error"' in text(answer)
    assert "Good rhythm" in text(answer) and "Petra Sallowpipit" not in text(answer)
    assert Lesson.objects.count() == 2


def test_the_twenty_first_is_refused(cast: Cast, as_: Clients) -> None:
    group = Group(as_("coach"), [make_student(f"Child {n}", coach=cast.coach, account=False) for n in range(20)])
    group.begin()
    answer = group.send(student=str(cast.student.key), add="1", keep="Good rhythm")
    assert answer.status_code == 422 and "20 students at most" in text(answer)
    with pytest.raises(ValidationError):
        add_student(session=Session.objects.get(), student=cast.student)
    assert Lesson.objects.count() == 20


def test_no_page_of_a_student_names_another_of_the_group(
    group: Group, cast: Cast, rosalind: Student, as_: Clients
) -> None:
    group.send(keep="Good rhythm", next_time="Longer putts", given=GIVEN, done="1")
    sheet = Sheet.objects.get(lesson__student=cast.student)
    assert "Rosalind" not in str(sheet.content) and "Saturday juniors" not in str(sheet.content)
    key = cast.student.key
    for address in (
        reverse("student", args=[key]),
        reverse("today", args=[key]),
        reverse("progress", args=[key]),
        reverse("sheet", args=[key, sheet.key]),
    ):
        answer = as_("student").get(address)
        assert answer.status_code == 200 and "Rosalind" not in text(answer), address
    assert as_("student").get(group.address).status_code == 403
    assert as_("guardian").get(group.address).status_code == 403


def test_a_page_costs_the_same_for_two_and_for_eight(group: Group, cast: Cast) -> None:
    two = costs(group)
    for number in range(6):
        child = make_student(f"Child {number}", coach=cast.coach)
        group.send(student=str(child.key), add="1")
    assert costs(group) == two and max(two) <= 20


def costs(group: Group) -> list[int]:
    """How many queries the pages of a finished group take."""
    found = []
    assert group.send(keep="Good rhythm", given=GIVEN, done="1").status_code == 302
    for address in (group.address, group.address, reverse("group_sheets", args=[group.key])):
        with CaptureQueriesContext(connection) as asked:
            assert group.client.get(address).status_code == 200
        found.append(len(asked))
    return found
