"""Doses: how much practice is asked for up to a day, and a dose and its progress in words.

A dose has a first day, a number of days, and a number of sessions a week. What is asked for is counted from its first
day and not from Monday, so that nobody's first week is short because of the weekday of a lesson. The week that is
planned, and of which "2 of 3 this week" speaks, is one for all drills of a student (`first_day`). Doses are common
practice, with no source. All functions are pure.
"""

from collections.abc import Iterable
from datetime import date, timedelta

ONE = {"minutes": "minute", "balls": "ball", "successes": "success", "days": "day"}
OFTEN = {1: "once a week", 2: "twice a week", 7: "every day"}


def sessions_asked(begins: date, days: int, per_week: int, ended_on: date | None, on: date) -> int:
    """How many sessions were asked for from `begins` up to and including `on`.

    The dose asks for something on `begins` and the `days - 1` days after it; from `ended_on` on, that day included,
    it asks for nothing more. Before the last day only whole sessions count: `per_week * days so far / 7`, rounded down.
    The whole dose is rounded to the nearest (sevenths have no halves): 30 days at 3 a week are 13 sessions.
    """
    last = min(on, begins + timedelta(days=days - 1))
    if ended_on is not None:
        last = min(last, ended_on - timedelta(days=1))
    so_far = max(0, day_of(begins, last))
    sevenths = per_week * so_far
    return (sevenths + 3) // 7 if so_far == days else sevenths // 7


def day_of(begins: date, on: date) -> int:
    """Which day of the dose a day is: 1 on `begins`, 0 or less before it."""
    return (on - begins).days + 1


def week_of(begins: date, on: date) -> tuple[date, date]:
    """The first and last day of the week, counted from `begins`, in which a day lies, also after the dose is over."""
    first = on - timedelta(days=(on - begins).days % 7)
    return first, first + timedelta(days=6)


def first_day(begins: Iterable[date], on: date) -> date:
    """The first day of the week of a student whose drills began on these days: one week for all, the newest drill's.

    Without a drill it begins today.
    """
    return week_of(max(begins, default=on), on)[0]


def format_amount(number: int, unit: str) -> str:
    """A number with its unit: `1 minute`, `30 balls`. Raises KeyError for one of a unit that is not known."""
    return f"{number} {ONE[unit] if number == 1 else unit}"


def dose_in_words(amount: int, unit: str, per_week: int, days: int) -> str:
    """A dose in words: `10 minutes, 3 times a week, for 30 days`."""
    often = OFTEN.get(per_week, f"{per_week} times a week")
    return f"{format_amount(amount, unit)}, {often}, for {format_amount(days, 'days')}"


def dose_until(amount: int, unit: str, per_week: int, last: date) -> str:
    """A dose that has begun, in words: `10 minutes, 3 times a week, until 17 December`."""
    often = OFTEN.get(per_week, f"{per_week} times a week")
    return f"{format_amount(amount, unit)}, {often}, until {last.day} {last:%B}"


def week_in_words(reported: int, per_week: int) -> str:
    """Sessions reported this week: `2 of 3 this week`. More than was asked for is stated without praise."""
    if reported > per_week:
        return f"{reported} this week; {per_week} planned"
    return f"{reported} of {per_week} this week"


def course_in_words(begins: date, days: int, review_on: date, on: date) -> str:
    """The day of the dose: `Day 12 of 30.`, and what to do once its days or its review day have passed."""
    day, until = day_of(begins, on), "keep it going until you see your coach."
    if day > days:
        return f"Your {format_amount(days, 'days')} {'is' if days == 1 else 'are'} done; {until}"
    return f"Day {day} of {days}; {until}" if on > review_on else f"Day {day} of {days}."
