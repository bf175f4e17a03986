"""The same group again, and one group log for an appointment of several students."""

import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Student
from coachbook.diary.models import Appointment
from lessons.models import Lesson, Session
from tests.conftest import Cast
from tests.group_page import Group, text
from tests.make import academy_today, make_lesson, make_student, this_time

Clients = Callable[[str], Client]


@pytest.fixture
def rosalind(cast: Cast) -> Student:
    return make_student("Rosalind Tuftle", coach=cast.coach)


@pytest.fixture
def earlier(cast: Cast, as_: Clients, rosalind: Student) -> Group:
    """A group of a week ago, to which one of three did not come."""
    group = Group(as_("coach"), [cast.student, rosalind, make_student("Wilf Tarkle", coach=cast.coach)])
    assert group.begin(day=str(academy_today() - timedelta(days=7)), areas=["chipping"], name="").status_code == 302
    group.send(absent=(rosalind,), areas=["chipping"], keep="Good rhythm")
    return group


def again(group: Group) -> Any:
    return group.client.post(reverse("group_again", args=[group.key]))


def names(session: Session) -> list[str]:
    return sorted(session.lessons.values_list("student__name", flat=True))


def newest() -> Session:
    return Session.objects.latest("starts_at")


# --- The same group again -----------------------------------------------------------------------


def test_one_tap_begins_the_same_group_today_with_those_who_were_absent_too(earlier: Group) -> None:
    assert again(earlier).url == reverse("group", args=[newest().key])
    session = newest()
    assert names(session) == ["Alder Quimble", "Rosalind Tuftle", "Wilf Tarkle"]
    assert Academy.current().today(session.starts_at) == academy_today() and session.place == "The big green"
    fresh = {(row.status, row.attendance, row.keep, *row.areas) for row in session.lessons.all()}
    assert fresh == {("draft", "kept", "", "chipping")}


def test_a_double_tap_begins_one_group(earlier: Group) -> None:
    assert again(earlier).url == again(earlier).url and Session.objects.count() == 2


def test_nobody_who_left_or_is_out_of_reach_comes_along(earlier: Group, cast: Cast, rosalind: Student) -> None:
    late = make_student("Sorrel Purl", coach=cast.coach)
    earlier.send(student=str(late.key), add="1", areas=["chipping"])
    Student.objects.filter(pk=late.pk).update(status=Student.Status.LEFT)
    rosalind.cares.update(until=academy_today() - timedelta(days=1))
    again(earlier)
    assert names(newest()) == ["Alder Quimble", "Wilf Tarkle"]


def test_a_group_of_which_one_is_left_is_chosen_anew(earlier: Group, rosalind: Student) -> None:
    Student.objects.filter(name__in=("Rosalind Tuftle", "Wilf Tarkle")).update(status=Student.Status.LEFT)
    answer = earlier.client.post(reverse("group_again", args=[earlier.key]), follow=True)
    assert "Fewer than two of them are still your students." in text(answer) and Session.objects.count() == 1


@pytest.mark.parametrize("page", ["group", "group_new", "day"])
def test_it_is_offered_on_the_group_the_new_one_and_todays_page(page: str, earlier: Group) -> None:
    where = {"group": earlier.address, "group_new": reverse("group", args=[uuid.uuid4()]), "day": reverse("day")}
    words = text(earlier.client.get(where[page]))
    assert f'action="{reverse("group_again", args=[earlier.key])}"' in words
    if page != "group":
        assert "Alder Quimble, Rosalind Tuftle, Wilf Tarkle" in words


def test_the_page_of_its_day_leads_to_the_group_and_to_the_next_one(earlier: Group) -> None:
    words = text(earlier.client.get(f"{reverse('day')}?day={academy_today() - timedelta(days=7)}"))
    assert f'href="{earlier.address}"' in words and reverse("group_again", args=[earlier.key]) in words


def test_todays_page_offers_a_weekly_group_once_and_none_of_today(earlier: Group) -> None:
    Session.objects.update(starts_at=this_time(days_ago=14))
    again(earlier)
    key = newest().key
    assert reverse("group_again", args=[key]) not in text(earlier.client.get(reverse("day")))
    Session.objects.filter(key=key).update(starts_at=this_time(days_ago=7))
    words = text(earlier.client.get(reverse("day")))
    assert reverse("group_again", args=[key]) in words and reverse("group_again", args=[earlier.key]) not in words


