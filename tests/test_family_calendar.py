"""The calendar of a student or a guardian, read back with icalendar and held against RFC 5545 (September 2009)."""

import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar

from coachbook.accounts.models import Guardianship, Student, User
from coachbook.diary.calendar.family import names_in_calendar
from coachbook.diary.calendar.feed import new_link
from coachbook.diary.models import Absence, Appointment, FamilyFeed
from coachbook.diary.scheduling import Plan, create_appointments, set_status
from drills.models import PracticeDays, Prescription
from drills.practice.week.gather import gather_week
from lessons.models import Focus
from tests.conftest import Cast
from tests.make import make_lesson, make_pause, make_prescription, make_student, make_user

Clients = Callable[[str], Client]
NOW = datetime(2027, 3, 22, 9, tzinfo=UTC)
TODAY = date(2027, 3, 22)


@pytest.fixture(autouse=True)
def spring(cast: Cast) -> object:
    with time_machine.travel(NOW, tick=False):
        yield


def planned(cast: Cast, *students: Student, days: int = 1, place: str = "") -> Appointment:
    plan = Plan(cast.coach, list(students), [NOW + timedelta(days=days)], 60, place)
    return create_appointments(key=uuid.uuid4(), plan=plan, by=cast.coach.user, at=timezone.now())


def give_drill(cast: Cast, student: Student | None = None, **values: Any) -> Prescription:
    lesson = make_lesson(student or cast.student, cast.coach, status="complete", completed_at=timezone.now())
    focus = Focus.objects.create(student=lesson.student, opened_in=lesson, slot=1, area="putting", what="Rhythm")
    return make_prescription(lesson, focus, **{"begins": TODAY, "per_week": 3, "days": 14, **values})


def feed(owner: User) -> Any:
    return Client().get(reverse("calendar_feed", args=[new_link(owner, timezone.now())]))


def events(owner: User) -> list[Any]:
    return list(Calendar.from_ical(feed(owner).content).walk("VEVENT"))


def of_kind(owner: User, word: str) -> list[Any]:
    return [event for event in events(owner) if str(event["summary"]).startswith(word)]


def second_child(cast: Cast, name: str) -> Student:
    child = make_student(name, coach=cast.coach, birth_year=2018, account=False)
    Guardianship.objects.create(guardian=cast.guardian, student=child)
    return child


def test_a_guardian_reads_the_lessons_and_practice_days_of_each_child_by_initials(cast: Cast) -> None:
    child = second_child(cast, "Wilf Ambrose Tarkle")
    row = planned(cast, cast.student, child, cast.other_student, place="The long green")
    give_drill(cast)
    [lesson] = of_kind(cast.guardian, "Lesson")
    assert lesson["summary"] == "Lesson: A.Q. and W.A.T. with Ida Fernkettle" and lesson["location"] == "The long green"
    assert lesson["uid"] == f"{row.key}@testserver" and lesson.decoded("dtstart") == NOW + timedelta(days=1)
    assert lesson["url"] == f"http://testserver{reverse('student', args=[cast.student.key])}"
    days = of_kind(cast.guardian, "Practice")
    assert {str(day["summary"]) for day in days} == {"Practice: A.Q."} and len(days) == 6  # 14 days at 3 a week
    text = feed(cast.guardian).content.decode().replace("\r\n ", "")
    for word in ("Quimble", "Tarkle", "Petra", "Sallowpipit", "P.S.", "Rhythm", "Some words"):
        assert word not in text


def test_a_student_reads_their_own_without_a_name(cast: Cast, as_: Clients) -> None:
    planned(cast, cast.student)
    give_drill(cast)
    assert [str(event["summary"]) for event in of_kind(cast.student.user, "Lesson")] == ["Lesson with Ida Fernkettle"]
    practice = of_kind(cast.student.user, "Practice")
    assert {str(event["summary"]) for event in practice} == {"Practice"}
    assert as_("student").get(str(practice[0]["url"])).status_code == 200


