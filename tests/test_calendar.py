"""The calendar feed, read back with icalendar and held against RFC 5545 (September 2009)."""

import re
import uuid
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.test import Client, override_settings
from django.urls import reverse
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from coachbook.accounts.models import Academy, Coach, Student, User
from coachbook.diary.calendar.feed import name_in_calendar, new_link, to_ical
from coachbook.diary.models import Appointment, CalendarFeed
from coachbook.diary.scheduling import Plan, create_appointments, move_appointment, set_status
from coachbook.logs import without_secrets
from tests.conftest import Cast
from tests.make import make_student

Clients = Callable[[str], Client]
# Everything that a field of the site takes: no control characters and no halves of a pair.
WRITTEN = st.characters(exclude_categories=["Cc", "Cs"], include_characters="\n")
NOW = datetime(2027, 3, 22, 9, tzinfo=UTC)


@pytest.fixture(autouse=True)
def spring(cast: Cast) -> object:
    with time_machine.travel(NOW, tick=False):
        yield


def planned(cast: Cast, student: Student, at: datetime, place: str = "") -> Appointment:
    plan = Plan(cast.coach, [student], [at], 60, place)
    return create_appointments(key=uuid.uuid4(), plan=plan, by=cast.coach.user, at=timezone.now())


def link(as_: Clients) -> str:
    """The address as the coach reads it on the page, once."""
    page = as_("coach").post(reverse("calendar_link")).content.decode()
    return "/calendar/" + page.split("/calendar/", 1)[1].split("<", 1)[0]


def events(answer: object) -> list[object]:
    return list(Calendar.from_ical(answer.content).walk("VEVENT"))  # type: ignore[attr-defined]


def test_a_calendar_program_reads_the_appointments(cast: Cast, as_: Clients) -> None:
    adult = make_student("Beatrix Mossbud", coach=cast.coach, age_group="adult")
    row = planned(cast, adult, datetime(2027, 3, 30, 15, tzinfo=UTC), "The long green")
    answer = Client().get(link(as_))
    assert answer.status_code == 200 and answer["Content-Type"] == "text/calendar; charset=utf-8"
    [event] = events(answer)
    assert event["uid"] == f"{row.key}@testserver"
    assert event.decoded("dtstart") == datetime(2027, 3, 30, 15, tzinfo=UTC)
    assert event.decoded("dtend") == datetime(2027, 3, 30, 16, tzinfo=UTC)
    assert (event["summary"], event["location"], event["status"]) == (
        "Lesson: Beatrix Mossbud",
        "The long green",
        "CONFIRMED",
    )


def brief_of(student: Student) -> str:
    return f"http://testserver{reverse('brief', args=[student.key])}"


def test_an_entry_leads_to_the_brief(cast: Cast, as_: Clients) -> None:
    """RFC 5545, section 3.8.4.6: URL, whose value is a URI and is written as it is, once at most."""
    planned(cast, cast.student, NOW + timedelta(days=1))
    answer = Client().get(link(as_))
    [event] = events(answer)
    assert event["url"] == brief_of(cast.student) and event["description"] == f"Brief: {brief_of(cast.student)}"
    unfolded = answer.content.decode().replace("\r\n ", "")
    assert unfolded.count("\r\nURL:http://testserver/students/") == 1
    assert as_("coach").get(str(event["url"])).status_code == 200


def test_an_entry_of_several_leads_to_the_day_and_to_each_brief(cast: Cast, as_: Clients) -> None:
    adult = make_student("Beatrix Mossbud", coach=cast.coach, age_group="adult")
    row = planned(cast, cast.student, NOW + timedelta(days=1))
    row.students.add(adult)
    [event] = events(Client().get(link(as_)))
    assert event["url"] == f"http://testserver{reverse('day')}?day=2027-03-23"
    assert str(event["description"]).splitlines() == [
        f"Brief, A.Q.: {brief_of(cast.student)}",
        f"Brief, Beatrix Mossbud: {brief_of(adult)}",
    ]


def test_an_entry_of_one_out_of_reach_leads_to_nobody(cast: Cast, as_: Clients) -> None:
    planned(cast, cast.other_student, NOW + timedelta(days=1))
    text = Client().get(link(as_)).content.decode()
    [event] = events(Client().get(link(as_)))
    assert "description" not in event and event["url"] == f"http://testserver{reverse('day')}?day=2027-03-23"
    assert str(cast.other_student.key) not in text.replace("\r\n ", "")


