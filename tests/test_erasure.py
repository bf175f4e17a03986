"""Erasing a student: in two steps that both sides see, and afterwards no word of it is left in any byte."""

import os
import re
import subprocess
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.contrib.sessions.models import Session as WebSession
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Student, User
from coachbook.corrections.models import Correction
from coachbook.corrections.recorder import ChangeRecorder
from coachbook.rights.erasure.belongs import OWNED
from coachbook.rights.erasure.carry_out import erase_student, known_keys, repeat_erasures
from coachbook.rights.export.kinds import KINDS, LEFT_OUT
from coachbook.rights.models import GRACE, Erasure, ErasureRequest
from lessons.models import Lesson, Observation, Session
from tests.conftest import Cast
from tests.make import (
    academy_today,
    make_care,
    make_coach,
    make_design,
    make_drill,
    make_fault,
    make_lesson,
    make_look,
    make_manager,
    make_skill,
    make_student,
    this_time,
)
from tests.whole_record import make_whole_record, plant

Clients = Callable[[str], Client]
FURTHER = {
    "lessons.Session": "lessons__student",
    "groups.GroupDefaults": "session__lessons__student",
    "amends.Correction": "student",
}
PATHS = {kind.label: kind.path for kind in KINDS} | FURTHER


@pytest.fixture(autouse=True)
def folders(settings: Any, tmp_path: Path) -> None:
    settings.DATA_DIR, settings.EMAIL_FILE_PATH = tmp_path, tmp_path / "mail"
    settings.EMAIL_FILE_PATH.mkdir()


def address(name: str, student: Student) -> str:
    return reverse(name, args=[student.key])


def send(client: Client, name: str, student: Student, **data: str) -> Any:
    return client.post(address(name, student), data)


def ask(client: Client, student: Student) -> ErasureRequest:
    assert send(client, "erasure_ask", student, sure="on").url == address("erasure", student)
    return student.erasure_requests.latest("asked_at")


def let_pass(row: ErasureRequest) -> None:
    """As if the grace were over today."""
    ErasureRequest.objects.filter(pk=row.pk).update(due_on=academy_today())


# --- Structure ----------------------------------------------------------------------------------


def test_every_table_about_a_student_is_erased() -> None:
    derived = {"accounts.User", "lessons.Look"}
    assert {kind.label for kind in KINDS} | set(LEFT_OUT) == set(OWNED) - {"groups.GroupDefaults"} | {"accounts.User"}
    assert derived - {"accounts.User"} < set(OWNED)


def test_every_column_that_points_to_a_student_or_a_lesson_is_followed() -> None:
    about = {"Student", "Lesson", "Look", "Observation", "Focus", "Prescription", "ScoredTest", "PracticeEntry"}
    followed = {(label, column) for label, columns in OWNED.items() for column in columns}
    pointing = {
        (model._meta.label, field.name)
        for model in apps.get_models(include_auto_created=True)
        for field in model._meta.concrete_fields
        if field.is_relation and field.related_model.__name__ in about and "Historical" not in model.__name__
    }
    second_ways = {  # each of these rows has a student of its own, who is the same one
        ("lessons.Lesson", "shared_focus"), ("lessons.Focus", "opened_in"), ("lessons.Focus", "closed_in"),
        ("lessons.Outcome", "lesson"), ("lessons.Outcome", "before"), ("drills.Prescription", "lesson"),
        ("drills.Prescription", "focus"), ("drills.ScoredTest", "lesson"), ("family.Message", "answers"),
    }  # fmt: skip
    assert pointing - followed == second_ways


# --- Two steps ----------------------------------------------------------------------------------


def test_what_the_family_asks_is_due_after_the_grace_and_both_sides_see_it(cast: Cast, as_: Clients) -> None:
    row = ask(as_("guardian"), cast.student)
    assert row.due_on == academy_today() + GRACE and timedelta(days=30) == GRACE and not row.needs_second
    for actor in ("student", "guardian", "coach", "manager"):
        page = as_(actor).get(reverse("student", args=[cast.student.key])).content.decode()
        assert f"be erased, from {row.due_on:%-d %B %Y} on" in page, actor
        assert ("call it off" in page) == (actor in ("guardian", "manager")), actor
    assert "Alder Quimble" in as_("manager").get(reverse("long_gone")).content.decode()
    call_command("erase")
    assert Student.objects.filter(pk=cast.student.pk).exists()
    assert not row.is_due(row.due_on - timedelta(days=1)) and row.is_due(row.due_on)


