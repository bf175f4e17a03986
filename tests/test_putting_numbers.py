"""What follows from putts in numbers, against scipy, by hand, and at the edges."""

from dataclasses import replace
from itertools import pairwise
from math import inf, log, pi

import numpy as np
import pytest
from scipy.stats import beta, norm

from drills.putting import picture, predictions
from drills.putting.challenge import LONGEST_PUTT_M, SHORTEST_PUTT_M, gate_for_share, holing_distance_m
from drills.putting.chips import chipping, leave_for_share
from drills.putting.gates import gate_posterior
from drills.putting.hole import gate_error_deg, gate_width_m
from drills.putting.model import holed
from drills.putting.observations import Counted, Gated, Leaves
from drills.putting.picture import LeaveGroup
from drills.putting.posterior import Estimate, compute_posterior
from drills.putting.predictions import Change, ErrorGain, GainComparison, find_challenge, putter_estimate
from drills.putting.published import CLUB_PLAYERS, PROFESSIONALS, published_share
from drills.putting.putts import expected_putts, gains_far, second_putt_distance_m
from drills.putting.read_and_aim import LineComparison
from drills.putting.sample_size import balls_for, balls_to_tell, spread_balls_to_tell
from drills.putting.units import METRES, from_metres, in_metres
from lessons.progress.intervals import Share
from tests.test_putting_text import KNOWN, compared

SKILLED = np.array([[log(1.02), 0.0, log(0.08), 0.0]])  # Gelman (2019)
ROUGH = np.array([[log(2.04), 0.0, log(0.16), 0.0]])
GATE, LEAVES = Gated(1.0, 0.08, 12, 5, 3), Leaves(6, (-0.9, -0.9, 0.0, 0.9, 0.9, 1.8), 0.9, hole=False)
NOTED = [Counted(1, 10, 8, 0, 1, 1), Counted(3, 10, 3, 2, 4, 3), Counted(6, 10, 1, 3, 5, 4)]


# --- The putter ---------------------------------------------------------------------------------


def test_only_what_the_balls_can_show_is_an_estimate() -> None:
    for observations, known in (
        ([Gated(1.0, 0.08, 12, beside=8)], ("line",)),
        ([GATE], ("line", "line_bias")),
        ([LEAVES], ("pace", "pace_bias")),
        ([Counted(1, 10, 8), Counted(3, 10, 3)], ("line", "pace")),
        (NOTED, ("line", "line_bias", "pace", "pace_bias")),
    ):
        found = putter_estimate(compute_posterior(observations), is_separable=True, fits_model=False)
        assert tuple(kind for kind in predictions.ERROR_KINDS if getattr(found, kind)) == known
        assert found.has_line_and_pace is ("line" in known and "pace" in known)
        assert (found.is_separable, found.fits_model, found.has_wild_balls) == (True, False, False)
    wild = compute_posterior([replace(LEAVES, leaves_m=(0.0,) * 20 + (-5.0, 5.0), step_m=0.1)])
    assert putter_estimate(wild, is_separable=True, fits_model=True).has_wild_balls


def test_a_putter_beside_the_stroke_has_the_bias_that_putts_at_a_hole_suffer_from() -> None:
    """A stroke of 0.8 degrees that starts straight, and putts at the hole that start 2 degrees to the right."""
    stroke = compute_posterior([Gated(1.0, 0.08, 40, 4, 4)])
    pushed = compute_posterior([Counted(3, 40, 2, 4, 36, 2), Counted(1.5, 40, 8, 2, 30, 2)])
    for at_hole, is_shifted in ((pushed, True), (stroke, False)):
        lines = LineComparison(stroke, at_hole)
        found = predictions.beside_stroke(KNOWN, lines)
        assert lines.is_shifted is is_shifted and lines.differs is is_shifted and lines.agrees is not is_shifted
        assert found.line == lines.line_deg and found.pace == KNOWN.pace and found.at_hole is not None
        assert found.line_bias and (found.line_bias.low > 0) is is_shifted
        assert (found.at_hole.shift_deg > 0.5) is is_shifted and found.at_hole.agrees is lines.agrees
        assert found.at_hole.stroke_bias and found.at_hole.stroke_bias.sign == 0
    unsided = LineComparison(compute_posterior([Gated(1.0, 0.08, 40, beside=8)]), pushed)
    assert unsided.bias is None and unsided.line_bias_deg is None and not unsided.is_shifted
    assert unsided.line_at_hole.shift_deg == 0.0


