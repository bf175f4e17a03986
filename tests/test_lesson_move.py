"""A lesson logged for the wrong student: what moves, what continues as before, and who can still read it."""

import uuid
from collections.abc import Callable
from datetime import date
from importlib import import_module
from typing import Any

import pytest
from django.apps import apps
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Student
from coachbook.corrections.models import Correction
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.issue import issue_sheet, share_token
from drills.models import Ball, PracticeEntry, Prescription, ScoredTest
from drills.practice.prescribe import replace_prescriptions
from lessons.log import complete
from lessons.models import Focus, Lesson, Observation
from tests.conftest import Cast
from tests.make import (
    make_ball,
    make_design,
    make_guardian,
    make_lesson,
    make_look,
    make_prescription,
    make_skill,
    make_student,
    make_test,
    this_time,
)

Clients = Callable[[str], Client]
CANARY = "Zanzibar"


@pytest.fixture
def right(cast: Cast) -> Student:
    """The student with whom the lesson really was held, who putts from the left."""
    return make_student("Linnet Mopple", coach=cast.coach, putting_side="left")


def finish(lesson: Lesson) -> Lesson:
    complete(lesson, timezone.now())
    replace_prescriptions(lesson=lesson, academy=Academy.current())
    issue_sheet(lesson=lesson, at=timezone.now())
    return lesson


def work_on(lesson: Lesson, what: str, slot: int = 1, **values: Any) -> Focus:
    return Focus.objects.create(
        student=lesson.student, opened_in=lesson, slot=slot, area="putting", what=what, **values
    )


@pytest.fixture
def wrong(cast: Cast) -> Lesson:
    """A finished lesson under the wrong student: it closed one thing, ended its drill, and began another."""
    before = make_lesson(cast.student, cast.coach, days_ago=20)
    old = work_on(before, "Slow back")
    make_prescription(before, old)
    finish(before)
    lesson = make_lesson(cast.student, cast.coach, days_ago=2, keep=f"{CANARY} rhythm", note=CANARY)
    old.closed_in = lesson
    old.save()
    make_prescription(lesson, work_on(lesson, f"{CANARY} grip"))
    Observation.objects.create(look=make_look(lesson), skill=make_skill(), verdict="good", words=CANARY)
    return finish(lesson)


def address(cast: Cast, lesson: Lesson) -> str:
    return reverse("lesson_move", args=[cast.student.key, lesson.key])


def everything() -> list[list[dict[str, Any]]]:
    """All rows that a move may touch."""
    kinds = (Lesson, Focus, Prescription, PracticeEntry, ScoredTest, Ball)
    hidden = ("version", "page", "page_count")
    rows = [list(kind.objects.order_by("pk").values()) for kind in kinds]
    return [[{name: value for name, value in row.items() if name not in hidden} for row in group] for group in rows]


def test_a_lesson_moves_with_everything_in_it(cast: Cast, as_: Clients, wrong: Lesson, right: Student) -> None:
    answer = as_("coach").post(address(cast, wrong), {"to": right.pk})
    assert answer.status_code == 302 and answer.url == reverse("lesson", args=[right.key, wrong.key])
    wrong.refresh_from_db()
    assert (wrong.student, wrong.putting_side, wrong.chipping_side) == (right, "left", "right")
    old, new = Focus.objects.order_by("pk")
    assert (old.student, old.closed_in, new.student, new.slot) == (cast.student, None, right, 1)
    kept, moved = Prescription.objects.order_by("pk")
    assert (kept.student, kept.ended_on, moved.student, moved.ended_on) == (cast.student, None, right, None)
    assert wrong.history.first().history_user == cast.coach.user


def test_the_wrong_student_and_their_guardian_read_nothing_of_it(
    cast: Cast, as_: Clients, wrong: Lesson, right: Student
) -> None:
    sheet = wrong.sheets.get()
    link = reverse("shared_sheet", args=[share_token(sheet)])
    page, today = (reverse(name, args=[cast.student.key]) for name in ("student", "today"))
    old_sheet = reverse("sheet", args=[cast.student.key, sheet.key])
    assert CANARY in as_("student").get(page).content.decode() and as_("anonymous").get(link).status_code == 200
    as_("coach").post(address(cast, wrong), {"to": right.pk})
    for actor in ("student", "guardian"):
        for url in (page, today, reverse("progress", args=[cast.student.key])):
            assert CANARY not in as_(actor).get(url).content.decode()
        assert as_(actor).get(old_sheet).status_code == 404
    assert as_("anonymous").get(link).status_code == 410
    assert Sheet.objects.get(pk=sheet.pk).void_reason == "moved to another student"


