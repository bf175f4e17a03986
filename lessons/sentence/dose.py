"""Drills and what was said of their dose: how much, how often a week, for how many days."""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from lessons.sentence.reading import Dose
from lessons.sentence.tokens import Token, stem

UNIT_WORDS = {
    "minutes": "minute",
    "hours": "hour",
    "balls": "ball putt chip pitch shot rep repetition stroke swing go splash",
    "successes": "success hole make made hit clean good right perfect straight",
}
UNITS = {stem(word): unit for unit, words in UNIT_WORDS.items() for word in words.split()}
PERIODS = {"day": 1, "week": 7, "fortnight": 14, "month": 30, "night": 1, "evening": 1}
DAYTIMES = frozenset("day evening morning night afternoon session time sessions times days x go round".split())
WEEKDAYS = frozenset(
    "mon tue tues wed thu thur thurs fri sat sun monday tuesday wednesday thursday friday saturday sunday mondays "
    "tuesdays wednesdays thursdays fridays saturdays sundays".split()
)
OFTEN = {"once": 1, "twice": 2, "thrice": 3}
REPORTS = frozenset("after first last took did hit within spent previous since in these ago before we".split())
NOT_A_DOSE = frozenset("metre yard feet foot iron percent cm inch ago later apart old back".split())
NEXT = frozenset({"and", "then", "plus", "before"})  # begins the drill after the one that an amount is of
GOALS = frozenset("holes holed makes made hits sinks sank manages managed".split())
FEWEST_A_DAY = 5  # "10 a day" are balls, "2 a day" may be anything
MOST_A_DAY = 3  # times: "ten times a day" are ten balls, or a manner of speaking


@dataclass(frozen=True)
class Amount:
    """One part of a dose in tokens[start:end]."""

    field: str
    value: int
    start: int
    end: int
    unit: str | None = None


@dataclass
class Given:
    """A drill, or none, and the parts of its dose."""

    drill: str | None
    start: int
    end: int
    dose: Dose = field(default_factory=Dose)
    is_sure: bool = True  # whether it is given even where no dose is said

    def lacks(self, amount: Amount) -> bool:
        return getattr(self.dose, amount.field) is None

    def take(self, amount: Amount) -> None:
        """Add a part of the dose."""
        if amount.field == "amount":
            self.dose = replace(self.dose, amount=amount.value, unit=amount.unit)
        elif amount.field == "per_week":
            self.dose = replace(self.dose, per_week=amount.value)
        else:
            self.dose = replace(self.dose, days=amount.value)


def find_amounts(tokens: Sequence[Token], taken: set[int]) -> list[Amount]:
    """The parts of doses in a text, without the words of phrases."""
    amounts: list[Amount] = []
    place = 0
    while place < len(tokens):
        found = None if place in taken else read_amount(tokens, place)
        if found and not (is_report(tokens, found, taken) and found.field != "per_week"):
            amounts.append(found)
        place = found.end if found else place + 1
    return amounts


def without_corrected(amounts: Sequence[Amount], corrections: Sequence[int]) -> list[Amount]:
    """The amounts without those that were put right at once: ten minutes a day, no, make it twenty minutes."""
    kept = list(amounts)
    for place in corrections:
        after = [amount.field for amount in amounts if amount.start >= place][:1]
        before = [amount for amount in kept if amount.end <= place and amount.field in after]
        if before:
            kept.remove(before[-1])
    return kept


def is_report(tokens: Sequence[Token], amount: Amount, taken: set[int]) -> bool:
    """Whether it counts what was done in the lesson, as "after twenty balls" does."""
    before = [token.word for token in tokens[max(0, amount.start - 2) : amount.start]]
    if (before and amount.start - 1 not in taken and before[-1] in REPORTS) or (
        before[:1] in (["after"], ["took"])
        and before[-1] in {"the", "about", "first", "some", "us", "him", "her", "me"}
    ):
        return True
    following = [token.word for token in tokens[amount.end : amount.end + 2]]
    return bool(set(following) & {"ago", "later"}) or following[:2] == ["of", "putting"]


def read_amount(tokens: Sequence[Token], at: int) -> Amount | None:
    """The part of a dose that begins at a token."""
    for reader in (read_frequency, read_weekdays, read_half_hour, read_days, read_goal, read_quantity):
        found = reader(tokens, at)
        if found:
            return found
    return None


def words_at(tokens: Sequence[Token], at: int, count: int) -> list[str]:
    """That many words from a place on, filled up with empty ones."""
    words = [token.word for token in tokens[at : at + count]]
    return words + [""] * (count - len(words))


