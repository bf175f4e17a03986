"""Who else teaches a student: lent for some areas and days, ended early, and seen from the first day to the last."""

import re
import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Area, Care, Student
from coachbook.caseload.care.assignments import move_student
from tests.conftest import Cast
from tests.make import make_care, make_coach, make_consent, make_student

Clients = Callable[[str], Client]
AREAS = list(Area.values)


def today(cast: Cast) -> date:
    return cast.academy.today(timezone.now())


def later(cast: Cast, days: int) -> date:
    return today(cast) + timedelta(days=days)


def page_of(client: Client, student: Student) -> str:
    return client.get(reverse("care", args=[student.key])).content.decode()


def part(page: str, heading: str) -> str:
    """One section of the page."""
    return page.split(f'<h2 id="{heading}"')[1].split("</section>")[0]


def asked(cast: Cast, **typed: Any) -> dict[str, Any]:
    """What a coach types who lends the student to one whom they do not know."""
    usual = {"coach": cast.other_coach.pk, "role": "cover", "areas": AREAS, "since": today(cast).isoformat()}
    return {**usual, "until": "", "note": "", **typed}


def add_second_coach(client: Client, cast: Cast, **typed: Any) -> Any:
    return client.post(reverse("care", args=[cast.student.key]), asked(cast, **typed))


def end(client: Client, care: Care, student: Student | None = None) -> Any:
    return client.post(reverse("care_end", args=[(student or care.student).key, care.pk]))


def sees(client: Client, student: Student) -> int:
    return client.get(reverse("student", args=[student.key])).status_code


def on_day(cast: Cast, days: int) -> Any:
    """Noon of a day to come."""
    return time_machine.travel(datetime.combine(later(cast, days), time(12), tzinfo=UTC), tick=False)


@pytest.fixture
def junior(cast: Cast) -> Student:
    """The student as a child of nine; a guardian consents to sharing."""
    cast.student.birth_year = today(cast).year - 9
    cast.student.save()
    return cast.student


# --- Who may, and what the page tells -----------------------------------------------------------


def test_who_teachs_and_who_does_not(cast: Cast, as_: Clients) -> None:
    answers = {"coach": 200, "manager": 200, "cover": 403, "assistant": 403, "student": 403, "guardian": 403}
    answers |= {"other_coach": 404, "other_student": 404, "past_coach": 404, "past_guardian": 404, "anonymous": 302}
    address = reverse("care", args=[cast.student.key])
    assert {actor: as_(actor).get(address).status_code for actor in answers} == answers
    refused = [actor for actor, status in answers.items() if status in (403, 404)]
    assert [add_second_coach(as_(actor), cast).status_code for actor in refused] == [
        answers[actor] for actor in refused
    ]
    assert not cast.student.cares.filter(coach=cast.other_coach).exists()
    assert as_("coach").get(reverse("care", args=[uuid.uuid4()])).status_code == 404


def test_now_later_and_earlier_with_role_areas_dates_and_note(cast: Cast, as_: Clients) -> None:
    Care.objects.filter(coach=cast.cover).update(putting=False, note="Sore left knee.")
    days = {"since": later(cast, 20), "until": later(cast, 30)}
    make_care(cast.other_coach, cast.student, role="assistant", **days)
    page = page_of(as_("coach"), cast.student)
    now, to_come, over = part(page, "now"), part(page, "later"), part(page, "earlier")
    assert "Ida Fernkettle" in now and "Main coach" in now and "Noor Appleknot" in now and "Assistant coach" in now
    assert "Covering coach, for chipping, pitching, bunker" in now and "Sore left knee." in now
    assert "1 January 2020 onwards" in now and "Tam Heronquill" not in now and "Cai Meadowtwine" not in now
    assert "Cai Meadowtwine" in to_come and f"{days['since']:%-d %B %Y} to {days['until']:%-d %B %Y}" in to_come
    assert "Tam Heronquill" in over and "1 January 2020 to 1 January 2025" in over and "<button" not in over


