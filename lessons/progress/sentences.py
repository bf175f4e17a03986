"""What a judgement says: to a coach with its numbers, to a student in plain words."""

from collections.abc import Callable, Iterable, Sequence
from datetime import date

from lessons.progress.held import Held, Outcome
from lessons.progress.held import counted as counted_verdicts
from lessons.progress.intervals import Interval, Share, wilson
from lessons.progress.judgement import Judgement, Trend
from lessons.progress.points import LookPoint, Stretch, Totals
from lessons.progress.states import Rules, State, Word
from lessons.progress.trend import EXACT_UP_TO
from lessons.progress.words import counted, on

FEW = 8  # looks; below, a share is told as "n of m" and never as a percentage
CHANCE = 0.05  # what chance alone would do more rarely is unlikely to be chance
STATES: dict[Word, str] = {
    "new": "new",
    "working": "working",
    "slips": "changes in the lesson but does not hold",
    "holding": "holding",
    "done": "done",
    "back": "came back",
}
ONLY_WHEN_BAD = (
    "It is mostly looked at when it is there, so how often it was seen says little; look on the good days, too."
)
SPANS = ("up to 14 days", "15 to 28 days", "over 28 days")
TOLD = {"none": "none", "some": "some", "most": "most", "all": "all", "": "not asked"}
PLAIN: dict[Word, str] = {
    "new": "Just begun",
    "working": "You are working on it",
    "slips": "It works in the lesson; now let it last until the next one",
    "holding": "It is holding",
    "done": "Done; keep it that way",
    "back": "It needs some care again",
}


# --- Shares -------------------------------------------------------------------------------------


def share_words(share: Share) -> str:
    """So many of so many; from eight looks on with the percentage and how far it may be off."""
    words = f"{share.seen} of {share.of}"
    if share.of < FEW:
        return words
    return f"{words} ({percent(share.rate)}, 95% interval {interval_words(wilson(share))})"


def seen_words(total: Totals) -> str:
    """On how many looks it was seen, in one line."""
    return f"seen on {total.seen} of {counted(total.looked, 'look')}"


def percent(rate: float) -> str:
    """A rate in whole percent."""
    return f"{100 * rate:.0f}%"


def interval_words(interval: Interval) -> str:
    """From where to where, in whole percent."""
    return f"{100 * interval.low:.0f} to {percent(interval.high)}"


def points_words(interval: Interval) -> str:
    """The interval of a difference, in points of a percentage; a rise has a minus."""
    low, high = (f"{100 * value:.0f}".replace("-", "−") for value in interval)
    return f"{low} to {high} points"


# --- States -------------------------------------------------------------------------------------


def reason(state: State) -> str:
    """What the word of a state rests on, as a coach reads it."""
    if state.word == "done" and state.done_on and (state.closed or state.seen_since):
        return f"{'closed' if state.closed else 'done'} on {on(state.done_on)}{seen_since(state)}"
    if state.word in ("done", "holding"):
        return run_words(state)
    if state.word == "back" and state.done_on:
        return f"done on {on(state.done_on)}{seen_since(state)}"
    if state.word == "slips":
        return f"{lost_words(state.lost)} lost by the next arrival"
    return f"taken on {on(state.since)}, {looked_words(state.looks)} since"


def run_words(state: State) -> str:
    """Sound arrivals in a row."""
    if state.run.arrivals == 1:
        return "sound on the last arrival"
    return f"sound on {state.run.arrivals} arrivals in a row over {counted(state.run.days, 'day')}"


def lost_words(number: int, all_of: str = "") -> str:
    """The last changes, one or more, up to what became of them."""
    return "the last change was" if number == 1 else f"the last {number} changes were{all_of}"


def seen_since(state: State) -> str:
    """What was seen after it was done."""
    return f", seen on {counted(state.seen_since, 'arrival')} since" if state.seen_since else ""


def looked_words(number: int) -> str:
    """On how many arrivals somebody looked."""
    return f"looked at on {counted(number, 'arrival')}" if number else "not looked at"


