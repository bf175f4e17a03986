"""The likeliest putter against scipy's search from the same starts, and on published data.

Data: Broadie (2018), 31 bins of tour putts (tests/reference/putting_large.csv). Where a plain binomial likelihood has
its top was worked out with scipy: 0.76136 degrees and 0.13725.
"""

from math import log
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import OptimizeResult, minimize

from coachbook.demo.baselines import putting as baselines
from drills.putting import fit as fitting
from drills.putting.calibration import Test, all_noted, draw_putter, leaves_and_gate, short_noted
from drills.putting.fit import STARTS, fit
from drills.putting.model import LINE, LINE_BIAS, PACE, PACE_BIAS, Likelihood, holed
from drills.putting.observations import Counted, Gated, Leaves, Observation

FOOT_M = 0.3048
LARGE = Path(__file__).parent / "reference" / "putting_large.csv"
TESTS = {"leaves and gate": leaves_and_gate, "all noted": all_noted(60), "short noted": short_noted(120)}


def tour() -> list[Observation]:
    rows = np.loadtxt(LARGE, delimiter=",", skiprows=1)
    return [Counted(feet * FOOT_M, int(tries), int(makes)) for feet, tries, makes in rows]


def start(line_deg: float, pace: float) -> np.ndarray:
    return np.array([[log(line_deg), 0.0, log(pace), 0.0]])


# --- The top of the published data ---------------------------------------------------------------

SLIP = (1.0491, 0.07456)


@pytest.mark.parametrize("line, pace", [(0.76136, 0.13725), SLIP, (1.02, 0.08), (2.5, 0.3)])
def test_every_start_ends_on_the_top(line: float, pace: float) -> None:
    found = fit(tour(), start(line, pace)).theta
    assert np.exp(found[LINE]) == pytest.approx(0.76136, abs=1e-5)
    assert np.exp(found[PACE]) == pytest.approx(0.13725, abs=1e-5)


def test_the_three_starts_end_on_the_top() -> None:
    found = fit(tour()).theta
    assert np.exp(found[[LINE, PACE]]) == pytest.approx([0.76136, 0.13725], abs=1e-5)


def test_another_top_comes_of_rounding_alone() -> None:
    """Where the chance to hole from 0.28 ft is rounded to one, 15 misses from there can no longer push a search on."""
    feet, tries, makes = np.loadtxt(LARGE, delimiter=",", skiprows=1).T

    def unlikely(logs: np.ndarray) -> float:
        p = np.clip(holed(np.array([[logs[0], 0.0, logs[1], 0.0]]), feet * FOOT_M)[0], 0, 1 - 1e-15)
        return -(makes * np.log(p) + (tries - makes) * np.log1p(-p)).sum()

    found = minimize(unlikely, np.log(SLIP), method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-6})
    assert np.exp(found.x) == pytest.approx(SLIP, rel=2e-4)
    assert -found.fun < fit(tour()).log_likelihood - 100
    uphill = Likelihood(tour()).log_likelihood(start(*SLIP))[1 + PACE, 0]
    assert uphill > 1000


# --- Against scipy ------------------------------------------------------------------------------


def searched(likelihood: Likelihood) -> OptimizeResult:
    """The best that scipy finds from the same starts, with slopes by differences, of the parameters that are free."""
    free = likelihood.identifiable

    def unlikely(some: np.ndarray, first: np.ndarray) -> float:
        theta = first.copy()
        theta[free] = some
        return -likelihood.log_likelihood(theta[None])[0, 0]

    found = [minimize(unlikely, each[free], args=(each,), method="BFGS") for each in STARTS]
    return min(found, key=lambda one: one.fun)


def is_inside(theta: np.ndarray, free: np.ndarray) -> bool:
    return bool(((fitting.LOWER[free] < theta) & (theta < fitting.UPPER[free])).all())


@pytest.mark.parametrize("test", TESTS.values(), ids=TESTS)
def test_no_search_finds_a_likelier_putter(test: Test) -> None:
    """Thirty students, of whom those count whose likeliest putter lies within reason."""
    rng, inside = np.random.default_rng(1), 0
    for _ in range(30):
        observations = test(rng, draw_putter(rng))
        likelihood = Likelihood(observations)
        best = searched(likelihood)
        if is_inside(best.x, likelihood.identifiable):
            inside += 1
            assert fit(observations).log_likelihood >= -best.fun - 1e-6
    assert inside >= 15


