"""How likely chance alone would do as much: exact tests for pairs, a linear trend, and many tests at once."""

from collections.abc import Iterable, Sequence
from math import comb, erfc, sqrt

from lessons.progress.intervals import Pairs, Share


def two_sided(z: float) -> float:
    """The chance of a standard normal value at least so far from zero."""
    return erfc(abs(z) / sqrt(2))


def binomial_tail(hits: int, tries: int, chance: float) -> float:
    """The chance of `hits` or fewer in so many tries. Raises ValueError for a chance outside 0 to 1."""
    if not 0 <= chance <= 1:
        raise ValueError(f"{chance} is no chance")
    return sum(comb(tries, k) * chance**k * (1 - chance) ** (tries - k) for k in range(min(hits, tries) + 1))


def mcnemar(pairs: Pairs) -> float:
    """How likely the pairs that changed would split so unevenly, or more so, if either way were as likely; exact.

    1 where none changed. Agresti (2013), Categorical Data Analysis, 3rd ed., 11.1.1; McNemar (1947), Psychometrika 12.
    """
    changed = pairs.before + pairs.after
    fewer = min(pairs.before, pairs.after)
    return min(1.0, sum(comb(changed, k) for k in range(fewer + 1)) / 2 ** (changed - 1)) if changed else 1.0


def linear_trend(shares: Sequence[Share], scores: Sequence[float]) -> float:
    """The statistic z of a linear trend of shares over the scores of their groups; 0 where there is none to see.

    It is positive where the rate rises with the score. Groups of none are left out. Raises ValueError where the two
    differ in length. Cochran (1954), Biometrics 10, 417-451; Armitage (1955), Biometrics 11, 375-386.
    """
    groups = [(share, score) for share, score in zip(shares, scores, strict=True) if share.of]
    of = sum(share.of for share, _ in groups)
    seen = sum(share.seen for share, _ in groups)
    if of == 0 or seen in (0, of):
        return 0.0
    rate, middle = seen / of, sum(share.of * score for share, score in groups) / of
    apart = sum((share.seen - share.of * rate) * score for share, score in groups)
    variance = rate * (1 - rate) * sum(share.of * (score - middle) ** 2 for share, score in groups)
    return apart / sqrt(variance) if variance > 1e-12 else 0.0


def discoveries(chances: Iterable[float], false: float = 0.05) -> list[bool]:
    """Which of several tests count, so that among those that do at most this share is expected to be chance.

    Raises ValueError for a chance outside 0 to 1. Benjamini & Hochberg (1995), J. R. Stat. Soc. B 57, 289-300.
    """
    values = list(chances)
    if any(not 0 <= value <= 1 for value in values):
        raise ValueError("a chance lies between 0 and 1")
    ranked = sorted(values)
    steps = (value for rank, value in enumerate(ranked, 1) if value <= false * rank / len(ranked))
    bar = max(steps, default=-1.0)
    return [value <= bar for value in values]
