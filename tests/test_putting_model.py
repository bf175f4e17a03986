"""The chances of putts and of whole tests, against published figures, other ways to the same, and balls thrown.

Published: Gelman & Nolan (2002) and Gelman (2019), Model building and expansion for golf putting, Stan case study, with
the data of Berry (1996) and Broadie (2018) (tests/reference/putting_small.csv, putting_large.csv: read in the case
study's repository); make percentages from exactly so many feet by Broadie, status S in putting_baselines.csv.
"""

import csv
from collections.abc import Callable
from math import inf, log
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq, minimize, minimize_scalar
from scipy.stats import binom, norm

from drills.putting.calibration import draw_balls, draw_counted_putts, draw_gate_balls, draw_leaves, draw_putter
from drills.putting.hole import gate_error_deg, largest_error_deg
from drills.putting.model import Likelihood, holed, starts, stops
from drills.putting.normal import FAR, HEAVY, LINE, NORMAL, Normal, between
from drills.putting.observations import OVERSHOT_M, TOLERANCE_M, Counted, Gated, Leaves, Observation, pool
from drills.putting.posterior import compute_posterior
from drills.putting.published import CLUB_PLAYERS, ERRORS, PROFESSIONALS, published_share

FOOT_M = 0.3048
REFERENCE = Path(__file__).parent / "reference"
MODEL_3 = np.array([[log(1.02), 0.0, log(0.08), 0.0]])  # Gelman (2019): 1.020 degrees and 0.080


def published(name: str) -> np.ndarray:
    return np.loadtxt(REFERENCE / name, delimiter=",", skiprows=1).T


# --- Published fits -----------------------------------------------------------------------------


def by_angle_alone(degrees: float, distance_m: np.ndarray, room: Callable[[float], float]) -> np.ndarray:
    """Gelman & Nolan's model: every ball has the pace for the hole."""
    rooms = np.array([room(distance) for distance in distance_m])
    return starts(np.array([[log(degrees), 0.0, 0.0, 0.0]]), -rooms, rooms)[0]


def angle_fit(room: Callable[[float], float]) -> tuple[float, float]:
    """The likeliest error on the small set, and its log-likelihood with the binomial coefficients."""
    feet, tries, makes = published("putting_small.csv")

    def unlikely(degrees: float) -> float:
        return -binom.logpmf(makes, tries, by_angle_alone(degrees, feet * FOOT_M, room)).sum()

    found = minimize_scalar(unlikely, bounds=(0.5, 4), method="bounded", options={"xatol": 1e-9})
    return found.x, -found.fun


def test_angle_alone_is_the_published_fit() -> None:
    """1.53 degrees (0.02); 1.526671 and the log-likelihood, binomial coefficients included, worked out with scipy."""
    degrees, log_likelihood = angle_fit(largest_error_deg)
    assert degrees == pytest.approx(1.53, abs=0.005)
    assert degrees == pytest.approx(1.526671, abs=1e-5)
    assert log_likelihood == pytest.approx(-83.44592, abs=1e-5)


def test_a_room_a_hundredth_larger_would_be_seen() -> None:
    degrees, _ = angle_fit(lambda distance: 1.01 * largest_error_deg(distance))
    assert degrees != pytest.approx(1.526671, abs=0.01)


def fit_with_model_error(scale: float = 1.0) -> np.ndarray:
    """Gelman's third model on the large set: the rate is normal with a spread of its own beside the binomial one."""
    feet, tries, makes = published("putting_large.csv")

    def unlikely(logs: np.ndarray) -> float:
        p = scale * holed(np.array([[logs[0], 0.0, logs[1], 0.0]]), feet * FOOT_M)[0]
        p = np.clip(p, 1e-9, 1 - 1e-9)
        return -norm.logpdf(makes / tries, p, np.sqrt(p * (1 - p) / tries + np.exp(2 * logs[2]))).sum()

    options = {"xatol": 1e-8, "fatol": 1e-8, "maxiter": 5000}
    return np.exp(minimize(unlikely, [0.0, log(0.1), log(0.01)], method="Nelder-Mead", options=options).x)


def test_both_errors_are_the_published_fit() -> None:
    """1.020 degrees (0.006), 0.080 (0.001), 0.003 (0.001)."""
    line, pace, own = fit_with_model_error()
    assert line == pytest.approx(1.020, abs=0.005)
    assert pace == pytest.approx(0.080, abs=0.0005)
    assert own == pytest.approx(0.003, abs=0.001)


def test_a_hundredth_more_holed_would_be_seen() -> None:
    line, pace, _ = fit_with_model_error(1.01)
    assert line != pytest.approx(1.020, abs=0.005) or pace != pytest.approx(0.080, abs=0.0005)


# --- Published rates ----------------------------------------------------------------------------


