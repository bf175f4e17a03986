"""The days of a series, by the rules of RFC 5545, section 3.8.5.3; pure."""

from datetime import UTC, datetime
from itertools import islice

from dateutil.rrule import rrulestr


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
