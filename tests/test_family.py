"""Guardians and children: added and removed by a manager, several of each, out at the next request."""

from collections.abc import Callable
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Guardianship, User
from tests.conftest import Cast
from tests.make import academy_today, make_guardian, make_lesson, make_prescription, make_student, make_user

Clients = Callable[[str], Client]


def page_of(cast: Cast) -> str:
    return reverse("guardians", args=[cast.student.key])


def add(cast: Cast, client: Client, login: str) -> int:
    return client.post(reverse("guardian_add", args=[cast.student.key]), {"login": login}).status_code


def end(cast: Cast, guardian: User) -> str:
    return reverse("guardian_end", args=[cast.student.key, guardian.key])


def sees(client: Client, cast: Cast) -> int:
    return client.get(reverse("student", args=[cast.student.key])).status_code


@pytest.mark.parametrize("login", ["wren@example.org", "WREN@example.org", "wren", " Wren "])
def test_a_manager_adds_a_guardian_who_has_an_account(login: str, cast: Cast, as_: Clients) -> None:
    wren, client = make_user("Wren Alderjay", username="wren", email="wren@example.org"), Client()
    client.force_login(wren)
    assert sees(client, cast) == 404
    assert add(cast, as_("manager"), login) == 302
    assert sees(client, cast) == 200
    assert "Wren Alderjay" in as_("coach").get(page_of(cast)).content.decode()


def test_a_child_has_two_guardians_and_a_guardian_two_children(cast: Cast, as_: Clients) -> None:
    second, sister = make_guardian("Wren Alderjay", cast.student), make_student("Hazel Quimble")
    Guardianship.objects.create(guardian=second, student=sister)
    client = Client()
    client.force_login(second)
    page = client.get(reverse("students")).content.decode()
    assert "Alder Quimble" in page and "Hazel Quimble" in page and "2 children" in page
    assert sees(client, cast) == sees(as_("guardian"), cast) == 200


def test_adding_twice_is_harmless(cast: Cast, as_: Clients) -> None:
    for _ in range(2):
        assert add(cast, as_("manager"), cast.guardian.username) == 302
    assert cast.student.guardianships.filter(guardian=cast.guardian).count() == 1


def test_a_removed_guardian_is_out_at_the_next_request_and_back_when_added_again(cast: Cast, as_: Clients) -> None:
    guardian = as_("guardian")
    assert sees(guardian, cast) == 200
    for _ in range(2):
        assert as_("manager").post(end(cast, cast.guardian)).status_code == 302
    assert sees(guardian, cast) == 404
    assert cast.student.guardianships.get(guardian=cast.guardian).ended_on == cast.academy.today(timezone.now())
    assert add(cast, as_("manager"), cast.guardian.username) == 302
    assert sees(guardian, cast) == 200
    page = " ".join(as_("manager").get(page_of(cast)).content.decode().split())
    assert "Maud Plumsilk added again" in page and "Maud Plumsilk removed" in page and "by Odile Bramblewing" in page


def test_removing_a_past_guardian_keeps_the_day(cast: Cast, as_: Clients) -> None:
    as_("manager").post(end(cast, cast.past_guardian))
    assert cast.student.guardianships.get(guardian=cast.past_guardian).ended_on == date(2025, 1, 1)


def test_somebody_who_was_never_a_guardian_cannot_be_removed(cast: Cast, as_: Clients) -> None:
    assert as_("manager").post(end(cast, cast.coach.user)).status_code == 404


@pytest.mark.parametrize(
    ("login", "message"),
    [
        ("", "required"),
        ("nobody", "No account has this name."),
        ("alder.quimble", "own account"),
        ("greta.withyspool", "account is closed"),
        ("junior", "not of age"),
        ("x" * 255, "at most 254"),
        ("a\0b", "Null characters"),
    ],
)
def test_an_invalid_guardian_is_reported_beside_the_field(login: str, message: str, cast: Cast, as_: Clients) -> None:
    make_student("junior", birth_year=academy_today().year - 12)
    before = Guardianship.objects.count()
    answer = as_("manager").post(reverse("guardian_add", args=[cast.student.key]), {"login": login})
    html = answer.content.decode()
    assert answer.status_code == 422 and message in html and 'id="id_login_error"' in html
    assert not login or f'value="{login}"' in html
    assert Guardianship.objects.count() == before