def rules_words(rules: Rules) -> list[tuple[str, str]]:
    """Every word with the rule by which it is used, the first that applies; for whoever asks what a word means."""
    done, holding, back, new = (
        counted(number, "arrival") for number in (rules.done, rules.holding, rules.back, rules.new_looks)
    )
    return [
        ("done", f"sound on {done} in a row over {counted(rules.done_days, 'day')} or more, or closed by a coach"),
        ("holding", f"sound on {holding} in a row"),
        ("came back", f"seen on {back} after it was done, or once and taken on again"),
        ("new", f"looked at on fewer than {new} since it was taken on"),
        (STATES["slips"], f"{lost_words(rules.slips, ' all')} lost by the next arrival"),
        ("working", "none of these"),
    ]


# --- Trends -------------------------------------------------------------------------------------


def trend_words(trend: Trend) -> str:
    """One sentence on whether it changes since it was taken on."""
    if trend.halves is None:
        return "Too few looks since it was taken on to say whether it changes."
    first, second = trend.halves
    if trend.called:
        return f"{direction(trend)} than {months(first, second.ends)}, unlikely to be chance: {halves_words(trend)}."
    if not first.share.seen and not second.share.seen:
        return f"Sound on all {first.share.of + second.share.of} arrivals looked at since it was taken on."
    if not trend.can_speak:
        return "Too few looks since it was taken on to say whether it changes."
    return f"No sign of change since it was taken on: {halves_words(trend)}."


def direction(trend: Trend) -> str:
    """Which way a called trend goes: how often where that changed, else how badly."""
    assert trend.halves is not None
    first, second = (half.share.rate for half in trend.halves)
    if trend.kendall.s < 0:
        return "Rarer" if second < first else "Milder"
    return "More often" if second > first else "Worse"


def trend_short(trend: Trend) -> str:
    """The same in two or three words, for a list."""
    if trend.halves is None:
        return "too few looks yet"
    if trend.called:
        return f"{direction(trend).lower()} than before"
    if not any(half.share.seen for half in trend.halves):
        return "sound throughout"
    return "no sign of change" if trend.can_speak else "too few looks yet"


def halves_words(trend: Trend) -> str:
    """What the two halves of the looks showed."""
    assert trend.halves is not None
    first, second = (half.share for half in trend.halves)
    return f"seen on {first.seen} of the first {first.of} looks, then on {second.seen} of {second.of}"


def months(stretch: Stretch, until: date) -> str:
    """The months of some looks, with the year where it is not that of the day until which they are compared."""
    begins, ends = month(stretch.begins, until), month(stretch.ends, until)
    return f"in {begins}" if begins == ends else f"from {begins} to {ends}"


def month(day: date, until: date) -> str:
    """The month of a day, with its year where that is another."""
    return f"{day:%B}" if day.year == until.year else f"{day:%B %Y}"


def degrees_words(stretch: Stretch) -> str:
    """What some looks showed, by degree."""
    parts = [
        (stretch.marked, "marked"),
        (stretch.slight, "slight"),
        (stretch.unsaid, "of a degree not said"),
        (stretch.sound, "sound"),
    ]
    return ", ".join(f"{number} {word}" for number, word in parts if number)


def trend_numbers(trend: Trend) -> list[tuple[str, str]]:
    """What a trend rests on, by name; nothing of fewer than two looks."""
    if trend.halves is None:
        return []
    first, second = trend.halves
    found = [("First looks", stretch_words(first)), ("Later looks", stretch_words(second))]
    if first.share.of + second.share.of >= FEW:
        fewer = f"{points_words(trend.change)} less often in the later looks, 95% interval (Newcombe’s method 10)"
        found.append(("Difference", fewer))
    return [*found, ("Kendall’s S", kendall_words(trend))]


def stretch_words(stretch: Stretch) -> str:
    """When some looks were, how many showed it, and how badly."""
    days = on(stretch.begins) if stretch.begins == stretch.ends else f"{on(stretch.begins)} to {on(stretch.ends)}"
    return f"{days}: seen on {share_words(stretch.share)}; {degrees_words(stretch)}"


