"""Designs of tests: the academy edits them, and recorded tests stay as they are."""

import re
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy
from drills.load import DESIGNS, load_drills
from drills.models import Ball, Design, ScoredTest
from drills.putting.observations import Leaves
from drills.scored_tests.observations import observations_of
from drills.scored_tests.recording.scoring import SetUp, begin_test
from lessons.shipped import tables
from tests.conftest import Cast
from tests.crawl import Reader
from tests.library import load_library
from tests.make import academy_today, make_test

Clients = Callable[[str], Client]
SHIPPED = list(tables(DESIGNS, "design"))
OWN = {
    "name": "Long leaves", "area": "putting", "kind": "leaves", "purpose": "Pace from far.",
    "setup": "A flat putt of 9 m.", "note": "Steps short or past.", "caution": "Look before you walk.",
    "distances": "9, 12", "balls": "10", "width": "",
}  # fmt: skip


@pytest.fixture(autouse=True)
def shipped(cast: Cast) -> None:
    """The designs that come with the program."""
    load_library()


def in_feet() -> None:
    academy = Academy.current()
    academy.units = "ft"
    academy.save()


def address(code: str) -> str:
    return reverse("design", args=[code])


def typed_in(client: Client, page: str) -> dict[str, str]:
    """What a browser would send back from the form as it stands on the page."""
    form = client.get(page).context["form"]
    typed = {field.name: field.value() for field in form if not field.field.disabled}
    typed["edition"] = client.get(page).context["edition"]
    return {name: "on" if value is True else str(value) for name, value in typed.items() if value not in (None, False)}


def change(client: Client, code: str, **values: str) -> Any:
    return client.post(address(code), typed_in(client, address(code)) | values)


def record(cast: Cast, code: str, **values: Any) -> ScoredTest:
    """A finished test with a ball from each distance, as it is frozen when it begins."""
    design = Design.objects.get(code=code)
    row = {"student": cast.student, "day": "2026-05-01", "side": "right", "by": cast.coach.user}
    test = ScoredTest.objects.create(
        design=design, width_m=design.width_m, **row | {"done_at": timezone.now()} | values
    )
    result = Ball.Result.THROUGH if design.kind == "gate" else Ball.Result.HOLED
    for number, distance in enumerate(design.distances_m):
        Ball.objects.create(test=test, number=number, distance_m=distance, result=result)
    return test


# --- The list -----------------------------------------------------------------------------------


def test_the_list_names_every_design_and_how_often_it_was_used(cast: Cast, as_: Clients) -> None:
    record(cast, "putting-gate")
    page = Reader(as_("manager").get(reverse("designs")).content.decode()).text
    for row in SHIPPED:
        assert row["name"] in page and row["purpose"] in page
    assert "Ball gate, 20 balls; 1 recorded" in page and "Counted putts, 40 balls; none recorded" in page


@pytest.mark.parametrize("actor", ["student", "guardian", "coach"])
def test_only_a_manager_changes_designs_of_the_academy(actor: str, as_: Clients) -> None:
    assert as_(actor).get(reverse("designs")).status_code == (200 if actor == "coach" else 403)
    assert as_(actor).post(address("putting-gate"), {"name": "Mine"}).status_code == 403
    assert Design.objects.get(code="putting-gate").name == "Ball gate"


def begins_with(cast: Cast, client: Client) -> list[str]:
    """The designs that somebody is offered who begins a test of the student."""
    form = client.get(reverse("scored_test", args=[cast.student.key, uuid.uuid4()])).context["form"]
    return [str(design) for _, design, _ in form.design_choices]