def test_the_right_student_and_their_guardian_read_all_of_it(
    cast: Cast, as_: Clients, wrong: Lesson, right: Student
) -> None:
    as_("coach").post(address(cast, wrong), {"to": right.pk})
    make_guardian("Hale Mopple", right)
    Student.objects.filter(pk=right.pk).update(birth_year=timezone.now().year - 10)
    sheet = wrong.sheets.valid().get()
    for person in (right.user, right.guardianships.get().guardian):
        client = Client()
        client.force_login(person)
        assert CANARY in client.get(reverse("student", args=[right.key])).content.decode()
        assert CANARY in client.get(reverse("sheet", args=[right.key, sheet.key])).content.decode()
    assert sheet.content["student"] == "Linnet Mopple"


def test_a_later_sheet_that_showed_it_is_issued_again(cast: Cast, as_: Clients, wrong: Lesson, right: Student) -> None:
    later = finish(make_lesson(cast.student, cast.coach, days_ago=1, keep="Good"))
    assert CANARY in str(later.sheets.get().content)
    as_("coach").post(address(cast, wrong), {"to": right.pk})
    assert CANARY not in str(later.sheets.valid().get().content)
    assert Prescription.objects.get(student=right).ended_on is None
    assert Prescription.objects.get(student=cast.student).ended_on == date(2026, 5, 31)


def test_undone_everything_is_as_it_was(cast: Cast, as_: Clients, wrong: Lesson, right: Student) -> None:
    before, sheet = everything(), wrong.sheets.get()
    as_("coach").post(address(cast, wrong), {"to": right.pk})
    assert everything() != before
    undo = reverse("correction_undo", args=[right.key, Correction.objects.get().key])
    assert as_("coach").post(undo).status_code == 302
    assert everything() == before
    assert wrong.sheets.valid().get() == sheet
    assert as_("coach").post(undo).status_code == 422


def test_a_drill_for_an_earlier_focus_gets_a_focus_of_its_own(
    cast: Cast, as_: Clients, wrong: Lesson, right: Student
) -> None:
    Focus.objects.filter(what="Slow back").update(closed_in=None, slot=2)
    make_prescription(wrong, Focus.objects.get(what="Slow back"))
    before = everything()
    as_("coach").post(address(cast, wrong), {"to": right.pk})
    assert {focus.what for focus in right.focuses.open()} == {"Slow back", f"{CANARY} grip"}
    assert cast.student.focuses.open().get().what == "Slow back"
    assert {row.focus.student for row in wrong.prescriptions.all()} == {right}
    as_("coach").post(reverse("correction_undo", args=[right.key, Correction.objects.get().key]))
    assert everything() == before


@pytest.mark.parametrize(("choice", "is_void"), [("move", False), ("void", True)])
def test_practice_moves_along_or_is_withdrawn(
    cast: Cast, as_: Clients, wrong: Lesson, right: Student, choice: str, is_void: bool
) -> None:
    given = wrong.prescriptions.get()
    entry = given.entries.create(day=date(2026, 5, 31), amount=10)
    asked = as_("coach").post(address(cast, wrong), {"to": right.pk})
    assert asked.status_code == 422 and "Choose one of the two." in asked.content.decode()
    assert as_("coach").post(address(cast, wrong), {"to": right.pk, "practice": choice}).status_code == 302
    entry.refresh_from_db()
    assert entry.is_void is is_void and entry.prescription.student == right


def test_an_impossible_move_is_refused_beside_the_field(
    cast: Cast, as_: Clients, wrong: Lesson, right: Student
) -> None:
    coach, before = as_("coach"), everything()
    Lesson.for_student(in_session := make_student("Fern Oxnib", coach=cast.coach), wrong.session).save()
    before = everything()
    refused = {
        cast.student.pk: "already",
        in_session.pk: "has a lesson in that session already",
        cast.other_student.pk: "Choose a student from the list.",
        uuid.uuid4(): "Choose a student from the list.",
        "": "Choose a student.",
    }
    for key, words in refused.items():
        answer = coach.post(address(cast, wrong), {"to": key, "reason": "Kept words"})
        assert answer.status_code == 422 and words in answer.context["form"]["to"].errors[0]
        assert "Kept words" in answer.content.decode()
    assert everything() == before and not Correction.objects.exists()


