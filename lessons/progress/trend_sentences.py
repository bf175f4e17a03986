"""A trend in words: whether a fault becomes rarer or milder, and what else could look like it.

`trend_numbers` gives what a page shows behind "How sure is this?"; all others give what stands outside.
"""

from datetime import date

from lessons.progress.intervals import Share, wilson
from lessons.progress.judgement import LATE, Judgement, Trend
from lessons.progress.points import LookCounts
from lessons.progress.sentences import FEW, degrees_words, p_words, points_words, share_words
from lessons.progress.trend import EXACT_UP_TO
from lessons.progress.words import on

SELECTIVE_TREND = "Cannot tell yet whether it changes: it is mostly looked at when it is there."
TOO_FEW = "Cannot tell yet whether it changes: too few looks since it was opened."
ALWAYS = 0.9  # looked at on at least this share of the arrivals: what was always seen is always there
SAME_WITHIN = 0.3  # a change of less than 30 points is about the same. Common practice, no source
NEARLY = 0.7  # surely seen on so many looks, or surely good on so many: nearly always there, or seldom. No source
LEAST_HALVES = 4  # looks, for halves to be told


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
    if often := often_words(trend):
        return often
    if is_about_the_same(trend):
        return f"About the same: {halves_words(trend)}."
    if not trend.can_be_significant and not trend.new_coach and not is_told_in_halves(trend):
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


def often_words(trend: Trend) -> str:
    """Of a fault that was seen on every look, or on nearly every or hardly any one: how often; else empty."""
    share = whole_share(trend)
    if trend.is_always_seen and share.of >= FEW and not is_looked_at_nearly_always(trend):
        return f"Seen on all {share.of} looks since it was opened, of {trend.arrivals} arrivals."
    word = how_often(trend)
    if not word:
        return ""
    if not trend.is_always_seen:
        return f"{word.capitalize()}: seen on {share.seen} of {share.of} looks since it was opened."
    milder = f"; {clear_words(trend)}{open_reason(trend)}" if clear_changed(trend) else ""
    return f"{word.capitalize()}: seen on all {share.of} looks since it was opened{milder}."


def how_often(trend: Trend) -> str:
    """That it is always there, nearly always or seldom; empty where that is not sure, or where it may change."""
    share = whole_share(trend)
    if share.of < FEW or not is_looked_at_nearly_always(trend):
        return ""
    if trend.is_always_seen:
        return "always there"
    if looks_changed(trend) or trend.new_coach:
        return ""
    low, high = wilson(share)
    return "nearly always there" if low >= NEARLY else "seldom there" if high <= 1 - NEARLY else ""


def is_looked_at_nearly_always(trend: Trend) -> bool:
    """Whether it was looked at on nearly every arrival, so that its looks say how often it is there."""
    return trend.kendall.looks >= ALWAYS * trend.arrivals


def whole_share(trend: Trend) -> Share:
    """On how many of all looks it was seen."""
    assert trend.halves is not None
    first, second = (half.share for half in trend.halves)
    return Share(first.seen + second.seen, first.of + second.of)


def is_about_the_same(trend: Trend) -> bool:
    """Whether the looks of the same coaches exclude a change of 30 points, up or down, and none shows in degrees."""
    low, high = trend.change
    return low > -SAME_WITHIN and high < SAME_WITHIN and not clear_changed(trend) and not trend.new_coach


def open_reason(trend: Trend) -> str:
    """The one reason why nobody can tell."""
    if trend.undone:
        return f"; it was {trend.undone} again on each of the last {LATE}"
    if trend.new_coach:
        return (
            f"; {trend.new_coach} made more of the later looks than of the first,"
            " and a stricter or kinder eye looks the same as a change in the swing"
        )
    if trend.is_as_looked:
        return f"; {looked_words(trend)}, and noting it only when it is {noted_words(trend)} looks the same"
    if trend.recovered_to:
        seen, of = trend.recovered_to
        return f"; it was seen on {seen or 'none'} of the last {of} looks before it was opened"
    if trend.is_shared:
        return f"; other faults go the same way, and {eye_words(trend.kendall.s < 0)}"
    if not trend.can_be_significant:
        return ", too few looks"
    if looks_changed(trend):
        return ", and a streak could look like that"
    return ", too few for a small change"