def test_an_entry_holds_no_telephone_goal_or_event(cast: Cast, as_: Clients) -> None:
    Student.objects.filter(pk=cast.student.pk).update(
        phone="+44 1632 960017", phone_of="mother Maud", goal="goal-canary", event="event-canary"
    )
    planned(cast, cast.student, NOW + timedelta(days=1))
    text = Client().get(link(as_)).content.decode().replace("\r\n ", "")
    assert [word for word in ("960017", "Maud", "goal-canary", "event-canary") if word in text] == []


@override_settings(SITE_ADDRESS="https://book.example")
def test_the_site_is_named_by_its_setting(cast: Cast, as_: Clients) -> None:
    """Whoever asks may write any host into the request."""
    planned(cast, cast.student, NOW + timedelta(days=1))
    [event] = events(Client().get(link(as_)))
    assert str(event["url"]).startswith("https://book.example/students/")


def test_the_link_can_be_copied(as_: Clients) -> None:
    """One tap with a script; without one the button stays hidden, and one tap selects the whole text."""
    page = as_("coach").post(reverse("calendar_link")).content.decode()
    assert '<p class="slip link" id="calendar-link">http://testserver/calendar/' in page
    assert re.search(r'<button type="button" data-copies="calendar-link" hidden>', page)
    assert "data-copies" not in as_("coach").get(reverse("calendar")).content.decode(), "it is shown once"


def test_what_section_3_6_1_asks_of_every_event(cast: Cast, as_: Clients) -> None:
    """UID and DTSTAMP once each, DTSTART, and not both of DTEND and DURATION."""
    planned(cast, cast.student, NOW + timedelta(days=1))
    text = Client().get(link(as_)).content.decode()
    for name in ("UID:", "DTSTAMP:", "DTSTART:", "DTEND:"):
        assert text.count(f"\r\n{name}") == 1
    assert "DURATION" not in text and text.startswith("BEGIN:VCALENDAR\r\n") and "\r\nVERSION:2.0\r\n" in text
    assert "\r\nPRODID:" in text and text.endswith("END:VCALENDAR\r\n")


def test_one_series_over_the_change_of_the_clocks(cast: Cast, as_: Clients) -> None:
    """16:00 in Dublin is 16:00 in UTC before the last Sunday of March, and 15:00 after it."""
    address = reverse("appointment", args=[cast.student.key, uuid.uuid4()])
    values = {"coach": cast.coach.pk, "day": "2027-03-23", "time": "16:00", "minutes": "60"}
    as_("coach").post(address, {**values, "repeat": "weekly", "times": "2"})
    starts = [event.decoded("dtstart") for event in events(Client().get(link(as_)))]
    assert starts == [datetime(2027, 3, 23, 16, tzinfo=UTC), datetime(2027, 3, 30, 15, tzinfo=UTC)]


def test_a_change_keeps_the_uid_and_raises_the_sequence(cast: Cast, as_: Clients) -> None:
    row, address = planned(cast, cast.student, NOW + timedelta(days=1)), link(as_)
    [before] = events(Client().get(address))
    later = Plan(cast.coach, [cast.student], [NOW + timedelta(days=2)], 30, "")
    move_appointment(appointment=row, plan=later, by=cast.coach.user, at=NOW + timedelta(hours=1))
    [after] = events(Client().get(address))
    assert after["uid"] == before["uid"] and after["sequence"] > before["sequence"]
    assert after.decoded("last-modified") > before.decoded("last-modified")
    set_status(appointment=row, status="cancelled", by=cast.coach.user, at=NOW + timedelta(hours=2))
    [gone] = events(Client().get(address))
    assert (gone["uid"], gone["status"]) == (before["uid"], "CANCELLED") and gone["sequence"] > after["sequence"]


def test_a_cancelled_appointment_stays_in_the_feed_for_sixty_days(cast: Cast, as_: Clients) -> None:
    row, address = planned(cast, cast.student, NOW + timedelta(days=1)), link(as_)
    set_status(appointment=row, status="cancelled", by=cast.coach.user, at=NOW)
    for days, left in ((59, 1), (62, 0)):
        with time_machine.travel(NOW + timedelta(days=days), tick=False):
            assert len(events(Client().get(address))) == left


