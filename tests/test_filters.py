"""What a filter keeps apart: what belongs to another student, or to another day, counts for nothing here."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Consent, Student
from coachbook.corrections.models import Correction
from coachbook.diary.models import Appointment
from coachbook.loop.log.own_words import read_focuses
from coachbook.loop.sheets.content import content_from
from coachbook.loop.sheets.issue import issue_sheet
from coachbook.loop.sheets.ticks import ticks_of
from drills.models import PracticeEntry
from lessons.models import Focus, Lesson
from tests.conftest import Cast
from tests.make import (
    academy_today,
    make_care,
    make_consent,
    make_drill,
    make_fault,
    make_guardian,
    make_lesson,
    make_pause,
    make_prescription,
    make_skill,
    make_student,
)

Clients = Callable[[str], Client]


def page_of(student: Student) -> str:
    return reverse("student", args=[student.key])


def finished(student: Student, cast: Cast, days_ago: int) -> Lesson:
    return make_lesson(student, cast.coach, days_ago=days_ago, status="complete", completed_at=timezone.now())


def test_a_guardian_of_one_child_does_not_see_another(cast: Cast, as_: Clients) -> None:
    other = make_student("Wilf Tarkle", coach=cast.coach)
    make_guardian("Nan Tarkle", other)
    client = as_("guardian")
    assert client.get(page_of(cast.student)).status_code == 200
    assert client.get(page_of(other)).status_code == 404
    assert [student.name for student in client.get(reverse("students")).context["students"]] == [cast.student.name]


def test_one_childs_consent_opens_no_other_child_to_a_second_coach(cast: Cast, as_: Clients) -> None:
    other = make_student("Wilf Tarkle", coach=cast.coach)
    nan = make_guardian("Nan Tarkle", other)
    make_care(cast.cover, other, role="cover")
    assert cast.student.consents.filter(purpose=Consent.Purpose.SHARING, withdrawn_at=None).exists()
    assert as_("cover").get(page_of(other)).status_code == 404
    make_consent(other, nan)
    assert as_("cover").get(page_of(other)).status_code == 200


def test_a_second_coach_sees_an_adult_but_nobody_of_whom_neither_a_year_nor_an_answer_is_known(
    cast: Cast, as_: Clients
) -> None:
    make_care(cast.cover, cast.other_student, role="cover")
    assert as_("cover").get(page_of(cast.other_student)).status_code == 404
    Student.objects.filter(pk=cast.other_student.pk).update(age_group="adult")
    assert as_("cover").get(page_of(cast.other_student)).status_code == 200


def test_a_guardianship_that_ends_tomorrow_holds_today(cast: Cast, as_: Clients) -> None:
    guardianships = cast.student.guardianships.filter(guardian=cast.guardian)
    guardianships.update(ended_on=academy_today() + timedelta(days=1))
    assert as_("guardian").get(page_of(cast.student)).status_code == 200
    guardianships.update(ended_on=academy_today())
    assert as_("guardian").get(page_of(cast.student)).status_code == 404


def test_whom_no_relationship_allows_anything_has_no_students(
    cast: Cast, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(gate.POLICY, Permission.READ_RECORD, frozenset())
    for actor in ("manager", "coach", "guardian", "student"):
        assert list(as_(actor).get(reverse("students")).context["students"]) == []


def test_each_lesson_leads_to_its_own_sheet(cast: Cast, as_: Clients) -> None:
    lessons = [finished(cast.student, cast, days) for days in (20, 10, 0)]
    sheets = [issue_sheet(lesson=lesson, at=timezone.now()) for lesson in lessons[:2]]
    shown = [row.lesson for row in as_("coach").get(page_of(cast.student)).context["timeline"]]
    keys = {lesson.pk: lesson.sheet_key for lesson in shown}
    assert keys == {lessons[0].pk: sheets[0].key, lessons[1].pk: sheets[1].key, lessons[2].pk: None}


def test_a_log_shows_what_was_open_and_what_it_opened_or_closed_and_no_more(cast: Cast) -> None:
    first, second, third = (finished(cast.student, cast, days) for days in (20, 10, 0))
    fault = make_fault(make_skill())
    begun = {"student": cast.student, "area": "putting", "fault": fault}
    Focus.objects.create(**begun, what="before", opened_in=first, closed_in=first, slot=1)
    closed_here = Focus.objects.create(**begun, what="closed here", opened_in=first, closed_in=second, slot=1)
    opened_here = Focus.objects.create(**begun, what="opened here", opened_in=second, closed_in=third, slot=2)
    Focus.objects.create(**begun, what="later", opened_in=third, slot=1)
    assert read_focuses(second, None)[0] == [closed_here, opened_here]


def test_a_pause_says_whose_it_is_and_why(cast: Cast) -> None:
    assert str(make_pause(cast.student, academy_today())) == "Alder Quimble, injury"


# --- Lists that hold some rows and not others ------------------------------------------------------


def a_focus(lesson: Lesson, what: str, slot: int = 1, closed_in: Lesson | None = None) -> Focus:
    about = {"student": lesson.student, "area": "putting", "opened_in": lesson, "closed_in": closed_in, "slot": slot}
    return Focus.objects.create(what=what, **about)


def test_a_student_reads_what_was_agreed_and_nothing_of_a_draft(cast: Cast, as_: Clients) -> None:
    lesson, draft = finished(cast.student, cast, 10), make_lesson(cast.student, cast.coach)
    a_focus(lesson, "agreed-focus")
    a_focus(lesson, "closing-focus", 2, closed_in=draft)
    a_focus(lesson, "closed-focus", 2, closed_in=lesson)
    a_focus(draft, "draft-focus", 2)
    for actor, reads, not_read in [
        ("student", {"agreed-focus", "closing-focus"}, {"draft-focus", "closed-focus"}),
        ("guardian", {"agreed-focus", "closing-focus"}, {"draft-focus", "closed-focus"}),
        ("coach", {"agreed-focus", "draft-focus"}, {"closed-focus"}),
    ]:
        focuses = {focus.what for focus, _ in as_(actor).get(page_of(cast.student)).context["focuses"]}
        assert reads <= focuses and not not_read & focuses, actor
    timeline = as_("student").get(page_of(cast.student)).context["timeline"]
    assert [row.lesson for row in timeline] == [lesson], "a draft is no lesson yet"


def test_lately_lists_those_whom_this_coach_taught_and_may_still_see(cast: Cast, as_: Clients) -> None:
    by_another, gone = make_student("Wilf Tarkle", coach=cast.coach), make_student("Wren Canarybird", coach=cast.coach)
    finished(cast.student, cast, 3)
    make_lesson(by_another, cast.cover)
    finished(gone, cast, 1)
    gone.cares.update(until=date(2020, 1, 2))
    page = as_("coach").get(reverse("students"))
    assert [student.name for student in page.context["recent"]] == ["Alder Quimble"]
    assert list(as_("coach").get(reverse("students"), {"q": "alder"}).context["recent"]) == []
    assert list(as_("guardian").get(reverse("students")).context["recent"]) == []


def test_logs_to_finish_are_ones_own_drafts_of_students_within_reach(cast: Cast, as_: Clients) -> None:
    own, gone = make_lesson(cast.student, cast.coach), make_student("Wren Canarybird", coach=cast.coach)
    make_lesson(gone, cast.coach)
    gone.cares.update(until=date(2020, 1, 2))
    make_lesson(cast.student, cast.cover)
    finished(cast.student, cast, 2)
    assert as_("coach").get(reverse("day")).context["drafts"] == [own]
    today = cast.academy.today(own.session.starts_at)
    assert as_("coach").get(reverse("day"), {"day": today}).context["drafts"] == []


def test_a_day_holds_the_appointments_and_lessons_of_its_own_coach(cast: Cast, as_: Clients) -> None:
    for coach in (cast.coach, cast.cover):
        make_lesson(cast.student, coach)
        row = Appointment.objects.create(
            coach=coach, starts_at=datetime(2026, 6, 1, 12, tzinfo=UTC), made_by=coach.user
        )
        row.students.set([cast.student])
    [day] = as_("coach").get(reverse("day"), {"day": "2026-06-01"}).context["days"]
    assert [slot.appointment.coach for slot in day.slots] == [cast.coach]
    [visit] = day.slots[0].visits
    assert visit.lesson and visit.lesson.session.coach == cast.coach
    assert (
        as_("coach").get(reverse("day"), {"day": "2026-06-01", "coach": cast.cover.user.key}).context["coach"]
        == cast.coach
    )


@pytest.fixture
def moved(cast: Cast) -> Correction:
    """A lesson that was moved from the student to another one of the same coach."""
    other = make_student("Wilf Tarkle", coach=cast.coach)
    about = {"by": cast.coach.user, "at": timezone.now(), "summary": "The lesson was moved"}
    lesson = finished(other, cast, 3)
    return Correction.objects.create(kind="moved", student=other, other_student=cast.student, lesson=lesson, **about)


def sent_again(client: Client, student: Student, lesson: Lesson) -> Any:
    return client.post(reverse("lesson_move", args=[student.key, lesson.key]), {"to": "1"})


def test_a_move_that_is_sent_twice_leads_to_the_lesson_where_it_is_now(
    moved: Correction, cast: Cast, as_: Clients
) -> None:
    answer = sent_again(as_("coach"), cast.student, moved.lesson)
    assert answer.status_code == 302
    assert answer.headers["Location"] == reverse("lesson", args=[moved.student.key, moved.lesson.key])
    assert sent_again(as_("cover"), cast.student, moved.lesson).status_code == 404, "that student is none of theirs"


@pytest.mark.parametrize("wrong", ["kind", "lesson", "other_student"])
def test_a_lesson_that_was_not_moved_from_here_is_not_led_to(
    wrong: str, moved: Correction, cast: Cast, as_: Clients
) -> None:
    lesson = moved.lesson
    values = {"kind": "opened", "lesson": finished(moved.student, cast, 5), "other_student": cast.other_student}
    Correction.objects.update(**{wrong: values[wrong]})
    assert sent_again(as_("coach"), cast.student, lesson).status_code == 404


def test_a_sheet_is_ticked_by_its_own_student_alone(cast: Cast) -> None:
    """Both have the same drill from the same day, as after a group."""
    drill, given = make_drill(area="putting"), []
    for student in (cast.student, cast.other_student):
        lesson = finished(student, cast, 3)
        given.append(make_prescription(lesson, a_focus(lesson, "Quiet eyes"), drill=drill))
    mine, theirs = given
    sheet = issue_sheet(lesson=mine.lesson, at=timezone.now())
    for row, ticked in ((theirs, False), (mine, True)):
        PracticeEntry.objects.create(prescription=row, day=row.begins, amount=10, source="student")
        assert bool(ticks_of(content_from(sheet.content), mine.lesson, "m")) is ticked