def test_a_putt_is_meant_to_stop_a_foot_past_and_drops_up_to_three() -> None:
    """Broadie (2018), as Gelman (2019) takes it over: overshot 1 ft, distance tolerance 3 ft; they are not fitted."""
    assert pytest.approx((FOOT_M, 3 * FOOT_M)) == (OVERSHOT_M, TOLERANCE_M)


def tour_rows(value: str, status: str) -> dict[float, float]:
    """Feet and a published value, where its status says that it was read."""
    with (REFERENCE / "putting_baselines.csv").open() as file:
        rows = [row for row in csv.DictReader(file) if row[status] == "S"]
    return {float(row["distance_ft"]): float(row[value]) for row in rows}


def agrees_with_the_tour(scale: float = 1.0) -> bool:
    rates = tour_rows("tour_make_pct", "tour_make_status")
    found = 100 * scale * holed(MODEL_3, np.array(list(rates)) * FOOT_M)[0]
    return found == pytest.approx(list(rates.values()), abs=2)


def test_the_published_putter_holes_as_the_tour_does() -> None:
    """Within two points; of so wide a mark only a tenth too few would be seen."""
    assert len(tour_rows("tour_make_pct", "tour_make_status")) == 16
    assert agrees_with_the_tour()
    assert not agrees_with_the_tour(0.9)


def test_baselines_are_as_printed() -> None:
    tour = tour_rows("tour_make_pct", "tour_make_status")
    ninety = tour_rows("golfer90_make_pct", "golfer90_status")
    assert {**PROFESSIONALS.percent_by_feet} == tour
    assert {**CLUB_PLAYERS.percent_by_feet} == ninety
    assert published_share(PROFESSIONALS, np.array([8 * FOOT_M])) == pytest.approx(
        [0.5]
    )  # half are holed from 8 ft, and
    assert published_share(CLUB_PLAYERS, np.array([5 * FOOT_M])) == pytest.approx([0.5])  # from 5 ft (Broadie 2014)
    assert published_share(PROFESSIONALS, np.array([8.5, 100.0]) * FOOT_M) == pytest.approx([0.475, 0.02])


def test_errors_are_as_quoted() -> None:
    """Bansal & Broadie (2008), as quoted in a public text."""
    assert [(errors.line_deg, errors.pace) for errors in ERRORS] == [(1.0, 0.065), (1.5, 0.085)]


# --- Against other ways to the same -------------------------------------------------------------

anyone = st.builds(
    lambda line, bias, pace, long: np.array([[log(line), bias, log(pace), long]]),
    st.floats(0.3, 8),
    st.floats(-2, 2),
    st.floats(0.03, 0.5),
    st.floats(-0.2, 0.2),
)
distances = st.floats(0.3, 25)


@given(anyone, distances, st.floats(-10, 10), st.floats(0, 10))
@settings(max_examples=1000, deadline=None)
def test_starts_and_stops_are_normal(theta: np.ndarray, distance: float, low: float, width: float) -> None:
    line, bias, pace, long = np.exp(theta[0, 0]), theta[0, 1], np.exp(theta[0, 2]), theta[0, 3]
    ends = np.array([low]), np.array([low + width])
    started = norm.cdf(low + width, bias, line) - norm.cdf(low, bias, line)
    assert starts(theta, *ends)[0, 0] == pytest.approx(started, abs=1e-12)
    aim = distance + OVERSHOT_M
    stop = norm(aim * (1 + long) - distance, aim * pace)
    assert stops(theta, np.array([distance]), *ends)[0, 0] == pytest.approx(
        stop.cdf(low + width) - stop.cdf(low), abs=1e-12
    )


@given(st.floats(5, 30), st.floats(0.01, 2))
@settings(max_examples=1000, deadline=None)
def test_chances_far_out_keep_their_digits_on_both_sides(low: float, width: float) -> None:
    expected = norm.cdf(-low) - norm.cdf(-low - width)
    assert between(np.array(low), np.array(low + width)) == pytest.approx(expected, rel=1e-9, abs=0)
    assert between(np.array(-low - width), np.array(-low)) == pytest.approx(expected, rel=1e-9, abs=0)
    both = Normal(LINE, [[(low, low + width)], [(-low - width, -low)], [(low, inf), (-inf, -low)]])
    ahead, behind, either = both.value(np.zeros((1, 4)))[0, :, 0]
    assert (ahead, behind) == pytest.approx((expected, expected), rel=1e-9, abs=0)
    assert either == pytest.approx(2 * norm.cdf(-low), rel=1e-9, abs=0)


def test_a_span_that_ends_before_it_begins_holds_nothing() -> None:
    assert between(np.array(1.0), np.array(-1.0)) == 0
    nothing = Normal(LINE, [[(1.0, -1.0)], [(-inf, inf)]]).with_gradient(np.zeros((1, 4)))[:, :, 0]
    assert nothing[:, 0] == pytest.approx(0)
    assert nothing[:, 1] == pytest.approx([1, 0, 0, 0, 0])
    assert FAR > 1e6


