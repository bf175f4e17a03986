"""Posteriors that are known normals: what stroke and hole share, what differs, and what cannot be told apart."""

from dataclasses import dataclass
from math import log

import numpy as np
import pytest
from scipy.stats import halfnorm, norm

from drills.putting.calibration import LADDER_M, TESTS, Coverage
from drills.putting.fit import Fit
from drills.putting.hole import gate_error_deg, largest_error_deg
from drills.putting.model import LINE, LINE_BIAS, PACE, Array
from drills.putting.model_checks import cells_of, correlation, is_separable
from drills.putting.normal import NORMAL
from drills.putting.observations import Counted, Gated, Leaves
from drills.putting.posterior import Grid, Posterior
from drills.putting.prior import PRIOR_MEAN, PRIOR_SD
from drills.putting.read_and_aim import APART, LIKELY, SAME, SURE, LineComparison, reconcile
from drills.putting.scenarios import Player, one_wild_in_ten, t3

NOWHERE = Fit(np.zeros(4), 0.0, np.eye(4))


def normal_posterior(
    line_deg: float, line_sd: float, bias: float, bias_sd: float, *, has_sides: bool = True, with_pace: float = 0.0
) -> Posterior:
    """A posterior that is normal in the log of the spread and in the bias; line and pace correlate by `with_pace`."""
    means, sds = [log(line_deg), bias, log(0.1), 0.0], [line_sd, bias_sd, 0.2, 0.02]
    places = [np.linspace(mean - 5 * sd, mean + 5 * sd, 41) for mean, sd in zip(means, sds, strict=True)]
    line, _, pace, _ = np.meshgrid(*places, indexing="ij", sparse=True)
    a, b = (line - means[0]) / sds[0], (pace - means[2]) / sds[2]
    together = np.exp((2 * with_pace * a * b - a**2 - b**2) / (2 - 2 * with_pace**2))  # the bivariate normal
    weights = together * norm.pdf(places[1], bias, bias_sd)[:, None, None] * norm.pdf(places[3], 0, 0.02)
    known = np.array([True, has_sides, True, True])
    return Posterior(NOWHERE, Grid(places, weights / weights.sum()), known, NORMAL)


# --- One parameter ------------------------------------------------------------------------------


@dataclass
class Expected:
    """The same mixture summed over a dense plane, as the docstrings say it in words."""

    apart: float
    middle: float
    spread: float


def summed(stroke: tuple[float, float], hole: tuple[float, float], at: int) -> Expected:
    x = np.linspace(min(stroke[0], hole[0]) - 3, max(stroke[0], hole[0]) + 3, 401)
    mine, theirs = norm.pdf(x, *stroke)[:, None], norm.pdf(x, *hole) / norm.pdf(x, PRIOR_MEAN[at], PRIOR_SD[at])
    apart_by = halfnorm.pdf if at == LINE else norm.pdf
    parts = [
        mine * theirs * density(x - x[:, None], 0, scale)
        for density, scale in ((norm.pdf, SAME[at]), (apart_by, APART[at]))
    ]
    both = sum(parts).sum(axis=1)
    middle = (both * x).sum() / both.sum()
    return Expected(parts[1].sum() / sum(parts).sum(), middle, ((both * (x - middle) ** 2).sum() / both.sum()) ** 0.5)


