"""A trend's statistic and its chance, against a published example, brute force, and scipy.

US EPA (2009), Statistical Analysis of Groundwater Monitoring Data at RCRA Facilities, Unified Guidance, EPA
530/R-09-007, example 17-6: sulfate in 23 samples. z and p as EnvStats prints them for it; S and its variance were
recomputed from the data.
"""

from collections import Counter, defaultdict
from collections.abc import Callable
from functools import cache
from itertools import combinations, product
from math import comb

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import kendalltau, norm, permutation_test

from lessons.progress.points import Level
from lessons.progress.trend import (
    EXACT_UP_TO,
    Kendall,
    better_than,
    degree_trend,
    divide_by_gap,
    gaussian_binomial,
    mann_kendall,
    multiply,
    multiply_by_gap,
    tail_probability,
    worse_than,
)
from tests.test_intervals import Function, near, off, table, thousand

SULFATE = [float(row["sulfate_ppm"]) for row in table("mann_kendall_sulfate.csv")]
LEVELS: tuple[Level, ...] = ("0", "1", "2", "any")
# Of two levels, whether the later is worse (1), better (-1) or neither: what was not said compares with good only.
WORSE = np.array([[0, 1, 1, 1], [-1, 0, 1, 0], [-1, -1, 0, 0], [-1, 0, 0, 0]])

# --- The published example ----------------------------------------------------------------------

PUBLISHED: list[tuple[Callable[[Kendall], float], str]] = [
    (lambda found: found.s, "194"),
    (lambda found: found.variance, "1428"),
    (lambda found: found.z, "5.107322"),
    (lambda found: found.p, "3.267574e-07"),
]


@pytest.mark.parametrize("part, printed", PUBLISHED)
def test_it_gives_what_is_printed(part: Function, printed: str) -> None:
    near(part(mann_kendall(SULFATE)), printed)


@pytest.mark.parametrize("part, printed", PUBLISHED)
def test_one_percent_off_would_be_seen(part: Function, printed: str) -> None:
    with pytest.raises(AssertionError, match="is not"):
        near(off(part)(mann_kendall(SULFATE)), printed)


# --- Numbers, at random -------------------------------------------------------------------------

some = st.lists(st.integers(0, 9), min_size=3, max_size=40)  # scipy's variance divides by n - 2
many = st.lists(st.integers(0, 9), min_size=EXACT_UP_TO + 1, max_size=60)


def tie_variance(values: list[int]) -> float:
    """As the Unified Guidance, 17.3.2, writes it."""
    n, ties = len(values), Counter(values).values()
    return (n * (n - 1) * (2 * n + 5) - sum(t * (t - 1) * (2 * t + 5) for t in ties)) / 18


@given(some)
@thousand
def test_s_and_its_variance_at_random(values: list[int]) -> None:
    """scipy's tau-b is S over the pairs without ties; its asymptotic p is that of S without the one step towards 0."""
    found = mann_kendall(values)
    assert found.variance == pytest.approx(tie_variance(values), rel=1e-9)
    assume(len(set(values)) > 1)
    judged = kendalltau(range(len(values)), values, method="asymptotic")
    n, tied = comb(len(values), 2), sum(comb(t, 2) for t in Counter(values).values())
    assert found.s == pytest.approx(judged.statistic * (n * (n - tied)) ** 0.5, abs=1e-6)
    assert judged.pvalue == pytest.approx(2 * norm.sf(abs(found.s) / found.variance**0.5), rel=1e-6)


@given(many)
@thousand
def test_the_normal_of_many_at_random(values: list[int]) -> None:
    found, variance = mann_kendall(values), tie_variance(values)
    step = np.sign(found.s)
    assert found.z == pytest.approx((found.s - step) / variance**0.5 if found.s else 0.0, abs=1e-12)
    assert found.p == pytest.approx(2 * norm.sf(abs(found.z)), rel=1e-9)


@given(st.integers(2, EXACT_UP_TO).flatmap(lambda n: st.permutations(range(n))))
@thousand
def test_the_exact_chance_without_ties_at_random(values: list[int]) -> None:
    assert mann_kendall(values).p == pytest.approx(kendalltau(range(len(values)), values, method="exact").pvalue)


# --- Degrees: every history of up to seven looks ------------------------------------------------


def s_of(levels: tuple[int, ...]) -> int:
    """Pair by pair."""
    return sum(int(WORSE[earlier, later]) for earlier, later in combinations(levels, 2))


@cache
def every_order(looks: int) -> dict[tuple[int, ...], Counter[int]]:
    """For the same looks in all their orders, how many have which S."""
    found: dict[tuple[int, ...], Counter[int]] = defaultdict(Counter)
    for levels in product(range(4), repeat=looks):
        found[tuple(sorted(levels))][s_of(levels)] += 1
    return found


def counted_p(ways: Counter[int], s: int) -> float:
    return sum(number for other, number in ways.items() if abs(other) >= abs(s)) / sum(ways.values())


def check_all_orders(looks: int, p: Function) -> None:
    for levels in product(range(4), repeat=looks):
        ways = every_order(looks)[tuple(sorted(levels))]
        found = degree_trend([LEVELS[level] for level in levels])
        assert found.s == s_of(levels)
        assert p(found) == pytest.approx(counted_p(ways, found.s), rel=1e-12)


@pytest.mark.parametrize("looks", range(8))
def test_the_chance_is_that_of_all_orders_counted(looks: int) -> None:
    check_all_orders(looks, lambda found: found.p)


def test_a_chance_one_percent_off_would_be_seen() -> None:
    with pytest.raises(AssertionError):
        check_all_orders(4, off(lambda found: found.p))


