"""What is called better: like is compared with like, and the same test again is held to the page's own verdict."""

import re
from collections.abc import Callable, Iterable
from typing import Any

import numpy as np
import pytest
from django.test import Client
from scipy.stats import binom

from drills.models import ScoredTest
from drills.putting.observations import Gated
from drills.putting.posterior import Estimate
from drills.putting.predictions import share_change, spread_change
from drills.putting.retest import gate_retest, ratio_retest, share_retest
from drills.scored_tests.results.estimates import compare_with_previous, previous_test, spread_of
from lessons.progress.intervals import Share
from tests.conftest import Cast
from tests.make import make_lesson
from tests.test_putting_results import Putting, chips, designs, scored
from tests.test_results_page import page_of, text_of

__all__ = ["designs"]
pytestmark = pytest.mark.one_database
Clients = Callable[[str], Client]
POOR, GOOD = Putting(3.0, 0.1), Putting(0.5, 0.1)


def at(cast: Cast, moment: str, balls: Iterable[dict[str, Any]], days_ago: int) -> ScoredTest:
    """A gate at one moment of a lesson, or alone."""
    lesson = None if moment == "home" else make_lesson(cast.student, cast.coach)
    return scored(cast.student, "putting-gate", balls, days_ago=days_ago, moment=moment, lesson=lesson)


# --- Like with like -----------------------------------------------------------------------------


@pytest.mark.parametrize("moment", ["arrival", "departure", "home"])
def test_a_test_is_compared_with_one_of_the_same_moment(cast: Cast, moment: str) -> None:
    """Balls after an hour with the coach are no match for the first balls of a day, nor for those hit alone."""
    like = at(cast, moment, POOR.gated(), days_ago=20)
    for other in {"arrival", "departure", "home"} - {moment}:
        at(cast, other, POOR.gated(), days_ago=9)
    now = at(cast, moment, GOOD.gated(), days_ago=0)
    assert previous_test(now) == like
    found = compare_with_previous(now)
    assert found and found.change and found.change.verdict == "better"


@pytest.mark.parametrize("actor", ["coach", "student"])
def test_a_departure_is_no_better_than_an_arrival(cast: Cast, as_: Clients, actor: str) -> None:
    at(cast, "arrival", POOR.gated(), days_ago=9)
    at(cast, "departure", GOOD.gated(), days_ago=9)
    assert "Better" not in text_of(page_of(as_(actor), cast))


def test_what_lasts_is_seen_beside_a_departure_of_the_same_day(cast: Cast, as_: Clients) -> None:
    """The departure is the latest test of its design, and hides no arrival."""
    at(cast, "arrival", POOR.gated(), days_ago=20)
    at(cast, "arrival", GOOD.gated(), days_ago=3)
    at(cast, "departure", GOOD.gated(), days_ago=3)
    text = text_of(page_of(as_("coach"), cast))
    assert re.search(r"Ball gate, arrival Better\.", text) and text.count("Better.") == 1


def test_chips_from_elsewhere_are_not_compared(cast: Cast) -> None:
    far = [{**ball, "distance_m": 25.0} for ball in chips(*[4.0, 5.0] * 10)]
    scored(cast.student, "chipping-proximity", far, days_ago=9)
    found = compare_with_previous(scored(cast.student, "chipping-proximity", chips(*[1.0, 1.5] * 10)))
    assert found and found.change is None and "differently" in found.reason


# --- The same test again ------------------------------------------------------------------------


@pytest.mark.parametrize("now", [Share(10, 20), Share(12, 20), Share(20, 40), Share(0, 10), Share(3, 8)])
def test_a_share_is_called_better_from_the_number_that_is_named(now: Share) -> None:
    """Ten of 20 become better with 16, by the interval that the page itself goes by: Newcombe (1998), method 10."""
    found = share_retest(now)
    assert found and share_change(Share(found.needs, now.of), now).verdict == "better"
    assert share_change(Share(found.needs - 1, now.of), now).verdict == ""
    assert now != Share(10, 20) or found.needs == 16


