"""A lesson edited later: what other lessons gave and decided stays as it was."""

import uuid
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from drills.models import Prescription
from lessons.models import Focus, Lesson
from tests.conftest import Cast
from tests.library import load_library
from tests.make import academy_today
from tests.test_log import APART, SQUEEZE, Page

pytestmark = pytest.mark.long

Clients = Callable[[str], Client]


@pytest.fixture(autouse=True)
def catalogue(cast: Cast) -> None:
    load_library()


@pytest.fixture
def coach(as_: Clients) -> Client:
    return as_("coach")


def log(coach: Client, cast: Cast, days_ago: int) -> Page:
    page = Page(coach, cast.student)
    page.typed["day"] = (academy_today() - timedelta(days=days_ago)).isoformat()
    return page


def again(page: Page, **typed: Any) -> Any:
    """Open a lesson as it is stored, change something, and save or finish it."""
    day = page.typed["day"]
    page.open()
    page.typed["day"] = day
    for form in page.answer.context["lesson_form"].focuses:
        for field in form:
            if field.value() not in (None, ""):
                page.typed[field.html_name] = str(field.value())
    return page.send(**typed)


def focus() -> Focus:
    return Focus.objects.get(fault__code=APART)


def test_what_a_lesson_gave_stays_when_it_is_edited_after_the_focus_was_closed(coach: Client, cast: Cast) -> None:
    first = log(coach, cast, 20).focus(fault=APART, drill="putting-ball-gate")
    first.send(done="1")
    log(coach, cast, 5).send(done="1", keep="Good", **{f"focus-{focus().key}-decision": "close"})
    assert again(first, keep="Corrected").status_code == 302
    assert Prescription.objects.get().drill.code == "putting-ball-gate"


def test_an_edit_does_not_take_over_what_a_later_lesson_gave(coach: Client, cast: Cast) -> None:
    first = log(coach, cast, 20).focus(fault=APART, drill="putting-ball-gate", amount="11", unit="minutes")
    first.send(done="1")
    later = log(coach, cast, 5)
    key = focus().key
    later.send(
        done="1",
        keep="x",
        **{f"focus-{key}-drill": "putting-head-gate", f"focus-{key}-amount": "33", f"focus-{key}-unit": "balls"},
    )
    assert again(first, keep="Corrected").status_code == 302
    rows = [(row.drill.code, row.amount, row.unit) for row in Prescription.objects.order_by("begins")]
    assert rows == [("putting-ball-gate", 11, "minutes"), ("putting-head-gate", 33, "balls")]


def test_finishing_an_older_lesson_again_leaves_a_draft_s_drills_alone(coach: Client, cast: Cast) -> None:
    first = log(coach, cast, 2).focus(fault=APART, drill="putting-ball-gate")
    first.send(done="1")
    draft = log(coach, cast, 0)
    draft.send(**{f"focus-{focus().key}-drill": "putting-head-gate"})
    again(first, done="1", keep="Corrected")
    assert again(draft, done="1", keep="Good").status_code == 302
    today = academy_today()
    assert [row.drill.code for row in Prescription.objects.in_force(today)] == ["putting-head-gate"]


def test_a_trial_that_was_decided_stays_a_trial(coach: Client, cast: Cast) -> None:
    first = log(coach, cast, 20).focus(kind="trial", what="Lead hand low", decide_on="2027-01-15")
    first.send(done="1")
    trial = Focus.objects.get()
    log(coach, cast, 5).send(
        done="1", keep="x", **{f"focus-{trial.key}-decision": "kept", f"focus-{trial.key}-decide_on": "2027-01-15"}
    )
    answer = again(first, **{f"focus-{trial.key}-kind": "fix"})
    assert answer.status_code == 422 and "Another lesson opened or closed this focus" in answer.content.decode()
    trial.refresh_from_db()
    assert (trial.kind, trial.decision) == ("trial", "kept")


def test_a_focus_cannot_be_opened_again_where_three_are_open(coach: Client, cast: Cast) -> None:
    log(coach, cast, 20).focus(0, fault=APART).focus(1, fault=SQUEEZE).send(done="1")
    page = log(coach, cast, 1)
    key = focus().key
    fresh = str(uuid.uuid4())
    page.typed["focus"] = [*page.typed["focus"], fresh]
    page.focus(0, what="One more")
    typed = {f"focus-{fresh}-what": "And one", f"focus-{fresh}-reason": "A match"}
    assert page.send(**typed, **{f"focus-{key}-decision": "close"}).status_code == 302
    answer = page.send(count="2", **{f"focus-{key}-decision": "open"})
    assert answer.status_code == 422 and "Close one" in answer.content.decode()
    assert focus().closed_in_id


def test_the_key_of_a_closed_focus_changes_nothing_in_it(coach: Client, cast: Cast) -> None:
    log(coach, cast, 20).focus(fault=APART).send(done="1")
    key = focus().key
    log(coach, cast, 10).send(done="1", keep="x", **{f"focus-{key}-decision": "close"})
    page = log(coach, cast, 1)
    answer = page.send(focus=[str(key)], **{f"focus-{key}-what": "Rewritten"})
    assert answer.status_code == 422
    assert focus().what == ""


def test_a_feel_in_a_draft_reaches_the_student_with_done(coach: Client, cast: Cast, as_: Clients) -> None:
    log(coach, cast, 5).focus(fault=APART, drill="putting-ball-gate", feel="Soft as snow").send(done="1")
    draft = log(coach, cast, 0)
    draft.send(**{f"focus-{focus().key}-feel": "Firm as oak", f"focus-{focus().key}-drill": "putting-ball-gate"})
    today = reverse("today", args=[cast.student.key])
    assert "Soft as snow" in as_("student").get(today).content.decode()
    assert "Firm as oak" not in as_("student").get(today).content.decode()
    assert again(draft, done="1", keep="Good").status_code == 302
    assert "Firm as oak" in as_("student").get(today).content.decode()


def test_two_lessons_of_one_day_stay_in_order(coach: Client, cast: Cast) -> None:
    for keep in ("morning", "afternoon"):
        log(coach, cast, 3).send(done="1", keep=keep)
    begun = Lesson.objects.order_by("session__starts_at").values_list("keep", "session__starts_at")
    assert [keep for keep, _ in begun] == ["morning", "afternoon"]
    assert len({at for _, at in begun}) == 2


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Pago_Pago"])
def test_the_day_of_a_lesson_is_the_academys(zone: str, coach: Client, cast: Cast) -> None:
    """Whatever the hour, one of these two zones has another day than UTC (+14 and -11 hours: IANA, tz database)."""
    cast.academy.time_zone = zone
    cast.academy.save()
    days = {}
    for days_ago in (6, 4, 5):
        page = Page(coach, cast.student)
        day = page.answer.context["lesson_form"].today - timedelta(days=days_ago)
        page.typed["day"] = day.isoformat()
        for form in page.answer.context["lesson_form"].continuing:
            page.typed[f"focus-{form.key}-drill"] = "putting-ball-gate"
        if days_ago == 6:
            page.focus(fault=APART, drill="putting-ball-gate")
        page.send(done="1", keep=str(days_ago))
        days[days_ago] = day
    row = Prescription.objects.get(lesson__keep="5")
    assert (row.begins, row.ended_on) == (days[5], days[4])
    assert Lesson.objects.get(keep="5").session.starts_at < datetime.now(UTC)