def test_only_putts_at_a_hole_are_counted_as_holed() -> None:
    found = predictions.holed_by_distance(
        [
            Counted(3, 10, 4),
            GATE,
            LEAVES,
            Counted(1, 10, 8),
            Leaves(3, (0.9, -0.9), 0.9, holed=1),
            Leaves(6, (0.9,), 0.9),
        ]
    )
    assert found == {1: Share(8, 10), 3: Share(5, 13), 6: Share(0, 1)} and list(found) == [1, 3, 6]
    assert predictions.total_share(found) == Share(13, 24)


def test_a_curve_has_the_middle_and_95_percent_of_the_draws_at_each_distance() -> None:
    draws = np.repeat(SKILLED, 1001, axis=0)
    draws[:, 0] = np.log(np.linspace(0.5, 3.0, 1001))
    for distance, found in zip((1.0, 3.0), predictions.make_curve(draws, [1.0, 3.0]), strict=True):
        rates = np.sort(holed(draws, np.array([distance]))[:, 0])
        assert (found.low, found.middle, found.high) == pytest.approx((rates[25], rates[500], rates[975]))


# --- Gains --------------------------------------------------------------------------------------


def test_an_error_leads_from_nine_draws_of_ten_and_a_tenth_of_a_putt_on() -> None:
    for ahead, candidates in (
        ({"line": 0.9, "pace": 0.1}, ("line",)),
        ({"line": 0.89, "pace": 0.11}, ("line", "pace")),
        ({"pace": 0.2, "line": 0.5, "line_bias": 0.3}, ("line", "line_bias", "pace")),
        ({"line": 0.4, "pace": 0.3, "line_bias": 0.25, "pace_bias": 0.05}, ("line", "pace", "line_bias")),
    ):
        assert compared(**ahead).candidates == candidates
    for brings, more in ((0.1, "line"), (0.15, "line"), (0.09, None)):
        gains = [ErrorGain("line", Estimate(brings, 0, 1), 1.0), ErrorGain("pace", Estimate(0.05, 0, 1), 0.0)]
        assert GainComparison(tuple(gains)).more == more


def test_gains_are_ordered_by_what_they_bring_and_keep_what_they_are_of() -> None:
    gains = {"line": np.full(100, 0.2), "pace": np.full(100, 0.7), "pace_bias": np.linspace(0, 1, 100)}
    found = predictions.compare_gains(gains, reads=True)  # type: ignore[arg-type]
    assert [each.kind for each in found.gains] == ["pace", "pace_bias", "line"] and found.reads
    assert [each.ahead for each in found.gains] == pytest.approx([0.7, 0.3, 0.0])
    low, middle, high = found.gains[1].brings.low, found.gains[1].brings.middle, found.gains[1].brings.high
    assert (low, middle, high) == pytest.approx((0.025, 0.5, 0.975))
    assert not predictions.compare_gains(gains).reads  # type: ignore[arg-type]


def test_putters_that_are_drawn_twice_weigh_no_more() -> None:
    """Gains from afar take every second draw, since they take long."""
    some = np.array([[log(1 + n / 20), 0.1, log(0.05 + n / 100), -0.05] for n in range(12)])
    found = predictions.marginal_gain(np.repeat(some, 2, axis=0), reads=True)
    far = dict(zip(predictions.ERROR_KINDS, gains_far(some), strict=True))
    assert found.saved == predictions.compare_gains(far, reads=True) and found.holed.reads
    assert {each.kind for each in found.holed.gains} == set(predictions.ERROR_KINDS)
    stroke = predictions.marginal_gain(some)
    assert not stroke.holed.reads and not stroke.saved.reads, "the spread of the line is the stroke's unless it is said"