@pytest.mark.parametrize("now", [Share(10, 20), Share(20, 40), Share(3, 10)])
def test_the_player_who_is_named_gets_there_in_eight_of_ten(now: Share) -> None:
    """By the binomial distribution itself; one who holes one ball less of so many does not."""
    found = share_retest(now)
    assert found and found.typical
    reached, less = (
        binom.sf(found.needs - 1, now.of, number / now.of) for number in (found.typical, found.typical - 1)
    )
    assert reached >= 0.8 > less


def test_no_number_is_named_that_no_test_could_show() -> None:
    assert share_retest(Share(17, 20)) is None and share_retest(Share(20, 20)) is None
    nearly_all = share_retest(Share(15, 20))
    assert nearly_all and nearly_all.needs == 20 and nearly_all.typical is None


@pytest.mark.parametrize("passed", [4, 8, 12])
def test_a_gate_is_called_better_from_the_number_that_is_named(cast: Cast, passed: int) -> None:
    now = at(cast, "home", gate(passed), days_ago=9)
    found = gate_retest(Gated(1.0, 0.08, passed, 0, 0, 20 - passed))
    assert found
    verdicts = []
    for number in (found.needs - 1, found.needs):
        again = at(cast, "home", gate(number), days_ago=5)
        change = compare_with_previous(again)
        verdicts.append(change and change.change and change.change.verdict)
        again.delete()
    assert verdicts == ["", "better"] and now.balls.count() == 20


def gate(passed: int) -> list[dict[str, Any]]:
    return [{"result": "through"}] * passed + [{"result": "beside"}] * (20 - passed)


@pytest.mark.parametrize("code", ["putting-ladder", "putting-leaves"])
def test_leaves_are_called_better_from_the_spread_that_is_named(cast: Cast, code: str) -> None:
    """The same leaves, all of them nearer to their mean, are better where the spread is as small as is named."""
    rng = np.random.default_rng(5)
    leaves = rng.normal(0.3, 1.4, 20)
    now = scored(cast.student, code, missed(leaves), days_ago=9, step_m=0.05)
    estimate = spread_of(now)
    assert estimate
    found = ratio_retest(estimate)
    verdicts = []
    for less in (-0.05, 0.05):
        nearer = leaves.mean() + (found.needs + less) * (leaves - leaves.mean())
        again = scored(cast.student, code, missed(nearer), days_ago=5, step_m=0.05)
        change = compare_with_previous(again)
        verdicts.append(change and change.change and change.change.verdict)
        again.delete()
    assert verdicts == ["better", ""]


def missed(leaves: Iterable[float]) -> list[dict[str, Any]]:
    return [{"result": "missed", "distance_m": 6.0, "leave_m": round(float(leave), 2)} for leave in leaves]


def test_a_spread_that_is_named_is_reached_in_eight_of_ten() -> None:
    """Twenty leaves each time, drawn from a normal; an interval of a spread is that of the chi-squared distribution."""
    rng, balls = np.random.default_rng(11), 40
    before = chi_squared(1.0, balls)
    found = ratio_retest(before)
    again = [chi_squared(float(rng.normal(0, found.typical, balls).std(ddof=1)), balls) for _ in range(500)]
    reached = np.mean([spread_change(each, before).verdict == "better" for each in again])
    assert reached == pytest.approx(0.8, abs=0.06)


def chi_squared(sd: float, balls: int) -> Estimate:
    from scipy.stats import chi2

    low, high = ((balls - 1) / chi2.ppf([0.975, 0.025], balls - 1)) ** 0.5
    return Estimate(sd, sd * low, sd * high)


def test_a_coach_reads_what_the_same_test_would_have_to_show(cast: Cast, as_: Clients) -> None:
    scored(cast.student, "putting-counted", chips(*[0.0] * 10, *[1.0] * 10))
    text = text_of(page_of(as_("coach"), cast))
    assert "10 of 20 holed. The same test of 20 would have to show 16 or more;" in text
    assert "a player with about 17 of 20 on average gets there in 8 tests of 10." in text
