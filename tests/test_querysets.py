"""Which rows belong to a question: each queryset with a row at every bound of it, and one just beside."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.conf import settings
from django.db import models

from coachbook.accounts.models import (
    Academy,
    Coach,
    Guardianship,
    Invitation,
    NewAddress,
    Pause,
    Student,
    User,
    pauses_and_guardians,
)
from coachbook.corrections.models import ApprovalNotice, ApprovalRequest, Correction
from coachbook.diary.models import Absence, Appointment
from coachbook.digests.models import Digest
from coachbook.loop.models import Sheet, valid_sheet_key
from coachbook.rights.models import ErasureRequest
from drills.models import Prescription, ScoredTest
from lessons.models import Fault, Focus, Lesson, Still, StillMeasure
from lessons.models.catalogue import load_skills
from tests.conftest import Cast
from tests.make import (
    make_care,
    make_design,
    make_fault,
    make_guardian,
    make_lesson,
    make_pause,
    make_prescription,
    make_skill,
    make_still,
    make_still_measure,
    make_student,
    make_test,
)

DAY = date(2026, 6, 10)
BEFORE, AFTER = DAY - timedelta(days=1), DAY + timedelta(days=1)
AT = datetime(2026, 6, 10, 9, tzinfo=UTC)
MOMENT = timedelta(microseconds=1)


def names(rows: Iterable[models.Model], column: str) -> set[Any]:
    """What tells the rows of one test apart."""
    return {getattr(row, column) for row in rows}


def test_a_guardian_is_one_until_the_first_day_on_which_it_no_longer_holds(cast: Cast) -> None:
    cast.student.guardianships.all().delete()
    for ended_on in (None, BEFORE, DAY, AFTER):
        guardian = make_guardian("", cast.student)
        Guardianship.objects.filter(guardian=guardian).update(ended_on=ended_on)
    assert names(Guardianship.objects.in_force(DAY), "ended_on") == {None, AFTER}


SPANS = [(BEFORE, BEFORE), (BEFORE, DAY), (DAY, DAY), (DAY, None), (DAY, AFTER), (AFTER, None), (AFTER, AFTER)]


def test_care_counts_on_its_first_and_its_last_day(cast: Cast) -> None:
    for since, until in SPANS:
        make_care(cast.other_coach, cast.student, role="cover", since=since, until=until)
    rows = cast.other_coach.cares.filter(student=cast.student)
    assert {(row.since, row.until) for row in rows.in_force(DAY)} == {*SPANS[1:5]}
    assert {(row.since, row.until) for row in rows.reaching(DAY)} == {*SPANS[1:]}


def test_a_pause_counts_on_its_first_and_its_last_day(cast: Cast) -> None:
    make_pause(cast.other_student, BEFORE, reason="winter")
    for since, until in SPANS:
        make_pause(cast.student, since, until)
    rows = cast.student.pauses
    assert {(row.since, row.until) for row in rows.in_force(DAY)} == {*SPANS[1:5]}
    assert {(row.since, row.until) for row in rows.between(DAY, AFTER)} == {*SPANS[1:]}
    assert {(row.since, row.until) for row in rows.between(BEFORE, DAY)} == {*SPANS[:5]}


def test_pauses_and_guardians_of_a_student_are_their_own_and_those_of_the_day(cast: Cast) -> None:
    make_pause(cast.other_student, BEFORE, reason="exams")
    make_guardian("Wren Ashknot", cast.other_student)
    assert pauses_and_guardians(cast.student, DAY) == ([], ["Maud Plumsilk"])
    for since, until in SPANS:
        make_pause(cast.student, since, until)
    pauses, guardians = pauses_and_guardians(cast.student, DAY)
    assert {(row.since, row.until, row.reason) for row in pauses} == {(*span, "injury") for span in SPANS[1:5]}
    assert guardians == ["Maud Plumsilk"], "a guardian is named once, however many pauses there are"
    Guardianship.objects.filter(guardian=cast.past_guardian).update(ended_on=AFTER)
    Guardianship.objects.filter(guardian=cast.guardian).update(ended_on=DAY)
    assert pauses_and_guardians(cast.student, DAY)[1] == ["Piers Yarrowpin"]
    cast.student.guardianships.all().delete()
    Pause.objects.filter(student=cast.student).delete()
    assert pauses_and_guardians(cast.student, DAY) == ([], [])


def test_a_name_is_found_by_all_its_words_in_any_order(cast: Cast) -> None:
    found = {words: names(Student.objects.named(words), "name") for words in ("quimble ALD", "alder petra", "  ")}
    everybody = {"Alder Quimble", "Petra Sallowpipit"}
    assert found == {"quimble ALD": {"Alder Quimble"}, "alder petra": set(), "  ": everybody}
    assert names(Student.objects.named("a " * 120), "name") == everybody
    assert not Student.objects.named("a " * 121), "no name has so many words"


def test_who_was_merged_and_whose_account_is_closed_are_left_out(cast: Cast) -> None:
    make_student(merged_into=cast.student)
    assert names(Student.objects.present(), "pk") == {cast.student.pk, cast.other_student.pk}
    cast.past_coach.user.is_active = False
    cast.past_coach.user.save()
    assert names(Coach.objects.teaching(), "pk") == names(Coach.objects.exclude(pk=cast.past_coach.pk), "pk")


def test_an_invitation_is_used_once_in_time_and_by_its_own_token(cast: Cast) -> None:
    """A newer one takes the place of the older one, of the same person alone."""
    ends = AT + timedelta(days=settings.INVITATION_DAYS)
    other = Invitation.issue(cast.guardian, by=cast.manager, at=AT)
    used = Invitation.issue(cast.closed, by=cast.manager, at=AT)
    Invitation.objects.filter(user=cast.closed).update(accepted_at=AT)
    old = Invitation.issue(cast.closed, by=cast.manager, at=AT)
    token = Invitation.issue(cast.closed, by=cast.manager, at=AT + MOMENT)
    later = AT + MOMENT
    assert Invitation.objects.usable(token, later).get().user == cast.closed
    assert Invitation.objects.usable(other, later).get().user == cast.guardian
    assert not any(Invitation.objects.usable(word, later) for word in (used, old, "another"))
    assert Invitation.objects.get(accepted_at=AT).expires_at == ends, "what was used stays as it was"
    assert Invitation.objects.usable(other, ends - MOMENT) and not Invitation.objects.usable(other, ends)
    Invitation.record_shown(token, cast.coach.user)
    assert [row.user for row in Invitation.objects.filter(shown_to=cast.coach.user)] == [cast.closed]
    assert not Invitation.objects.usable(Invitation.issue(cast.closed, by=cast.manager, at=AT), ends)


def test_a_new_address_waits_for_a_day(cast: Cast) -> None:
    NewAddress.issue(cast.guardian, "maud@example.org", AT)
    for at, waits in ((AT, True), (AT + timedelta(days=1) - MOMENT, True), (AT + timedelta(days=1), False)):
        assert NewAddress.objects.waiting(at).exists() == waits


@pytest.fixture
def asked(cast: Cast) -> dict[str, ApprovalRequest]:
    """Requests about two students in each of the ways in which one can concern somebody."""

    def ask(**values: Any) -> ApprovalRequest:
        return ApprovalRequest.objects.create(**{"asked_by": cast.coach.user, "asked_at": AT, "kind": "age", **values})

    return {
        "student": ask(student=cast.student, takes_effect_at=AT),
        "other": ask(student=cast.other_student, other_student=cast.student, kind="merge", takes_effect_at=AT + MOMENT),
        "account": ask(person=cast.student.user, kind="access", asked_by=cast.manager),
        "decided": ask(student=cast.other_student, outcome="refused", decided_at=AT, takes_effect_at=AT),
    }


def of(asked: dict[str, ApprovalRequest], rows: Iterable[ApprovalRequest]) -> set[str]:
    by_row = {row.pk: name for name, row in asked.items()}
    return {by_row[row.pk] for row in rows}


def test_a_request_waits_until_it_is_decided_and_is_due_at_its_moment(asked: dict[str, ApprovalRequest]) -> None:
    assert of(asked, ApprovalRequest.objects.waiting()) == {"student", "other", "account"}
    for at in (AT - MOMENT, AT, AT + MOMENT):
        due = of(asked, ApprovalRequest.objects.due(at))
        assert due == {"student", "other", "account"} & {name for name, row in asked.items() if row.is_due(at)}
        assert due == {name for name, day in {"student": AT, "other": AT + MOMENT}.items() if day <= at}
    made = {outcome: ApprovalRequest(outcome=outcome).is_made for outcome in ApprovalRequest.Outcome.values}
    assert {outcome for outcome, is_made in made.items() if is_made} == {"approved", "elapsed"}
    assert [ApprovalRequest(outcome=outcome).is_waiting for outcome in ("", "stale")] == [True, False]


def test_a_request_concerns_a_student_as_one_of_two_or_by_their_account(
    asked: dict[str, ApprovalRequest], cast: Cast
) -> None:
    assert of(asked, ApprovalRequest.objects.about(cast.student)) == {"student", "other", "account"}
    assert of(asked, ApprovalRequest.objects.about(cast.other_student)) == {"other", "decided"}


def test_a_request_is_read_by_managers_by_who_asked_and_by_who_was_notified(
    asked: dict[str, ApprovalRequest], cast: Cast
) -> None:
    ApprovalNotice.objects.create(request=asked["account"], person=cast.guardian)
    read = {person: of(asked, ApprovalRequest.objects.readable_by(person)) for person in (cast.manager, cast.guardian)}
    assert read == {cast.manager: {*asked}, cast.guardian: {"account"}}
    assert of(asked, ApprovalRequest.objects.readable_by(cast.coach.user)) == {"student", "other", "decided"}
    assert not ApprovalRequest.objects.readable_by(cast.cover.user)


def test_a_correction_is_about_both_students_and_can_be_undone_for_thirty_days(cast: Cast) -> None:
    third = make_student()
    pairs = [(cast.student, None), (cast.other_student, cast.student), (third, None)]
    rows = [Correction.objects.create(student=a, other_student=b, by=cast.manager, at=AT, kind="age") for a, b in pairs]
    assert names(Correction.objects.about(cast.student), "pk") == {rows[0].pk, rows[1].pk}
    assert names(Correction.objects.about(third), "pk") == {rows[2].pk}
    last = AT + timedelta(days=30)
    assert [rows[0].may_be_undone(at) for at in (AT, last, last + MOMENT)] == [True, True, False]
    assert not Correction(at=AT, undone_at=AT).may_be_undone(AT)


def test_appointments_begin_from_the_first_moment_and_before_the_last(cast: Cast) -> None:
    hour = timedelta(hours=1)
    for at in (AT - MOMENT, AT, AT + hour, AT + hour - MOMENT):
        Appointment.objects.create(coach=cast.coach, starts_at=at, made_by=cast.manager)
    found = Appointment.objects.between(AT, AT + hour)
    assert [row.starts_at for row in found] == [AT, AT + hour - MOMENT]
    row = Appointment(starts_at=AT, minutes=45)
    assert row.ends_at == AT + timedelta(minutes=45)
    assert [row.has_begun(at) for at in (AT - MOMENT, AT)] == [False, True]
    Appointment.objects.filter(starts_at=AT).update(status="kept")
    assert AT not in names(Appointment.objects.planned(), "starts_at") and Appointment.objects.planned().count() == 3


def test_no_appointment_that_overlaps_a_time_is_missed_and_none_that_follows_is_met(cast: Cast) -> None:
    """The longest one lasts four hours."""
    longest, ends = timedelta(hours=4), AT + timedelta(minutes=30)
    for at in (AT - longest, AT - longest + MOMENT, AT, ends - MOMENT, ends):
        Appointment.objects.create(coach=cast.coach, starts_at=at, minutes=240, made_by=cast.manager)
    found = names(Appointment.objects.touching(AT, 30), "starts_at")
    assert found == {AT - longest + MOMENT, AT, ends - MOMENT}


def test_an_absence_includes_its_first_and_its_last_day(cast: Cast) -> None:
    spans = [(first, last) for first, last in SPANS if last]
    for first, last in spans:
        by = {"reported_by": cast.guardian, "withdrawn_at": AT if first == AFTER else None}
        Absence.objects.create(student=cast.student, first_day=first, last_day=last, **by)
    found = {(row.first_day, row.last_day) for row in Absence.objects.between(DAY, DAY)}
    assert found == {span for span in spans if span[1] >= DAY >= span[0]}
    assert found == {(row.first_day, row.last_day) for row in Absence.objects.all() if row.includes(DAY)}
    assert names(Absence.objects.standing(), "first_day") == {BEFORE, DAY}


def test_a_digest_is_tried_again_unless_it_was_sent_and_counts_once_it_was(cast: Cast) -> None:
    for number, state in enumerate(Digest.State.values):
        at = AT + timedelta(days=number)
        Digest.objects.create(person=cast.guardian, day=at.date(), at=at, state=state)
    Digest.objects.create(person=cast.guardian, day=BEFORE, at=AT - timedelta(days=1), state="sent")
    assert names(Digest.objects.kept(), "state") == {"failed", "refused"}
    sent = Digest.State.values.index("sent")
    assert Digest.objects.last_sent() == {cast.guardian.pk: AT + timedelta(days=sent)}


def done(student: Student, coach: Coach, **values: Any) -> Lesson:
    return make_lesson(student, coach, **{"status": "complete", "completed_at": AT, **values})


def test_a_sheet_is_of_a_finished_lesson_and_valid_until_it_is_voided(cast: Cast) -> None:
    lesson, draft = done(cast.student, cast.coach), make_lesson(cast.student, cast.coach)
    other, bare = done(cast.other_student, cast.other_coach), done(cast.student, cast.coach)
    old = Sheet.objects.create(lesson=lesson, content={}, voided_at=AT, void_reason="wrong")
    new, early, theirs = (Sheet.objects.create(lesson=row, content={}) for row in (lesson, draft, other))
    assert names(Sheet.objects.of(cast.student), "pk") == {old.pk, new.pk}
    assert names(Sheet.objects.valid(), "pk") == {new.pk, early.pk, theirs.pk}
    keys = dict(Lesson.objects.annotate(sheet=valid_sheet_key()).values_list("pk", "sheet"))
    assert keys == {lesson.pk: new.key, draft.pk: early.key, other.pk: theirs.key, bare.pk: None}


def test_an_erasure_is_due_on_its_day_once_a_second_person_agreed_where_one_is_needed(cast: Cast) -> None:
    """One that was called off is not; nor is that of a record which was merged into another one."""
    cases: dict[str, tuple[dict[str, Any], bool]] = {
        "today": ({}, True),
        "late": ({"due_on": BEFORE}, True),
        "early": ({"due_on": AFTER}, False),
        "alone": ({"needs_second": True}, False),
        "agreed": ({"needs_second": True, "agreed_at": AT}, True),
        "off": ({"called_off_at": AT, "called_off_by": cast.guardian}, False),
    }
    asked = {"asked_by": cast.manager, "asked_at": AT, "due_on": DAY}
    for name, (values, _) in cases.items():
        ErasureRequest.objects.create(**{"student": make_student(name), **asked, **values})
    merged = make_student("merged", merged_into=cast.student)
    ErasureRequest.objects.create(student=merged, **asked)
    assert {row.student.name for row in ErasureRequest.objects.due(DAY)} == {
        name for name, (_, is_due) in cases.items() if is_due
    }
    for row in ErasureRequest.objects.exclude(student=merged):
        assert row.is_due(DAY) == cases[row.student.name][1], row.student.name
        assert row.waits_for_second == (row.student.name == "alone")
    assert {row.student.name for row in ErasureRequest.objects.planned()} == {*cases, "merged"} - {"off"}


def test_a_drill_is_to_practise_from_its_first_day_until_it_is_replaced(cast: Cast) -> None:
    lesson, draft = done(cast.student, cast.coach), make_lesson(cast.student, cast.coach)
    cases = [(BEFORE, None), (DAY, None), (AFTER, None), (BEFORE, DAY), (BEFORE, AFTER), (BEFORE, BEFORE)]
    for row in (lesson, draft):
        for begins, ended_on in cases:
            about = {"what": "Feet together", "area": "putting", "slot": 1, "closed_in": draft}
            focus = Focus.objects.create(student=cast.student, opened_in=row, **about)
            make_prescription(row, focus, begins=begins, ended_on=ended_on)
    found = [(row.lesson, row.begins, row.ended_on) for row in Prescription.objects.in_force(DAY)]
    assert sorted(found, key=str) == sorted(
        [(lesson, BEFORE, None), (lesson, DAY, None), (lesson, BEFORE, AFTER)], key=str
    )


def test_a_test_counts_once_it_is_finished_unless_it_was_undone(cast: Cast) -> None:
    design = make_design()
    kept = {make_test(cast.student, design, day=day).pk: day for day in (BEFORE, DAY, AFTER)}
    for values in ({"done_at": None}, {"is_void": True}, {"done_at": None, "is_void": True}):
        make_test(cast.student, design, day=DAY, **values)
    assert names(ScoredTest.objects.done(), "pk") == {*kept}
    assert names(ScoredTest.objects.done().since(DAY), "day") == {DAY, AFTER}


def test_a_focus_is_agreed_once_its_lesson_is_finished_and_until_one_that_closes_it_is(cast: Cast) -> None:
    first, second = done(cast.student, cast.coach), done(cast.student, cast.coach)
    draft = make_lesson(cast.student, cast.coach)
    cases = {
        "open": (first, None),
        "closed": (first, second),
        "closed by a draft": (first, draft),
        "of a draft": (draft, None),
        "of a draft, closed": (draft, draft),
    }
    for number, (what, (opened_in, closed_in)) in enumerate(cases.items()):
        about = {"student": cast.student, "area": "putting", "slot": number % 4 // 3 + 1}
        Focus.objects.create(what=what, opened_in=opened_in, closed_in=closed_in, **about)
    assert names(Focus.objects.open(), "what") == {"open", "of a draft"}
    assert names(Focus.objects.agreed(), "what") == {"open", "closed by a draft"}
    assert names(Lesson.objects.complete(), "pk") == {first.pk, second.pk}


def test_a_still_is_shown_until_it_is_taken_away_and_its_measures_until_they_are(cast: Cast, media: Any) -> None:
    lesson = done(cast.student, cast.coach)
    one, other, away = (make_still(lesson) for _ in range(3))
    away.set_hidden(AT)
    assert names(Still.objects.shown(), "pk") == {one.pk, other.pk}
    assert names(Still.objects.taken_away(), "pk") == {away.pk}
    kept, voided, elsewhere = make_still_measure(one), make_still_measure(one), make_still_measure(away)
    StillMeasure.objects.filter(pk=voided.pk).update(voided_at=AT)
    assert names(StillMeasure.objects.standing(), "pk") == {kept.pk, elsewhere.pk}
    found = StillMeasure.objects.by_still([one, other])
    assert {still: names(rows, "pk") for still, rows in found.items()} == {one.pk: {kept.pk}, other.pk: set()}
    away.set_hidden(None)
    assert Still.objects.shown().count() == 3


def test_the_academy_is_the_row_that_is_stored_or_else_that_it_would_be(db: None) -> None:
    assert (Academy.current().pk, Academy.current().name) == (1, "Short-game academy")
    Academy.objects.create(pk=1, name="Sedge Hollow")
    assert Academy.current().name == "Sedge Hollow"


def test_a_library_that_ships_takes_over_the_skills_and_faults_that_it_says_it_was(db: None) -> None:
    old = make_skill("grip-of-before")
    gone, stays = make_fault(old, "apart-of-before"), make_fault(make_skill("stance"), "wide")
    texts = {"area": "putting", "phase": "setup", "name": "Grip", "look": "The hands.", "goal": "They touch."}
    fault = {"name": "Apart", "goal": "Together", "plain": "Let them touch.", "feel": "One hand."}
    fault |= {"code": "apart", "was": ["apart-of-before"]}
    load_skills([texts | {"code": "grip", "was": ["grip-of-before"], "fault": [fault]}])
    for row, code in ((old, "grip"), (gone, "apart")):
        row.refresh_from_db()
        assert row.archived and row.merged_into.code == code
    stays.refresh_from_db()
    assert not stays.archived and Fault.objects.get(code="apart").skill.code == "grip"


def test_everybody_is_listed_by_name(cast: Cast) -> None:
    listed = [user.name for user in User.objects.for_list()]
    assert listed == sorted(listed) and len(listed) == User.objects.count()
