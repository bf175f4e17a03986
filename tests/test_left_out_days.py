"""What briefs, logs and days leave out: other students, coaches and days, drafts and what was cancelled."""

import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Area, Coach, Guardianship, Student
from coachbook.diary.models import Appointment
from coachbook.loop.brief.gather import Brief, brief_of
from coachbook.loop.paper.gather import PaperLog, paper_log_of
from drills.models import PracticeEntry, Prescription
from lessons.models import Focus, Lesson, Phrase, Session
from tests.conftest import Cast
from tests.make import (
    academy_today,
    make_drill,
    make_lesson,
    make_manager,
    make_picture_consent,
    make_prescription,
    make_skill,
    make_still,
    make_student,
    make_test,
)

Clients = Callable[[str], Client]
NOW = datetime(2026, 6, 8, 9, tzinfo=UTC)  # a week after the last lesson of the factories


@pytest.fixture
def june(cast: Cast) -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


def finished(student: Student, coach: Coach, days_ago: int = 0, **values: Any) -> Lesson:
    """A finished lesson so many days before the first of June 2026."""
    kind = values.pop("kind", "lesson")
    done = {"status": "complete", "completed_at": timezone.now(), **values}
    lesson = make_lesson(student, coach, days_ago=days_ago, **done)
    Session.objects.filter(pk=lesson.session_id).update(kind=kind)
    return lesson


def agreed(lesson: Lesson, what: str, slot: int = 1, **values: Any) -> Focus:
    """A focus in own words that the lesson opened."""
    about = {"student": lesson.student, "area": "putting", "opened_in": lesson, "what": what, **values}
    return Focus.objects.create(slot=slot, **about)


def given(lesson: Lesson, focus: Focus, drill: str = "Some drill", **values: Any) -> Prescription:
    archived = values.pop("archived", False)
    return make_prescription(lesson, focus, drill=make_drill(name=drill, archived=archived), **values)


def planned(coach: Coach, *students: Student, at: datetime, status: str = "planned") -> Appointment:
    row = Appointment.objects.create(coach=coach, starts_at=at, status=status, made_by=coach.user)
    row.students.set(students)
    return row


# --- Briefs ---------------------------------------------------------------------------------------


def brief(cast: Cast) -> Brief:
    return brief_of(cast.student, academy=Academy.current(), reader=cast.coach.user, at=NOW)


def test_a_brief_holds_the_lessons_focuses_and_drills_of_its_student(june: None, cast: Cast) -> None:
    own, before = finished(cast.student, cast.coach, 7), finished(cast.student, cast.coach, 14)
    agreed(own, "own")
    over = agreed(before, "over", 2, closed_in=own)
    given(before, over, begins=date(2026, 5, 20), ended_on=date(2026, 5, 27))
    theirs = finished(cast.other_student, cast.coach, 0, next_time="heron-plan")
    given(theirs, agreed(theirs, "heron-focus"))
    make_lesson(cast.other_student, cast.coach)
    found = brief(cast)
    assert [focus.name for focus in found.focuses] == ["own"]
    assert (found.plans, found.drafts) == ([], []) and "no drill is given" in found.practice
    assert "25 May" in found.last_visit


def test_a_brief_names_the_lessons_that_this_student_missed_since_the_last_visit(june: None, cast: Cast) -> None:
    finished(cast.student, cast.coach)
    for student, day, status in [
        (cast.student, 3, "missed"),
        (cast.student, 4, "cancelled"),
        (cast.student, 5, "planned"),
        (cast.student, 20, "missed"),
        (cast.other_student, 6, "missed"),
    ]:
        planned(cast.coach, student, at=datetime(2026, 6, day, 15, tzinfo=UTC), status=status)
    planned(cast.coach, cast.student, at=datetime(2026, 5, 25, 15, tzinfo=UTC), status="missed")
    assert brief(cast).events == ["Did not come on 3 June."]