def test_a_coach_has_designs_of_their_own_and_offers_them(cast: Cast, as_: Clients) -> None:
    assert as_("coach").post(reverse("design_new"), OWN).status_code == 302
    row = Design.objects.get(name="Long leaves")
    assert row.owner == cast.coach
    assert "Long leaves" in begins_with(cast, as_("coach"))
    for actor in ("cover", "student"):
        assert "Long leaves" not in begins_with(cast, as_(actor)), actor
    assert "Long leaves" not in Reader(as_("cover").get(reverse("designs")).content.decode()).text
    assert as_("cover").get(address(row.code)).status_code == 404
    assert as_("cover").post(reverse("design_new"), OWN).status_code == 302, "the name is free among what they see"
    begun = make_test(cast.student, row, day=academy_today(), done_at=None)
    page = as_("student").get(reverse("scored_test", args=[cast.student.key, begun.key]))
    assert "Long leaves" in [str(design) for _, design, _ in page.context["form"].design_choices]
    assert change(as_("coach"), row.code, setup="A slope of 9 m.").status_code == 302
    as_("coach").post(reverse("row_offer", args=["design", row.code]))
    listed = Reader(as_("manager").get(reverse("designs")).content.decode()).text
    assert "Ida Fernkettle’s own, offered to the academy" in listed
    as_("manager").post(reverse("row_take_in", args=["design", row.code]))
    row.refresh_from_db()
    assert (row.owner, row.offered_at, row.setup) == (None, None, "A slope of 9 m.")
    assert "Long leaves" in begins_with(cast, as_("student"))
    assert as_("coach").post(address(row.code), OWN).status_code == 403


def test_an_offer_of_a_design_is_taken_back(cast: Cast, as_: Clients) -> None:
    as_("coach").post(reverse("design_new"), OWN | {"name": "Ball gates"})
    row = Design.objects.get(name="Ball gates")
    assert as_("manager").post(reverse("row_take_in", args=["design", row.code])).status_code == 403, (
        "it is not offered"
    )
    as_("coach").post(reverse("row_offer", args=["design", row.code]))
    as_("coach").post(reverse("row_keep", args=["design", row.code]))
    row.refresh_from_db()
    assert row.offered_at is None and row.owner == cast.coach
    Design.objects.filter(pk=row.pk).update(name="Ball gate")
    as_("coach").post(reverse("row_offer", args=["design", row.code]))
    as_("manager").post(reverse("row_take_in", args=["design", row.code]))
    row.refresh_from_db()
    assert row.owner == cast.coach, "the academy has a test with this name"


@pytest.mark.history
def test_an_offered_design_is_given_back_with_a_word(cast: Cast, as_: Clients) -> None:
    as_("coach").post(reverse("design_new"), OWN)
    row = Design.objects.get(name="Long leaves")
    as_("coach").post(reverse("row_offer", args=["design", row.code]))
    back = reverse("row_give_back", args=["design", row.code])
    assert back in as_("manager").get(reverse("designs")).content.decode()
    assert as_("manager").post(back, {"word": ""}).status_code == 422
    as_("manager").post(back, {"word": "Say how far the hole is."})
    row.refresh_from_db()
    assert (row.offered_at, row.owner) == (None, cast.coach)
    assert "Say how far the hole is." in as_("coach").get(address(row.code)).content.decode()


def test_of_two_who_change_a_design_the_second_is_shown_both(as_: Clients) -> None:
    page = address("putting-gate")
    mine, theirs = (typed_in(as_("manager"), page) for _ in range(2))
    assert as_("manager").post(page, theirs | {"balls": "7", "setup": "Theirs."}).status_code == 302
    answer = as_("manager").post(page, mine | {"balls": "9"})
    assert answer.status_code == 422
    shown = {(row.label, row.stored, row.typed) for row in answer.context["differences"]}
    assert ("Balls from each distance", "7", "9") in shown and ("Set up", "Theirs.", mine["setup"]) in shown
    again = mine | {"balls": "9", "edition": answer.context["edition"]}
    assert as_("manager").post(page, again).status_code == 302
    design = Design.objects.get(code="putting-gate")
    assert (design.balls, design.setup) == (9, mine["setup"])


