"""What an academy's changes come to: which faults are common, how often changes hold, each coach beside the
academy.

Pure: it takes plain counts, and says what they allow to be said. Nobody is ranked.
"""

from bisect import bisect
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate
from math import sqrt
from typing import NamedTuple

from coachbook.caseload.findings.clusters import Clusters, Tally, combine, intraclass_correlation, share_words
from lessons.progress.intervals import Limits, Share, control_limits
from lessons.progress.sentences import FEW, percent
from lessons.progress.significance import benjamini_hochberg, cochran_armitage, two_sided
from lessons.progress.trend import Kendall, mann_kendall
from lessons.progress.words import counted

SIGMAS = 3.0  # NIST/SEMATECH e-Handbook, 6.3.3.2
LONGEST = 26  # weeks; what took longer counts as this
ENOUGH = 5.0  # held and not held that are expected, below which such limits are too rough: common practice, no source
PRACTICE = ("none", "some", "most", "all")  # not asked says nothing
SPANS = ("up to 14 days", "15 to 28 days", "29 to 56 days", "more than 56 days")
ENDS = (2, 4, 8)  # the weeks that no longer belong to each span but the last


class ChangeGroup(NamedTuple):
    """Changes of one coach that met the next arrival in one week (0 is the first) with the same report of practice."""

    coach: int
    week: int
    practice_reported: str
    held: int
    total: int


# --- The academy --------------------------------------------------------------------------------

Counted = tuple[Clusters, int]  # changes in clusters of one student each, and how many of them held partly


@dataclass(frozen=True)
class ChangeCounts:
    """All changes of a time: together, by coach, by fault, and for each coach how many of each fault."""

    every: Tally
    coaches: dict[int, Tally]
    faults: dict[int, Tally]
    mixes: dict[int, dict[int, int]]

    def expected(self, coach: int) -> float:
        """How many changes of a coach would hold at the academy's own rate for each fault: indirect standardisation.

        Breslow & Day (1987), Statistical Methods in Cancer Research II, chapter 2.
        """
        return sum(number * self.faults[fault].share.rate for fault, number in self.mixes[coach].items())


def count_changes(
    coaches: dict[int, Counted], faults: dict[int, Counted], mixes: Iterable[tuple[int, int, int]]
) -> ChangeCounts:
    """The changes by coach, by fault, and how many of each coach and fault, with their correlation."""
    every = combine(found for found, _ in coaches.values()) if coaches else Clusters()
    correlation = intraclass_correlation(every)
    mixed: dict[int, dict[int, int]] = defaultdict(dict)
    for coach, fault, number in mixes:
        mixed[coach][fault] = number
    return ChangeCounts(
        every=Tally(every, sum(partly for _, partly in coaches.values()), correlation),
        coaches={coach: Tally(*found, correlation) for coach, found in coaches.items()},
        faults={fault: Tally(*found, correlation) for fault, found in faults.items()},
        mixes=mixed,
    )


# --- On what it depends -------------------------------------------------------------------------


@dataclass(frozen=True)
class Group:
    """Some changes that have one thing in common: how many held, and the same with its interval."""

    name: str
    counts: str
    words: str


@dataclass(frozen=True)
class Dependence:
    """Whether changes hold more often from one group of arrivals to the next: the groups, and the sentence."""

    groups: list[Group]
    words: str


def dependences(change_groups: Collection[ChangeGroup], effect: float) -> tuple[Dependence, Dependence]:
    """Whether changes hold the longer or the shorter the time between, and the more practice was reported.

    Both trends count as far as `benjamini_hochberg` allows, with the design effect of the academy's changes.
    """
    days = shares_by_name((SPANS[bisect(ENDS, change_group.week)], change_group) for change_group in change_groups)
    practice = shares_by_name((group.practice_reported, group) for group in change_groups)
    groups = [[days[name] for name in SPANS], [practice[name] for name in PRACTICE]]
    trends = [cochran_armitage(shares, range(4)) / sqrt(effect) for shares in groups]
    found = benjamini_hochberg(two_sided(z) for z in trends)
    more = [
        ("the longer the time until the next arrival", "the time until the next arrival"),
        ("the more practice was reported", "the practice reported"),
    ]
    words = [trend_words(*row, effect) for row in zip(more, groups, trends, found, strict=True)]
    return Dependence(group_words(SPANS, groups[0], effect), words[0]), Dependence(
        group_words(PRACTICE, groups[1], effect), words[1]
    )


