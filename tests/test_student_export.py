"""Everything about one student as a file: all that its reader may read, and nothing of anybody else."""

import io
import json
import zipfile
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.apps import apps
from django.db import connection, models
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, RecordView, Student, User
from coachbook.rights.export.kinds import KINDS, LEFT_OUT
from lessons.models import Lesson
from tests.conftest import Cast
from tests.make import make_design, make_drill, make_fault, make_lesson, make_skill
from tests.whole_record import canary, make_whole_record, plant, typed_fields

Clients = Callable[[str], Client]
# Columns that no file holds, with the reason; columns of rows (keys, numbers of rows) need none.
COLUMNS_LEFT_OUT = {
    ("accounts.User", "password"): "a hash that opens the account",
    ("accounts.User", "is_superuser"): "not used",
    ("accounts.User", "is_staff"): "not used",
    ("accounts.User", "is_manager"): "about their work at the academy, not about the student",
    ("accounts.User", "sessions_ended_at"): "guards the sessions",
    ("accounts.User", "large_text"): "how large they read pages",
    ("accounts.SignInChange", "shown_at"): "when a notice was shown",
    ("accounts.RecordView", "at"): "the day stands there",
    ("diary.Appointment", "changed_at"): "for calendars",
    ("diary.Appointment", "sequence"): "for calendars",
    ("lessons.Lesson", "completed_at"): "when the log was finished; when the lesson was stands there",
    ("lessons.Lesson", "version"): "guards against two pages that save at once",
    ("lessons.Lesson", "page"): "the same",
    ("lessons.Lesson", "page_count"): "the same",
    ("lessons.Lesson", "unsaved"): "what could not be saved yet",
    **{("lessons.Still", name): "of its file, which is in the folder of pictures"
       for name in ("name", "width", "height", "bytes")},
    ("lessons.Focus", "slot"): "which of three places it takes",
    ("rights.ErasureRequest", "needs_second"): "how it was asked for",
    **{("lessons.Lesson", f"{area}{suffix}"): "those of the student, as they were then"
       for area in ("putting", "chipping", "pitching", "bunker") for suffix in ("", "_side")},
}  # fmt: skip
# What stands in the record and the family does not read on any page.
NOT_FOR_FAMILY = {
    "accounts.Care.note",
    "caseload.Snooze.why",
    "lessons.Focus.reason",
    "lessons.Observation.measure_words",
}


def with_a_way_to_a_student() -> Iterator[str]:
    """Every table with a path of foreign keys to a student, or to the account of one; histories aside."""
    reached: set[Any] = {Student, User}
    found: set[Any] = {Student, User}
    skipped = {"lessons.Session", "groups.GroupDefaults", "diary.Series"}
    while reached:
        pointing = {
            model
            for model in apps.get_models(include_auto_created=True)
            for field in model._meta.concrete_fields
            if field.is_relation and field.related_model in reached and is_about(field)
        }
        reached = {model for model in pointing if not model.__name__.startswith("Historical")} - found
        found |= reached
    return (model._meta.label for model in found if model._meta.label not in skipped)


def is_about(field: Any) -> bool:
    """Whether a foreign key says whom a row is about; to an account most say who made the row."""
    if field.related_model is User:
        return field.name in ("user", "person", "reader") and field.model.__name__ != "Coach"
    return not (field.related_model._meta.label == "diary.Appointment" and field.name != "appointment")


def test_every_table_about_a_student_is_in_the_file_or_left_out_for_a_reason() -> None:
    exported = {kind.label for kind in KINDS}
    appointments = {"diary.Appointment"}  # reached by the table of who comes
    assert set(with_a_way_to_a_student()) | appointments == exported | set(LEFT_OUT)
    assert not exported & set(LEFT_OUT) and all(LEFT_OUT.values())


def test_every_column_is_in_the_file_or_left_out_for_a_reason() -> None:
    stored = {
        (kind.label, field.name)
        for kind in KINDS
        for field in kind.model._meta.concrete_fields
        if not field.is_relation and field.name not in ("id", "key") and not isinstance(field, models.AutoField)
    }
    exported = {(kind.label, name) for kind in KINDS for name in kind.columns}
    assert stored - exported == set(COLUMNS_LEFT_OUT) and all(COLUMNS_LEFT_OUT.values())


PATHS = {kind.label: kind.path for kind in KINDS}


@pytest.fixture
def birds(cast: Cast) -> set[str]:
    """Two whole records: herons in the one of the student, plovers in that of another; returns the herons."""
    make_fault(make_skill())
    make_drill("putting-ball-gate")
    make_design()
    for student in (cast.student, cast.other_student):
        make_whole_record(student, cast.coach, cast.manager)
    plant("plover", PATHS, cast.other_student)
    return plant("heron", PATHS, cast.student)