def test_each_side_calls_it_off_and_nothing_is_erased(cast: Cast, as_: Clients) -> None:
    for asking, calling_off in (("guardian", "manager"), ("manager", "guardian")):
        row = ask(as_(asking), cast.student)
        let_pass(row)
        send(as_(calling_off), "erasure_call_off", cast.student)
        row.refresh_from_db()
        assert row.called_off_by == cast.user(calling_off)
        call_command("erase")
    assert Student.objects.filter(pk=cast.student.pk).exists() and not Erasure.objects.exists()
    assert "called off by Maud Plumsilk" in as_("manager").get(address("erasure", cast.student)).content.decode()


def test_asking_takes_a_tick_and_is_planned_once(cast: Cast, as_: Clients) -> None:
    answer = send(as_("guardian"), "erasure_ask", cast.student)
    assert answer.status_code == 422 and "Tick the box" in answer.content.decode()
    assert not ErasureRequest.objects.exists()
    ask(as_("guardian"), cast.student)
    ask(as_("manager"), cast.student)
    assert ErasureRequest.objects.get().asked_by == cast.guardian


def test_what_a_manager_asks_waits_for_a_second_person(cast: Cast, as_: Clients) -> None:
    row = ask(as_("manager"), cast.student)
    let_pass(row)
    assert row.needs_second and send(as_("manager"), "erasure_agree", cast.student).status_code == 403
    call_command("erase")
    assert send(as_("manager"), "erasure_carry_out", cast.student).status_code == 422
    assert Student.objects.filter(pk=cast.student.pk).exists()
    send(as_("guardian"), "erasure_agree", cast.student)
    row.refresh_from_db()
    assert row.agreed_by == cast.guardian
    call_command("erase")
    assert not Student.objects.filter(pk=cast.student.pk).exists()


def test_a_second_manager_agrees_unless_the_first_one_saw_the_link_to_the_account(cast: Cast, as_: Clients) -> None:
    alone = make_student("Al Oak", account=False)
    make_manager(cast.other_coach.user)
    User.objects.filter(pk=cast.other_coach.user.pk).update(link_seen_by=cast.manager)
    assert not ask(as_("manager"), alone).needs_second  # whoever could sign in as the other one is no second person
    User.objects.filter(pk=cast.other_coach.user.pk).update(link_seen_by=None)
    other = make_student("Bo Ash", account=False)
    assert ask(as_("manager"), other).needs_second
    send(as_("other_coach"), "erasure_agree", other)
    assert other.erasure_requests.get().agreed_by == cast.other_coach.user


def test_an_adult_asks_for_themselves_and_a_junior_does_not(cast: Cast, as_: Clients) -> None:
    assert send(as_("student"), "erasure_ask", cast.student, sure="on").status_code == 403
    Student.objects.filter(pk=cast.student.pk).update(birth_year=1980)
    assert ask(as_("student"), cast.student).asked_by == cast.student.user


def test_a_manager_carries_it_out_after_the_grace(cast: Cast, as_: Clients) -> None:
    row = ask(as_("guardian"), cast.student)
    assert send(as_("manager"), "erasure_carry_out", cast.student).status_code == 422
    let_pass(row)
    assert send(as_("guardian"), "erasure_carry_out", cast.student).status_code == 403
    page = as_("manager").get(address("erasure", cast.student)).content.decode()
    assert "Erase now" in page
    assert send(as_("manager"), "erasure_carry_out", cast.student).url == reverse("long_gone")
    assert as_("manager").get(address("erasure", cast.student)).status_code == 404


# --- What is left -------------------------------------------------------------------------------


@pytest.fixture
def planted(cast: Cast, as_: Clients, settings: Any) -> set[str]:
    """A whole record full of bitterns, with words that were overwritten or deleted; beside it that of another."""
    make_fault(make_skill())
    make_drill("putting-ball-gate")
    make_design()
    for student in (cast.student, cast.other_student):
        make_whole_record(student, cast.coach, cast.manager)
    plant("plover", PATHS, cast.other_student)
    first = plant("bittern", PATHS, cast.student)
    lesson = cast.student.lessons.latest("pk")
    for words in ("bitternoverwritten " * 400, "calm"):
        lesson.keep = words
        lesson.save()
    look = make_look(lesson, "departure")
    Observation.objects.create(look=look, skill=make_skill(), verdict="good", words="bitterndeleted")
    look.delete()
    as_("student").get("/")
    (settings.EMAIL_FILE_PATH / "1.log").write_text("To: bitternusername\n" + cast.student.name)
    Student.objects.create(name="bitternmerged", merged_into=cast.student)
    return first | {"bitternoverwritten", "bitterndeleted", "bitternmerged"}


