"""The demo academy: as many people as were promised, nobody twice, and nothing of a person's own overwritten."""

import socket
from datetime import UTC, date, datetime
from io import StringIO

import pytest
import time_machine
from django.conf import settings
from django.core.management import CommandError, call_command
from django.test import Client
from django.utils import timezone

from coachbook.accounts.models import Care, Coach, Pause, Student, User
from coachbook.demo import people
from coachbook.diary.models import Appointment
from drills.models import Drill
from tests.make import academy_today

ON = date(2026, 6, 1)


def test_the_academy_has_its_people(db: None) -> None:
    people.fill(ON)
    students = Student.objects.all()
    assert Coach.objects.count() == 3 and User.objects.filter(is_manager=True).count() == 1
    assert len(students) == 24
    lefts = [student for student in students if student.putting_side == "left"]
    assert sum(student.chipping_side == "left" for student in lefts) == 2
    assert sum(student.chipping_side == "right" for student in lefts) == 1
    juniors = [student for student in students if student.is_junior(ON)]
    assert juniors and all(student.guardianships.exists() for student in juniors)
    assert all(student.cares.filter(role=Care.Role.MAIN).count() == 1 for student in students)


def test_every_promised_sign_in_works(db: None) -> None:
    people.fill(ON)
    assert all(Client().login(username=name, password=people.PASSWORD) for _, name in people.sign_ins())


def test_its_day_is_its_own_academys(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """Half past midnight in Dublin on 2 July is still 1 July in UTC."""
    days: list[date] = []
    monkeypatch.setattr("coachbook.management.commands.demo.fill", days.append)
    with time_machine.travel(datetime(2027, 7, 1, 23, 30, tzinfo=UTC)):
        call_command("demo", "--no-serve", stdout=StringIO())
    assert days == [date(2027, 7, 2)]


def test_running_it_again_changes_nothing_that_a_person_wrote(transactional_db: None) -> None:
    call_command("demo", "--no-serve", stdout=StringIO())
    student = Student.objects.get(name="Alder Quimble")
    student.putting_grip = "Written by a person"
    student.save()
    Student.objects.filter(name="Dilys Harrowbell").update(name="Dilys Mossknot")
    Drill.objects.filter(code="putting-ball-gate").update(name="Our own gate")
    before = Student.objects.count(), User.objects.count(), Drill.objects.count()
    call_command("demo", "--no-serve", stdout=StringIO())
    student.refresh_from_db()
    assert (
        student.putting_grip == "Written by a person" and not Student.objects.filter(name="Dilys Harrowbell").exists()
    )
    assert Drill.objects.get(code="putting-ball-gate").name == "Our own gate"
    assert (Student.objects.count(), User.objects.count(), Drill.objects.count()) == before


def test_it_prints_how_to_sign_in(transactional_db: None) -> None:
    said = StringIO()
    call_command("demo", "--no-serve", stdout=said)
    assert people.PASSWORD in said.getvalue() and "http://localhost:8000/" in said.getvalue()
    assert all(name in said.getvalue() for _, name in people.sign_ins())


def test_a_taken_port_is_said_in_one_line(db: None) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(
            CommandError, match=rf"^Port {port} cannot be had\. Type: python3 manage\.py demo --port \d+$"
        ):
            call_command("demo", "--port", port)


def test_known_passwords_never_reach_production(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(settings, "PRODUCTION", True)
    with pytest.raises(CommandError, match="unset ALLOWED_HOSTS"):
        call_command("demo", "--no-serve")


def test_every_coach_has_days_to_come_and_nobody_is_asked_for_twice(transactional_db: None) -> None:
    call_command("demo", "--no-serve", stdout=StringIO())
    rows = list(Appointment.objects.order_by("starts_at").prefetch_related("students"))
    assert {row.coach_id for row in rows} == set(Coach.objects.values_list("pk", flat=True))
    assert all(row.starts_at > timezone.now() for row in rows)
    begun = [(row.coach_id, row.starts_at) for row in rows]
    assert len(begun) == len(set(begun))
    asked = {student for row in rows for student in row.students.all()}
    assert not asked & {pause.student for pause in Pause.objects.in_force(academy_today())}
    call_command("demo", "--no-serve", stdout=StringIO())
    assert Appointment.objects.count() == len(rows)
