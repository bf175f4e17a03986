"""Intervals and limits give what is printed elsewhere, and what statsmodels computes.

Newcombe's tables: Newcombe (1998), Stat. Med. 17, 857-872, Table I, and 17, 873-890, Table II, as three public test
suites quote them. Paired: Bentur et al. (2009) and Cavo et al. (2012) in Fagerland, Lydersen & Laake (2017),
Statistical Analysis of Contingency Tables, chapter 8, as printed in ocbe-uio/contingencytables@0620918a,
reference/Newcombe_square_and_add_CI_paired_2x2.html; Altman et al. (2000), Statistics with Confidence, Table 6.2, in
the R package biostatUZH, its limits in a public test suite that names it. Chart: NIST/SEMATECH e-Handbook, 6.3.3.2;
its limits as in Montgomery's textbook, which has the same counts.
"""

import csv
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

from lessons.progress.intervals import (
    Interval,
    Limits,
    Pairs,
    Share,
    control_limits,
    difference,
    joined,
    paired_difference,
    spread,
    wilson,
)

Function = Callable[..., Any]
thousand = settings(max_examples=1000, deadline=None)


def table(name: str) -> list[dict[str, str]]:
    """One file of tests/reference."""
    return list(csv.DictReader((Path(__file__).parent / "reference" / name).read_text().splitlines()))


def near(value: float, printed: str) -> None:
    """Equal to what is printed, within half a unit of its last digit."""
    exponent = Decimal(printed).as_tuple().exponent
    assert isinstance(exponent, int)
    assert abs(value - float(printed)) <= 0.5 * 10.0**exponent * (1 + 1e-9), f"{value} is not {printed}"


def off(function: Function) -> Function:
    """The same function, 1 % off."""

    def wrong(*args: Any) -> Any:
        result = function(*args)
        return type(result)(*(1.01 * value for value in result)) if isinstance(result, tuple) else 1.01 * result

    return wrong


def both_near(interval: Interval | Limits, low: str, high: str) -> None:
    near(interval.low, low)
    near(interval.high, high)


# --- Printed values -----------------------------------------------------------------------------


INDEPENDENT = table("newcombe_independent.csv")
WAFERS = [(row["wafer"], Share(int(row["defective"]), int(row["chips"]))) for row in table("nist_pchart.csv")]
MISREGISTERED = sum(share.seen for _, share in WAFERS)


def two_shares(row: dict[str, str]) -> tuple[Share, Share]:
    return Share(int(row["x1"]), int(row["n1"])), Share(int(row["x2"]), int(row["n2"]))


def printed_limits(row: dict[str, str]) -> list[str]:
    """The table prints four decimals; the file leaves out a last 0."""
    return [f"{float(row[key]):.4f}" for key in ("hybrid_score_lo", "hybrid_score_hi")]


SINGLE = [
    (wilson, (Share(int(row["x"]), int(row["n"])),), row["wilson_lo"], row["wilson_hi"])
    for row in table("newcombe_single.csv")
]
QUOTED = [(difference, two_shares(row), *printed_limits(row)) for row in INDEPENDENT if row["status"] == "S"]
PRINTED = [
    *SINGLE,
    (wilson, (Share(5, 10),), "0.24", "0.76"),  # the trade: "5 of 10 is 24-76 %"
    *QUOTED,
    (paired_difference, (Pairs(1, 1, 7, 12),), "-0.5069", "-0.0256"),  # Bentur
    (paired_difference, (Pairs(59, 6, 16, 80),), "-0.1186", "-0.0046"),  # Cavo
    (paired_difference, (Pairs(14, 5, 0, 22),), "0.011", "0.226"),  # Altman
    (control_limits, (MISREGISTERED / 1500, 50), "0.0524", "0.4102"),  # NIST
]


@pytest.mark.parametrize("function, inputs, low, high", PRINTED)
def test_it_gives_what_is_printed(function: Function, inputs: tuple[Any, ...], low: str, high: str) -> None:
    both_near(function(*inputs), low, high)


