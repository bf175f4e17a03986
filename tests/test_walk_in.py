"""A walk-in: a name, child or adult, and a playing side, saved in ten seconds."""

import re
import uuid
from collections.abc import Callable
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Area, Care, Student
from tests.conftest import Cast
from tests.make import make_student

Clients = Callable[[str], Client]
ADULT_LEFT = {"age_group": "adult", "plays": "left"}
DILYS = {"name": "Dilys Harrowbell", **ADULT_LEFT}


def fresh_address() -> str:
    return reverse("walk_in", args=[uuid.uuid4()])


def test_a_name_and_a_side_lead_straight_into_the_log(cast: Cast, as_: Clients) -> None:
    coach = as_("coach")
    address = coach.get(reverse("walk_in_new")).url  # type: ignore[attr-defined]
    page = coach.get(address).content.decode()
    assert page.count('name="age_group"') == 2 and " checked" not in page.split('name="plays"')[0], (
        "no answer is chosen"
    )
    assert "autofocus" in page and 'autocapitalize="words"' in page and "Save and log the lesson" in page
    answer = coach.post(address, DILYS)
    student = Student.objects.get(name="Dilys Harrowbell")
    assert answer.url == reverse("lesson_new", args=[student.key])  # type: ignore[attr-defined]
    assert coach.get(answer.url, follow=True).status_code == 200  # type: ignore[attr-defined]
    assert student.walked_in and student.user is None
    assert student.age_group == "adult" and student.birth_year is None
    assert {student.side(area) for area in Area} == {"left"}
    care = student.cares.get()
    assert (care.coach, care.role, care.until) == (cast.coach, Care.Role.MAIN, None)
    assert care.since == cast.academy.today(timezone.now()) and len(care.areas) == len(Area)
    assert student.history.get().history_user == cast.coach.user


def test_a_double_tap_adds_one_student_and_leads_to_their_log(cast: Cast, as_: Clients) -> None:
    address = fresh_address()
    answers = [as_("coach").post(address, DILYS) for _ in range(2)]
    student = Student.objects.get(name="Dilys Harrowbell")
    assert {answer.url for answer in answers} == {reverse("lesson_new", args=[student.key])}  # type: ignore[attr-defined]
    assert student.cares.count() == 1
    assert as_("coach").get(address).url == reverse("student", args=[student.key])  # type: ignore[attr-defined]


def test_a_walk_in_that_is_typed_anew_after_it_was_saved_is_said_with_both(cast: Cast, as_: Clients) -> None:
    """The answer to the first was lost, the name was mended meanwhile: it is no success that drops the words."""
    address, coach = fresh_address(), as_("coach")
    coach.post(address, {**DILYS, "name": "Dylis Harowbell"})
    headers = {"Outbox-Key": str(uuid.uuid4()), "Outbox-Person": str(cast.user("coach").key)}
    for more, status in (({}, 422), ({"headers": headers}, 409)):
        answer = coach.post(address, DILYS, **more)  # type: ignore[arg-type]
        words = answer.content.decode()
        assert answer.status_code == status and 'value="Dilys Harrowbell"' in words
        assert "Saved already as Dylis Harowbell, adult, plays from the left." in words
        assert reverse("student_details", args=[Student.objects.get(name="Dylis Harowbell").key]) in words


