"""Tests and tails give what is printed elsewhere, and what scipy and statsmodels compute.

Pairs: Agresti (1990), Categorical Data Analysis, p. 350, approval ratings, recomputed with scipy; Bentur et al. (2009)
and Cavo et al. (2012) in Fagerland, Lydersen & Laake (2017), Statistical Analysis of Contingency Tables, as printed in
ocbe-uio/contingencytables@0620918a, reference/McNemar_exact_cond_test_paired_2x2.html. Trend: Agresti, 3rd ed., 3.4.6
(Mills & Graubard 1987); with scores 1 to 5 as printed there, reference/CochranArmitage_MH_tests_rx2.html. Tails: the
exact limits of Clopper & Pearson in Newcombe (1998), Stat. Med. 17, 857-872, Table I, and in the NIST/SEMATECH
e-Handbook, 7.2.4.1. Many tests: the example of Benjamini & Hochberg (1995), in several public test suites.
"""

from collections.abc import Callable
from fractions import Fraction
from math import comb
from typing import Any, NamedTuple

import numpy as np
import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st
from scipy.stats import binom, binomtest, false_discovery_control, norm
from statsmodels.stats.contingency_tables import Table
from statsmodels.stats.contingency_tables import mcnemar as statsmodels_mcnemar
from statsmodels.stats.multitest import multipletests

from lessons.progress.intervals import Pairs, Share
from lessons.progress.significance import (
    benjamini_hochberg,
    binomial_tail,
    cochran_armitage,
    mcnemar,
    two_sided,
    weighted_p_values,
)
from tests.test_intervals import Function, near, off, table, thousand

Check = Callable[[Function], None]

# --- Printed values -----------------------------------------------------------------------------

MALFORMED = [Share(int(row["cases"]), int(row["total"])) for row in table("cochran_armitage.csv")]
DRINKS = [float(row["score"]) for row in table("cochran_armitage.csv")]
HOCHBERG = [
    *(0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344),
    *(0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0000),
]


def pairs_check(pairs: Pairs, printed: str) -> Check:
    return lambda function: near(function(pairs), printed)


def trend_check(function: Function) -> None:
    """M2 = 6.57, which is z2 with n - 1 for n; they differ by less than what is printed."""
    z, n = function(MALFORMED, DRINKS), sum(share.of for share in MALFORMED)
    near(z * z, "6.57")
    near(z * z * (n - 1) / n, "6.57")


def ranked_trend_check(function: Function) -> None:
    """The same counts by rank: the choice of scores decides what is found, so ours must be time, or looks in order."""
    near(function(MALFORMED, [1, 2, 3, 4, 5]), "1.352")


def normal_check(function: Function) -> None:
    """Both P of the same example, from its z."""
    near(function(cochran_armitage(MALFORMED, [1, 2, 3, 4, 5])), "0.17639")
    near(function(cochran_armitage(MALFORMED, DRINKS)), "0.01")


class Limit(NamedTuple):
    """An exact limit as it is printed: that far off at most, with so much chance left beyond it."""

    seen: int
    of: int
    printed: str
    off: float
    beyond: float

    @property
    def ends(self) -> tuple[float, float]:
        return float(self.printed) - self.off, float(self.printed) + self.off

    def upper(self, tail: Function) -> None:
        """At the upper limit so few are seen with this chance: a little below it more, a little above it less."""
        more, less = (tail(self.seen, self.of, end) for end in self.ends)
        assert less <= self.beyond <= more, f"{self.printed} is not the limit"

    def lower(self, tail: Function) -> None:
        """At the lower limit so many are seen with this chance."""
        less, more = (1 - tail(self.seen - 1, self.of, end) for end in self.ends)
        assert less <= self.beyond <= more, f"{self.printed} is not the limit"


def limits() -> list[Any]:
    """Newcombe's, less the lower limit of none, which is 0 by definition; NIST's come from a search good to 1e-5."""
    rows = [(int(row["x"]), int(row["n"]), row) for row in table("newcombe_single.csv")]
    upper = [Limit(seen, of, row["clopper_pearson_hi"], 0.00005, 0.025) for seen, of, row in rows]
    lower = [Limit(seen, of, row["clopper_pearson_lo"], 0.00005, 0.025) for seen, of, row in rows if seen]
    upper.append(Limit(4, 20, "0.4010294", 1e-5, 0.05))
    lower.append(Limit(4, 20, "0.07134838", 1e-5, 0.05))
    return [limit.upper for limit in upper] + [limit.lower for limit in lower]


