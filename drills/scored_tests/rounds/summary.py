"""A student's rounds in numbers, and whether putts change. All but `rounds_of` is counted from rows in memory."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import NamedTuple

from coachbook.accounts.models import Student
from drills.models import Round
from lessons.progress.intervals import Share, wilson
from lessons.progress.sentences import FEW, SIGNIFICANCE, interval_words, percent
from lessons.progress.trend import mann_kendall
from lessons.progress.words import on

FULL = 18  # holes of a whole round; numbers of a shorter one are scaled to it
LEAST = 6  # rounds; with fewer, no trend is tested. Common practice, no source
# Rounds on either side of a comparison: of three against three, the clearest order comes by luck in 1 of 10 cases.
LEAST_HALF = 4
SHOWN = timedelta(days=730)  # rounds of this period may be saved, and are shown


def rounds_of(student: Student, on: date) -> list[Round]:
    """The rounds of the last two years, the oldest first; one query."""
    return list(student.rounds.filter(is_void=False, day__gte=on - SHOWN).order_by("day", "pk"))


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


class CourseNumber(NamedTuple):
    """One of the four numbers: what it is, what it tells, over all rounds, and over the first and the last of them.

    `first` and `last` are empty where there are too few rounds to compare.
    """

    name: str
    tells: str
    value: str
    first: str = ""
    last: str = ""


def four_numbers(rounds: Sequence[Round]) -> list[CourseNumber]:
    """Whether practice reaches the course, in four numbers, from rounds with the oldest first; none for no round.

    How many rounds says how much the others can tell. Putts are what putting practice should save, but a chip that
    stops close saves one, too; three putts on a hole are about putting alone; up-and-downs are about both.
    """
    if not rounds:
        return []
    groups = [rounds, *halves(rounds)]
    return [
        CourseNumber(name, tells, *(words(group) for group in groups))
        for name, tells, words in (
            ("Rounds", "the more, the surer the rest", lambda group: str(len(group))),
            ("Putts for 18 holes", "fewer is better", lambda group: f"{putts_per_18(group):.1f}"),
            ("Holes with three putts or more", "fewer is better", three_putts_words),
            ("Up-and-downs", "from off the green: the chip and one putt, or the chip alone", made_words),
        )
    ]


def halves(rounds: Sequence[Round]) -> tuple[Sequence[Round], Sequence[Round]] | tuple[()]:
    """The first and the last half of the rounds, the earlier one the smaller; nothing where a half is too few."""
    middle = len(rounds) // 2
    return (rounds[:middle], rounds[middle:]) if middle >= LEAST_HALF else ()


def three_putts_words(rounds: Sequence[Round]) -> str:
    """On how many of 18 holes there were three putts or more."""
    three = sum(each.three_putts for each in rounds)
    return f"{three_putts_per_18(rounds):.1f} of {FULL} ({three} in {holes_of(rounds)})"


def made_words(rounds: Sequence[Round]) -> str:
    """The up-and-downs made, of those tried."""
    return share_words(up_and_downs(rounds))


def compared_words(rounds: Sequence[Round]) -> str:
    """What the two columns are, or from when on there will be two."""
    parts = halves(rounds)
    if not parts:
        return f"From {2 * LEAST_HALF} rounds on, the first half stands here beside the last."
    first, last = parts
    days = (f"{on(group[0].day)} to {on(group[-1].day)}" for group in (first, last))
    spans = " and ".join(days)
    return (
        f"The first {len(first)} and the last {len(last)} rounds: {spans}. "
        "Such small numbers differ by luck, too; only the putts are tested for a change."
    )


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
    return f"{'Fewer' if trend.s < 0 else 'More'} putts from round to round; luck alone would rarely do that."
