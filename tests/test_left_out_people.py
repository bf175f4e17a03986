"""What pages about people leave out: care, records, requests and accounts of others, and what is over."""

import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts import gate
from coachbook.accounts.forms import ChoosePasswordForm
from coachbook.accounts.models import Area, Coach, Guardianship, Invitation, RecordView, Student, User
from coachbook.accounts.models.base import covers_an_area, sides_are_valid
from coachbook.accounts.views import people
from coachbook.caseload.attention import gather as attention
from coachbook.caseload.attention.rules import Kind
from coachbook.caseload.gather import (
    focus_words,
    given_now,
    pause_days,
    pauses_and_absences,
    review_days,
    students_by_coach,
)
from coachbook.caseload.models import Snooze
from coachbook.corrections.approvals.asking import access_request, age_request, ask
from coachbook.corrections.approvals.deciding import settle_due
from coachbook.corrections.edits import edits_of
from coachbook.corrections.models import ApprovalRequest, Correction
from coachbook.diary.models import Absence, Appointment
from drills.models import PracticeEntry, Prescription
from lessons.edits import EditReason
from lessons.models import Fault, Focus, Lesson, MonthCount, Observation, Outcome, Session
from lessons.models.reasoned_history import changes_for
from tests.conftest import Cast
from tests.make import (
    academy_today,
    make_care,
    make_coach,
    make_consent,
    make_fault,
    make_guardian,
    make_lesson,
    make_look,
    make_pause,
    make_prescription,
    make_skill,
    make_still,
    make_student,
    make_user,
    this_time,
)
from tests.test_accounts import CHOSEN

Clients = Callable[[str], Client]
ON = date(2026, 6, 1)  # the day from which make_lesson counts back


def day(days: int) -> date:
    """So many days after the first of June, or before it."""
    return ON + timedelta(days=days)


def hour(days: int) -> datetime:
    """The same at ten."""
    return datetime(2026, 6, 1, 10, tzinfo=UTC) + timedelta(days=days)


def adult(name: str, coach: Coach, **values: object) -> Student:
    """Somebody of age who came to a coach a week before the first of June."""
    student = make_student(name, coach=coach, **{"birth_year": 1980, **values})
    student.cares.update(since=day(-7))
    return student


def finished(student: Student, coach: Coach, days_ago: int = 0) -> Lesson:
    return make_lesson(student, coach, days_ago=days_ago, status="complete", completed_at=timezone.now())


def works_on(lesson: Lesson, slot: int = 1, **values: object) -> Focus:
    words = {} if "fault" in values else {"what": "A steady head"}
    return Focus.objects.create(
        student=lesson.student, opened_in=lesson, slot=slot, area="putting", **{**words, **values}
    )


def given(lesson: Lesson, slot: int = 1, **values: object) -> Prescription:
    """A drill for a focus of its own."""
    return make_prescription(lesson, works_on(lesson, slot), **values)


def practised(prescription: Prescription, days: int, **values: object) -> None:
    PracticeEntry.objects.create(prescription=prescription, day=day(days), amount=10, **values)


def changed(student: Student, coach: Coach, fault: Fault, days_ago: int, verdict: str = "lost") -> None:
    """A change of the fault, and what became of it by the next arrival."""
    lessons = [finished(student, coach, days_ago + 10), finished(student, coach, days_ago)]
    about = {"student": student, "coach": coach, "fault": fault, "verdict": verdict, "days": 10}
    Outcome.objects.create(before=lessons[0], lesson=lessons[1], day=day(-days_ago), **about)


def booked(student: Student, coach: Coach, days: int, status: str = "planned") -> Appointment:
    row = Appointment.objects.create(coach=coach, starts_at=hour(days), made_by=coach.user, status=status)
    row.students.add(student)
    return row


def away(student: Student, first: int, last: int, **values: object) -> Absence:
    return student.absences.create(first_day=day(first), last_day=day(last), reported_by=student.user, **values)


def close(coach: Coach) -> None:
    coach.user.is_active = False
    coach.user.save()


# --- Who needs attention --------------------------------------------------------------------------


@pytest.fixture
def june(cast: Cast) -> Iterator[None]:
    """The first of June, on which nobody of the cast gives a reason: Alder was there a week ago."""
    with time_machine.travel(datetime(2026, 6, 1, 18, tzinfo=UTC), tick=False):
        finished(cast.student, cast.coach, 7)
        yield