def test_only_its_coach_may_and_only_by_post(earlier: Group, as_: Clients) -> None:
    address = reverse("group_again", args=[earlier.key])
    assert earlier.client.get(address).status_code == 405
    for actor, status in [("other_coach", 404), ("cover", 404), ("manager", 403), ("student", 403)]:
        assert as_(actor).post(address).status_code == status, actor
    assert Session.objects.count() == 1


def test_a_lesson_alone_is_not_begun_again(cast: Cast, as_: Clients) -> None:
    session = make_lesson(cast.student, cast.coach).session
    assert as_("coach").post(reverse("group_again", args=[session.key])).status_code == 404


# --- An appointment of several ------------------------------------------------------------------


@pytest.fixture
def agreed(cast: Cast, rosalind: Student) -> Appointment:
    row = Appointment.objects.create(
        coach=cast.coach, starts_at=timezone.now(), made_by=cast.coach.user, place="The far green"
    )
    row.students.set([cast.student, rosalind])
    return row


def log_address(row: Appointment) -> str:
    return reverse("group_of_appointment", args=[row.key])


def test_an_appointment_of_two_offers_one_group_log_beside_the_single_ones(
    agreed: Appointment, cast: Cast, rosalind: Student, as_: Clients
) -> None:
    words = text(as_("coach").get(reverse("day")))
    assert f'action="{log_address(agreed)}"' in words and "Log as a group" in words
    for student in (cast.student, rosalind):
        assert reverse("lesson_new", args=[student.key]) in words


def test_one_tap_begins_the_group_with_those_students_in_it(agreed: Appointment, as_: Clients) -> None:
    coach = as_("coach")
    for _ in range(2):
        answer = coach.post(log_address(agreed))
        session = Session.objects.get()
        assert answer.status_code == 302 and answer.headers["Location"] == reverse("group", args=[session.key])
    assert names(session) == ["Alder Quimble", "Rosalind Tuftle"]
    assert (session.kind, session.place, session.starts_at) == ("group", "The far green", agreed.starts_at)
    words = text(coach.get(reverse("day")))
    assert f'href="{reverse("group", args=[session.key])}"' in words and "Log as a group" not in words


@pytest.mark.parametrize("why", ["alone", "cancelled", "logged", "tomorrow"])
def test_it_is_not_offered(why: str, agreed: Appointment, cast: Cast, rosalind: Student, as_: Clients) -> None:
    on = academy_today()
    if why == "alone":
        agreed.students.remove(rosalind)
    elif why == "logged":
        lesson = make_lesson(rosalind, cast.coach)
        Session.objects.filter(pk=lesson.session_id).update(starts_at=agreed.starts_at)
    elif why == "tomorrow":
        on += timedelta(days=1)
        Appointment.objects.update(starts_at=this_time(days_ago=-1))
    else:
        Appointment.objects.update(status="cancelled")
    words = text(as_("coach").get(f"{reverse('day')}?day={on}"))
    assert "Alder Quimble" in words and "Log as a group" not in words


def test_one_who_left_is_not_in_the_group_of_the_appointment(
    agreed: Appointment, cast: Cast, rosalind: Student, as_: Clients
) -> None:
    agreed.students.add(make_student("Wilf Tarkle", coach=cast.coach))
    Student.objects.filter(pk=rosalind.pk).update(status=Student.Status.LEFT)
    as_("coach").post(log_address(agreed))
    assert names(Session.objects.get()) == ["Alder Quimble", "Wilf Tarkle"]


def test_no_other_coach_begins_it(agreed: Appointment, as_: Clients) -> None:
    for actor, status in [("other_coach", 404), ("cover", 404), ("manager", 403), ("guardian", 403)]:
        assert as_(actor).post(log_address(agreed)).status_code == status, actor
    assert not Lesson.objects.exists()


def test_a_day_with_groups_asks_the_database_no_more_often_than_allowed(
    agreed: Appointment, earlier: Group, as_: Clients
) -> None:
    pages = [reverse("day"), earlier.address, reverse("group", args=[uuid.uuid4()])]
    for page in pages:
        earlier.client.get(page)
        with CaptureQueriesContext(connection) as asked:
            assert earlier.client.get(page).status_code == 200
        assert len(asked) <= 12, (page, [row["sql"][:260] for row in asked])
