"""The list of students and a student's page and details."""

import uuid
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.loop.sheets.issue import issue_sheet
from lessons.models import Focus
from tests.conftest import Cast
from tests.make import academy_today, make_lesson, make_manager, make_pause, make_prescription, make_student

Clients = Callable[[str], Client]
SIDES = {f"{area}_side": "right" for area in ("putting", "chipping", "pitching", "bunker")}


def details(**typed: object) -> dict[str, object]:
    return {"name": "Wilf Tarkle", "status": "active", **SIDES, **typed}


def test_each_person_lands_where_their_day_begins(cast: Cast, as_: Clients) -> None:
    for actor, page in [
        ("student", reverse("today", args=[cast.student.key])),
        ("guardian", reverse("students")),
        ("coach", reverse("day")),
        ("manager", reverse("caseload")),
    ]:
        assert as_(actor).get("/").url == page, actor  # type: ignore[attr-defined]


def test_search_finds_words_in_any_order_and_capitals(cast: Cast, as_: Clients) -> None:
    make_student("Dilys Harrowbell", coach=cast.coach)
    page = as_("coach").get(reverse("students"), {"q": "HARROW dil"}).content.decode()
    assert "Dilys Harrowbell" in page and "Alder Quimble" not in page


def test_a_search_answers_with_the_list_alone_under_htmx(cast: Cast, as_: Clients) -> None:
    answer = as_("coach").get(reverse("students"), headers={"HX-Request": "true"})
    assert "Alder Quimble" in answer.content.decode() and "<html" not in answer.content.decode()
    assert "HX-Request" in answer.headers["Vary"]


def test_a_list_of_hundreds_costs_no_more_queries(cast: Cast, as_: Clients, django_assert_max_num_queries) -> None:  # type: ignore[no-untyped-def]
    for _ in range(40):
        make_student(coach=cast.coach)
    client = as_("coach")
    with django_assert_max_num_queries(12):
        client.get(reverse("students"))
    with django_assert_max_num_queries(12):
        client.get(reverse("student", args=[cast.student.key]))


@pytest.mark.parametrize("actor", ["student", "guardian", "coach", "cover", "manager"])
@pytest.mark.parametrize("lessons", [1, 6])
def test_a_students_page_takes_at_most_twelve_queries_however_long_its_record_is(
    actor: str,
    lessons: int,
    cast: Cast,
    as_: Clients,
    django_assert_max_num_queries,  # type: ignore[no-untyped-def]
) -> None:
    for number in range(lessons):
        done = {"status": "complete", "completed_at": timezone.now()}
        lesson = make_lesson(cast.student, cast.coach, days_ago=7 * number, keep=f"Good {number}", **done)
        if number < 3:
            focus = Focus.objects.create(
                student=cast.student, opened_in=lesson, slot=number + 1, area="putting", what="Soft hands", reason="x"
            )
            make_prescription(lesson, focus)
        issue_sheet(lesson=lesson, at=timezone.now())
    make_pause(cast.student, academy_today())
    make_manager(cast.cover.user)  # a coach who is a manager as well
    client, address = as_(actor), reverse("student", args=[cast.student.key])
    with django_assert_max_num_queries(12):
        page = client.get(address).content.decode()
    assert page.count(">Sheet</a>") == lessons and "Soft hands" in page


def test_a_coach_adds_a_student_and_becomes_their_main_coach(cast: Cast, as_: Clients) -> None:
    coach = as_("coach")
    address = coach.get(reverse("student_new")).url  # type: ignore[attr-defined]
    assert coach.post(address, details(putting_side="left")).status_code == 302
    student = Student.objects.get(name="Wilf Tarkle")
    assert student.putting_side == "left" and str(student.key) in address
    assert coach.get(reverse("student", args=[student.key])).status_code == 200


def test_a_double_tap_adds_one_student(cast: Cast, as_: Clients) -> None:
    address = reverse("student_details", args=[uuid.uuid4()])
    for _ in range(2):
        assert as_("coach").post(address, details()).status_code == 302
    assert Student.objects.filter(name="Wilf Tarkle").count() == 1


def test_a_manager_says_who_will_coach(cast: Cast, as_: Clients) -> None:
    address = reverse("student_details", args=[uuid.uuid4()])
    assert as_("manager").post(address, details()).context["form"].errors["coach"]
    as_("manager").post(address, details(coach=cast.coach.pk))
    assert Student.objects.get(name="Wilf Tarkle").cares.get().coach == cast.coach


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "x" * 121}, "name"),
        ({"birth_year": "12"}, "birth_year"),
        ({"birth_year": "2999"}, "birth_year"),
        ({"birth_year": "soon"}, "birth_year"),
        ({"putting_side": "both"}, "putting_side"),
        ({"status": "gone"}, "status"),
    ],
)
def test_bad_details_say_why_keep_the_rest_and_save_nothing(
    typed: dict[str, str], field: str, cast: Cast, as_: Clients
) -> None:
    address = reverse("student_details", args=[cast.student.key])
    answer = as_("coach").post(address, details(**{"bunker_side": "left", **typed}))
    page = answer.content.decode()
    assert answer.status_code == 422 and answer.context["form"].errors[field]
    assert "To put right" in page and f'id="id_{field}_error"' in page
    assert 'name="bunker_side" value="left" required id="id_bunker_side_1" checked' in " ".join(page.split())
    cast.student.refresh_from_db()
    assert (cast.student.name, cast.student.bunker_side) == ("Alder Quimble", "right")


