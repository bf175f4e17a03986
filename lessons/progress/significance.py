"""Tests of significance: the exact McNemar test, the Cochran-Armitage trend, and Benjamini-Hochberg for many tests."""

from collections.abc import Iterable, Sequence
from math import comb, erfc, sqrt

from lessons.progress.intervals import Pairs, Share


def two_sided(z: float) -> float:
    """The two-sided p-value of a standard normal statistic."""
    return erfc(abs(z) / sqrt(2))


def binomial_tail(hits: int, tries: int, rate: float) -> float:
    """The probability of `hits` or fewer in so many tries. Raises ValueError for a rate outside 0 to 1."""
    if not 0 <= rate <= 1:
        raise ValueError(f"{rate} is not a probability")
    return sum(comb(tries, k) * rate**k * (1 - rate) ** (tries - k) for k in range(min(hits, tries) + 1))


def mcnemar(pairs: Pairs) -> float:
    """The exact two-sided p-value of the pairs that changed; 1 where none changed.

    Agresti (2013), Categorical Data Analysis, 3rd ed., 11.1.1; McNemar (1947), Psychometrika 12.
    """
    changed = pairs.before + pairs.after
    fewer = min(pairs.before, pairs.after)
    return min(1.0, sum(comb(changed, k) for k in range(fewer + 1)) / 2 ** (changed - 1)) if changed else 1.0


def cochran_armitage(shares: Sequence[Share], scores: Sequence[float]) -> float:
    """The statistic z of a linear trend of shares over the scores of their groups; 0 where all shares are alike.

    It is positive where the rate rises with the score. Empty groups are left out. Raises ValueError where the two
    sequences differ in length. Cochran (1954), Biometrics 10, 417-451; Armitage (1955), Biometrics 11, 375-386.
    """
    groups = [(share, score) for share, score in zip(shares, scores, strict=True) if share.of]
    of = sum(share.of for share, _ in groups)
    seen = sum(share.seen for share, _ in groups)
    if seen in (0, of):
        return 0.0
    rate, middle = seen / of, sum(share.of * score for share, score in groups) / of
    apart = sum((share.seen - share.of * rate) * score for share, score in groups)
    variance = rate * (1 - rate) * sum(share.of * (score - middle) ** 2 for share, score in groups)
    return apart / sqrt(variance) if variance > 1e-12 else 0.0


def weighted_p_values(p_values: Sequence[float], weights: Sequence[float]) -> list[float]:
    """The p-values of several tests, of which each is given its weight's share of the errors that may be made.

    `benjamini_hochberg` of them keeps its rate whatever the weights, if these do not follow from the p-values. Raises
    ValueError where the two sequences differ in length. Genovese, Roeder & Wasserman (2006), Biometrika 93, 509-524.
    """
    mean = sum(weights) / max(1, len(weights))
    return [min(1.0, value * (mean / weight)) for value, weight in zip(p_values, weights, strict=True)]


def benjamini_hochberg(p_values: Iterable[float], false_discovery_rate: float = 0.05) -> list[bool]:
    """Which of several tests are significant at this false discovery rate.

    Raises ValueError for a p-value outside 0 to 1. Benjamini & Hochberg (1995), J. R. Stat. Soc. B 57, 289-300.
    """
    values = list(p_values)
    if any(not 0 <= value <= 1 for value in values):
        raise ValueError("a p-value lies between 0 and 1")
    ranked = sorted(values)
    steps = (value for rank, value in enumerate(ranked, 1) if value <= false_discovery_rate * rank / len(ranked))
    threshold = max(steps, default=-1.0)
    return [value <= threshold for value in values]
