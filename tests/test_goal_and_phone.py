"""A student's goal, next event and telephone: what is taken, who reads it, and where it never stands."""

import re
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime

import pytest
import time_machine
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.corrections.merge import details_to_keep
from coachbook.loop.sheets.issue import issue_sheet, share_token
from tests.conftest import Cast
from tests.crawl import pdf_text
from tests.make import make_lesson, make_student

Clients = Callable[[str], Client]
# Numbers from 01632 960000 to 960999 are nobody's: Ofcom keeps them for stories ("Numbers for drama").
CALL = {"phone": "+44 (0)1632 960-017", "phone_of": "Maud, mother"}
TO_REACH = {"goal": "Two putts from anywhere", "event": "Autumn bowl", "event_on": "2027-06-30"}


@pytest.fixture(autouse=True)
def spring() -> Iterator[None]:
    with time_machine.travel(datetime(2027, 3, 22, 9, tzinfo=UTC), tick=False):
        yield


def details(cast: Cast, **typed: str) -> dict[str, str]:
    sides = {f"{area}_side": "right" for area in ("putting", "chipping", "pitching", "bunker")}
    return {"name": cast.student.name, "status": "active", "age_group": "", **sides, **typed}


def post(client: Client, cast: Cast, page: str, typed: dict[str, str]):
    return client.post(reverse(page, args=[cast.student.key]), typed)


@pytest.mark.history
def test_they_are_typed_and_kept_with_their_history(cast: Cast, as_: Clients) -> None:
    assert post(as_("coach"), cast, "student_details", details(cast, **CALL)).status_code == 302
    assert post(as_("cover"), cast, "intake", TO_REACH).status_code == 302
    cast.student.refresh_from_db()
    kept = {name: str(getattr(cast.student, name)) for name in (*CALL, *TO_REACH)}
    assert kept == CALL | TO_REACH
    changes = as_("coach").get(reverse("changes", args=[cast.student.key])).content.decode()
    assert "telephone" in changes and not re.search(r"960.?017", changes)


@pytest.mark.parametrize(
    ("page", "field", "typed", "message"),
    [
        ("student_details", "phone", {"phone": "call me"}, "Type a telephone number"),
        ("student_details", "phone", {"phone": "1234"}, "Type a telephone number"),
        ("student_details", "phone", {"phone": "+1234567890123456"}, "Type a telephone number"),
        ("student_details", "phone", {"phone": "1" * 31}, "30"),
        ("student_details", "phone", {"phone": "٠١٢٣٤٥٦"}, "Type a telephone number"),
        ("student_details", "phone", {"phone_of": "Maud, mother"}, "Type the number, or clear whose it is."),
        ("student_details", "phone_of", {"phone": "0155501", "age_group": "child"}, "Say whose number it is"),
        ("student_details", "phone_of", {"phone": "0155501", "phone_of": "x" * 41}, "40"),
        ("intake", "goal", {"goal": "x" * 201}, "200"),
        ("intake", "event", {"event": "x" * 121}, "120"),
        ("intake", "event", {"event_on": "2027-06-30"}, "Say which event it is"),
        ("intake", "event_on", {"event": "Autumn bowl", "event_on": "2027-03-21"}, "from today on"),
        ("intake", "event_on", {"event": "Autumn bowl", "event_on": "2037-03-21"}, "within three years"),
        ("intake", "event_on", {"event": "Autumn bowl", "event_on": "soon"}, "Type a day"),
    ],
)
def test_what_cannot_be_says_why_beside_the_field(
    page: str, field: str, typed: dict[str, str], message: str, cast: Cast, as_: Clients
) -> None:
    more = details(cast) if page == "student_details" else {"limits": "Sore left wrist"}
    answer = post(as_("coach"), cast, page, {**more, **typed})
    form = answer.context["form"]
    assert answer.status_code == 422 and list(form.errors) == [field] and message in form.errors[field][0]
    for value in (*typed.values(), *more.values()):
        assert value in answer.content.decode()
    cast.student.refresh_from_db()
    assert not cast.student.phone and not cast.student.goal and not cast.student.event


