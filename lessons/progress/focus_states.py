"""The state of a focus, by rules whose numbers an academy may change."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import takewhile
from typing import Literal, NamedTuple

from lessons.progress.held import Outcome
from lessons.progress.points import LookPoint, looks

# "closed" is the coach's decision; all others follow from the looks.
Word = Literal["new", "in_progress", "does_not_hold", "holding", "ready_to_close", "closed", "returned"]


@dataclass(frozen=True)
class Rules:
    """The numbers from which each state applies. Common practice, no source."""

    new_looks: int = 2  # fewer arrivals with a look since it was opened: new
    lost: int = 2  # the last so many changes were all lost by the next arrival: does not hold
    holding: int = 2  # good on so many arrivals in a row: holding
    ready: int = 3  # good on so many arrivals in a row ...
    ready_days: int = 28  # ... over so many days: ready to close
    returned: int = 2  # seen on so many arrivals after it was closed or ready to close: returned


class Span(NamedTuple):
    """The days on which a focus was opened and closed; no second day while it is open."""

    opened: date
    closed: date | None


class Run(NamedTuple):
    """Good arrivals in a row, and over how many days."""

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
    ended_on: date | None = None  # when it was last closed or ready to close
    closed: bool = False  # whether the coach closed it on that day
    seen_since: int = 0  # arrivals on which it was seen after that day


class Ending(NamedTuple):
    """When a fault was closed or ready to close, which of the two, and on how many arrivals it was seen after that."""

    on: date
    closed: bool
    seen: int


def state_of(points: Sequence[LookPoint], results: Sequence[Outcome], spans: Sequence[Span], rules: Rules) -> State:
    """The state of the latest of a fault's focuses.

    Takes points and spans oldest first, and the `outcomes` of the points. Raises ValueError where there is no span.
    """
    if not spans:
        raise ValueError("no focus, no state")
    latest, looked = spans[-1], looks(points)
    after = [point for point in looked if point.day > latest.opened]
    run = run_of(after)
    lost = lost_in_a_row(result for result in results if points[result.before].day >= latest.opened)
    ending = ending_of([point for point in looked if point.day > min(span.opened for span in spans)], spans, rules)
    word = word_for(len(after), run, lost, has_returned(ending, latest, rules), bool(latest.closed), rules)
    on, closed, seen = ending or (None, False, 0)
    return State(word, latest.opened, len(after), run, lost, on, closed, seen)


def word_for(looked: int, run: Run, lost: int, is_back: bool, is_closed: bool, rules: Rules) -> Word:
    """The word: the first of these rules that applies."""
    if is_closed and (is_ready(run, rules) or not is_back):
        return "closed"
    if is_ready(run, rules):
        return "ready_to_close"
    if run.arrivals >= rules.holding:
        return "holding"
    if is_back:
        return "returned"
    if looked < rules.new_looks:
        return "new"
    return "does_not_hold" if lost >= rules.lost else "in_progress"


def is_ready(run: Run, rules: Rules) -> bool:
    """Whether a run is long enough, in arrivals and in days."""
    return run.arrivals >= rules.ready and run.days >= rules.ready_days


def has_returned(ending: Ending | None, latest: Span, rules: Rules) -> bool:
    """Whether it was seen again after it ended: often enough, or once before it was opened again."""
    if ending is None or ending.seen == 0:
        return False
    return ending.seen >= rules.returned or ending.on < latest.opened


def run_of(looked: Sequence[LookPoint]) -> Run:
    """The good arrivals in a row at the end of some looks."""
    row = list(takewhile(lambda point: not point.seen, reversed(looked)))
    return Run(len(row), (row[0].day - row[-1].day).days if row else 0)


def lost_in_a_row(results: Iterable[Outcome]) -> int:
    """How many of the latest changes were lost by the next arrival, one after the other."""
    verdicts = [result.verdict for result in results]
    return len(list(takewhile(lambda verdict: verdict == "lost", reversed(verdicts))))


def ending_of(looked: Sequence[LookPoint], spans: Sequence[Span], rules: Rules) -> Ending | None:
    """When a fault was last ready to close or closed by a coach; takes the looks since it was first opened."""
    closings = [span.closed for span in spans if span.closed]
    found: Ending | None = None
    first, row = None, 0
    for point in looked:
        while closings and closings[0] < point.day:
            found = Ending(closings.pop(0), True, 0)
        if point.seen:
            first, row = None, 0
            found = found and found._replace(seen=found.seen + 1)
            continue
        first, row = first or point.day, row + 1
        if is_ready(Run(row, (point.day - first).days), rules) and (found is None or found.seen):
            found = Ending(point.day, False, 0)
    return Ending(closings[-1], True, 0) if closings else found