def test_the_last_day_still_is_now_and_the_first_one_is(cast: Cast, as_: Clients) -> None:
    Care.objects.filter(coach=cast.cover).update(until=today(cast))
    Care.objects.filter(coach=cast.assistant).update(since=today(cast))
    now = part(page_of(as_("coach"), cast.student), "now")
    assert "Bram Saltquill" in now and "Noor Appleknot" in now


def test_who_teachs_finds_the_page_and_nobody_else_is_offered_it(cast: Cast, as_: Clients) -> None:
    address = reverse("care", args=[cast.student.key])
    for actor in ("coach", "manager", "cover", "assistant", "student", "guardian"):
        page = as_(actor).get(reverse("student", args=[cast.student.key])).content.decode()
        assert (f'href="{address}"' in page) == (actor in ("coach", "manager")), actor
    assert "Move to another main coach" in page_of(as_("manager"), cast.student)
    assert "Move to another main coach" not in page_of(as_("coach"), cast.student)


def test_many_coaches_cost_no_more_queries(cast: Cast, as_: Clients) -> None:
    client = as_("coach")

    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            page_of(client, cast.student)
        return len(captured)

    few = queries()
    for days in range(6):
        make_care(make_coach(), cast.student, role="assistant", since=later(cast, days - 3))
    assert queries() == few <= 12


# --- To add_second_coach ------------------------------------------------------------------------------------


def test_a_covering_coach_for_a_fortnight(cast: Cast, as_: Clients) -> None:
    typed = {"areas": ["putting", "bunker"], "since": later(cast, 3).isoformat(), "until": later(cast, 16).isoformat()}
    answer = add_second_coach(as_("coach"), cast, **typed, note="Works on the\r\nlead wrist.")
    assert answer.status_code == 302 and answer.url == reverse("care", args=[cast.student.key])
    care = cast.student.cares.get(coach=cast.other_coach)
    assert (care.role, care.since, care.until) == ("cover", later(cast, 3), later(cast, 16))
    assert care.areas == [Area.PUTTING, Area.BUNKER] and "lead wrist" in care.note
    assert care.history.get().history_user == cast.coach.user
    page = page_of(as_("coach"), cast.student)
    assert (
        f"Cai Meadowtwine is covering coach from {later(cast, 3):%-d %B %Y} until {later(cast, 16):%-d %B %Y}." in page
    )


def test_an_assistant_with_no_end_in_sight(cast: Cast, as_: Clients) -> None:
    assert add_second_coach(as_("manager"), cast, role="assistant").status_code == 302
    care = cast.student.cares.get(coach=cast.other_coach)
    assert (care.role, care.since, care.until) == ("assistant", today(cast), None)


def test_the_same_page_posted_twice_teachs_once(cast: Cast, as_: Clients) -> None:
    for until in ("", later(cast, 5).isoformat()):
        Care.objects.filter(coach=cast.other_coach, student=cast.student).delete()
        answers = [add_second_coach(as_("coach"), cast, until=until, note="Once.").status_code for _ in range(2)]
        assert answers == [302, 302]
        assert cast.student.cares.filter(coach=cast.other_coach).count() == 1


def test_a_second_coach_sees_the_student_from_the_first_day_to_the_last(cast: Cast, as_: Clients) -> None:
    add_second_coach(as_("coach"), cast, since=later(cast, 2).isoformat(), until=later(cast, 4).isoformat())
    client, found = as_("other_coach"), {}
    start = [on_day(cast, days) for days in range(1, 6)]
    for days, then in enumerate(start, start=1):
        with then:
            log = client.get(reverse("lesson_new", args=[cast.student.key])).status_code
            found[days] = (sees(client, cast.student), log)
    assert found == {1: (404, 404), 2: (200, 302), 3: (200, 302), 4: (200, 302), 5: (404, 404)}


