"""A coach's usual drill and dose for a fault: seen, chosen, and given up for the academy's."""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from drills.library.fitting import fitting_drills, read_offered
from drills.models import Drill, Fit, UsualDrill
from drills.practice.prescribe import Dose, given_last, usual_prescription
from lessons.models import Fault, Focus
from tests.conftest import Cast
from tests.crawl import Reader
from tests.make import make_drill, make_fault, make_lesson, make_prescription, make_skill

Clients = Callable[[str], Client]
LIST = reverse("usual_drills")


@pytest.fixture
def fault(cast: Cast) -> Fault:
    """A fault with two drills that mend it, one that is wrong for it, and others that have nothing to do with it."""
    fault = make_fault(make_skill(name="Tempo"), "too-fast", name="Too fast")
    for number, code in enumerate(("slow", "slower", "hasty", "plain")):
        make_drill(code, name=code.capitalize(), position=number)
    make_drill("far", name="Far", area="chipping")
    make_drill("own-theirs", name="Theirs", owner=cast.other_coach)
    for code, is_wrong in (("slow", False), ("slower", False), ("hasty", True)):
        Fit.objects.create(drill=Drill.objects.get(code=code), fault=fault, is_wrong=is_wrong)
    return fault


def text_of(answer: Any) -> str:
    return Reader(answer.content.decode()).text


def first_for(cast: Cast, fault: Fault) -> str:
    return fitting_drills(fault, read_offered(cast.coach))[0].code


def choose(client: Client, fault: Fault, drill: str, **values: str) -> Any:
    return client.post(reverse("usual_drill", args=[fault.code]), {"drill": drill, **values})


@pytest.mark.history
def test_a_coach_chooses_another_drill_and_goes_back(cast: Cast, as_: Clients, fault: Fault) -> None:
    client = as_("coach")
    assert "Too fast Slow 10 minutes, 3 times a week, for 30 days" in text_of(client.get(LIST))
    dose = {"amount": "15", "unit": "balls", "per_week": "2", "days": "14"}
    assert choose(client, fault, "slower", **dose).status_code == 302
    assert "Too fast Slower (my usual) 15 balls, twice a week, for 14 days" in text_of(client.get(LIST))
    assert first_for(cast, fault) == "slower"
    found = usual_prescription(fault, read_offered(cast.coach), given_last(cast.coach))
    assert found and (found[0].code, found[1]) == ("slower", Dose(15, "balls", 2, 14))
    assert fitting_drills(fault, read_offered(cast.other_coach))[0].code == "slow", "it is this coach's alone"
    assert choose(client, fault, "plain").status_code == 302
    row = UsualDrill.objects.get()
    assert (row.drill.code, row.amount, row.unit, row.per_week, row.days) == ("plain", 10, "minutes", 3, 30)
    client.post(reverse("usual_reset", args=[fault.code]))
    assert first_for(cast, fault) == "slow" and not UsualDrill.objects.exists()
    assert [row.history_type for row in UsualDrill.history.all()] == ["-", "~", "+"]


def test_what_was_given_last_comes_first_and_the_list_says_so(cast: Cast, as_: Clients, fault: Fault) -> None:
    lesson = make_lesson(cast.student, cast.coach)
    focus = Focus.objects.create(student=cast.student, slot=1, area=fault.skill.area, fault=fault, opened_in=lesson)
    make_prescription(lesson, focus, drill=Drill.objects.get(code="plain"))
    assert "Too fast Plain (as I gave it last)" in text_of(as_("coach").get(LIST))
    choose(as_("coach"), fault, "slower")
    assert "Too fast Slower (my usual)" in text_of(as_("coach").get(LIST))


def test_a_drill_that_is_wrong_for_a_fault_is_never_usual(cast: Cast, as_: Clients, fault: Fault) -> None:
    client = as_("coach")
    offered = client.get(reverse("usual_drill", args=[fault.code])).context["form"].drills
    assert list(offered) == ["slow", "slower", "plain"]
    for drill in ("hasty", "far", "own-theirs", "", "no-such"):
        answer = choose(client, fault, drill)
        assert answer.status_code == 422 and "Choose a drill from the list." in text_of(answer)
    choose(client, fault, "slower")
    Fit.objects.filter(drill__code="slower").update(is_wrong=True)
    offered_now = read_offered(cast.coach)
    assert [drill.code for drill in fitting_drills(fault, offered_now)] == ["slow"]
    found = usual_prescription(fault, offered_now, given_last(cast.coach))
    assert found and found[0].code == "slow"


def test_a_dose_that_cannot_be_is_said_beside_its_field(cast: Cast, as_: Clients, fault: Fault) -> None:
    for values, message in (
        ({"amount": "0", "unit": "balls"}, "Type a whole number from 1 to 200."),
        ({"amount": "5"}, "Say both how much and what is counted, or neither."),
        ({"unit": "balls"}, "Say both how much and what is counted, or neither."),
        ({"per_week": "8"}, "Type a whole number from 1 to 7."),
        ({"days": "some"}, "Type a whole number from 1 to 365."),
    ):
        answer = choose(as_("coach"), fault, "slower", **values)
        assert answer.status_code == 422 and message in text_of(answer), values
    assert not UsualDrill.objects.exists()


def test_faults_are_found_by_area_and_by_words(cast: Cast, as_: Clients, fault: Fault) -> None:
    make_fault(make_skill(name="Stance", area="chipping"), name="Feet wide")
    theirs = make_fault(make_skill(name="Secret"), name="Their fault")
    Fault.objects.filter(pk=theirs.pk).update(owner=cast.other_coach)

    def found(**asked: str) -> list[str]:
        return [str(row) for row, _ in as_("coach").get(LIST, asked).context["rows"]]

    assert found() == ["Too fast"] == found(area="putting") == found(area="nowhere") == found(q="TEMPO")
    assert found(area="chipping") == ["Feet wide"] == found(q="chipping feet")
    assert found(q="their") == []
    assert as_("coach").get(reverse("usual_drill", args=[theirs.code])).status_code == 404


def test_the_number_of_queries_does_not_grow(cast: Cast, as_: Clients, fault: Fault) -> None:
    for number in range(9):
        make_fault(make_skill(name=f"Skill {number}"))
    for page in (LIST, reverse("usual_drill", args=[fault.code])):
        client = as_("coach")
        with CaptureQueriesContext(connection) as asked:
            assert client.get(page).status_code == 200
        assert len(asked) <= 12