def read_frequency(tokens: Sequence[Token], at: int) -> Amount | None:
    """Three times a week, 3x/wk, twice weekly, every day, daily, 4 days a week."""
    first, second = words_at(tokens, at, 2)
    if first in {"daily", "everyday", "nightly", "weekly"}:
        return Amount("per_week", 1 if first == "weekly" else 7, at, at + 1)
    if first in {"every", "each", "per", "a", "/"} and second in {"day", "evening", "morning", "night", "afternoon"}:
        return Amount("per_week", 7, at, at + 2)
    if (first in {"every", "each", "on"} and second in {"weekday", "weekdays"}) or first == "weekdays":
        return Amount("per_week", 5, at, at + 2)
    if (first in {"every", "each", "at"} and second in {"weekend", "weekends"}) or first == "weekends":
        return Amount("per_week", 2, at, at + 2)
    times = OFTEN.get(first, tokens[at].number)
    return read_times(tokens, at, times) if times and times <= 14 else None


def read_times(tokens: Sequence[Token], at: int, times: int) -> Amount | None:
    """What follows a number of times: a week, weekly, x week, days a week."""
    place = at + 1
    counted = place < len(tokens) and (tokens[place].word in DAYTIMES or tokens[place].stem in DAYTIMES)
    place += counted
    middle = place < len(tokens) and tokens[place].word in {"a", "per", "each", "every", "in", "the", "x", "/", "one"}
    place += middle
    last = words_at(tokens, place, 1)[0]
    often = tokens[at].word in OFTEN
    if last in {"week", "weekly"} and (counted or middle or last == "weekly" or often):
        return Amount("per_week", times, at, place + 1)
    if (last == "daily" or (last == "day" and middle)) and (counted or often) and times <= MOST_A_DAY:
        return Amount("per_week", 7 * times, at, place + 1)
    return None


def read_weekdays(tokens: Sequence[Token], at: int) -> Amount | None:
    """Two days of the week or more, named."""
    place, days = at, 0
    while place < len(tokens) and (
        tokens[place].word in WEEKDAYS or (days and tokens[place].word in {"and", ",", "/"})
    ):
        days += tokens[place].word in WEEKDAYS
        place += 1
    return Amount("per_week", days, at, place) if days >= 2 else None


def read_half_hour(tokens: Sequence[Token], at: int) -> Amount | None:
    """Half an hour, a quarter of an hour, an hour."""
    words = words_at(tokens, at, 4)
    if words[0] == "half" and "hour" in words[1 : 2 + (words[1] in {"an", "a"})]:
        return Amount("amount", 30, at, at + 2 + (words[1] != "hour"), "minutes")
    if words[0] == "quarter" and "hour" in words:
        return Amount("amount", 15, at, at + words.index("hour") + 1, "minutes")
    return None


def read_days(tokens: Sequence[Token], at: int) -> Amount | None:
    """Two weeks, a fortnight, for ten days, a month."""
    first, second, third = words_at(tokens, at, 3)
    number = tokens[at].number if tokens[at].number is not None else 1 if first in {"a", "one"} else None
    if first == "fortnight":
        return Amount("days", 14, at, at + 1)
    if number is None or is_share(tokens, at):
        return None
    unit = second if second in PERIODS else tokens[at + 1].stem if at + 1 < len(tokens) else ""
    if unit not in PERIODS or third == "ago" or unit in {"night", "evening"} or (unit == "day" and number < 2):
        return None
    if first in {"a", "one"} and unit != "month" and not introduces_days(tokens, at):
        return None
    return Amount("days", number * PERIODS[unit], at, at + 2)


def is_share(tokens: Sequence[Token], at: int) -> bool:
    """Whether it says how often, and not how long: "three days a month", "twice a month"."""
    before, after = words_at(tokens, at - 1, 1)[0], words_at(tokens, at + 2, 2)
    of_each = after[0] in {"a", "per", "each", "every"} and after[1] in {"month", "year"}
    counted = before in {"times", "x", "twice", "once", "day", "days", "week", "weeks"}
    return of_each or (counted and tokens[at].word == "a")


def introduces_days(tokens: Sequence[Token], at: int) -> bool:
    """Whether "a week" is a time that a drill lasts: it is said "for a week", or stands by itself."""
    before = words_at(tokens, at - 1, 1)[0] if at else ""
    return before in {
        "for",
        ",",
        ";",
        ".",
        "day",
        "daily",
        "week",
        "every",
        "next",
        "whole",
        "evening",
        "then",
        "about",
    }


