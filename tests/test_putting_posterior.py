"""What observations say of a putter, against other ways to integrate the same, and at the edges."""

from math import log

import numpy as np
import pytest
from scipy.stats import norm

from drills.putting import posterior as module
from drills.putting.calibration import all_noted, draw_putter, interval_estimates, leaves_and_gate, short_noted
from drills.putting.hole import gate_error_deg
from drills.putting.model import LINE, LINE_BIAS, PACE, PACE_BIAS, Array, Likelihood
from drills.putting.observations import OVERSHOT_M, Counted, Gated, Leaves, Observation
from drills.putting.posterior import Estimate, compute_posterior, summarise_marginal
from drills.putting.prior import PRIOR_MEAN, PRIOR_SD
from tests.test_putting_fit import EXTREMES

PARTS = np.array([0.025, 0.5, 0.975])


def quantiles(values: Array, weights: Array) -> Array:
    """Of values that weigh so much."""
    order = np.argsort(values)
    below = np.cumsum(weights[order]) - weights[order] / 2
    return np.interp(PARTS * weights.sum(), below, values[order])


def is_near(found: Estimate, expected: Array, share: float) -> bool:
    """Whether all three lie within a share of the interval's width."""
    width = expected[2] - expected[0]
    return np.allclose([found.low, found.middle, found.high], expected, rtol=0, atol=share * width)


# --- Against other ways -------------------------------------------------------------------------


def plane(low_spread: float, high_spread: float, reach: float) -> tuple[Array, Array]:
    """A dense plane of logs of a spread and of a bias."""
    logs, biases = np.meshgrid(np.linspace(log(low_spread), log(high_spread), 401), np.linspace(-reach, reach, 401))
    return logs.ravel(), biases.ravel()


def test_a_gate_is_what_a_dense_plane_says() -> None:
    logs, biases = plane(0.05, 60, 6)
    error, line = gate_error_deg(1.0, 0.1), np.exp(logs)
    push, pull = norm.sf((error - biases) / line), norm.cdf((-error - biases) / line)
    through, push, pull = (np.log(np.maximum(each, 1e-300)) for each in (1 - push - pull, push, pull))
    chance = 12 * through + 6 * push + 2 * pull
    chance += norm.logpdf(logs, PRIOR_MEAN[LINE], PRIOR_SD[LINE]) + norm.logpdf(biases, 0, PRIOR_SD[LINE_BIAS])
    weights = np.exp(chance - chance.max())
    found = compute_posterior([Gated(1.0, 0.1, 12, 6, 2)])
    assert is_near(found.line_deg, np.exp(quantiles(logs, weights)), 0.02)
    assert is_near(found.line_bias_deg, quantiles(biases, weights), 0.02)


@pytest.mark.parametrize("past", [None, 0.0, 0.5, OVERSHOT_M])
def test_leaves_on_a_line_are_what_a_dense_plane_says(past: float | None) -> None:
    """The aim is the line itself unless a test says how far past it."""
    stops = (-1.8, -0.9, -0.9, 0.0, 0.0, 0.9, 0.9, 0.9, 1.8, 2.7)
    logs, biases = plane(0.005, 2, 0.6)
    aim = 6 + (past or 0.0)
    mean, spread = aim * (1 + biases) - 6, aim * np.exp(logs)
    chance = norm.logpdf(logs, PRIOR_MEAN[PACE], PRIOR_SD[PACE]) + norm.logpdf(biases, 0, PRIOR_SD[PACE_BIAS])
    for stop in stops:
        ends = [(stop + half - mean) / spread for half in (0.45, -0.45)]
        chance += np.log(np.maximum(norm.cdf(ends[0]) - norm.cdf(ends[1]), 1e-300))
    weights = np.exp(chance - chance.max())
    found = compute_posterior([Leaves(6, stops, 0.9, hole=False, past_m=past)])
    assert is_near(found.pace, np.exp(quantiles(logs, weights)), 0.02)
    assert is_near(found.pace_bias, quantiles(biases, weights), 0.02)


def weighted_putters(observations: list[Observation], number: int = 200_000) -> tuple[Array, Array]:
    """Putters drawn before any ball, and how likely they make these."""
    rng = np.random.default_rng(0)
    putters = rng.normal(PRIOR_MEAN, PRIOR_SD, (number, 4))
    likelihood = Likelihood(observations)
    logs = np.concatenate([likelihood.log_likelihood(part)[0] for part in np.array_split(putters, 40)])
    return putters, np.exp(logs - logs.max())


SOME: dict[str, list[Observation]] = {
    "all noted": [Counted(1, 6, 5, 0, 1, 0), Counted(3, 6, 2, 1, 2, 2), Counted(6, 6, 1, 2, 1, 4)],
    "short noted": [Counted(1, 6, 5, 0), Counted(3, 6, 2, 1), Counted(6, 6, 1, 2)],
    "makes alone": [Counted(1, 6, 5), Counted(3, 6, 2), Counted(6, 6, 1)],
    "leaves": [Leaves(6, (-1.8, -0.9, 0.0, 0.9, 0.9, 2.7), 0.9, 1), Gated(1, 0.1, 5, 2, 1)],
    "no pull at all": [Leaves(6, (-1.8, -0.9, 0.0, 0.9, 0.9, 2.7), 0.9), Gated(1, 0.1, 16, 4)],
    "hardly any short": [Counted(d, 5, h, s) for d, h, s in ((1, 4, 0), (2, 2, 0), (3, 1, 0), (5, 0, 0), (8, 0, 2))],
}


