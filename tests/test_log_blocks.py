"""The blocks of a log: what a block stores, what it leaves as it is, and where the page says what is wrong in it."""

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from drills.models import Prescription
from lessons.models import Focus, Lesson
from tests.conftest import Cast
from tests.make import make_drill, make_fault, make_skill
from tests.test_log import HTMX, Page, message_beside

Clients = Callable[[str], Client]
WRITES = ("INSERT", "UPDATE", "DELETE")


@pytest.fixture
def page(cast: Cast, as_: Clients) -> Page:
    """A log where the catalogue holds one skill with one fault, and the library two drills."""
    make_fault(make_skill("grip"), "apart", name="Hands apart")
    make_drill("gate", name="Ball gate")
    make_drill("ladder", name="Pace ladder")
    return Page(as_("coach"), cast.student)


def problems(answer: Any) -> dict[str, str]:
    """What the page lists as wrong, by the field to which it leads."""
    return dict(answer.context["lesson_form"].problems)


def written(page: Page, **typed: Any) -> list[str]:
    """The tables that a save writes, each as often as it does."""
    with CaptureQueriesContext(connection) as captured:
        assert page.send(HTMX, **typed).status_code in (200, 201)
    found = [query["sql"] for query in captured.captured_queries if query["sql"].startswith(WRITES)]
    return [sql.split('"')[1] for sql in found]


LESSON = "lessons_lesson"  # its version, which tells a page that another one saved meanwhile


def test_an_empty_lesson_is_asked_for_something_beside_the_field_that_may_be_filled(page: Page) -> None:
    answer = page.send(done="1")
    assert answer.status_code == 422 and problems(answer) == {"id_keep": "Nothing is logged yet."}
    assert message_beside(answer, "id_keep").endswith("Nothing is logged yet.")


def test_what_is_wrong_in_a_block_is_listed_with_the_name_of_the_focus_and_of_the_field(page: Page) -> None:
    answer = page.focus(fault="apart", drill="gate", amount="0").focus(1, amount="ten").send()
    assert problems(answer) == {
        f"id_{page.blocks[0]}-amount": "Hands apart, a session: Type a number from 1 to 120 (minutes)."
    }, "an empty block has nothing wrong with it"
    page.focus(amount="5").send(count="2")
    answer = page.focus(1, what="Eyes still", amount="").focus(2, what="Feet together").send(count="3")
    assert problems(answer) == {
        f"id_{page.blocks[2]}-reason": "Feet together, reason for a third focus: A third focus needs a reason."
    }


def test_what_cannot_be_saved_of_a_block_is_kept_alone_and_with_its_own_lesson(page: Page, cast: Cast) -> None:
    other = Page(page.client, cast.student)
    other.send(HTMX, keep="Another lesson")
    page.focus(fault="apart", drill="gate").focus(1, what="Pencil grip", kind="trial").send(HTMX, keep="Calm")
    kept = {lesson.keep: lesson.unsaved for lesson in Lesson.objects.all()}
    [[key, block]] = kept["Calm"].items()
    assert f"focus-{key}" == page.blocks[1] and kept["Another lesson"] == {}
    assert block["typed"] == {f"focus-{key}-what": "Pencil grip", f"focus-{key}-kind": "trial"}
    assert [*block["errors"]] == ["decide_on"]


def test_a_page_may_save_until_another_one_saved_that_was_opened_since(page: Page, cast: Cast) -> None:
    """Whoever sends again and again from one page is never refused; who was overtaken may still save knowingly."""
    for count in (1, 2, 2, 3):
        assert page.send(HTMX, keep=f"first {count}", count=str(count)).status_code in (200, 201)
        assert Lesson.objects.get().keep == f"first {count}"
    other = Page(page.client, cast.student, page.address)
    assert other.send(HTMX, keep="other", count="1").status_code == 200
    assert page.send(HTMX, keep="first 9", count="9").status_code == 422, "overtaken, though it counts further"
    assert other.send(HTMX, keep="late", count="0").status_code == 422, "an earlier form of the same page"
    assert Lesson.objects.get().keep == "other"
    assert page.send(HTMX, keep="first 10", count="10", over="1").status_code == 200
    assert Lesson.objects.get().keep == "first 10"