def test_a_brief_tells_the_last_score_and_note_that_this_student_reported(june: None, cast: Cast) -> None:
    """A score is a number or words; what was taken back, or is of a day to come, is none."""
    lesson, theirs = finished(cast.student, cast.coach), finished(cast.other_student, cast.coach)
    own, other = given(lesson, agreed(lesson, "own")), given(theirs, agreed(theirs, "heron"))

    def entry(day: int, prescription: Prescription = own, **values: Any) -> None:
        PracticeEntry.objects.create(prescription=prescription, day=date(2026, 6, day), amount=5, **values)

    def said() -> tuple[str, str]:
        found = brief(cast)
        return found.score.words if found.score else "", found.note.words if found.note else ""

    entry(5, other, score=9, score_of=10, note="heron-note")
    entry(5, is_void=True, score=8, score_of=10, note="void-note")
    entry(9, score=7, score_of=10, note="note of tomorrow")
    assert said() == ("", "")
    entry(2, score=4, score_of=10)
    entry(3, note="own-note")
    assert said() == ("4 of 10", "own-note")
    entry(4, score_words="all but one")
    assert said() == ("all but one", "own-note")
    entry(6)
    entry(6, note="second-note")
    assert said() == ("all but one", "second-note")


def test_a_brief_tells_no_note_of_before_the_last_lesson(june: None, cast: Cast) -> None:
    lesson, before = finished(cast.student, cast.coach), finished(cast.student, cast.coach, 20)
    own = given(before, agreed(before, "own"), days=60)
    PracticeEntry.objects.create(prescription=own, day=date(2026, 5, 25), amount=5, note="old", score=3, score_of=5)
    found = brief(cast)
    assert found.note is None and found.score and lesson.pk


def test_a_brief_offers_the_log_to_those_who_teach_and_is_for_no_family(cast: Cast, as_: Clients) -> None:
    address = reverse("brief", args=[cast.student.key])
    assert [as_(actor).get(address).context["teaches"] for actor in ("coach", "manager")] == [True, False]
    assert {as_(actor).get(address).status_code for actor in ("student", "guardian")} <= {403, 404}


# --- Logs -----------------------------------------------------------------------------------------


def log(client: Client, student: Student, key: uuid.UUID | None = None, **query: str) -> Any:
    answer = client.get(reverse("lesson", args=[student.key, key or uuid.uuid4()]), {"edit": "", **query})
    return answer.context["lesson_form"]


def test_a_log_stands_beside_the_last_lesson_to_which_this_student_came(cast: Cast, as_: Clients) -> None:
    """Neither a later one, a draft, one that was missed, a walk, a clip, nor one of another student."""
    first, last, this = (finished(cast.student, cast.coach, days) for days in (30, 20, 10))
    finished(cast.student, cast.coach, 19, attendance="absent")
    finished(cast.student, cast.coach, 18, kind="course")
    finished(cast.student, cast.coach, 17, kind="clip")
    make_lesson(cast.student, cast.coach, days_ago=16)
    finished(cast.other_student, cast.coach, 15)
    later = finished(cast.student, cast.coach)
    client = as_("coach")
    assert log(client, cast.student, this.key).last == last
    assert log(client, cast.student, last.key).last == first
    assert log(client, cast.student, first.key).last is None
    assert log(client, cast.student).last == later
    assert log(client, cast.student, this.key).lesson == this


def test_a_log_shows_the_drills_of_its_own_lesson_and_of_its_own_student(cast: Cast, as_: Clients) -> None:
    before, lesson, later = (finished(cast.student, cast.coach, days) for days in (20, 10, 0))
    own = agreed(before, "own")
    agreed(before, "second", 2)
    given(before, own, "Earlier drill")
    given(lesson, own, "Own drill")
    theirs = finished(cast.other_student, cast.coach)
    heron = given(theirs, agreed(theirs, "heron"), "Heron drill", archived=True)
    client = as_("coach")
    assert [str(row.drill) for row in log(client, cast.student, lesson.key).given.values()] == ["Own drill"]
    given(later, own, "Later drill")
    assert [str(row.drill) for row in log(client, cast.student, lesson.key).given.values()] == ["Own drill"]
    assert [str(row.drill) for row in log(client, cast.student).given.values()] == ["Later drill"]
    page = client.get(reverse("lesson", args=[cast.student.key, uuid.uuid4()]), {"whole": ""}).content.decode()
    assert heron.drill.name not in page


