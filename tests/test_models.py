"""Every row says what it is, for people who read a log or a shell: no row is an "object (1)"."""

from datetime import UTC, date, datetime

from django.apps import apps
from django.db import connection, models

from coachbook.accounts.models import Consent, Invitation, NewAddress, Pause, RecordView, SignInChange, User
from coachbook.accounts.models.cache_entry import CacheEntry
from coachbook.caseload.models import AttentionRule, Snooze
from coachbook.corrections.models import ApprovalNotice, ApprovalRequest, Correction
from coachbook.diary.models import Absence, Appointment, CalendarFeed, FamilyFeed, Rearrangement, Series
from coachbook.digests.models import Digest, DigestConsent
from coachbook.family.models import Message, ThreadReading
from coachbook.groups.models import GroupDefaults, GroupMember
from coachbook.loop.models import Sheet
from coachbook.outbox.models import Receipt
from coachbook.rights.models import AcademyFile, Erasure, ErasureRequest
from drills.models import (
    Ball,
    Design,
    Drill,
    Fit,
    PracticeDays,
    PracticeEntry,
    Prescription,
    Round,
    ScoredTest,
    UsualDrill,
)
from lessons.models import (
    Alignment,
    Checkpoint,
    Fault,
    Focus,
    FocusView,
    Lesson,
    Look,
    MonthCount,
    Observation,
    Outcome,
    Phrase,
    ReferenceStill,
    SeenFault,
    SeenFocus,
    Session,
    Skill,
    Still,
)
from tests.conftest import Cast

AT = datetime(2026, 6, 1, 10, 30, tzinfo=UTC)
OURS = ("coachbook.", "lessons", "drills")


def test_every_model_says_what_a_row_is() -> None:
    """Of rows that history keeps, the library does."""
    silent = [
        model.__name__
        for config in apps.get_app_configs()
        if config.name.startswith(OURS)
        for model in config.get_models()
        if model.__str__ is models.Model.__str__ and not model.__name__.startswith("Historical")
    ]
    assert silent == []


def test_people_and_what_joins_them(cast: Cast) -> None:
    day = date(2027, 3, 22)
    at = datetime(2027, 3, 22, 9, tzinfo=UTC)
    assert [
        str(row)
        for row in (
            DigestConsent(kind="sheets", person=cast.manager),
            Digest(day=day),
            ErasureRequest(due_on=day),
            Erasure(erased_at=at),
            AcademyFile(at=at),
        )
    ] == [
        "new practice sheets for Odile Bramblewing",
        "digest of 2027-03-22",
        "erasure from 2027-03-22",
        "erasure of 2027-03-22",
        "the academy as a file, 2027-03-22",
    ]
    assert [str(row) for row in (cast.academy, cast.manager, cast.coach, cast.student)] == [
        "Sedge Hollow",
        "Odile Bramblewing",
        "Ida Fernkettle",
        "Alder Quimble",
    ]
    cast.manager.name = ""
    assert str(cast.manager) == "odile.bramblewing"
    assert str(cast.student.guardianships.get(guardian=cast.guardian)) == "Maud Plumsilk for Alder Quimble"
    assert str(cast.student.cares.get(coach=cast.cover)) == "Bram Saltquill (cover) for Alder Quimble"


def test_a_lesson_and_what_it_holds(cast: Cast) -> None:
    session = Session(coach=cast.coach, starts_at=AT, kind=Session.Kind.LESSON)
    skill = Skill(name="Grip")
    fault = Fault(name="Hands apart", skill=skill)
    observation = Observation(skill=skill, verdict="good")
    rows = [
        (session, "lesson on 2026-06-01"),
        (Lesson(student=cast.student, session=session), "Alder Quimble, lesson on 2026-06-01"),
        (Look(kind="arrival"), "arrival look"),
        (observation, f"Grip: {observation.get_verdict_display()}"),
        (SeenFault(fault=fault, degree="slight"), "Hands apart, Slight"),
        (Focus(fault=fault), "Hands apart"),
        (Focus(what="Feet together", fault=None), "Feet together"),
        (Sheet(issued_at=AT), "sheet of 2026-06-01"),
    ]
    assert [str(row) for row, _ in rows] == [words for _, words in rows]


def test_practice_and_tests(cast: Cast) -> None:
    given = Prescription(drill=Drill(name="Ball gate"), student=cast.student, unit="minutes")
    day = date(2026, 6, 1)
    rows = [
        (given, "Ball gate for Alder Quimble"),
        (PracticeEntry(prescription=given, day=day, amount=10), "10 minutes on 2026-06-01"),
        (ScoredTest(design=Design(name="Pace ladder"), day=day), "Pace ladder on 2026-06-01"),
        (Ball(number=3, result="missed"), "3: missed"),
        (Round(putts=31, day=day), "31 putts on 2026-06-01"),
    ]
    assert [str(row) for row, _ in rows] == [words for _, words in rows]