def looked_words(trend: Trend) -> str:
    """On how many of the first and of the later arrivals it was looked at."""
    first, later = trend.looked
    return f"it was looked at on {first.seen} of the first {first.of} arrivals, then on {later.seen} of {later.of}"


def noted_words(trend: Trend) -> str:
    """Which days alone, noted in the half that was looked at less often, would look like this change."""
    first, later = trend.looked
    return "good" if (trend.kendall.s < 0) is (later.rate < first.rate) else "there"


def looks_changed(trend: Trend) -> bool:
    """Whether the picture seems to rise or fall: the halves differ by 30 points or more, or so many more are clear."""
    assert trend.halves is not None
    first, second = (half.share.rate for half in trend.halves)
    return abs(first - second) >= SAME_WITHIN or clear_changed(trend)


def clear_changed(trend: Trend) -> bool:
    """Whether it seems to become milder or clearer: of all looks, 30 points fewer or more were clear."""
    assert trend.halves is not None
    first, second = (half.clear / half.share.of for half in trend.halves)
    return abs(first - second) >= SAME_WITHIN


def is_told_in_halves(trend: Trend) -> bool:
    """Whether the halves of few looks are told, since the picture seems to change."""
    return trend.kendall.looks >= LEAST_HALVES and looks_changed(trend)


def trend_short(trend: Trend) -> str:
    """The same in a few words, for a list."""
    if trend.halves is None:
        return "cannot tell yet"
    if trend.kind:
        return f"{trend.kind} than before"
    if not any(half.share.seen for half in trend.halves):
        return "good throughout"
    return how_often(trend) or ("about the same" if is_about_the_same(trend) else "cannot tell yet")


def halves_words(trend: Trend) -> str:
    """What the two halves of the looks showed: how often it was seen, and how often clear where that may change."""
    assert trend.halves is not None
    first, second = trend.halves
    seen = f"seen on {first.share.seen} of the first {first.share.of} looks"
    then = f"then on {second.share.seen} of {second.share.of}"
    if trend.kind in ("rarer", "more often") or not (trend.kind or clear_changed(trend)):
        return f"{seen}, {then}"
    return f"{seen} ({first.clear or 'none'} clear), {then} ({second.clear or 'none'} clear)"


def clear_words(trend: Trend) -> str:
    """How often it was clear in the two halves of the looks."""
    assert trend.halves is not None
    first, second = trend.halves
    return f"clear on {first.clear} of the first {first.share.of}, then on {second.clear} of {second.share.of}"


def months(counts: LookCounts, until: date) -> str:
    """The months of some looks, with the year where it differs from that of `until`."""
    begins, ends = month(counts.begins, until), month(counts.ends, until)
    return f"in {begins}" if begins == ends else f"from {begins} to {ends}"


def month(day: date, until: date) -> str:
    """The month of a day, with its year where it differs from that of `until`."""
    return f"{day:%B}" if day.year == until.year else f"{day:%B %Y}"


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


# --- To a student -------------------------------------------------------------------------------


def plain_change(trend: Trend, *, has_selective_looks: bool) -> str:
    """Whether it gets better, for the student and guardians, where the looks allow to say."""
    return "Cannot tell yet whether it changes." if has_selective_looks else plain_trend(trend)


def plain_trend(trend: Trend) -> str:
    """Whether it gets better, for the student and guardians."""
    if trend.kind and trend.kendall.s < 0:
        return "Getting better, and that is unlikely to be luck."
    if trend.kind:
        return "Some extra practice would help here."
    return "Cannot tell yet whether it changes." if trend.can_be_significant else "It is too early to see a change."