def test_the_second_putt_is_the_third_side_of_a_triangle() -> None:
    """A ball that starts off by some degrees and rolls so far lies, by sine and cosine, so far from the hole."""
    theta, distance = np.array([[log(2.0), 0.5, log(0.1), 0.05]]), 9.0
    found = second_putt_distance_m(theta, np.array([distance]))[0, 0]
    lines, paces = np.linspace(-3.5, 3.5, found.shape[0]), np.linspace(-3.5, 3.5, found.shape[1])
    for row, line in enumerate(np.radians(0.5 + 2.0 * lines)):
        rolled = (distance + 0.3048) * (1.05 + 0.1 * paces)
        expected = np.hypot(rolled * np.sin(line), rolled * np.cos(line) - distance)
        assert found[row] == pytest.approx(expected)


def test_nobody_who_never_errs_takes_two_putts_from_near() -> None:
    assert expected_putts(np.array([[log(0.05), 0, log(0.005), 0]]), np.array([1.0]))[0, 0] == pytest.approx(
        1, abs=1e-6
    )


# --- Challenges ---------------------------------------------------------------------------------


def test_a_challenge_is_set_by_what_the_tests_can_say() -> None:
    posterior = compute_posterior(NOTED)
    for estimate, has_distance in (
        (KNOWN, True),
        (replace(KNOWN, fits_model=False), False),
        (replace(KNOWN, pace=None), False),
    ):
        found = find_challenge(posterior, estimate, [GATE], 1.0)
        assert (
            (found.distance_m is not None) is has_distance
            and found.gate_m
            and (found.share, found.gate_distance_m) == (0.7, 1.0)
        )
    at = found_distance = find_challenge(posterior, KNOWN, [], 1.0).distance_m
    assert at and found_distance and at.low <= at.middle <= at.high
    middle = [
        [
            log(posterior.line_deg.middle),
            posterior.line_bias_deg.middle,
            log(posterior.pace.middle),
            posterior.pace_bias.middle,
        ]
    ]
    assert holed(np.array(middle), np.array([at.middle]))[0, 0] == pytest.approx(0.7, abs=0.005)


def test_a_gate_is_set_from_eight_balls_on() -> None:
    for gates, is_set in (
        ([Gated(1.0, 0.08, 7)], False),
        ([Gated(1.0, 0.08, 8)], True),
        ([Gated(1.0, 0.08, 4), Gated(2, 0.1, 2, 1, 1)], True),
        ([], False),
    ):
        assert (predictions.gate_challenge_m(gates, 1.0, 0.7) is not None) is is_set


def test_a_gate_of_balls_that_start_to_one_side_lets_that_side_through() -> None:
    pushed, even = [Gated(1.0, 0.08, 8, 12, 0)], [Gated(1.0, 0.08, 8, 6, 6)]
    assert predictions.gate_challenge_m(pushed, 1.0, 0.7) == gate_posterior(pushed).gate_m(1.0, 0.7)
    assert predictions.gate_challenge_m(even, 1.0, 0.7) == gate_for_share(even, 1.0, 0.7)


def test_a_gate_is_that_of_the_median_of_jeffreys_posterior() -> None:
    """Brown, Cai & DasGupta (2001): of one share it is a beta distribution, here scipy's."""
    for passed, missed, share in ((12, 8, 0.7), (20, 0, 0.5), (3, 10, 0.8), (300, 100, 0.9)):
        middle = beta.median(passed + 0.5, missed + 0.5)
        spread = gate_error_deg(1.0, 0.08) / norm.ppf((1 + middle) / 2)
        expected = gate_width_m(1.5, spread * norm.ppf((1 + share) / 2))
        for gate in (
            Gated(1.0, 0.08, passed, missed),
            Gated(1.0, 0.08, passed, 0, missed),
            Gated(1.0, 0.08, passed, beside=missed),
        ):
            assert gate_for_share([gate], 1.5, share) == pytest.approx(expected, rel=0.01)


