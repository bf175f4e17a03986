"""Doses: how much practice is asked for and how far it has come, by the calendar and in words.

A dose has a first day, a number of days, and a number of sessions a week. Its weeks are counted from its first day
and not from Monday, so that nobody's first week is short because of the weekday of a lesson. All of it is pure;
doses themselves are common practice, with no source.
"""

from datetime import date, timedelta

ONE = {"minutes": "minute", "balls": "ball", "successes": "success", "days": "day"}
OFTEN = {1: "once a week", 2: "twice a week", 7: "every day"}


def asked(begins: date, days: int, per_week: int, ended_on: date | None, on: date) -> int:
    """How many sessions were asked for from `begins` up to and including `on`.

    The dose asks for something on `begins` and the `days - 1` days after it; from `ended_on` on, that day included,
    it asks for nothing more. On the way only whole sessions count: `per_week * days so far / 7`, rounded down. The
    whole dose is rounded to the nearest (sevenths have no halves): 30 days at 3 a week are 13 sessions.
    """
    last = min(on, begins + timedelta(days=days - 1))
    if ended_on is not None:
        last = min(last, ended_on - timedelta(days=1))
    so_far = max(0, day_of(begins, last))
    sevenths = per_week * so_far
    return (2 * sevenths + 7) // 14 if so_far == days else sevenths // 7


def day_of(begins: date, on: date) -> int:
    """Which day of the dose a day is: 1 on `begins`, 0 or less before it."""
    return (on - begins).days + 1


def week_of(begins: date, on: date) -> tuple[date, date]:
    """The first and the last day of the week, counted from `begins`, in which a day lies; the weeks run on for ever."""
    first = on - timedelta(days=(on - begins).days % 7)
    return first, first + timedelta(days=6)


def counted(number: int, unit: str) -> str:
    """A number with its unit: `1 minute`, `30 balls`. Raises KeyError for one of a unit that is not known."""
    return f"{number} {ONE[unit] if number == 1 else unit}"


def dose_in_words(amount: int, unit: str, per_week: int, days: int) -> str:
    """A dose as a person says it: `10 minutes, 3 times a week, for 30 days`."""
    often = OFTEN.get(per_week, f"{per_week} times a week")
    return f"{counted(amount, unit)}, {often}, for {counted(days, 'days')}"


def week_in_words(reported: int, per_week: int) -> str:
    """How far this week has come: `2 of 3 this week`. More than was asked is said, and not cheered on."""
    if reported > per_week:
        return f"{reported} this week, and {per_week} asked for"
    return f"{reported} of {per_week} this week"


def course_in_words(begins: date, days: int, review_on: date, on: date) -> str:
    """How far the whole dose has come: `Day 12 of 30.`, and what to do when it is done or due for a look."""
    day, until = day_of(begins, on), "keep it going until you see your coach."
    if day > days:
        return f"Your {counted(days, 'days')} {'is' if days == 1 else 'are'} done; {until}"
    return f"Day {day} of {days}; {until}" if on > review_on else f"Day {day} of {days}."
