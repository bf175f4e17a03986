"""What a judgement says: to a coach with its numbers, to a student in plain words."""

from datetime import date

from lessons.progress.held import Held
from lessons.progress.intervals import Interval, Share, wilson
from lessons.progress.judgement import Judgement, Trend
from lessons.progress.points import Stretch
from lessons.progress.states import Rules, State, Word
from lessons.progress.words import counted, on

FEW = 8  # looks; below, a share is told as "n of m" and never as a percentage
STATES: dict[Word, str] = {
    "new": "new",
    "working": "working",
    "slips": "changes in the lesson but does not hold",
    "holding": "holding",
    "done": "done",
    "back": "came back",
}
PLAIN: dict[Word, str] = {
    "new": "Just begun",
    "working": "You are working on it",
    "slips": "It works in the lesson; now let it last until the next one",
    "holding": "It is holding",
    "done": "Done, and it stays",
    "back": "Time to work on it again",
}


# --- Shares -------------------------------------------------------------------------------------


def share_words(share: Share) -> str:
    """So many of so many; from eight looks on with the percentage and how far it may be off."""
    words = f"{share.seen} of {share.of}"
    if share.of < FEW:
        return words
    return f"{words} ({percent(share.rate)}, 95% interval {interval_words(wilson(share))})"


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
    if state.word == "done" and state.closed and state.done_on:
        return f"closed on {on(state.done_on)}{seen_since(state)}"
    if state.word in ("done", "holding"):
        return run_words(state)
    if state.word == "back" and state.done_on:
        return f"done on {on(state.done_on)}{seen_since(state)}"
    if state.word == "slips":
        return f"the last {state.lost} changes were lost by the next arrival"
    return f"taken on {on(state.since)}, {looked_words(state.looks)} since"


def run_words(state: State) -> str:
    """Sound arrivals in a row."""
    return f"sound on {state.run.arrivals} arrivals in a row over {counted(state.run.days, 'day')}"


def seen_since(state: State) -> str:
    """What was seen after it was done."""
    return f", seen on {counted(state.seen_since, 'arrival')} since" if state.seen_since else ""


def looked_words(number: int) -> str:
    """On how many arrivals somebody looked."""
    return f"looked at on {counted(number, 'arrival')}" if number else "not looked at"


def rules_words(rules: Rules) -> list[tuple[str, str]]:
    """Every word with the rule by which it is used, the first that applies; for whoever asks what a word means."""
    return [
        ("done", f"sound on {rules.done} arrivals in a row over {rules.done_days} days or more, or closed by a coach"),
        ("holding", f"sound on {rules.holding} arrivals in a row"),
        ("came back", f"seen on {rules.back} arrivals after it was done, or once and taken on again"),
        ("new", f"looked at on fewer than {rules.new_looks} arrivals since it was taken on"),
        (STATES["slips"], f"the last {rules.slips} changes made in a lesson were all lost by the next arrival"),
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


# --- Changes ------------------------------------------------------------------------------------


def changed_words(found: Judgement) -> str:
    """What lessons changed between arrival and departure; nothing where none looked both times."""
    pairs = found.changed
    if not pairs.total:
        return ""
    told = f"In {counted(pairs.total, 'lesson')} looked at on arrival and departure, rated by the coach who taught it: "
    seen = f"seen on arrival in {pairs.first.seen}, on departure in {pairs.second.seen}"
    if pairs.total < FEW:
        return f"{told}{seen}."
    chance = "unlikely to be chance" if found.changed_p <= 0.05 else "which chance may do"
    return f"{told}{seen}, {chance} (95% interval of the difference {points_words(found.changed_by)})."


def held_words(held: Held) -> str:
    """What became of changes by the next arrival; nothing where there was none to ask."""
    if not held.total:
        return ""
    made = f"Of {counted(held.total, 'change')} made in a lesson"
    return f"{made}, {held_parts(held)} by the next arrival{held_interval(held)}."


def held_parts(held: Held) -> str:
    """Held, partly, lost."""
    return f"{held.held} held, {held.partly} held partly, {held.lost} {'was' if held.lost == 1 else 'were'} lost"


def held_interval(held: Held) -> str:
    """How far the share that held may be off, from eight changes on."""
    return (
        ""
        if held.total < FEW
        else f" (held: {percent(held.share.rate)}, 95% interval {interval_words(wilson(held.share))})"
    )


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