PRINTED = [
    pytest.param(pairs_check(Pairs(794, 150, 86, 570), "3.716e-05"), mcnemar, id="Agresti"),
    pytest.param(pairs_check(Pairs(1, 1, 7, 12), "0.070313"), mcnemar, id="Bentur"),
    pytest.param(pairs_check(Pairs(59, 6, 16, 80), "0.052479"), mcnemar, id="Cavo"),
    pytest.param(trend_check, cochran_armitage, id="malformation"),
    pytest.param(ranked_trend_check, cochran_armitage, id="malformation by rank"),
    pytest.param(normal_check, two_sided, id="P of a z"),
    *(pytest.param(check, binomial_tail, id=f"{check.__name__} limit {n}") for n, check in enumerate(limits())),
]


@pytest.mark.parametrize("check, function", PRINTED)
def test_it_gives_what_is_printed(check: Check, function: Function) -> None:
    check(function)


@pytest.mark.parametrize("check, function", PRINTED)
def test_one_percent_off_would_be_seen(check: Check, function: Function) -> None:
    with pytest.raises(AssertionError, match="is not"):
        check(off(function))


def test_of_hochbergs_fifteen_tests_four_count() -> None:
    assert benjamini_hochberg(HOCHBERG) == [True] * 4 + [False] * 11


def test_a_bar_one_percent_off_would_be_seen() -> None:
    """The printed example lies too far from its bar to show it. By definition a chance at the bar itself counts."""
    at_the_bar = [0.05 * rank / 4 for rank in (1, 2, 3, 4)]
    assert benjamini_hochberg(at_the_bar) == [True] * 4
    assert benjamini_hochberg(at_the_bar, 0.05 / 1.01) == [False] * 4
    assert benjamini_hochberg([0.01 * 1.25 * 1.01, 0.5, 0.6, 0.7]) == [False] * 4
    assert benjamini_hochberg([0.01 * 1.25 * 1.01, 0.5, 0.6, 0.7], 0.05 * 1.01) == [True] + [False] * 3


# --- Against scipy and statsmodels, at random ---------------------------------------------------

count = st.integers(0, 60)


@given(st.floats(-37, 37))
@thousand
def test_two_sided_at_random(z: float) -> None:
    assert two_sided(z) == pytest.approx(2 * norm.sf(abs(z)), rel=1e-9)


@given(st.integers(-1, 80), st.integers(0, 80), st.floats(0, 1))
@thousand
def test_binomial_tail_at_random(hits: int, tries: int, chance: float) -> None:
    assert binomial_tail(hits, tries, chance) == pytest.approx(binom.cdf(hits, tries, chance), rel=1e-9, abs=1e-300)


@given(count, count, count, count)
@thousand
def test_mcnemar_at_random(both: int, before: int, after: int, neither: int) -> None:
    """Where none changed statsmodels has no test; there ours says that chance does it always."""
    found = mcnemar(Pairs(both, before, after, neither))
    if before + after == 0:
        assert found == 1
        return
    assert found == pytest.approx(statsmodels_mcnemar([[both, before], [after, neither]], exact=True).pvalue, rel=1e-9)
    assert found == pytest.approx(binomtest(before, before + after, 0.5).pvalue, rel=1e-9)


group = st.integers(0, 40).flatmap(lambda of: st.builds(Share, st.integers(0, of), st.just(of)))
scores = st.integers(-20, 20).map(lambda score: score / 4)


@given(st.lists(st.tuples(group, scores), min_size=2, max_size=8))
@example([(Share(0, 0), 1.0), (Share(3, 9), 2.0), (Share(0, 0), 3.0), (Share(8, 9), 4.0)])
@thousand
def test_cochran_armitage_at_random(groups: list[tuple[Share, float]]) -> None:
    """statsmodels divides by n - 1 where Cochran and Armitage divide by n."""
    shares, at = zip(*groups, strict=True)
    n, seen = sum(share.of for share in shares), sum(share.seen for share in shares)
    z = cochran_armitage(shares, at)
    if seen in (0, n) or len({score for share, score in groups if share.of}) < 2:
        assert z == 0
        return
    assume(n > 1)
    counts = np.array([[share.seen, share.of - share.seen] for share in shares], dtype=float)
    judged = Table(counts, shift_zeros=False).test_ordinal_association(np.array(at), np.array([1.0, 0.0]))
    assert z * ((n - 1) / n) ** 0.5 == pytest.approx(judged.zscore, abs=1e-9)