def test_a_log_suggests_targets_after_a_recent_finished_test_of_its_student(cast: Cast, as_: Clients) -> None:
    finished(cast.student, cast.coach)
    make_test(cast.student, day=academy_today() - timedelta(days=2000))
    make_test(cast.student, day=academy_today(), done_at=None)
    make_test(cast.other_student, day=academy_today())
    assert log(as_("coach"), cast.student).is_tested is False
    make_test(cast.student, day=academy_today())
    assert log(as_("coach"), cast.student).is_tested is True


@pytest.mark.usefixtures("media")
def test_a_log_says_whether_a_still_of_its_own_lesson_is_shown(cast: Cast, as_: Clients) -> None:
    make_picture_consent(cast.student)
    lesson, other = make_lesson(cast.student, cast.coach), make_lesson(cast.student, cast.coach, days_ago=7)
    make_still(other)
    still = make_still(lesson)
    assert log(as_("coach"), cast.student, lesson.key).lesson.has_stills is True
    still.set_hidden(timezone.now())
    assert log(as_("coach"), cast.student, lesson.key).lesson.has_stills is False


def test_a_log_is_written_by_its_students_coaches_alone(cast: Cast, as_: Clients) -> None:
    lesson, theirs = finished(cast.student, cast.coach), finished(cast.other_student, cast.coach)
    address = reverse("lesson", args=[cast.student.key, lesson.key])
    assert "lesson_form" not in as_("manager").get(address, {"edit": ""}).context
    assert as_("manager").get(address).context["writes"] is False and as_("coach").get(address).context["writes"]
    draft = reverse("lesson", args=[cast.student.key, make_lesson(cast.student, cast.coach).key])
    for actor, writes in [("manager", False), ("coach", True)]:
        context = as_(actor).get(draft).context
        assert (context["writes"], context["choices"] is not None) == (writes, writes), actor
    make_manager(cast.past_coach.user)
    draft = reverse("lesson", args=[cast.student.key, make_lesson(cast.student, cast.past_coach).key])
    assert as_("past_coach").get(draft).context["choices"] is None, "a manager who taught it once writes no more"
    assert as_("manager").get(reverse("lesson", args=[cast.student.key, uuid.uuid4()])).status_code == 404
    assert as_("coach").get(reverse("lesson", args=[cast.student.key, theirs.key])).status_code == 404
    assert as_("coach").get(reverse("log_choices", args=["nothing", "0"])).status_code == 404


def test_a_note_is_searched_for_the_names_of_those_whom_its_coach_teaches(cast: Cast, as_: Clients) -> None:
    make_student("Flora Larkwren", coach=cast.coach)
    child = make_student("Wren Canarybird", coach=cast.other_coach, birth_year=timezone.now().year - 10)
    Guardianship.objects.create(guardian=cast.coach.user, student=child)
    make_student("Petra Larkwren", coach=cast.other_coach)
    context = as_("coach").get(reverse("lesson", args=[cast.student.key, uuid.uuid4()])).context
    typed = {"page": "x", "base": str(context["base"]), "count": "1", "putting": "on", "propose": "1"}
    typed |= {"day": context["lesson_form"].today.isoformat(), "note": "Flora, Wren and Petra squeeze the handle"}
    address = reverse("lesson", args=[cast.student.key, uuid.uuid4()])
    page = as_("coach").post(address, typed, headers={"HX-Request": "true"}).content.decode()
    assert "Flora Larkwren" in page and "Canarybird" not in page and "Petra Larkwren" not in page


# --- On paper, and phrases ------------------------------------------------------------------------