def test_a_distance_is_offered_between_30_centimetres_and_15_metres() -> None:
    assert (SHORTEST_PUTT_M, LONGEST_PUTT_M) == (0.3, 15.0)
    near, far = (float(holed(SKILLED, np.array([metres]))[0, 0]) for metres in (0.3, 15.0))
    for share, is_offered in ((near, True), (far, True), (near + 1e-9, False), (far - 1e-9, False)):
        assert (holing_distance_m(SKILLED, share) is not None) is is_offered
    assert (
        holing_distance_m(SKILLED, far) == pytest.approx(15.0) and 0.3 <= (holing_distance_m(SKILLED, near) or 0) < 0.5
    )


def test_the_interval_of_a_distance_holds_its_middle() -> None:
    draws = np.vstack([SKILLED, ROUGH])
    low, high = (holing_distance_m(one, 0.5) for one in (ROUGH, SKILLED))
    assert low and high and predictions.distance_estimate(draws, 2.0, 0.5).low == pytest.approx(low, rel=0.05)
    assert predictions.distance_estimate(draws, 0.4, 0.5).low == 0.4
    assert predictions.distance_estimate(draws, 9.0, 0.5).high == 9.0
    assert predictions.distance_estimate(np.repeat(SKILLED, 9, axis=0), 2.0, 0.5).high == pytest.approx(high, rel=0.01)


# --- Changes ------------------------------------------------------------------------------------


def test_the_change_of_a_spread_is_zou_and_donners_on_logs() -> None:
    """Zou & Donner (2008): the squares of the distances to the limits add up, here of logarithms."""
    found = predictions.spread_change(Estimate(0.05, 0.04, 0.06), Estimate(0.1, 0.07, 0.12)).difference
    less, more = np.hypot(log(5 / 4), log(12 / 10)), np.hypot(log(6 / 5), log(10 / 7))
    assert (found.low, found.middle, found.high) == pytest.approx(
        (0.5 * np.exp(-less) - 1, -0.5, 0.5 * np.exp(more) - 1)
    )


def test_a_change_is_better_or_worse_where_0_lies_outside() -> None:
    for low, high, spread, share in (
        (-0.5, -0.1, "better", "worse"),
        (0.1, 0.5, "worse", "better"),
        (-0.5, 0, "", ""),
        (0, 0.5, "", ""),
    ):
        at = Estimate(1, 1, 1)
        found = [Change(at, at, Estimate((low + high) / 2, low, high), less).verdict for less in (True, False)]
        assert found == [spread, share]


def test_so_many_putts_show_a_fifth_less() -> None:
    """Fleiss, Levin & Paik (2003), ch. 4, of the share holed with both spreads a fifth less."""
    draws, distances = np.vstack([SKILLED, ROUGH]), [1.0, 2.0, 3.0]
    better = draws + np.array([log(0.8), 0, log(0.8), 0])
    one, other = (holed(each, np.array(distances)).mean() for each in (draws, better))
    expected = (norm.ppf(0.975) + norm.ppf(0.8)) ** 2 * (one * (1 - one) + other * (1 - other)) / (one - other) ** 2
    assert predictions.putts_for_a_fifth(draws, distances) == np.ceil(expected)
    never = np.array([[log(0.05), 0, log(0.005), 0]])
    assert predictions.putts_for_a_fifth(never, [0.5]) is None, "all are holed with and without"


def test_so_many_balls_at_a_gate_show_a_fifth_less() -> None:
    for passed in (0.2, 0.6, 0.9):
        other = 2 * norm.cdf(norm.ppf((1 + passed) / 2) / 0.8) - 1
        expected = (
            (norm.ppf(0.975) + norm.ppf(0.8)) ** 2
            * (passed * (1 - passed) + other * (1 - other))
            / (passed - other) ** 2
        )
        assert predictions.gate_balls_for_a_fifth(passed) == max(2, np.ceil(expected))
    assert predictions.gate_balls_for_a_fifth(0.0) is None and predictions.gate_balls_for_a_fifth(1.0) is None


