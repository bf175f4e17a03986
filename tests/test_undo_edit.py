"""Every edit of a finished lesson can be undone: as a whole, by whom may correct it, never past a later one."""

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.forms.models import model_to_dict
from django.test import Client
from django.urls import reverse

from coachbook.corrections.edits import edits_of
from drills.models import Prescription
from lessons.models import Focus, Lesson, Look, Observation, Outcome, SeenFault, Session
from tests.conftest import Cast
from tests.make import academy_today, make_drill, make_fault, make_skill
from tests.test_log import APART, GRIP, HTMX, SQUEEZE, Page

pytestmark = pytest.mark.long

Clients = Callable[[str], Client]
MODELS: list[Any] = [Session, Lesson, Look, Observation, SeenFault, Focus, Prescription]


@pytest.fixture
def page(cast: Cast, as_: Clients) -> Page:
    """A finished lesson: a fault that became less, a keep, a focus with its drill; open once more to be edited."""
    grip = make_skill(GRIP)
    make_fault(grip, APART)
    make_fault(grip, SQUEEZE)
    make_drill("putting-ball-gate", area="putting")
    page = Page(as_("coach"), cast.student)
    page.see("a", APART, "clear").see("d", APART, "slight").focus(fault=APART, drill="putting-ball-gate")
    page.send(done="1", keep="Calm rhythm", note="Knee is sore", note_reader="coach")
    reopen(page)
    return page


def reopen(page: Page) -> None:
    """Open the form again, with all that is stored, as a browser would."""
    typed = page.typed
    page.open()
    page.typed = typed | page.typed
    page.typed.pop("done", None)
    for form in page.answer.context["lesson_form"].focuses:
        if form.focus:
            page.typed |= {field.html_name: str(field.value()) for field in form if field.value() not in (None, "")}


def lesson() -> Lesson:
    return Lesson.objects.get()


def stored() -> list[dict[str, Any]]:
    """Every row of the record."""
    return [
        {"model": model.__name__, "pk": row.pk, **model_to_dict(row)}
        for model in MODELS
        for row in model.objects.order_by("pk")
    ]


def undo(client: Client, number: int = 0) -> Any:
    """Undo one of the edits, the newest first."""
    now = lesson()
    edit = edits_of(now)[number]
    return client.post(reverse("lesson_edit_undo", args=[now.student.key, now.key, edit.key]))


def record(client: Client) -> str:
    now = lesson()
    return client.get(reverse("lesson", args=[now.student.key, now.key])).content.decode()


def test_a_lesson_that_was_only_logged_and_finished_has_no_edit(page: Page) -> None:
    assert edits_of(lesson()) == [] and "Undo" not in record(page.client)


def test_opening_it_and_finishing_again_without_a_change_is_no_edit(page: Page) -> None:
    page.send(done="1")
    assert edits_of(lesson()) == []


EDITS: dict[str, dict[str, str]] = {
    "words": {"keep": "Slipped", "note": "Slipped", "next_time": "Slipped"},
    "the reader of a note": {"note_reader": "student"},
    "a degree": {f"a.{APART}": "slight"},
    "a fault more": {f"a.{SQUEEZE}": "clear"},
    "a look that is gone": {f"d.{APART}": ""},
    "every look gone": {f"d.{APART}": "", f"a.{APART}": ""},
    "good in place of a fault": {f"d.{APART}": "", f"d.{GRIP}.good": "on"},
    "areas and practice": {"chipping": "on", "practice_reported": "most"},
    "the day and the place": {"day": "2026-01-05", "place": "Elsewhere"},
}  # fmt: skip


def test_undone_it_is_as_it_was_before(page: Page) -> None:
    before, typed = stored(), page.typed
    for name, values in EDITS.items():
        page.typed = dict(typed)
        reopen(page)
        assert page.send(**values).status_code == 302, name
        assert stored() != before, name
        assert "Changed on" in record(page.client)
        assert undo(page.client).status_code == 302, name
        assert stored() == before, name


def test_undone_focus_drill_and_dose_are_as_they_were(page: Page) -> None:
    before, key = stored(), Focus.objects.get().key
    changed = {f"focus-{key}-feel": "Slipped", f"focus-{key}-drill": "putting-ball-gate", f"focus-{key}-days": "7"}
    fresh = f"focus-{uuid.uuid4()}"
    page.typed["focus"] = [str(key), fresh.removeprefix("focus-")]
    page.send(**changed, **{f"{fresh}-fault": SQUEEZE, f"{fresh}-kind": "fix"})
    assert Focus.objects.count() == 2 and Prescription.objects.get().days == 7
    undo(page.client)
    assert stored() == before


def test_all_that_one_page_saved_is_one_edit(page: Page) -> None:
    before = stored()
    for count, words in enumerate(["S", "Sl", "Slip"], 1):
        page.send(HTMX, keep=words, count=str(count))
    page.send(HTMX, count="4", **{f"a.{APART}": "slight"})
    assert len(edits_of(lesson())) == 1
    undo(page.client)
    assert stored() == before


