"""The state of a focus, by rules whose numbers an academy may change.

A few good arrivals in a row come by luck: of steady faults that are seen every other time, nearly all show two in a
row within twenty arrivals. So holding and ready to close ask an upper bound as well of how often it is seen, which no
academy changes. Of several arrivals on one day the first counts, since those after it follow a lesson. Where it is
looked at less often than before, the looks that are missing count as if they had seen it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from itertools import accumulate, takewhile
from typing import Literal, NamedTuple

from lessons.progress.held import Outcome
from lessons.progress.looking import missed_since
from lessons.progress.points import LookPoint, first_of_each_day, has_selective_looks, looks, one_a_day
from lessons.progress.significance import binomial_tail

# "closed" is the coach's decision; all others follow from the looks.
Word = Literal["new", "in_progress", "does_not_hold", "holding", "ready_to_close", "closed", "returned"]

# Common practice, no source; `manage.py calibrate` prints how often they are met by luck.
HOLDING_BELOW = 1 / 2  # the upper bound of how often it is seen: holding
READY_BELOW = 1 / 3  # ready to close
LATEST = 20  # arrivals: what was longer ago says little about now


@dataclass(frozen=True)
class Rules:
    """The numbers from which each state applies. Common practice, no source."""

    new_looks: int = 2  # fewer arrivals with a look since it was opened: new
    lost: int = 2  # the last so many changes were all lost by the next arrival: does not hold
    holding: int = 2  # good on so many arrivals in a row, and seldom enough: holding
    ready: int = 3  # good on so many arrivals in a row, seldom enough ...
    ready_days: int = 28  # ... over so many days: ready to close
    returned: int = 2  # seen on so many of one arrival more after it was closed or ready to close: returned


class Span(NamedTuple):
    """The days on which a focus was opened and closed; no second day while it is open."""

    opened: date
    closed: date | None


class Run(NamedTuple):
    """Good arrivals in a row, and over how many days."""

    arrivals: int
    days: int


class Stretch(NamedTuple):
    """The latest arrivals that show how seldom it is seen: how many were good, of how many, and over how many days."""

    good: int
    arrivals: int
    days: int


@dataclass(frozen=True)
class State:
    """The state as a word, and the numbers behind it."""

    word: Word
    since: date  # when the latest focus was opened
    looks: int  # arrivals with a look since then
    run: Run  # good arrivals in a row up to now
    lost: int  # changes lost in a row up to now
    stretch: Stretch | None = None  # where it is holding or ready to close
    is_looked_less: bool = False  # whether only that keeps it from holding, or from being ready to close
    same_day: int = 0  # arrivals that do not count, since the day had an earlier one
    ended_on: date | None = None  # when it was last closed or ready to close
    closed: bool = False  # whether the coach closed it on that day
    seen_since: int = 0  # arrivals on which it was seen after that day
    rated_by: str = ""  # who alone made the looks of the stretch, and none before
    unlooked: int = 0  # arrivals since the last look


class Ending(NamedTuple):
    """When a fault was closed or ready to close, which of the two, and whether each arrival after that saw it."""

    on: date
    closed: bool
    after: tuple[bool, ...] = ()

    @property
    def seen(self) -> int:
        """On how many arrivals it was seen after that."""
        return sum(self.after)


def state_of(points: Sequence[LookPoint], results: Sequence[Outcome], spans: Sequence[Span], rules: Rules) -> State:
    """The state of the latest of a fault's focuses.

    Takes points and spans oldest first, and the `outcomes` of the points. Raises ValueError where there is no span.
    """
    if not spans:
        raise ValueError("no focus, no state")
    latest, first_opened = spans[-1], min(span.opened for span in spans)
    looked = [point for point in looks(points) if point.day > first_opened]
    counted = first_of_each_day(looked)
    after = [point for point in counted if point.day > latest.opened]
    arrivals = one_a_day(points)
    ending = ending_of(counted, arrivals, spans, rules)
    weighed = since_return(after, ending, rules)
    known = [] if has_selective_looks(points) else results  # whoever looks on bad days only sees every change lost
    on, closed, seen = (ending.on, ending.closed, ending.seen) if ending else (None, False, 0)
    found = StateFacts(
        looks=len(after),
        run=run_of(after),
        lost=lost_in_a_row(result for result in known if points[result.before].day >= latest.opened),
        ready=ready_stretch(weighed, arrivals, rules),
        holding=holding_stretch(weighed, arrivals, rules),
        is_back=has_returned(ending, latest, rules),
    )
    stretch = found.ready or found.holding
    return State(
        word=word_for(found, bool(latest.closed), rules),
        since=latest.opened,
        looks=found.looks,
        run=found.run,
        lost=found.lost,
        stretch=stretch,
        is_looked_less=is_looked_less(found, weighed, rules),
        same_day=sum(point.day > latest.opened for point in looked) - len(after),
        ended_on=on,
        closed=closed,
        seen_since=seen,
        rated_by=new_eye(counted, stretch.arrivals) if stretch else "",
        unlooked=len(list(takewhile(lambda point: not point.looked, reversed(arrivals)))),
    )


def new_eye(looked: Sequence[LookPoint], latest: int) -> str:
    """The coach who alone made so many of the latest looks, and none before; empty where there is none."""
    before, since = ({point.coach for point in part} for part in (looked[:-latest], looked[-latest:]))
    return since.pop() if len(since) == 1 and before and not since & before else ""


class StateFacts(NamedTuple):
    """What a word follows from: looks and changes since the latest focus was opened, and whether it returned."""

    looks: int
    run: Run
    lost: int
    ready: Stretch | None
    holding: Stretch | None
    is_back: bool


def word_for(found: StateFacts, is_closed: bool, rules: Rules) -> Word:
    """The word: the first of these rules that applies."""
    if is_closed and (found.ready or not found.is_back):
        return "closed"
    if found.ready:
        return "ready_to_close"
    if found.holding:
        return "holding"
    if found.is_back:
        return "returned"
    if found.looks < rules.new_looks:
        return "new"
    return "does_not_hold" if found.lost >= rules.lost and found.run.arrivals < rules.holding else "in_progress"


def ready_stretch(looked: Sequence[LookPoint], arrivals: Sequence[LookPoint], rules: Rules) -> Stretch | None:
    """The latest looks that make a focus ready to close; None where it is not."""
    return stretch_of(looked, arrivals, READY_BELOW, rules.ready, rules.ready_days)


def holding_stretch(looked: Sequence[LookPoint], arrivals: Sequence[LookPoint], rules: Rules) -> Stretch | None:
    """The latest looks that make it hold; None where it does not."""
    return stretch_of(looked, arrivals, HOLDING_BELOW, rules.holding, 0)


def stretch_of(
    looked: Sequence[LookPoint], arrivals: Sequence[LookPoint], below: float, in_a_row: int, days: int
) -> Stretch | None:
    """The fewest of the latest looks, over so many days, whose upper bound of how often it is seen lies below a share.

    None where there are none, or where fewer than `in_a_row` were good up to now. Of all arrivals, those that were
    looked at less often than before count as if it had been seen.
    """
    if len(looked) < in_a_row or any(point.seen for point in looked[len(looked) - in_a_row :]):
        return None
    latest, allowed = looked[: -LATEST - 1 : -1], limits(below)
    for place, seen in enumerate(accumulate(point.seen for point in latest)):
        if seen > allowed[place] or (span := (latest[0].day - latest[place].day).days) < days:
            continue
        missed = missed_since(arrivals, latest[place].day, latest[0].day)
        if not missed or seen + missed <= most_seen(place + 1 + missed, below):
            return Stretch(place + 1 - seen, place + 1, span)
    return None


def is_looked_less(found: StateFacts, looked: Sequence[LookPoint], rules: Rules) -> bool:
    """Whether it would hold, or be ready to close, if only the looks were counted."""
    if found.ready:
        return False
    return bool(ready_stretch(looked, (), rules) or (not found.holding and holding_stretch(looked, (), rules)))


@cache
def limits(below: float) -> tuple[int, ...]:
    """`most_seen` of 1, 2, 3 looks and so on."""
    return tuple(most_seen(number, below) for number in range(1, LATEST + 1))


def most_seen(number: int, below: float) -> int:
    """On how many looks it may be seen for its upper bound to lie below a share; -1 for too few looks.

    The bound is exact, at 95 % and one-sided. Clopper & Pearson (1934), Biometrika 26, 404-413.
    """
    return sum(binomial_tail(seen, number, below) <= 0.05 for seen in range(number + 1)) - 1


def has_returned(ending: Ending | None, latest: Span, rules: Rules) -> bool:
    """Whether it was seen again after it ended: often enough, or once before it was opened again."""
    return ending is not None and ending.seen > 0 and (is_seen_often(ending, rules) or ending.on < latest.opened)


def is_seen_often(ending: Ending, rules: Rules) -> bool:
    """Whether it was seen on as many arrivals as a return takes, with one good arrival between at most."""
    if ending.seen < rules.returned:
        return False
    reach, after = rules.returned + 1, ending.after
    return any(sum(after[place : place + reach]) >= rules.returned for place in range(len(after)))


def since_return(looked: Sequence[LookPoint], ending: Ending | None, rules: Rules) -> Sequence[LookPoint]:
    """The looks that say how seldom it is seen: of what returned, those after it ended alone."""
    if ending is None or not is_seen_often(ending, rules):
        return looked
    return [point for point in looked if point.day > ending.on]


def run_of(looked: Sequence[LookPoint]) -> Run:
    """The good arrivals in a row at the end of some looks."""
    row = list(takewhile(lambda point: not point.seen, reversed(looked)))
    return Run(len(row), (row[0].day - row[-1].day).days if row else 0)


def lost_in_a_row(results: Iterable[Outcome]) -> int:
    """How many of the latest changes were lost by the next arrival, one after the other."""
    verdicts = [result.verdict for result in results]
    return len(list(takewhile(lambda verdict: verdict == "lost", reversed(verdicts))))


def ending_of(
    looked: Sequence[LookPoint], arrivals: Sequence[LookPoint], spans: Sequence[Span], rules: Rules
) -> Ending | None:
    """When a fault was last ready to close or closed by a coach; takes the looks since it was first opened."""
    closings = [span.closed for span in spans if span.closed]
    found: Ending | None = None
    row = 0
    for place, point in enumerate(looked, 1):
        while closings and closings[0] < point.day:
            found = Ending(closings.pop(0), True)
        found = found and found._replace(after=(*found.after, point.seen))
        row = 0 if point.seen else row + 1
        is_open = found is None or found.seen > 0
        weighed = since_return(looked[:place], found, rules) if is_open and row >= rules.ready else ()
        if ready_stretch(weighed, arrivals, rules):
            found = Ending(point.day, False)
    return Ending(closings[-1], True) if closings else found