def test_a_third_focus_needs_a_reason_and_there_is_no_fourth(
    cast: Cast, as_: Clients, wrong: Lesson, right: Student
) -> None:
    theirs = make_lesson(right, cast.coach, days_ago=30)
    for slot in (1, 2):
        work_on(theirs, f"Own {slot}", slot)
    refused = as_("coach").post(address(cast, wrong), {"to": right.pk})
    assert refused.status_code == 422 and "needs a reason" in refused.context["form"]["reason"].errors[0]
    third = work_on(theirs, "Own 3", 3, reason="A clinic")
    full = as_("coach").post(address(cast, wrong), {"to": right.pk, "reason": "Short game day"})
    assert full.status_code == 422 and "three open focuses" in full.context["form"]["to"].errors[0]
    assert wrong.sheets.valid().exists() and not Correction.objects.exists()
    third.delete()
    assert as_("coach").post(address(cast, wrong), {"to": right.pk, "reason": "Short game day"}).status_code == 302
    assert right.focuses.get(slot=3).reason == "Short game day"


def test_a_lesson_that_a_later_one_continues_stays(cast: Cast, as_: Clients, wrong: Lesson, right: Student) -> None:
    make_prescription(make_lesson(cast.student, cast.coach), Focus.objects.get(opened_in=wrong))
    refused = as_("coach").post(address(cast, wrong), {"to": right.pk})
    assert refused.status_code == 422 and "Move that lesson first" in refused.content.decode()


def test_posted_twice_it_moves_once(cast: Cast, as_: Clients, wrong: Lesson, right: Student) -> None:
    answers = [as_("coach").post(address(cast, wrong), {"to": right.pk}) for _ in range(2)]
    assert answers[0].url == answers[1].url and Correction.objects.count() == 1


def test_a_draft_moves_without_a_sheet(cast: Cast, as_: Clients, right: Student) -> None:
    draft = make_lesson(cast.student, cast.coach)
    assert as_("coach").post(address(cast, draft), {"to": right.pk}).status_code == 302
    draft.refresh_from_db()
    assert draft.student == right and not Sheet.objects.exists()


def test_strangers_and_readers_move_nothing(cast: Cast, as_: Clients, wrong: Lesson, right: Student) -> None:
    for actor, status in [("other_coach", 404), ("past_coach", 404), ("student", 403), ("guardian", 403)]:
        assert as_(actor).post(address(cast, wrong), {"to": right.pk}).status_code == status
    elsewhere = reverse("lesson_move", args=[right.key, wrong.key])
    assert as_("coach").get(elsewhere).status_code == 404
    assert as_("cover").post(address(cast, wrong), {"to": right.pk}).status_code == 422
    assert Lesson.objects.get(pk=wrong.pk).student == cast.student


def test_a_manager_sees_a_correction_and_says_so(cast: Cast, as_: Clients, wrong: Lesson, right: Student) -> None:
    manager, caseload = as_("manager"), reverse("caseload")
    assert "1 correction" not in manager.get(caseload).content.decode()
    as_("coach").post(address(cast, wrong), {"to": right.pk})
    assert "1 correction" in manager.get(caseload).content.decode()
    page = manager.get(reverse("corrections")).content.decode()
    assert "Ida Fernkettle" in page and "Linnet Mopple" in page and "Alder Quimble" in page
    seen = reverse("correction_seen", args=[Correction.objects.get().key])
    assert [manager.post(seen).status_code for _ in range(2)] == [302, 302]
    assert "1 correction" not in manager.get(caseload).content.decode()


def test_a_lesson_links_to_its_move(cast: Cast, as_: Clients, wrong: Lesson) -> None:
    page = as_("coach").get(reverse("lesson", args=[cast.student.key, wrong.key])).content.decode()
    assert address(cast, wrong) in page
    fresh = as_("coach").get(reverse("lesson", args=[cast.student.key, uuid.uuid4()])).content.decode()
    assert "Move to another student" not in fresh


def test_after_thirty_days_it_cannot_be_undone(cast: Cast, as_: Clients, wrong: Lesson, right: Student) -> None:
    as_("coach").post(address(cast, wrong), {"to": right.pk})
    Correction.objects.update(at=this_time(days_ago=31))
    answer = as_("coach").post(reverse("correction_undo", args=[right.key, Correction.objects.get().key]))
    assert answer.status_code == 422 and "more than 30 days ago" in answer.content.decode()


