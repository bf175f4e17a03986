"""Which drills a log offers for each fault: the library as it ships, and a coach's own choice over it."""

import csv
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from django.test import Client

from drills.library.fitting import OfferedDrill, fitting_drills, read_offered
from drills.models import Drill, Fit, UsualDrill
from drills.practice.prescribe import given_last, usual_prescription
from lessons.models import Fault, Focus, Lesson
from tests.conftest import Cast
from tests.library import load_library
from tests.make import make_lesson, make_prescription
from tests.test_catalogue import DRILL_ROWS, FAULT_ROWS, SKILL_ROWS

Clients = Callable[[str], Client]
DEFAULTS = Path(__file__).parent / "default_drills.tsv"
AREA = {fault["code"]: skill["area"] for skill in SKILL_ROWS for fault in skill["fault"]}
BALL_CM, HOLE_CM = 4.27, 10.8  # the Rules of Golf: at least 42.67 mm, and 108 mm


# --- As it ships --------------------------------------------------------------------------------


def test_the_library_is_large_enough_in_every_area() -> None:
    counts = {area: sum(row["area"] == area for row in DRILL_ROWS) for area in set(AREA.values())}
    assert sum(counts.values()) >= 75 and min(counts.values()) >= 10, counts


def test_a_drill_says_what_it_mends_and_how() -> None:
    for row in DRILL_ROWS:
        mends, first, wrong = (set(row.get(name, ())) for name in ("mends", "first_for", "wrong_for"))
        assert mends and first <= mends and not mends & wrong, row["code"]
        assert {AREA[code] for code in mends | wrong} == {row["area"]}, row["code"]
        assert row["kind"] in Drill.Kind.values and row["schedule"] in Drill.Schedule.values, row["code"]
        assert row["places"] and set(row["places"]) <= set(Drill.Place.values), row["code"]


def test_every_fault_has_two_kinds_of_drill_and_one_that_carries_over_to_play() -> None:
    for fault in FAULT_ROWS:
        fitting = [row for row in DRILL_ROWS if fault["code"] in row["mends"]]
        kinds = {row["kind"] for row in fitting}
        assert len(fitting) > 1 and len(kinds) > 1 and "play" in kinds, fault["code"]
        assert sum(fault["code"] in row.get("first_for", ()) for row in fitting) <= 1, fault["code"]


def test_the_default_of_every_fault_is_the_one_that_was_read_against_its_goal(db: None) -> None:
    """The table holds the drill that a coach chose for each fault with the reason: common practice, no source."""
    load_library()
    with DEFAULTS.open(encoding="utf-8", newline="") as file:
        table = {row["fault"]: row["drill"] for row in csv.DictReader(file, delimiter="\t") if row["reason"]}
    offered = read_offered()
    found = {fault.code: fitting_drills(fault, offered)[0].code for fault in Fault.objects.filter(archived=False)}
    assert found == table


@pytest.mark.parametrize(("code", "at_cm", "hole_cm"), [("putting-ball-gate", 50, 200)])
def test_a_gate_before_a_hole_is_no_wider_than_the_hole(code: str, at_cm: float, hole_cm: float) -> None:
    """A ball whose middle just passes the gate must still be within the hole's edges when it gets there."""
    [setup] = [row["setup"] for row in DRILL_ROWS if row["code"] == code]
    [width] = re.findall(r"wide \((\d+(?:\.\d+)?) cm\)", setup)
    assert "50 cm" in setup and "2 m" in setup
    assert (float(width) - BALL_CM) / at_cm <= HOLE_CM / hole_cm


# --- In a log -----------------------------------------------------------------------------------


@pytest.fixture
def rushed(cast: Cast) -> Fault:
    load_library()
    return Fault.objects.get(code="putting-tempo-rushed")


def open_focus(lesson: Lesson, fault: Fault) -> Focus:
    return Focus.objects.create(student=lesson.student, slot=1, area="putting", fault=fault, opened_in=lesson)


def offered_to(cast: Cast) -> list[OfferedDrill]:
    return read_offered(cast.coach)


def test_feel_comes_first_then_the_set_up_then_play_and_what_is_wrong_never(rushed: Fault, cast: Cast) -> None:
    Fit.objects.filter(fault=rushed).delete()
    drills = {kind: Drill.objects.filter(area="putting", kind=kind)[0] for kind in Drill.Kind.values}
    wrong = Drill.objects.filter(area="chipping")[0]
    for drill in (drills["play"], drills["constraint"], drills["feel"]):
        Fit.objects.create(drill=drill, fault=rushed)
    Fit.objects.create(drill=wrong, fault=rushed, is_wrong=True)
    assert fitting_drills(rushed, offered_to(cast)) == [drills["feel"], drills["constraint"], drills["play"]]
    Fit.objects.filter(drill=drills["play"], fault=rushed).update(is_first=True)
    assert fitting_drills(rushed, offered_to(cast))[0] == drills["play"]


def test_what_a_coach_chose_comes_before_what_they_last_gave_and_that_before_the_library(
    rushed: Fault, cast: Cast
) -> None:
    first, *_, last = fitting_drills(rushed, offered_to(cast))
    assert usual_prescription(rushed, offered_to(cast), given_last(cast.coach))[0] == first  # type: ignore[index]  # it has some
    lesson = make_lesson(cast.student, cast.coach)
    make_prescription(lesson, open_focus(lesson, rushed), drill=last, amount=7)
    given = usual_prescription(rushed, offered_to(cast), given_last(cast.coach))
    assert given and given[0] == last and given[1].amount == 7
    dose = {"amount": 12, "unit": "balls", "per_week": 2, "days": 14}
    UsualDrill.objects.create(coach=cast.coach, fault=rushed, drill=first, **dose)
    chosen = usual_prescription(rushed, offered_to(cast), given_last(cast.coach))
    assert chosen and chosen[0] == first and (chosen[1].amount, chosen[1].unit) == (12, "balls")
    assert fitting_drills(rushed, read_offered(cast.cover))[0] == first, "another coach's choice changes nothing"


def test_what_was_last_given_is_not_given_again_where_it_is_wrong(rushed: Fault, cast: Cast) -> None:
    wrong = Drill.objects.filter(area="putting").exclude(fits__fault=rushed)[0]
    lesson = make_lesson(cast.student, cast.coach)
    make_prescription(lesson, open_focus(lesson, rushed), drill=wrong)
    Fit.objects.create(drill=wrong, fault=rushed, is_wrong=True)
    assert usual_prescription(rushed, offered_to(cast), given_last(cast.coach))[0] != wrong  # type: ignore[index]  # it has some


def test_a_coach_is_offered_their_own_drills_and_nobody_elses(rushed: Fault, cast: Cast) -> None:
    drill = fitting_drills(rushed, offered_to(cast))[0]
    drill.owner = cast.coach
    drill.save(update_fields=["owner"])
    assert drill in fitting_drills(rushed, offered_to(cast))
    assert drill not in fitting_drills(rushed, read_offered(cast.cover)) + fitting_drills(rushed, read_offered())
    given = read_offered(cast.cover, [drill.pk])
    assert drill in [row.drill for row in given], "who covers keeps what the student has"
