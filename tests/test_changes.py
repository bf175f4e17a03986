"""The page of changes: by whom, when, in plain words, and never the contents of another coach's note."""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.corrections.changes import changes_of
from coachbook.loop.sheets.issue import issue_sheet
from tests.conftest import Cast
from tests.make import academy_today, make_lesson, make_pause
from tests.test_lesson_move import work_on

Clients = Callable[[str], Client]


def saved(row: Any, by: Any, **values: Any) -> None:
    vars(row).update(_history_user=by, **values)
    row.save()


def lines(student: Student) -> list[str]:
    return [f"{change.who}: {change.summary}" for change in changes_of(student, timezone.now())]


@pytest.mark.history
def test_changes_are_listed_newest_first_with_their_author(cast: Cast, as_: Clients) -> None:
    saved(cast.student, cast.coach.user, birth_year=2001, name="Alder Q.")
    saved(cast.student, cast.manager, status="left")
    assert lines(cast.student)[:2] == [
        "Odile Bramblewing: changed the student: status",
        "Ida Fernkettle: changed the student: name, year of birth",
    ]
    page = as_("assistant").get(reverse("changes", args=[cast.student.key])).content.decode()
    assert page.index("changed the student: status") < page.index("changed the student: name, year of birth")


@pytest.mark.history
def test_every_kind_of_row_is_listed(cast: Cast) -> None:
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())
    work_on(lesson, "Soft hands")
    issue_sheet(lesson=lesson, at=timezone.now())
    make_pause(cast.student, since=academy_today()).delete()
    listed = {line.split(": ", 1)[1] for line in lines(cast.student)}
    kinds = {"the student", "a coach", "a guardian", "a consent", "a pause", "a lesson", "a focus", "a sheet"}
    assert listed == {f"added {kind}" for kind in kinds} | {"deleted a pause"}


def test_the_contents_of_a_note_are_not_shown(cast: Cast, as_: Clients) -> None:
    lesson = make_lesson(cast.student, cast.coach, note="Zanzibar worries")
    saved(lesson, cast.coach.user, note="Zanzibar worries more", keep="Quiet Zanzibar head")
    page = as_("cover").get(reverse("changes", args=[cast.student.key])).content.decode()
    assert "changed a lesson: keep, note" in page and "Zanzibar" not in page


def test_nothing_of_another_student_is_listed(cast: Cast) -> None:
    saved(cast.other_student, cast.manager, name="Petra S.")
    assert "Odile Bramblewing" not in str(lines(cast.student))


def test_a_correction_is_listed_with_its_undo_button(cast: Cast, as_: Clients) -> None:
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())
    lesson.session.starts_at = timezone.now()
    lesson.session.save()
    focus = work_on(lesson, "Soft hands", closed_in=lesson)
    as_("coach").post(reverse("focus_reopen", args=[cast.student.key, focus.key]))
    url = reverse("changes", args=[cast.student.key])
    page = as_("coach").get(url)
    assert "Ida Fernkettle: A focus was opened again" in page.content.decode()
    button = reverse("correction_undo", args=[cast.student.key, cast.student.corrections.get().key])
    assert button in page.content.decode()
    assert as_("coach").post(button).url == url
    after = as_("coach").get(url).content.decode()
    assert button not in after and "Undone by Ida Fernkettle" in after


@pytest.mark.history
def test_fifty_changes_are_on_a_page(cast: Cast, as_: Clients) -> None:
    for number in range(60):
        saved(cast.student, cast.coach.user, name=f"Alder {number}")
    url = reverse("changes", args=[cast.student.key])
    assert as_("coach").get(url).content.decode().count("changed the student: name") == 50
    older = as_("coach").get(url, {"page": "2"}).content.decode()
    assert older.count("changed the student: name") == 10 and "added the student" in older
    for strange in ("0", "-1", "999", "x", "\0"):
        assert as_("coach").get(url, {"page": strange}).status_code == 200


def test_as_many_queries_however_much_was_changed(cast: Cast, as_: Clients) -> None:
    client, url = as_("coach"), reverse("changes", args=[cast.student.key])

    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            assert client.get(url).status_code == 200
        return len(asked)

    queries()
    few = queries()
    for days in range(12):
        saved(make_lesson(cast.student, cast.coach, days_ago=days), cast.coach.user, keep="Good")
    assert queries() == few


def test_strangers_and_readers_see_no_changes(cast: Cast, as_: Clients) -> None:
    url = reverse("changes", args=[cast.student.key])
    for actor, status in [("other_coach", 404), ("past_coach", 404), ("student", 403), ("guardian", 403)]:
        assert as_(actor).get(url).status_code == status


def test_a_student_s_page_links_to_the_changes(cast: Cast, as_: Clients) -> None:
    url, page = (reverse(name, args=[cast.student.key]) for name in ("changes", "student"))
    assert url in as_("coach").get(page).content.decode()
    assert url not in as_("student").get(page).content.decode()
