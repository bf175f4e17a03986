"""What lists and forms leave out: rows of other students, lessons, coaches and days, and what no longer stands."""

import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Guardianship, Invitation, RecordView, Student
from coachbook.corrections.models import Correction
from coachbook.diary.calendar.feed import end_link, new_link
from coachbook.diary.models import Appointment, CalendarFeed
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.issue import issue_sheet, void_sheet
from drills.models import Prescription, Round
from drills.scored_tests.rounds.summary import SHOWN
from lessons.models import Focus, Lesson, Session
from tests.conftest import Cast
from tests.make import (
    academy_today,
    make_ball,
    make_care,
    make_coach,
    make_design,
    make_lesson,
    make_pause,
    make_prescription,
    make_student,
    make_test,
    this_time,
)

Clients = Callable[[str], Client]
NOON = datetime(2026, 6, 1, 12, tzinfo=UTC)


def finished(student: Student, cast: Cast, days_ago: int = 0) -> Lesson:
    return make_lesson(student, cast.coach, days_ago=days_ago, status="complete", completed_at=timezone.now())


def with_sheets(lesson: Lesson) -> tuple[Sheet, Sheet]:
    """A sheet that is withdrawn, and the one that stands in its place."""
    old = issue_sheet(lesson=lesson, at=timezone.now())
    void_sheet(sheet=old, reason="a slip", at=timezone.now())
    return old, issue_sheet(lesson=lesson, at=timezone.now())


def planned(cast: Cast, *students: Student, at: datetime = NOON) -> Appointment:
    row = Appointment.objects.create(coach=cast.coach, starts_at=at, made_by=cast.coach.user)
    row.students.set(students)
    return row


def group_of(*lessons: Lesson) -> Session:
    """The session of the first lesson as a group, with the other lessons in it."""
    session = lessons[0].session
    session.kind = Session.Kind.GROUP
    session.save()
    Lesson.objects.filter(pk__in=[lesson.pk for lesson in lessons]).update(session=session)
    return session


# --- A coach who is also a guardian reads their own child's record, and teaches the child in nothing ----------------


@pytest.fixture
def own_child(cast: Cast) -> Student:
    child = make_student("Wren Canarybird", coach=cast.other_coach, account=False, birth_year=timezone.now().year - 10)
    Guardianship.objects.create(guardian=cast.coach.user, student=child)
    return child


@pytest.mark.parametrize("page", ["lesson_move", "student_merge", "appointment", "group"])
def test_what_is_done_as_a_coach_is_not_offered_for_ones_own_child(
    page: str, own_child: Student, cast: Cast, as_: Clients
) -> None:
    key, lesson = cast.student.key, finished(cast.student, cast)
    args = {"lesson_move": [key, lesson.key], "student_merge": [key], "appointment": [key, uuid.uuid4()]}
    client = as_("coach")
    assert client.get(reverse("student", args=[own_child.key])).status_code == 200
    answer = client.get(reverse(page, args=args.get(page, [uuid.uuid4()])))
    assert answer.status_code == 200 and own_child.name not in answer.content.decode()


def test_a_group_offers_nobody_whom_its_coach_does_not_teach(own_child: Student, cast: Cast, as_: Clients) -> None:
    left, there = make_student("Wilf Tarkle", coach=cast.coach, status="left"), finished(cast.student, cast)
    session = group_of(there, finished(make_student("Rosalind Tuftle", coach=cast.coach), cast))
    for address in (reverse("group", args=[session.key]), reverse("group", args=[uuid.uuid4()])):
        page = as_("coach").get(address).content.decode()
        assert own_child.name not in page and left.name not in page, address


def test_a_diary_leads_to_no_record_of_ones_own_child(own_child: Student, cast: Cast, as_: Clients) -> None:
    make_lesson(own_child, cast.coach)
    planned(cast, own_child, at=this_time(days_ago=0))
    page = as_("coach").get(reverse("day"))
    assert page.context["drafts"] == [] and own_child.pk not in page.context["reachable"]


