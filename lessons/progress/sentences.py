"""A judgement in words: for a coach in counts and plain sentences, with the statistics apart; for a student.

The functions `*_numbers` give what a page shows behind "How sure is this?"; all others give what stands outside.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import date

from lessons.progress.focus_states import Rules, State, Word
from lessons.progress.held import Held, Outcome, count_verdicts
from lessons.progress.intervals import Interval, Share, wilson
from lessons.progress.judgement import Judgement, Trend
from lessons.progress.points import LookCounts, LookPoint, Totals
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
SELECTIVE_LOOKS = (
    "It is mostly looked at when it is there, so how often it was seen says little; look on the good days, too."
)
TOO_FEW = "Cannot tell yet whether it changes: too few looks since it was opened."
ALWAYS = 0.9  # looked at on at least this share of the arrivals: what was always seen is always there
SAME_WITHIN = 0.3  # a change of less than 30 points is about the same. Common practice, no source
SPANS = ("up to 14 days", "15 to 28 days", "over 28 days")
PRACTICE = {"none": "none", "some": "some", "most": "most", "all": "all", "": "not asked"}
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


def seen_words(total: Totals) -> str:
    """On how many looks it was seen, for a list."""
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
    if state.word == "closed" and state.ended_on and state.closed:
        return f"on {on(state.ended_on)}{seen_since(state)}"
    if state.word in ("closed", "ready_to_close", "holding"):
        return run_words(state)
    if state.word == "returned" and state.ended_on:
        return f"{'closed' if state.closed else 'ready to close'} on {on(state.ended_on)}{seen_since(state)}"
    if state.word == "does_not_hold":
        return f"{lost_words(state.lost)} lost by the next arrival"
    return f"opened {on(state.since)}, {looked_words(state.looks)} since"


def run_words(state: State) -> str:
    """Good arrivals in a row."""
    if state.run.arrivals == 1:
        return "good on the last arrival"
    return f"good on {state.run.arrivals} arrivals in a row over {counted(state.run.days, 'day')}"


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
    return [
        (STATES["closed"], "a coach closed it"),
        (STATES["ready_to_close"], f"good on {ready} in a row over {counted(rules.ready_days, 'day')} or more"),
        (STATES["holding"], f"good on {holding} in a row"),
        (STATES["returned"], f"seen on {returned} after it was closed or ready to close, or on one and opened again"),
        (STATES["new"], f"looked at on fewer than {new} since it was opened"),
        (STATES["does_not_hold"], f"{lost_words(rules.lost, ' all')} lost by the next arrival"),
        (STATES["in_progress"], "none of these"),
    ]


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


def held_words(held: Held) -> str:
    """How many changes were still there at the next arrival; empty where there were none."""
    if not held.total:
        return ""
    if held.total == 1:
        became = "held until" if held.held else "held partly until" if held.partly else "was lost by"
        return f"The one change made in a lesson {became} the next arrival."
    return f"Of {held.total} changes made in a lesson, {held_parts(held)} by the next arrival."


def held_parts(held: Held) -> str:
    """The counts of held, partly and lost."""
    lost = "none was" if not held.lost else "1 was" if held.lost == 1 else f"{held.lost} were"
    return f"{held.held or 'none'} held, {held.partly or 'none'} held partly, {lost} lost"


def held_numbers(held: Held) -> str:
    """The share of changes that held with its interval, from eight changes on."""
    return "" if held.total < FEW else f"held on {share_words(held.share)}"


def held_by_days(results: Sequence[Outcome]) -> list[tuple[str, Held]]:
    """Outcomes counted by the days until the arrival that showed them, without empty groups."""
    return grouped(results, SPANS, lambda result: SPANS[(result.days > 14) + (result.days > 28)])


def held_by_practice(results: Sequence[Outcome], points: Sequence[LookPoint]) -> list[tuple[str, Held]]:
    """Outcomes counted by the practice reported on the arrival that showed them, without empty groups."""
    return grouped(results, PRACTICE.values(), lambda result: PRACTICE[points[result.now].practice_reported])


def grouped(
    results: Sequence[Outcome], names: Iterable[str], name_of: Callable[[Outcome], str]
) -> list[tuple[str, Held]]:
    """Outcomes counted by name, in the order of the names."""
    found = ((name, count_verdicts(each.verdict for each in results if name_of(each) == name)) for name in names)
    return [(name, held) for name, held in found if held.total]


# --- To a student -------------------------------------------------------------------------------


def plain_state(state: State) -> str:
    """The state for the student and guardians, with no number that compares them with anybody."""
    return PLAIN[state.word]


def plain_trend(trend: Trend) -> str:
    """Whether it gets better, for the student and guardians."""
    if trend.kind and trend.kendall.s < 0:
        return "Getting better, and that is unlikely to be luck."
    if trend.kind:
        return "Some extra practice would help here."
    return "Cannot tell yet whether it changes." if trend.can_be_significant else "It is too early to see a change."