def test_a_block_that_is_stored_as_it_is_writes_nothing(page: Page) -> None:
    """Neither while its focus is open, with a drill or without, nor once it is closed."""
    page.focus(fault="apart", drill="gate").focus(1, what="Eyes still").send(HTMX)
    assert written(page, count="2") == [LESSON]
    page.send(HTMX, count="3", done="1")
    page.typed.pop("done")
    focus = Focus.objects.get(fault__code="apart")
    later = Page(page.client, page.answer.context["lesson_form"].student)
    kept = {f"focus-{focus.key}-drill": "gate", f"focus-{focus.key}-decision": "open"}
    later.send(HTMX, **kept)
    assert written(later, count="2") == [LESSON]
    later.send(HTMX, count="3", **{f"focus-{focus.key}-decision": "close"})
    assert Focus.objects.get(pk=focus.pk).closed_in
    assert written(later, count="4") == [LESSON]
    assert Prescription.objects.count() == 1, "what it was given here went when it was closed here"


def test_another_drill_changes_the_drill_and_no_focus(page: Page) -> None:
    page.focus(fault="apart", drill="gate").send(HTMX, done="1")
    focus = Focus.objects.get()
    later = Page(page.client, focus.student)
    later.send(HTMX, **{f"focus-{focus.key}-drill": "gate"})
    tables = written(later, count="2", **{f"focus-{focus.key}-drill": "ladder"})
    assert sorted(tables) == sorted([LESSON, "drills_prescription", "drills_historicalprescription"])
    assert focus.history.count() == 1  # type: ignore[attr-defined]
    tables = written(later, count="3", **{f"focus-{focus.key}-feel": "Soft"})
    assert {"lessons_focus", "lessons_historicalfocus"} < {*tables}
    assert Prescription.objects.get(lesson__status="draft").feel == "Soft"
    assert Prescription.objects.get(lesson__status="complete").feel == ""


def test_a_focus_stays_closed_while_its_feel_is_put_right_and_open_while_it_is_kept_open(page: Page) -> None:
    page.focus(fault="apart").send(HTMX, done="1")
    focus = Focus.objects.get()
    later = Page(page.client, focus.student)
    for count, (decision, feel, is_open) in enumerate(
        [
            ("close", "", False),
            ("close", "Soft", False),
            ("open", "Soft", True),
            ("open", "Softer", True),
            ("", "Soft", True),
            ("close", "Soft", False),
        ],
        1,
    ):
        words = {f"focus-{focus.key}-decision": decision, f"focus-{focus.key}-feel": feel}
        assert later.send(HTMX, count=str(count), **words).status_code in (200, 201)
        focus.refresh_from_db()
        assert (focus.closed_in is None, focus.feel) == (is_open, feel), count


def test_a_drill_goes_where_a_block_names_none_and_comes_where_it_names_one(page: Page) -> None:
    page.focus(fault="apart").send(HTMX)
    given = []
    for count, drill in enumerate(["gate", "", "ladder", "ladder"], 2):
        page.focus(drill=drill).send(HTMX, count=str(count))
        given.append([row.drill.code for row in Prescription.objects.all()])
    assert given == [["gate"], [], ["ladder"], ["ladder"]]


def test_a_dropped_focus_takes_no_other_along(page: Page) -> None:
    page.focus(fault="apart", drill="gate").focus(1, what="Eyes still").send(HTMX)
    for drop in (str(uuid.uuid4()), "nonsense", ""):
        page.send(HTMX, drop=drop)
        assert Focus.objects.count() == 2, drop
    page.typed["focus"] = []
    page.send(HTMX, drop=str(Focus.objects.get(what="Eyes still").key))
    assert [str(focus) for focus in Focus.objects.all()] == ["Hands apart"] and Prescription.objects.exists()
