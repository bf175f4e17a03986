"""A search among the people who have an account, and among students: names within reach, and nothing else."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from coachbook.accounts.models import User
from tests.conftest import Cast
from tests.make import make_student, make_user

Clients = Callable[[str], Client]


def found(client: Client, q: str, page: str = "people") -> str:
    answer = client.get(reverse(page), {"q": q})
    assert answer.status_code == 200
    return answer.content.decode().split("<main")[1].split("</main>")[0]


@pytest.fixture
def odd(cast: Cast) -> list[str]:
    names = ["Zoë O’Larch", "Ruth 100% Reed", 'Wren "Tiny" Moss', "under_score"]
    for number, name in enumerate(names):
        make_user(name, username=f"odd{number}", email=f"odd{number}@example.org")
        make_student(name, coach=cast.coach, account=False)
    return names


@pytest.mark.parametrize(
    ("q", "index"),
    [("ZOE", 0), ("zoë larch", 0), ("100%", 1), ('"tiny"', 2), ("_score", 3), ("ODD3@example", 3), ("reed ruth", 1)],
)
def test_a_person_is_found_by_words_as_people_type_them(
    q: str, index: int, odd: list[str], cast: Cast, as_: Clients
) -> None:
    page = found(as_("manager"), q)
    assert "1 found." in page and f"odd{index}@example.org" in page


def test_a_guardian_is_found_by_the_name_of_a_child(cast: Cast, as_: Clients) -> None:
    page = found(as_("manager"), cast.student.name)
    assert f">{cast.guardian.name}<" in page and f">{cast.coach.user.name}<" not in page


@pytest.mark.parametrize("q", ["Quince", "%", "' OR 1=1 --", "x" * 5000, "\0", "<b>", "a " * 2500 + "zzz"])
@pytest.mark.parametrize("name", ["people", "students"])
def test_what_nobody_is_called_is_said_in_few_words(name: str, q: str, cast: Cast, as_: Clients) -> None:
    page = found(as_("manager"), q, name)
    if q.strip("\0"):
        assert "name contains “" in page and "<b>”" not in page
        assert f'value="{q}"' in page or "&" in page, "what was typed stands in the field"
    assert page.count("xx”") == 0


def test_a_coach_finds_nobody_beyond_their_reach(odd: list[str], cast: Cast, as_: Clients) -> None:
    page = found(as_("coach"), cast.other_student.name, "students")
    assert "No name contains" in page and reverse("student", args=[cast.other_student.key]) not in page
    assert "Ruth 100% Reed" in found(as_("coach"), "100%", "students")
    for actor in ("coach", "guardian", "student"):
        assert as_(actor).get(reverse("people"), {"q": "Ida"}).status_code == 403


def test_a_short_list_has_no_search(cast: Cast, as_: Clients) -> None:
    client = as_("manager")
    while User.objects.count() < 11:
        make_user()
    assert 'role="search"' not in found(client, "")
    make_user()
    assert 'role="search"' in found(client, "")
