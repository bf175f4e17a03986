"""A student's rounds in numbers, and whether putts change. From rows in memory, without a query."""

from collections.abc import Sequence
from datetime import timedelta

from drills.models import Round
from lessons.progress.intervals import Share, wilson
from lessons.progress.sentences import FEW, SIGNIFICANCE, interval_words, percent
from lessons.progress.trend import mann_kendall
from lessons.progress.words import counted

FULL = 18  # holes of a whole round; numbers of a shorter one are scaled to it
LEAST = 6  # rounds; with fewer, no trend is tested. Common practice, no source
SHOWN = timedelta(days=730)  # rounds of this period may be saved, and are shown


def per_18(number: int, holes: int) -> float:
    """A number scaled from `holes` to 18 holes. Raises ZeroDivisionError for no holes."""
    return number * FULL / holes


def putts_per_18(rounds: Sequence[Round]) -> float:
    """Putts for 18 holes, over all rounds together."""
    return per_18(sum(each.putts for each in rounds), holes_of(rounds))


def three_putts_per_18(rounds: Sequence[Round]) -> float:
    """Holes with three putts or more for 18 holes, over all rounds together."""
    return per_18(sum(each.three_putts for each in rounds), holes_of(rounds))


def holes_of(rounds: Sequence[Round]) -> int:
    """All holes played."""
    return sum(each.holes for each in rounds)


def up_and_downs(rounds: Sequence[Round]) -> Share:
    """Made of tried, over all rounds together."""
    return Share(sum(each.made for each in rounds), sum(each.tried for each in rounds))


def numbers(rounds: Sequence[Round]) -> list[tuple[str, str]]:
    """Names and values over all rounds together, in counts; an empty list for no round."""
    if not rounds:
        return []
    holes, three = holes_of(rounds), sum(each.three_putts for each in rounds)
    return [
        ("Putts for 18 holes", f"{putts_per_18(rounds):.1f} over {counted(len(rounds), 'round')}"),
        ("Three-putts for 18 holes", f"{three_putts_per_18(rounds):.1f}: {three} in {counted(holes, 'hole')}"),
        ("Up-and-downs", share_words(up_and_downs(rounds))),
    ]


def certainty(rounds: Sequence[Round]) -> list[tuple[str, str]]:
    """The share of up-and-downs made with its 95% Wilson interval, by name; empty below eight tried."""
    share = up_and_downs(rounds)
    if share.of < FEW:
        return []
    return [("Up-and-downs", f"{percent(share.rate)}, 95% interval {interval_words(wilson(share))}")]


def share_words(share: Share) -> str:
    """Made of tried, in counts."""
    return f"{share.seen} of {share.of}" if share.of else "none noted"


def change_words(rounds: Sequence[Round]) -> str:
    """Whether putts for 18 holes change from round to round, oldest first, in one sentence."""
    if len(rounds) < LEAST:
        return f"Cannot tell yet: {len(rounds)} of the {LEAST} rounds that are needed."
    trend = mann_kendall([per_18(each.putts, each.holes) for each in rounds])
    if trend.p > SIGNIFICANCE:
        return f"No clear change over these {len(rounds)} rounds."
    return f"{'Fewer' if trend.s < 0 else 'More'} putts from round to round; chance alone would rarely do that."
