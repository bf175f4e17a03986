"""Whether the model describes some putts, and whether they tell start line and pace apart."""

import numpy as np
import pytest
from scipy.special import xlogy
from scipy.stats import chi2

from drills.putting import model_checks
from drills.putting.calibration import Test, all_noted, draw_putter, leaves_and_gate, short_noted
from drills.putting.fit import fit
from drills.putting.model_checks import cells_of, correlation, is_separable, model_fit_p_value
from drills.putting.observations import Counted, Gated, Leaves, Observation
from drills.putting.posterior import compute_posterior

TESTS = {"leaves and gate": leaves_and_gate, "all noted": all_noted(120), "short noted": short_noted(60)}


def p_value(observations: list[Observation]) -> float:
    return model_fit_p_value(observations, fit(observations).theta)


# --- Does the model describe them ---------------------------------------------------------------


@pytest.mark.parametrize("test", TESTS.values(), ids=TESTS)
def test_putters_of_the_model_seldom_fail_the_check(test: Test) -> None:
    """Of 150, one in twenty is to lie at or under 5 %, and one in five under 20 %: within four standard errors."""
    rng = np.random.default_rng(6)
    found = np.array([p_value(test(rng, draw_putter(rng))) for _ in range(150)])
    for share in (0.05, 0.2):
        assert np.mean(found <= share) == pytest.approx(share, abs=4 * (share * (1 - share) / 150) ** 0.5)
    assert found.max() > 0.8


STRANGE: dict[str, list[Observation]] = {
    "as good from far away": [Counted(d, 20, 10) for d in (1.0, 2.0, 4.0, 8.0)],
    "leaves in two heaps": [Leaves(6, (-2.7,) * 10 + (2.7,) * 10, 0.9)],
    "two balls in three to the left, then to the right": [
        Gated(1, 0.1, 0, 20, 0),
        Gated(1, 0.12, 0, 0, 20),
        Gated(1, 0.08, 20),
    ],
    "misses push near the hole and pull far away": [Counted(1.5, 40, 20, 5, 20, 0), Counted(4.0, 40, 10, 8, 0, 30)],
}


@pytest.mark.parametrize("observations", STRANGE.values(), ids=STRANGE)
def test_what_no_putter_of_the_model_does_fails_the_check(observations: list[Observation]) -> None:
    assert p_value(observations) < 0.02


@pytest.mark.parametrize("seed", range(8))
def test_of_very_many_balls_it_is_that_of_chi_square(seed: int) -> None:
    """Wilks (1938): twelve cells that are free, less start line, pace and its bias, leave nine degrees of freedom."""
    rng = np.random.default_rng(seed)
    observations = short_noted(60_000)(rng, np.array([np.log(1.5), 0.0, np.log(0.12), 0.0]))
    theta = fit(observations).theta
    expected = [10_000 * cells.probabilities[0] for cells in cells_of(observations, theta[None])]
    counts = [np.array([r.holed, r.short, r.missed - r.short]) for r in observations]
    deviance = 2 * sum(xlogy(n, n / e).sum() for n, e in zip(counts, expected, strict=True))
    assert model_fit_p_value(observations, theta) == pytest.approx(chi2.sf(deviance, 9), abs=0.12)


def test_chances_of_cells_add_up_to_one() -> None:
    rng = np.random.default_rng(1)
    for _ in range(50):
        theta = draw_putter(rng)
        observations = [
            *all_noted(30)(rng, theta),
            *leaves_and_gate(rng, theta),
            Leaves(5, (0.5, 1.0), 0.5, hole=False),
        ]
        observations += [Counted(2.5, 9, 4), Gated(1.2, 0.1, 5, 1, 1, 2)]
        for cells in cells_of(observations, np.array([draw_putter(rng) for _ in range(3)])):
            assert cells.probabilities.sum(axis=1) == pytest.approx(1)
            assert cells.counts.shape == cells.probabilities.shape[1:]


def test_cells_count_every_ball_once() -> None:
    observations = [Counted(2, 20, 10, 4, 3, 3), Gated(1, 0.1, 5, 2, 1), Leaves(6, (-0.9, 0.0, 0.9, 60.0), 0.9, 2)]
    counts = [cells.counts.sum() for cells in cells_of(observations, np.array([[0.5, 0, -2.0, 0]]))]
    assert counts == [20, 6, 8, 6]


def test_the_same_balls_have_the_same_p_value() -> None:
    observations = STRANGE["leaves in two heaps"]
    assert p_value(observations) == p_value(observations)


def test_no_balls_are_not_described() -> None:
    with pytest.raises(ValueError):
        model_fit_p_value([Counted(2, 0, 0)], np.zeros(4))


LITTLE = ([Counted(2, 1, 1)], [Counted(1, 20, 20)], [Counted(60, 20, 0)], [Gated(1, 0.1, 9)])


@pytest.mark.parametrize("observations", LITTLE)
def test_next_to_nothing_passes_the_check(observations: list[Observation]) -> None:
    assert p_value(observations) > 0.2


# --- Start line and pace, apart -----------------------------------------------------------------


def test_many_putts_with_all_noted_tell_them_apart() -> None:
    rng = np.random.default_rng(2)
    apart = [is_separable(compute_posterior(all_noted(240)(rng, draw_putter(rng)))) for _ in range(20)]
    assert sum(apart) >= 18


def test_a_few_makes_do_not() -> None:
    assert not is_separable(compute_posterior([Counted(2, 10, 5)]))
    assert not is_separable(compute_posterior([Counted(1, 8, 7), Counted(2, 8, 4), Counted(4, 8, 1)]))


def test_leaves_and_a_gate_tell_them_apart() -> None:
    rng = np.random.default_rng(3)
    apart = [is_separable(compute_posterior(leaves_and_gate(rng, draw_putter(rng)))) for _ in range(20)]
    assert sum(apart) >= 18


def test_what_stands_alone_is_apart() -> None:
    assert is_separable(compute_posterior([Gated(1, 0.1, 3, 1)]))
    assert is_separable(compute_posterior([Leaves(6, (0.9, -0.9), 0.9, hole=False)]))


def test_strongly_correlated_is_not_separable(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(2)
    found = compute_posterior(all_noted(240)(rng, draw_putter(rng)))
    assert is_separable(found)
    monkeypatch.setattr(model_checks, "MAX_CORRELATION", abs(correlation(found)) / 2)
    assert not is_separable(found)


def test_the_correlation_is_that_of_the_draws() -> None:
    found = compute_posterior([Counted(d, 60, h, s) for d, h, s in ((1.5, 40, 2), (3, 20, 8), (6, 6, 15))])
    drawn = np.corrcoef(found.draws[:, 0], found.draws[:, 2])[0, 1]
    assert correlation(found) == pytest.approx(drawn, abs=0.15)
    assert correlation(found) < -0.1