def scenario(rng: np.random.Generator, theta: np.ndarray) -> list[Observation]:
    """A bit of everything that can be noted, and a distance that comes twice."""
    seen = draw_counted_putts(rng, theta, 2.0, 10)
    return [
        seen,
        draw_counted_putts(rng, theta, 4.0, 8),
        draw_counted_putts(rng, theta, 4.0, 8),
        Counted(3.0, 10, 4),
        Counted(5.0, 10, 3, push=3, pull=2),
        draw_leaves(rng, theta, 6.0, 8, 0.9),
        Leaves(4.0, (-0.5, 0.0, 0.5, 0.5), 0.5, hole=False),
        Leaves(4.0, (-0.5, 0.5, 1.0), 0.5, hole=False, past_m=0.5),
        draw_gate_balls(rng, theta, 1.0, 10, 0.1),
        Gated(1.5, 0.1, 6, push=1, pull=1, beside=2),
    ]


def plain_log_likelihood(observations: list[Observation], theta: np.ndarray) -> float:
    """The same from scipy.stats, category by category, as the docstrings say it in words."""
    line, pace = norm(theta[1], np.exp(theta[0])), (np.exp(theta[2]), theta[3])
    return sum(
        gate_plainly(observation, line)
        if isinstance(observation, Gated)
        else leaves_plainly(observation, line, pace)
        if isinstance(observation, Leaves)
        else counted_plainly(observation, line, pace)
        for observation in pool(observations)
    )


def roll(distance: float, pace: tuple[float, float], past: float = OVERSHOT_M) -> norm:
    aim = distance + past
    return norm(aim * (1 + pace[1]) - distance, aim * pace[0])


def gate_plainly(observation: Gated, line: norm) -> float:
    error = gate_error_deg(observation.distance_m, observation.width_m)
    push, pull = line.sf(error), line.cdf(-error)
    chances = [1 - push - pull, push, pull, push + pull]
    return float(np.dot([observation.passed, observation.push, observation.pull, observation.beside], np.log(chances)))


def leaves_plainly(observation: Leaves, line: norm, pace: tuple[float, float]) -> float:
    past = 0.3048 if observation.past_m is None and observation.hole else observation.past_m or 0.0
    stop, room = roll(observation.distance_m, pace, past), largest_error_deg(observation.distance_m)
    drops = (line.cdf(room) - line.cdf(-room)) * observation.hole
    total = observation.holed * log(drops * (stop.cdf(TOLERANCE_M) - stop.cdf(0))) if observation.holed else 0.0
    for leave in observation.leaves_m:
        low, high = leave - observation.step_m / 2, leave + observation.step_m / 2
        near = np.clip([low, high], 0, TOLERANCE_M)
        total += log(stop.cdf(high) - stop.cdf(low) - drops * (stop.cdf(near[1]) - stop.cdf(near[0])))
    return total


def counted_plainly(observation: Counted, line: norm, pace: tuple[float, float]) -> float:
    stop, room = roll(observation.distance_m, pace), largest_error_deg(observation.distance_m)
    short, within, past = stop.cdf(0), stop.cdf(TOLERANCE_M) - stop.cdf(0), stop.sf(TOLERANCE_M)
    wide_push, wide_pull = line.sf(room), line.cdf(-room)
    gone_by = past + within * (wide_push + wide_pull)
    total = observation.holed * log(within * (1 - wide_push - wide_pull))
    if observation.short is None:
        total += observation.missed * log(short + gone_by)
    else:
        total += observation.short * log(short) + (observation.missed - observation.short) * log(gone_by)
    if observation.sided:
        known = short / (short + gone_by) if observation.short is None else observation.short / observation.missed
        push = known * line.sf(0) + (1 - known) * (past * line.sf(0) + within * wide_push) / gone_by
        total += (observation.push or 0) * log(push) + (observation.pull or 0) * log(1 - push)
    return total


@pytest.mark.parametrize("seed", range(60))
def test_log_likelihood_is_what_scipy_adds_up(seed: int) -> None:
    rng = np.random.default_rng(seed)
    observations, theta = scenario(rng, draw_putter(rng)), draw_putter(rng)
    found = Likelihood(observations).log_likelihood(theta[None])[0, 0]
    assert found == pytest.approx(plain_log_likelihood(observations, theta), rel=1e-9)


