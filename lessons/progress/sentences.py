"""A judgement in words: for a coach in counts and plain sentences, with the statistics apart; for a student.

The functions `*_numbers` give what a page shows behind "How sure is this?"; all others give what stands outside.
"""

from lessons.progress.focus_states import (
    HOLDING_BELOW,
    LATEST,
    READY_BELOW,
    Rules,
    Run,
    State,
    Stretch,
    Word,
    most_seen,
)
from lessons.progress.intervals import Interval, Share, wilson
from lessons.progress.judgement import Judgement
from lessons.progress.points import LookCounts
from lessons.progress.words import counted, on

FEW = 8  # looks; below, a share is given as "n of m" and never as a percentage
UNLOOKED = 3  # arrivals in a row without a look, from which that is said. Common practice, no source
SIGNIFICANCE = 0.05  # a smaller p-value is called unlikely to be chance
STATES: dict[Word, str] = {
    "new": "new",
    "in_progress": "in progress",
    "does_not_hold": "does not hold",
    "holding": "holding",
    "ready_to_close": "ready to close",
    "closed": "closed",
    "returned": "returned",
}
AFTER_ITS_END = "after it was closed or ready to close"
PLAIN: dict[Word, str] = {
    "new": "Just started",
    "in_progress": "You are working on it",
    "does_not_hold": "It works in the lesson; the next step is to keep it until the next one",
    "holding": "It is holding",
    "ready_to_close": "Nearly finished; keep it that way",
    "closed": "Finished; keep it that way",
    "returned": "Worth practising again",
}


# --- Shares -------------------------------------------------------------------------------------


def share_words(share: Share) -> str:
    """A share as a count; from eight looks on with its percentage and interval."""
    words = f"{share.seen} of {share.of}"
    if share.of < FEW:
        return words
    return f"{words} ({percent(share.rate)}, 95% interval {interval_words(wilson(share))})"


def seen_words(found: Judgement) -> str:
    """On how many looks it was seen, for a list."""
    total = found.total
    if found.has_selective_looks:
        return f"noted on {counted(total.looked, 'arrival')}, mostly when it was there"
    return f"seen on {total.seen} of {counted(total.looked, 'look')}"


def percent(rate: float) -> str:
    """A rate in whole percent."""
    return f"{100 * rate:.0f}%"


def interval_words(interval: Interval) -> str:
    """An interval in whole percent."""
    return f"{100 * interval.low:.0f} to {percent(interval.high)}"


def points_words(interval: Interval) -> str:
    """The interval of a difference, in percentage points; negative where the rate rises."""
    low, high = (f"{100 * value:.0f}".replace("-", "−") for value in interval)
    return f"{low} to {high} points"


def degrees_words(counts: LookCounts) -> str:
    """What some looks showed, by degree."""
    parts = [
        (counts.clear, "clear"),
        (counts.slight, "slight"),
        (counts.not_graded, "not graded"),
        (counts.good, "good"),
    ]
    return ", ".join(f"{number} {word}" for number, word in parts if number)


def p_words(p: float) -> str:
    """A p-value, never as 0."""
    return "under 0.001" if p < 0.001 else f"{p:.3f}" if p < 0.1 else f"{p:.2f}"


# --- States -------------------------------------------------------------------------------------


def reason(state: State) -> str:
    """Why the state has its word, as a coach reads it."""
    return f"{reason_words(state)}{', counting one arrival a day' if state.same_day else ''}{doubt_words(state)}"


def doubt_words(state: State) -> str:
    """What else the state may come from: an eye that is new, or arrivals on which nobody looked."""
    if state.word == "closed":
        return ""
    new_eye = f"; rated by {state.rated_by}, who rated none before" if state.rated_by else ""
    if state.unlooked >= UNLOOKED:
        return f"{new_eye}; not looked at on the last {state.unlooked} arrivals"
    return f"{new_eye}; looked at less often than before" if state.is_looked_less else new_eye


