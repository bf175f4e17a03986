"""The judgement of a fault's history: how often it is seen, whether that changes, whether changes hold, its state."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import compress
from math import sqrt
from typing import Literal

from lessons.progress.baseline import chances_anyway, expected_anyway
from lessons.progress.focus_states import Rules, Span, State, state_of
from lessons.progress.held import Held, Outcome, changed_in_lesson, count_verdicts, outcomes
from lessons.progress.intervals import Interval, Pairs, Share, difference, paired_difference
from lessons.progress.looking import at_worst, share_looked
from lessons.progress.opening import looks_before
from lessons.progress.points import (
    Level,
    LookCounts,
    LookPoint,
    Totals,
    count_levels,
    count_looks,
    first_of_each_day,
    has_selective_looks,
    looks,
    one_a_day,
    totals_of,
)
from lessons.progress.sequential import LEVEL, SequentialTrend, sequential_trend
from lessons.progress.significance import benjamini_hochberg, mcnemar, weighted_p_values
from lessons.progress.trend import Kendall

FALSE_DISCOVERY_RATE = 0.07  # of the trends that a page calls unlikely to be chance, this share may be chance
OPEN_WEIGHT = 10.0  # a fault that is worked on gets so many times the share of errors of one that is closed: no source
FROM_RECORD = 0.1  # the level at which a fall has to stand with the record before its opening. No source
LATE = 3  # looks in a row; where so many speak against a trend, it is over. Common practice, no source
NEW_EYE = 1 / 3  # a coach made so much more of the later looks than of the first: a new eye. Common practice, no source
TOGETHER = 1.8  # standard deviations by which the other trends of a page go the same way. Common practice, no source
Kind = Literal["", "rarer", "milder", "rarer or milder", "more often", "clearer", "more often or clearer"]

Undone = Literal["", "there", "clear", "good"]


@dataclass(frozen=True)
class Trend:
    """The looks since a focus was opened, one a day and none of the opening day, in two halves.

    `is_significant` says whether the trend counts among all that are judged together, `level` the level at which its
    parts then count, and `is_shared` whether the other trends of the page go the same way. `looked` counts on how many
    of the first and of the later arrivals anybody looked; `is_as_looked` says that the trend would not stand if the
    arrivals that one half was looked at less often had shown the opposite.
    """

    sequential: SequentialTrend
    halves: tuple[LookCounts, LookCounts] | None  # None for fewer than two looks
    arrivals: int = 0  # since it was opened, looked at or not
    new_coach: str = ""  # who made far more of the later looks than of the first
    latest: tuple[Level, ...] = ()  # the last LATE looks
    looked: tuple[Share, Share] = (Share(0, 0), Share(0, 0))
    is_as_looked: bool = False
    recovered_to: Share | None = None  # the record before it was opened, where that alone explains the fall
    is_open: bool = True  # whether its focus is
    is_significant: bool = False
    level: float = 0.0
    is_shared: bool = False

    @property
    def kendall(self) -> Kendall:
        """S and its distribution."""
        return self.sequential.kendall

    @property
    def change(self) -> Interval:
        """How much rarer it is in the second half than in the first, allowing for streaks; -1 to 1 without halves."""
        if self.halves is None:
            return Interval(-1.0, 1.0)
        first, second = (half.share for half in self.halves)
        low, high = difference(first, second)
        middle, copies = first.rate - second.rate, self.sequential.seen.streakiness
        wider = sqrt((1 + copies) / (1 - copies))
        return Interval(max(-1.0, middle - (middle - low) * wider), min(1.0, middle + (high - middle) * wider))

    @property
    def can_be_significant(self) -> bool:
        """Whether any order of these looks would be significant."""
        return self.sequential.can_be_significant

    @property
    def counts_alone(self) -> bool:
        """Whether it would be significant if it were the only trend of its page."""
        return self.sequential.p <= LEVEL

    @property
    def is_always_seen(self) -> bool:
        """Whether it was seen on every look."""
        return self.halves is not None and all(half.share.seen == half.share.of for half in self.halves)

    @property
    def undone(self) -> Undone:
        """What the last looks all show that speaks against a trend that would count; empty where they do not."""
        if not self.is_significant or len(self.latest) < LATE:
            return ""
        if self.kendall.s > 0:
            return "good" if set(self.latest) == {"0"} else ""
        if self.sequential.clear.s < self.sequential.seen.s:
            return "clear" if set(self.latest) == {"2"} else ""
        return "" if "0" in self.latest else "there"

    @property
    def kind(self) -> Kind:
        """What changed: how often it is seen, how clear it is, or either; empty for what is not significant.

        Each part is tested after both together, at the level of those selected: Benjamini & Bogomolov (2014), J. R.
        Stat. Soc. B 76, 297-318.
        """
        if not self.is_significant or self.is_as_looked or self.recovered_to or self.undone:
            return ""
        is_better, seen, clear = self.kendall.s < 0, self.sequential.seen, self.sequential.clear
        if (seen.s < 0) is is_better and self.sequential.seen_p <= self.level:
            return "rarer" if is_better else "more often"
        if (clear.s < 0) is is_better and self.sequential.clear_p <= self.level:
            return "milder" if is_better else "clearer"
        return "rarer or milder" if is_better else "more often or clearer"


@dataclass(frozen=True)
class Judgement:
    """The judgement of one history; a fault without a focus has no trend and no state."""

    total: Totals
    has_selective_looks: bool
    changed: Pairs
    results: list[Outcome]
    trend: Trend | None = None
    state: State | None = None
    anyway: float | None = None  # how many of its changes would have looked good anyway

    @property
    def held(self) -> Held:
        """How often its changes held."""
        return count_verdicts(result.verdict for result in self.results)

    @property
    def changed_p(self) -> float:
        """The p-value of the change between arrival and departure."""
        return mcnemar(self.changed)

    @property
    def changed_by(self) -> Interval:
        """The interval of the rate on arrival less that on departure."""
        return paired_difference(self.changed)


Case = tuple[Sequence[LookPoint], Sequence[Span]]


def judge_all(cases: Iterable[Case], rules: Rules) -> list[Judgement]:
    """Judge each history, and the trends of all together, so that more tests find no more by chance.

    Takes, for each fault, its points and the spans of its focuses, oldest first. A trend that no order of its looks
    could make significant is left out of the tests: Tarone (1990), Biometrics 46, 515-522.
    """
    found = [judge(points, spans, rules) for points, spans in cases]
    weighed = iter(weigh([judgement.trend for judgement in found if judgement.trend]))
    return [replace(judgement, trend=next(weighed)) if judgement.trend else judgement for judgement in found]


def weigh(trends: Sequence[Trend]) -> list[Trend]:
    """The trends of one page, each with what the others make of it; open focuses have most of what may be in error."""
    possible = [trend.can_be_significant for trend in trends]
    tested = list(compress(trends, possible))
    weights = [OPEN_WEIGHT if trend.is_open else 1.0 for trend in tested]
    p_values = weighted_p_values([trend.sequential.p for trend in tested], weights)
    found = benjamini_hochberg(p_values, FALSE_DISCOVERY_RATE)
    level = min(LEVEL, FALSE_DISCOVERY_RATE * sum(found) / len(found)) if found else 0.0
    passed = iter(found)
    total, others = sum(trend.sequential.z for trend in trends), sum(trend.sequential.z != 0 for trend in trends) - 1
    return [
        replace(
            trend,
            is_significant=can_be and next(passed) and trend.counts_alone,
            level=level,
            is_shared=others > 0 and goes_along(trend, (total - trend.sequential.z) / sqrt(others)),
        )
        for trend, can_be in zip(trends, possible, strict=True)
    ]


def goes_along(trend: Trend, others: float) -> bool:
    """Whether the other trends of a page, added up in standard deviations, go the same way as this one."""
    return abs(others) >= TOGETHER and others * trend.sequential.z > 0


def judge(points: Sequence[LookPoint], spans: Sequence[Span], rules: Rules) -> Judgement:
    """Judge one history, oldest first, on its own: whether its trend is significant is left open."""
    results = outcomes(points)
    anyway = expected_anyway(chances_anyway(points, results, [span.opened for span in spans])) if results else None
    counts = count_levels(points)
    total = totals_of(counts)
    base = Judgement(total, has_selective_looks(points, total), changed_in_lesson(counts), results, anyway=anyway)
    if not spans:
        return base
    state = state_of(points, results, spans, rules)
    trend = replace(trend_since(points, spans[-1].opened), is_open=spans[-1].closed is None)
    return replace(base, trend=trend, state=state)


def trend_since(points: Sequence[LookPoint], opened: date) -> Trend:
    """The trend of the looks after the opening day; that day's look was picked for being bad and would flatter it."""
    since = [point for point in points if point.day > opened]
    after = first_of_each_day(looks(since))
    middle = (len(after) + 1) // 2
    halves = (count_looks(after[:middle]), count_looks(after[middle:])) if len(after) > 1 else None
    found = sequential_trend([point.level for point in after], [point.coach for point in after])
    return Trend(
        sequential=found,
        halves=halves,
        arrivals=len({point.day for point in since}),
        new_coach=new_coach(after[:middle], after[middle:]),
        latest=tuple(point.level for point in after[-LATE:]),
        looked=looked_in_halves(since),
        is_as_looked=found.p <= LEVEL and not stands_at_worst(found, one_a_day(since)),
        recovered_to=record_reached(found, looks_before(points, opened), after),
    )