def test_a_correction_that_concerns_ones_own_child_is_undone_by_others(
    own_child: Student, cast: Cast, as_: Clients
) -> None:
    about = {"by": cast.coach.user, "at": timezone.now(), "summary": "The lesson was moved"}
    row = Correction.objects.create(kind="moved", student=cast.student, other_student=own_child, **about)
    address = reverse("correction_undo", args=[cast.student.key, row.key])
    assert as_("coach").post(address).status_code == 422
    assert as_("manager").post(address).status_code == 302


# --- Corrections ----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["correction_undo", "correction_seen"])
def test_a_correction_that_is_none(name: str, cast: Cast, as_: Clients) -> None:
    about = {"by": cast.coach.user, "at": timezone.now(), "summary": "A focus was opened again"}
    row = Correction.objects.create(kind="opened", student=cast.student, **about)
    args = [cast.student.key, uuid.uuid4()] if name == "correction_undo" else [uuid.uuid4()]
    assert as_("manager").post(reverse(name, args=args)).status_code == 404
    row.refresh_from_db()
    assert row.undone_at is None and row.seen_at is None


def test_a_move_warns_of_the_sheet_of_this_lesson_if_it_stands(cast: Cast, as_: Clients) -> None:
    lesson, other = finished(cast.student, cast), finished(cast.student, cast, 7)
    issue_sheet(lesson=other, at=timezone.now())
    address = reverse("lesson_move", args=[cast.student.key, lesson.key])
    assert as_("coach").get(address).context["has_sheet"] is False
    old = issue_sheet(lesson=lesson, at=timezone.now())
    assert as_("coach").get(address).context["has_sheet"] is True
    void_sheet(sheet=old, reason="a slip", at=timezone.now())
    assert as_("coach").get(address).context["has_sheet"] is False


def test_a_lesson_that_was_moved_to_ones_own_child_is_not_led_to(own_child: Student, cast: Cast, as_: Clients) -> None:
    lesson = finished(own_child, cast)
    about = {"by": cast.manager, "at": timezone.now(), "summary": "The lesson was moved", "lesson": lesson}
    Correction.objects.create(kind="moved", student=own_child, other_student=cast.student, **about)
    address = reverse("lesson_move", args=[cast.student.key, lesson.key])
    assert as_("coach").post(address).status_code == 404
    assert as_("manager").post(address).status_code == 302


# --- The diary ------------------------------------------------------------------------------------


def test_a_new_calendar_link_ends_ones_own_last_one(cast: Cast) -> None:
    first, later = NOON, NOON + timedelta(days=1)
    new_link(cast.coach, first)
    new_link(cast.cover, first)
    end_link(cast.coach, later)
    end_link(cast.coach, later + timedelta(days=1))
    assert CalendarFeed.objects.get(coach=cast.coach).ended_at == later
    assert CalendarFeed.objects.get(coach=cast.cover).ended_at is None


def test_closed_coaches_are_offered_nowhere(cast: Cast, as_: Clients) -> None:
    make_coach("Greta Gonebird", is_active=False)
    aged = make_coach("Ada Abelseed", is_active=False)
    for address in (reverse("appointment", args=[cast.student.key, uuid.uuid4()]), reverse("day"), reverse("week")):
        answer = as_("manager").get(address)
        assert answer.status_code == 200 and "Gonebird" not in answer.content.decode(), address
    assert as_("manager").get(reverse("day")).context["coach"] != aged, "not the first by name either"
    assert as_("manager").get(reverse("day"), {"coach": aged.user.key}).status_code == 404


@pytest.mark.parametrize("whose", ["own", "another"])
def test_the_next_appointment_follows_the_lesson_that_was_named(whose: str, cast: Cast, as_: Clients) -> None:
    lessons = {"own": finished(cast.student, cast, 7), "another": finished(cast.other_student, cast, 3)}
    finished(cast.student, cast, 1)
    for name, lesson in lessons.items():
        lesson.session.place = f"{name} green"
        lesson.session.save()
    address = reverse("appointment", args=[cast.student.key, uuid.uuid4()])
    form = as_("coach").get(address, {"from": lessons[whose].key}).context["form"]
    assert form.initial.get("place") == ("own green" if whose == "own" else None)


