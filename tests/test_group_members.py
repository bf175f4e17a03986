"""Where one student of a group differs: drills of their own, no focus, a third focus."""

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from coachbook.accounts.models import Student
from coachbook.loop.models import Sheet
from drills.models import Drill, Prescription
from lessons.models import Fault, Focus
from tests.conftest import Cast
from tests.group_page import APART, CLOCK, GATE, GIVEN, SQUEEZE, Group, own_focus, text
from tests.library import load_library
from tests.make import academy_today, make_prescription, make_student

Clients = Callable[[str], Client]
BACK = "putting-ball-position-back"
ADDS, SKIPS = {"adds_drill": "on"}, {"skips_focus": "on"}


@pytest.fixture(autouse=True)
def catalogue(cast: Cast) -> None:
    load_library()


@pytest.fixture
def rosalind(cast: Cast) -> Student:
    return make_student("Rosalind Tuftle", coach=cast.coach)


@pytest.fixture
def group(cast: Cast, as_: Clients, rosalind: Student) -> Group:
    group = Group(as_("coach"), [cast.student, rosalind])
    assert group.begin().status_code == 302
    return group


@pytest.fixture
def own(cast: Cast, rosalind: Student) -> Prescription:
    """A drill that one of the two has from a lesson of three weeks ago, with nine more days to go."""
    focus = own_focus(rosalind, cast, APART)
    return make_prescription(focus.opened_in, focus, drill=Drill.objects.get(code=CLOCK), amount=6)


def drills_now(student: Student) -> list[tuple[str, int]]:
    return list(student.prescriptions.in_force(academy_today()).values_list("drill__code", "amount"))


def stored(row: Prescription) -> dict[str, Any]:
    return Prescription.objects.filter(pk=row.pk).values().get()


# --- Drills of their own ------------------------------------------------------------------------


def test_before_it_is_saved_the_page_names_who_has_drills_in_these_days(
    own: Prescription, group: Group, cast: Cast
) -> None:
    last = own.begins + timedelta(days=29)
    words = f"has Clock, 6 minutes, 3 times a week, until {last.day} {last:%B}."
    assert words in group.row(own.student) and "has " not in group.row(cast.student)
    page = text(group.client.get(group.address))
    assert (
        "Rosalind Tuftle already has drills in these days" in page
        and page.count('name="{}"'.format(group.field(own.student, "adds_drill"))) == 1
    )
    assert group.field(cast.student, "adds_drill") not in page


@pytest.mark.parametrize("fault", [APART, SQUEEZE])
def test_their_own_drill_is_neither_renewed_nor_joined_by_a_second_one(
    fault: str, own: Prescription, group: Group, cast: Cast
) -> None:
    before = stored(own)
    group.send(given={**GIVEN, "fault": fault}, done="1")
    assert stored(own) == before and own.student.prescriptions.get() == own
    assert own.student.focuses.open().filter(fault__code=fault).exists()
    assert drills_now(cast.student) == [(GATE, 8)]


def test_with_a_tick_the_drill_for_everyone_comes_beside_their_own(own: Prescription, group: Group) -> None:
    before = stored(own)
    group.send(given={**GIVEN, "fault": SQUEEZE}, members={own.student: ADDS}, done="1")
    assert stored(own) == before and drills_now(own.student) == [(CLOCK, 6), (GATE, 8)]
    drills = [focus["drill"]["dose"] for focus in Sheet.objects.get(lesson__student=own.student).content["focuses"]]
    last = own.begins + timedelta(days=29)
    assert drills == [
        "8 balls, 4 times a week, for 14 days",
        f"6 minutes, 3 times a week, until {last.day} {last:%B}",
    ]


def test_with_a_tick_it_replaces_the_one_for_the_same_focus_and_without_gives_it_back(
    own: Prescription, group: Group
) -> None:
    before = stored(own)
    group.send(given=GIVEN, members={own.student: ADDS}, done="1")
    assert drills_now(own.student) == [(GATE, 8)] and own.student.focuses.get() == own.focus
    assert "checked" in re.findall(r"<input[^>]*-adds_drill[^>]*>", group.row(own.student))[0]
    for _ in range(2):
        group.send(given=GIVEN, done="1")
        assert stored(own) == before and own.student.prescriptions.get() == own


def test_a_dose_that_is_over_is_no_reason_to_leave_the_drill_out(own: Prescription, group: Group) -> None:
    Prescription.objects.update(days=20, review_on=own.begins + timedelta(days=20))
    assert "has " not in group.row(own.student)
    group.send(given=GIVEN, done="1")
    assert drills_now(own.student) == [(GATE, 8)]


def test_a_drill_that_a_later_lesson_ended_is_not_theirs_any_more(own: Prescription, group: Group) -> None:
    Prescription.objects.update(ended_on=academy_today())
    assert "has " not in group.row(own.student)
    group.send(given=GIVEN)
    assert group.lesson(own.student).prescriptions.get().drill.code == GATE


def test_an_earlier_lesson_finished_later_keeps_its_drill_beside_the_one_of_the_group(
    own: Prescription, group: Group, cast: Cast
) -> None:
    group.send(given={**GIVEN, "fault": SQUEEZE}, members={own.student: ADDS}, done="1")
    log = reverse("lesson", args=[own.student.key, own.lesson.key])
    opened = group.client.get(f"{log}?edit").context
    typed = {"page": opened["page"], "base": str(opened["base"]), "count": "1", "putting": "on", "keep": "Calm"}
    typed |= {"day": own.begins.isoformat(), "done": "1"}
    assert group.client.post(log, typed).status_code == 302
    assert drills_now(own.student) == [(CLOCK, 6), (GATE, 8)]