def test_no_fewer_leaves_would_tell_two_spreads_apart() -> None:
    """One over the square root of n - 1 is the standard error of the difference of the logs of two spreads."""
    for ratio in (0.5, 0.8, 0.95, 1.5, 3.0):
        balls = spread_balls_to_tell(ratio)
        power = [norm.cdf(abs(log(ratio)) * (number - 1) ** 0.5 - norm.ppf(0.975)) for number in (balls - 1, balls)]
        assert power[0] < 0.8 <= power[1] + 1e-12
    strict = balls_to_tell(0.5, 0.6, power=0.9, level=0.01)
    assert strict == np.ceil((norm.ppf(0.995) + norm.ppf(0.9)) ** 2 * (0.25 + 0.24) / 0.01)
    assert spread_balls_to_tell(0.8, 0.9, 0.01) == np.ceil(1 + ((norm.ppf(0.995) + norm.ppf(0.9)) / log(0.8)) ** 2)
    assert balls_to_tell(0.0, 1.0) == balls_to_tell(1.0, 0.0) == 2, "one ball shows no rate"


def test_a_test_keeps_its_middle_distances_where_there_is_no_time_for_all() -> None:
    """Seven leaves, nine balls at a gate, six putts that are counted or four chips take a minute: common practice."""
    assert [balls_for(10, [1.0], kind)[0].balls for kind in ("leaves", "gate", "counted", "chips")] == [70, 90, 60, 40]
    for minutes, kept, balls in (
        (2.5, [2, 3, 4], 5),
        (5, [1, 2, 3, 4, 5], 6),
        (1.6, [3], 9),
        (1.7, [2, 3], 5),
        (0.1, [3], 1),
        (0.5, [3], 3),
    ):
        found = balls_for(minutes, [5, 3, 1, 4, 2], "counted")
        assert [each.distance_m for each in found] == kept and {each.balls for each in found} == {balls}, minutes
    assert [each.distance_m for each in balls_for(1, [1, 2, 3, 4], "counted")] == [2]


# --- Chips --------------------------------------------------------------------------------------


def test_what_was_noted_alike_lies_evenly_over_its_step() -> None:
    """Hyndman & Fan (1996), definition 6: of n leaves the k-th is the quantile k / (n + 1)."""
    nine = leave_for_share(np.full(9, 1.0), np.full(9, 0.9), 0.5)
    assert nine == pytest.approx(1.0)
    for number in range(1, 10):
        found = leave_for_share(np.full(9, 1.0), np.full(9, 0.9), number / 10)
        assert found == pytest.approx(0.55 + 0.1 * (number - 0.5)), (
            "the k-th of nine, in the middle of its ninth of the step"
        )
    assert leave_for_share(np.zeros(4), np.full(4, 0.8), 0.8) == pytest.approx(0.35), "a leave is no less than 0"
    mixed = leave_for_share(np.array([1.0, 1.0, 2.0]), np.array([0.5, 1.0, 0.5]), 0.75)
    assert mixed == pytest.approx(2.0) and leave_for_share(np.array([0.1]), np.array([0.4]), 0.5) == pytest.approx(0.15)


def test_a_chip_that_lies_at_the_hole_needs_no_putt() -> None:
    found = chipping([0.0, 2.0], 0, lambda distances: np.full((1, len(distances)), 0.25))
    assert found.up_and_down.middle == pytest.approx((1 + 0.25) / 2) and found.strokes.middle == pytest.approx(
        (1 + 2.75) / 2
    )
    assert (found.nearer, found.surer) == pytest.approx((0.0, 0.2 * 0.75 / 2)) and found.leave_m.middle == 1.0
    assert (found.leave_m.low, found.leave_m.high) == (0.0, 2.0)
    alike = chipping([2.0, 2.0, 2.0], 0, lambda distances: np.full((2, len(distances)), 0.25))
    assert [alike.strokes, alike.up_and_down] == [Estimate(2.75, 2.75, 2.75), Estimate(0.25, 0.25, 0.25)]
    assert chipping([], 1, lambda distances: np.full((1, len(distances)), 0.25)).balls == 1
    for leaves, dropped in (([-0.01], 0), ([inf], 1), ([1.0], -1)):
        with pytest.raises(ValueError):
            chipping(leaves, dropped, lambda distances: np.full((1, len(distances)), 0.25))


