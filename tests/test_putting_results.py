"""Estimates from scored tests: gathered from rows, and honest about few balls, impossible rows and changes."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from django.utils import timezone

from coachbook.accounts.models import Academy, Student
from drills.load import DESIGNS
from drills.models import Design, ScoredTest
from drills.putting.hole import gate_error_deg, largest_error_deg
from drills.scored_tests.results.estimates import (
    chipping_result,
    compare_with_previous,
    previous_test,
    putting_result,
    success_targets,
)
from lessons.shipped import tables
from tests.conftest import Cast

AIM_M, REACH_M = 0.3048, 0.9144  # meant to stop 1 ft past; drops if it would stop up to 3 ft past. Gelman (2019)
Balls = Iterable[dict[str, Any]]


@pytest.fixture(autouse=True)
def designs(db: None) -> None:
    for row in tables(DESIGNS, "design"):
        Design.ship(row["code"], {name: value for name, value in row.items() if name != "code"})


def today() -> date:
    return Academy.current().today(timezone.now())


def scored(student: Student, code: str, balls: Balls, *, days_ago: int = 0, **values: Any) -> ScoredTest:
    """A finished test with its balls."""
    design = Design.objects.get(code=code)
    given = {
        "done_at": timezone.now(),
        "day": today() - timedelta(days=days_ago),
        "side": "right",
        "width_m": design.width_m,
        "step_m": 0.5,
    }
    by = student.cares.first().coach.user
    test = student.scored_tests.create(design=design, by=by, **{**given, **values})
    rows = [{"distance_m": design.distances_m[0], **ball} for ball in balls]
    test.balls.bulk_create([test.balls.model(test=test, number=n, **row) for n, row in enumerate(rows, 1)])
    return test


# --- Balls of a putter whose errors are known, drawn as Gelman (2019) describes it --------------


class Putting:
    """Start line off by so many degrees, pace by such a share; biased by some degrees to the push side and a share."""

    def __init__(self, line: float, pace: float, push: float = 0.0, long: float = 0.0, seed: int = 3) -> None:
        self.line, self.pace, self.push, self.long, self.rng = line, pace, push, long, np.random.default_rng(seed)

    def putt(self, distance: float) -> tuple[float, float]:
        """Where a ball starts, in degrees, and stops, past the hole."""
        line = self.rng.normal(self.push, self.line)
        return line, (distance + AIM_M) * (1 + self.rng.normal(self.long, self.pace)) - distance

    def counted(self, distances: Iterable[float] = (1.0, 1.5, 2.0, 3.0), each: int = 10) -> Balls:
        return [self.at_hole(distance) for distance in distances for _ in range(each)]

    def at_hole(self, distance: float) -> dict[str, Any]:
        line, stop = self.putt(distance)
        if abs(line) <= largest_error_deg(distance) and 0 <= stop <= REACH_M:
            return {"distance_m": distance, "result": "holed"}
        estimate = {"length": "short" if stop < 0 else "past", "miss": "push" if line > 0 else "pull"}
        return {"distance_m": distance, "result": "missed", **estimate}

    def leaves(self, distance: float = 6.0, balls: int = 20, step: float = 0.5) -> Balls:
        for _ in range(balls):
            line, stop = self.putt(distance)
            dropped = abs(line) <= largest_error_deg(distance) and 0 <= stop <= REACH_M
            leave = {} if dropped else {"leave_m": round(stop / step) * step}
            yield {"distance_m": distance, "result": "holed" if dropped else "missed", **leave}

    def gated(self, distance: float = 1.0, width: float = 0.08, balls: int = 20) -> Balls:
        error = gate_error_deg(distance, width)
        for _ in range(balls):
            line, _ = self.putt(distance)
            away = {} if abs(line) <= error else {"miss": "push" if line > 0 else "pull"}
            yield {"distance_m": distance, "result": "beside" if away else "through", **away}


def all_three(student: Student, putting: Putting, **values: Any) -> list[ScoredTest]:
    balls = {
        "putting-leaves": putting.leaves(),
        "putting-gate": putting.gated(),
        "putting-counted": putting.counted(),
    }
    return [scored(student, code, some, **values) for code, some in balls.items()]


def within(estimate: Any, truth: float) -> bool:
    return bool(estimate.low <= truth <= estimate.high)


@pytest.mark.parametrize("line, pace", [(1.0, 0.08), (1.5, 0.12), (2.5, 0.15)])
def test_a_known_putter_is_found_again(cast: Cast, line: float, pace: float) -> None:
    found = putting_result(all_three(cast.student, Putting(line, pace)))
    assert found.balls == 80 and found.estimate and found.estimate.line and found.estimate.pace
    assert within(found.estimate.line, line) and within(found.estimate.pace, pace)
    assert found.estimate.is_separable and found.estimate.fits_model


def test_a_clear_bias_is_found_and_has_its_sign(cast: Cast) -> None:
    estimate = putting_result(all_three(cast.student, Putting(1.0, 0.08, push=-1.2, long=0.15))).estimate
    assert estimate and estimate.line_bias and estimate.pace_bias
    assert estimate.line_bias.high < 0 < estimate.pace_bias.low
    assert within(estimate.line_bias, -1.2) and within(estimate.pace_bias, 0.15)


def test_a_gate_alone_says_nothing_of_pace(cast: Cast) -> None:
    estimate = putting_result([scored(cast.student, "putting-gate", Putting(1.5, 0.1).gated())]).estimate
    assert (
        estimate
        and estimate.line
        and estimate.pace is None
        and estimate.pace_bias is None
        and not estimate.has_line_and_pace
    )


def test_a_ladder_alone_says_nothing_of_the_start_line(cast: Cast) -> None:
    balls = [{"distance_m": 6.0, "result": "missed", "leave_m": stop / 2} for stop in range(-5, 7)]
    estimate = putting_result([scored(cast.student, "putting-ladder", balls)]).estimate
    assert estimate and estimate.pace and estimate.line is None and estimate.line_bias is None


def test_under_eight_balls_nothing_is_worked_out(cast: Cast) -> None:
    found = putting_result([scored(cast.student, "putting-counted", Putting(1.5, 0.1).counted([2.0], each=7))])
    assert found.balls == 7 and found.estimate is None and found.holed.of == 7


def test_few_putts_beside_a_gate_say_nothing_of_pace(cast: Cast) -> None:
    putting = Putting(1.5, 0.1)
    tests = [
        scored(cast.student, "putting-gate", putting.gated()),
        scored(cast.student, "putting-leaves", putting.leaves(balls=7)),
    ]
    estimate = putting_result(tests).estimate
    assert estimate and estimate.line and estimate.pace is None


def test_makes_alone_cannot_tell_line_from_pace(cast: Cast) -> None:
    """Ten putts from each of six distances gave a pace error of 0.004 to 0.39 from makes alone in a trial."""
    balls = [{k: ball[k] for k in ("distance_m", "result")} for ball in Putting(1.5, 0.1).counted([2.0], each=10)]
    estimate = putting_result([scored(cast.student, "putting-counted", balls)]).estimate
    assert estimate and estimate.has_line_and_pace and not estimate.is_separable


def test_balls_that_no_such_putter_hits_do_not_fit_the_model(cast: Cast) -> None:
    """All holed from far, none from near."""
    balls = [{"distance_m": 1.0, "result": "missed"}] * 20 + [{"distance_m": 6.0, "result": "holed"}] * 20
    estimate = putting_result([scored(cast.student, "putting-counted", balls)]).estimate
    assert estimate and not estimate.fits_model
    assert success_targets(cast.student, today()) == []


def test_rows_that_cannot_be_are_left_out_and_counted(cast: Cast) -> None:
    backwards = [{"result": "missed", "leave_m": -6.9, "distance_m": 6.0}]
    broken = scored(cast.student, "putting-leaves", backwards, step_m=0.1)
    no_width = scored(cast.student, "putting-gate", Putting(1, 0.1).gated(), width_m=None)
    fine = scored(cast.student, "putting-counted", Putting(1.5, 0.1).counted())
    found = putting_result([broken, no_width, fine])
    assert found.unread == 2 and found.balls == 40 and found.estimate


@pytest.mark.parametrize("result", ["holed", "missed"])
def test_all_or_none_holed_tells_nothing_apart(cast: Cast, result: str) -> None:
    estimate = putting_result([scored(cast.student, "putting-counted", [{"result": result}] * 10)]).estimate
    assert estimate and estimate.line and estimate.pace and not estimate.is_separable
    assert np.isfinite([estimate.line.low, estimate.line.high, estimate.pace.low, estimate.pace.high]).all()


# --- Chips --------------------------------------------------------------------------------------


def chips(*leaves: float) -> Balls:
    return [{"result": "missed", "leave_m": leave} if leave else {"result": "holed"} for leave in leaves]


def test_chips_go_through_published_putts_until_there_are_own(cast: Cast) -> None:
    """From 10 ft golfers who score about 90 hole 20 in a hundred: Broadie (2014), as quoted."""
    test = scored(cast.student, "chipping-proximity", chips(*[3.048] * 10))
    found = chipping_result([test], putting_result([]))
    assert not found.is_own and found.chipping
    assert found.chipping.up_and_down.middle == pytest.approx(0.20)
    assert found.chipping.strokes.middle == pytest.approx(1 + 1 + 0.8)
    own = chipping_result([test], putting_result(all_three(cast.student, Putting(1.5, 0.1))))
    assert own.is_own


def test_chips_dead_beside_the_hole_need_one_putt(cast: Cast) -> None:
    found = chipping_result(
        [scored(cast.student, "chipping-proximity", chips(*[0.2] * 9, 0.0))], putting_result([])
    ).chipping
    assert found and found.up_and_down.middle == 1 and found.strokes.middle == pytest.approx(1.9)


def test_no_chips_no_chipping(cast: Cast) -> None:
    assert chipping_result([], putting_result([])).chipping is None


# --- Changes ------------------------------------------------------------------------------------


def test_the_test_before_is_of_the_same_design_and_side(cast: Cast) -> None:
    balls = Putting(1.5, 0.1)
    old = scored(cast.student, "putting-counted", balls.counted(), days_ago=200)
    scored(cast.student, "putting-counted", balls.counted(), days_ago=20, side="left")
    scored(cast.student, "putting-leaves", balls.leaves(), days_ago=10)
    scored(cast.student, "putting-counted", balls.counted(), days_ago=5, is_void=True)
    now = scored(cast.student, "putting-counted", balls.counted())
    assert previous_test(now) == old and previous_test(old) is None


def test_two_tests_of_one_day_come_one_after_the_other(cast: Cast) -> None:
    first, second = (scored(cast.student, "putting-counted", Putting(1.5, 0.1).counted()) for _ in range(2))
    assert previous_test(second) == first and previous_test(first) is None


def test_a_large_change_is_reported_and_a_small_one_is_not(cast: Cast) -> None:
    """Ten putts cannot tell 50 % from 60 %: nothing may be made of it."""
    half = [{"result": "holed"}] * 5 + [{"result": "missed"}] * 5
    six = [{"result": "holed"}] * 6 + [{"result": "missed"}] * 4
    scored(cast.student, "putting-counted", half, days_ago=2)
    small = compare_with_previous(scored(cast.student, "putting-counted", six, days_ago=1))
    assert small and small.change and small.change.verdict == ""
    scored(cast.student, "putting-gate", Putting(3.0, 0.1).gated(), days_ago=1)
    tighter = compare_with_previous(scored(cast.student, "putting-gate", Putting(0.5, 0.1).gated()))
    assert tighter and tighter.change and tighter.change.verdict == "better"


@pytest.mark.parametrize(
    "code, worse, good",
    [
        ("putting-leaves", list(Putting(1.5, 0.30).leaves(balls=60)), list(Putting(1.5, 0.05).leaves(balls=60))),
        ("putting-ladder", chips(*[-3.0, -2.0, 2.0, 3.0] * 5), chips(*[-0.5, 0.5] * 10)),
        ("chipping-proximity", chips(*[4.0, 5.0] * 10), chips(*[1.0, 1.5] * 10)),
        ("putting-counted", chips(*[1.0] * 40), chips(*[0.0] * 40)),
    ],
)
def test_each_kind_knows_what_better_is(cast: Cast, code: str, worse: Balls, good: Balls) -> None:
    scored(cast.student, code, worse, days_ago=9)
    better = compare_with_previous(scored(cast.student, code, good, days_ago=5))
    back = compare_with_previous(scored(cast.student, code, worse))
    assert better and better.change and better.change.verdict == "better"
    assert back and back.change and back.change.verdict == "worse"


def test_tests_that_were_set_up_differently_are_not_compared(cast: Cast) -> None:
    putting = Putting(1.5, 0.1)
    scored(cast.student, "putting-counted", putting.counted([1.0, 2.0]), days_ago=9)
    found = compare_with_previous(scored(cast.student, "putting-counted", putting.counted([1.0, 3.0])))
    assert found and found.change is None and "differently" in found.reason


# --- Targets ------------------------------------------------------------------------------------


def test_a_target_is_met_as_often_as_it_says(cast: Cast) -> None:
    """A putter of 1.5 degrees and 10 % holes 7 of 10 from where 7 000 of 10 000 drawn balls drop."""
    all_three(cast.student, Putting(1.5, 0.1, seed=8))
    all_three(cast.student, Putting(1.5, 0.1, seed=9))
    holing, gate = success_targets(cast.student, today())
    assert holing.startswith("7 of 10 holed from ") and gate.startswith("7 of 10 through a gate ")
    distance = float(holing.split("from ")[1].split(" m")[0])
    drawn = Putting(1.5, 0.1).counted([distance], each=4000)
    assert 0.6 < sum(ball["result"] == "holed" for ball in drawn) / 4000 < 0.8
    width = float(gate.split("gate ")[1].split(" cm")[0]) / 100
    through = sum(ball["result"] == "through" for ball in Putting(1.5, 0.1).gated(width=width, balls=4000))
    assert 0.6 < through / 4000 < 0.8


def test_a_harder_share_is_nearer(cast: Cast) -> None:
    all_three(cast.student, Putting(1.5, 0.1))
    places = [
        float(success_targets(cast.student, today(), share)[0].split("from ")[1].split(" m")[0]) for share in (0.6, 0.8)
    ]
    assert places[0] > places[1]


def test_a_child_reads_steps_only(cast: Cast) -> None:
    all_three(cast.student, Putting(1.5, 0.1))
    cast.student.birth_year = today().year - 9
    cast.student.save()
    marks = success_targets(cast.student, today())
    assert 1 <= len(marks) <= 2 and " m " not in marks[0] and "step" in marks[0]


def test_feet_where_the_academy_uses_feet(cast: Cast) -> None:
    Academy.objects.update(units="ft")
    all_three(cast.student, Putting(1.5, 0.1))
    holing, gate = success_targets(cast.student, today())
    assert " ft (" in holing and " in wide" in gate


def test_nothing_is_offered_without_tests_or_from_the_other_side(cast: Cast) -> None:
    assert success_targets(cast.student, today()) == []
    all_three(cast.student, Putting(1.5, 0.1), side="left")
    assert success_targets(cast.student, today()) == []
