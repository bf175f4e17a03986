"""What pages of stills leave out: pictures of other students, lessons, checkpoints and views, and hidden ones."""

import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Coach, Guardianship, Student
from lessons.models import Lesson, Still
from tests.conftest import Cast
from tests.library import load_library
from tests.make import (
    academy_today,
    make_consent,
    make_guardian,
    make_lesson,
    make_picture,
    make_picture_consent,
    make_still,
    make_still_measure,
    make_student,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("media")]
Clients = Callable[[str], Client]
COLOURS = {"own": "seagreen", "second": "navy", "earlier": "maroon"}


def finished(student: Student, cast: Cast, days_ago: int = 0) -> Lesson:
    return make_lesson(student, cast.coach, days_ago=days_ago, status="complete", completed_at=timezone.now())


@pytest.fixture
def pictures(cast: Cast) -> dict[str, Still]:
    """Two stills of a lesson, one of an earlier lesson, and one of another student; each of its own colour."""
    for student in (cast.student, cast.other_student):
        make_picture_consent(student)
    lesson, earlier = finished(cast.student, cast), finished(cast.student, cast, 7)
    of = {"own": lesson, "second": lesson, "earlier": earlier}
    found = {name: make_still(of[name], data=make_picture(colour=colour)) for name, colour in COLOURS.items()}
    theirs = make_lesson(cast.other_student, cast.other_coach, status="complete", completed_at=timezone.now())
    return found | {"another": make_still(theirs)}


def at(still: Still, name: str, *more: Any, student: Student | None = None, lesson: Lesson | None = None) -> str:
    """The address of a still, or of one by its key where it does not lie."""
    student, lesson = student or still.lesson.student, lesson or still.lesson
    return reverse(name, args=[student.key, lesson.key, still.key, *more])


def hidden(still: Still) -> bool:
    still.refresh_from_db()
    return still.hidden_at is not None


# --- One still ------------------------------------------------------------------------------------


def test_an_address_opens_its_own_still_and_none_of_another_lesson_or_student(
    pictures: dict[str, Still], cast: Cast, as_: Clients
) -> None:
    own, second, another = pictures["own"], pictures["second"], pictures["another"]
    client, earlier = as_("coach"), pictures["earlier"].lesson
    for name in ("still", "still_picture", "still_thumbnail", "still_change", "still_measures"):
        assert client.get(at(own, name)).status_code == client.get(at(second, name)).status_code == 200, name
        assert client.get(at(own, name, lesson=earlier)).status_code == 404, name
        assert client.get(at(another, name, student=cast.student, lesson=own.lesson)).status_code == 404, name
    files = {client.get(at(still, "still_picture")).content for still in (own, second)}
    assert len(files) == 2


def test_a_still_is_taken_away_put_back_and_erased_alone_and_at_its_own_address(
    pictures: dict[str, Still], cast: Cast, as_: Clients
) -> None:
    own, second, earlier, another = pictures.values()
    client = as_("coach")
    for wrong in (
        at(own, "still_hide", lesson=earlier.lesson),
        at(another, "still_hide", student=cast.student),
        at(another, "still_hide", student=cast.student, lesson=own.lesson),
    ):
        assert client.post(wrong).status_code == 404
    assert client.post(at(own, "still_hide")).status_code == 302
    assert [hidden(still) for still in (own, second, earlier, another)] == [True, False, False, False]
    Still.objects.update(hidden_at=timezone.now())
    for wrong in (
        at(own, "still_show", lesson=earlier.lesson),
        at(another, "still_show", student=cast.student),
        at(another, "still_show", student=cast.student, lesson=own.lesson),
    ):
        assert client.post(wrong).status_code == 404
    assert client.post(at(own, "still_show")).status_code == 302
    assert [hidden(still) for still in (own, second, earlier, another)] == [False, True, True, True]


