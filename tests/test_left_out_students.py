"""What lists and pages of students leave out: those out of reach, drafts, what has ended, and what others have."""

import uuid
from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from tests.conftest import Cast
from tests.make import academy_today, make_care, make_coach, make_lesson, make_pause, make_student
from tests.test_left_out_days import agreed, finished, given

Clients = Callable[[str], Client]


def test_a_list_of_students_holds_those_within_reach_and_of_this_name(cast: Cast, as_: Clients) -> None:
    second, gone = make_student("Wilf Tarkle", coach=cast.coach), make_student("Wren Canarybird")
    make_care(cast.coach, gone, until=date(2021, 1, 1))
    finished(gone, cast.coach)
    finished(second, cast.coach)
    finished(cast.student, cast.cover)
    context = as_("coach").get(reverse("students")).context
    assert set(context["students"]) == {cast.student, second} and context["recent"] == [second]
    assert list(as_("coach").get(reverse("students"), {"q": "tarkle"}).context["students"]) == [second]


def test_a_students_page_leads_each_reader_to_what_they_may_do(cast: Cast, as_: Clients) -> None:
    done, draft = finished(cast.student, cast.coach, 7), make_lesson(cast.student, cast.coach)
    finished(cast.other_student, cast.coach)
    ended = given(done, agreed(done, "own"), begins=academy_today(), ended_on=academy_today())
    for actor, arranges, lends, reads in [
        ("coach", True, True, True),
        ("cover", True, False, True),
        ("manager", True, True, True),
        ("guardian", False, False, False),
        ("student", False, False, False),
    ]:
        context = as_(actor).get(reverse("student", args=[cast.student.key])).context
        assert (context["arranges"], context["lends"], context["reads_notes"]) == (arranges, lends, reads), actor
        assert [row.lesson for row in context["timeline"]] == ([draft, done] if reads else [done]), actor
        assert {care.coach for care in context["cares"]} == {cast.coach, cast.cover, cast.assistant}, actor
        assert ended not in context["prescriptions"]


def test_a_walk_in_of_the_name_of_somebody_out_of_reach_is_told_nothing_of_them(cast: Cast, as_: Clients) -> None:
    hidden = make_student("Wren Canarybird", coach=make_coach("Nan Heronquill"), account=False)
    typed = {"name": hidden.name, "age_group": "adult", "side": "right", "putting_side": "right"}
    page = as_("coach").post(reverse("walk_in", args=[uuid.uuid4()]), typed).content.decode()
    assert str(hidden.key) not in page and "Heronquill" not in page


@pytest.mark.history
def test_a_pause_that_was_deleted_is_no_error_and_one_of_another_student_is_none(cast: Cast, as_: Clients) -> None:
    today = academy_today()
    deleted, kept = (make_pause(cast.student, today + timedelta(days=days)) for days in (2, 40))
    theirs = make_pause(cast.other_student, today + timedelta(days=2))
    key, theirs_key, deleted_key = cast.student.key, theirs.key, deleted.key
    deleted.delete()
    client = as_("coach")
    assert client.post(reverse("pause_end", args=[key, deleted_key])).status_code == 302
    for unknown in (theirs_key, uuid.uuid4()):
        assert client.post(reverse("pause_end", args=[key, unknown])).status_code == 404
    theirs.delete()
    assert client.post(reverse("pause_end", args=[key, theirs_key])).status_code == 404
    assert list(cast.student.pauses.all()) == [kept]
