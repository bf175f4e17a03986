"""What a brief says of days, lessons and practice."""

from datetime import date

from django.utils.formats import date_format

from coachbook.accounts.models import User
from drills.practice.reports import Practice
from lessons.history import day_of
from lessons.models import Lesson, Session
from lessons.progress.words import counted

YOU = "you"


def name_of(lesson: Lesson, reader: User) -> str:
    """Who taught it."""
    coach = lesson.session.coach.user
    return YOU if coach == reader else coach.name


def day_words(day: date, today: date) -> str:
    """A day, with its year where that is another."""
    return date_format(day, "j F" if day.year == today.year else "j F Y")


def ago(day: date, today: date) -> str:
    """How long ago a day was, as roughly as a person says it."""
    days = (today - day).days
    if days <= 1:
        return "yesterday" if days == 1 else "today"
    if days < 14:
        return f"{days} days ago"
    if days < 70:
        return f"{days // 7} weeks ago"
    months = 12 * (today.year - day.year) + today.month - day.month - (today.day < day.day)
    return f"{months} months ago" if months < 24 else f"{months // 12} years ago"


def absent_words(day: date, today: date) -> str:
    """A lesson to which nobody came."""
    return f"Did not come on {day_words(day, today)}."


def event_words(lesson: Lesson, reader: User, today: date) -> str:
    """A lesson that was no visit."""
    day, who, session = day_of(lesson), name_of(lesson, reader), lesson.session
    if session.kind == Session.Kind.CLIP:
        filmed = f" filmed on {day_words(session.filmed_on, today)}," if session.filmed_on else ""
        return f"A clip{filmed} looked at by {who} on {day_words(day, today)}."
    if lesson.attendance == Lesson.Attendance.ABSENT:
        return absent_words(day, today)
    return f"Course walk with {who} on {day_words(day, today)}."


def practice_words(practice: Practice, is_given: bool) -> str:
    """Sessions reported of those asked for; what nobody reported is never called none."""
    asked, reported = practice.asked, practice.reported
    if not is_given:
        return "no drill is given"
    if not reported:
        return f"not reported ({asked} asked)" if asked else "nothing asked yet"
    if reported > asked:
        return f"{counted(reported, 'session')} reported ({asked} asked)"
    return f"{reported} of {counted(asked, 'session')} reported"


def told_words(visit: Lesson | None, today: date) -> str:
    """The practice they told of when they came last."""
    if visit is None or not visit.practice_told:
        return ""
    return f"Practice they told of on {day_words(day_of(visit), today)}: {visit.get_practice_told_display()}."