def waiting(client: Client) -> list[str]:
    """The reasons on the page, each with its name."""
    rows = client.get(reverse("attention")).context["now"]
    return [f"{line.facts.name}: {line.reason.words}" for line, *_ in rows]


NOT_SEEN = "Aster Longgone: No lesson yet in 516 days, and nothing is booked"


def test_what_is_booked_for_others_or_is_over_or_was_called_off_is_not_booked(
    june: None, cast: Cast, as_: Clients
) -> None:
    own = adult("Aster Longgone", cast.coach)
    own.cares.update(since=date(2025, 1, 1))
    booked(cast.student, cast.coach, 2)
    booked(own, cast.coach, -3)
    booked(own, cast.coach, 3, status="cancelled")
    booked(own, cast.coach, 4)
    away(own, 4, 4)
    assert waiting(as_("coach")) == [NOT_SEEN]
    listing = as_("manager").get(reverse("caseload_students"), {"coach": cast.coach.user.key}).context["listing"]
    found = {row.student.name: row.student.next for row in listing.rows}
    assert found == {"Alder Quimble": day(2), "Aster Longgone": None}


def test_who_is_silent_is_asked_by_the_reports_that_stand_of_what_is_given_now(
    june: None, cast: Cast, as_: Clients
) -> None:
    """Aster has nothing to practise any more, and Birk's report was undone; Clem's was the last of somebody else's."""
    aster, birk, clem = (adult(name, cast.coach) for name in ("Aster Oldleaf", "Birk Undone", "Clem Silent"))
    lessons = [finished(student, cast.coach, 20) for student in (aster, birk, clem)]
    practised(given(lessons[0], ended_on=day(-6)), -12)
    practised(given(lessons[1]), -12, is_void=True)
    practised(given(lessons[2]), -12)
    practised(given(lessons[2], slot=2, ended_on=day(-1)), -2)
    PracticeEntry.objects.create(prescription=clem.prescriptions.first(), day=day(-3), amount=10, is_void=True)
    practised(given(finished(cast.student, cast.coach, 20)), -1)
    assert waiting(as_("coach")) == ["Clem Silent: No practice reported for 12 days"]


def test_a_message_waits_where_the_family_of_this_student_had_the_last_word(
    june: None, cast: Cast, as_: Clients
) -> None:
    """A coach who is somebody else's guardian answers as a coach; what is written to others answers nothing."""
    Guardianship.objects.create(guardian=cast.coach.user, student=cast.other_student)
    own = adult("Birk Asking", cast.coach)
    for student, author, days in [
        (cast.student, cast.guardian, -4),
        (cast.student, cast.coach.user, -3),
        (own, own.user, -2),
        (cast.other_student, cast.other_coach.user, -1),
    ]:
        student.messages.create(written_by=author, text="Hello", written_at=hour(days))
    assert waiting(as_("coach")) == ["Birk Asking: A message of 30 May waits for an answer"]


def test_a_consent_is_asked_where_a_second_coach_helps_this_student_now(june: None, cast: Cast, as_: Clients) -> None:
    """Alone with the main coach, only once had another one: nobody is to share anything."""
    alone = adult("Aster Alone", cast.coach, birth_year=2016)
    over = adult("Birk Over", cast.coach, birth_year=2016)
    make_care(cast.cover, over, role="cover", since=day(-6), until=day(-1))
    helped = adult("Clem Helped", cast.coach, birth_year=2016)
    make_care(cast.cover, helped, role="cover", since=day(-6))
    for child in (alone, over, helped):
        make_consent(child, make_guardian("", child), "photos")
    words = "A second coach helps, and nobody has consented to sharing the record"
    assert waiting(as_("coach")) == [f"Clem Helped: {words}"]


def test_changes_are_lost_again_and_again_in_what_this_student_works_on(june: None, cast: Cast, as_: Clients) -> None:
    """Aster has closed it and works on something else, though another student works on it."""
    aster, birk, skill = adult("Aster Done", cast.coach), adult("Birk Lost", cast.coach), make_skill()
    fault, other = make_fault(skill, name="Grips too tight"), make_fault(skill, name="Head moves")
    for student in (aster, birk):
        for days_ago in (20, 8):
            changed(student, cast.coach, fault, days_ago)
    last = finished(aster, cast.coach, 2)
    works_on(last, fault=fault, closed_in=last)
    works_on(last, fault=other)
    works_on(birk.lessons.first(), fault=fault)
    words = "Grips too tight: the last 2 changes were lost by the next arrival"
    assert waiting(as_("coach")) == [f"Birk Lost: {words}"]