def test_a_paper_log_is_for_the_next_planned_day_and_the_areas_of_the_last_lesson(june: None, cast: Cast) -> None:
    for area in Area:
        make_skill(area=area, name=f"The {area} skill")
    areas = {"putting": False, "chipping": False, "pitching": False, "bunker": False}
    finished(cast.student, cast.coach, 7, **{**areas, "bunker": True})
    finished(cast.student, cast.coach, 3, attendance="absent", **{**areas, "putting": True})
    make_lesson(cast.student, cast.coach, days_ago=2, **{**areas, "chipping": True})
    finished(cast.other_student, cast.coach, 0, **{**areas, "pitching": True})
    planned(cast.coach, cast.student, at=NOW - timedelta(days=3))
    planned(cast.coach, cast.student, at=NOW + timedelta(days=1), status="cancelled")
    planned(cast.coach, cast.other_student, at=NOW + timedelta(days=2))
    planned(cast.coach, cast.student, at=NOW + timedelta(days=3))
    found: PaperLog = paper_log_of(cast.student, coach="", areas=[], academy=Academy.current(), at=NOW)
    assert found.day == date(2026, 6, 11)
    assert [skills for _, skills in found.skills] == [["The bunker skill"]]


def test_words_that_were_added_are_removed_alone(cast: Cast, as_: Clients) -> None:
    first, second = (Phrase.objects.create(code="putting", words=words) for words in ("on the deck", "flat stick"))
    assert as_("manager").post(reverse("phrase_remove", args=[uuid.uuid4()])).status_code == 404
    assert as_("manager").post(reverse("phrase_remove", args=[first.key])).status_code == 302
    assert list(Phrase.objects.all()) == [second]


# --- Days -----------------------------------------------------------------------------------------


def test_a_day_holds_the_appointments_and_lessons_of_its_coach(june: None, cast: Cast, as_: Clients) -> None:
    own = planned(cast.coach, cast.student, at=NOW)
    planned(cast.cover, cast.student, at=NOW)
    for days in (-1, 1):
        planned(cast.coach, cast.student, at=NOW + timedelta(days=days))
    lessons = [finished(cast.student, coach, -7) for coach in (cast.cover, cast.coach)]
    [day] = as_("coach").get(reverse("day")).context["days"]
    assert [slot.appointment for slot in day.slots] == [own]
    assert [visit.lesson for visit in day.slots[0].visits] == [lessons[1]] and day.others == []


def test_a_group_is_begun_of_those_within_reach(june: None, cast: Cast, as_: Clients) -> None:
    second = make_student("Wilf Tarkle", coach=cast.coach)
    for others, is_for_group in [((cast.other_student,), False), ((cast.other_student, second), True)]:
        row = planned(cast.coach, cast.student, *others, at=NOW)
        [day] = as_("coach").get(reverse("day")).context["days"]
        assert day.slots[0].is_for_group is is_for_group
        row.delete()


def test_unfinished_logs_are_drafts_of_this_coach_for_those_within_reach(june: None, cast: Cast, as_: Clients) -> None:
    own = make_lesson(cast.student, cast.coach)
    finished(cast.student, cast.coach)
    make_lesson(cast.student, cast.cover)
    make_lesson(cast.other_student, cast.coach)
    make_lesson(cast.student, cast.coach, days_ago=-7)
    assert as_("coach").get(reverse("day")).context["drafts"] == [own]


def test_a_manager_chooses_among_the_days_of_coaches_and_a_student_has_none(cast: Cast, as_: Clients) -> None:
    for coach in (cast.coach, cast.cover):
        for name in ("day", "week"):
            assert as_("manager").get(reverse(name), {"coach": coach.user.key}).context["coach"] == coach
    assert as_("manager").get(reverse("day"), {"coach": uuid.uuid4()}).status_code == 404
    assert list(as_("coach").get(reverse("day")).context["coaches"]) == []
    assert {as_("student").get(reverse(name)).status_code for name in ("day", "week")} <= {403, 404}