def test_what_is_erased_is_the_still_at_this_address_that_was_taken_away(
    pictures: dict[str, Still], cast: Cast, as_: Clients
) -> None:
    own, _, earlier, another = pictures.values()
    client, left = as_("coach"), {still.pk for still in pictures.values()}
    client.post(at(own, "still_erase"))
    assert {still.pk for still in Still.objects.all()} == left, "one that is shown is not erased"
    Still.objects.update(hidden_at=timezone.now())
    client.post(at(own, "still_erase", lesson=earlier.lesson))
    client.post(at(another, "still_erase", student=cast.student, lesson=own.lesson))
    assert client.post(at(another, "still_erase", student=cast.student)).status_code == 404
    assert client.post(at(another, "still_erase", student=cast.student, lesson=make_lesson_key())).status_code == 404
    assert {still.pk for still in Still.objects.all()} == left
    client.post(at(own, "still_erase"))
    assert {still.pk for still in Still.objects.all()} == left - {own.pk}


def make_lesson_key() -> Any:
    """Something with a key that no lesson has."""
    return Lesson(key=uuid.uuid4())


def test_a_still_that_another_student_has_is_not_taken_again_here(
    pictures: dict[str, Still], cast: Cast, as_: Clients
) -> None:
    own, another = pictures["own"], pictures["another"]
    address = at(another, "still", student=cast.student, lesson=own.lesson)
    assert as_("coach").post(address, {"caption": "A word"}).status_code == 404


# --- The stills of a lesson ------------------------------------------------------------------------


def test_a_lesson_lists_its_own_stills_and_for_its_coach_those_taken_away(
    pictures: dict[str, Still], cast: Cast, as_: Clients
) -> None:
    own, second, _, _ = pictures.values()
    gone = [make_still(own.lesson), make_still(pictures["earlier"].lesson), make_still(pictures["another"].lesson)]
    Still.objects.filter(pk__in=[still.pk for still in gone]).update(hidden_at=timezone.now())
    address = reverse("stills", args=[cast.student.key, own.lesson.key])
    context = as_("coach").get(address).context
    assert set(context["stills"]) == {own, second} and context["hidden"] == [gone[0]]
    for actor, writes, plain in [("guardian", False, True), ("manager", False, False), ("coach", True, False)]:
        answer = as_(actor).get(address)
        assert ("form" in answer.context, answer.context["plain"]) == (writes, plain), actor
        assert answer.context["reads_log"] is not plain, actor
        one = as_(actor).get(at(own, "still")).context
        assert (one["writes"], one["plain"]) == (writes, plain), actor


def test_the_family_sees_no_still_of_a_draft(cast: Cast, as_: Clients) -> None:
    make_picture_consent(cast.student)
    still = make_still(make_lesson(cast.student, cast.coach))
    listed = reverse("stills", args=[cast.student.key, still.lesson.key])
    pairs = reverse("stills_pairs", args=[cast.student.key, still.lesson.key])
    files = [at(still, name) for name in ("still", "still_picture", "still_thumbnail")]
    for actor, status in [("guardian", 404), ("student", 404), ("manager", 200)]:
        assert {as_(actor).get(address).status_code for address in (listed, pairs, *files)} == {status}, actor
        over_time = as_(actor).get(reverse("stills_over_time", args=[cast.student.key])).context
        assert len(over_time["rows"]) == (status == 200), actor
    fresh = reverse("stills", args=[cast.student.key, uuid.uuid4()])
    answers = [as_(actor).get(fresh).status_code for actor in ("guardian", "student", "manager", "coach")]
    assert answers == [404, 404, 404, 200]


def test_who_is_asked_for_a_consent_are_the_students_own_guardians_of_today(cast: Cast, as_: Clients) -> None:
    junior = make_student("Emeka Larkwren", coach=cast.coach, birth_year=academy_today().year - 11)
    make_guardian("Ngozi Larkwren", junior)
    past, closed = make_guardian("Piers Larkwren", junior), make_guardian("Clement Larkwren", junior)
    Guardianship.objects.filter(guardian=past).update(ended_on=academy_today() - timedelta(days=9))
    type(closed).objects.filter(pk=closed.pk).update(is_active=False)
    address = reverse("stills", args=[junior.key, make_lesson(junior, cast.coach).key])
    assert as_("coach").get(address).context["guardians"] == ["Ngozi Larkwren"]