def test_stroke_and_hole_inform_one_another_as_a_dense_plane_says() -> None:
    """And how likely the one at the hole is the greater, and by how much, is that of two independent normals."""
    assert (SAME, APART) == ({LINE: 0.1, LINE_BIAS: 0.15}, {LINE: 0.8, LINE_BIAS: 0.8}), "common practice, no source"
    for stroke, hole, stroke_bias, hole_bias in ((1.0, 1.1, 0.1, 0.2), (0.8, 1.7, -0.3, 0.8)):
        one = normal_posterior(stroke, 0.15, stroke_bias, 0.2)
        other = normal_posterior(hole, 0.25, hole_bias, 0.3)
        lines = LineComparison(one, other)
        assert lines.bias
        for at, found, mine, theirs in (
            (LINE, lines.spread, (log(stroke), 0.15), (log(hole), 0.25)),
            (LINE_BIAS, lines.bias, (stroke_bias, 0.2), (hole_bias, 0.3)),
        ):
            expected, apart = summed(mine, theirs, at), theirs[0] - mine[0]
            assert found.apart == pytest.approx(expected.apart, abs=0.01)
            middle = (found.density * found.places).sum() / found.density.sum()
            spread = ((found.density * (found.places - middle) ** 2).sum() / found.density.sum()) ** 0.5
            assert (middle, spread) == pytest.approx((expected.middle, expected.spread), abs=0.01)
            assert found.shift == pytest.approx(apart, abs=0.01)
            assert found.above == pytest.approx(norm.cdf(apart / np.hypot(mine[1], theirs[1])), abs=0.01)


def test_what_is_the_same_ball_for_ball_is_as_likely_above_as_below() -> None:
    one = normal_posterior(1.2, 0.2, 0.0, 0.2)
    assert reconcile(one, one, LINE, halfnorm.pdf).above == pytest.approx(0.5)
    assert reconcile(one, one, LINE_BIAS, norm.pdf).shift == pytest.approx(0.0, abs=1e-9)


# --- What is named ------------------------------------------------------------------------------


def compared(hole_deg: float = 1.0, bias: float = 0.0, *, hole_sd: float = 0.15, **other: bool) -> LineComparison:
    return LineComparison(
        normal_posterior(1.0, 0.15, 0.0, 0.2), normal_posterior(hole_deg, hole_sd, bias, 0.2, **other)
    )


def test_read_or_aim_is_named_where_it_is_sure() -> None:
    """Two independent normals are apart by 1.881 standard errors with 97 %, and by 2.170 to either side."""
    assert (SURE, LIKELY) == (0.97, 0.5), "common practice, no source"
    reach = np.hypot(0.15, 0.15)
    for errors, is_wider in ((1.7, False), (2.1, True), (-2.1, False)):
        found = compared(np.exp(errors * reach))
        assert (found.is_wider, found.is_shifted, found.differs) == (is_wider, False, is_wider)
    for errors, is_shifted in ((2.0, False), (2.4, True), (-2.4, True), (-2.0, False)):
        found = compared(bias=errors * np.hypot(0.2, 0.2))
        assert (found.is_wider, found.is_shifted, found.differs) == (False, is_shifted, is_shifted)
        assert found.line_at_hole.shift_deg == pytest.approx(errors * np.hypot(0.2, 0.2) * is_shifted, abs=0.01)
    assert not compared(4.0, hole_sd=0.5).is_wider, "too few balls at the hole to say how wild they are"


def test_all_balls_are_read_together_where_they_agree() -> None:
    same, wider, shifted = compared(), compared(2.0), compared(bias=1.0)
    assert (same.agrees, wider.agrees, shifted.agrees) == (True, False, False)
    by_gate = same.stroke
    assert same.line_deg.high - same.line_deg.low < by_gate.line_deg.high - by_gate.line_deg.low
    assert same.line_bias_deg and by_gate.line_bias_deg.high > same.line_bias_deg.high > 0 > same.line_bias_deg.low
    for apart in (wider, shifted):
        assert (apart.line_deg, apart.line_bias_deg) == (by_gate.line_deg, by_gate.line_bias_deg)
        assert apart.line_at_hole.line == apart.at_hole.line_deg and not apart.line_at_hole.agrees
    assert wider.line_at_hole.is_wider and same.line_at_hole.agrees and not same.line_at_hole.is_wider
    assert same.line_at_hole.stroke_bias == same.line_bias_deg and same.line_at_hole.shift_deg == 0.0


