"""What is asked once of every student, who reads it, and where."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from coachbook.accounts.models import Student
from tests.conftest import Cast
from tests.make import make_lesson

Clients = Callable[[str], Client]
ASKED = {
    "putting_grip": "{Lead} hand low",
    "chipping_grip": "Thumb down the shaft",
    "putter_length": "34.5",
    "putter_loft": "3.5",
    "putter_lie": "70",
    "equipment": "A short wedge, cut down",
    "practice_place": "A mat at home",
    "practice_minutes": "15",
    "practice_days": "3",
    "limits": "Sore left wrist",
}


def address(cast: Cast) -> str:
    return reverse("intake", args=[cast.student.key])


def test_everything_may_stay_empty(cast: Cast, as_: Clients) -> None:
    assert as_("coach").get(address(cast)).status_code == 200
    assert as_("coach").post(address(cast), {"limits": ""}).status_code == 302
    assert as_("coach").get(reverse("student", args=[cast.student.key])).status_code == 200


def test_what_is_asked_is_kept_and_changed(cast: Cast, as_: Clients) -> None:
    answer = as_("coach").post(address(cast), ASKED)
    assert answer.url == reverse("student", args=[cast.student.key])  # type: ignore[attr-defined]
    cast.student.refresh_from_db()
    assert cast.student.putter_length == Decimal("34.5") and cast.student.putter_loft == Decimal("3.5")
    assert (cast.student.practice_minutes, cast.student.practice_days) == (15, 3)
    assert cast.student.history.first().history_user == cast.coach.user
    page = as_("coach").get(address(cast)).content.decode()
    for typed in ("{Lead} hand low", "34.5", "70", "A mat at home", "Sore left wrist"):
        assert f'value="{typed}"' in page
    as_("cover").post(address(cast), {"putting_grip": "As usual"})
    cast.student.refresh_from_db()
    assert (cast.student.putting_grip, cast.student.limits, cast.student.putter_length) == ("As usual", "", None)
    assert cast.student.name == "Alder Quimble"


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        *(("putter_length", typed) for typed in ("19.99", "60.01", "34.125", "long", "NaN", "1e9", "-34")),
        *(("putter_loft", typed) for typed in ("-2.1", "15.1", "3.25", "x")),
        *(("putter_lie", typed) for typed in ("54.9", "85.1", "0")),
        *(("practice_minutes", typed) for typed in ("0", "241", "-1", "99999999999", "1.5", "daily")),
        *(("practice_days", typed) for typed in ("0", "8", "all")),
        *((f"{area}_grip", "x" * 81) for area in ("putting", "chipping", "pitching", "bunker")),
        ("equipment", "x" * 121),
        ("practice_place", "x" * 201),
        ("limits", "x" * 201),
        ("limits", "sore\0wrist"),
    ],
)
def test_what_cannot_be_says_so_once_and_loses_nothing(field: str, typed: str, cast: Cast, as_: Clients) -> None:
    answer = as_("coach").post(address(cast), {**ASKED, field: typed})
    page = answer.content.decode()
    assert answer.status_code == 422 and list(answer.context["form"].errors) == [field]
    assert len(answer.context["form"].errors[field]) == 1
    assert f'id="id_{field}_error"' in page
    for name, value in ASKED.items():
        assert name == field or f'value="{value}"' in page
    cast.student.refresh_from_db()
    assert cast.student.equipment == ""


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("20", "20"), ("60", "60"), ("34,5", "34.5"), ("34.25", "34.25"), (" 33 ", "33")],
)
def test_a_length_at_its_bounds_and_with_a_comma(typed: str, kept: str, cast: Cast, as_: Clients) -> None:
    assert as_("coach").post(address(cast), {"putter_length": typed}).status_code == 302
    cast.student.refresh_from_db()
    assert cast.student.putter_length == Decimal(kept)


@pytest.mark.parametrize("typed", ["-2", "−2"])
def test_a_loft_below_none(typed: str, cast: Cast, as_: Clients) -> None:
    assert as_("coach").post(address(cast), {"putter_loft": typed}).status_code == 302
    cast.student.refresh_from_db()
    assert cast.student.putter_loft == -2


@pytest.mark.parametrize(
    ("actor", "status"),
    [
        ("manager", 302),
        ("cover", 302),
        ("assistant", 403),
        ("student", 403),
        ("guardian", 403),
        ("other_coach", 404),
        ("past_coach", 404),
        ("past_guardian", 404),
        ("other_student", 404),
    ],
)
def test_who_may_write_it_down(actor: str, status: int, cast: Cast, as_: Clients) -> None:
    assert as_(actor).post(address(cast), ASKED).status_code == status
    cast.student.refresh_from_db()
    assert (cast.student.limits == "Sore left wrist") == (status == 302)


def test_coaches_read_limits_first_and_the_trades_words(cast: Cast, as_: Clients) -> None:
    as_("coach").post(address(cast), ASKED)
    page = as_("assistant").get(reverse("student", args=[cast.student.key])).content.decode()
    order = ["Sore left wrist", "Lead hand low", "34.5 inches long", "loft 3.5°", "lie 70°", "A mat at home"]
    places = [page.index(words) for words in order]
    assert places == sorted(places)
    assert "15 minutes a day, 3 days a week" in page


@pytest.mark.parametrize(("side", "read"), [("right", "Left hand low"), ("left", "Right hand low")])
def test_a_student_reads_it_from_their_own_side(side: str, read: str, cast: Cast, as_: Clients) -> None:
    as_("coach").post(address(cast), ASKED)
    Student.objects.filter(pk=cast.student.pk).update(putting_side=side)
    for actor, where in [("student", "Where you can practise"), ("guardian", "Where they can practise")]:
        page = as_(actor).get(reverse("student", args=[cast.student.key])).content.decode()
        assert read in page and where in page and "Pain or limits" in page and "Lead" not in page
        assert address(cast) not in page


def test_the_log_shows_the_limits_and_folds_the_rest(cast: Cast, as_: Clients) -> None:
    as_("coach").post(address(cast), ASKED)
    lesson = make_lesson(cast.student, cast.coach)
    for actor in ("coach", "manager"):
        page = as_(actor).get(reverse("lesson", args=[cast.student.key, lesson.key])).content.decode().split("<main")[1]
        before, folded = page.split("<summary>Goal, grip")
        assert "Sore left wrist" in before and "Sore left wrist" not in folded
        assert "Lead hand low" in folded and "34.5 inches long" in folded and "Lead hand low" not in before


def test_a_log_of_a_student_without_limits_has_no_line_for_them(cast: Cast, as_: Clients) -> None:
    page = as_("coach").get(reverse("lesson_new", args=[cast.student.key]), follow=True).content.decode()
    assert "Goal, grip, putter, practice, limits" in page and "Pain or limits" not in page


def test_where_nothing_is_known_it_says_so(cast: Cast, as_: Clients) -> None:
    page = reverse("student", args=[cast.student.key])
    assert "Nothing is recorded yet." in as_("student").get(page).content.decode()
    as_("coach").post(address(cast), {"putter_loft": "0"})
    text = as_("student").get(page).content.decode()
    assert "Nothing is recorded yet." not in text and "loft 0°" in text