def shares_by_name(rows: Iterable[tuple[str, ChangeGroup]]) -> dict[str, Share]:
    """The shares of the changes of each name; none of none for any other."""
    found: dict[str, Share] = defaultdict(lambda: Share(0, 0))
    for name, group in rows:
        seen, of = found[name]
        found[name] = Share(seen + group.held, of + group.total)
    return found


def group_words(names: Sequence[str], shares: Sequence[Share], effect: float) -> list[Group]:
    """Each group with its share in words."""
    pairs = zip(names, shares, strict=True)
    return [
        Group(name, f"{share.seen} of {share.of}", share_words(share, effect))
        if share.of
        else Group(name, "none", "none")
        for name, share in pairs
    ]


def trend_words(on: tuple[str, str], shares: Sequence[Share], z: float, found: bool, effect: float) -> str:
    """One sentence on a trend; two groups that tell as much as eight looks each are the least it needs."""
    if sum(share.of / effect >= FEW for share in shares) < 2:
        return f"Too few changes to say whether it depends on {on[1]}."
    if not found:
        return f"Whether it depends on {on[1]}: cannot tell yet."
    return f"Held {'more' if z > 0 else 'less'} often {on[0]}, and unlikely to be chance."


# --- Each coach ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class CoachComparison:
    """A coach's changes beside what the academy's rates for the same faults would give."""

    made: str
    parts: str
    counts: str
    share: str
    expected: str
    expected_share: str
    chance: str
    words: str


def compare_coach(tally: Tally, expected_held: float, alone: bool = False) -> CoachComparison:
    """A coach's changes in words, with the limits within which chance alone would leave them."""
    mean = min(1.0, expected_held / tally.share.of)
    few = tally.separate < FEW or alone
    rough = few or tally.separate * min(mean, 1 - mean) < ENOUGH
    expected = f"{expected_held:.0f} of {tally.share.of}"
    limits = control_limits(mean, tally.share.of, SIGMAS * sqrt(tally.effect))
    return CoachComparison(
        made=tally.made,
        parts=tally.parts,
        counts=f"{tally.share.seen} of {tally.share.of}",
        share=tally.words,
        expected=expected,
        expected_share=f"about {expected}" + ("" if few else f" ({percent(mean)})"),
        chance="" if rough else f"{percent(limits.low)} to {percent(limits.high)}",
        words=("The only coach with changes: nobody to compare with." if alone else few_words(tally, mean))
        if rough
        else verdict_words(tally.share.rate, limits),
    )


def few_words(tally: Tally, mean: float) -> str:
    """Why nothing is compared."""
    if tally.separate >= 2 * ENOUGH and not 0.1 < mean < 0.9:
        return f"Too few to compare: {'nearly all' if mean > 0.5 else 'hardly any'} such changes hold at the academy."
    if tally.share.of < FEW or tally.separate == tally.share.of:
        return "Too few to compare."
    tell = counted(tally.separate, "separate change")
    return f"Too few to compare: the changes of one student go together, and these tell as much as {tell}."


def verdict_words(rate: float, limits: Limits) -> str:
    """Where a share lies, said with care; what is just on a limit is within it."""
    if rate < limits.low - 1e-9:
        return "Fewer held than chance explains. Look at the case mix and at the lessons before you conclude anything."
    if rate > limits.high + 1e-9:
        return "More held than chance explains: worth asking what they do."
    return "Within what chance does."