def test_a_day_lists_no_lesson_of_another_day(cast: Cast, as_: Clients) -> None:
    lessons = [finished(cast.student, cast, days) for days in (2, 1, 0)]
    [day] = as_("coach").get(reverse("day"), {"day": "2026-05-31"}).context["days"]
    assert [visit.lesson for visit in day.others] == [lessons[1]]


def test_a_lesson_without_an_appointment_is_listed_for_those_within_reach(cast: Cast, as_: Clients) -> None:
    gone = make_student("Wren Canarybird", coach=cast.coach)
    own = finished(cast.student, cast)
    finished(gone, cast)
    gone.cares.update(until=date(2020, 1, 2))
    [day] = as_("coach").get(reverse("day"), {"day": "2026-06-01"}).context["days"]
    assert [visit.lesson for visit in day.others] == [own]


def test_an_appointment_is_changed_under_a_student_within_reach(cast: Cast, as_: Clients) -> None:
    gone = make_student("Aaron Firstbird", coach=cast.coach)
    row = planned(cast, gone, cast.student)
    gone.cares.update(until=date(2020, 1, 2))
    page = as_("coach").get(reverse("day"), {"day": "2026-06-01"})
    assert page.context["days"][0].slots[0].holder == cast.student
    assert reverse("appointment_decide", args=[cast.student.key, row.key]) in page.content.decode()


def test_a_day_leads_to_the_sheet_that_stands(cast: Cast, as_: Clients) -> None:
    issue_sheet(lesson=finished(cast.other_student, cast, 1), at=timezone.now())
    old, new = with_sheets(finished(cast.student, cast))
    page = as_("coach").get(reverse("day"), {"day": "2026-06-01"}).content.decode()
    assert str(new.key) in page and str(old.key) not in page
    Sheet.objects.filter(pk=new.pk).update(voided_at=timezone.now(), void_reason="a slip")
    page = as_("coach").get(reverse("day"), {"day": "2026-06-01"}).content.decode()
    assert str(new.key) not in page and "/sheets/" not in page


# --- The family -----------------------------------------------------------------------------------


@pytest.mark.history
def test_a_thread_and_a_page_of_guardians_hold_their_own_student_alone(cast: Cast, as_: Clients) -> None:
    cast.other_student.messages.create(written_by=cast.other_coach.user, text="heron-message")
    cast.student.messages.create(written_by=cast.coach.user, text="own-message")
    page = as_("guardian").get(reverse("messages", args=[cast.student.key])).content.decode()
    assert "own-message" in page and "heron-message" not in page
    theirs = make_coach("Nan Heronquill").user
    Guardianship.objects.create(guardian=theirs, student=cast.other_student)
    page = as_("coach").get(reverse("guardians", args=[cast.student.key])).content.decode()
    assert cast.guardian.name in page and theirs.name not in page


# --- Groups ---------------------------------------------------------------------------------------


def test_a_group_holds_its_own_lessons_and_the_sheets_that_stand(cast: Cast, as_: Clients) -> None:
    old, new = with_sheets(finished(cast.student, cast))
    session = group_of(new.lesson)
    apart = make_student("Wilf Tarkle", coach=cast.coach)
    elsewhere = issue_sheet(lesson=finished(apart, cast, 7), at=timezone.now())
    page = as_("coach").get(reverse("group_sheets", args=[session.key])).content.decode()
    assert str(new.key) in page and str(old.key) not in page
    assert str(elsewhere.key) not in page and apart.name not in page


def test_a_group_has_a_row_for_each_of_its_own_lessons(cast: Cast, as_: Clients) -> None:
    session = group_of(finished(cast.student, cast))
    finished(cast.other_student, cast)
    form = as_("coach").get(reverse("group", args=[session.key])).context["group_form"]
    assert [row.lesson.student for row in form.rows] == [cast.student]


def test_reading_a_group_is_reading_those_in_it(cast: Cast, as_: Clients) -> None:
    session = group_of(finished(cast.student, cast))
    make_student("Wilf Tarkle", coach=cast.coach, birth_year=timezone.now().year - 10)
    as_("manager").get(reverse("group_sheets", args=[session.key]))
    assert {row.student for row in RecordView.objects.all()} == {cast.student}