def test_putts_after_chips_are_holed_from_five_centimetres_on_as_from_there() -> None:
    rates = predictions.own_rates(ROUGH)
    near, at, far = rates(np.array([0.001, 0.05, 3.0]))[0]
    assert near == at and far == holed(ROUGH, np.array([3.0]))[0, 0]
    printed = predictions.published_rates(np.array([0.2, 0.3048, 0.6096, 0.9144, 1.2192, 3.048]))
    assert printed.shape == (1, 6) and printed[0] == pytest.approx([1, 1, 0.92, 0.84, 0.65, 0.2])
    assert published_share(CLUB_PLAYERS, np.array([0.3, 40 * 0.3048])) == pytest.approx([0.84, 0.02])


# --- Pictures -----------------------------------------------------------------------------------


def curve(counted: dict[float, Share], unit: str) -> picture.CurvePicture:
    at = picture.places(counted)
    return picture.curve_picture([Estimate(0.5, 0.4, 0.6)] * len(at), at, counted, unit)


def test_a_curve_reaches_to_20_feet_or_to_the_last_putt_but_no_further_than_15_metres() -> None:
    for counted, far in (
        ({}, 6.096),
        ({3.0: Share(1, 2)}, 6.096),
        ({9.0: Share(1, 2)}, 9.0),
        ({30.0: Share(1, 2)}, 15.0),
    ):
        at = picture.places(counted)
        assert (at[0], at[-1]) == pytest.approx((0.3, far)) and np.allclose(np.diff(at), at[1] - at[0])


def test_the_axes_of_the_curve_stand_where_their_numbers_say() -> None:
    for counted, unit, labels in (
        ({}, "m", [0, 1, 2, 3, 4, 5, 6]),
        ({7.0: Share(1, 2)}, "m", [0, 1, 2, 3, 4, 5, 6, 7]),
        ({12.192: Share(1, 2)}, "m", [0, 2, 4, 6, 8, 10, 12]),
        ({12.0: Share(1, 2)}, "m", list(range(13))),
        ({}, "ft", [0, 5, 10, 15, 20]),
        ({12.192: Share(1, 2)}, "ft", [0, 5, 10, 15, 20, 25, 30, 35, 40]),
    ):
        drawn, far = curve(counted, unit), picture.places(counted)[-1]
        assert [int(tick.label) for tick in drawn.across] == labels
        across = drawn.right - drawn.left
        for tick in drawn.across:
            metres = int(tick.label) * (0.3048 if unit == "ft" else 1.0)
            assert tick.at == pytest.approx(drawn.left + across * metres / far, abs=0.06)
        for tick in drawn.up:
            share = int(tick.label.rstrip("%")) / 100
            assert tick.at == pytest.approx(drawn.bottom - (drawn.bottom - drawn.top) * share, abs=0.06)
        assert [tick.label for tick in drawn.up] == ["0%", "25%", "50%", "75%", "100%"]
        assert 0 < drawn.left < drawn.right < drawn.width and 0 < drawn.top < drawn.bottom < drawn.height


def test_the_curve_goes_there_in_the_middle_and_its_band_around() -> None:
    at = [1.0, 2.0, 4.0]
    some = [Estimate(0.8, 0.7, 0.9), Estimate(0.5, 0.4, 0.6), Estimate(0.2, 0.1, 0.3)]
    drawn = picture.curve_picture(some, at, {}, "m")
    x, y = (lambda metres: picture.x_of(metres, 4.0)), picture.y_of
    assert drawn.line == f"{x(1):g},{y(0.8):g} {x(2):g},{y(0.5):g} {x(4):g},{y(0.2):g}"
    there, back = [(1, 0.9), (2, 0.6), (4, 0.3)], [(4, 0.1), (2, 0.4), (1, 0.7)]
    assert drawn.band == " ".join(f"{x(metres):g},{y(share):g}" for metres, share in [*there, *back])
    assert (y(1.0), y(0.0), x(4), x(0)) == (drawn.top, drawn.bottom, drawn.right, drawn.left)
    with pytest.raises(ValueError):
        picture.curve_picture(some, at[:2], {}, "m")


