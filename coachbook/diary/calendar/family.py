"""The appointments and practice days of a student, or of the children of a guardian, as a calendar by RFC 5545."""

import uuid
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from urllib.parse import urljoin

from django.db.models import Prefetch
from django.urls import reverse
from django.utils import timezone
from icalendar import Event

from coachbook import navigation
from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Academy, Student, StudentQuerySet, User
from coachbook.accounts.relationships import Viewer, relationship_conditions
from coachbook.accounts.tokens import hash_token
from coachbook.diary.absences.reporting import absence_on, absences_of
from coachbook.diary.calendar.feed import AHEAD, BACK, calendar_of, name_in_calendar, time_of
from coachbook.diary.calendar.practice_days import expected_days
from coachbook.diary.models import Absence, Appointment, FamilyFeed
from coachbook.diary.scheduling import day_bounds

PRACTICE_AHEAD = timedelta(days=60)
LETTERS = 20  # of a first name, at most: those that are alike up to there stay alike


def person_for_token(token: str) -> User | None:
    """The person whose family's calendar has this token, while the account is open."""
    standing = FamilyFeed.objects.filter(token_hash=hash_token(token), ended_at=None, person__is_active=True)
    feed = standing.select_related("person__student").first()
    return feed.person if feed else None


def family_of(person: User, academy: Academy, on: date) -> StudentQuerySet:
    """Those whose practice a person may report: themselves, and the children whose guardian they are."""
    conditions = relationship_conditions(Viewer.of(person), academy, on)
    return gate.students_with(conditions, Permission.REPORT_PRACTICE).order_by("name", "pk")


@dataclass(frozen=True)
class Reader:
    """For whom a calendar is made, and of whom it speaks: their names in it, by the id of each student."""

    names: dict[int, str]
    academy: Academy
    at: datetime
    host: str
    site: str

    def address(self, path: str) -> str:
        """The whole address of a page; whoever opens it has to sign in."""
        return urljoin(self.site, path)


def family_calendar_for(person: User, academy: Academy, at: datetime, host: str, *, site: str) -> bytes:
    """Appointments of two months back and a year ahead, and the practice days of the coming weeks."""
    students = list(family_of(person, academy, academy.today(at)))
    reader = Reader(names_in_calendar(students, person, academy, at), academy, at, host, site)
    events = [*lessons_of(students, reader), *practice_of(students, reader)]
    return calendar_of(f"Lessons and practice, {academy.name}", events)


def names_in_calendar(students: Sequence[Student], person: User, academy: Academy, at: datetime) -> dict[int, str]:
    """What each is called: nobody is named to themselves, and of a junior there are the initials.

    Where two children have the same initials, both have as many letters more as tell them apart.
    """
    others = [student for student in students if student.user_id != person.pk]
    names = {student.pk: name_in_calendar(student, academy, at) for student in others}
    for letters in range(2, LETTERS + 1):
        taken = list(names.values())
        alike = [student for student in others if taken.count(names[student.pk]) > 1]
        names |= {student.pk: longer_initials(student.name, letters) for student in alike}
    return names


def longer_initials(name: str, letters: int) -> str:
    """The initials of a name, the first of them with so many letters."""
    first, *rest = name.split()
    return "".join(f"{part}." for part in (first[:letters], *(word[0] for word in rest)))


def lessons_of(students: Collection[Student], reader: Reader) -> Iterator[Event]:
    """An event for each appointment; cancelled ones stay, so that programs remove them."""
    of_family = Appointment.objects.filter(students__in=students)
    rows = Appointment.objects.filter(pk__in=of_family.values("pk")).between(reader.at - BACK, reader.at + AHEAD)
    family = Student.objects.filter(pk__in=[student.pk for student in students]).order_by("name", "pk")
    rows = rows.prefetch_related(None).prefetch_related(Prefetch("students", family))
    first, last = reader.academy.today(reader.at - BACK), reader.academy.today(reader.at + AHEAD)
    absences = absences_of([student.pk for student in students], first, last)
    return (lesson_event(row, absences, reader) for row in rows)


def lesson_event(row: Appointment, absences: dict[int, list[Absence]], reader: Reader) -> Event:
    """One appointment, with the names of those of the family who are in it, and nobody else's but the coach's."""
    students, day = list(row.students.all()), timezone.localdate(row.starts_at)
    absent = [student for student in students if absence_on(absences.get(student.pk, ()), day)]
    event = time_of(row, reader.host, is_free=len(absent) == len(students))
    names = " and ".join(filter(None, (reader.names.get(student.pk) for student in students)))
    ends = " (cannot come)" if absent and len(absent) == len(students) else ""
    event.add("summary", f"Lesson{': ' if names else ''}{names} with {row.coach}{ends}")
    event.add("url", reader.address(navigation.address("student", students[0].key)))
    return event


def practice_of(students: Collection[Student], reader: Reader) -> Iterator[Event]:
    """An event of a whole day for each practice day of each student, from today on."""
    today = reader.academy.today(reader.at)
    days = expected_days(students, today, today + PRACTICE_AHEAD)
    return (practice_event(student, day, reader) for student in students for day in days.get(student.pk, ()))


def practice_event(student: Student, day: date, reader: Reader) -> Event:
    """One practice day: it takes up no time, and nothing of it ever changes, since its UID is made of its day.

    What is written again each day has the beginning of that day as its DTSTAMP, so that the ETag lasts a day.
    """
    name = reader.names.get(student.pk)
    event = Event()
    event.add("uid", f"{uuid.uuid5(student.key, f'practice {day.isoformat()}')}@{reader.host}")
    event.add("dtstamp", day_bounds(reader.academy, reader.academy.today(reader.at))[0].astimezone(UTC))
    event.add("sequence", 0)
    event.add("dtstart", day)
    event.add("summary", f"Practice: {name}" if name else "Practice")
    event.add("transp", "TRANSPARENT")
    event.add("url", reader.address(reverse("today", args=[student.key])))
    return event