def record_reached(found: SequentialTrend, before: Sequence[LookPoint], after: Sequence[LookPoint]) -> Share | None:
    """How often it was seen before it was opened, where the looks after that fall to that alone; else None.

    Who opens a focus on the worst of several days sees it become rarer anyway, most of all where looks come in streaks.
    """
    if not before or found.kendall.s >= 0 or found.p > LEVEL:
        return None
    whole = [*before, *after]
    trend = sequential_trend([point.level for point in whole], [point.coach for point in whole])
    return None if trend.kendall.s < 0 and trend.p <= FROM_RECORD else totals_of(count_levels(before)).share


def stands_at_worst(found: SequentialTrend, points: Sequence[LookPoint]) -> bool:
    """Whether a trend stands even if the arrivals that one half was looked at less often had shown the opposite."""
    is_fall = found.kendall.s < 0
    worst = sequential_trend(*at_worst(points, is_fall))
    return worst.p <= LEVEL and (worst.kendall.s < 0) is is_fall


def looked_in_halves(points: Sequence[LookPoint]) -> tuple[Share, Share]:
    """On how many of the first and of the later points anybody looked."""
    middle = (len(points) + 1) // 2
    return share_looked(points[:middle]), share_looked(points[middle:])


def new_coach(first: Sequence[LookPoint], second: Sequence[LookPoint]) -> str:
    """Who made far more of the later looks than of the first; empty where nobody did."""
    if not first or not second:
        return ""
    before, after = (Counter(point.coach for point in half) for half in (first, second))
    gains = {coach: made / len(second) - before[coach] / len(first) for coach, made in after.items()}
    coach = max(gains, key=gains.__getitem__)
    return coach if gains[coach] >= NEW_EYE else ""