def reason_words(state: State) -> str:
    """The reason, whichever arrivals count."""
    if state.word == "closed" and state.ended_on and state.closed:
        return f"on {on(state.ended_on)}{seen_since(state)}"
    if state.stretch and state.word in ("closed", "ready_to_close", "holding"):
        return stretch_words(state.stretch, state.run)
    if state.word == "closed" and state.ended_on:
        return f"ready to close again on {on(state.ended_on)}{seen_since(state)}"
    if state.word == "returned" and state.ended_on:
        ended = "closed" if state.closed else "ready to close"
        return f"{ended} on {on(state.ended_on)}{seen_since(state)}{good_lately(state)}"
    if state.word == "does_not_hold":
        return f"{lost_words(state.lost)} lost by the next arrival"
    return f"opened {on(state.since)}, {looked_words(state.looks)} since{good_lately(state)}"


def stretch_words(stretch: Stretch, run: Run) -> str:
    """How seldom it was seen lately."""
    if run.arrivals >= stretch.arrivals:
        return f"good on {run.arrivals} arrivals in a row over {counted(run.days, 'day')}"
    lately = f"good on {stretch.good} of the last {stretch.arrivals} arrivals over {counted(stretch.days, 'day')}"
    return f"{lately}, and on the last {run.arrivals if run.arrivals > 1 else 'one'}"


def good_lately(state: State) -> str:
    """That the last arrivals were good, from two on."""
    return f", good on the last {state.run.arrivals}" if state.run.arrivals > 1 else ""


def lost_words(number: int, all_of: str = "") -> str:
    """The subject of a sentence about the last changes, one or more."""
    return "the last change was" if number == 1 else f"the last {number} changes were{all_of}"


def seen_since(state: State) -> str:
    """On how many arrivals it was seen after it was closed or ready to close."""
    return f", seen on {counted(state.seen_since, 'arrival')} since" if state.seen_since else ""


def looked_words(number: int) -> str:
    """On how many arrivals it was looked at."""
    return f"looked at on {counted(number, 'arrival')}" if number else "not looked at"


def rules_words(rules: Rules) -> list[tuple[str, str]]:
    """Every state with its rule, in the order in which the rules are tried."""
    ready, holding, returned, new = (
        counted(number, "arrival") for number in (rules.ready, rules.holding, rules.returned, rules.new_looks)
    )
    days = counted(rules.ready_days, "day")
    return [
        (STATES["closed"], "a coach closed it"),
        (STATES["ready_to_close"], f"good on {ready} in a row, and {seldom_words(READY_BELOW)}, over {days} or more"),
        (STATES["holding"], f"good on {holding} in a row, and {seldom_words(HOLDING_BELOW)}"),
        (
            STATES["returned"],
            f"seen on {returned}, at most one good one between, {AFTER_ITS_END}, or once and opened again",
        ),
        (STATES["new"], f"looked at on fewer than {new} since it was opened"),
        (STATES["does_not_hold"], f"{lost_words(rules.lost, ' all')} lost by the next arrival"),
        (STATES["in_progress"], "none of these"),
    ]


def seldom_words(below: float) -> str:
    """What an upper bound below this share asks of the latest looks, up to two of which saw it."""
    none, one, two = (next(of for of in range(1, LATEST + 1) if most_seen(of, below) >= seen) for seen in range(3))
    return f"lately seen on none of {none}, on 1 of {one} or on 2 of {two}, looked at about as often as before"


# --- Changes ------------------------------------------------------------------------------------


def changed_words(found: Judgement) -> str:
    """What lessons changed between arrival and departure; empty where none was looked at both times."""
    pairs = found.changed
    if not pairs.total:
        return ""
    lessons = f"Of {counted(pairs.total, 'lesson')} looked at on arrival and departure"
    seen = f"seen in {pairs.first.seen or 'none'} on arrival and in {pairs.second.seen or 'none'} on departure"
    counts = f"{lessons}, {seen}, rated by the coach who taught it."
    if pairs.total < FEW:
        return counts
    is_unlikely = found.changed_p <= SIGNIFICANCE
    return f"{counts} {'That is unlikely to be chance.' if is_unlikely else 'That may be chance.'}"


def changed_numbers(found: Judgement) -> str:
    """The statistics of that, from eight lessons on."""
    if found.changed.total < FEW:
        return ""
    by = f"{points_words(found.changed_by)} less often on departure, 95% interval"
    return f"{by}; p {p_words(found.changed_p)}, exact"


# --- To a student -------------------------------------------------------------------------------


def plain_state(state: State) -> str:
    """The state for the student and guardians, with no number that compares them with anybody."""
    return PLAIN[state.word]
