"""A coach's appointments as a calendar by RFC 5545, for a program that reads it under a secret link."""

import hashlib
import secrets
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from django.db import transaction
from icalendar import Calendar, Event, vText

from coachbook.accounts.models import Academy, Coach, Student
from coachbook.accounts.models.consent import hashed
from coachbook.diary.models import Appointment, CalendarFeed

BACK, AHEAD = timedelta(days=60), timedelta(days=400)


@transaction.atomic
def fresh_link(coach: Coach, at: datetime) -> str:
    """Make a link, end the one before it, and return the token, which is not kept."""
    end_link(coach, at)
    token = secrets.token_urlsafe(32)
    CalendarFeed.objects.create(coach=coach, token_hash=hashed(token), made_at=at)
    return token


def end_link(coach: Coach, at: datetime) -> None:
    """Let the link that stands open nothing from now on."""
    coach.calendar_feeds.filter(ended_at=None).update(ended_at=at)


def coach_of(token: str) -> Coach | None:
    """The coach whose calendar a token opens, while their account is open."""
    standing = CalendarFeed.objects.filter(token_hash=hashed(token), ended_at=None, coach__user__is_active=True)
    feed = standing.select_related("coach__user").first()
    return feed.coach if feed else None


def calendar_of(coach: Coach, academy: Academy, at: datetime, host: str) -> bytes:
    """Two months back and a year ahead; what was cancelled stays in it, so that a program takes it out."""
    rows = Appointment.objects.filter(coach=coach).between(at - BACK, at + AHEAD)
    rows = rows.prefetch_related("students__guardianships")
    return written(rows, academy, at, host, f"{coach}, {academy.name}")


def written(rows: Iterable[Appointment], academy: Academy, at: datetime, host: str, name: str) -> bytes:
    """The calendar's text: times in UTC, lines of 75 octets at most."""
    calendar = Calendar()
    for key, value in {
        "prodid": "-//coachbook//appointments//EN",
        "version": "2.0",
        "method": "PUBLISH",
        "name": name,
        "x-wr-calname": name,
    }.items():
        calendar.add(key, vText(value))  # an unknown name would be written as it is, line ends and all
    for row in rows:
        calendar.add_component(event_of(row, academy, at, host))
    text: bytes = calendar.to_ical()
    return text


def event_of(row: Appointment, academy: Academy, at: datetime, host: str) -> Event:
    """One appointment; its name in the calendar never changes, its number rises with each change."""
    event = Event()
    event.add("uid", f"{row.key}@{host}")
    event.add("dtstamp", row.changed_at.astimezone(UTC))
    event.add("last-modified", row.changed_at.astimezone(UTC))
    event.add("sequence", row.sequence)
    event.add("dtstart", row.starts_at.astimezone(UTC))
    event.add("dtend", row.ends_at.astimezone(UTC))
    event.add("status", "CANCELLED" if row.status == Appointment.Status.CANCELLED else "CONFIRMED")
    event.add("summary", "Lesson: " + ", ".join(shown(student, academy, at) for student in row.students.all()))
    if row.place:
        event.add("location", row.place)
    return event


def shown(student: Student, academy: Academy, at: datetime) -> str:
    """A name as a calendar on other people's machines may hold it: of a junior the initials only."""
    guarded = student.birth_year is None and len(student.guardianships.all()) > 0
    if guarded or student.is_junior(academy.today(at), academy.adult_at):
        return "".join(f"{word[0]}." for word in student.name.split())
    return student.name


def mark_of(text: bytes) -> str:
    """A mark by which a program knows that nothing has changed."""
    return f'"{hashlib.sha256(text).hexdigest()[:32]}"'