def texts_in_tables() -> Iterator[tuple[str, str]]:
    """Every row of every table as a text."""
    for model in apps.get_models(include_auto_created=True):
        for row in model._base_manager.values_list():
            yield model._meta.label, repr(row)


@pytest.mark.history
def test_no_row_names_the_student_and_no_row_of_others_is_gone(planted: set[str], cast: Cast) -> None:
    cast.student.refresh_from_db()
    student, session_keys = cast.student, list(Session.objects.filter(lessons__student=cast.student).values_list("pk"))
    erase_student(student, timezone.now())
    found = [(label, text) for label, text in texts_in_tables() if "bittern" in text or student.key.hex in text]
    assert [label for label, text in found if "bittern" in text] == []
    assert {label for label, text in found} <= {"rights.Erasure"}
    plovers = {word for _, text in texts_in_tables() for word in re.findall(r"plover\w+", text)}
    assert len(plovers) > 30
    assert Session.objects.filter(pk__in=[pk for (pk,) in session_keys]).count() == len(session_keys)
    erasure = Erasure.objects.get(student_key=student.key)
    assert erasure.pk != student.key


@pytest.mark.history
def test_a_group_stays_with_the_others_in_it(cast: Cast) -> None:
    shared = make_lesson(cast.other_student, cast.coach, keep="plover")
    Session.objects.filter(pk=shared.session_id).update(name="The early group")
    Lesson.for_student(cast.student, shared.session).save()
    alone = make_lesson(cast.student, cast.coach)
    Session.objects.filter(pk=alone.session_id).update(place="bittern garden")
    erase_student(cast.student, timezone.now())
    shared.refresh_from_db()
    assert shared.session.name == "The early group" and shared.session.lessons.count() == 1
    assert Session.objects.get(pk=alone.session_id).place == "" and cast.coach.sessions.count() == 2


@pytest.mark.history
def test_what_was_corrected_away_from_the_student_stays_with_the_other(cast: Cast) -> None:
    lesson = make_lesson(cast.student, cast.coach, keep="logged under the wrong name")
    make_look(lesson)
    lesson.student = cast.other_student
    lesson.save()
    erase_student(cast.student, timezone.now())
    assert cast.other_student.lessons.get().looks.count() == 1
    assert cast.other_student.lessons.get().history.count() == 2


@pytest.mark.history
def test_of_two_who_were_merged_the_one_that_is_kept_is_erased_only_if_asked(cast: Cast) -> None:
    duplicate = make_student("Alder Twin", account=False)
    lesson = make_lesson(duplicate, cast.coach)
    now, today = timezone.now(), academy_today()
    ErasureRequest.objects.create(student=duplicate, asked_by=cast.manager, asked_at=now, due_on=today)
    lesson.student = cast.student
    lesson.save()
    duplicate.merged_into = cast.student
    duplicate.save()
    call_command("erase")
    assert cast.student.lessons.exists() and Student.objects.filter(pk=duplicate.pk).exists()
    erase_student(cast.student, timezone.now())
    assert not Student.objects.filter(pk=duplicate.pk).exists() and not Lesson.objects.exists()


def test_an_account_that_is_more_than_the_students_stays(cast: Cast) -> None:
    coach = make_coach("Una Briarwell")
    student = make_student("Una Briarwell two", account=False)
    student.user = coach.user
    student.save()
    erase_student(student, timezone.now())
    assert User.objects.get(pk=coach.user.pk).is_active


def test_an_account_to_which_others_point_stays_without_a_name(cast: Cast) -> None:
    student = make_student("Alder Twin")
    User.objects.filter(pk=cast.guardian.pk).update(link_seen_by=student.user)
    erase_student(student, timezone.now())
    left = User.objects.get(pk=student.user.pk)
    assert (left.name, left.email, left.is_active) == ("Erased account", "", False)
    assert not left.has_usable_password() and "alder" not in left.username


@pytest.mark.history
@pytest.mark.both_databases
def test_no_byte_of_the_database_names_the_student(
    planted: set[str], transactional_db: None, cast: Cast, as_: Clients, settings: Any
) -> None:
    before = bytes_of_the_database()
    assert [word for word in sorted(planted) if word.encode() not in before] == []
    let_pass(ErasureRequest.objects.get(student=cast.student))
    sessions = WebSession.objects.count()
    call_command("erase")
    after = bytes_of_the_database()
    assert b"bittern" not in after and b"ploverlessonkeep" in after
    assert list(settings.EMAIL_FILE_PATH.iterdir()) == [] and WebSession.objects.count() == sessions - 1
    assert known_keys() == {*Erasure.objects.values_list("student_key", flat=True)} and len(known_keys()) == 2
    kept = "".join(path.read_text() for path in settings.DATA_DIR.glob("*.txt"))
    assert str(cast.student.key) in kept and "bittern" not in kept