def test_three_climbs_at_once_are_as_good_as_the_best_of_them() -> None:
    """Some students have several tops; a climb that ends early must not stop those that would end higher."""
    rng, several = np.random.default_rng(12), 0
    for test in (short_noted(30), short_noted(120), all_noted(30), leaves_and_gate) * 60:
        observations = test(rng, draw_putter(rng))
        alone = [fit(observations, first[None]).log_likelihood for first in STARTS]
        several += max(alone) - min(alone) > 0.01
        assert fit(observations).log_likelihood >= max(alone) - 1e-6
    assert several >= 3


def test_one_step_alone_would_be_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fitting, "MAX_ITERATIONS", 1)
    rng = np.random.default_rng(1)
    observations = all_noted(60)(rng, draw_putter(rng))
    assert fit(observations).log_likelihood < -searched(Likelihood(observations)).fun - 1e-6


def test_the_baseline_is_the_same_likelihood_written_down_again() -> None:
    rng = np.random.default_rng(2)
    for student in baselines.students():
        likelihood, theta = Likelihood(student.observations), draw_putter(rng)
        assert student.log_likelihood(theta) == pytest.approx(likelihood.log_likelihood(theta[None])[0, 0], rel=1e-9)


def test_the_yardsticks_agree_on_the_best() -> None:
    for pair in (baselines.fit_pair(), baselines.plain_fit_pair(), baselines.posterior_pair()):
        assert pair.same(pair.ours(), pair.baseline())


# --- What observations cannot tell -------------------------------------------------------------------


def test_what_is_not_identifiable_stays_as_it_was() -> None:
    first = start(2.0, 0.2)
    gate = fit([Gated(1, 0.1, 10, 6, 4)], first).theta
    assert gate[[PACE, PACE_BIAS]] == pytest.approx(first[0, [PACE, PACE_BIAS]])
    line = fit([Leaves(5, (-1.0, 0.0, 0.5, 1.5), 0.5, hole=False)], first).theta
    assert line[[LINE, LINE_BIAS]] == pytest.approx(first[0, [LINE, LINE_BIAS]])
    makes = fit([Counted(1, 10, 8), Counted(4, 10, 2)], first).theta
    assert makes[[LINE_BIAS, PACE_BIAS]] == pytest.approx([0, 0])


def test_identifiable_is_what_was_noted() -> None:
    for observations, expected in (
        ([Gated(1, 0.1, 10, beside=5)], [True, False, False, False]),
        ([Gated(1, 0.1, 10, push=5)], [True, True, False, False]),
        ([Leaves(5, (0.5,), 0.5, hole=False)], [False, False, True, True]),
        ([Leaves(5, (0.5,), 0.5)], [True, False, True, True]),
        ([Counted(2, 10, 5)], [True, False, True, False]),
        ([Counted(2, 10, 5, short=1)], [True, False, True, True]),
        ([Counted(2, 10, 5, push=1)], [True, True, True, False]),
    ):
        assert Likelihood(observations).identifiable.tolist() == expected


# --- At the edge --------------------------------------------------------------------------------

EXTREMES: dict[str, list[Observation]] = {
    "all holed": [Counted(1, 10, 10), Counted(2, 10, 10), Counted(3, 10, 10)],
    "none holed": [Counted(1, 10, 0), Counted(2, 10, 0)],
    "none holed, all short": [Counted(1, 10, 0, 10, 5, 5), Counted(2, 10, 0, 10, 10, 0)],
    "one distance": [Counted(2, 10, 5, 2, 2, 1)],
    "one ball": [Counted(2, 1, 1)],
    "far away": [Counted(60, 10, 0, 5, 3, 2)],
    "all through": [Gated(1, 0.1, 20)],
    "none through": [Gated(1, 0.05, 0, 20)],
    "all leaves alike": [Leaves(6, (0.0,) * 20, 0.9)],
    "wild leaves": [Leaves(6, (-6.0, 20.0, 3.0), 0.9)],
    "more than life": [Counted(2, 10_000, 10_000, 0, 0, 0), Counted(5, 10_000, 0, 10_000, 10_000, 0)],
}


@pytest.mark.parametrize("observations", EXTREMES.values(), ids=EXTREMES)
def test_extremes_end_within_reason(observations: list[Observation]) -> None:
    found = fit(observations)
    assert np.isfinite(found.theta).all() and np.isfinite(found.information).all() and np.isfinite(found.log_likelihood)
    assert (found.theta >= fitting.LOWER).all() and (found.theta <= fitting.UPPER).all()


def test_nothing_has_no_fit() -> None:
    for nothing in ([], [Counted(2, 0, 0)]):
        with pytest.raises(ValueError):
            fit(nothing)
