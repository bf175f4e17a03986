"""The trend of looks that come in streaks, against a library for long series, numpy, and pairs counted one by one.

tests/reference/hamed_rao.csv: long series of yes and no, and what pymannkendall 1.4.3 (hamed_rao_modification_test with
five lags) prints for them. Hamed & Rao (1998), J. Hydrol. 204, 182-196, estimate each lag from a long series, ours is a
formula for short ones: the two agree on S, and on its variance within a fifth.
"""

from collections import Counter
from itertools import combinations
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.progress.sequential import LEVEL, LIMIT_AT, limit, p_value, sequential_trend
from lessons.progress.streak_calibration import draw_academy, pooled_streakiness
from lessons.progress.streaks import MOST, USUAL, alone_inflation, inflation, quadratic_form, streakiness, yes_no_trend
from lessons.progress.trend import degree_trend
from tests.test_intervals import table, thousand
from tests.test_trend import LEVELS

LONG = table("hamed_rao.csv")


def values_of(row: dict[str, str]) -> list[bool]:
    return [letter == "1" for letter in row["series"]]


@pytest.mark.parametrize("row", LONG, ids=lambda row: f"{len(row['series'])} looks")
def test_long_series_are_judged_as_hamed_and_rao_judge_them(row: dict[str, str]) -> None:
    found = yes_no_trend(values_of(row), [""] * len(row["series"]))
    assert found.s == float(row["s"])
    assert found.variance == pytest.approx(float(row["var_s"]), rel=0.2)
    assert found.z == pytest.approx(float(row["z"]), rel=0.1)


def test_a_long_series_without_streaks_needs_no_allowance() -> None:
    """Hamed and Rao find no lag that is significant, and give the variance of all orders, as we do."""
    [row] = [row for row in LONG if len(row["series"]) == 150]
    assert yes_no_trend(values_of(row), [""] * 150).variance == pytest.approx(float(row["var_s"]), rel=1e-9)


def test_without_the_allowance_the_difference_would_be_seen() -> None:
    [row] = [row for row in LONG if len(row["series"]) == 200]
    values = values_of(row)
    chance = sum(values) * (200 - sum(values)) * 201 / 3
    assert chance < 0.8 * float(row["var_s"])


@pytest.mark.parametrize("copies", [0.2, 0.5])
def test_the_allowance_of_a_long_series_is_hamed_and_raos(copies: float) -> None:
    """Their formula with the correlations copies^k, and (1 + r) / (1 - r) in the end."""
    n, k = 2000, np.arange(1, 2000)
    theirs = 1 + 2 / (n * (n - 1) * (n - 2)) * np.sum((n - k) * (n - k - 1) * (n - k - 2) * copies**k)
    assert alone_inflation(n, copies) == pytest.approx(theirs, rel=0.01)
    assert alone_inflation(n, copies) == pytest.approx((1 + copies) / (1 - copies), rel=0.01)


@given(st.lists(st.integers(-9, 9), min_size=1, max_size=30), st.floats(0, 0.9))
@thousand
def test_a_weighted_sum_varies_as_its_matrix_says(weights: list[int], copies: float) -> None:
    apart = np.abs(np.subtract.outer(np.arange(len(weights)), np.arange(len(weights))))
    expected = np.array(weights) @ copies**apart @ np.array(weights)
    assert quadratic_form(weights, copies) == pytest.approx(expected, abs=1e-9)


looked = st.lists(st.tuples(st.sampled_from(LEVELS), st.sampled_from(["Ida", "Cai", "Bo"])), max_size=30)


@given(looked)
@thousand
def test_looks_of_one_coach_have_the_s_of_degrees(found: list[tuple[str, str]]) -> None:
    levels = [level for level, _ in found]
    ours, theirs = sequential_trend(levels, ["Ida"] * len(levels)), degree_trend(levels)
    assert (ours.kendall.s, ours.kendall.looks) == (theirs.s, theirs.looks)
    assert ours.kendall.p == pytest.approx(theirs.p) and ours.kendall.variance == pytest.approx(theirs.variance)
    assert ours.p >= theirs.p or ours.p > LEVEL


@given(st.lists(st.tuples(st.booleans(), st.sampled_from(["Ida", "Cai", "Bo"])), max_size=30))
@thousand
def test_looks_of_different_coaches_are_not_compared(found: list[tuple[bool, str]]) -> None:
    trend = yes_no_trend([value for value, _ in found], [coach for _, coach in found])
    assert trend.s == sum(int(b) - int(a) for (a, one), (b, other) in combinations(found, 2) if one == other)
    assert trend.variance >= sum(a * b * (a + b + 1) for a, b in trend.splits) / 3 - 1e-9


def test_streakiness_of_nothing_is_what_is_usual_and_of_much_is_its_own() -> None:
    def of(letters: str) -> float:
        values = [letter == "1" for letter in letters]
        return streakiness(values, [""] * len(values), Counter({"": sum(values)}), Counter({"": len(values)}))

    assert of("1") == USUAL
    assert of("01" * 20) == 0
    assert of("000111" * 20) == pytest.approx(1 / 3, abs=0.03)  # it changes 39 times, by chance it would 60 times
    assert of("0" * 20 + "1" * 20) == MOST


def test_one_coach_alone_is_one_block() -> None:
    weights = range(-19, 20, 2)
    assert alone_inflation(20, 0.4) == inflation(weights, ["Ida"] * 20, Counter(Ida=20), 0.4) > 1
    assert alone_inflation(20, 0.0) == 1


def test_the_limit_is_obrien_and_flemings_for_few_looks_and_rises_for_many() -> None:
    """Theirs falls as 1 / sqrt of the looks."""
    assert limit(4) / limit(16) == pytest.approx(2)
    assert min(range(1, 100), key=limit) == LIMIT_AT
    assert limit(60) > limit(30) > limit(LIMIT_AT)


@pytest.mark.parametrize("looks", [4, 12, 18, 40])
def test_at_the_limit_a_trend_has_the_level(looks: int) -> None:
    assert p_value(limit(looks), looks) == pytest.approx(LEVEL)
    assert p_value(-limit(looks) - 0.01, looks) < LEVEL < p_value(0.01 - limit(looks), looks)


def test_a_look_where_nobody_looked_is_refused() -> None:
    with pytest.raises(ValueError):
        sequential_trend(["0", "none"], ["Ida", "Ida"])


def test_the_rows_of_an_academy_tell_how_streaky_its_looks_are_within_some_points() -> None:
    """On average: what goes away makes independent looks seem streaky, and short histories hide streaks."""
    for copies, most in ((0.0, 0.15), (0.3, 0.4), (0.5, 0.55)):
        found = pooled_streakiness(draw_academy(500, copies, Random(5)))
        assert copies - 0.07 <= found <= most
    assert pooled_streakiness([[True] * 8, []]) == 0