def test_practice_days_are_those_of_the_students_week(cast: Cast) -> None:
    """Three a week from Monday: the days that the page of the week shows, in both weeks of the dose."""
    give_drill(cast)
    week = gather_week(cast.student, TODAY)
    shown = [day for day in week.days if week.planned_on(day)]
    days = [event.decoded("dtstart") for event in of_kind(cast.guardian, "Practice")]
    assert len(shown) == 3 and days == shown + [day + timedelta(days=7) for day in shown]


def test_a_missed_day_moves_and_the_days_picked_count(cast: Cast) -> None:
    give_drill(cast)
    PracticeDays.objects.create(student=cast.student, tuesday=True, thursday=True, saturday=True)
    days = [event.decoded("dtstart") for event in of_kind(cast.guardian, "Practice")]
    assert [day.weekday() for day in days] == [1, 3, 5] * 2
    with time_machine.travel(NOW + timedelta(days=2), tick=False):
        later = [event.decoded("dtstart") for event in of_kind(cast.guardian, "Practice")]
    week = gather_week(cast.student, date(2027, 3, 24))
    assert [day for day in later if day <= week.days[-1]] == [day for day in week.days[2:] if week.planned_on(day)]


@pytest.mark.parametrize(
    ("rest", "left"),
    [
        (lambda cast: make_pause(cast.student, TODAY, date(2027, 3, 27)), 3),
        (lambda cast: make_pause(cast.student, TODAY), 0),
        (lambda cast: absent(cast, "ill"), 5),
        (lambda cast: absent(cast, "away"), 5),
        (lambda cast: absent(cast, "busy"), 6),
        (lambda cast: Student.objects.filter(pk=cast.student.pk).update(status="left"), 0),
        (lambda cast: Prescription.objects.update(ended_on=TODAY), 0),
    ],
)
def test_who_rests_is_left_in_peace(rest: Callable[[Cast], object], left: int, cast: Cast) -> None:
    give_drill(cast)
    rest(cast)
    assert len(of_kind(cast.guardian, "Practice")) == left


def absent(cast: Cast, reason: str) -> Absence:
    days = {"first_day": date(2027, 3, 23), "last_day": date(2027, 3, 24)}
    return Absence.objects.create(student=cast.student, reported_by=cast.guardian, reason=reason, **days)


def test_a_lesson_to_which_nobody_can_come_says_so_and_takes_up_no_time(cast: Cast) -> None:
    planned(cast, cast.student)
    absent(cast, "ill")
    [event] = of_kind(cast.guardian, "Lesson")
    assert str(event["summary"]).endswith("(cannot come)") and event["transp"] == "TRANSPARENT"


def test_a_practice_day_stays_the_same_event_and_a_lesson_follows(cast: Cast) -> None:
    """RFC 5545, sections 3.8.4.7 (UID), 3.8.7.2 (DTSTAMP in UTC), 3.8.7.4 (SEQUENCE) and 3.6.1 (a whole day)."""
    give_drill(cast)
    row = planned(cast, cast.student)
    before = {event["uid"]: event for event in events(cast.guardian)}
    set_status(appointment=row, status="cancelled", by=cast.coach.user, at=NOW + timedelta(hours=1))
    with time_machine.travel(NOW + timedelta(hours=2), tick=False):
        after = {event["uid"]: event for event in events(cast.guardian)}
    assert before.keys() == after.keys() and len(before) == 7
    lesson = f"{row.key}@testserver"
    assert after[lesson]["status"] == "CANCELLED" and after[lesson]["sequence"] > before[lesson]["sequence"]
    for uid in before.keys() - {lesson}:
        assert after[uid]["sequence"] == before[uid]["sequence"] == 0
        assert after[uid].decoded("dtstart") == before[uid].decoded("dtstart")
        assert after[uid].decoded("dtstamp").tzinfo is not None