def test_a_junior_is_shown_by_initials_and_no_note_goes_out(cast: Cast, as_: Clients) -> None:
    assert cast.student.birth_year is None and cast.student.guardianships.exists()
    planned(cast, cast.student, NOW + timedelta(days=1))
    child = make_student("Wilf Ambrose Tarkle", coach=cast.coach, birth_year=2018, limits="A sore knee")
    planned(cast, child, NOW + timedelta(days=2))
    grown = make_student("Xanthe Ploversong", coach=cast.coach, birth_year=1990)
    planned(cast, grown, NOW + timedelta(days=3))
    text = Client().get(link(as_)).content.decode()
    assert [event["summary"] for event in events(Client().get(link(as_)))] == [
        "Lesson: A.Q.",
        "Lesson: W.A.T.",
        "Lesson: Xanthe Ploversong",
    ]
    assert "Tarkle" not in text and "Alder" not in text and "knee" not in text


def test_only_the_hash_is_stored_and_a_new_link_ends_the_old_one(cast: Cast, as_: Clients) -> None:
    first = link(as_)
    assert first.removeprefix("/calendar/").removesuffix(".ics") not in str(list(CalendarFeed.objects.values()))
    second = link(as_)
    assert Client().get(first).status_code == 404 and Client().get(second).status_code == 200
    as_("coach").post(reverse("calendar_end"))
    assert Client().get(second).status_code == 404
    assert Client().get("/calendar/made-up.ics").status_code == 404


def test_the_link_is_shown_once(as_: Clients) -> None:
    token = link(as_).removeprefix("/calendar/").removesuffix(".ics")
    assert token not in as_("coach").get(reverse("calendar")).content.decode()


def test_a_closed_account_has_no_calendar(cast: Cast, as_: Clients) -> None:
    address = link(as_)
    User.objects.filter(pk=cast.coach.user.pk).update(is_active=False)
    assert Client().get(address).status_code == 404


def test_another_coachs_appointments_stay_out(cast: Cast, as_: Clients) -> None:
    plan = Plan(cast.cover, [cast.student], [NOW + timedelta(days=1)], 60, "")
    create_appointments(key=uuid.uuid4(), plan=plan, by=cast.cover.user, at=NOW)
    assert events(Client().get(link(as_))) == []


def test_nothing_new_is_a_304(cast: Cast, as_: Clients) -> None:
    planned(cast, cast.student, NOW + timedelta(days=1))
    address = link(as_)
    mark = Client().get(address)["ETag"]
    again = Client().get(address, headers={"If-None-Match": mark})
    assert again.status_code == 304 and again.content == b"" and again["ETag"] == mark
    planned(cast, cast.student, NOW + timedelta(days=3))
    assert Client().get(address, headers={"If-None-Match": mark}).status_code == 200


def test_the_token_stays_out_of_the_logs(cast: Cast) -> None:
    token = new_link(cast.coach, NOW)
    assert token not in str(without_secrets(f"Not Found: /calendar/{token}.ics"))


def plain(words: str) -> str:
    """A TEXT as RFC 5545, section 3.3.11, reads it; icalendar leaves NAME (RFC 7986, section 5.1) as it is written."""
    return re.sub(r"\\(.)", lambda found: "\n" if found[1] in "nN" else found[1], words)


@settings(max_examples=300, deadline=None)
@given(place=st.text(WRITTEN, max_size=80), name=st.text(WRITTEN, min_size=1, max_size=120))
def test_any_text_comes_back_and_no_line_is_longer_than_75_octets(place: str, name: str) -> None:
    """RFC 5545, section 3.1: lines end in CRLF, hold 75 octets at most without it, and split no UTF-8 character."""
    row = Appointment(coach=Coach(), starts_at=NOW, minutes=60, place=place, changed_at=NOW)
    row.pk = 1
    row._prefetched_objects_cache = {"students": []}
    text = to_ical([row], Academy(), NOW, "academy.example", name, site="https://academy.example")
    lines = text.split(b"\r\n")
    assert max(map(len, lines)) <= 75 and all(line.decode() or True for line in lines) and b"\n" not in b"".join(lines)
    calendar = Calendar.from_ical(text)
    [event] = calendar.walk("VEVENT")
    assert (str(event.get("location", "")), plain(str(calendar["name"]))) == (place, name)


def test_initials_of_any_name(cast: Cast) -> None:
    child = make_student("Åsa  von der Möwe", birth_year=2018)
    assert name_in_calendar(child, cast.academy, NOW) == "Å.v.d.M."