def bytes_of_the_database() -> bytes:
    """The file with its write-ahead log; on PostgreSQL a dump."""
    if connection.vendor == "sqlite":
        name = Path(connection.settings_dict["NAME"])
        return b"".join(path.read_bytes() for path in name.parent.glob(f"{name.name}*"))
    at = connection.settings_dict
    given = {"PGHOST": at["HOST"], "PGUSER": at["USER"], "PGPORT": str(at["PORT"]), "PGPASSWORD": at["PASSWORD"]}
    env = {**os.environ, **{name: value for name, value in given.items() if value}}
    return subprocess.run(["pg_dump", at["NAME"]], env=env, capture_output=True, check=True).stdout


def test_a_restore_repeats_what_was_erased_since_the_backup(cast: Cast) -> None:
    gone, stays = make_student("Al Oak", account=False), make_student("Bo Ash", account=False)
    erase_student(gone, timezone.now())
    Erasure.objects.all().delete()  # the backup is older than the erasure
    back = Student.objects.create(name="Al Oak", key=gone.key)
    make_lesson(back, cast.coach)
    assert repeat_erasures([gone.key]) == 1 and repeat_erasures([gone.key]) == 0
    assert not Student.objects.filter(name="Al Oak").exists() and Student.objects.filter(pk=stays.pk).exists()
    assert not Lesson.objects.exists() and Erasure.objects.get().student_key == gone.key


def test_an_erasure_that_fails_erases_nothing(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    make_lesson(cast.student, cast.coach)
    monkeypatch.setattr("coachbook.rights.erasure.carry_out.delete_accounts", broken)
    with pytest.raises(OSError, match="disk"):
        erase_student(cast.student, timezone.now())
    assert Student.objects.filter(pk=cast.student.pk).exists() and Lesson.objects.count() == 1
    assert not known_keys()


def broken(*args: object) -> None:
    raise OSError("the disk is full")


# --- Long gone ----------------------------------------------------------------------------------


def test_long_gone_is_who_had_no_lesson_for_so_many_years(cast: Cast, as_: Clients) -> None:
    Academy.objects.update(keep_years=2)
    for name, days in (("Long Gone", 800), ("Here Still", 700)):
        lesson = make_lesson(make_student(name, account=False), cast.coach)
        Session.objects.filter(pk=lesson.session_id).update(starts_at=this_time(days_ago=days))
    page = as_("manager").get(reverse("long_gone")).content.decode()
    assert "Long Gone" in page and "Here Still" not in page and "without a lesson for 2 years" in " ".join(page.split())
    assert "Alder Quimble" in page  # no lesson, and here since 2020


def test_the_pages_ask_the_database_twelve_times_at_most(cast: Cast, as_: Clients) -> None:
    ask(as_("manager"), cast.student)
    for number in range(30):
        make_student(f"Gone {number}", coach=cast.coach, account=False)
    client = as_("manager")
    make_design(), make_drill("putting-ball-gate"), make_fault(make_skill())
    ErasureRequest.objects.all().delete()
    make_whole_record(cast.student, cast.coach, cast.manager)
    for path in (reverse("long_gone"), address("erasure", cast.student), address("student", cast.student)):
        client.get(path)
        with CaptureQueriesContext(connection) as captured:
            assert client.get(path).status_code == 200
        assert len(captured) <= 12, path


def test_a_caseload_that_was_handed_over_keeps_nothing_of_the_student(cast: Cast) -> None:
    """Care that begins on the day of a hand-over is deleted by it, and kept in the correction with its note."""
    mine, others = (
        make_care(cast.past_coach, each, note="bittern", role="cover") for each in (cast.student, cast.other_student)
    )
    recorder = ChangeRecorder(cast.manager)
    recorder.compare([mine, others], [])
    about = {
        "person": cast.coach.user,
        "by": cast.manager,
        "at": timezone.now(),
        "summary": "The caseload was handed over",
    }
    correction = Correction.objects.create(kind=Correction.Kind.CARE, changes=recorder.entries, **about)
    mine.delete()
    erase_student(cast.student, timezone.now())
    correction.refresh_from_db()
    assert [entry["pk"] for entry in correction.changes] == [others.pk]
