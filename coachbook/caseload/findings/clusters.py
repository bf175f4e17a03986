"""Shares of looks that hang together: several changes of one student are not separate looks.

Who practises, or cannot, does so for all that they work on. So every interval and every limit is widened by a design
effect. With z times its root, the score interval and the limits of a proportions chart are those of that many fewer
looks.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from math import sqrt
from typing import NamedTuple

from lessons.progress.held import Held
from lessons.progress.held_sentences import held_parts
from lessons.progress.intervals import Z95, Interval, Share, wilson
from lessons.progress.sentences import FEW, interval_words, percent
from lessons.progress.words import counted


class Clusters(NamedTuple):
    """Shares of several clusters, as sums over them: a variance between clusters needs no more."""

    number: int = 0  # of clusters that are not empty
    of: int = 0
    seen: int = 0
    of_of: int = 0
    of_seen: int = 0
    seen_seen: int = 0


def clusters(shares: Iterable[Share]) -> Clusters:
    """The sums over the share of each cluster, here a student's changes; an empty one is left out."""
    rows = [(1, of, seen, of * of, of * seen, seen * seen) for seen, of in shares if of]
    return Clusters(*map(sum, zip(*rows, strict=True)))


def combine(groups: Iterable[Clusters]) -> Clusters:
    """All clusters of several groups."""
    return Clusters(*map(sum, zip(*groups, strict=True)))


def weight(found: Clusters) -> float:
    """In how large a cluster a look lies, on average over the looks; 1 for none.

    It is the most that a design effect comes to: each cluster tells no more than one look. Kish (1965), Survey
    Sampling: for clusters of b it is 1 + (b - 1) rho.
    """
    return found.of_of / found.of if found.of else 1.0


def design_effect(found: Clusters) -> float:
    """By how much the variance of a share exceeds that of as many separate looks; 1 at least.

    Where nothing can be said, with one cluster or where all looks are alike, it is the most that it can be.
    Rao & Scott (1992), Biometrics 48, 577-585.
    """
    if found.number < 2 or found.seen in (0, found.of):
        return weight(found)
    rate = found.seen / found.of
    apart = found.seen_seen - 2 * rate * found.of_seen + rate * rate * found.of_of
    variance = found.number / (found.number - 1) * apart / found.of**2
    return max(1.0, variance * found.of / (rate * (1 - rate)))


def intraclass_correlation(found: Clusters) -> float:
    """How alike the looks of one cluster are: from 0, as separate ones, to 1, all the same. Kish, as above."""
    most = weight(found)
    return min(1.0, (design_effect(found) - 1) / (most - 1)) if most > 1 else 0.0


def cautious_effect(found: Clusters, correlation: float) -> float:
    """The design effect of clusters: their own, or the one that follows from how alike looks are in general.

    Few clusters hardly tell how far they differ, and an effect that comes out too small shames somebody by chance.
    """
    return max(design_effect(found), 1 + (weight(found) - 1) * correlation)


def share_words(share: Share, effect: float) -> str:
    """So many of so many, with a percentage and its interval only where they tell as much as eight separate looks."""
    words = f"{share.seen} of {share.of}"
    if share.of / effect < FEW - 1e-9:
        return words
    return f"{words} ({percent(share.rate)}, 95% interval {interval_words(wide(share, effect))})"


def wide(share: Share, effect: float) -> Interval:
    """The interval of a share with a design effect."""
    return wilson(share, Z95 * sqrt(effect))


@dataclass(frozen=True)
class Tally:
    """Changes with what became of them, in clusters of one student; `correlation` is that of the whole academy."""

    clusters: Clusters = field(default_factory=Clusters)
    partly: int = 0
    correlation: float = 0.0

    @property
    def share(self) -> Share:
        """Held, of all; what held partly is not held."""
        return Share(self.clusters.seen, self.clusters.of)

    @property
    def parts(self) -> str:
        """Held, partly, lost."""
        held, of = self.share
        return held_parts(Held(held, self.partly, of - held - self.partly))

    @property
    def made(self) -> str:
        """How many changes, with how many students."""
        return f"{counted(self.share.of, 'change')} with {counted(self.clusters.number, 'student')}"

    @cached_property
    def effect(self) -> float:
        """The design effect by students."""
        return cautious_effect(self.clusters, self.correlation)

    @property
    def separate(self) -> int:
        """As much as how many separate changes these tell."""
        return int(self.share.of / self.effect + 1e-9)

    @property
    def words(self) -> str:
        """The share that held; with the percentage and its interval where it tells as much as eight looks."""
        return share_words(self.share, self.effect)