def test_lines_and_properties_are_those_of_the_standard(cast: Cast) -> None:
    """RFC 5545, section 3.1: CRLF, 75 octets at most; 3.6.1: UID, DTSTAMP and DTSTART once; 3.3.4: a DATE."""
    User.objects.filter(pk=cast.coach.user.pk).update(name="Åsa Möwe; von, der \\ Küste " * 3)
    planned(cast, cast.student, place="Grün " * 15)
    give_drill(cast)
    text = feed(cast.guardian).content
    lines = text.split(b"\r\n")
    assert max(map(len, lines)) <= 75 and b"\n" not in b"".join(lines) and all(line.decode() or True for line in lines)
    blocks = text.decode().split("BEGIN:VEVENT\r\n")[1:]
    assert len(blocks) == 7 and "\r\nDTSTART;VALUE=DATE:20270324\r\n" in text.decode()
    for block in blocks:
        assert all(block.count(f"{name}:") == 1 for name in ("UID", "DTSTAMP", "SEQUENCE", "TRANSP"))
        assert block.count("\r\nDTSTART") == 1 and "DURATION" not in block
    assert "Åsa Möwe; von, der \\ Küste" in str(of_kind(cast.guardian, "Lesson")[0]["summary"])


def test_nothing_new_is_a_304_all_day(cast: Cast) -> None:
    give_drill(cast)
    address = reverse("calendar_feed", args=[new_link(cast.guardian, NOW)])
    mark = Client().get(address)["ETag"]
    with time_machine.travel(NOW + timedelta(hours=10), tick=False):
        assert Client().get(address, headers={"If-None-Match": mark}).status_code == 304


def test_a_link_is_shown_once_kept_as_a_hash_and_ended_by_a_newer_one(cast: Cast, as_: Clients) -> None:
    def made() -> str:
        page = as_("guardian").post(reverse("family_calendar_link")).content.decode()
        return "/calendar/" + page.split("/calendar/", 1)[1].split("<", 1)[0]

    first, second = made(), made()
    token = second.removeprefix("/calendar/").removesuffix(".ics")
    assert token not in str(list(FamilyFeed.objects.values()))
    assert token not in as_("guardian").get(reverse("family_calendar")).content.decode()
    assert Client().get(first).status_code == 404 and Client().get(second).status_code == 200
    as_("guardian").post(reverse("family_calendar_end"))
    assert Client().get(second).status_code == 404


def test_whoever_is_no_longer_family_reads_nothing(cast: Cast) -> None:
    planned(cast, cast.student)
    give_drill(cast)
    assert events(cast.past_guardian) == [] and len(events(cast.guardian)) == 7
    Student.objects.filter(pk=cast.student.pk).update(age_group="adult")
    assert events(cast.guardian) == []
    token = new_link(cast.guardian, NOW)
    User.objects.filter(pk=cast.guardian.pk).update(is_active=False)
    assert Client().get(reverse("calendar_feed", args=[token])).status_code == 404


def test_a_coach_who_is_a_guardian_has_two_links(cast: Cast) -> None:
    Guardianship.objects.create(guardian=cast.coach.user, student=cast.student)
    planned(cast, cast.student)
    of_coach = reverse("calendar_feed", args=[new_link(cast.coach, NOW)])
    assert [str(event["summary"]) for event in events(cast.coach.user)] == ["Lesson: A.Q. with Ida Fernkettle"]
    assert "SUMMARY:Lesson: A.Q.\r\n" in Client().get(of_coach).content.decode()


def test_children_with_the_same_initials_are_told_apart(cast: Cast) -> None:
    names = ["Flora Quimble", "Finn Quimble", "Finlay Quimble", "Wren Quimble", "Sam Oak", "Sam Oak"]
    children = [make_student(name, birth_year=2018, account=False) for name in names]
    shown = names_in_calendar(children, make_user("Granny Quimble"), cast.academy, NOW)
    assert list(shown.values()) == ["Fl.Q.", "Finn.Q.", "Finl.Q.", "W.Q.", "Sam.O.", "Sam.O."]


def test_many_children_cost_no_more_queries(cast: Cast, django_assert_max_num_queries: Any) -> None:
    for number in range(5):
        child = second_child(cast, f"Child Number{number}")
        give_drill(cast, child)
        planned(cast, child, days=number + 1)
    address = reverse("calendar_feed", args=[new_link(cast.guardian, NOW)])
    with django_assert_max_num_queries(12):
        assert Client().get(address).content.count(b"BEGIN:VEVENT") == 35
