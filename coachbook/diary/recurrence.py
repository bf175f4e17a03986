"""The days of a series, by the rules of RFC 5545, section 3.8.5.3; pure."""

from datetime import UTC, datetime
from itertools import islice

from dateutil.rrule import rrulestr


def expand(rule: str, first: datetime, most: int) -> list[datetime]:
    """The moments of a rule from an aware first one on, at most so many.

    The time of day stays what it is in the zone of the first one, whatever the clocks do. A rule that is none raises
    ValueError.
    """
    return list(islice(rrulestr(rule, dtstart=first), most))


def exists(moment: datetime) -> bool:
    """Whether a zone's clocks show this time on that day: where they go forward, an hour is left out."""
    there = moment.astimezone(UTC).astimezone(moment.tzinfo)
    return there.replace(tzinfo=None) == moment.replace(tzinfo=None)
