"""The days of a series, by the rules of RFC 5545, section 3.8.5.3; pure."""

from datetime import UTC, datetime
from itertools import islice

from dateutil.rrule import rrulestr

INTERVALS = {"weekly": 1, "fortnightly": 2}  # weeks from one appointment of a series to the next


def until_rule(every: int, last: datetime) -> str:
    """The rule of a series every so many weeks up to an aware moment."""
    return f"FREQ=WEEKLY;INTERVAL={every};UNTIL={last.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def count_rule(every: int, times: int | None) -> str:
    """The rule of a series every so many weeks, so many times."""
    return f"FREQ=WEEKLY;INTERVAL={every};COUNT={times}"


def expand(rule: str, first: datetime, most: int) -> list[datetime]:
    """The moments of a rule from an aware first one on, at most so many.

    The time of day stays the same in the zone of the first one, also when the clocks change. Raises ValueError for an
    invalid rule.
    """
    return list(islice(rrulestr(rule, dtstart=first), most))


def exists_in_zone(moment: datetime) -> bool:
    """Whether this time exists on that day in its zone: where the clocks go forward, an hour is left out."""
    there = moment.astimezone(UTC).astimezone(moment.tzinfo)
    return there.replace(tzinfo=None) == moment.replace(tzinfo=None)
