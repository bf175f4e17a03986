"""Every row says what it is, for people who read a log or a shell: no row is an "object (1)"."""

from datetime import UTC, date, datetime

from django.apps import apps
from django.db import connection, models

from coachbook.accounts.models import RecordView, User
from coachbook.corrections.models import Correction
from coachbook.diary.models import Appointment, CalendarFeed, FamilyFeed, Series
from coachbook.digests.models import Digest, DigestConsent
from coachbook.family.models import Message
from coachbook.loop.models import Sheet
from coachbook.rights.models import AcademyFile, Erasure, ErasureRequest
from drills.models import Ball, Design, Drill, PracticeEntry, Prescription, Round, ScoredTest
from lessons.models import Fault, Focus, Lesson, Look, Observation, SeenFault, Session, Skill
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


def test_rows_without_an_order_come_last_first(db: None) -> None:
    """What shows them in the order in which they were made would fail on PostgreSQL only now and then."""
    User.objects.bulk_create([User(username=name, name="A") for name in ("one", "two", "three")])
    names = [*User.objects.values_list("name", "username")]
    assert connection.vendor != "sqlite" or [name for _, name in names] == ["three", "two", "one"]