def test_two_posts_at_the_same_moment_write_one_student(
    cast: Cast, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second one looked before the first one had written."""
    address = fresh_address()
    as_("coach").post(address, DILYS)
    empty = Student(key=uuid.UUID(address.split("/")[2]))
    monkeypatch.setattr("coachbook.accounts.gate.get_or_new_student", lambda *args: empty)
    assert as_("coach").post(address, DILYS).status_code == 302
    assert Student.objects.get(name="Dilys Harrowbell").cares.count() == 1


@pytest.mark.parametrize("actor", ["other_coach", "past_coach", "student", "guardian", "past_guardian", "manager"])
def test_an_address_in_use_is_nobody_elses(actor: str, cast: Cast, as_: Clients) -> None:
    address = reverse("walk_in", args=[cast.student.key])
    seen = actor in ("student", "guardian", "manager")
    assert {as_(actor).get(address).status_code, as_(actor).post(address, DILYS).status_code} == {403 if seen else 404}
    cast.student.refresh_from_db()
    assert cast.student.name == "Alder Quimble"


def test_a_manager_who_teaches_nobody_uses_the_details_form(cast: Cast, as_: Clients) -> None:
    address = fresh_address()
    details = address.replace("walk-in", "details")
    assert as_("manager").get(address).url == details  # type: ignore[attr-defined]
    assert as_("manager").post(address, DILYS).url == details  # type: ignore[attr-defined]
    assert reverse("walk_in_new") not in as_("manager").get(reverse("students")).content.decode()
    assert not Student.objects.filter(name="Dilys Harrowbell").exists()


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "   "}, "name"),
        ({"name": "x" * 121}, "name"),
        ({"name": "Dil\0ys"}, "name"),
        ({"age_group": ""}, "age_group"),
        ({"age_group": "grown"}, "age_group"),
        ({"plays": "both"}, "plays"),
        ({"plays": ""}, "plays"),
    ],
)
def test_what_cannot_be_says_why_and_keeps_the_rest(
    typed: dict[str, str], field: str, cast: Cast, as_: Clients
) -> None:
    count = Student.objects.count()
    answer = as_("coach").post(fresh_address(), {**DILYS, **typed})
    page = answer.content.decode()
    assert answer.status_code == 422 and f'id="id_{field}_error"' in page
    assert ('value="Dilys Harrowbell"' if field != "name" else 'value="left" required id="id_plays_1" checked') in page
    assert Student.objects.count() == count


@pytest.mark.parametrize(
    "name",
    ["Alder Quimble", "ALDER  quimble", " Alder Quimble ", "Áldër Quimblé", "A\u0301lder Quimble", "alderquimble"],
)
def test_others_of_the_same_name_are_listed_and_another_is_added_knowingly(name: str, cast: Cast, as_: Clients) -> None:
    address = fresh_address()
    answer = as_("coach").post(address, {"name": name, **ADULT_LEFT})
    page = answer.content.decode()
    assert answer.status_code == 422 and answer.context["form"].errors.keys() == {"name"}
    assert "Already here: Alder Quimble, plays from the right, with " in page and "Ida Fernkettle" in page
    assert f'href="{reverse("student", args=[cast.student.key])}"' in page and "Another person" in page
    assert 'value="left" required id="id_plays_1" checked' in page
    assert Student.objects.filter(walked_in=True).count() == 0
    assert (
        as_("coach").post(address, {"name": name, "age_group": "adult", "plays": "left", "another": "on"}).status_code
        == 302
    )
    assert Student.objects.get(walked_in=True).name == name.strip()


def test_an_apostrophe_is_one_however_it_is_typed(cast: Cast, as_: Clients) -> None:
    make_student("Orla D’Arrow", coach=cast.coach)
    assert as_("coach").post(fresh_address(), {"name": "Orla D'Arrow", **ADULT_LEFT}).status_code == 422


def test_of_a_namesake_out_of_reach_only_the_name_is_shown(cast: Cast, as_: Clients) -> None:
    answer = as_("coach").post(fresh_address(), {"name": "petra sallowpipit", **ADULT_LEFT})
    page = answer.content.decode()
    assert answer.status_code == 422 and "Somebody else at the academy has this name." in page
    assert "Petra Sallowpipit" not in page and "Cai Meadowtwine" not in page
    assert str(cast.other_student.key) not in page


def test_a_page_that_was_merged_away_is_no_second_person(cast: Cast, as_: Clients) -> None:
    Student.objects.filter(pk=cast.other_student.pk).update(merged_into=cast.student)
    assert as_("coach").post(fresh_address(), {"name": "Petra Sallowpipit", **ADULT_LEFT}).status_code == 302


def test_looking_for_the_name_costs_no_more_among_many(cast: Cast, as_: Clients, django_assert_max_num_queries) -> None:  # type: ignore[no-untyped-def]
    for _ in range(30):
        make_student("Alder Quimble", coach=cast.coach, account=False)
    client = as_("coach")
    with django_assert_max_num_queries(12):
        assert client.post(fresh_address(), {"name": "Alder Quimble", **ADULT_LEFT}).status_code == 422


def test_a_walk_in_is_labelled_until_their_details_are_complete(cast: Cast, as_: Clients) -> None:
    coach = as_("coach")
    coach.post(fresh_address(), {**DILYS, "age_group": "child"})
    student = Student.objects.get(name="Dilys Harrowbell")
    page, details = (reverse(name, args=[student.key]) for name in ("student", "student_details"))
    assert "walk-in</span>" in coach.get(reverse("students")).content.decode()
    assert f'<a href="{details}">Complete the details</a>' in coach.get(page).content.decode()
    sides = {f"{area}_side": "left" for area in Area.values}
    typed = {"name": "Dilys Harrowbell", "status": "active", "birth_year": "2011", **sides}
    assert coach.post(details, {**typed, "birth_year": "soon"}).status_code == 422
    student.refresh_from_db()
    assert student.walked_in
    assert coach.post(details, typed).status_code == 302
    student.refresh_from_db()
    assert not student.walked_in and student.birth_year == 2011
    assert "walk-in</span>" not in coach.get(reverse("students")).content.decode()
    assert "Complete the details" not in coach.get(page).content.decode()


def test_a_student_does_not_see_that_they_were_a_walk_in(cast: Cast, as_: Clients) -> None:
    Student.objects.filter(pk=cast.student.pk).update(walked_in=True)
    page = as_("student").get(reverse("student", args=[cast.student.key])).content.decode()
    assert not re.search("walk-in|walked", page, re.IGNORECASE)


def test_the_way_in_is_on_the_list_and_on_the_log(cast: Cast, as_: Clients) -> None:
    link = f'href="{reverse("walk_in_new")}"'
    assert link in as_("coach").get(reverse("students")).content.decode()
    log = as_("coach").get(reverse("lesson_new", args=[cast.student.key]), follow=True).content.decode()
    assert link in log
    assert link not in as_("guardian").get(reverse("students")).content.decode()


def test_a_walk_in_is_in_nobody_elses_list(cast: Cast, as_: Clients) -> None:
    as_("coach").post(fresh_address(), DILYS)
    assert Student.objects.get(name="Dilys Harrowbell").cares.get().since >= date(2026, 1, 1)
    assert "Dilys Harrowbell" not in as_("other_coach").get(reverse("students")).content.decode()
    assert "Dilys Harrowbell" in as_("manager").get(reverse("students")).content.decode()