# --- Changing one -------------------------------------------------------------------------------


@pytest.mark.parametrize("unit", ["m", "ft"])
@pytest.mark.parametrize("row", SHIPPED, ids=lambda row: row["code"])
def test_saving_what_was_not_touched_changes_nothing(row: dict[str, Any], unit: str, as_: Clients) -> None:
    """Neither a length, whatever it was rounded to on the page, nor a word: the next version still renews the row."""
    if unit == "ft":
        in_feet()
    before = Design.objects.filter(code=row["code"]).values().get()
    assert change(as_("manager"), row["code"]).status_code == 302
    assert Design.objects.filter(code=row["code"]).values().get() == before
    assert not Design.objects.get(code=row["code"]).is_edited


def test_words_lengths_and_balls_are_changed(as_: Clients) -> None:
    client = as_("manager")
    answer = change(
        client, "putting-counted", name="Short ones", distances="1, 2.5,3 ", balls="8", purpose="{Lead} on."
    )
    assert (answer.status_code, answer.headers["Location"]) == (302, reverse("designs"))
    design = Design.objects.get(code="putting-counted")
    assert (str(design), design.distances_m, design.balls) == ("Short ones", [1.0, 2.5, 3.0], 8)
    page = Reader(client.get(reverse("designs")).content.decode()).text
    assert "Saved: Short ones." in page and "Lead on." in page and "reworded here" in page


def test_feet_and_inches_are_stored_as_metres(as_: Clients) -> None:
    """The international foot is 0.3048 m and the inch 25.4 mm: NIST Special Publication 811, appendix B."""
    in_feet()
    page = Reader(as_("manager").get(address("putting-gate")).content.decode()).text
    assert "Distances, in feet" in page and "Width of the gate, in inches" in page
    change(as_("manager"), "putting-gate", distances="3, 10", width="3.5")
    design = Design.objects.get(code="putting-gate")
    assert design.distances_m == [pytest.approx(0.9144), pytest.approx(3.048)]
    assert design.width_m == pytest.approx(0.0889)
    assert typed_in(as_("manager"), address("putting-gate"))["distances"] == "3, 10"


def test_a_distance_that_stays_keeps_its_length_when_another_is_added(as_: Clients) -> None:
    """6 m are read as 20 feet; with 40 feet beside it, it is still 6 m."""
    in_feet()
    form = typed_in(as_("manager"), address("putting-leaves"))
    change(as_("manager"), "putting-leaves", distances=f"{form['distances']}, 40")
    assert Design.objects.get(code="putting-leaves").distances_m == [6.0, pytest.approx(12.192)]


def test_what_was_recorded_stays_as_it_is(cast: Cast, as_: Clients) -> None:
    gate, counted = record(cast, "putting-gate"), record(cast, "putting-counted")
    before = [observations_of(test) for test in (gate, counted)]
    change(as_("manager"), "putting-gate", width="12", distances="2", balls="5")
    change(as_("manager"), "putting-counted", distances="4", balls="5")
    after = [observations_of(ScoredTest.objects.get(pk=test.pk)) for test in (gate, counted)]
    assert after == before and gate.design_id == Design.objects.get(code="putting-gate", width_m=0.12).pk


def test_what_a_design_measures_stays_once_a_test_was_recorded(cast: Cast, as_: Clients) -> None:
    record(cast, "putting-leaves", done_at=None)
    client = as_("manager")
    assert "Tests were recorded with it, so this is fixed." in client.get(address("putting-leaves")).content.decode()
    assert change(client, "putting-leaves", kind="ladder", area="chipping", name="Leaves").status_code == 302
    design = Design.objects.get(code="putting-leaves")
    assert (design.kind, design.area, design.name) == ("leaves", "putting", "Leaves")
    assert change(client, "putting-ladder", kind="leaves").status_code == 302
    assert Design.objects.get(code="putting-ladder").kind == "leaves", "nothing was recorded with this one"