chance = st.floats(0, 1) | st.floats(0, 0.06) | st.sampled_from([0.0, 0.01, 0.025, 0.05, 1.0])


@given(st.lists(chance, min_size=1, max_size=30), st.sampled_from([0.01, 0.05, 0.1, 0.25]))
@thousand
def test_benjamini_hochberg_at_random(chances: list[float], false: float) -> None:
    """Not where a chance lies on its bar to the last bit: there the libraries' rounding decides."""
    adjusted = false_discovery_control(chances, method="bh")
    assume(all(abs(value - false) > 1e-12 for value in adjusted))
    assert benjamini_hochberg(chances, false) == list(adjusted <= false)
    assert benjamini_hochberg(chances, false) == list(multipletests(chances, alpha=false, method="fdr_bh")[0])


@given(st.lists(chance, max_size=30), st.randoms())
@thousand
def test_the_order_of_tests_does_not_matter(chances: list[float], order: Any) -> None:
    mixed = list(range(len(chances)))
    order.shuffle(mixed)
    found = benjamini_hochberg(chances)
    assert benjamini_hochberg([chances[place] for place in mixed]) == [found[place] for place in mixed]


# --- By hand ------------------------------------------------------------------------------------


def test_a_tail_is_a_sum_of_fractions() -> None:
    by_hand = sum(Fraction(comb(12, k) * 3**k * 7 ** (12 - k), 10**12) for k in range(5))
    assert binomial_tail(4, 12, 0.3) == pytest.approx(float(by_hand), rel=1e-12)


def test_five_changes_one_way_are_one_chance_in_sixteen() -> None:
    """Two of the 32 ways to turn five coins: six one way are 1 in 32, the first that is rarer than 1 in 20."""
    assert mcnemar(Pairs(3, 5, 0, 9)) == 1 / 16
    assert mcnemar(Pairs(3, 0, 6, 9)) == 1 / 32


def test_an_even_split_is_no_change() -> None:
    assert mcnemar(Pairs(0, 4, 4, 0)) == 1


@pytest.mark.parametrize("chance", [-0.1, 1.1, float("nan")])
def test_what_is_not_a_probability_is_refused(chance: float) -> None:
    with pytest.raises(ValueError):
        binomial_tail(1, 2, chance)
    with pytest.raises(ValueError):
        benjamini_hochberg([0.01, chance])


def test_no_tests_nothing_significant() -> None:
    assert benjamini_hochberg([]) == []


def test_groups_and_scores_must_match() -> None:
    with pytest.raises(ValueError):
        cochran_armitage([Share(1, 2)], [1, 2])


@pytest.mark.parametrize(
    "shares, at",
    [([], []), ([Share(0, 0)], [1]), ([Share(1, 2)], [1]), ([Share(1, 2)] * 2, [3, 3]), ([Share(2, 2)] * 2, [1, 2])],
    ids=["nothing", "none of none", "one group", "one score", "always seen"],
)
def test_there_is_no_trend_to_see(shares: list[Share], at: list[float]) -> None:
    assert cochran_armitage(shares, at) == 0


# --- Weights ------------------------------------------------------------------------------------


def test_weights_share_out_the_errors() -> None:
    """Three times the weight, three times the p-value: of 0.02 and 0.04, with mean weight 2, 0.0133 and 0.08."""
    assert weighted_p_values([0.02, 0.04], [3, 1]) == pytest.approx([0.02 * 2 / 3, 0.08])
    assert weighted_p_values([0.9, 0.9], [3, 1]) == pytest.approx([0.6, 1.0])
    assert weighted_p_values([], []) == []
    with pytest.raises(ValueError):
        weighted_p_values([0.1], [1, 1])


@given(st.lists(st.floats(0, 1), max_size=20), st.floats(0.1, 50))
@thousand
def test_equal_weights_change_nothing(p_values: list[float], weight: float) -> None:
    assert weighted_p_values(p_values, [weight] * len(p_values)) == pytest.approx(p_values)


def test_whatever_the_weights_no_more_is_found_by_chance() -> None:
    """All tests are of nothing: anything is found as seldom as without weights, by four standard errors at most."""
    rng, weights = np.random.default_rng(4), [10.0] * 3 + [1.0] * 17
    pages = rng.uniform(size=(4000, 20)).tolist()
    found = sum(any(benjamini_hochberg(weighted_p_values(page, weights), 0.07)) for page in pages)
    assert found / 4000 == pytest.approx(0.07, abs=4 * (0.07 * 0.93 / 4000) ** 0.5)