@pytest.mark.parametrize("actor", ["coach", "manager"])
def test_a_student_leaves_and_comes_back(actor: str, cast: Cast, as_: Clients) -> None:
    page, address = (reverse(name, args=[cast.student.key]) for name in ("student", "student_details"))
    assert as_(actor).post(address, details(name="Alder Quimble", status="left")).status_code == 302
    assert "has left" in as_(actor).get(reverse("students")).content.decode()
    assert f'<a href="{address}#id_status">Change the status</a>' in as_(actor).get(page).content.decode()
    assert as_(actor).post(address, details(name="Alder Quimble", status="active")).status_code == 302
    cast.student.refresh_from_db()
    assert cast.student.status == "active" and "Are they back?" not in as_(actor).get(page).content.decode()
    assert [row.status for row in cast.student.history.all()][:2] == ["active", "left"]


@pytest.mark.parametrize("actor", ["student", "guardian", "assistant"])
def test_those_who_do_not_arrange_it_only_read_that_somebody_left(actor: str, cast: Cast, as_: Clients) -> None:
    Student.objects.filter(pk=cast.student.pk).update(status="left")
    page = as_(actor).get(reverse("student", args=[cast.student.key])).content.decode()
    assert "Has left" in page and "Are they back?" not in page


def test_a_second_student_of_the_same_name_is_added_knowingly(cast: Cast, as_: Clients) -> None:
    address = reverse("student_details", args=[uuid.uuid4()])
    answer = as_("coach").post(address, details(name="alder QUIMBLE", birth_year="2011"))
    page = answer.content.decode()
    assert answer.status_code == 422 and "Another person" in page
    assert "Already here: Alder Quimble, plays from the right, with Ida Fernkettle" in page
    assert 'value="alder QUIMBLE"' in page and 'value="2011"' in page
    assert not Student.objects.filter(name="alder QUIMBLE").exists()
    assert as_("coach").post(address, details(name="alder QUIMBLE", another="on")).status_code == 302
    assert Student.objects.get(name="alder QUIMBLE").cares.get().coach == cast.coach


def test_a_name_that_stays_as_it_is_asks_nothing_again(cast: Cast, as_: Clients) -> None:
    make_student("Alder Quimble", coach=cast.coach, account=False)
    address = reverse("student_details", args=[cast.student.key])
    assert "Another person" not in as_("coach").get(address).content.decode()
    assert as_("coach").post(address, details(name="Alder Quimble", chipping_side="left")).status_code == 302
    assert as_("coach").post(address, details(name="Wilf Tarkle")).status_code == 302
    assert as_("coach").post(address, details(name="Alder Quimble")).status_code == 422


def test_a_new_name_is_also_the_accounts(cast: Cast, as_: Clients) -> None:
    as_("coach").post(reverse("student_details", args=[cast.student.key]), details(name="Alder Quimble-Mossknot"))
    cast.student.user.refresh_from_db()
    assert cast.student.user.name == "Alder Quimble-Mossknot"


@pytest.mark.parametrize("address", ["/students/not-a-key/", "/students/7/", "/drills/no-such-drill/", "/nowhere/"])
def test_an_address_that_does_not_exist(address: str, as_: Clients) -> None:
    answer = as_("coach").get(address)
    assert answer.status_code == 404 and "<h1" in answer.content.decode()


def test_signed_out_in_the_middle_of_a_form_what_was_typed_stays(cast: Cast, as_: Clients) -> None:
    """With no script: the answer holds the words, to be sent again after signing in elsewhere."""
    address = reverse("intake", args=[cast.student.key])
    answer = as_("anonymous").post(address, {"putting_grip": "Lead hand low & <soft>"})
    page = answer.content.decode()
    assert answer.status_code == 401
    assert 'name="putting_grip" value="Lead hand low &amp; &lt;soft&gt;"' in page and reverse("account_login") in page


def test_signed_out_under_htmx_the_page_stays_and_a_notice_comes(cast: Cast, as_: Clients) -> None:
    address = reverse("student_details", args=[cast.student.key])
    answer = as_("anonymous").post(address, details(), headers={"HX-Request": "true"})
    assert answer.status_code == 401
    assert (answer.headers["HX-Retarget"], answer.headers["HX-Reswap"]) == ("#notice", "innerHTML")


def test_a_page_from_before_the_sign_in_keeps_its_words(cast: Cast) -> None:
    """Signing in elsewhere renews the token, so that the old page's is refused: its words are offered again."""
    client = Client(enforce_csrf_checks=True, headers={"Origin": "http://testserver"})
    client.force_login(cast.coach.user)
    answer = client.post(reverse("intake", args=[cast.student.key]), {"putting_grip": "As before"})
    assert answer.status_code == 403 and 'name="putting_grip" value="As before"' in answer.content.decode()


def test_another_site_cannot_put_words_into_that_page(cast: Cast) -> None:
    client = Client(enforce_csrf_checks=True, headers={"Origin": "https://elsewhere.example"})
    client.force_login(cast.coach.user)
    answer = client.post(reverse("intake", args=[cast.student.key]), {"putting_grip": "Forged"})
    assert answer.status_code == 403 and "Forged" not in answer.content.decode()