def test_a_reworded_design_is_left_alone_by_the_next_version_and_no_other_is(as_: Clients) -> None:
    change(as_("manager"), "putting-gate", setup="Two tees, as we do it here.")
    shipped = {**Design.objects.get(code="putting-gate").shipped, "setup": "Three tees."}
    Design.ship("putting-gate", shipped)
    assert Design.objects.get(code="putting-gate").setup == "Two tees, as we do it here."
    load_drills()
    assert Design.objects.get(code="putting-gate").setup == "Two tees, as we do it here."
    Design.ship("putting-leaves", {**Design.objects.get(code="putting-leaves").shipped, "setup": "Three balls."})
    assert Design.objects.get(code="putting-leaves").setup == "Three balls."


def test_an_archived_design_stays_so_and_comes_back(as_: Clients) -> None:
    change(as_("manager"), "putting-ladder", archived="on")
    load_drills()
    assert Design.objects.get(code="putting-ladder").archived
    assert "archived" in Reader(as_("manager").get(reverse("designs")).content.decode()).text
    form = typed_in(as_("manager"), address("putting-ladder"))
    del form["archived"]
    as_("manager").post(address("putting-ladder"), form)
    assert not Design.objects.get(code="putting-ladder").archived


def test_who_changed_it_is_kept(cast: Cast, as_: Clients) -> None:
    change(as_("manager"), "putting-gate", name="Two tees")
    last = Design.objects.get(code="putting-gate").history.latest()  # type: ignore[attr-defined]
    assert (last.history_user, last.name, last.prev_record.name) == (cast.manager, "Two tees", "Ball gate")


def test_a_code_that_is_not_there(as_: Clients) -> None:
    assert as_("manager").get(address("no-such-test")).status_code == 404


# --- Another one --------------------------------------------------------------------------------


def test_a_new_design_gets_its_code_from_its_name_and_the_last_place(as_: Clients) -> None:
    assert as_("manager").post(reverse("design_new"), OWN).status_code == 302
    design = Design.objects.get(code="own-long-leaves")
    assert (design.kind, design.distances_m, design.balls, design.width_m) == ("leaves", [9.0, 12.0], 10, None)
    assert list(Design.objects.filter(area="putting"))[-1] == design
    load_drills()
    assert Design.objects.get(code="own-long-leaves").name == "Long leaves"


def test_no_design_that_ships_can_take_the_row_of_an_own_one() -> None:
    assert not [row["code"] for row in SHIPPED if row["code"].startswith("own-")]


@pytest.mark.parametrize("name", ["Long leaves!", "Long, leaves", "LONG leaves?"])
def test_codes_are_unique(name: str, as_: Clients) -> None:
    for each in (OWN, OWN | {"name": name}):
        assert as_("manager").post(reverse("design_new"), each).status_code == 302
    assert Design.objects.filter(code__in=["own-long-leaves", "own-long-leaves-2"]).count() == 2


def test_a_name_without_a_letter_of_ours_has_a_code_too(as_: Clients) -> None:
    for name in ("λλλ", "ддд"):
        assert as_("manager").post(reverse("design_new"), OWN | {"name": name}).status_code == 302
        assert as_("manager").get(address(Design.objects.get(name=name).code)).status_code == 200


