"""How far a focus has come, in one of six words, by rules that an academy may change."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import takewhile
from typing import Literal, NamedTuple

from lessons.progress.held import Outcome
from lessons.progress.points import LookPoint, looks

Word = Literal["new", "working", "slips", "holding", "done", "back"]


@dataclass(frozen=True)
class Rules:
    """From how many arrivals on a word is used. Common practice, no source."""

    new_looks: int = 2  # fewer arrivals with a look since it was taken on: new
    slips: int = 2  # the last so many changes were all lost by the next arrival: it does not hold
    holding: int = 2  # sound on so many arrivals in a row: holding
    done: int = 3  # sound on so many in a row ...
    done_days: int = 28  # ... over so many days: done
    back: int = 2  # seen on so many arrivals after it was done: came back


class Span(NamedTuple):
    """The days on which a focus was taken on and closed; no second day while it is open."""

    taken: date
    closed: date | None


class Run(NamedTuple):
    """Sound arrivals in a row, and over how many days."""

    arrivals: int
    days: int


@dataclass(frozen=True)
class State:
    """The word, and what it rests on."""

    word: Word
    since: date  # when it was taken on, the last time
    looks: int  # arrivals with a look since then
    run: Run  # sound arrivals in a row up to now
    lost: int  # changes lost in a row up to now
    done_on: date | None = None  # when it was done, before it came back or as it stands
    closed: bool = False  # whether the coach closed it on that day
    seen_since: int = 0  # arrivals on which it was seen after it was done


class Ending(NamedTuple):
    """When a fault was done, whether the coach said so, and on how many arrivals it was seen after that."""

    on: date
    closed: bool
    seen: int


def state_of(points: Sequence[LookPoint], results: Sequence[Outcome], spans: Sequence[Span], rules: Rules) -> State:
    """How far the latest of a fault's focuses has come.

    Takes points and spans oldest first, and the `outcomes` of the points. Raises ValueError where it was never taken
    on.
    """
    if not spans:
        raise ValueError("no focus, no state")
    latest, looked = spans[-1], looks(points)
    after = [point for point in looked if point.day > latest.taken]
    run = run_of(after)
    lost = lost_in_a_row(result for result in results if points[result.before].day >= latest.taken)
    ending = ending_of([point for point in looked if point.day > min(span.taken for span in spans)], spans, rules)
    word = word_for(len(after), run, lost, came_back(ending, latest, rules), bool(latest.closed), rules)
    on, closed, seen = ending or (None, False, 0)
    return State(word, latest.taken, len(after), run, lost, on, closed, seen)


def word_for(looked: int, run: Run, lost: int, is_back: bool, is_closed: bool, rules: Rules) -> Word:
    """The word: the first of these rules that applies."""
    if is_done(run, rules) or (is_closed and not is_back):
        return "done"
    if run.arrivals >= rules.holding:
        return "holding"
    if is_back:
        return "back"
    if looked < rules.new_looks:
        return "new"
    return "slips" if lost >= rules.slips else "working"


def is_done(run: Run, rules: Rules) -> bool:
    """Whether a run is long enough, in arrivals and in days."""
    return run.arrivals >= rules.done and run.days >= rules.done_days


def came_back(ending: Ending | None, latest: Span, rules: Rules) -> bool:
    """Whether what was done was seen again: often enough, or once and then it was taken on again."""
    if ending is None or ending.seen == 0:
        return False
    return ending.seen >= rules.back or ending.on < latest.taken


def run_of(looked: Sequence[LookPoint]) -> Run:
    """The sound arrivals in a row at the end of some looks."""
    row = list(takewhile(lambda point: not point.seen, reversed(looked)))
    return Run(len(row), (row[0].day - row[-1].day).days if row else 0)


def lost_in_a_row(results: Iterable[Outcome]) -> int:
    """How many of the latest changes were lost by the next arrival, one after the other."""
    verdicts = [result.verdict for result in results]
    return len(list(takewhile(lambda verdict: verdict == "lost", reversed(verdicts))))


def ending_of(looked: Sequence[LookPoint], spans: Sequence[Span], rules: Rules) -> Ending | None:
    """When a fault was last done, by the rule or because a coach closed it; takes the looks since it was taken on."""
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
        if is_done(Run(row, (point.day - first).days), rules) and (found is None or found.seen):
            found = Ending(point.day, False, 0)
    return Ending(closings[-1], True, 0) if closings else found