def test_those_whom_this_coach_taught_last_come_first(cast: Cast, as_: Clients) -> None:
    late = make_student("Zeno Latebird", coach=cast.coach)
    finished(late, cast, 5)
    make_lesson(cast.student, cast.cover)
    page = as_("coach").get(reverse("group", args=[uuid.uuid4()])).content.decode()
    assert page.index("Zeno Latebird") < page.index("Alder Quimble")


def test_recent_groups_are_groups_of_this_coach_that_began(cast: Cast, as_: Clients) -> None:
    values = {"kind": Session.Kind.GROUP, "starts_at": this_time(days_ago=3)}
    own = Session.objects.create(coach=cast.coach, **values)
    Session.objects.create(coach=cast.cover, **values)
    Session.objects.create(coach=cast.coach, **values | {"kind": Session.Kind.LESSON})
    Session.objects.create(coach=cast.coach, **values | {"starts_at": this_time(days_ago=-3)})
    assert as_("coach").get(reverse("group", args=[uuid.uuid4()])).context["recent"] == [own]


# --- Sheets ---------------------------------------------------------------------------------------


def test_each_reader_of_a_sheet_is_led_to_what_they_may_do(cast: Cast, as_: Clients) -> None:
    lesson = finished(cast.student, cast)
    address = reverse("sheet", args=[cast.student.key, issue_sheet(lesson=lesson, at=timezone.now()).key])
    for actor, reads_log, practises, shares in [
        ("student", False, True, False),
        ("guardian", False, True, False),
        ("coach", True, False, True),
        ("manager", True, False, False),
    ]:
        context = as_(actor).get(address).context
        assert (context["reads_log"], context["practises"], "code" in context) == (reads_log, practises, shares), actor


def test_a_withdrawn_sheet_leads_to_the_one_of_its_own_lesson_that_stands(cast: Cast, as_: Clients) -> None:
    issue_sheet(lesson=finished(cast.student, cast, 7), at=timezone.now())
    old, new = with_sheets(finished(cast.student, cast))
    address = reverse("sheet", args=[cast.student.key, old.key])
    assert as_("student").get(address).context["newer"] == new
    void_sheet(sheet=new, reason="a slip", at=timezone.now())
    assert as_("student").get(address).context["newer"] is None


def test_a_second_coach_ends_nobody_elses_care(cast: Cast, as_: Clients) -> None:
    care = make_care(cast.cover, cast.other_student, role="cover")
    assert as_("manager").post(reverse("care_end", args=[cast.student.key, care.pk])).status_code == 404
    care.refresh_from_db()
    assert care.until is None


# --- Accounts and care ----------------------------------------------------------------------------


def test_closing_an_account_ends_its_own_open_invitations(cast: Cast, as_: Clients) -> None:
    users = [cast.other_coach.user, cast.cover.user]
    for user in users:
        Invitation.issue(user, by=cast.manager, at=timezone.now())
    used = Invitation.objects.get(user=users[0])
    Invitation.objects.filter(pk=used.pk).update(accepted_at=timezone.now())
    Invitation.issue(users[0], by=cast.manager, at=timezone.now())
    as_("manager").post(reverse("person_close", args=[users[0].key]))
    assert list(Invitation.objects.filter(user=users[0])) == [used], "an invitation that was used stays"
    assert Invitation.objects.filter(user=users[1]).count() == 1


def test_a_page_of_coaches_warns_of_a_consent_that_this_student_lacks(cast: Cast, as_: Clients) -> None:
    make_student("Wren Canarybird", coach=cast.coach, birth_year=timezone.now().year - 10)
    address = reverse("care", args=[cast.student.key])
    assert as_("coach").get(address).context["lacks_consent"] is False
    cast.student.consents.update(withdrawn_at=timezone.now())
    assert as_("coach").get(address).context["lacks_consent"] is True


def test_a_main_coachs_care_that_is_gone_is_none_that_can_be_ended(cast: Cast, as_: Clients) -> None:
    care = cast.student.cares.get(role="main")
    number = care.pk
    care.save()
    care.delete()
    assert as_("manager").post(reverse("care_end", args=[cast.student.key, number])).status_code == 404


