"""A coach's appointments as a calendar by RFC 5545, for a program that reads it with a secret link."""

import hashlib
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from urllib.parse import urljoin

from django.db import transaction
from django.db.models import Prefetch
from icalendar import Calendar, Event, vText

from coachbook import navigation
from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Academy, Coach, Student, User
from coachbook.accounts.tokens import hash_token, new_token
from coachbook.diary.absences.reporting import free_among
from coachbook.diary.models import Appointment, CalendarFeed

BACK, AHEAD = timedelta(days=60), timedelta(days=400)


@transaction.atomic
def new_link(owner: Coach | User, at: datetime) -> str:
    """Create a link, end the one before it, and return the token, which is not stored."""
    end_link(owner, at)
    token = new_token()
    owner.calendar_feeds.create(token_hash=hash_token(token), made_at=at)
    return token


def end_link(owner: Coach | User, at: datetime) -> None:
    """End the owner's current link: a coach's to their lessons, or a person's to those of their family."""
    owner.calendar_feeds.filter(ended_at=None).update(ended_at=at)


def coach_for_token(token: str) -> Coach | None:
    """The coach whose calendar has this token, while the account is open."""
    standing = CalendarFeed.objects.filter(token_hash=hash_token(token), ended_at=None, coach__user__is_active=True)
    feed = standing.select_related("coach__user").first()
    return feed.coach if feed else None


def calendar_for(coach: Coach, academy: Academy, at: datetime, host: str, *, site: str) -> bytes:
    """Two months back and a year ahead, with the names of those within reach; `site` is the address of the first page.

    Cancelled appointments stay in it, so that programs remove them.
    """
    rows = Appointment.objects.filter(coach=coach).between(at - BACK, at + AHEAD)
    reachable = gate.get_students_of_coach(coach, academy, Permission.SCHEDULE, academy.today(at))
    rows = rows.prefetch_related(None).prefetch_related(Prefetch("students", reachable))
    return to_ical(rows, academy, at, host, f"{coach}, {academy.name}", site=site)


def to_ical(rows: Iterable[Appointment], academy: Academy, at: datetime, host: str, name: str, *, site: str) -> bytes:
    """The calendar as text: times in UTC, lines of at most 75 octets."""
    rows = list(rows)
    free = free_among(rows)
    return calendar_of(name, [event_of(row, academy, at, host, site, is_free=row.pk in free) for row in rows])


def calendar_of(name: str, events: Iterable[Event]) -> bytes:
    """A calendar of these events as text, in lines of at most 75 octets."""
    calendar = Calendar()
    for key, value in {
        "prodid": "-//coachbook//appointments//EN",
        "version": "2.0",
        "method": "PUBLISH",
        "name": name,
        "x-wr-calname": name,
    }.items():
        calendar.add(key, vText(value))  # an unknown name would be written as it is, line ends and all
    for event in events:
        calendar.add_component(event)
    text: bytes = calendar.to_ical()
    return text


def event_of(row: Appointment, academy: Academy, at: datetime, host: str, site: str, *, is_free: bool) -> Event:
    """One appointment of a coach, with the way to the brief of each student."""
    event = time_of(row, host, is_free=is_free)
    students = list(row.students.all())
    names = [name_in_calendar(student, academy, at) for student in students]
    event.add("summary", f"{'Cannot come' if is_free else 'Lesson'}: {', '.join(names or [gate.UNNAMED.lower()])}")
    briefs = [urljoin(site, navigation.address("brief", student.key)) for student in students]
    day = urljoin(site, f"{navigation.address('day')}?day={academy.today(row.starts_at)}")
    event.add("url", briefs[0] if len(briefs) == 1 else day)
    if briefs:
        event.add("description", briefs_in_words(names, briefs))
    return event


def time_of(row: Appointment, host: str, *, is_free: bool) -> Event:
    """When and where an appointment is; its UID never changes, and its sequence number rises with each change.

    A time that is free, since none of its students can come, takes up no time in a calendar (TRANSP of RFC 5545).
    """
    event = Event()
    event.add("uid", f"{row.key}@{host}")
    event.add("dtstamp", row.changed_at.astimezone(UTC))
    event.add("last-modified", row.changed_at.astimezone(UTC))
    event.add("sequence", row.sequence)
    event.add("dtstart", row.starts_at.astimezone(UTC))
    event.add("dtend", row.ends_at.astimezone(UTC))
    event.add("status", "CANCELLED" if row.status == Appointment.Status.CANCELLED else "CONFIRMED")
    event.add("transp", "TRANSPARENT" if is_free else "OPAQUE")
    if row.place:
        event.add("location", row.place)
    return event


def briefs_in_words(names: Sequence[str], briefs: Sequence[str]) -> str:
    """The addresses of the briefs of those in one appointment; whoever opens one has to sign in."""
    if len(briefs) == 1:
        return f"Brief: {briefs[0]}"
    return "\n".join(f"Brief, {name}: {brief}" for name, brief in zip(names, briefs, strict=True))


def name_in_calendar(student: Student, academy: Academy, at: datetime) -> str:
    """A student's name for a calendar on other people's machines: of a junior only the initials."""
    if student.is_junior(academy.today(at), academy.adult_at):
        return "".join(f"{word[0]}." for word in student.name.split())
    return student.name


def etag_of(text: bytes) -> str:
    """The ETag, by which a program knows that nothing has changed."""
    return f'"{hashlib.sha256(text).hexdigest()[:32]}"'