def test_an_adult_alone_has_a_number_of_their_own(cast: Cast, as_: Clients) -> None:
    adult = make_student("Beatrix Mossbud", coach=cast.coach, age_group="adult")
    typed = details(cast, name=adult.name, age_group="adult", phone="0155501")
    assert as_("coach").post(reverse("student_details", args=[adult.key]), typed).status_code == 302
    adult.refresh_from_db()
    assert adult.phone_link == "tel:0155501"


def test_an_event_that_is_over_does_not_stop_other_answers(cast: Cast, as_: Clients) -> None:
    Student.objects.filter(pk=cast.student.pk).update(event="Winter cup", event_on=date(2027, 1, 5))
    typed = {"event": "Winter cup", "event_on": "2027-01-05", "limits": "Sore left wrist"}
    assert post(as_("coach"), cast, "intake", typed).status_code == 302


@pytest.mark.parametrize("values", [{"phone_of": "mother"}, {"event_on": date(2027, 6, 30)}])
def test_the_database_keeps_no_half(values: dict[str, object], cast: Cast) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Student.objects.filter(pk=cast.student.pk).update(**values)


READERS = ("coach", "cover", "assistant", "manager", "student", "guardian")


@pytest.mark.parametrize("actor", [*READERS, "other_coach", "past_coach", "past_guardian", "other_student"])
def test_the_telephone_is_read_by_the_student_their_guardians_coaches_and_managers(
    actor: str, cast: Cast, as_: Clients
) -> None:
    Student.objects.filter(pk=cast.student.pk).update(**CALL)
    answer = as_(actor).get(reverse("student", args=[cast.student.key]))
    assert ('href="tel:+441632960017"' in answer.content.decode()) is (actor in READERS) is (answer.status_code == 200)


def test_it_stands_on_no_sheet_and_in_no_list_day_or_log_line(
    cast: Cast, as_: Clients, caplog: pytest.LogCaptureFixture
) -> None:
    post(as_("coach"), cast, "student_details", details(cast, **CALL))
    post(as_("coach"), cast, "intake", TO_REACH)
    done = {"status": "complete", "completed_at": timezone.now(), "keep": "Calm"}
    sheet = issue_sheet(lesson=make_lesson(cast.student, cast.coach, **done), at=timezone.now())
    own, where = [cast.student.key], [cast.student.key, sheet.key]
    places = [
        *(reverse(name) for name in ("students", "day", "week", "calendar")),
        *(reverse(name, args=own) for name in ("today", "progress", "messages")),
        *(reverse("lesson", args=[cast.student.key, sheet.lesson.key]), reverse("sheet", args=where)),
        reverse("shared_sheet", args=[share_token(sheet)]),
    ]
    words = {place: as_("coach").get(place).content.decode() for place in places}
    words["pdf"] = pdf_text(as_("coach").get(reverse("sheet_pdf", args=where)).content)
    words["log lines"] = caplog.text
    assert [place for place, text in words.items() if "960-017" in text or "Maud, mother" in text] == []
    assert "Autumn bowl" not in words["pdf"] + words[reverse("sheet", args=where)]


def test_a_merge_keeps_a_number_with_whose_it_is_and_an_event_with_its_day(cast: Cast) -> None:
    theirs = {**CALL, "goal": "Break ninety", "event": "Autumn bowl", "event_on": date(2027, 6, 30)}
    duplicate = Student(name="Alder", **theirs)
    assert details_to_keep(duplicate, Student(name="Alder")) == theirs
    has = Student(name="Alder", phone="0155501", event="Winter cup", goal="")
    assert details_to_keep(duplicate, has) == {"goal": "Break ninety"}