def test_appointments_messages_corrections_and_readings(cast: Cast) -> None:
    rows = [
        (Appointment(starts_at=AT), "appointment at 2026-06-01 10:30"),
        (CalendarFeed(coach=cast.coach), "calendar of Ida Fernkettle"),
        (FamilyFeed(person=cast.guardian), "calendar of Maud Plumsilk"),
        (Series(rule="FREQ=WEEKLY"), "FREQ=WEEKLY"),
        (Message(written_at=AT), "message of 2026-06-01"),
        (Correction(summary="Lesson moved"), "Lesson moved"),
        (RecordView(page="sheet_pdf", day=date(2026, 6, 1)), "sheet_pdf on 2026-06-01"),
    ]
    assert [str(row) for row, _ in rows] == [words for _, words in rows]


def test_the_rest_of_the_rows(cast: Cast) -> None:
    day, skill, drill = date(2026, 6, 1), Skill(name="Grip"), Drill(name="Ball gate")
    fault, focus = Fault(name="Hands apart", skill=skill), Focus(what="Feet together")
    lesson = Lesson(student=cast.student, session=Session(starts_at=AT, kind="group"))
    about = {"checkpoint": Checkpoint(name="Address"), "view": "face_on"}
    arrival, departure = (Still(moment=moment, **about) for moment in ("arrival", "departure"))
    rows: list[tuple[models.Model, str]] = [
        (Consent(student=cast.student, purpose="photos"), "taking pictures for Alder Quimble"),
        (Invitation(user=cast.guardian), "invitation for Maud Plumsilk"),
        (NewAddress(user=cast.guardian), "new address of Maud Plumsilk"),
        (Pause(student=cast.student, reason="exams"), "Alder Quimble, exams"),
        (SignInChange(what="password"), "Your password was changed"),
        (CacheEntry(cache_key="one"), "one"),
        (AttentionRule(kind="lost", number=2), "lost: 2"),
        (Snooze(kind="lost", until=day), "lost until 2026-06-01"),
        (ApprovalRequest(kind="merge"), "merge of a duplicate"),
        (ApprovalNotice(person=cast.guardian), "notice to Maud Plumsilk"),
        (Absence(first_day=day), "absence from 2026-06-01"),
        (Rearrangement(reason="close", changes=[{}, {}]), "2 appointments, an account closed"),
        (ThreadReading(last_message=4, last_note=2), "read to message 4, note 2"),
        (GroupDefaults(session=lesson.session), "the same for everyone in group on 2026-06-01"),
        (GroupMember(lesson=lesson), "choices for Alder Quimble, group on 2026-06-01"),
        (Receipt(at=AT), "receipt of 2026-06-01"),
        (Fit(drill=drill, fault=fault), "Ball gate: Hands apart"),
        (UsualDrill(drill=drill, fault=fault), "Ball gate for Hands apart"),
        (PracticeDays(student=cast.student), "practice days of Alder Quimble"),
        (Phrase(words="thumbs off"), "thumbs off"),
        (Outcome(fault=fault, verdict="held"), "Hands apart: held"),
        (MonthCount(fault=fault, month=day), "Hands apart in 2026-06"),
        (SeenFocus(focus=focus, degree="slight"), "Feet together, Slight"),
        (Checkpoint(name="Address"), "Address"),
        (arrival, "Address, face-on, on arrival"),
        (Still(moment="arrival", caption="Low hands", **about), "Address, face-on, on arrival: Low hands"),
        (Alignment(arrival=arrival, departure=departure), f"{arrival} beside {departure}"),
        (FocusView(focus=focus, **about), "Feet together: Address, face-on"),
        (ReferenceStill(club="putter", **about), "Address, face-on, putter: how it should look"),
        (ReferenceStill(**about), "Address, face-on: how it should look"),
    ]
    assert [str(row) for row, _ in rows] == [words for _, words in rows]
    assert arrival.words_for(plain=True) == "Address, seen from the front, on arrival"


def test_rows_without_an_order_come_last_first(db: None) -> None:
    """What shows them in the order in which they were made would fail on PostgreSQL only now and then."""
    User.objects.bulk_create([User(username=name, name="A") for name in ("one", "two", "three")])
    names = [*User.objects.values_list("name", "username")]
    assert connection.vendor != "sqlite" or [name for _, name in names] == ["three", "two", "one"]
