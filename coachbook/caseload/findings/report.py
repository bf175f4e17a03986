"""What an academy's changes come to: which faults are common, how often changes hold, each coach beside the
academy.

Pure: it takes plain counts, and says what they allow to be said. Nobody is ranked.
"""

from bisect import bisect
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import accumulate
from math import sqrt
from operator import attrgetter
from typing import NamedTuple

from coachbook.caseload.findings.clusters import Clusters, Tally, combine, intraclass_correlation, share_words
from coachbook.caseload.findings.plots import Dot, dot_of
from lessons.progress.held import Held
from lessons.progress.held_sentences import anyway_words
from lessons.progress.intervals import Limits, Share, control_limits
from lessons.progress.sentences import FEW, percent
from lessons.progress.significance import benjamini_hochberg, cochran_armitage, two_sided
from lessons.progress.words import counted

MORE_HELD, FEWER_HELD = "More held than chance explains", "Fewer held than chance explains"
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
    chances: float | None = None  # the sum of the chances that they had looked as good anyway ...
    known: int = 0  # ... and of how many


# --- The academy --------------------------------------------------------------------------------

Counted = tuple[Clusters, int]  # changes in clusters of one student each, and how many of them held partly


def anyway_of_all(chances: float, known: int, of: int) -> float | None:
    """How many of all changes would have looked good anyway, by those of which it is known; None where most are not."""
    return of * chances / known if known and 2 * known >= of else None


@dataclass(frozen=True)
class ChangeCounts:
    """All changes of a time: together, by coach, by fault, and for each coach how many of each fault."""

    every: Tally
    coaches: dict[int, Tally]
    faults: dict[int, Tally]
    mixes: dict[int, dict[int, int]]
    anyway: dict[int, tuple[float, int]] = field(default_factory=dict)  # as `count_changes` takes it

    def expected_anyway(self, faults: Collection[int]) -> float | None:
        """How many of the changes in these faults would have looked good anyway; None where most of them do not say."""
        total, known = (
            sum(parts) for parts in zip(*(self.anyway.get(fault, (0.0, 0)) for fault in faults), strict=True)
        )
        of = sum(self.faults[fault].share.of for fault in faults)
        return anyway_of_all(total, known, of)

    def expected(self, coach: int) -> float:
        """How many changes of a coach would hold at the academy's own rate for each fault: indirect standardisation.

        Breslow & Day (1987), Statistical Methods in Cancer Research II, chapter 2.
        """
        return sum(number * self.faults[fault].share.rate for fault, number in self.mixes[coach].items())


def count_changes(
    coaches: dict[int, Counted],
    faults: dict[int, Counted],
    mixes: Iterable[tuple[int, int, int]],
    anyway: dict[int, tuple[float, int]] | None = None,
) -> ChangeCounts:
    """The changes by coach, by fault, and how many of each coach and fault, with their correlation.

    `anyway` holds for each fault the sum of the chances that its changes had looked as good anyway, and of how many.
    """
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
        anyway=anyway or {},
    )


# --- On what it depends -------------------------------------------------------------------------


class GroupCounts(NamedTuple):
    """How many changes of a group held, and how many would have looked good anyway, if that is known."""

    share: Share
    anyway: float | None


@dataclass(frozen=True)
class Group:
    """Some changes that have one thing in common: how many held, alone and beside what would have been good anyway."""

    name: str
    counts: str
    words: str
    dot: Dot | None = None


@dataclass(frozen=True)
class Dependence:
    """Whether changes hold more often from one group of arrivals to the next: the groups, and the sentence."""

    groups: list[Group]
    words: str

    @property
    def dots(self) -> list[Dot]:
        """The groups in which there were any changes, as a plot."""
        return [group.dot for group in self.groups if group.dot]


def dependences(change_groups: Collection[ChangeGroup], effect: float) -> tuple[Dependence, Dependence]:
    """Whether changes hold the longer or the shorter the time between, and the more practice was reported.

    Both trends count as far as `benjamini_hochberg` allows, with the design effect of the academy's changes.
    """
    by_days = [counts_of(group for group in change_groups if SPANS[bisect(ENDS, group.week)] == name) for name in SPANS]
    by_practice = [counts_of(group for group in change_groups if group.practice_reported == name) for name in PRACTICE]
    groups = [[counts.share for counts in each] for each in (by_days, by_practice)]
    trends = [cochran_armitage(shares, range(4)) / sqrt(effect) for shares in groups]
    found = benjamini_hochberg(two_sided(z) for z in trends)
    more = [
        ("the longer the time until the next arrival", "the time until the next arrival"),
        ("the more practice was reported", "the practice reported"),
    ]
    words = [trend_words(*row, effect) for row in zip(more, groups, trends, found, strict=True)]
    return Dependence(group_words(SPANS, by_days, effect), words[0]), Dependence(
        group_words(PRACTICE, by_practice, effect), words[1]
    )


def counts_of(groups: Iterable[ChangeGroup]) -> GroupCounts:
    """How many changes of all these groups held, and how many would have looked good anyway."""
    groups = list(groups)
    held, of, known = (sum(map(attrgetter(name), groups)) for name in ("held", "total", "known"))
    return GroupCounts(Share(held, of), anyway_of_all(sum(group.chances or 0 for group in groups), known, of))


def group_words(names: Sequence[str], groups: Sequence[GroupCounts], effect: float) -> list[Group]:
    """Each group with its share and what would have looked good anyway, in words and as a dot."""
    return [group_of(name, *counts, effect) for name, counts in zip(names, groups, strict=True)]


def group_of(name: str, share: Share, anyway: float | None, effect: float) -> Group:
    """One group; of none there is no dot."""
    if not share.of:
        return Group(name, "none", "none")
    words = share_words(share, effect) + anyway_words(Held(share.seen, 0, share.of - share.seen), anyway)
    return Group(name, f"{share.seen} of {share.of}", words, dot_of(name.capitalize(), share, effect, anyway))


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
    dot: Dot

    @property
    def is_outside(self) -> bool:
        """Whether its share lies outside what chance does."""
        return self.words.startswith((MORE_HELD, FEWER_HELD))


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
        dot=dot_of("Held", tally.share, tally.effect, expected_held, None if rough else limits),
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
        return f"{FEWER_HELD}. Look at the case mix and at the lessons before you conclude anything."
    if rate > limits.high + 1e-9:
        return f"{MORE_HELD}: worth asking what they do."
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