def test_what_was_changed_since_is_not_overwritten(cast: Cast, as_: Clients, wrong: Lesson, right: Student) -> None:
    as_("coach").post(address(cast, wrong), {"to": right.pk})
    issue_sheet(lesson=Lesson.objects.get(pk=wrong.pk), at=timezone.now())
    before = everything()
    answer = as_("coach").post(reverse("correction_undo", args=[right.key, Correction.objects.get().key]))
    assert answer.status_code == 422 and "This was changed since: sheet" in answer.content.decode()
    assert everything() == before


@pytest.mark.parametrize("later", ["closed", "drill", "opened"])
def test_what_depends_on_it_since_prevents_undoing(
    cast: Cast, as_: Clients, wrong: Lesson, right: Student, later: str
) -> None:
    as_("coach").post(address(cast, wrong), {"to": right.pk})
    theirs, focus = make_lesson(right, cast.coach), Focus.objects.get(opened_in=wrong)
    wrong.refresh_from_db()
    if later == "closed":
        Focus.objects.filter(pk=focus.pk).update(closed_in=theirs)
    elif later == "drill":
        make_prescription(theirs, focus)
    else:
        work_on(wrong, "Written later", 2)
    before = everything()
    answer = as_("coach").post(reverse("correction_undo", args=[right.key, Correction.objects.get().key]))
    assert answer.status_code == 422 and "so it cannot be undone" in answer.content.decode()
    assert everything() == before and Correction.objects.get().undone_at is None


def test_once_undone_a_later_sheet_of_the_other_student_no_longer_shows_it(
    cast: Cast, as_: Clients, wrong: Lesson, right: Student
) -> None:
    as_("coach").post(address(cast, wrong), {"to": right.pk})
    later = make_lesson(right, cast.coach, keep="Good")
    complete(later, timezone.now())
    issue_sheet(lesson=later, at=timezone.now())
    assert CANARY in str(later.sheets.get().content)
    as_("coach").post(reverse("correction_undo", args=[right.key, Correction.objects.get().key]))
    assert CANARY not in str(later.sheets.valid().get().content)


def test_a_missed_lesson_moves_without_a_sheet(cast: Cast, as_: Clients, right: Student) -> None:
    lesson = make_lesson(cast.student, cast.coach, attendance="absent", status="complete", completed_at=timezone.now())
    assert as_("coach").post(address(cast, lesson), {"to": right.pk}).status_code == 302
    assert right.lessons.get() == lesson and not Sheet.objects.exists()


def test_a_test_moves_along_and_left_stays_left(cast: Cast, as_: Clients, wrong: Lesson, right: Student) -> None:
    """Left of the line is pull for a right-side player and push for a left-side one."""
    gate = make_design(kind="gate", width_m=0.08, distances_m=[1.0])
    values = {"lesson": wrong, "moment": "arrival", "by": cast.coach.user}
    test = make_test(cast.student, gate, **values)
    for result, away in (("beside", "pull"), ("beside", "push"), ("through", "")):
        make_ball(test, result, miss=away)
    before = everything()
    as_("coach").post(address(cast, wrong), {"to": right.pk})
    test.refresh_from_db()
    assert (test.student, test.side) == (right, "left")
    assert [ball.miss for ball in test.balls.all()] == ["push", "pull", ""]
    as_("coach").post(reverse("correction_undo", args=[right.key, Correction.objects.get().key]))
    assert everything() == before


def test_a_correction_stored_before_fields_were_renamed_can_be_undone(
    cast: Cast, as_: Clients, wrong: Lesson, right: Student
) -> None:
    """The stored changes name fields of other models, so a rename there must reach them."""
    migration = import_module("coachbook.corrections.migrations.0003_renamed_fields")
    test = make_test(cast.student, make_design(kind="gate", width_m=0.08, distances_m=[1.0]), lesson=wrong)
    make_ball(test, "beside", miss="pull")
    wrong.prescriptions.get().entries.create(day=date(2026, 5, 31), amount=10)
    before = everything()
    as_("coach").post(address(cast, wrong), {"to": right.pk, "practice": "void"})
    migration.restore_fields(apps, None)
    fields = {entry["field"] for entry in Correction.objects.get().changes}
    assert {"struck", "away"} <= fields and not {"is_void", "miss"} & fields
    migration.rename_fields(apps, None)
    undo = reverse("correction_undo", args=[right.key, Correction.objects.get().key])
    assert as_("coach").post(undo).status_code == 302 and everything() == before