# --- Measuring --------------------------------------------------------------------------------------


def test_what_was_measured_belongs_to_its_still(pictures: dict[str, Still], as_: Clients) -> None:
    load_library()
    own, second = pictures["own"], pictures["second"]
    mine, also, other = make_still_measure(own), make_still_measure(own), make_still_measure(second)
    client = as_("coach")
    assert set(client.get(at(own, "still_measures")).context["measures"]) == {mine, also}
    sent = {"kind": "length", "known_cm": "87 cm"}
    assert client.post(at(own, "still_measure", other.key), sent).status_code == 404
    assert client.post(at(own, "still_measure_void", other.key)).status_code == 404
    assert client.post(at(own, "still_measure_void", uuid.uuid4())).status_code == 404
    assert client.post(at(own, "still_measure_void", mine.key)).status_code == 302
    assert set(client.get(at(own, "still_measures")).context["taken_away"]) == {mine}


# --- Consent ----------------------------------------------------------------------------------------


def test_only_an_own_consent_to_pictures_that_stands_and_was_said_to_a_coach_is_taken_back_in_a_lesson(
    cast: Cast, as_: Clients
) -> None:
    adult, other = (make_student(name, coach=cast.coach, birth_year=1980) for name in ("Wren Adder", "Wilf Tarkle"))
    lesson = make_lesson(adult, cast.coach)
    address = reverse("stills", args=[adult.key, lesson.key])

    def agreed() -> Any:
        return as_("coach").get(address).context["agreed_here"]

    make_consent(other, cast.coach.user, "photos")
    make_consent(adult, adult.user, "photos")
    assert agreed() is False, "on their own page, and another to a coach"
    make_consent(adult, cast.coach.user, "sharing")
    assert agreed() is False, "to something else"
    adult.consents.filter(purpose="photos").update(withdrawn_at=timezone.now())
    make_consent(adult, cast.coach.user, "photos")
    assert agreed() is True
    assert as_("manager").post(reverse("pictures_no_more", args=[adult.key])).status_code in (403, 404)
    as_("coach").post(reverse("pictures_no_more", args=[adult.key]))
    assert not adult.consents.filter(purpose="photos", withdrawn_at=None).exists()
    assert other.consents.filter(purpose="photos", withdrawn_at=None).exists()


def test_what_nobody_said_to_a_coach_is_not_taken_back_in_a_lesson(cast: Cast, as_: Clients) -> None:
    """Said on one's own page since, by a coach of themselves, or by a guardian when they were a child."""
    adult, taught = (make_student(name, coach=cast.coach, birth_year=1980) for name in ("Wren Adder", "Wilf Tarkle"))
    make_consent(adult, cast.coach.user, "photos")
    adult.consents.update(withdrawn_at=timezone.now())
    make_consent(adult, adult.user, "photos")
    Coach.objects.create(user=taught.user)
    make_consent(taught, taught.user, "photos")
    grown = make_student("Flora Larkwren", coach=cast.coach, birth_year=1980)
    make_consent(grown, make_guardian("Ngozi Larkwren", grown), "photos")
    for student in (adult, taught, grown):
        as_("coach").post(reverse("pictures_no_more", args=[student.key]))
        assert student.consents.filter(withdrawn_at=None).exists(), student.name


def test_a_withdrawal_asks_of_and_erases_the_pictures_of_this_student_alone(
    pictures: dict[str, Still], cast: Cast, as_: Clients
) -> None:
    cast.student.consents.filter(purpose="photos").update(withdrawn_at=timezone.now())
    address = reverse("pictures", args=[cast.student.key])
    assert as_("guardian").get(address).context["number"] == 3
    as_("guardian").post(address)
    assert list(Still.objects.all()) == [pictures["another"]]
