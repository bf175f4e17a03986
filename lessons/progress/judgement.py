"""The judgement of a fault's history: how often it is seen, whether that changes, whether changes hold, its state."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from lessons.progress.baseline import chances_anyway, expected_anyway
from lessons.progress.focus_states import Rules, Span, State, state_of
from lessons.progress.held import Held, Outcome, changed_in_lesson, count_verdicts, outcomes
from lessons.progress.intervals import Interval, Pairs, difference, paired_difference
from lessons.progress.points import LookCounts, LookPoint, Totals, count_looks, has_selective_looks, looks, totals
from lessons.progress.significance import benjamini_hochberg, mcnemar
from lessons.progress.trend import Kendall, degree_trend

FALSE_DISCOVERY_RATE = 0.05  # of the trends that a page calls unlikely to be chance, this share may be chance


@dataclass(frozen=True)
class Trend:
    """The looks since a focus was opened, without the look of the opening day, in two halves.

    `is_significant` says whether the trend counts among all that are judged together; `change` is the interval of the
    first half's rate less the second's.
    """

    kendall: Kendall
    halves: tuple[LookCounts, LookCounts] | None  # None for fewer than two looks
    is_significant: bool = False

    @property
    def change(self) -> Interval:
        """How much rarer it is in the second half than in the first; from -1 to 1 without two halves."""
        if self.halves is None:
            return Interval(-1.0, 1.0)
        return difference(self.halves[0].share, self.halves[1].share)

    @property
    def can_be_significant(self) -> bool:
        """Whether any order of these looks would be significant."""
        return self.kendall.smallest_p <= FALSE_DISCOVERY_RATE


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
    tested = [j.trend for j in found if j.trend and j.trend.can_be_significant]
    passed = benjamini_hochberg((trend.kendall.p for trend in tested), FALSE_DISCOVERY_RATE)
    significant = {id(trend): is_passed for trend, is_passed in zip(tested, passed, strict=True)}
    return [
        replace(j, trend=j.trend and replace(j.trend, is_significant=significant.get(id(j.trend), False)))
        for j in found
    ]


def judge(points: Sequence[LookPoint], spans: Sequence[Span], rules: Rules) -> Judgement:
    """Judge one history, oldest first, on its own: whether its trend is significant is left open."""
    results = outcomes(points)
    anyway = expected_anyway(chances_anyway(points, results, [span.opened for span in spans])) if results else None
    counts = totals(points), has_selective_looks(points), changed_in_lesson(points)
    base = Judgement(*counts, results, anyway=anyway)
    if not spans:
        return base
    state = state_of(points, results, spans, rules)
    return replace(base, trend=trend_since(points, spans[-1].opened), state=state)


def trend_since(points: Sequence[LookPoint], opened: date) -> Trend:
    """The trend of the looks after the opening day; that day's look was picked for being bad and would flatter it."""
    after = [point for point in looks(points) if point.day > opened]
    middle = (len(after) + 1) // 2
    halves = (count_looks(after[:middle]), count_looks(after[middle:])) if len(after) > 1 else None
    return Trend(degree_trend([point.level for point in after]), halves)
