"""A focus opened again, and who may undo what."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.corrections.models import Correction
from lessons.models import Focus, Session
from tests.conftest import Cast
from tests.make import make_lesson, make_student, this_time
from tests.test_lesson_move import work_on

Clients = Callable[[str], Client]


@pytest.fixture
def closed(cast: Cast) -> Focus:
    """A focus that last week's lesson closed."""
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())
    Session.objects.filter(pk=lesson.session_id).update(starts_at=this_time(days_ago=7))
    return work_on(lesson, "Soft hands", closed_in=lesson)


def address(cast: Cast, focus: Focus) -> str:
    return reverse("focus_reopen", args=[cast.student.key, focus.key])


def test_a_focus_closed_by_mistake_is_open_again(cast: Cast, as_: Clients, closed: Focus) -> None:
    page = reverse("student", args=[cast.student.key])
    assert address(cast, closed) in as_("coach").get(page).content.decode()
    assert "csrfmiddlewaretoken" in as_("coach").get(page).content.decode()
    for actor in ("student", "guardian", "manager"):
        assert address(cast, closed) not in as_(actor).get(page).content.decode()
    assert as_("coach").post(address(cast, closed)).status_code == 302
    closed.refresh_from_db()
    assert closed.closed_in is None and closed.history.first().history_user == cast.coach.user
    assert address(cast, closed) not in as_("coach").get(page).content.decode()


def test_opened_twice_it_is_open_once_and_undone_it_is_closed(cast: Cast, as_: Clients, closed: Focus) -> None:
    assert [as_("coach").post(address(cast, closed)).status_code for _ in range(2)] == [302, 302]
    undo = reverse("correction_undo", args=[cast.student.key, Correction.objects.get().key])
    assert as_("coach").post(undo).status_code == 302
    closed.refresh_from_db()
    assert closed.closed_in is not None


def test_beside_one_other_it_opens_without_a_reason(cast: Cast, as_: Clients, closed: Focus) -> None:
    work_on(closed.opened_in, "Other")
    assert as_("coach").post(address(cast, closed)).status_code == 302
    closed.refresh_from_db()
    assert closed.closed_in is None and closed.slot == 2


@pytest.mark.parametrize(("reason", "status"), [("", 422), ("A clinic", 302)])
def test_as_a_third_it_opens_only_with_a_reason(
    reason: str, status: int, cast: Cast, as_: Clients, closed: Focus
) -> None:
    Focus.objects.filter(pk=closed.pk).update(reason=reason)
    for slot in (1, 2):
        work_on(closed.opened_in, f"Other {slot}", slot)
    answer = as_("coach").post(address(cast, closed))
    closed.refresh_from_db()
    assert answer.status_code == status and (closed.closed_in is None) == bool(reason)
    assert bool(reason) or "Two others are open now. Close one of them first." in answer.content.decode()


def test_without_a_free_slot_it_stays_closed(cast: Cast, as_: Clients, closed: Focus) -> None:
    for slot in (1, 2, 3):
        work_on(closed.opened_in, f"Other {slot}", slot, reason="A clinic")
    answer = as_("coach").post(address(cast, closed))
    assert answer.status_code == 422 and "Three focuses are open already" in answer.content.decode()
    closed.refresh_from_db()
    assert closed.closed_in is not None and not Correction.objects.exists()


def test_after_thirty_days_it_stays_closed(cast: Cast, as_: Clients, closed: Focus) -> None:
    Session.objects.update(starts_at=this_time(days_ago=31))
    assert address(cast, closed) not in as_("coach").get(reverse("student", args=[cast.student.key])).content.decode()
    answer = as_("coach").post(address(cast, closed))
    assert answer.status_code == 422 and "more than 30 days ago" in answer.content.decode()


def test_strangers_and_readers_open_nothing(cast: Cast, as_: Clients, closed: Focus) -> None:
    for actor, status in [("other_coach", 404), ("past_coach", 404), ("past_guardian", 404), ("guardian", 403)]:
        assert as_(actor).post(address(cast, closed)).status_code == status
    elsewhere = reverse("focus_reopen", args=[make_student(coach=cast.coach).key, closed.key])
    assert as_("coach").post(elsewhere).status_code == 404
    assert as_("coach").get(address(cast, closed)).status_code == 405


def test_who_does_not_teach_both_asks_a_manager(cast: Cast, as_: Clients) -> None:
    lesson, to = make_lesson(cast.student, cast.coach), make_student("Linnet Mopple", coach=cast.coach)
    as_("coach").post(reverse("lesson_move", args=[cast.student.key, lesson.key]), {"to": to.pk})
    undo = reverse("correction_undo", args=[cast.student.key, Correction.objects.get().key])
    refused = as_("cover").post(undo)
    assert refused.status_code == 422 and "Ask a manager" in refused.content.decode()
    assert "Linnet Mopple" not in refused.content.decode()
    assert as_("manager").post(undo).status_code == 302
    lesson.refresh_from_db()
    assert lesson.student == cast.student


def test_a_departed_account_opens_again_after_a_year(cast: Cast, as_: Clients) -> None:
    person = cast.other_coach.user
    person.is_active = False
    person.save()
    person.history.update(history_date=this_time(days_ago=400))
    assert as_("manager").post(reverse("person_reopen", args=[person.key])).status_code in (200, 302)
    person.refresh_from_db()
    assert person.is_active
    assert as_("other_coach").get(reverse("student", args=[cast.other_student.key])).status_code == 200
