"""What a student's rounds come to: four numbers each, and whether they change. From plain rows, with no query."""

from collections.abc import Sequence
from datetime import timedelta

from drills.models import Round
from lessons.progress.intervals import Share, wilson
from lessons.progress.sentences import CHANCE, FEW, interval_words, percent
from lessons.progress.trend import mann_kendall
from lessons.progress.words import counted

FULL = 18  # holes of a whole round: what a shorter one is reckoned up to
LEAST = 6  # rounds; below, no trend is looked for. Common practice, no source
SHOWN = timedelta(days=730)  # so far back rounds are written down, and drawn


def per_18(number: int, holes: int) -> float:
    """So many on so many holes, reckoned up to a whole round. Raises ZeroDivisionError for no holes."""
    return number * FULL / holes


def putts_per_18(rounds: Sequence[Round]) -> float:
    """Putts over all rounds together, for a whole round."""
    return per_18(sum(each.putts for each in rounds), holes_of(rounds))


def three_putts_per_18(rounds: Sequence[Round]) -> float:
    """Holes with three putts or more over all rounds together, for a whole round."""
    return per_18(sum(each.three_putts for each in rounds), holes_of(rounds))


def holes_of(rounds: Sequence[Round]) -> int:
    """All holes played."""
    return sum(each.holes for each in rounds)


def up_and_downs(rounds: Sequence[Round]) -> Share:
    """Made of tried, over all rounds together."""
    return Share(sum(each.made for each in rounds), sum(each.tried for each in rounds))


def numbers(rounds: Sequence[Round], *, counts_only: bool = False) -> list[tuple[str, str]]:
    """What the rounds come to together, by name; nothing of none. A student reads counts only."""
    if not rounds:
        return []
    holes, three = holes_of(rounds), sum(each.three_putts for each in rounds)
    return [
        ("Putts for 18 holes", f"{putts_per_18(rounds):.1f} over {counted(len(rounds), 'round')}"),
        ("Three-putts for 18 holes", f"{three_putts_per_18(rounds):.1f}: {three} in {counted(holes, 'hole')}"),
        ("Up-and-downs", share_words(up_and_downs(rounds), counts_only=counts_only)),
    ]


def share_words(share: Share, *, counts_only: bool = False) -> str:
    """Made of tried; for a coach from eight tried on with the percentage and how far it may be off."""
    if not share.of:
        return "none noted"
    words = f"{share.seen} of {share.of}"
    if counts_only or share.of < FEW:
        return words
    return f"{words} ({percent(share.rate)}, likely range {interval_words(wilson(share))})"


def change_words(rounds: Sequence[Round]) -> str:
    """Whether putts for 18 holes change from round to round, oldest first, in one sentence."""
    if len(rounds) < LEAST:
        return f"Too few rounds to say: {len(rounds)} of the {LEAST} that it takes."
    trend = mann_kendall([per_18(each.putts, each.holes) for each in rounds])
    if trend.p > CHANCE:
        return f"No sign of change over these {len(rounds)} rounds."
    return f"{'Fewer' if trend.s < 0 else 'More'} putts from round to round, and that is hardly luck."
