"""A judgement in words: for a coach in counts and plain sentences, with the statistics apart; for a student.

The functions `*_numbers` give what a page shows behind "How sure is this?"; all others give what stands outside.
"""

from datetime import date

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
from lessons.progress.judgement import Judgement, Trend
from lessons.progress.points import LookCounts
from lessons.progress.trend import EXACT_UP_TO
from lessons.progress.words import counted, on

FEW = 8  # looks; below, a share is given as "n of m" and never as a percentage
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
SELECTIVE_TREND = "Cannot tell yet whether it changes: it is mostly looked at when it is there."
TOO_FEW = "Cannot tell yet whether it changes: too few looks since it was opened."
ALWAYS = 0.9  # looked at on at least this share of the arrivals: what was always seen is always there
SAME_WITHIN = 0.3  # a change of less than 30 points is about the same. Common practice, no source
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


# --- States -------------------------------------------------------------------------------------


def reason(state: State) -> str:
    """Why the state has its word, as a coach reads it."""
    return f"{reason_words(state)}{', counting one arrival a day' if state.same_day else ''}"


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
    return f"lately seen on none of {none}, on 1 of {one} or on 2 of {two}"


# --- Trends -------------------------------------------------------------------------------------


def trend_words(trend: Trend) -> str:
    """One sentence on whether it has changed since the focus was opened, and what else could look like it."""
    if trend.halves is None:
        return TOO_FEW
    first, second = trend.halves
    if trend.kind:
        since = f"{trend.kind.capitalize()} than {months(first, second.ends)}, unlikely to be chance"
        return f"{since}: {halves_words(trend)}. {same_look(trend)}".strip()
    if not first.share.seen and not second.share.seen:
        return f"Good on all {first.share.of + second.share.of} arrivals looked at since it was opened."
    if trend.is_always_seen and trend.kendall.looks >= FEW:
        return always_words(trend)
    if is_about_the_same(trend):
        return f"About the same: {halves_words(trend)}."
    if not trend.can_be_significant and not trend.new_coach:
        return TOO_FEW
    return f"Cannot tell yet whether it changes: {halves_words(trend)}{open_reason(trend)}."


def whether_changed(found: Judgement) -> str:
    """The sentence of `trend_words`, where the looks allow one; empty without a focus."""
    if found.trend is None:
        return ""
    return SELECTIVE_TREND if found.has_selective_looks else trend_words(found.trend)


def whether_changed_short(found: Judgement) -> str:
    """The same in a few words, for a list."""
    if found.trend is None:
        return ""
    return "cannot tell yet" if found.has_selective_looks else trend_short(found.trend)


def same_look(trend: Trend) -> str:
    """What would look the same as a change; empty for a fault that gets better alone."""
    is_better = trend.kendall.s < 0
    if trend.is_shared:
        return f"Other faults go the same way, and {eye_words(is_better)}."
    return "" if is_better else "A stricter eye looks the same as a worse swing."


def eye_words(is_better: bool) -> str:
    """What an eye that changed looks like."""
    eye, swing = ("kinder", "better") if is_better else ("stricter", "worse")
    return f"a {eye} eye looks the same as a {swing} swing"


def always_words(trend: Trend) -> str:
    """Of a fault that was seen on every look: always there only where it was looked at on nearly every arrival."""
    number = trend.kendall.looks
    if number < ALWAYS * trend.arrivals:
        return f"Seen on all {number} looks since it was opened, of {trend.arrivals} arrivals."
    return f"Always there: seen on all {number} looks since it was opened."


def is_about_the_same(trend: Trend) -> bool:
    """Whether the looks exclude a change of 30 points, up or down."""
    low, high = trend.change
    return low > -SAME_WITHIN and high < SAME_WITHIN


def open_reason(trend: Trend) -> str:
    """The one reason why nobody can tell."""
    if trend.new_coach:
        return (
            f"; {trend.new_coach} made most of the later looks,"
            " and a stricter or kinder eye looks the same as a change in the swing"
        )
    if trend.is_shared:
        return f"; other faults go the same way, and {eye_words(trend.kendall.s < 0)}"
    if looks_changed(trend):
        return ", and a streak could look like that"
    return ", too few for a small change"