@pytest.mark.parametrize("function, inputs, low, high", PRINTED)
def test_one_percent_off_would_be_seen(function: Function, inputs: tuple[Any, ...], low: str, high: str) -> None:
    with pytest.raises(AssertionError, match="is not"):
        both_near(off(function)(*inputs), low, high)


def test_which_printed_limits_cannot_show_one_percent() -> None:
    """One is printed as 0, one in whole percents; their other limits show it. All other limits show it themselves."""
    blind = []
    for function, inputs, *limits in PRINTED:
        for value, printed in zip(off(function)(*inputs), limits, strict=True):
            try:
                near(value, printed)
            except AssertionError:
                continue
            blind.append((*inputs, printed))
    assert blind == [(Share(0, 20), "0.0000"), (Share(5, 10), "0.24")]


def test_the_examples_marked_as_quoted_are_there() -> None:
    assert (len(SINGLE), len(QUOTED)) == (4, 3)


def test_the_wafers_beyond_their_limits() -> None:
    """NIST 6.3.3.2: 347 of 1500; the mean is printed as 0.2313, and wafers 15 and 23 are out of control."""
    assert (MISREGISTERED, sum(share.of for _, share in WAFERS)) == (347, 1500)
    near(MISREGISTERED / 1500, "0.2313")
    limits = control_limits(MISREGISTERED / 1500, 50)
    assert [wafer for wafer, share in WAFERS if not limits.hold(share.rate)] == ["15", "23"]


@pytest.mark.parametrize("row", [row for row in INDEPENDENT if row["status"] == "computed"], ids=lambda r: r["example"])
def test_newcombes_other_examples_agree_with_statsmodels(row: dict[str, str]) -> None:
    """Their printed limits were not read."""
    one, other = two_shares(row)
    assert difference(one, other) == pytest.approx(by_statsmodels(one, other), abs=1e-9)


# --- Against statsmodels, at random -------------------------------------------------------------


def by_statsmodels(one: Share, other: Share) -> tuple[float, float]:
    return confint_proportions_2indep(*one, *other, method="newcomb", compare="diff")


def share(most: int = 300) -> st.SearchStrategy[Share]:
    return st.integers(1, most).flatmap(lambda of: st.builds(Share, st.integers(0, of), st.just(of)))


count = st.integers(0, 40)
tables = st.builds(Pairs, count, count, count, count)


@given(share(), st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.99]))
@thousand
def test_wilson_at_random(one: Share, level: float) -> None:
    z = norm.isf((1 - level) / 2)
    assert wilson(one, z) == pytest.approx(proportion_confint(*one, alpha=1 - level, method="wilson"), abs=1e-12)


@given(share())
@thousand
def test_wilson_is_at_95_percent_unless_told_otherwise(one: Share) -> None:
    assert wilson(one) == pytest.approx(proportion_confint(*one, method="wilson"), abs=1e-12)


@given(share(), share())
@thousand
def test_difference_at_random(one: Share, other: Share) -> None:
    assert difference(one, other) == pytest.approx(by_statsmodels(one, other), abs=1e-9)


def columns(pairs: Pairs) -> tuple[list[int], list[int]]:
    """Before and after, pair by pair."""
    before = [1] * (pairs.both + pairs.before) + [0] * (pairs.after + pairs.neither)
    after = [1] * pairs.both + [0] * pairs.before + [1] * pairs.after + [0] * pairs.neither
    return before, after


def drawn_correlation(pairs: Pairs) -> float:
    """Pearson's, by numpy, drawn towards none by half a pair's weight where positive: Newcombe's phi."""
    before, after = columns(pairs)
    if len({*before}) < 2 or len({*after}) < 2:
        return 0.0
    phi = float(np.corrcoef(before, after)[0, 1])
    if phi <= 0:
        return phi
    return max(0.0, phi - 1 / (2 * pairs.total * np.std(before) * np.std(after)))