@pytest.mark.parametrize(
    ("actor", "read", "change"),
    [
        ("coach", 200, 403),
        ("cover", 200, 403),
        ("assistant", 403, 403),
        ("student", 403, 403),
        ("guardian", 403, 403),
        ("past_guardian", 404, 404),
        ("other_coach", 404, 404),
    ],
)
def test_only_a_manager_changes_guardians(actor: str, read: int, change: int, cast: Cast, as_: Clients) -> None:
    client = as_(actor)
    page = client.get(page_of(cast))
    assert page.status_code == read and "Add as a guardian" not in page.content.decode()
    assert add(cast, client, cast.other_coach.user.username) == change
    assert client.post(end(cast, cast.guardian)).status_code == change
    assert cast.student.guardianships.in_force(academy_today()).count() == 1


def test_inviting_a_guardian_from_a_childs_page_fills_in_the_child(cast: Cast, as_: Clients) -> None:
    address = f"{reverse('person_invite')}?child={cast.student.key}"
    assert f'href="{address}"' in as_("manager").get(page_of(cast)).content.decode()
    html = as_("manager").get(address).content.decode()
    assert f'<option value="{cast.student.pk}" selected>' in html and "checked" in html
    for odd in ("nobody", "%00", cast.other_coach.user.key):
        assert as_("manager").get(f"{reverse('person_invite')}?child={odd}").status_code == 200


def test_the_students_page_names_those_who_are_guardians_today(cast: Cast, as_: Clients) -> None:
    html = as_("coach").get(reverse("student", args=[cast.student.key])).content.decode()
    assert "Maud Plumsilk" in html and "Piers Yarrowpin" not in html
    assert f'href="{page_of(cast)}"' in html and f'href="{reverse("consents", args=[cast.student.key])}"' in html


# --- Where a guardian lands -----------------------------------------------------------------------


def test_a_guardian_of_nobody_reads_why_the_page_is_empty(cast: Cast, as_: Clients) -> None:
    answer = as_("past_guardian").get("/", follow=True)
    html = answer.content.decode()
    assert answer.status_code == 200 and "You have no child at the academy at present." in html
    assert "Alder Quimble" not in html


def test_a_guardian_whose_child_came_of_age_reads_the_same(cast: Cast, as_: Clients) -> None:
    cast.student.birth_year = academy_today().year - 19
    cast.student.save()
    html = as_("guardian").get("/", follow=True).content.decode()
    assert "has come of age" in html and "Alder Quimble" not in html


def test_a_student_who_is_a_guardian_finds_their_children(cast: Cast, as_: Clients) -> None:
    cast.other_student.birth_year = 1980
    cast.other_student.save()
    own = reverse("student", args=[cast.other_student.key])
    assert "Your children" not in as_("other_student").get(own).content.decode()
    Guardianship.objects.create(guardian=cast.other_student.user, student=cast.student)
    assert "Your children" in as_("other_student").get(own).content.decode()
    html = as_("other_student").get(reverse("students")).content.decode()
    assert "You and your children" in html and "Alder Quimble" in html
    Guardianship.objects.filter(guardian=cast.other_student.user).update(ended_on=date(2025, 1, 1))
    assert "Your children" not in as_("other_student").get(own).content.decode()


def test_a_guardian_logs_practice_for_a_child_of_nine(cast: Cast, as_: Clients) -> None:
    cast.student.birth_year = academy_today().year - 9
    cast.student.save()
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())
    words = {"slot": 1, "area": "putting", "what": "Hands together"}
    focus = cast.student.focuses.create(opened_in=lesson, **words)
    given = make_prescription(lesson, focus, begins=academy_today())
    address = reverse("practice_report", args=[cast.student.key, given.key, given.key])
    assert as_("guardian").post(address).status_code == 303
    assert given.entries.get().source == "guardian"


def test_many_guardians_cost_no_more_queries(
    cast: Cast, as_: Clients, django_assert_max_num_queries: Callable[..., object]
) -> None:
    for _ in range(8):
        make_guardian("", cast.student)
    client = as_("manager")
    with django_assert_max_num_queries(8):  # type: ignore[attr-defined]
        client.get(page_of(cast))
