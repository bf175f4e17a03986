"""Whether the model describes some putts, and whether they tell start line and pace apart."""

import numpy as np
import pytest
from scipy.special import xlogy
from scipy.stats import chi2

from drills.putting import model_checks as doubts
from drills.putting.calibration import Test, all_noted, leaves_and_gate, putter, short_noted
from drills.putting.fit import fit
from drills.putting.model_checks import cells_of, correlation, fits, tells_apart
from drills.putting.observations import Counted, Gated, Leaves, Record
from drills.putting.posterior import posterior

TESTS = {"leaves and gate": leaves_and_gate, "all noted": all_noted(120), "short noted": short_noted(60)}


def chance(records: list[Record]) -> float:
    return fits(records, fit(records).theta)


# --- Does the model describe them ---------------------------------------------------------------


@pytest.mark.parametrize("test", TESTS.values(), ids=TESTS)
def test_putters_of_the_model_are_seldom_doubted(test: Test) -> None:
    """Of 150, one in twenty is to lie at or under 5 %, and one in five under 20 %: within four standard errors."""
    rng = np.random.default_rng(6)
    found = np.array([chance(test(rng, putter(rng))) for _ in range(150)])
    for share in (0.05, 0.2):
        assert np.mean(found <= share) == pytest.approx(share, abs=4 * (share * (1 - share) / 150) ** 0.5)
    assert found.max() > 0.8


STRANGE: dict[str, list[Record]] = {
    "as good from far away": [Counted(d, 20, 10) for d in (1.0, 2.0, 4.0, 8.0)],
    "leaves in two heaps": [Leaves(6, (-2.7,) * 10 + (2.7,) * 10, 0.9)],
    "two balls in three to the left, then to the right": [
        Gated(1, 0.1, 0, 20, 0),
        Gated(1, 0.12, 0, 0, 20),
        Gated(1, 0.08, 20),
    ],
    "misses push near the hole and pull far away": [Counted(1.5, 40, 20, 5, 20, 0), Counted(4.0, 40, 10, 8, 0, 30)],
}


@pytest.mark.parametrize("records", STRANGE.values(), ids=STRANGE)
def test_what_no_putter_of_the_model_does_is_doubted(records: list[Record]) -> None:
    assert chance(records) < 0.02


@pytest.mark.parametrize("seed", range(8))
def test_of_very_many_balls_it_is_that_of_chi_square(seed: int) -> None:
    """Wilks (1938): twelve cells that are free, less start line, pace and its bias, leave nine degrees of freedom."""
    rng = np.random.default_rng(seed)
    records = short_noted(60_000)(rng, np.array([np.log(1.5), 0.0, np.log(0.12), 0.0]))
    theta = fit(records).theta
    expected = [10_000 * cells.chances[0] for cells in cells_of(records, theta[None])]
    counts = [np.array([r.holed, r.short, r.missed - r.short]) for r in records]
    deviance = 2 * sum(xlogy(n, n / e).sum() for n, e in zip(counts, expected, strict=True))
    assert fits(records, theta) == pytest.approx(chi2.sf(deviance, 9), abs=0.12)


def test_chances_of_cells_add_up_to_one() -> None:
    rng = np.random.default_rng(1)
    for _ in range(50):
        theta = putter(rng)
        records = [*all_noted(30)(rng, theta), *leaves_and_gate(rng, theta), Leaves(5, (0.5, 1.0), 0.5, hole=False)]
        records += [Counted(2.5, 9, 4), Gated(1.2, 0.1, 5, 1, 1, 2)]
        for cells in cells_of(records, np.array([putter(rng) for _ in range(3)])):
            assert cells.chances.sum(axis=1) == pytest.approx(1)
            assert cells.counts.shape == cells.chances.shape[1:]


def test_cells_count_every_ball_once() -> None:
    records = [Counted(2, 20, 10, 4, 3, 3), Gated(1, 0.1, 5, 2, 1), Leaves(6, (-0.9, 0.0, 0.9, 60.0), 0.9, 2)]
    counts = [cells.counts.sum() for cells in cells_of(records, np.array([[0.5, 0, -2.0, 0]]))]
    assert counts == [20, 6, 8, 6]


def test_the_same_balls_are_doubted_alike() -> None:
    records = STRANGE["leaves in two heaps"]
    assert chance(records) == chance(records)


def test_no_balls_are_not_described() -> None:
    with pytest.raises(ValueError):
        fits([Counted(2, 0, 0)], np.zeros(4))


LITTLE = ([Counted(2, 1, 1)], [Counted(1, 20, 20)], [Counted(60, 20, 0)], [Gated(1, 0.1, 9)])


@pytest.mark.parametrize("records", LITTLE)
def test_next_to_nothing_is_not_doubted(records: list[Record]) -> None:
    assert chance(records) > 0.2


# --- Start line and pace, apart -----------------------------------------------------------------


def test_many_putts_with_all_noted_tell_them_apart() -> None:
    rng = np.random.default_rng(2)
    apart = [tells_apart(posterior(all_noted(240)(rng, putter(rng)))) for _ in range(20)]
    assert sum(apart) >= 18


def test_a_few_makes_do_not() -> None:
    assert not tells_apart(posterior([Counted(2, 10, 5)]))
    assert not tells_apart(posterior([Counted(1, 8, 7), Counted(2, 8, 4), Counted(4, 8, 1)]))


def test_leaves_and_a_gate_tell_them_apart() -> None:
    rng = np.random.default_rng(3)
    apart = [tells_apart(posterior(leaves_and_gate(rng, putter(rng)))) for _ in range(20)]
    assert sum(apart) >= 18


def test_what_stands_alone_is_apart() -> None:
    assert tells_apart(posterior([Gated(1, 0.1, 3, 1)]))
    assert tells_apart(posterior([Leaves(6, (0.9, -0.9), 0.9, hole=False)]))


def test_strongly_tied_is_not_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(2)
    found = posterior(all_noted(240)(rng, putter(rng)))
    assert tells_apart(found)
    monkeypatch.setattr(doubts, "TIED", abs(correlation(found)) / 2)
    assert not tells_apart(found)


def test_the_tie_is_that_of_the_draws() -> None:
    found = posterior([Counted(d, 60, h, s) for d, h, s in ((1.5, 40, 2), (3, 20, 8), (6, 6, 15))])
    drawn = np.corrcoef(found.draws[:, 0], found.draws[:, 2])[0, 1]
    assert correlation(found) == pytest.approx(drawn, abs=0.15)
    assert correlation(found) < -0.1