@pytest.mark.parametrize("observations", SOME.values(), ids=SOME)
def test_a_grid_is_what_putters_drawn_say(observations: list[Observation]) -> None:
    """Two hundred thousand putters from the prior, weighed; within a twentieth of the interval's width."""
    putters, weights = weighted_putters(observations)
    assert weights.sum() ** 2 / (weights**2).sum() > 1000
    found = compute_posterior(observations)
    for at, each in zip((LINE, LINE_BIAS, PACE, PACE_BIAS), interval_estimates(found), strict=True):
        expected = quantiles(putters[:, at], weights)
        assert is_near(each, np.exp(expected) if at in (LINE, PACE) else expected, 0.05)


def test_a_box_too_small_would_be_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "NEGLIGIBLE", 0.3)
    monkeypatch.setattr(module, "REACH_SD", 1.0)
    putters, weights = weighted_putters(SOME["leaves"])
    assert not is_near(compute_posterior(SOME["leaves"]).line_deg, np.exp(quantiles(putters[:, LINE], weights)), 0.05)


@pytest.mark.parametrize("mean, spread", [(0.0, 1.0), (2.0, 0.1)])
def test_an_estimate_of_a_bell_is_that_of_the_bell(mean: float, spread: float) -> None:
    places = np.linspace(mean - 4.5 * spread, mean + 4.5 * spread, 11)
    found = summarise_marginal(places, norm.pdf(places, mean, spread))
    expected = norm.ppf([0.025, 0.5, 0.975], mean, spread)
    assert [found.low, found.middle, found.high] == pytest.approx(expected, abs=0.005 * spread)


# --- Draws --------------------------------------------------------------------------------------


def test_draws_are_the_posterior_and_always_the_same() -> None:
    rng = np.random.default_rng(5)
    observations = all_noted(60)(rng, draw_putter(rng))
    one, other = compute_posterior(observations), compute_posterior(observations)
    assert one.draws.shape == (module.DRAWS, 4)
    assert (one.draws == other.draws).all()
    for at, each in ((LINE_BIAS, one.line_bias_deg), (PACE_BIAS, one.pace_bias)):
        assert np.median(one.draws[:, at]) == pytest.approx(each.middle, abs=0.2 * (each.high - each.low))
        assert np.std(one.draws[:, at]) == pytest.approx((each.high - each.low) / 3.92, rel=0.2)


# --- At the edges -------------------------------------------------------------------------------


@pytest.mark.parametrize("observations", EXTREMES.values(), ids=EXTREMES)
def test_extremes_have_finite_estimates(observations: list[Observation]) -> None:
    found = compute_posterior(observations)
    for each in interval_estimates(found):
        assert np.isfinite([each.low, each.middle, each.high]).all()
        assert each.low < each.middle < each.high
    assert np.isfinite(found.draws).all()


@pytest.mark.parametrize("which", ["all holed", "none holed"])
def test_all_or_none_holed_says_little(which: str) -> None:
    """Over a factor of two from end to end in both errors."""
    found = compute_posterior(EXTREMES[which])
    assert found.line_deg.high > 2 * found.line_deg.low
    assert found.pace.high > 2 * found.pace.low


def test_what_is_not_identifiable_keeps_its_prior() -> None:
    found = compute_posterior([Gated(1, 0.1, 12, 6, 2)])
    assert found.identifiable.tolist() == [True, True, False, False]
    expected = np.exp(norm.ppf(PARTS, PRIOR_MEAN[PACE], PRIOR_SD[PACE]))
    assert is_near(found.pace, expected, 0.02)


def test_ten_times_as_many_balls_say_more() -> None:
    few, many = (
        compute_posterior([Counted(d, 10 * n, 4 * n, n, 3 * n, 3 * n) for d in (1.5, 3.0, 5.0)]) for n in (1, 10)
    )
    for one, other in zip(interval_estimates(few), interval_estimates(many), strict=True):
        assert other.high - other.low < 0.6 * (one.high - one.low)


def test_a_mirror_turns_the_bias_and_nothing_else() -> None:
    one = compute_posterior([Counted(2, 20, 10, 3, 7, 3), Gated(1, 0.1, 12, 6, 2)])
    other = compute_posterior([Counted(2, 20, 10, 3, 3, 7), Gated(1, 0.1, 12, 2, 6)])
    assert other.line_bias_deg.low == pytest.approx(-one.line_bias_deg.high, abs=0.02)
    assert other.line_deg.middle == pytest.approx(one.line_deg.middle, rel=0.01)
    assert other.pace.middle == pytest.approx(one.pace.middle, rel=0.01)


def test_a_push_is_a_push() -> None:
    found = compute_posterior([Gated(1, 0.06, 5, 25, 0), Leaves(6, (2.7,) * 10 + (1.8,) * 10, 0.9, hole=False)])
    assert found.line_bias_deg.low > 0 and found.pace_bias.low > 0


def test_no_records_say_nothing() -> None:
    for nothing in ([], [Counted(2, 0, 0)]):
        with pytest.raises(ValueError):
            compute_posterior(nothing)


def test_a_spike_far_away_is_none() -> None:
    """Every chance is at most one, wherever the grid lies: a chance over nothing must not grow without end."""
    rng = np.random.default_rng(8)
    for test in (all_noted(60), short_noted(60), leaves_and_gate):
        likelihood = Likelihood(test(rng, draw_putter(rng)))
        wild = rng.normal(PRIOR_MEAN, 3.5 * PRIOR_SD, (60, 4))
        assert (likelihood.grid_log_likelihood(wild, wild) <= 1e-9).all()
        assert (likelihood.probabilities(wild)[0] <= 1 + 1e-12).all()