def test_no_review_is_due_of_what_has_ended_or_stands_in_a_draft(june: None, cast: Cast, as_: Clients) -> None:
    ended, drafted = adult("Aster Ended", cast.coach), adult("Birk Drafted", cast.coach)
    given(finished(ended, cast.coach, 30), days=20, ended_on=day(-20))
    given(make_lesson(drafted, cast.coach, days_ago=1), begins=day(-30), review_on=day(-5))
    assert waiting(as_("coach")) == []


def test_a_manager_is_shown_the_students_of_open_accounts(june: None, cast: Cast, as_: Clients) -> None:
    gone = make_coach("Greta Gonebird")
    for name, coach in (("Aster Stays", cast.coach), ("Birk Leftbehind", gone)):
        adult(name, coach, birth_year=2016)
    close(gone)
    page = as_("manager").get(reverse("attention")).content.decode()
    assert "Aster Stays" in page and "Birk Leftbehind" not in page


# --- The caseload ---------------------------------------------------------------------------------


def test_what_is_read_of_some_students_is_theirs_and_holds_on_the_day(cast: Cast) -> None:
    """Each has one of everything that counts on the first of June, and beside it what does not."""
    own, other = adult("Aster Own", cast.coach), adult("Birk Other", cast.other_coach)
    fault = make_fault(make_skill(), name="Grips too tight")
    for student, coach in ((own, cast.coach), (other, cast.other_coach)):
        lesson = finished(student, coach, 20)
        given(lesson, review_on=day(3))
        given(lesson, slot=2, review_on=day(4), ended_on=day(-1))
        student.focuses.filter(slot=2).update(closed_in=lesson)
        works_on(make_lesson(student, coach), slot=2, fault=fault)
        changed(student, coach, fault, 5)
        make_pause(student, day(-90), day(-80))
        make_pause(student, day(1))
        away(student, -5, -1)
        away(student, 2, 3)
        away(student, 5, 6, withdrawn_at=timezone.now())
        Snooze.objects.create(student=student, kind=Kind.DRAFT, until=day(4), why="Away.", by=coach.user)
    asked = {own.pk}
    pauses, absences = pauses_and_absences(asked, ON)
    assert {pk: [(each.first, each.last) for each in rows] for pk, rows in absences.items()} == {
        own.pk: [(day(2), day(3))]
    }
    assert pauses == pause_days(asked, ON) == {own.pk: [(day(-90), day(-80))]}
    assert review_days(asked, ON) == {own.pk: [day(3)]}
    assert {pk: [row.review_on for row in rows] for pk, rows in given_now(asked, ON).items()} == {own.pk: [day(3)]}
    assert focus_words(asked) == {own.pk: ["A steady head"]}
    assert attention.lost_in_a_row(asked) == {own.pk: {"Grips too tight": 1}}
    assert set(attention.standing_snoozes(asked, ON)) == {(own.pk, Kind.DRAFT)}
    assert set(attention.records_of(asked, ON, hour(0))) == {own}
    assert set(students_by_coach(cast.academy, ON, cast.coach)) == {cast.coach.pk}


def test_a_lesson_to_come_is_neither_the_last_one_nor_held_nor_a_log_to_finish(
    june: None, cast: Cast, as_: Clients
) -> None:
    held, draft = finished(cast.student, cast.coach, 3), make_lesson(cast.student, cast.coach, days_ago=2)
    finished(cast.student, cast.coach, -1)
    make_lesson(cast.student, cast.coach, days_ago=-1)
    empty = finished(cast.student, cast.coach, 1)
    Lesson.objects.filter(pk=empty.pk).update(attendance="absent")
    finished(cast.other_student, cast.coach, 2)
    finished(cast.other_student, cast.other_coach, 1)
    context = as_("manager").get(reverse("coach_caseload", args=[cast.coach.user.key])).context
    assert [lesson.student for lesson in context["lessons"]] == [cast.other_student, cast.student, cast.student]
    assert context["lessons"][1] == held and context["drafts"] == [draft]
    assert [row.student.last for row in context["listing"].rows] == [day(-3)]
    rows = {row.coach: row.sums for row, _ in as_("manager").get(reverse("caseload")).context["rows"]}
    assert [(rows[coach].lessons, rows[coach].drafts) for coach in (cast.coach, cast.other_coach, cast.cover)] == [
        (3, 1),
        (1, 0),
        (0, 0),
    ]