def export(client: Client, student: Student) -> HttpResponse:
    return client.post(reverse("student_export", args=[student.key]))


def unpack(answer: HttpResponse) -> dict[str, str]:
    with zipfile.ZipFile(io.BytesIO(answer.content)) as packed:
        assert packed.testzip() is None
        return {
            name: packed.read(name).decode("utf-8-sig")
            for name in packed.namelist()
            if not name.startswith("pictures/")
        }


def test_a_manager_gets_everything_and_nothing_of_anybody_else(birds: set[str], cast: Cast, as_: Clients) -> None:
    answer = export(as_("manager"), cast.student)
    files = unpack(answer)
    assert answer.headers["Content-Disposition"].startswith('attachment; filename="record-')
    tables = " ".join(text for name, text in files.items() if name.startswith("tables/"))
    assert len(birds) > 30
    for text in (files["record.json"], files["read-me-first.html"], tables):
        assert [word for word in sorted(birds) if word not in text] == []
        assert "plover" not in text and cast.other_student.name not in text
    assert set(json.loads(files["record.json"])["kinds"]) == {kind.name for kind in KINDS}
    assert {f"tables/{kind.name}.csv" for kind in KINDS} < set(files)


@pytest.mark.parametrize("actor", ["student", "guardian"])
def test_the_family_gets_what_it_reads_on_its_pages(actor: str, birds: set[str], cast: Cast, as_: Clients) -> None:
    Lesson.objects.filter(student=cast.student).update(note_reader="student")
    everything = " ".join(unpack(export(as_(actor), cast.student)).values())
    labels = {
        f"{kind.label}.{field.name}": canary("heron", field) for kind in KINDS for field in typed_fields(kind.model)
    }
    assert set(labels) >= NOT_FOR_FAMILY
    missing = {label for label, word in labels.items() if word in birds and word not in everything}
    assert missing == NOT_FOR_FAMILY and "plover" not in everything and "heronsheetcontent" in everything


def test_notes_for_coaches_and_drafts_are_in_no_file_of_the_family(birds: set[str], cast: Cast, as_: Clients) -> None:
    make_lesson(cast.student, cast.coach, days_ago=1, keep="unfinished-heron")
    for reader in ("coach", "academy"):
        Lesson.objects.filter(student=cast.student).update(note_reader=reader)
        everything = " ".join(unpack(export(as_("guardian"), cast.student)).values())
        assert "heronlessonnote" not in everything and "unfinished-heron" not in everything
    everything = " ".join(unpack(export(as_("manager"), cast.student)).values())
    assert "heronlessonnote" in everything and "unfinished-heron" in everything


def test_a_cell_is_no_formula_and_a_page_no_script(cast: Cast, as_: Clients) -> None:
    Student.objects.filter(pk=cast.student.pk).update(goal="=1+1", limits="<script>alert(1)</script>")
    files = unpack(export(as_("guardian"), cast.student))
    assert ",'=1+1," in files["tables/student.csv"] and '"=1+1"' in files["record.json"]
    assert "&lt;script&gt;" in files["read-me-first.html"] and "<script" not in files["read-me-first.html"]
    assert "://" not in files["read-me-first.html"]  # it needs no network


def test_a_manager_who_saves_the_record_of_a_junior_leaves_a_row(cast: Cast, as_: Clients) -> None:
    export(as_("guardian"), cast.student)
    assert not RecordView.objects.exists()
    export(as_("manager"), cast.student)
    today = Academy.current().today(timezone.now())
    assert RecordView.objects.get(page="student_export", day=today).student == cast.student
    changes = as_("coach").get(reverse("changes", args=[cast.student.key])).content.decode()
    assert "Odile Bramblewing" in changes and "read everything, as a file" in changes


def test_more_lessons_ask_the_database_no_more_often(birds: set[str], cast: Cast, as_: Clients) -> None:
    client = as_("student")
    export(client, cast.student)
    asked = []
    for days in range(2, 40, 20):
        make_lesson(cast.student, cast.coach, days_ago=days, status="complete", completed_at=timezone.now())
        with CaptureQueriesContext(connection) as captured:
            assert export(client, cast.student).status_code == 200
        asked.append(len(captured))
    assert asked[0] == asked[1] < len(KINDS) + 12
    with CaptureQueriesContext(connection) as captured:
        assert client.get(reverse("student_export", args=[cast.student.key])).status_code == 200
    assert len(captured) <= 12
