"""The words of a brief for days, lessons and practice."""

from datetime import date

from django.utils.formats import date_format

from coachbook.accounts.models import User
from drills.practice.reports import Practice
from drills.practice.week.gather import StudentWeek
from lessons.history import day_of
from lessons.models import Lesson, Session
from lessons.progress.words import counted

YOU = "you"
SPOKEN_OF = 21  # days after an event for which the brief still names it


def coach_name(lesson: Lesson, reader: User) -> str:
    """The coach who taught a lesson, or "you"."""
    coach = lesson.session.coach.user
    return YOU if coach == reader else coach.name


def day_words(day: date, today: date) -> str:
    """A day, with its year where that is not this year."""
    return date_format(day, "j F" if day.year == today.year else "j F Y")


def time_ago(day: date, today: date) -> str:
    """How long ago a day was, rounded as in speech."""
    days = (today - day).days
    if days <= 1:
        return "yesterday" if days == 1 else "today"
    if days < 14:
        return f"{days} days ago"
    if days < 70:
        return f"{days // 7} weeks ago"
    months = 12 * (today.year - day.year) + today.month - day.month - (today.day < day.day)
    return f"{months} months ago" if months < 24 else f"{months // 12} years ago"


def last_visit_words(visit: Lesson | None, reader: User, today: date) -> str:
    """When the student came last, and who taught them."""
    if visit is None:
        return "No lesson yet."
    day, who = day_of(visit), coach_name(visit, reader)
    by = "" if who == YOU else f", by {who}"
    group = ", in a group" if visit.session.kind == Session.Kind.GROUP else ""
    return f"Last seen {time_ago(day, today)}, {day_words(day, today)}{by}{group}."


def absence_words(day: date, today: date) -> str:
    """A lesson to which the student did not come."""
    return f"Did not come on {day_words(day, today)}."


def event_words(lesson: Lesson, reader: User, today: date) -> str:
    """A lesson without an arrival: a clip, a course walk, or one to which the student did not come."""
    day, who, session = day_of(lesson), coach_name(lesson, reader), lesson.session
    if session.kind == Session.Kind.CLIP:
        filmed = f" filmed on {day_words(session.filmed_on, today)}," if session.filmed_on else ""
        return f"A clip{filmed} looked at by {who} on {day_words(day, today)}."
    if lesson.attendance == Lesson.Attendance.ABSENT:
        return absence_words(day, today)
    return f"Course walk with {who} on {day_words(day, today)}."


def practice_line(visit: Lesson | None, practice: Practice, since: date | None, today: date) -> str:
    """The practice that the student spoke of when they came last, and then what was reported from home since a day.

    `since` is the day on which the first of the drills was given that are still practised, if there is one.
    """
    if visit is None or not visit.practice_reported:
        return f": {practice_words(practice) if since else 'no drill is given'}."
    came = day_of(visit)
    spoken = f" reported on {day_words(came, today)}: {visit.get_practice_reported_display()}."
    if since is None:
        return f"{spoken} No drill is given now."
    begun = "then" if since == came else day_words(since, today)
    return f"{spoken} From home since {begun}: {practice_words(practice)}."


def practice_words(practice: Practice) -> str:
    """Sessions reported of those given; what nobody reported is never called none."""
    asked, reported = practice.asked, practice.reported
    if not reported:
        return f"not reported ({asked} given)" if asked else "no session due yet"
    if reported > asked:
        return f"{counted(reported, 'session')} reported ({asked} given)"
    return f"{reported} of {counted(asked, 'session')} reported"


def no_room_words(week: StudentWeek) -> str:
    """Which drills give way, where a week of practice has not room for all; empty where it has."""
    drills = [f"{each.prescription.drill} ({each.planned} of {each.prescription.per_week})" for each in week.gives_way]
    if not drills:
        return ""
    verb = "gives way" if len(drills) == 1 else "give way"
    return f"The week does not fit: {' and '.join(drills)} {verb}."


def next_event_words(event: str, on: date | None, today: date) -> str:
    """A student's next event with its day, and for a time the last one."""
    if on is None:
        return f"Next event: {event}." if event else ""
    days = (on - today).days
    if days < 0:
        return f"Last event: {event}, {day_words(on, today)}, {time_ago(on, today)}." if -days <= SPOKEN_OF else ""
    when = f"in {counted(days, 'day')}" if days else "today"
    return f"Next event: {event}, {day_words(on, today)}, {when}."