def test_lists_of_coaches_leave_out_closed_accounts_and_care_of_other_days(
    june: None, cast: Cast, as_: Clients
) -> None:
    gone = make_coach("Greta Gonebird")
    left_behind = adult("Birk Leftbehind", gone)
    finished(left_behind, gone, 2)
    close(gone)
    for name in ("caseload_students", "caseload_lessons", "caseload_file"):
        page = as_("manager").get(reverse(name)).content.decode()
        assert cast.student.name in page and "Gonebird" not in page and "Leftbehind" not in page, name
    make_care(cast.cover, cast.student, since=day(-90), until=day(-1))
    make_care(cast.cover, cast.other_student, since=day(1), until=day(90))
    of_cover = as_("manager").get(reverse("coach_caseload", args=[cast.cover.user.key])).context["listing"]
    assert of_cover.rows == [], "care that is over, or that begins tomorrow"


def test_a_manager_reads_those_whom_a_caseload_lists(cast: Cast, as_: Clients) -> None:
    as_("manager").get(reverse("coach_caseload", args=[cast.coach.user.key]))
    assert [row.student for row in RecordView.objects.all()] == [cast.student]


# --- Care -----------------------------------------------------------------------------------------


@pytest.mark.history
def test_only_the_care_that_is_named_is_ended_and_of_this_student(cast: Cast, as_: Clients) -> None:
    """Neither a main coach's, nor that of a coach of somebody else, nor one that there never was."""
    main, theirs = cast.student.cares.get(role="main"), make_care(cast.cover, cast.other_student, role="cover")
    for number in (main.pk, theirs.pk, 10**6):
        assert as_("manager").post(reverse("care_end", args=[cast.student.key, number])).status_code == 404
    main.refresh_from_db()
    theirs.refresh_from_db()
    assert main.until is None and theirs.until is None
    for coach in (cast.cover, cast.assistant):
        care = cast.student.cares.get(coach=coach)
        assert as_("manager").post(reverse("care_end", args=[cast.student.key, care.pk])).status_code == 302
        open_ones = cast.student.cares.filter(until=None).values_list("coach__user__name", flat=True)
        assert set(open_ones) == {"Ida Fernkettle", "Noor Appleknot"} - ({"Noor Appleknot"} & {str(coach)})


def test_care_changes_hands_for_ones_own_students(cast: Cast, as_: Clients) -> None:
    assert "is a junior" not in as_("coach").get(reverse("care", args=[cast.student.key])).content.decode()
    page = as_("manager").get(reverse("hand_over", args=[cast.other_coach.user.key]))
    assert page.context["number"] == 1 and page.context["lacks_consent"] == [cast.other_student]
    cares = as_("manager").get(reverse("student_move", args=[cast.student.key])).context["cares"]
    assert [care.coach for care in cares] == [cast.coach]


# --- The academy's progress -----------------------------------------------------------------------


@pytest.mark.parametrize("months", ["3", "all"])
def test_progress_is_of_lessons_to_which_somebody_came_in_this_time(
    months: str, june: None, cast: Cast, as_: Clients
) -> None:
    """Two lessons of the last months count, and more in all: no draft, none they missed, none about something else."""
    fault = make_fault(make_skill(), name="Grips too tight")
    for days_ago, verdict in ((150, "held"), (130, "lost")):
        changed(cast.student, cast.coach, fault, days_ago, verdict)
    MonthCount.objects.create(coach=cast.coach, month=ON, fault=fault, looked=1, slight=1)
    finished(cast.student, cast.coach, 200)
    finished(cast.student, cast.coach, 2)
    make_lesson(cast.student, cast.coach)
    for values in ({"attendance": "absent"}, {"putting": False}):
        missed = finished(cast.student, cast.coach, 1)
        Lesson.objects.filter(pk=missed.pk).update(**values)
    clip = finished(cast.student, cast.coach, 1)
    Session.objects.filter(pk=clip.session_id).update(kind="clip")
    findings = as_("manager").get(reverse("academy_progress"), {"months": months}).context["findings"]
    [line] = findings.areas[0].common
    assert (line.name, line.arrivals) == ("Grips too tight", 2 if months == "3" else 7)
    assert findings.depends[0].groups[0].counts == ("none" if months == "3" else "1 of 2")