@given(tables.filter(lambda pairs: pairs.total > 0))
@thousand
def test_paired_difference_at_random(pairs: Pairs) -> None:
    """No library at hand has it: rebuilt from statsmodels' Wilson limits and numpy's correlation of the pairs."""
    before, after = (sum(column) for column in columns(pairs))
    one, other = (proportion_confint(seen, pairs.total, method="wilson") for seen in (before, after))
    p, q, phi = before / pairs.total, after / pairs.total, drawn_correlation(pairs)
    covariance = np.array([[1, -phi], [-phi, 1]])
    least, most = np.array([p - one[0], other[1] - q]), np.array([one[1] - p, q - other[0]])
    expected = (p - q - np.sqrt(least @ covariance @ least), p - q + np.sqrt(most @ covariance @ most))
    assert paired_difference(pairs) == pytest.approx(np.clip(expected, -1, 1), abs=1e-7)
    assert pairs.correlation == pytest.approx(phi, abs=1e-9)


@given(tables)
@thousand
def test_the_shares_of_pairs_are_their_margins(pairs: Pairs) -> None:
    before, after = columns(pairs)
    assert pairs.total == len(before)
    assert pairs.first == (sum(before), len(before))
    assert pairs.second == (sum(after), len(after))


@given(share(60), share(60), st.floats(-1, 1))
@thousand
def test_the_more_two_shares_go_together_the_narrower(one: Share, other: Share, correlation: float) -> None:
    """And without correlation it is the interval of separate looks."""
    assert joined(one, other, 0.0) == difference(one, other)
    low, high = joined(one, other, correlation)
    loose = joined(one, other, -1.0)
    tight = joined(one, other, 1.0)
    assert -1 <= loose.low <= low + 1e-12 and low <= tight.low + 1e-12
    assert tight.high <= high + 1e-12 and high <= loose.high + 1e-12 <= 1 + 1e-12


@given(st.floats(0, 1), st.floats(0, 1), st.floats(-1, 1))
@thousand
def test_spread_is_the_law_of_cosines(one: float, other: float, correlation: float) -> None:
    """The third side of a triangle whose angle has this cosine."""
    angle = np.arccos(correlation)
    side = abs(complex(one, 0) - other * complex(np.cos(angle), np.sin(angle)))
    assert spread(one, other, correlation) == pytest.approx(side, abs=1e-7)


@given(st.floats(0, 1), st.integers(1, 400), st.floats(0, 4), st.floats(0, 1))
@thousand
def test_control_limits_at_random(mean: float, of: int, sigmas: float, rate: float) -> None:
    """The standard deviation of a share is that of a binomial count over its number; numpy's is of one look."""
    one_look = np.sqrt(np.average([(1 - mean) ** 2, mean**2], weights=[mean, 1 - mean]))
    expected = np.clip([mean - sigmas * one_look / of**0.5, mean + sigmas * one_look / of**0.5], 0, 1)
    limits = control_limits(mean, of, sigmas)
    assert limits == pytest.approx(expected, abs=1e-9)
    assert limits.hold(rate) is (limits.low <= rate <= limits.high)


# --- Bad input, and nothing at all --------------------------------------------------------------


@pytest.mark.parametrize("seen, of", [(-1, 5), (6, 5), (1, 0), (0, -1)])
def test_what_is_no_share_is_refused(seen: int, of: int) -> None:
    for function in (wilson, lambda one: difference(one, Share(1, 2)), lambda one: difference(Share(1, 2), one)):
        with pytest.raises(ValueError, match="is not a share"):
            function(Share(seen, of))


def test_nothing_counted_may_be_anything() -> None:
    assert wilson(Share(0, 0)) == (0, 1)
    assert difference(Share(0, 0), Share(3, 4)) == (-1, 1)
    assert difference(Share(3, 4), Share(0, 0)) == (-1, 1)
    assert paired_difference(Pairs(0, 0, 0, 0)) == (-1, 1)


def test_a_rate_of_none_is_no_number() -> None:
    with pytest.raises(ZeroDivisionError):
        _ = Share(0, 0).rate


@pytest.mark.parametrize("mean, of", [(-0.1, 5), (1.1, 5), (float("nan"), 5), (0.5, 0)])
def test_limits_of_what_cannot_be_are_refused(mean: float, of: int) -> None:
    with pytest.raises(ValueError, match="no limits"):
        control_limits(mean, of)


def test_pairs_below_none_are_refused() -> None:
    with pytest.raises(ValueError, match="is not a share"):
        paired_difference(Pairs(-3, 1, 1, 4))