@pytest.mark.parametrize("looks", range(8))
def test_the_variance_and_the_least_chance_are_those_of_all_orders(looks: int) -> None:
    for levels, ways in every_order(looks).items():
        found = degree_trend([LEVELS[level] for level in levels])
        squares = sum(number * s * s for s, number in ways.items()) / sum(ways.values())
        assert found.variance == pytest.approx(squares)
        assert found.smallest_p == pytest.approx(min(counted_p(ways, s) for s in ways))


def test_six_sound_looks_after_a_marked_one_are_two_of_seven_orders() -> None:
    assert degree_trend(["2", *["0"] * 6]).p == pytest.approx(2 / 7, rel=1e-12)


def statistic(codes: np.ndarray, axis: int = -1) -> np.ndarray:
    codes = np.moveaxis(np.asarray(codes), axis, -1).astype(int)
    pairs = WORSE[codes[..., :, None], codes[..., None, :]]
    return np.triu(pairs, 1).sum(axis=(-2, -1))


@pytest.mark.parametrize("letters", ["2a21201a0100", "0102010210210", "2a2a1212102101200a00"])
def test_the_chance_of_longer_histories_is_that_of_drawn_orders(letters: str) -> None:
    """20,000 orders drawn by scipy: within four standard errors."""
    codes = np.array(["012a".index(letter) for letter in letters])
    drawn = permutation_test(
        (codes,), statistic, permutation_type="pairings", vectorized=True, n_resamples=20_000, batch=2_000, rng=7
    )
    found = degree_trend([LEVELS[code] for code in codes])
    assert found.s == drawn.statistic
    assert found.p == pytest.approx(drawn.pvalue, abs=4 * (found.p * (1 - found.p) / 20_000) ** 0.5)


histories = st.lists(st.sampled_from(LEVELS), max_size=40)


@given(histories)
@thousand
def test_backwards_a_trend_turns_round(levels: list[Level]) -> None:
    one, other = degree_trend(levels), degree_trend(levels[::-1])
    assert (one.s, one.z) == (-other.s, -other.z)
    assert one.p == pytest.approx(other.p)
    assert one.smallest_p <= one.p + 1e-12 and 0 < one.p <= 1


@given(st.lists(st.sampled_from(("0", "1", "2")), max_size=40))
@thousand
def test_said_degrees_are_numbers(levels: list[Level]) -> None:
    """Where every degree was said, it is the trend of 0, 1 and 2."""
    found, numbers = degree_trend(levels), mann_kendall([int(level) for level in levels])
    assert (found.s, found.looks) == (numbers.s, numbers.looks)
    assert found.variance == pytest.approx(numbers.variance)
    assert found.p == pytest.approx(numbers.p)


@given(histories, st.sampled_from(LEVELS))
@thousand
def test_what_a_look_is_worse_and_better_than(so_far: list[Level], level: Level) -> None:
    steps = [int(WORSE[LEVELS.index(earlier), LEVELS.index(level)]) for earlier in so_far]
    assert worse_than(level, Counter(so_far)) == steps.count(1)
    assert better_than(level, Counter(so_far)) == steps.count(-1)


def test_a_look_where_nobody_looked_is_refused() -> None:
    with pytest.raises(ValueError):
        degree_trend(["0", "none", "1"])


def test_nothing_to_compare_is_no_trend() -> None:
    for levels in ([], ["2"], ["0"] * 9, ["any"] * 30, ["any", "any", "1"]):
        found = degree_trend(levels)
        assert (found.s, found.z, found.p, found.smallest_p) == (0, 0, 1, 1)


# --- Orders, counted ----------------------------------------------------------------------------

small = st.integers(0, 6)
polynomial = st.lists(st.integers(-9, 9), min_size=1, max_size=12)


def counted_orders(one: int, other: int) -> list[int]:
    """Put the first group on every choice of places, and count the pairs where the other comes before."""
    ways = [0] * (one * other + 1)
    for places in combinations(range(one + other), one):
        ways[sum(place - rank for rank, place in enumerate(places))] += 1
    return ways


@given(small, small)
@thousand
def test_orders_are_counted(one: int, other: int) -> None:
    assert gaussian_binomial(one, other) == counted_orders(one, other)


@given(st.integers(0, 30), st.integers(0, 30))
@thousand
def test_orders_are_all_ways_to_choose_places(one: int, other: int) -> None:
    ways = gaussian_binomial(one, other)
    assert sum(ways) == comb(one + other, one)
    assert ways == ways[::-1] == gaussian_binomial(other, one)


@given(st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4)), max_size=3), st.integers(0, 20))
@thousand
def test_a_tail_is_counted(splits: list[tuple[int, int]], least: int) -> None:
    ways: dict[int, int] = {0: 1}
    for one, other in splits:
        longer: Counter[int] = Counter()
        for (s, number), (place, more) in product(ways.items(), enumerate(counted_orders(one, other))):
            longer[s + one * other - 2 * place] += number * more
        ways = longer
    expected = sum(number for s, number in ways.items() if abs(s) >= least) / sum(ways.values())
    assert tail_probability(tuple(splits), least) == pytest.approx(expected, rel=1e-12)


@given(polynomial, polynomial)
@thousand
def test_multiplying_is_numpys(one: list[int], other: list[int]) -> None:
    assert multiply(one, other) == list(np.convolve(one, other))


@given(polynomial, st.integers(1, 8))
@thousand
def test_multiplying_and_dividing_by_a_gap_undo_each_other(ways: list[int], step: int) -> None:
    gap = [1, *[0] * (step - 1), -1]
    assert multiply_by_gap(ways, step) == list(np.convolve(ways, gap))
    assert divide_by_gap(multiply_by_gap(ways, step), step) == ways