def test_a_published_curve_passes_through_what_is_printed() -> None:
    for published, first, last in ((PROFESSIONALS, 1, 60), (CLUB_PLAYERS, 3, 30)):
        found = picture.published_points(published, 100.0)
        assert (found[0][0], found[-1][0]) == pytest.approx((first * 0.3048, last * 0.3048))
        metres, rates = np.array(found).T
        assert rates == pytest.approx(published_share(published, metres))
        assert picture.published_points(published, 3.0)[-1][0] == 3.0


def test_dots_lie_on_the_scale_where_their_leave_says() -> None:
    """Every tick and dot lies on one line through the hole, and the picture holds the farthest."""
    for leaves, unit, signed in (
        ((-2.4, 0.0, 1.0), "m", True),
        ((0.2, 4.6), "m", False),
        ((-9.0, 8.0), "m", True),
        ((-0.3, 0.2), "ft", True),
        ((1.0, 20.0), "m", False),
    ):
        drawn = picture.leaves_picture([LeaveGroup("", leaves, 0)], unit, signed=signed)
        size = 0.3048 if unit == "ft" else 1.0
        right = drawn.across[-1]
        scale = (right.at - drawn.hole) / (int(right.label) * size)
        numbers = [(-1 if tick.at < drawn.hole else 1) * int(tick.label) for tick in drawn.across]
        assert numbers == sorted(set(numbers)) and 0 in numbers and len(numbers) >= 2
        assert len({later - earlier for earlier, later in pairwise(numbers)}) == 1 and len(numbers) <= 9
        for tick, number in zip(drawn.across, numbers, strict=True):
            assert tick.at == pytest.approx(drawn.hole + scale * size * number, abs=0.2)
        for (x, _), leave in zip(drawn.strips[0].dots, sorted(leaves), strict=True):
            assert x == pytest.approx(drawn.hole + scale * leave, abs=0.2 + 0.06 * abs(leave))
            assert picture.DOT <= x <= drawn.width - picture.DOT
        assert all(round(x, 1) == x for x, _ in drawn.strips[0].dots), "a tenth of a pixel is enough"
        reach = np.ceil(max(map(abs, leaves)) / size) * size
        ends = (drawn.hole - scale * reach * signed, drawn.hole + scale * reach)
        assert sum(ends) == pytest.approx(drawn.width, abs=3), "as much room on either side"
        assert drawn.hole == pytest.approx(drawn.width / 2 if signed else ends[0], abs=1)


def test_a_stack_needs_as_much_room_as_it_has_dots() -> None:
    one, three = ([LeaveGroup("", leaves, 0)] for leaves in ((0.5, 1.0, 1.5), (0.5, 0.5, 0.5)))
    low, high = (picture.leaves_picture(group, "m", signed=True) for group in (one, three))
    dots = sorted(y for _, y in high.strips[0].dots)
    assert high.bottom - low.bottom == pytest.approx(2 * (dots[1] - dots[0])) and dots[2] - dots[1] == dots[1] - dots[0]
    assert low.strips[0].dots[0][1] == pytest.approx(low.bottom - (high.bottom - dots[2]))
    empty = picture.leaves_picture([LeaveGroup("", (), 5), *one], "m", signed=True)
    assert empty.strips[0].y == low.bottom and empty.strips[0].dots == [] and empty.strips[0].each == ""
    assert empty.strips[1].y == empty.bottom == 2 * low.bottom and empty.strips[1].top == empty.strips[0].y


def test_leaves_are_listed_in_the_readers_unit() -> None:
    drawn = picture.leaves_picture([LeaveGroup("", (0.3048, -0.6096, 0.3048, 0.0), 0)], "ft", signed=True)
    assert drawn.strips[0].each == "−2.0, 0.0, 1.0 (2 times)" and (drawn.strips[0].short, drawn.strips[0].past) == (
        1,
        3,
    )


# --- Units --------------------------------------------------------------------------------------


def test_units_are_those_of_1959() -> None:
    """International yard and pound agreement; a step of 0.9 m: common practice, no source."""
    printed = {"m": 1.0, "cm": 0.01, "ft": 12 * 0.0254, "in": 0.0254, "yd": 36 * 0.0254, "step": 0.9}
    assert pytest.approx(printed) == METRES
    for unit in METRES:
        assert in_metres(from_metres(pi, unit), unit) == pytest.approx(pi)
