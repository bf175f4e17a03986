"""All that a fault's history comes to: how often, whether it changes, whether changes hold, and in what state it is."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from lessons.progress.binomial import discoveries, mcnemar
from lessons.progress.held import Held, Outcome, changed_in_lesson, counted, outcomes
from lessons.progress.intervals import Interval, Pairs, difference, paired_difference
from lessons.progress.points import LookPoint, Stretch, Totals, looks, only_when_bad, stretch, totals
from lessons.progress.states import Rules, Span, State, state_of
from lessons.progress.trend import Kendall, degree_trend

FALSE = 0.05  # of the changes that a page calls unlikely to be chance, so many may be chance


@dataclass(frozen=True)
class Trend:
    """The looks since a focus was taken on, the look on which it was picked left out, in two halves.

    `called` says whether the change counts among all that are judged together; `change` is the interval of the first
    half's rate less the second's.
    """

    kendall: Kendall
    halves: tuple[Stretch, Stretch] | None  # none of fewer than two looks
    called: bool = False

    @property
    def change(self) -> Interval:
        """How much rarer it is in the second half than in the first: from all to nothing without two halves."""
        if self.halves is None:
            return Interval(-1.0, 1.0)
        return difference(self.halves[0].share, self.halves[1].share)

    @property
    def can_speak(self) -> bool:
        """Whether the looks, in the clearest of all orders, would show a change that chance hardly makes."""
        return self.kendall.least_p <= FALSE


@dataclass(frozen=True)
class Judgement:
    """What a history comes to; a fault that was never taken on has no trend and no state."""

    total: Totals
    only_when_bad: bool
    changed: Pairs
    results: list[Outcome]
    trend: Trend | None = None
    state: State | None = None

    @property
    def held(self) -> Held:
        """How often its changes held."""
        return counted(result.verdict for result in self.results)

    @property
    def changed_p(self) -> float:
        """How likely chance alone would change as much between arrival and departure."""
        return mcnemar(self.changed)

    @property
    def changed_by(self) -> Interval:
        """The interval of the rate on arrival less that on departure."""
        return paired_difference(self.changed)


Case = tuple[Sequence[LookPoint], Sequence[Span]]


def judge_all(cases: Iterable[Case], rules: Rules) -> list[Judgement]:
    """Each history judged, and the trends of all together: more tests on a page find no more by chance.

    Takes, for each fault, its points and the spans of its focuses, oldest first. A trend that could show nothing in any
    order is no test: Tarone (1990), Biometrics 46, 515-522.
    """
    found = [judge(points, spans, rules) for points, spans in cases]
    tested = [j.trend for j in found if j.trend and j.trend.can_speak]
    passed = discoveries((trend.kendall.p for trend in tested), FALSE)
    called = {id(trend): is_called for trend, is_called in zip(tested, passed, strict=True)}
    return [replace(j, trend=j.trend and replace(j.trend, called=called.get(id(j.trend), False))) for j in found]


def judge(points: Sequence[LookPoint], spans: Sequence[Span], rules: Rules) -> Judgement:
    """One history, oldest first, on its own: its trend is not called yet."""
    results = outcomes(points)
    base = Judgement(totals(points), only_when_bad(points), changed_in_lesson(points), results)
    if not spans:
        return base
    state = state_of(points, results, spans, rules)
    return replace(base, trend=trend_since(points, spans[-1].taken), state=state)


def trend_since(points: Sequence[LookPoint], taken: date) -> Trend:
    """The trend of the looks after a day; that day's own look, on which the fault was picked, would flatter it."""
    after = [point for point in looks(points) if point.day > taken]
    middle = (len(after) + 1) // 2
    halves = (stretch(after[:middle]), stretch(after[middle:])) if len(after) > 1 else None
    return Trend(degree_trend([point.level for point in after]), halves)