def test_sides_that_were_not_noted_are_not_compared() -> None:
    unsided = compared(has_sides=False)
    assert unsided.bias is None and not unsided.is_shifted and unsided.agrees
    assert unsided.line_bias_deg == unsided.stroke.line_bias_deg
    neither = LineComparison(normal_posterior(1, 0.15, 0, 0.2, has_sides=False), normal_posterior(1, 0.15, 3, 0.2))
    assert neither.bias is None and neither.line_bias_deg is None and neither.line_at_hole.stroke_bias is None


# --- Start line and pace ------------------------------------------------------------------------


def test_line_and_pace_are_told_apart_up_to_a_correlation_of_85_percent() -> None:
    for together, is_apart in ((0.0, True), (0.84, True), (0.86, False), (-0.84, True), (-0.86, False)):
        found = normal_posterior(1.0, 0.15, 0.0, 0.2, with_pace=together)
        assert correlation(found) == pytest.approx(together, abs=0.005)
        assert is_separable(found) is is_apart
    wide_line = normal_posterior(1.0, 0.5, 0.0, 0.2)
    assert is_separable(wide_line), "one of the two is known well"


def test_leaves_are_grouped_by_the_fifths_of_the_putter() -> None:
    """Five groups of a fifth each where steps are fine; a ball that may drop is a group of its own."""
    theta = np.array([[log(1.5), 0.0, log(0.1), -0.02]])
    [line] = cells_of([Leaves(6, (0.0, -3.0, 3.0), 0.001, hole=False)], theta)
    assert line.probabilities[0] == pytest.approx([0.2] * 5, abs=0.001) and line.counts.tolist() == [1, 0, 1, 0, 1]
    [hole] = cells_of([Leaves(6, (-3.0, 3.0), 0.001, holed=4)], theta)
    drops = norm.cdf(largest_error_deg(6), 0, 1.5) - norm.cdf(-largest_error_deg(6), 0, 1.5)
    aim = norm(6.3048 * 0.98 - 6, 0.63048)
    assert hole.counts.tolist() == [1, 0, 0, 0, 1, 4]
    assert hole.probabilities[0, -1] == pytest.approx(drops * (aim.cdf(0.9144) - aim.cdf(0)), abs=1e-4)
    coarse = next(cells_of([Leaves(6, (0.0,), 50.0, hole=False)], theta))
    assert coarse.probabilities.shape == (1, 3), "cuts lie between steps, and each of them once"


# --- Balls that are drawn -----------------------------------------------------------------------


class Chosen(np.random.Generator):
    """Numbers that were chosen in place of random ones, again and again."""

    def __init__(self, *numbers: float) -> None:
        super().__init__(np.random.PCG64(0))
        self.numbers = numbers

    def normal(self, *_: object, size: int = 1) -> Array:  # type: ignore[override]
        return np.resize(self.numbers, size)


def test_a_player_s_balls_start_and_stop_as_far_off_as_was_drawn() -> None:
    player = Player(Chosen(-1.0, 0.0, 1.0, -20.0), line=0.6, pace=0.1, push=0.3, long=-0.05, read=0.8, shift=0.2)
    lines, stops, dropped = player.putts(2.0, 4)
    assert lines == pytest.approx([-0.5, 0.5, 1.5, -19.5]), "a stroke of 0.6 and reads of 0.8 are together 1.0"
    assert stops == pytest.approx([2.3048 * 0.85 - 2, 2.3048 * 0.95 - 2, 2.3048 * 1.05 - 2, -2.0])
    assert dropped.tolist() == [False, True, False, False]
    [counted] = player.counted((2.0,), 4)
    assert counted == Counted(2.0, 4, 1, 2, 1, 2)
    [leaves] = player.leaves(2.0, 4, 0.5)
    assert isinstance(leaves, Leaves) and (leaves.distance_m, leaves.step_m, leaves.holed) == (2.0, 0.5, 1)
    assert leaves.leaves_m == pytest.approx((0.0, 0.5, -2.0)), "to the nearest step, and never behind the ball"
    [gate] = Player(Chosen(-3.0, 0.0, 1.0, 3.0), 0.6, 0.1, push=0.3).gate(4)
    assert gate == Gated(1.0, 0.08, 2, 1, 1) and 0.3 + 0.6 < gate_error_deg(1.0, 0.08) < 0.3 + 0.6 * 3