def bad_care(cast: Cast) -> dict[str, tuple[dict[str, Any], str, str]]:
    """What cannot be: what is typed, the field, the message."""
    return {
        "ends first": ({"until": later(cast, -1).isoformat()}, "until", "before the first one"),
        "no area": ({"areas": []}, "areas", "at least one area"),
        "an area of its own": ({"areas": ["driving"]}, "areas", "among these areas"),
        "yesterday": ({"since": later(cast, -1).isoformat()}, "since", "has passed"),
        "too far": ({"since": later(cast, 91).isoformat()}, "since", "within the next 90 days"),
        "not a day": ({"since": "2026-02-30"}, "since", "Type a day"),
        "no day": ({"since": ""}, "since", "Choose a day."),
        "last not a day": ({"until": "soon"}, "until", "Type a day"),
        "closed account": ({"coach": cast.past_coach.pk}, "coach", "whose account is open"),
        "no coach": ({"coach": ""}, "coach", "Choose a coach."),
        "nonsense": ({"coach": "x"}, "coach", "Choose a coach"),
        "no such number": ({"coach": "9" * 30}, "coach", "Choose a coach"),
        "main": ({"role": "main"}, "role", "Choose one of the two."),
        "no role": ({"role": ""}, "role", "Choose one of the two."),
        "long note": ({"note": "n" * 1001}, "note", "1000 characters"),
        "has it": ({"coach": cast.cover.pk}, "coach", "Bram Saltquill is covering coach"),
        "has a part": ({"coach": cast.cover.pk, "areas": ["bunker"]}, "coach", "already"),
        "main coach": ({"coach": cast.coach.pk}, "coach", "Ida Fernkettle is main coach"),
    }


CASES = [
    *["ends first", "no area", "an area of its own", "yesterday", "too far", "not a day", "no day", "last not a day"],
    *[
        "closed account",
        "no coach",
        "nonsense",
        "no such number",
        "main",
        "no role",
        "long note",
        "has it",
        "has a part",
        "main coach",
    ],
]


@pytest.mark.parametrize("case", CASES)
def test_care_that_cannot_be_says_why_and_keeps_what_was_typed(case: str, cast: Cast, as_: Clients) -> None:
    cast.past_coach.user.is_active = False
    cast.past_coach.user.save()
    typed, field, message = bad_care(cast)[case]
    before = cast.student.cares.count()
    answer = add_second_coach(as_("coach"), cast, **{"note": "Keep the knees quiet.", **typed})
    page = answer.content.decode()
    assert answer.status_code == 422 and message in answer.context["form"].errors[field][0]
    assert "To put right" in page and f'id="id_{field}_error"' in page
    assert cast.student.cares.count() == before
    assert typed.get("note", "Keep the knees quiet.") in page
    if typed.get("since"):
        assert f'value="{typed["since"]}"' in page
    if "coach" not in typed:
        assert re.search(rf'<option value="{cast.other_coach.pk}" selected', page)


def test_nothing_typed_at_all_is_said_beside_every_field(cast: Cast, as_: Clients) -> None:
    answer = as_("coach").post(reverse("care", args=[cast.student.key]), {"csrfmiddlewaretoken": "x"})
    assert answer.status_code == 422
    assert set(answer.context["form"].errors) == {"coach", "role", "areas", "since"}
    assert as_("coach").post(reverse("care", args=[cast.student.key])).status_code == 422


@pytest.mark.parametrize(
    ("since", "until", "areas", "taken"),
    [
        (11, 20, AREAS, True),  # begins on the last day of the other
        (0, 5, AREAS, True),  # ends on the first one
        (12, 20, AREAS, False),
        (0, 4, AREAS, False),
        (12, None, AREAS, False),
        (0, None, AREAS, True),
        (7, 8, ["putting"], True),
        (7, 8, ["chipping"], False),
    ],
)
def test_care_of_the_same_kind_does_not_overlap(
    since: int, until: int | None, areas: list[str], taken: bool, cast: Cast, as_: Clients
) -> None:
    days = {"since": later(cast, 5), "until": later(cast, 11)}
    make_care(cast.other_coach, cast.student, role="cover", chipping=False, **days)
    typed = {"since": later(cast, since).isoformat(), "until": later(cast, until).isoformat() if until else ""}
    assert add_second_coach(as_("coach"), cast, areas=areas, **typed).status_code == (422 if taken else 302)