def usual_gap(change_groups: Iterable[ChangeGroup]) -> str:
    """Within how many weeks half of the changes had met the next arrival."""
    weeks = Counter[int]()
    for group in change_groups:
        weeks[group.week] += group.total
    reached = accumulate(weeks[week] for week in range(LONGEST + 1))
    middle = next(week for week, passed in enumerate(reached) if 2 * passed >= weeks.total())
    when = f"within {counted(middle + 1, 'week')}" if middle < LONGEST else "after more than half a year"
    return f"half met the next arrival {when}"


# --- Faults -------------------------------------------------------------------------------------


class Looks(NamedTuple):
    """On how many arrivals a fault was looked at, and seen by degree."""

    looked: int = 0
    slight: int = 0
    clear: int = 0
    not_graded: int = 0

    @property
    def share(self) -> Share:
        """Seen, of the arrivals where it was looked at."""
        return Share(self.slight + self.clear + self.not_graded, self.looked)

    @property
    def degrees(self) -> str:
        """By degree, the worst first."""
        parts = [(self.clear, "clear"), (self.slight, "slight"), (self.not_graded, "seen, not graded")]
        return ", ".join(
            [*(f"{number} {word}" for number, word in parts if number), f"{self.looked - self.share.seen} good"]
        )


def all_looks(months: Iterable[Looks]) -> Looks:
    """The looks of several months together."""
    return Looks(*map(sum, zip(*months, strict=True)))


@dataclass(frozen=True)
class FaultLine:
    """One fault: who works on it, how often it was looked at and seen, and what became of changes."""

    skill: str
    name: str
    working: int
    months: tuple[Looks, ...]  # oldest first, those in which anybody looked
    arrivals: int  # in its area
    changes: Tally

    @cached_property
    def looks(self) -> Looks:
        """All months together."""
        return all_looks(self.months)

    @cached_property
    def trend(self) -> Kendall:
        """Whether the monthly rate rises or falls."""
        return mann_kendall([looks.share.rate for looks in self.months])

    @property
    def halves(self) -> str:
        """What the first half of the months showed, and the second."""
        middle = len(self.months) // 2
        first, second = (all_looks(part).share for part in (self.months[:middle], self.months[middle:]))
        return f"{first.seen} of {first.of} in the first half, {second.seen} of {second.of} in the second"

    @property
    def seen(self) -> str:
        """On how many arrivals it was seen."""
        return share_words(self.looks.share, 1.0) if self.looks.looked else "not looked at"

    @property
    def looked(self) -> str:
        """On how many of the area's arrivals somebody looked."""
        arrivals = max(self.arrivals, self.looks.looked)  # somebody may look at a putt in a lesson on chipping
        return f"{self.looks.looked} of {arrivals}"


def commonest(lines: Iterable[FaultLine]) -> list[FaultLine]:
    """Those that anybody works on or that were seen: first those that most work on, then those most often seen."""
    shown = [line for line in lines if line.working or line.looks.share.seen]
    return sorted(shown, key=lambda line: (-line.working, -line.looks.share.seen, line.name))


def never_seen(lines: Iterable[FaultLine]) -> list[FaultLine]:
    """Those that were looked at and never seen, and on which nobody works."""
    return [line for line in lines if line.looks.looked and not line.working and not line.looks.share.seen]


def most_changed(lines: Iterable[FaultLine]) -> list[FaultLine]:
    """Those with changes that met a next arrival, the most first."""
    return sorted(
        (line for line in lines if line.changes.share.of), key=lambda line: (-line.changes.share.of, line.name)
    )


@dataclass(frozen=True)
class MonthlyTrends:
    """The faults that are seen more often from month to month, and less often; whether any month can tell."""

    more: list[FaultLine]
    less: list[FaultLine]
    can_speak: bool


def monthly_trends(lines: Iterable[FaultLine]) -> MonthlyTrends:
    """Which faults get more or less common: the exact trend of monthly rates, as `benjamini_hochberg` allows."""
    every = [line for line in lines if line.months]
    found = benjamini_hochberg(line.trend.p for line in every)
    called = [line for line, counts in zip(every, found, strict=True) if counts]
    more, less = ([line for line in called if line.trend.s * way > 0] for way in (1, -1))
    return MonthlyTrends(more, less, any(line.trend.smallest_p <= 0.05 for line in every))