def looks_changed(trend: Trend) -> bool:
    """Whether the picture seems to rise or fall: the halves differ by 30 points or more."""
    assert trend.halves is not None
    first, second = (half.share.rate for half in trend.halves)
    return abs(first - second) >= SAME_WITHIN


def trend_short(trend: Trend) -> str:
    """The same in a few words, for a list."""
    if trend.halves is None:
        return "cannot tell yet"
    if trend.kind:
        return f"{trend.kind} than before"
    if not any(half.share.seen for half in trend.halves):
        return "good throughout"
    if trend.is_always_seen and trend.kendall.looks >= max(FEW, ALWAYS * trend.arrivals):
        return "always there"
    return "about the same" if is_about_the_same(trend) else "cannot tell yet"


def halves_words(trend: Trend) -> str:
    """What the two halves of the looks showed: how often it was seen, or how often it was clear where that changed."""
    assert trend.halves is not None
    first, second = trend.halves
    seen = f"seen on {first.share.seen} of the first {first.share.of} looks"
    then = f"then on {second.share.seen} of {second.share.of}"
    if trend.kind in ("", "rarer", "more often"):
        return f"{seen}, {then}"
    return f"{seen} ({first.clear or 'none'} clear), {then} ({second.clear or 'none'} clear)"


def months(counts: LookCounts, until: date) -> str:
    """The months of some looks, with the year where it differs from that of `until`."""
    begins, ends = month(counts.begins, until), month(counts.ends, until)
    return f"in {begins}" if begins == ends else f"from {begins} to {ends}"


def month(day: date, until: date) -> str:
    """The month of a day, with its year where it differs from that of `until`."""
    return f"{day:%B}" if day.year == until.year else f"{day:%B %Y}"


def degrees_words(counts: LookCounts) -> str:
    """What some looks showed, by degree."""
    parts = [
        (counts.clear, "clear"),
        (counts.slight, "slight"),
        (counts.not_graded, "not graded"),
        (counts.good, "good"),
    ]
    return ", ".join(f"{number} {word}" for number, word in parts if number)


def trend_numbers(trend: Trend) -> list[tuple[str, str]]:
    """The statistics of a trend, by name; none for fewer than two looks."""
    if trend.halves is None:
        return []
    first, second = trend.halves
    found = [("First looks", counts_words(first)), ("Later looks", counts_words(second))]
    if first.share.of + second.share.of >= FEW:
        fewer = f"{points_words(trend.change)} less often in the later looks (above 0 is better), 95% interval"
        found.append(("Difference", fewer))
    return [*found, ("Order of the looks", order_words(trend))]


def counts_words(counts: LookCounts) -> str:
    """When some looks were, on how many it was seen, and in which degrees."""
    days = on(counts.begins) if counts.begins == counts.ends else f"{on(counts.begins)} to {on(counts.ends)}"
    return f"{days}: seen on {share_words(counts.share)}; {degrees_words(counts)}"


def order_words(trend: Trend) -> str:
    """S, its p-value if all orders of the looks were as likely, and the one that decides."""
    how = "exact" if trend.kendall.looks <= EXACT_UP_TO else "approximate"
    s = str(trend.kendall.s).replace("-", "−")
    p = f"p {p_words(trend.kendall.p)}, {how}, if looks were independent"
    allowing = f"{p_words(trend.sequential.p)} with streaks and repeated reading allowed for"
    return f"S = {s} over {trend.kendall.looks} looks, below 0 is better; {p}; {allowing}"


def p_words(p: float) -> str:
    """A p-value, never as 0."""
    return "under 0.001" if p < 0.001 else f"{p:.3f}" if p < 0.1 else f"{p:.2f}"


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


def plain_change(found: Judgement) -> str:
    """Whether it gets better, for the student and guardians, where the looks allow to say; empty without a focus."""
    if found.trend is None:
        return ""
    return "Cannot tell yet whether it changes." if found.has_selective_looks else plain_trend(found.trend)


def plain_trend(trend: Trend) -> str:
    """Whether it gets better, for the student and guardians."""
    if trend.kind and trend.kendall.s < 0:
        return "Getting better, and that is unlikely to be luck."
    if trend.kind:
        return "Some extra practice would help here."
    return "Cannot tell yet whether it changes." if trend.can_be_significant else "It is too early to see a change."