def test_an_assistant_may_cover_for_some_days_and_one_who_taught_may_come_again(cast: Cast, as_: Clients) -> None:
    days = {"since": today(cast).isoformat(), "until": later(cast, 5).isoformat()}
    assert add_second_coach(as_("coach"), cast, coach=cast.assistant.pk, **days).status_code == 302
    assert add_second_coach(as_("coach"), cast, coach=cast.past_coach.pk, **days).status_code == 302


# --- A junior's record --------------------------------------------------------------------------


def test_without_a_consent_the_page_says_what_a_second_coach_waits_for(
    junior: Student, cast: Cast, as_: Clients
) -> None:
    words = "sees the record only once a guardian agrees to sharing."
    assert words not in page_of(as_("coach"), junior)
    junior.consents.update(withdrawn_at=timezone.now())
    page = page_of(as_("coach"), junior)
    assert f"Bram Saltquill {words}" in page and f"Noor Appleknot {words}" in page
    assert f"Ida Fernkettle {words}" not in page and f"Tam Heronquill {words}" not in page
    assert "Alder Quimble is a junior" in part(page, "second")
    assert add_second_coach(as_("coach"), cast).status_code == 302
    assert f"Cai Meadowtwine {words}" in page_of(as_("coach"), junior)
    assert sees(as_("other_coach"), junior) == 404
    make_consent(junior, cast.guardian)
    assert sees(as_("other_coach"), junior) == 200
    assert words not in page_of(as_("coach"), junior)


def test_a_consent_to_something_else_is_none(junior: Student, cast: Cast, as_: Clients) -> None:
    junior.consents.update(purpose="photos")
    assert "agrees to sharing" in page_of(as_("coach"), junior)


def test_nobody_agrees_for_an_adult(cast: Cast, as_: Clients) -> None:
    cast.student.birth_year = today(cast).year - 40
    cast.student.save()
    cast.student.consents.update(withdrawn_at=timezone.now())
    assert "agrees to sharing" not in page_of(as_("coach"), cast.student)


# --- To end it early ----------------------------------------------------------------------------


def test_care_that_ends_early_shows_nothing_at_the_next_request(cast: Cast, as_: Clients) -> None:
    care = cast.student.cares.get(coach=cast.cover)
    assert sees(as_("cover"), cast.student) == 200
    answer = end(as_("coach"), care)
    assert answer.status_code == 302 and answer.url == reverse("care", args=[cast.student.key])
    assert sees(as_("cover"), cast.student) == 404
    care.refresh_from_db()
    assert care.until == later(cast, -1) and care.history.first().history_user == cast.coach.user
    page = page_of(as_("coach"), cast.student)
    assert "Bram Saltquill is no longer covering coach of Alder Quimble." in page
    assert "Bram Saltquill" in part(page, "earlier")


def test_to_end_it_twice_is_to_end_it_once(cast: Cast, as_: Clients) -> None:
    for since in (later(cast, -9), today(cast), later(cast, 9)):
        care = make_care(cast.other_coach, cast.student, role="assistant", since=since)
        number, changes = care.pk, []
        for _ in range(2):
            answer = as_("coach").post(reverse("care_end", args=[cast.student.key, number]))
            assert answer.status_code == 302
            changes.append(Care.history.filter(id=number).count())
        assert changes == [2, 2]
    assert sees(as_("other_coach"), cast.student) == 404