@pytest.mark.parametrize("seed", range(60))
def test_slopes_are_those_of_differences(seed: int) -> None:
    rng = np.random.default_rng(seed)
    likelihood, theta = Likelihood(scenario(rng, draw_putter(rng))), draw_putter(rng)
    step = 1e-5 * np.eye(4)
    ahead, behind = (likelihood.log_likelihood(theta + way * step)[0] for way in (1, -1))
    assert likelihood.log_likelihood(theta[None])[1:, 0] == pytest.approx((ahead - behind) / 2e-5, rel=1e-5, abs=1e-4)


@pytest.mark.parametrize("seed", range(30))
def test_a_grid_holds_what_every_pair_would(seed: int) -> None:
    rng = np.random.default_rng(seed)
    likelihood = Likelihood(scenario(rng, draw_putter(rng)))
    lines, paces = (np.array([draw_putter(rng) for _ in range(number)]) for number in (4, 3))
    pairs = np.array([[*line[:2], *pace[2:]] for line in lines for pace in paces])
    assert likelihood.grid_log_likelihood(lines, paces).ravel() == pytest.approx(
        likelihood.log_likelihood(pairs)[0], rel=1e-9
    )


@pytest.mark.parametrize("seed", range(8))
def test_chances_are_what_balls_thrown_come_to(seed: int) -> None:
    """200,000 balls a distance: holed, short and past, and the sides of misses, within five standard errors."""
    rng = np.random.default_rng(seed)
    theta, distance, number = draw_putter(rng), rng.uniform(0.8, 9), 200_000
    lines, stopped, dropped = draw_balls(rng, theta, distance, number)
    short, push = stopped < 0, lines > 0
    expected = [holed(theta[None], np.array([distance]))[0, 0], norm.cdf(0, *roll_of(theta, distance))]
    assert [dropped.mean(), short.mean()] == pytest.approx(expected, abs=5 * 0.5 / number**0.5)
    missed = ~dropped
    told = Counted(distance, 1000, 500, short=round(500 * short.sum() / missed.sum()), push=1)
    found = np.exp(
        Likelihood([told]).log_likelihood(theta[None])[0]
        - Likelihood([without_side(told)]).log_likelihood(theta[None])[0]
    )
    assert found[0] == pytest.approx(push[missed].mean(), abs=0.002 + 5 * 0.5 / missed.sum() ** 0.5)


def roll_of(theta: np.ndarray, distance: float) -> tuple[float, float]:
    aim = distance + OVERSHOT_M
    return aim * (1 + theta[3]) - distance, aim * np.exp(theta[2])


def without_side(observation: Counted) -> Counted:
    return Counted(observation.distance_m, observation.tried, observation.holed, observation.short)


# --- Heavy tails --------------------------------------------------------------------------------


def heavy(z: float) -> float:
    """Tukey's mixture: nine balls of ten, and one that is three times as wild; in units of the width of 68 %."""
    scale = brentq(lambda end: 0.9 * norm.cdf(end) + 0.1 * norm.cdf(end / 3) - norm.cdf(1), 0.5, 3)
    return float(0.9 * norm.cdf(scale * z) + 0.1 * norm.cdf(scale * z / 3))


@pytest.mark.parametrize("low, high", [(-1.0, 1.0), (0.2, 0.9), (2.0, 5.0), (-6.0, -3.0)])
def test_heavy_tails_are_scipys_mixture(low: float, high: float) -> None:
    expected = heavy(high) - heavy(low)
    assert between(np.array(low), np.array(high), HEAVY) == pytest.approx(expected, rel=1e-3)
    found = Normal(LINE, [[(low, high)]], HEAVY)
    assert found.value(np.zeros((1, 4)))[0, 0, 0] == pytest.approx(expected, rel=1e-3)
    assert found.with_gradient(np.zeros((1, 4)))[0, 0, 0] == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("seed", range(10))
def test_slopes_under_heavy_tails_are_those_of_differences(seed: int) -> None:
    rng = np.random.default_rng(seed)
    likelihood, theta = Likelihood(scenario(rng, draw_putter(rng))).with_tails(HEAVY), draw_putter(rng)
    step = 1e-5 * np.eye(4)
    ahead, behind = (likelihood.log_likelihood(theta + way * step)[0] for way in (1, -1))
    assert likelihood.log_likelihood(theta[None])[1:, 0] == pytest.approx((ahead - behind) / 2e-5, rel=1e-5, abs=1e-4)


def test_tails_are_as_heavy_as_the_balls_say() -> None:
    """Twenty balls near the line are normal; with two far away they are not, and the spread is that of the others."""
    near = tuple(norm.ppf((np.arange(20) + 0.5) / 20, 0.0, 0.5))
    tame, wild = (compute_posterior([Leaves(6, balls, 0.1, hole=False)]) for balls in (near, (*near, -4.0, 4.0)))
    assert tame.tails is NORMAL and wild.tails is HEAVY
    assert wild.pace.middle < 1.35 * tame.pace.middle < np.std([*near, -4.0, 4.0]) / 6