def read_quantity(tokens: Sequence[Token], at: int) -> Amount | None:
    """Ten minutes, 20 balls, eight good ones, ten in a row."""
    number = tokens[at].number
    if number is None or number == 0 or tokens[at].word == "one" or words_at(tokens, at - 1, 1) == ["x"]:
        return None
    for place, unit in units_after(tokens, at):
        unit = successes(tokens, place, unit)
        return Amount(
            "amount", number * (60 if unit == "hours" else 1), at, place + 1, "minutes" if unit == "hours" else unit
        )
    first, second = words_at(tokens, at + 1, 2)
    if number >= FEWEST_A_DAY and first in {"a", "per", "each", "every"} and second in {"day", "night", "evening"}:
        return Amount("amount", number, at, at + 1, "balls")
    if words_at(tokens, at + 1, 3) == ["in", "a", "row"]:
        return Amount("amount", number, at, at + 4, "successes")
    return None


def read_goal(tokens: Sequence[Token], at: int) -> Amount | None:
    """Until he holes twelve, till ten are made: so many successes."""
    if tokens[at].word not in {"until", "till"}:
        return None
    words = [token.word for token in itertools.takewhile(lambda token: not token.is_sign, tokens[at : at + 6])]
    numbers = [place for place in range(at, at + len(words)) if tokens[place].number]
    if not numbers or not GOALS & set(words):
        return None
    return Amount("amount", tokens[numbers[0]].number or 0, at, numbers[0] + 1, "successes")


def units_after(tokens: Sequence[Token], at: int) -> Iterator[tuple[int, str]]:
    """The unit right after a number, or after one word in between."""
    for place in range(at + 1, min(at + 3, len(tokens))):
        token = tokens[place]
        unit = UNITS.get(token.stem)
        if unit:
            yield place, unit
        if token.is_sign or token.number is not None or token.word in NOT_A_DOSE or unit:
            return


def successes(tokens: Sequence[Token], place: int, unit: str) -> str:
    """Balls of which only good ones count are successes."""
    following = words_at(tokens, place + 1, 4)
    if unit == "balls" and (following[:3] == ["in", "a", "row"] or following[0] in {"holed", "made", "without"}):
        return "successes"
    return unit


def share_out(drills: Sequence[Given], amounts: Sequence[Amount], tokens: Sequence[Token]) -> list[Given]:
    """Each part of a dose given to the drill that it belongs to; parts without a drill make one of their own."""
    given = sorted(drills, key=lambda row: row.start)
    loose = Given(None, len(tokens), 0)
    for amount in amounts:
        for row in owners(given, amount, tokens) or [loose]:
            row.take(amount)
            if row is loose:
                row.start, row.end = min(row.start, amount.start), max(row.end, amount.end)
    return given + ([loose] if loose.dose.per_week and loose.dose.amount else [])


def owners(given: Sequence[Given], amount: Amount, tokens: Sequence[Token]) -> list[Given]:
    """The drills that a part belongs to: the one right after it, else the last one before, else the first after."""
    before = [row for row in given if row.start < amount.start]
    after = [row for row in given if row.start >= amount.start]
    if before and said_of_all(tokens, amount):
        return [row for row in before if row.lacks(amount)]
    if after and after[0].lacks(amount) and (precedes(tokens, amount, after[0]) or not before):
        return after[:1]
    return [row for row in before[-1:] if row.lacks(amount)] or [row for row in after[:1] if row.lacks(amount)]


def said_of_all(tokens: Sequence[Token], amount: Amount) -> bool:
    """Whether "each" or "both" stands beside it."""
    beside = [token.word for token in tokens[max(0, amount.start - 1) : amount.end + 1]]
    lasts = amount.field == "days" and words_at(tokens, max(0, amount.start - 2), 2) == ["both", "for"]
    return lasts or beside[-1] == "each" or (beside[0] in {"both", "each"} and amount.field == "amount")


def precedes(tokens: Sequence[Token], amount: Amount, row: Given) -> bool:
    """Whether a drill follows an amount closely, with no sign and no "and" between: ten minutes of the ladder."""
    between = tokens[amount.end : row.start]
    closely = len(between) <= 3 and not any(token.is_sign or token.word in NEXT for token in between)
    return closely and any(token.word in {"of", "with", "on", "the", "at"} for token in between)