def test_the_changes_of_a_student_hold_no_correction_of_another(cast: Cast, as_: Clients) -> None:
    about = {"by": cast.coach.user, "at": timezone.now(), "kind": "opened"}
    Correction.objects.create(student=cast.student, summary="own-correction", **about)
    Correction.objects.create(student=cast.other_student, summary="heron-correction", **about)
    page = as_("coach").get(reverse("changes", args=[cast.student.key])).content.decode()
    assert "own-correction" in page and "heron-correction" not in page


# --- A student's page, and pauses -------------------------------------------------------------------


def test_a_students_page_holds_their_own_focuses_and_coaches(cast: Cast, as_: Clients) -> None:
    for student in (cast.student, cast.other_student):
        about = {"student": student, "area": "putting", "slot": 1, "opened_in": finished(student, cast)}
        Focus.objects.create(what=f"of {student.name}", **about)
    for actor, teaches in [("coach", True), ("manager", False), ("guardian", False)]:
        page = as_(actor).get(reverse("student", args=[cast.student.key]))
        assert [focus.what for focus, _ in page.context["focuses"]] == ["of Alder Quimble"]
        assert cast.other_coach not in {care.coach for care in page.context["cares"]}
        assert page.context["teaches"] is teaches, actor


def test_a_students_page_holds_their_own_pauses_guardians_and_drills(cast: Cast, as_: Clients) -> None:
    for student in (cast.student, cast.other_student):
        make_pause(student, academy_today() - timedelta(days=2))
        given_to(student, cast)
    Guardianship.objects.create(guardian=make_coach("Nan Heronquill").user, student=cast.other_student)
    for actor in ("coach", "guardian"):
        context = as_(actor).get(reverse("student", args=[cast.student.key])).context
        assert len(context["pauses"]) == 1 and context["guardians"] == [cast.guardian.name]
        assert {row.student for row in context["prescriptions"]} == {cast.student}
    cards = as_("student").get(reverse("today", args=[cast.student.key])).context["cards"]
    assert {card["day"].prescription.student for card in cards} == {cast.student}


def given_to(student: Student, cast: Cast) -> Prescription:
    lesson = finished(student, cast)
    focus = Focus.objects.create(student=student, area="putting", slot=1, opened_in=lesson, what="Soft hands")
    return make_prescription(lesson, focus, begins=academy_today())


def test_a_namesake_out_of_reach_is_not_described_with_the_details(cast: Cast, as_: Clients) -> None:
    hidden = make_student("Wren Canarybird", coach=make_coach("Nan Heronquill"), account=False)
    typed = {"name": hidden.name, **{f"{area}_side": "left" for area in ("putting", "chipping", "pitching", "bunker")}}
    page = as_("coach").post(reverse("student_details", args=[uuid.uuid4()]), typed)
    words = page.content.decode()
    assert page.status_code == 422 and "Somebody else at the academy has this name." in words
    assert str(hidden.key) not in words and "Heronquill" not in words


@pytest.mark.parametrize("name", ["practice_report", "practice_void"])
def test_practice_is_reported_of_the_drill_that_is_named(name: str, cast: Cast, as_: Clients) -> None:
    prescription = given_to(cast.student, cast)
    entry = prescription.entries.create(day=academy_today(), amount=5)
    address = reverse(name, args=[cast.student.key, uuid.uuid4(), entry.key])
    assert as_("student").post(address, {"day": academy_today(), "amount": "5"}).status_code == 404
    unknown = reverse("practice_void", args=[cast.student.key, prescription.key, uuid.uuid4()])
    assert as_("student").post(unknown).status_code == 404
    entry.refresh_from_db()
    assert not entry.is_void and prescription.entries.count() == 1


def test_tests_are_listed_of_the_student_and_if_a_ball_was_noted(cast: Cast, as_: Clients) -> None:
    design = make_design()
    own, empty = make_test(cast.student, design, done_at=None), make_test(cast.student, design, done_at=None)
    for test in (own, make_test(cast.other_student, design)):
        make_ball(test)
    rows = as_("coach").get(reverse("tests", args=[cast.student.key])).context["rows"]
    assert [test for test, _ in rows] == [own] and empty not in {test for test, _ in rows}