# --- No focus for one ---------------------------------------------------------------------------


def test_one_student_may_go_without_the_focus(group: Group, cast: Cast, rosalind: Student) -> None:
    group.send(keep="Good rhythm", given=GIVEN, members={rosalind: SKIPS}, done="1")
    assert not rosalind.focuses.exists() and not rosalind.prescriptions.exists()
    assert group.lesson(rosalind).keep == "Good rhythm" and cast.student.focuses.get().fault.code == APART  # type: ignore[union-attr]
    assert "checked" in re.findall(r"<input[^>]*-skips_focus[^>]*>", group.row(rosalind))[0]
    group.send(keep="Good rhythm", given=GIVEN)
    assert rosalind.focuses.get().fault.code == APART  # type: ignore[union-attr]


def test_what_was_given_before_is_withdrawn_from_one_for_whom_it_is_skipped(group: Group, rosalind: Student) -> None:
    group.send(given=GIVEN)
    group.send(given=GIVEN, members={rosalind: SKIPS})
    assert not rosalind.focuses.exists() and not rosalind.prescriptions.exists()


def test_one_with_three_open_focuses_is_finished_without_a_fourth(group: Group, cast: Cast, rosalind: Student) -> None:
    for number, code in enumerate(Fault.objects.exclude(code=APART).values_list("code", flat=True)[:3], 1):
        own_focus(rosalind, cast, code, number)
    answer = group.send(keep="Good rhythm", given=GIVEN)
    assert answer.status_code == 422 and "Or skip the focus for this one." in group.row(rosalind, answer)
    assert group.send(keep="Good rhythm", given=GIVEN, members={rosalind: SKIPS}, done="1").status_code == 302
    assert Sheet.objects.filter(lesson__student=rosalind).exists()


# --- A third focus ------------------------------------------------------------------------------


@pytest.fixture
def two(group: Group, cast: Cast, rosalind: Student) -> Student:
    """A student with two open focuses."""
    for number, code in enumerate([SQUEEZE, BACK], 1):
        own_focus(rosalind, cast, code, number)
    return rosalind


def test_a_third_focus_asks_its_reason_beside_the_student_and_nothing_typed_is_lost(
    two: Student, group: Group, cast: Cast
) -> None:
    assert "Reason for a third focus" in group.row(two) and "Reason" not in group.row(cast.student)
    answer = group.send(keep="Good rhythm", given=GIVEN, done="1")
    assert answer.status_code == 422 and "A third focus needs a reason." in group.row(two, answer)
    assert f'href="#id_{group.field(two, "reason")}"' in text(answer) and "Good rhythm" in text(answer)
    assert f'value="{Drill.objects.get(code=GATE)}"' in text(answer) and 'value="Putting: Hands apart"' in text(answer)
    assert not two.focuses.filter(slot=3).exists() and group.lesson(two).status == "draft"
    assert group.lesson(cast.student).status == "complete"
    group.send(keep="Good rhythm", given=GIVEN, members={two: {"reason": "A match on Sunday"}}, done="1")
    assert two.focuses.get(slot=3).reason == "A match on Sunday" and group.lesson(two).status == "complete"
    assert 'value="A match on Sunday"' in group.row(two) and cast.student.focuses.get().reason == ""


def test_a_focus_that_they_have_already_is_no_third(two: Student, group: Group) -> None:
    assert group.send(given={**GIVEN, "fault": SQUEEZE}, done="1").status_code == 302
    assert two.focuses.count() == 2


@pytest.mark.parametrize("reason", ["x" * 201, "a\0b"])
def test_a_reason_that_cannot_be_stored_is_refused_beside_its_field(reason: str, two: Student, group: Group) -> None:
    answer = group.send(given=GIVEN, keep="Good rhythm", members={two: {"reason": reason}})
    assert answer.status_code == 422 and "Nothing is saved yet" in text(answer) and "Good rhythm" in text(answer)
    field = re.escape(f"id_{group.field(two, 'reason')}_error")
    assert 'class="error"' in re.findall(rf'id="{field}">(.*?)</div>', text(answer), re.DOTALL)[0]
    assert not Focus.objects.filter(slot=3).exists()


# --- The child's sheet --------------------------------------------------------------------------


def test_a_childs_sheet_holds_the_praise_and_focus_of_the_group_first(two: Student, group: Group) -> None:
    Student.objects.filter(pk=two.pk).update(birth_year=academy_today().year - 9)
    group.send(keep="Good rhythm", given=GIVEN, members={two: {"reason": "A match"}}, done="1")
    content = Sheet.objects.get(lesson__student=two).content
    goal = Fault.objects.get(code=APART).goal
    assert content["keep"] == "Good rhythm" and content["focuses"][0]["heading"] == goal
    assert content["child"] and len(content["focuses"]) == 2 and content["more"] == 1


def test_it_is_first_also_where_the_child_has_had_it_longest_and_keeps_a_drill_of_their_own(
    own: Prescription, group: Group, cast: Cast
) -> None:
    child = own.student
    Student.objects.filter(pk=child.pk).update(birth_year=academy_today().year - 9)
    Focus.objects.filter(pk=own.focus_id).update(slot=3, reason="A match")
    for number, code in enumerate([BACK, SQUEEZE]):
        own_focus(child, cast, code, number)
    group.send(keep="Good rhythm", given={**GIVEN, "fault": SQUEEZE}, done="1")
    content = Sheet.objects.get(lesson__student=child).content
    assert content["focuses"][0]["heading"] == Fault.objects.get(code=SQUEEZE).goal and content["more"] == 1