def test_a_double_tap_adds_one(as_: Clients) -> None:
    answers = [as_("manager").post(reverse("design_new"), OWN) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [302, 422]
    assert "There is already a test with this name." in answers[1].content.decode()
    assert Design.objects.filter(name="Long leaves").count() == 1


@pytest.mark.parametrize("kind", Design.Kind.values)
def test_the_form_starts_with_the_values_of_the_first_of_its_kind(kind: str, as_: Clients) -> None:
    client, page = as_("manager"), f"{reverse('design_new')}?kind={kind}"
    form = typed_in(client, page)
    first = Design.objects.filter(kind=kind)[0]
    assert (form["kind"], form["setup"], form["caution"]) == (kind, first.setup, first.caution)
    assert form["name"] == form["purpose"] == ""
    assert client.post(page, form | {"name": "Ours", "purpose": "Ours."}).status_code == 302
    made = Design.objects.get(name="Ours")
    assert (made.distances_m, made.width_m, made.shipped) == (first.distances_m, first.width_m, {})


def test_an_unknown_kind_begins_empty(as_: Clients) -> None:
    assert as_("manager").get(f"{reverse('design_new')}?kind=%00x").status_code == 200


# --- Invalid input ------------------------------------------------------------------------------

BAD = [
    ("distances", "", "required"),
    ("distances", "0", "0 m is out of range: from 0.1 to 60 m."),
    ("distances", "-2", "“-2” is not a distance."),
    ("distances", "1, two", "“two” is not a distance."),
    ("distances", "1,,2", "“” is not a distance."),
    ("distances", ",", "“” is not a distance."),
    ("distances", "70", "70 m is out of range: from 0.1 to 60 m."),
    ("distances", "nan", "“nan” is not a distance."),
    ("distances", "1e1", "“1e1” is not a distance."),
    ("distances", "<b>", "“&lt;b&gt;” is not a distance."),
    ("distances", "1, 2, 1.0", "twice"),
    ("distances", "1,2,3,4,5,6,7,8,9,10,11", "11 distances are too many: 10 at most."),
    ("distances", "9" * 30, "is not a distance"),
    ("balls", "", "required"),
    ("balls", "0", "from 1 to 100"),
    ("balls", "-1", "from 1 to 100"),
    ("balls", "101", "from 1 to 100"),
    ("balls", "ten", "from 1 to 100"),
    ("width", "", "Type how wide the gate is."),
    ("width", "4.27", "above 4.27 cm, the width of a ball, and up to 100 cm."),
    ("width", "0", "above 4.27 cm"),
    ("width", "-8", "above 4.27 cm"),
    ("width", "wide", "above 4.27 cm"),
    ("width", "101", "up to 100 cm"),
    ("name", "", "required"),
    ("name", "x" * 61, "at most 60"),
    ("name", "measured LEAVES", "There is already a test with this name."),
    ("name", "[lead] [nose]", "“[nose]” is not known."),
    ("purpose", "", "required"),
    ("setup", " ", "required"),
    ("setup", "The [left] foot.", "“[left]” is not known."),
    ("note", "x" * 301, "at most 300"),
    ("caution", "", "required"),
    ("kind", "maze", "not one of the available choices"),
    ("kind", "chips", "Proximity is for shots from off the green."),
    ("kind", "leaves", "Only a ball gate has a width"),
    ("area", "chipping", "This is for putts."),
]


@pytest.mark.parametrize(("field", "value", "said"), BAD, ids=[f"{field}-{value[:12]}" for field, value, _ in BAD])
def test_what_cannot_be_says_why_beside_the_field_and_loses_nothing(
    field: str, value: str, said: str, as_: Clients
) -> None:
    client, before = as_("manager"), Design.objects.filter(code="putting-gate").values().get()
    kept = {"setup": "Kept words", "distances": "1.25", "balls": "7", "width": "9.5", field: value}
    answer = change(client, "putting-gate", **kept)
    page = answer.content.decode()
    where = "width" if said.startswith("Only a ball gate") else "kind" if said.startswith("This is") else field
    beside = re.search(rf'<div id="id_{where}_error">(.*?)</div>', page, re.DOTALL)
    assert answer.status_code == 422 and "To put right" in page and "<h1>Ball gate</h1>" in page
    assert beside and said in beside[1]
    form = answer.context["form"]
    assert {name: form[name].value() for name in kept} == kept
    assert Design.objects.filter(code="putting-gate").values().get() == before


def test_a_gate_of_a_ball_in_inches_is_refused(as_: Clients) -> None:
    """A ball is no smaller than 1.680 inches: R&A and USGA, Equipment Rules, part 4."""
    in_feet()
    answer = change(as_("manager"), "putting-gate", width="1.68")
    assert answer.status_code == 422 and "above 1.68 inches" in answer.content.decode()
    assert change(as_("manager"), "putting-gate", width="1.7").status_code == 302


def test_too_many_balls_in_all(as_: Clients) -> None:
    answer = change(as_("manager"), "putting-counted", balls="51")
    assert answer.status_code == 422 and "That makes 204 balls in all; 200 at most." in answer.content.decode()


@pytest.mark.parametrize("values", [{}, {"kind": "gate"}])
def test_a_new_design_with_nothing_typed_asks_for_it(values: dict[str, str], as_: Clients) -> None:
    answer = as_("manager").post(reverse("design_new"), values)
    assert answer.status_code == 422 and answer.content.decode().count("required") >= 6
    assert Design.objects.count() == len(SHIPPED)


# --- The aim ------------------------------------------------------------------------------------


def test_each_design_says_where_a_putt_is_meant_to_stop(as_: Clients) -> None:
    """Past a hole by a foot: Broadie (2018). At a line and through a gate nothing is added."""
    said = Reader(as_("manager").get(reverse("designs")).content.decode()).text
    assert said.count("Each putt is meant to stop 30 cm past the hole.") == 2
    assert said.count("Each putt is meant to stop at the line.") == 1


def test_a_zone_is_met_at_its_middle(cast: Cast, as_: Clients) -> None:
    assert change(as_("manager"), "putting-ladder", past="40").status_code == 302
    said = Reader(as_("manager").get(reverse("designs")).content.decode()).text
    assert "Each putt is meant to stop 40 cm past the line." in said
    test = record(cast, "putting-ladder")
    test.balls.update(result=Ball.Result.MISSED, leave_m=0.4)
    assert {each.past_m for each in observations_of(test) if isinstance(each, Leaves)} == {0.4}


def test_a_changed_aim_leaves_recorded_tests_as_they_were(cast: Cast, as_: Clients) -> None:
    set_up = SetUp(design=Design.objects.get(code="putting-leaves"), day=academy_today(), step_m=0.9)
    test, _ = begin_test(key=uuid.uuid4(), student=cast.student, set_up=set_up, by=cast.coach.user)
    assert change(as_("manager"), "putting-leaves", past="60").status_code == 302
    stored = ScoredTest.objects.get(pk=test.pk)
    assert stored.aim_m == pytest.approx(0.3048) and stored.design.aim_m == 0.6


def test_an_aim_in_inches_is_kept_as_it_was(as_: Clients) -> None:
    in_feet()
    assert typed_in(as_("manager"), address("putting-leaves"))["past"] == "12"
    assert change(as_("manager"), "putting-leaves", name="Leaves").status_code == 302
    assert Design.objects.get(code="putting-leaves").past_m == 0.3048


@pytest.mark.parametrize(
    "code, past, message",
    [
        ("putting-ladder", "far", "Type a number from 0 to 500 cm."),
        ("putting-ladder", "501", "Type a number from 0 to 500 cm."),
        ("putting-ladder", "-5", "Type a number from 0 to 500 cm."),
        ("putting-gate", "10", "Only putts to a hole, a line or a zone have an aim: leave this empty."),
    ],
)
def test_an_aim_that_cannot_be_has_its_message(as_: Clients, code: str, past: str, message: str) -> None:
    answer = change(as_("manager"), code, past=past)
    assert answer.status_code == 422
    assert answer.context["form"].errors == {"past": [message]}


def test_without_an_aim_the_kind_says_it(as_: Clients) -> None:
    assert change(as_("manager"), "putting-leaves", past="").status_code == 302
    row = Design.objects.get(code="putting-leaves")
    assert row.past_m is None and row.aim_m == pytest.approx(0.3048)
