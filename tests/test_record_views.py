"""That a manager read a junior's record leaves a row: who, when, what kind of page, and not what stood there."""

import logging
from collections.abc import Callable

import pytest
from django.db import DatabaseError, connection
from django.db.models import QuerySet
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import RecordView, Student, record_view, store_record_views
from tests.conftest import Cast
from tests.make import academy_today, make_care, make_coach, make_factor, make_manager, make_student
from tests.security.row import own_lesson, own_sheet
from tests.security.rows_groups import own_group

Clients = Callable[[str], Client]


def stored() -> set[tuple[str, str, str]]:
    return {(row.manager.name, row.student.name, row.page) for row in RecordView.objects.all()}


def test_a_manager_who_reads_a_juniors_page_leaves_one_row_a_day(cast: Cast, as_: Clients) -> None:
    for _ in range(3):
        assert as_("manager").get(reverse("student", args=[cast.student.key])).status_code == 200
    [row] = RecordView.objects.all()
    assert (row.manager, row.student, row.page, row.day) == (cast.manager, cast.student, "student", academy_today())
    as_("manager").get(reverse("messages", args=[cast.student.key]))
    assert RecordView.objects.count() == 2


def test_a_paper_and_the_sheets_of_a_group_are_named_as_what_they_are(cast: Cast, as_: Clients) -> None:
    as_("manager").get(reverse("sheet_pdf", args=own_sheet(cast)))
    as_("manager").get(reverse("group_sheets", args=own_group(cast)))
    who, whose = cast.manager.name, cast.student.name
    assert stored() >= {(who, whose, "sheet_pdf"), (who, whose, "group_sheets")}
    page = as_("coach").get(reverse("changes", args=[cast.student.key])).content.decode()
    assert f"{who}: read a sheet as a PDF" in page and f"{who}: read the sheets of a group" in page


def test_a_manager_who_reads_why_a_junior_needs_attention_leaves_a_row(cast: Cast, as_: Clients) -> None:
    make_care(cast.other_coach, make_student("Wren Ashknot", birth_year=1980))
    page = as_("manager").get(reverse("attention")).content.decode()
    assert cast.student.name in page and "Wren Ashknot" in page
    who = cast.manager.name
    assert stored() == {(who, name, "attention") for name in (cast.student.name, cast.other_student.name)}
    as_("coach").get(reverse("attention"))
    assert len(stored()) == 2, "a coach reads of their own students alone"


@pytest.mark.parametrize("actor", ["coach", "cover", "guardian", "student"])
def test_those_who_teach_or_belong_to_a_student_leave_none(actor: str, cast: Cast, as_: Clients) -> None:
    assert as_(actor).get(reverse("student", args=[cast.student.key])).status_code == 200
    assert not RecordView.objects.exists()


def test_a_manager_who_teaches_the_student_leaves_none(cast: Cast, as_: Clients) -> None:
    make_manager(cast.coach.user)
    assert as_("coach").get(reverse("student", args=[cast.student.key])).status_code == 200
    assert not RecordView.objects.exists()


def test_an_adults_record_leaves_none(cast: Cast, as_: Clients) -> None:
    Student.objects.filter(pk=cast.other_student.pk).update(birth_year=1980)
    assert as_("manager").get(reverse("student", args=[cast.other_student.key])).status_code == 200
    assert not RecordView.objects.exists()


def test_what_is_refused_or_not_there_was_not_read(cast: Cast, as_: Clients) -> None:
    assert as_("manager").get(reverse("lesson_new", args=[cast.student.key])).status_code == 403
    lesson = [cast.student.key, own_lesson(cast)[1]]
    assert as_("manager").get(reverse("sheet", args=lesson)).status_code == 404
    assert not RecordView.objects.exists()


def test_a_thread_that_is_shown_with_an_error_was_read_too(cast: Cast, as_: Clients) -> None:
    key = "12345678-1234-4234-8234-123456789012"
    assert as_("manager").post(reverse("message_write", args=[cast.student.key, key]), {"text": ""}).status_code == 422
    assert stored() == {(cast.manager.name, cast.student.name, "message_write")}


def test_who_reads_again_waits_for_nobody_who_writes(cast: Cast, as_: Clients) -> None:
    written = []
    for name in ("student", "consents", "student", "consents"):
        with CaptureQueriesContext(connection) as queries:
            as_("manager").get(reverse(name, args=[cast.student.key]))
        written.append(sum("accounts_recordview" in query["sql"] for query in queries))
    assert written == [1, 1, 0, 0]


def test_what_is_remembered_does_not_grow_for_ever_and_no_reading_is_lost(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(record_view, "stored_here", set())
    monkeypatch.setattr(record_view, "MOST_REMEMBERED", 3)
    pages = [f"page {number}" for number in range(12)]
    remembered = []
    for page in [*pages, *pages]:
        on = {"day": academy_today(), "at": timezone.now()}
        store_record_views(manager=cast.manager, students=[cast.student], page=page, **on)
        remembered.append(len(record_view.stored_here))
    assert max(remembered) == 3
    assert sorted(RecordView.objects.values_list("page", flat=True)) == sorted(pages)


def test_who_cannot_be_recorded_reads_all_the_same(
    cast: Cast, as_: Clients, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def full(*args: object, **kwargs: object) -> None:
        raise DatabaseError("database or disk is full: Alder Quimble")

    monkeypatch.setattr(QuerySet, "bulk_create", full)
    with caplog.at_level(logging.ERROR, logger="coachbook.accounts.models.record_view"):
        answer = as_("manager").get(reverse("student", args=[cast.student.key]))
    assert answer.status_code == 200 and cast.student.name in answer.content.decode()
    assert "could not be stored" in caplog.text and "Quimble" not in caplog.text


def test_a_coach_reads_on_the_page_of_changes_who_read_what(cast: Cast, as_: Clients) -> None:
    as_("manager").get(reverse("progress", args=[cast.student.key]))
    page = as_("coach").get(reverse("changes", args=[cast.student.key])).content.decode()
    assert "Odile Bramblewing: read the record" in page


def test_as_coach_of_another_student_a_manager_is_a_manager(cast: Cast, as_: Clients) -> None:
    other = make_coach("Hob Ryecrest", is_manager=True)
    make_factor(other.user)
    make_care(other, cast.other_student, role="cover")
    client = Client()
    client.force_login(other.user)
    client.get(reverse("student", args=[cast.student.key]))
    assert stored() == {("Hob Ryecrest", cast.student.name, "student")}