def test_progress_is_shown_while_a_merge_of_faults_is_still_counted(cast: Cast, as_: Clients) -> None:
    """A merge is stored first; what follows from it for lessons of years is counted after that."""
    skill = make_skill()
    fault, other = make_fault(skill, name="Grips too tight"), make_fault(skill, name="Squeezes the grip")
    changed(cast.student, cast.coach, fault, 3)
    client, asked = as_("manager"), []
    for is_merged in (False, True):
        if is_merged:
            fault.merge_into(other)
        with CaptureQueriesContext(connection) as queries:
            assert client.get(reverse("academy_progress"), {"months": "all"}).status_code == 200
        asked.append(len(queries))
    assert asked[0] >= asked[1], "a merged fault costs no query"


# --- What waits for a second person ---------------------------------------------------------------


@pytest.fixture
def asked(cast: Cast) -> list[ApprovalRequest]:
    """The coach asked for another age of one student, and the manager for a new link of two people."""
    Student.objects.filter(pk=cast.student.pk).update(birth_year=timezone.now().year - 10)
    cast.student.refresh_from_db()
    rows = [age_request(cast.student, by=cast.coach.user, values={"birth_year": 1980, "age_group": ""})]
    rows += [access_request(person, by=cast.manager, names={}) for person in (cast.guardian, cast.other_coach.user)]
    return [ask(row, cast.academy, timezone.now())[0] for row in rows]


def test_a_notice_is_seen_by_who_looked_and_once(asked: list[ApprovalRequest], cast: Cast, as_: Clients) -> None:
    row, seen = asked[0], reverse("approval_seen", args=[asked[0].key])
    assert {notice.person for notice in row.notices.all()} == {cast.guardian, cast.manager}
    assert as_("guardian").post(seen).status_code == 302
    first = row.notices.get(person=cast.guardian).seen_at
    assert first and row.notices.get(person=cast.manager).seen_at is None
    as_("guardian").post(seen)
    assert row.notices.get(person=cast.guardian).seen_at == first
    for actor, is_unseen in [("guardian", False), ("coach", False), ("manager", True)]:
        page = as_(actor).get(reverse("approval", args=[row.key]))
        assert page.context["row"] == row and page.context["is_unseen"] == is_unseen, actor


def test_a_request_leads_to_its_student_for_those_who_read_them(
    asked: list[ApprovalRequest], cast: Cast, as_: Clients
) -> None:
    """The guardian who was notified is the guardian of another child alone by now."""
    address = reverse("approval", args=[asked[0].key])
    assert as_("guardian").get(address).context["reads_student"] is True
    cast.student.guardianships.update(ended_on=date(2025, 1, 1))
    Guardianship.objects.create(guardian=cast.guardian, student=cast.other_student)
    page = as_("guardian").get(address)
    assert page.status_code == 200 and not page.context["reads_student"]