def test_a_test_that_is_none_is_not_undone_in_place_of_another(cast: Cast, as_: Clients) -> None:
    test = make_test(cast.student, day=academy_today())
    assert as_("coach").post(reverse("test_void", args=[cast.student.key, uuid.uuid4()])).status_code == 404
    test.refresh_from_db()
    assert not test.is_void


def test_a_test_is_set_into_a_lesson_to_which_this_student_came(cast: Cast, as_: Clients) -> None:
    own, absent, another = (
        make_lesson(cast.student, cast.coach),
        make_lesson(cast.student, cast.coach, attendance="absent"),
        make_lesson(cast.other_student, cast.coach),
    )
    Session.objects.update(starts_at=timezone.now())
    page = as_("coach").get(reverse("scored_test", args=[cast.student.key, uuid.uuid4()])).content.decode()
    assert [str(lesson.key) in page for lesson in (own, absent, another)] == [True, False, False]


def test_pauses_are_those_of_the_student_and_each_ends_alone(cast: Cast, as_: Clients) -> None:
    today = academy_today()
    first = make_pause(cast.student, today - timedelta(days=9), today - timedelta(days=5))
    second = make_pause(cast.student, today - timedelta(days=2))
    make_pause(cast.other_student, today - timedelta(days=2))
    client, key = as_("coach"), cast.student.key
    assert set(client.get(reverse("pauses", args=[key])).context["pauses"]) == {first, second}
    assert client.post(reverse("pause_end", args=[key, uuid.uuid4()])).status_code == 404
    assert client.post(reverse("pause_end", args=[key, second.key])).status_code == 302
    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.until, second.until) == (today - timedelta(days=5), today)


# --- Tests and rounds -----------------------------------------------------------------------------


def test_the_balls_of_a_test_are_its_own(cast: Cast, as_: Clients) -> None:
    own = make_test(cast.student, day=academy_today(), done_at=None)
    other = make_test(cast.other_student, make_design(distances_m=[3.0]), day=academy_today())
    make_ball(own, distance_m=4.0)
    for _ in range(3):
        make_ball(other)
    address = reverse("scored_test", args=[cast.student.key, own.key])
    for actor, may_score in [("coach", True), ("manager", False)]:
        context = as_(actor).get(address, {"plan": "4x8"}).context
        assert (context["number"], len(context["noted_balls"]), context["may_score"]) == (2, 1, may_score)
        assert context["plan"].distance_at(2) == 4.0


@pytest.mark.parametrize("name", ["test_ball", "test_undo", "test_done", "round_void"])
def test_a_key_that_nothing_has_changes_nothing_else(name: str, cast: Cast, as_: Clients) -> None:
    test = make_test(cast.student, day=academy_today(), done_at=None)
    make_ball(test)
    own = cast.student.rounds.create(day=academy_today(), holes=9, putts=17, by=cast.coach.user)
    typed = {"number": "1", "what": "holed"}
    assert as_("coach").post(reverse(name, args=[cast.student.key, uuid.uuid4()]), typed).status_code == 404
    test.refresh_from_db()
    own.refresh_from_db()
    assert test.balls.count() == 1 and not test.done_at and not own.is_void


def test_a_round_that_was_saved_long_ago_is_not_undone_because_it_was_changed_since(cast: Cast, as_: Clients) -> None:
    row = cast.student.rounds.create(day=academy_today(), holes=9, putts=17, by=cast.coach.user)
    Round.history.filter(id=row.pk).update(history_date=this_time(days_ago=30))
    row.putts = 18
    row.save()
    assert as_("coach").post(reverse("round_void", args=[cast.student.key, row.key])).status_code == 404


def test_rounds_and_tests_of_years_ago_are_not_shown(cast: Cast, as_: Clients) -> None:
    long_ago = academy_today() - 2 * SHOWN
    for day in (academy_today(), long_ago):
        cast.student.rounds.create(day=day, holes=9, putts=17, by=cast.coach.user)
        make_test(cast.student, day=day)
    context = as_("coach").get(reverse("rounds", args=[cast.student.key])).context
    assert [row["round"].day for row in context["rows"]] == [academy_today()]
    assert context["picture"].test_days == [academy_today()]
