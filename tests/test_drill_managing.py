"""A manager takes in what a coach offers, orders the drills of the academy, and merges two that mean one thing."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.library.fitting import fitting_drills, read_offered
from drills.models import Drill, Fit, UsualDrill
from lessons.models import Fault, Focus
from tests.conftest import Cast
from tests.crawl import Reader
from tests.make import academy_today, make_drill, make_fault, make_lesson, make_prescription, make_skill

Clients = Callable[[str], Client]


def post(client: Client, name: str, drill: Drill, **values: str) -> Any:
    return client.post(reverse(name, args=["drill", drill.code]), values, follow=True)


def text_of(answer: Any) -> str:
    return Reader(answer.content.decode()).text


@pytest.fixture
def offered(cast: Cast) -> Drill:
    return make_drill("own-roll", name="Quiet roll", owner=cast.coach, offered_at=timezone.now())


@pytest.fixture
def fault(cast: Cast) -> Fault:
    return make_fault(make_skill(), name="Too fast")


def test_an_offered_drill_is_taken_in_for_every_coach(cast: Cast, as_: Clients, offered: Drill) -> None:
    make_drill(position=7)
    assert "Quiet roll" in text_of(as_("manager").get(reverse("drills"), {"whose": "offered"}))
    assert "Take it in" in text_of(as_("manager").get(reverse("drill", args=[offered.code])))
    assert "Taken in: Quiet roll" in text_of(post(as_("manager"), "row_take_in", offered))
    offered.refresh_from_db()
    assert (offered.owner, offered.offered_at, offered.position) == (None, None, 8)
    assert offered in Drill.offered_to(cast.other_coach)
    assert as_("coach").get(reverse("drill_edit", args=[offered.code])).status_code == 403


def test_a_name_that_the_academy_has_already_is_not_taken_in(cast: Cast, as_: Clients, offered: Drill) -> None:
    make_drill(name="quiet ROLL")
    assert "The academy has a drill named Quiet roll already" in text_of(post(as_("manager"), "row_take_in", offered))
    offered.refresh_from_db()
    assert offered.owner == cast.coach and offered.offered_at


@pytest.mark.history
def test_an_offer_is_given_back_with_a_word(cast: Cast, as_: Clients, offered: Drill) -> None:
    answer = post(as_("manager"), "row_give_back", offered, word="")
    assert answer.status_code == 422 and "A word to the coach: This field is required." in text_of(answer)
    post(as_("manager"), "row_give_back", offered, word="Say how far the hole is.")
    offered.refresh_from_db()
    assert offered.owner == cast.coach and offered.offered_at is None
    page = reverse("drill", args=[offered.code])
    assert "Say how far the hole is." in text_of(as_("coach").get(page))
    post(as_("coach"), "row_offer", offered)
    assert "Say how far the hole is." not in text_of(as_("coach").get(page))


def test_what_is_not_offered_is_neither_taken_in_nor_given_back(cast: Cast, as_: Clients) -> None:
    own, academys = make_drill("own-roll", owner=cast.coach), make_drill()
    for drill in (own, academys):
        for name in ("row_take_in", "row_give_back"):
            assert post(as_("manager"), name, drill, word="No").status_code == 403
    for name in ("row_move", "row_merge", "row_unmerge"):
        assert post(as_("manager"), name, own).status_code == 403


def test_drills_of_a_kind_change_places(cast: Cast, as_: Clients, fault: Fault) -> None:
    rows = [make_drill(name=name, position=3) for name in ("One", "Two", "Three")]
    rows.insert(1, make_drill(name="Other kind", kind="play", position=3))
    for row in rows:
        Fit.objects.create(drill=row, fault=fault)

    def offered() -> list[str]:
        return [str(row) for row in fitting_drills(fault, read_offered())]

    assert offered() == ["One", "Two", "Three", "Other kind"]
    post(as_("manager"), "row_move", rows[3], up="1")
    assert offered() == ["One", "Three", "Two", "Other kind"]
    post(as_("manager"), "row_move", rows[0], up="1")
    assert offered() == ["One", "Three", "Two", "Other kind"], "the first stays the first"
    post(as_("manager"), "row_move", rows[0], down="1")
    assert offered() == ["Three", "One", "Two", "Other kind"]


def test_a_merge_offers_the_other_alone_and_is_taken_back(cast: Cast, as_: Clients, fault: Fault) -> None:
    drill, other = make_drill(name="Narrow gate"), make_drill(name="Gate")
    wrong = make_fault(make_skill(), name="Too slow")
    Fit.objects.create(drill=other, fault=wrong, is_wrong=True)
    for each in (fault, wrong):
        UsualDrill.objects.create(
            coach=cast.coach, fault=each, drill=drill, amount=5, unit="balls", per_week=2, days=14
        )
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())
    focus = Focus.objects.create(student=cast.student, opened_in=lesson, slot=1, area="putting", fault=fault)
    make_prescription(lesson, focus, drill=drill, begins=academy_today())
    shown = as_("manager").get(reverse("row_merge", args=["drill", drill.code]), {"into": other.code})
    assert "It was given in 1 lesson. 1 coach has it as usual." in text_of(shown)
    post(as_("manager"), "row_merge", drill, into=other.code)
    drill.refresh_from_db()
    assert drill.archived and drill.merged_into == other and drill not in Drill.offered_to(cast.coach)
    assert [row.drill for row in UsualDrill.objects.order_by("fault__pk")] == [other, drill], "never one that is wrong"
    assert "Narrow gate" in text_of(as_("student").get(reverse("today", args=[cast.student.key])))
    assert "Undo that first" in text_of(post(as_("manager"), "row_merge", drill, into=other.code))
    post(as_("manager"), "row_unmerge", drill)
    drill.refresh_from_db()
    assert not drill.archived and drill.merged_into is None
    assert {row.drill for row in UsualDrill.objects.all()} == {drill}, "the usual drill is given back"


def test_what_a_drill_cannot_be_merged_into_is_said_beside_the_field(cast: Cast, as_: Clients, offered: Drill) -> None:
    drill = make_drill(name="Gate")
    away, past = make_drill(area="chipping"), make_drill(archived=True)
    for into, message in (
        (drill.code, "It cannot be merged into itself."),
        (away.code, f"{away} belongs to chipping. Choose one of the same area."),
        (past.code, f"{past} is archived. Choose one that is offered."),
        ("", "This field is required."),
        *((code, "Choose one of the academy’s from the list.") for code in (offered.code, "no-such")),
    ):
        answer = post(as_("manager"), "row_merge", drill, into=into)
        assert answer.status_code == 422 and f"Merge into: {message}" in text_of(answer), into
    drill.refresh_from_db()
    assert not drill.archived