def kendall_words(trend: Trend) -> str:
    """S, its chance, and how that was reckoned."""
    how = "exact" if trend.kendall.looks <= EXACT_UP_TO else "by the normal curve"
    s = str(trend.kendall.s).replace("-", "−")
    return f"{s} over {trend.kendall.looks} looks, below 0 is better; p {chance_words(trend.kendall.p)}, {how}"


def chance_words(p: float) -> str:
    """A chance, never as none at all."""
    return "under 0.001" if p < 0.001 else f"{p:.3f}" if p < 0.1 else f"{p:.2f}"


# --- Changes ------------------------------------------------------------------------------------


def changed_words(found: Judgement) -> str:
    """What lessons changed between arrival and departure; nothing where none looked both times."""
    pairs = found.changed
    if not pairs.total:
        return ""
    lessons = f"Of {counted(pairs.total, 'lesson')} looked at on arrival and departure"
    seen = f"seen in {pairs.first.seen or 'none'} on arrival and in {pairs.second.seen or 'none'} on departure"
    told = f"{lessons}, {seen}, rated by the coach who taught it."
    if pairs.total < FEW:
        return told
    return f"{told} {'That is unlikely to be chance.' if found.changed_p <= CHANCE else 'That may be chance.'}"


def changed_numbers(found: Judgement) -> str:
    """What that rests on, from eight lessons on."""
    if found.changed.total < FEW:
        return ""
    by = f"{points_words(found.changed_by)} less often on departure, 95% interval (Newcombe’s method 10 for pairs)"
    return f"{by}; p {chance_words(found.changed_p)}, exact (McNemar)"


def held_words(held: Held) -> str:
    """What became of changes by the next arrival; nothing where there was none to ask."""
    if not held.total:
        return ""
    if held.total == 1:
        became = "held until" if held.held else "held partly until" if held.partly else "was lost by"
        return f"The one change made in a lesson {became} the next arrival."
    return f"Of {held.total} changes made in a lesson, {held_parts(held)} by the next arrival{held_interval(held)}."


def held_parts(held: Held) -> str:
    """Held, partly, lost."""
    lost = "none was" if not held.lost else "1 was" if held.lost == 1 else f"{held.lost} were"
    return f"{held.held or 'none'} held, {held.partly or 'none'} held partly, {lost} lost"


def held_interval(held: Held) -> str:
    """How far the share that held may be off, from eight changes on."""
    return (
        ""
        if held.total < FEW
        else f" (held: {percent(held.share.rate)}, 95% interval {interval_words(wilson(held.share))})"
    )


def held_by_days(results: Sequence[Outcome]) -> list[tuple[str, Held]]:
    """What became of changes by the days until the next arrival that told of them, only spans that have any."""
    return grouped(results, SPANS, lambda result: SPANS[(result.days > 14) + (result.days > 28)])


def held_by_told(results: Sequence[Outcome], points: Sequence[LookPoint]) -> list[tuple[str, Held]]:
    """What became of changes by the practice told of on the arrival that told of them, only answers that have any."""
    return grouped(results, TOLD.values(), lambda result: TOLD[points[result.now].told])


def grouped(
    results: Sequence[Outcome], names: Iterable[str], name_of: Callable[[Outcome], str]
) -> list[tuple[str, Held]]:
    """Outcomes counted by name, in the order of the names."""
    found = ((name, counted_verdicts(each.verdict for each in results if name_of(each) == name)) for name in names)
    return [(name, held) for name, held in found if held.total]


# --- To a student -------------------------------------------------------------------------------


def plain_state(state: State) -> str:
    """How far it has come, for the student and guardians; no number that compares them with anybody."""
    return PLAIN[state.word]


def plain_trend(trend: Trend) -> str:
    """Whether it gets better, for the student and guardians."""
    if trend.called and trend.kendall.s < 0:
        return "Getting better, and that is hardly luck."
    if trend.called:
        return "It needs more care than before."
    return "No clear change yet." if trend.can_speak else "It is too early to see a change."