def test_a_ball_drops_up_to_three_feet_past_and_within_the_room_of_the_hole() -> None:
    room = largest_error_deg(2.0)
    for line, past, is_holed in (
        (0.99 * room, 0.9, True),
        (1.01 * room, 0.9, False),
        (0, 0.92, False),
        (0, 0.01, True),
        (0, -0.01, False),
    ):
        pace = (2 + past) / 2.3048 - 1
        [dropped] = Player(Chosen(1.0), line=1e-9, pace=pace, push=line).putts(2.0, 1)[2]
        assert dropped == is_holed


def test_a_player_s_tests_have_the_balls_that_they_are_named_by() -> None:
    player = Player(np.random.default_rng(1), 1.0, 0.1)

    def balls(test: list[object]) -> int:
        sizes = {
            Counted: lambda one: one.tried,
            Gated: lambda one: one.balls,
            Leaves: lambda one: len(one.leaves_m) + one.holed,
        }
        return sum(sizes[type(one)](one) for one in test)  # type: ignore[no-untyped-call]

    assert [balls(test()) for test in (player.counted, player.leaves, player.gate, player.ladder)] == [40, 20, 20, 20]  # type: ignore[operator]
    assert [balls(test()) for test in (player.all_three, player.all_twice, player.pace_alone)] == [80, 140, 40]  # type: ignore[operator]
    ladder, zones = player.ladder(), player.zones()
    for test, past in ((ladder, 0.0), (zones, 0.5)):
        assert [(one.distance_m, one.hole, one.past_m, one.step_m) for one in test if isinstance(one, Leaves)] == [
            (metres, False, past, 0.5) for metres in (3.0, 6.0, 9.0, 12.0)
        ]


def test_wild_balls_are_wilder() -> None:
    rng = np.random.default_rng(2)
    wild = one_wild_in_ten(rng, 40_000)
    assert np.mean(np.abs(wild) < 1) == pytest.approx(0.9 * 0.6827 + 0.1 * 0.2611, abs=0.012)
    assert np.std(wild) == pytest.approx((0.9 + 0.1 * 9) ** 0.5, rel=0.03)
    heavy = t3(rng, 40_000)
    assert np.mean(np.abs(heavy) < 3.182) == pytest.approx(0.95, abs=0.006), "Student's t table, 3 degrees of freedom"


def test_the_tests_of_the_calibration_have_the_balls_that_they_are_named_by() -> None:
    theta = np.array([log(1.5), 0.1, log(0.12), 0.0])
    for name, test in TESTS.items():
        found = test(np.random.default_rng(1), theta)
        counted = [one for one in found if isinstance(one, Counted)]
        if counted:
            assert sum(one.tried for one in counted) == int(name.split()[0])
            assert [one.distance_m for one in counted] == list(LADDER_M)
            assert {one.short is None for one in counted} == {False}
            assert {one.push is None and one.pull is None for one in counted} == {"all noted" not in name}
        else:
            leaves, gate = found
            assert isinstance(leaves, Leaves) and isinstance(gate, Gated)
            assert (leaves.distance_m, leaves.step_m, len(leaves.leaves_m) + leaves.holed) == (6.0, 0.9, 20)
            assert (gate.distance_m, gate.width_m, gate.balls) == (1.0, 0.1, 20)
    assert Coverage((0.95,), 475).error == pytest.approx(0.01) and PACE == 2