def test_a_link_is_made_for_the_request_that_is_named_and_once(
    asked: list[ApprovalRequest], cast: Cast, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of two at the same moment the first alone makes it: the other one read the request before that."""
    settle_due(cast.academy, timezone.now() + timedelta(days=7, seconds=1))
    ApprovalRequest.objects.filter(kind="access").update(decided_at=timezone.now())
    address = reverse("approval_link", args=[asked[1].key])
    assert as_("manager").post(address).status_code == 200
    made = list(ApprovalRequest.objects.exclude(link_made_at=None))
    assert made == [asked[1]]
    assert as_("manager").post(address).status_code == 404
    monkeypatch.setattr("coachbook.corrections.approvals.views.may_make_link", lambda *_: True)
    assert as_("manager").post(address).headers["Location"] == reverse("approval", args=[asked[1].key])
    assert ApprovalRequest.objects.get(pk=asked[1].pk).link_made_at == made[0].link_made_at
    assert Invitation.objects.count() == 1
    assert not Invitation.objects.exclude(user=cast.guardian).exists()


# --- Changes --------------------------------------------------------------------------------------


def overwritten(row: Focus | Lesson | Observation, by: User, **values: str) -> None:
    """Words in place of others, by somebody."""
    for words in (values, {**values, **dict.fromkeys(set(values) - {"reader"}, "heron-after")}):
        vars(row).update(_history_user=by, **words)
        row.save()


def observed(lesson: Lesson, **values: str) -> Observation:
    seen = Observation.objects.create(look=make_look(lesson), skill=make_skill(), verdict="good")
    overwritten(seen, lesson.session.coach.user, **values)
    return seen


def links(client: Client, student: Student) -> dict[tuple[str, str], bool]:
    """Who changed what, and whether the page leads to what it said."""
    changes = client.get(reverse("changes", args=[student.key])).context["page"]
    return {(change.who, change.summary): bool(change.words) for change in changes}


@pytest.mark.history
def test_changes_are_those_of_this_student(cast: Cast, as_: Clients) -> None:
    """Of others neither who read them, nor what was seen, nor words of a lesson or a focus that is theirs by now."""
    for student, page in ((cast.student, "lesson"), (cast.other_student, "messages")):
        RecordView.objects.create(
            student=student, manager=cast.manager, day=academy_today(), at=timezone.now(), page=page
        )
    observed(finished(cast.other_student, cast.other_coach), words="heron")
    gone, stays = finished(cast.student, cast.coach, 3), finished(cast.student, cast.coach)
    focus = works_on(gone)
    works_on(stays, slot=2)
    overwritten(focus, cast.coach.user, what="heron")
    overwritten(gone, cast.coach.user, keep="heron")
    assert links(as_("manager"), cast.student)["Ida Fernkettle", "changed a lesson: keep"]
    Lesson.objects.filter(pk=gone.pk).update(student=cast.other_student)
    Focus.objects.filter(pk=focus.pk).update(student=cast.other_student)
    found = links(as_("manager"), cast.student)
    assert ("Odile Bramblewing", "read a lesson") in found
    assert ("Odile Bramblewing", "read the messages") not in found
    assert "Cai Meadowtwine" not in {who for who, _ in found}
    assert not any(found.values()), found


@pytest.mark.history
def test_what_was_seen_in_private_is_led_to_by_the_coach_of_that_lesson(cast: Cast, as_: Clients) -> None:
    for coach in (cast.coach, cast.cover, cast.coach):
        observed(finished(cast.student, coach), words="heron", reader="coach")
    led = {who: is_led for (who, what), is_led in links(as_("cover"), cast.student).items() if "seen" in what}
    assert led == {"Ida Fernkettle": False, "Bram Saltquill": True}


# --- Corrections ----------------------------------------------------------------------------------


def test_a_focus_is_opened_again_if_it_was_closed_lately_and_for_good(cast: Cast, as_: Clients) -> None:
    """Neither one of long ago beside it, nor one that a draft closes, nor one of another student."""
    late, long_ago, draft = (make_lesson(cast.student, cast.coach, days_ago=days) for days in (7, 90, 1))
    theirs = make_lesson(adult("Aster Other", cast.coach), cast.coach, days_ago=7)
    for lesson, days in ((late, 7), (long_ago, 90), (draft, 1), (theirs, 7)):
        Session.objects.filter(pk=lesson.session_id).update(starts_at=this_time(days_ago=days))
    Lesson.objects.exclude(pk=draft.pk).update(status="complete", completed_at=timezone.now())
    focuses = [
        works_on(lesson, what=f"heron {place}", closed_in=lesson) for place, lesson in enumerate((late, long_ago))
    ]
    focuses += [works_on(late, closed_in=draft), works_on(theirs, what="heron 3", closed_in=theirs)]
    page = as_("coach").get(reverse("student", args=[cast.student.key])).content.decode()
    for focus, status in zip(focuses, (302, 422, 422, 404), strict=True):
        address = reverse("focus_reopen", args=[cast.student.key, focus.key])
        assert (address in page) == (status == 302), focus
    for focus, status in zip(reversed(focuses), (404, 422, 422, 302), strict=True):
        address = reverse("focus_reopen", args=[cast.student.key, focus.key])
        assert as_("coach").post(address).status_code == status, focus
    assert list(Focus.objects.filter(closed_in=None)) == [focuses[0]]


def test_the_lesson_that_is_named_is_moved_with_its_own_stills(cast: Cast, as_: Clients, media: object) -> None:
    """Twice posted it leads to the same lesson; of another student, or of one that never had it, there is none."""
    to = adult("Aster Right", cast.coach)
    apart, lesson, later = (finished(cast.student, cast.coach, days) for days in (9, 7, 5))
    stays, goes = make_still(apart), make_still(lesson)
    theirs = finished(cast.other_student, cast.other_coach, 3)
    address = reverse("lesson_move", args=[cast.student.key, lesson.key])
    for _ in range(2):
        answer = as_("coach").post(address, {"to": to.pk, "stills": "erase"})
        assert answer.headers["Location"] == reverse("lesson", args=[to.key, lesson.key])
    assert {row.pk: row.student for row in Lesson.objects.filter(pk__in=[apart.pk, lesson.pk, later.pk])} == {
        apart.pk: cast.student,
        lesson.pk: to,
        later.pk: cast.student,
    }
    assert list(apart.stills.all()) == [stays] and not goes.__class__.objects.filter(pk=goes.pk).exists()
    client = as_("manager")
    for student, other in (
        (cast.student, theirs),
        (cast.other_student, lesson),
        (cast.student, Lesson(key=uuid.uuid4())),
    ):
        assert client.get(reverse("lesson_move", args=[student.key, other.key])).status_code == 404


def test_corrections_are_undone_where_they_belong(cast: Cast, as_: Clients) -> None:
    """Of a student on their page, of a person who is not taught on the list; of two the one that is named."""
    about = {"by": cast.manager, "at": timezone.now(), "summary": "Other care", "kind": "care"}
    rows = [Correction.objects.create(student=student, **about) for student in (cast.student, cast.other_student)]
    people_of = [
        Correction.objects.create(**{**about, "kind": "access"}, person=person, changes=[])
        for person in (cast.guardian, cast.past_guardian)
    ]
    for name, args in [
        ("access_undo", [rows[0].key]),
        ("access_undo", [uuid.uuid4()]),
        ("correction_undo", [cast.student.key, rows[1].key]),
        ("correction_undo", [cast.student.key, people_of[0].key]),
    ]:
        assert as_("manager").post(reverse(name, args=args)).status_code == 404, (name, args)
    assert as_("manager").post(reverse("correction_seen", args=[rows[1].key])).status_code == 302
    assert list(Correction.objects.exclude(seen_at=None)) == [rows[1]]
    assert not Correction.objects.exclude(undone_at=None).exists()
    assert as_("manager").post(reverse("correction_undo", args=[cast.student.key, rows[0].key])).status_code == 302
    assert list(Correction.objects.exclude(undone_at=None)) == [rows[0]]


def test_an_edit_is_undone_of_a_finished_lesson_of_this_student(cast: Cast, as_: Clients) -> None:
    lessons = [make_lesson(cast.student, cast.coach), finished(cast.other_student, cast.other_coach)]
    lessons.append(finished(cast.student, cast.coach, 7))
    for lesson, status in zip(lessons, (404, 404, 302), strict=True):
        lesson.keep = "heron-before"
        lesson.save()
        with changes_for(str(EditReason(lesson.key, uuid.uuid4()))):
            lesson.keep = "heron-after"
            lesson.save()
        [edit] = edits_of(lesson)
        address = reverse("lesson_edit_undo", args=[cast.student.key, lesson.key, edit.key])
        assert as_("manager").post(address).status_code == status
        lesson.refresh_from_db()
        assert lesson.keep == ("heron-before" if status == 302 else "heron-after")
    unknown = reverse("lesson_edit_undo", args=[cast.student.key, lessons[2].key, uuid.uuid4()])
    assert as_("manager").post(unknown).status_code == 404


# --- The gate -------------------------------------------------------------------------------------


def test_who_may_do_a_thing_with_nobody_is_given_nobody(cast: Cast) -> None:
    """To log lessons is for coaches: nothing that a guardian, a student or a manager is lets them."""
    for actor, number in [("coach", 1), ("guardian", 0), ("student", 0), ("manager", 0)]:
        request: Any = SimpleNamespace(user=cast.user(actor), academy=cast.academy)
        assert gate.get_students(request, gate.Permission.LOG_LESSONS).count() == number, actor


def test_a_duplicate_that_was_merged_is_nowhere(cast: Cast, as_: Clients) -> None:
    duplicate = adult("Aster Twice", cast.coach)
    address = reverse("student", args=[duplicate.key])
    assert as_("coach").get(address).status_code == 200
    Student.objects.filter(pk=duplicate.pk).update(merged_into=cast.student)
    for actor in ("coach", "manager"):
        assert as_(actor).get(address).status_code == 404, actor


def test_the_list_of_students_names_coaches_and_pauses_of_today(cast: Cast, as_: Clients) -> None:
    today = academy_today()
    make_pause(cast.student, today - timedelta(days=9), today - timedelta(days=1), "exams")
    make_pause(cast.student, today + timedelta(days=1), reason="winter")
    make_pause(cast.student, today, today)
    make_care(cast.other_coach, cast.student, role="cover", since=today + timedelta(days=1))
    page = as_("coach").get(reverse("students")).content.decode()
    assert "Bram Saltquill" in page and "Tam Heronquill" not in page and "Cai Meadowtwine" not in page
    assert "injury" in page and "exams" not in page and "winter" not in page


def test_what_the_models_hold_of_sides_and_areas(db: None) -> None:
    sides = {f"{area}_side": "left" for area in Area.values}
    assert sides_are_valid().check(sides) and covers_an_area().check(dict.fromkeys(Area.values, True))
    assert not covers_an_area().check(dict.fromkeys(Area.values, False))
    for name in sides:
        assert not sides_are_valid().check({**sides, name: "up"}), name


# --- Accounts -------------------------------------------------------------------------------------


def test_a_person_is_found_by_the_names_of_their_own_children(cast: Cast, as_: Clients) -> None:
    make_guardian("Nan Heronquill", cast.other_student)
    page = as_("manager").get(reverse("people"), {"q": cast.other_student.name})
    assert {person.name for person in page.context["people"]} == {"Nan Heronquill", cast.other_student.name}


def test_an_account_shows_its_own_changes_and_a_calendar_to_families(cast: Cast, as_: Clients) -> None:
    for person in (cast.coach.user, cast.guardian):
        person.sign_in_changes.create(what="password", at=timezone.now())
    for actor, changes, has_calendar in [("coach", 1, False), ("guardian", 1, True), ("manager", 0, False)]:
        page = as_(actor).get(reverse("account"))
        found = (len(page.context["changes"]), page.context["has_calendar"])
        assert found == (changes, has_calendar), actor
        assert all(change.user == cast.user(actor) for change in page.context["changes"])


def test_a_closed_account_loses_its_own_links_that_wait(cast: Cast) -> None:
    used, other = make_user("Wren Alderjay"), make_user("Rowan Mossgate")
    Invitation.issue(used, by=cast.manager, at=timezone.now())
    used.invitations.update(accepted_at=timezone.now())
    for person in (used, other):
        Invitation.issue(person, by=cast.manager, at=timezone.now())
    people.set_active(used, False)
    assert [row.accepted_at is None for row in used.invitations.all()] == [False]
    assert other.invitations.count() == 1


def test_a_new_invitation_ends_the_one_that_waits(cast: Cast) -> None:
    """One that has expired did so on its own day, and those of others go on."""
    own, other, now = make_user("Wren Alderjay"), make_user("Rowan Mossgate"), timezone.now()
    for person in (own, own, other):
        Invitation.issue(person, by=cast.manager, at=now)
    expired, waits, theirs = Invitation.objects.order_by("pk")
    Invitation.objects.filter(pk=expired.pk).update(expires_at=now - timedelta(days=3))
    Invitation.issue(own, by=cast.manager, at=now)
    assert list(Invitation.objects.order_by("pk").values_list("expires_at", flat=True)[:3]) == [
        now - timedelta(days=3),
        now,
        theirs.expires_at,
    ]
    assert waits.expires_at > now


def test_an_invitation_is_used_up_once_alone_and_in_time(cast: Cast) -> None:
    """Of two at the same moment the first alone chooses the password: the other one read the invitation before that."""
    persons = [make_user(name, email=f"{name}@example.org") for name in ("wren", "rowan")]
    links = [reverse("invitation", args=[Invitation.issue(one, by=cast.manager, at=timezone.now())]) for one in persons]
    read = [Invitation.objects.get(user=one) for one in persons]
    forms = [ChoosePasswordForm(one, CHOSEN) for one in persons]
    assert all(form.is_valid() for form in forms)
    assert Client().post(links[0], CHOSEN).status_code == 302
    assert list(Invitation.objects.filter(accepted_at=None)) == [read[1]]
    assert not people.accept(read[0], forms[0], timezone.now()), "it was used meanwhile"
    assert not people.accept(read[1], forms[1], read[1].expires_at), "it has expired meanwhile"
    assert Client().post(links[1], CHOSEN).status_code == 302