def test_each_page_is_an_edit_of_its_own_and_the_latest_is_undone_first(page: Page) -> None:
    before = stored()
    page.send(keep="One")
    reopen(page)
    page.send(keep="Two")
    assert undo(page.client, 1).status_code == 422  # the second one stands upon the first
    assert lesson().keep == "Two"
    undo(page.client)
    assert lesson().keep == "One"
    first = next(number for number, edit in enumerate(edits_of(lesson())) if not edit.undoes and not edit.is_undone)
    undo(page.client, first)
    assert stored() == before


def test_an_undoing_can_be_undone(page: Page) -> None:
    page.send(keep="Meant like this")
    undo(page.client)
    assert lesson().keep == "Calm rhythm" and "A change was undone on" in record(page.client)
    undo(page.client)
    assert lesson().keep == "Meant like this"


def test_a_double_tap_undoes_once(page: Page) -> None:
    page.send(keep="Slipped")
    now = lesson()
    address = reverse("lesson_edit_undo", args=[now.student.key, now.key, edits_of(now)[0].key])
    assert [page.client.post(address).status_code for _ in range(2)] == [302, 302]
    assert lesson().keep == "Calm rhythm"


def test_words_that_were_changed_again_by_others_are_not_overwritten(page: Page) -> None:
    page.send(keep="Slipped")
    row = lesson()
    row.keep = "Restored by somebody"
    row.save()
    answer = undo(page.client)
    assert answer.status_code == 422 and "changed again since" in answer.content.decode()
    assert lesson().keep == "Restored by somebody"


def test_the_sheet_stays_as_it_was_issued_and_the_page_says_so(page: Page) -> None:
    page.send(keep="Slipped", done="1")
    sheet = lesson().sheets.valid().get()
    now = lesson()
    address = reverse("lesson_edit_undo", args=[now.student.key, now.key, edits_of(now)[0].key])
    answer = page.client.post(address, follow=True)
    assert "A sheet that was taken home stays as it is" in answer.content.decode()
    assert lesson().sheets.valid().get() == sheet and sheet.content["keep"] == "Slipped"


def test_what_follows_from_the_looks_follows_again(page: Page, cast: Cast) -> None:
    later = Page(page.client, cast.student)
    lesson().session.__class__.objects.update(starts_at="2026-01-05T10:00Z")
    later.see("a", APART, "slight").send(done="1", day=academy_today().isoformat())
    assert [row.verdict for row in Outcome.objects.all()] == ["held"]
    reopen(page)
    page.typed["day"] = "2026-01-05"
    page.send(**{f"d.{APART}": "clear", "over": "1"})
    assert not Outcome.objects.exists()
    first = Lesson.objects.order_by("pk")[0]
    edit = edits_of(first)[0]
    page.client.post(reverse("lesson_edit_undo", args=[cast.student.key, first.key, edit.key]))
    assert [row.verdict for row in Outcome.objects.all()] == ["held"]


# --- Who may --------------------------------------------------------------------------------------


def test_another_coach_and_a_manager_may_and_nobody_else(page: Page, as_: Clients) -> None:
    for actor in ("cover", "manager"):
        reopen(page)
        page.send(keep=f"Slipped before {actor}")
        for other, status in {"student": 403, "guardian": 403, "other_coach": 404}.items():
            assert undo(as_(other)).status_code == status and lesson().keep == f"Slipped before {actor}"
        assert undo(as_(actor)).status_code == 302 and lesson().keep == "Calm rhythm"


def test_no_coach_brings_back_a_note_that_they_may_not_read(page: Page, as_: Clients) -> None:
    page.send(note="", keep="Slipped")
    answer = undo(as_("cover"))
    words = answer.content.decode()
    assert answer.status_code == 422 and "a private note of Ida Fernkettle" in words and "Knee" not in words
    assert (lesson().note, lesson().keep) == ("", "Slipped")
    assert undo(as_("manager")).status_code == 302 and lesson().note == "Knee is sore"


def test_what_was_made_private_since_is_not_made_public_by_another_coach(page: Page, as_: Clients) -> None:
    page.send(note_reader="student")
    reopen(page)
    page.send(note_reader="coach")
    assert undo(as_("cover")).status_code == 422 and lesson().note_reader == "coach"


def test_the_page_of_another_lesson_cannot_be_passed_off_as_an_edit_of_this_one(page: Page, cast: Cast) -> None:
    page.send(keep="Slipped")
    other = Page(page.client, cast.student)
    other.typed["page"] = page.typed["page"]
    other.send(done="1", keep="Mine")
    other.open()
    other.typed["page"] = page.typed["page"]
    other.send(keep="Mine, again", count="9")
    first, second = Lesson.objects.order_by("pk")
    edit = edits_of(first)[0]
    page.client.post(reverse("lesson_edit_undo", args=[cast.student.key, first.key, edit.key]))
    second.refresh_from_db()
    assert second.keep == "Mine, again"


def test_a_look_gone_does_not_take_along_what_was_seen_since(page: Page) -> None:
    make_fault(make_skill("other-skill"), "other-fault")
    page.send(**{f"d.{APART}": "", f"a.{APART}": ""})
    reopen(page)
    page.see("a", "other-fault", "clear").send()  # a new arrival, where the first edit deleted one
    assert undo(page.client, 1).status_code == 422
    assert [seen.fault.code for seen in SeenFault.objects.all()] == ["other-fault"]