@pytest.mark.parametrize("days", [0, 9])
def test_care_that_begins_today_or_later_is_taken_back_and_the_history_tells_of_it(
    days: int, cast: Cast, as_: Clients
) -> None:
    care = make_care(cast.other_coach, cast.student, role="cover", since=later(cast, days))
    assert end(as_("manager"), care).status_code == 302
    gone = Care.history.filter(history_type="-").get()
    assert (gone.coach, gone.history_user) == (cast.other_coach, cast.manager)


def test_main_care_is_moved_and_not_ended(cast: Cast, as_: Clients) -> None:
    assert end(as_("manager"), cast.student.cares.get(role="main")).status_code == 404
    assert sees(as_("coach"), cast.student) == 200


def test_care_of_another_student_or_none_is_not_there(cast: Cast, as_: Clients) -> None:
    other = make_care(cast.cover, cast.other_student, role="cover")
    assert end(as_("coach"), other, cast.student).status_code == 404
    assert end(as_("manager"), other, cast.student).status_code == 404
    assert end(as_("coach"), other).status_code == 404
    for number in (0, 999_999, 10**30):
        assert as_("coach").post(reverse("care_end", args=[cast.student.key, number])).status_code == 404
    other.refresh_from_db()
    assert other.until is None


def test_who_reads_cannot_end_anything_and_a_look_ends_nothing(cast: Cast, as_: Clients) -> None:
    care = cast.student.cares.get(coach=cast.assistant)
    statuses = [end(as_(actor), care).status_code for actor in ("cover", "assistant", "student", "guardian")]
    assert statuses == [403] * 4 and end(as_("past_coach"), care).status_code == 404
    assert as_("coach").get(reverse("care_end", args=[cast.student.key, care.pk])).status_code == 405
    care.refresh_from_db()
    assert care.until is None


@pytest.mark.history
def test_what_was_over_stays_as_it_was(cast: Cast, as_: Clients) -> None:
    care = cast.student.cares.get(coach=cast.past_coach)
    assert end(as_("coach"), care).status_code == 302
    care.refresh_from_db()
    assert care.until == date(2025, 1, 1) and care.history.count() == 1


# --- What whoever teaches now reads -------------------------------------------------------------


def test_a_note_is_read_by_coaches_and_managers_while_the_care_holds(cast: Cast, as_: Clients) -> None:
    add_second_coach(as_("coach"), cast, until=later(cast, 3).isoformat(), note="note-canary <b>")

    def reads(actor: str) -> bool:
        page = as_(actor).get(reverse("student", args=[cast.student.key])).content.decode()
        assert "note-canary <b>" not in page
        return "note-canary &lt;b&gt;" in page

    assert [reads(actor) for actor in ("coach", "cover", "assistant", "other_coach", "manager")] == [True] * 5
    assert [reads(actor) for actor in ("student", "guardian")] == [False] * 2
    with on_day(cast, 4):
        assert not reads("coach")


def test_a_note_stays_with_the_areas_that_stay(cast: Cast) -> None:
    cast.student.cares.filter(role="main").update(note="Ask about the knee.")
    move_student(student=cast.student, to=cast.other_coach, since=today(cast), by=cast.manager, areas=[Area.BUNKER])
    staying = cast.student.cares.in_force(today(cast)).get(coach=cast.coach)
    assert staying.note == "Ask about the knee." and Area.BUNKER not in staying.areas


def test_an_account_that_closed_is_not_offered(cast: Cast, as_: Clients) -> None:
    cast.other_coach.user.is_active = False
    cast.other_coach.user.save()
    offered = re.findall(r"<option[^>]*>([^<]+)</option>", page_of(as_("coach"), cast.student))
    assert "Cai Meadowtwine" not in offered and "Tam Heronquill" in offered


def test_a_student_who_was_merged_is_not_there(cast: Cast, as_: Clients) -> None:
    gone = make_student("Alder Quimbel", coach=cast.coach, merged_into=cast.student)
    assert as_("coach").get(reverse("care", args=[gone.key])).status_code == 404
