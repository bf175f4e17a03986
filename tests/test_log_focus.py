"""A focus in a log: begun where its fault was marked, with feel, drill and dose in sight; dropped by a tap."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from drills.library.fitting import fitting_drills, read_offered
from drills.models import Drill, Prescription
from lessons.models import Fault, Focus, SeenFault
from tests.conftest import Cast
from tests.library import load_library
from tests.test_log import HTMX, Page, lesson, message_beside

Clients = Callable[[str], Client]
APART, SQUEEZE, RUSHED, CUPS = (
    "putting-grip-apart",
    "putting-grip-squeeze",
    "putting-tempo-rushed",
    "putting-lead-wrist-cups",
)
pytestmark = [pytest.mark.django_db, pytest.mark.long]


@pytest.fixture
def page(cast: Cast, as_: Clients) -> Page:
    load_library()
    return Page(as_("coach"), cast.student)


def work_on(page: Page, fault: str) -> str:
    """Press *Work on this* with a script; the answer holds the new block, which the page then sends along."""
    answer = page.send(HTMX, work=fault).content.decode()
    page.typed.pop("work")
    given = Prescription.objects.filter(focus__fault__code=fault).select_related("focus", "drill").first()
    if given and str(given.focus.key) not in page.typed["focus"]:
        page.typed["focus"] = [*page.typed["focus"], str(given.focus.key)]
        fields = {name: str(getattr(given, name)) for name in ("amount", "unit", "per_week", "days")}
        fields |= {"fault": fault, "feel": Fault.objects.get(code=fault).feel, "drill": given.drill.code}
        page.typed |= {f"focus-{given.focus.key}-{name}": value for name, value in fields.items()}
    return answer


def test_work_on_this_opens_a_focus_with_a_drill_that_fits_its_dose_and_its_feel(page: Page) -> None:
    answer = work_on(page, RUSHED)
    given = Prescription.objects.get(focus__fault__code=RUSHED)
    assert given.drill.fits.filter(fault__code=RUSHED, is_wrong=False).exists() and given.days == given.drill.dose_days
    assert escape(Fault.objects.get(code=RUSHED).feel) in answer and str(given.drill) in answer
    assert 'hx-swap-oob="beforeend"' in answer and f"{given.per_week} times a week, for {given.days} days" in answer


def test_two_focuses_begin_with_two_drills_where_the_library_has_another(page: Page) -> None:
    fault, offered = Fault.objects.get(code=APART), read_offered()
    first = fitting_drills(fault, offered)[0]
    other = next(row for row in Fault.objects.exclude(pk=fault.pk) if first in fitting_drills(row, offered)[:1])
    work_on(page, APART)
    work_on(page, other.code)
    assert Prescription.objects.values("drill").distinct().count() == 2


def test_without_a_script_the_page_comes_back_at_the_new_block(page: Page) -> None:
    answer = page.send(work=RUSHED)
    assert answer.url.endswith(f"#block-{Focus.objects.get().key}") and Prescription.objects.count() == 1


def test_what_is_worked_on_is_not_begun_twice(page: Page) -> None:
    work_on(page, RUSHED)
    work_on(page, RUSHED)
    assert Focus.objects.count() == Prescription.objects.count() == 1


@pytest.mark.parametrize("word", ["", "nothing-of-ours", "putting-grip", "💥"])
def test_a_fault_that_does_not_exist_begins_nothing(word: str, page: Page) -> None:
    assert page.send(HTMX, work=word).status_code < 300
    assert not Focus.objects.exists()


def test_a_third_asks_its_reason_beside_it_and_a_fourth_is_refused(page: Page) -> None:
    work_on(page, APART)
    work_on(page, SQUEEZE)
    answer = work_on(page, RUSHED)
    assert Focus.objects.count() == 2 and "A third focus needs a reason." in answer and "Reason for a third" in answer
    page.focus(0, fault="putting-path-in", reason="A tournament on Sunday").send()
    page.open()
    assert Focus.objects.count() == 3
    answer = work_on(page, CUPS)
    assert Focus.objects.count() == 3 and "Three focuses are open already. Close one first." in answer


@pytest.mark.parametrize("next_post", [{"work": RUSHED}, {"keep": "Calm"}], ids=["pressed again", "typed on"])
def test_a_block_whose_answer_was_lost_comes_with_the_next_one(next_post: dict[str, str], page: Page) -> None:
    """The page knows nothing of the focus that is stored, and would never show it."""
    page.send(HTMX, work=RUSHED)
    page.typed.pop("work")
    key = Focus.objects.get().key
    answer = page.send(HTMX, count="2", **next_post).content.decode()
    assert answer.count(f'id="block-{key}"') == 1 and str(Prescription.objects.get().drill) in answer
    page.typed.pop("work", None)
    page.typed["focus"] = [*page.typed["focus"], str(key)]
    page.type(**{f"focus-{key}-fault": RUSHED})
    assert f'id="block-{key}"' not in page.send(HTMX, count="3").content.decode()


def test_dropping_leaves_no_focus_and_no_drill_but_their_history(page: Page) -> None:
    work_on(page, RUSHED)
    focus = Focus.objects.get()
    answer = page.send(HTMX, drop=str(focus.key)).content.decode()
    assert f'id="block-{focus.key}" hx-swap-oob="delete"' in answer
    assert not Focus.objects.exists() and not Prescription.objects.exists()
    assert focus.history.count() == 2  # type: ignore[attr-defined]


def test_what_a_student_has_read_of_is_closed_not_dropped(page: Page) -> None:
    work_on(page, RUSHED)
    page.send(done="1")
    page.typed.pop("done")
    focus = Focus.objects.get()
    answer = page.send(HTMX, drop=str(focus.key))
    assert answer.status_code == 422 and "Close it in the next lesson." in answer.content.decode()
    assert Focus.objects.get() == focus and Prescription.objects.exists()


def test_the_focus_of_another_lesson_is_never_dropped(page: Page, as_: Clients, cast: Cast) -> None:
    work_on(page, RUSHED)
    page.send(done="1")
    later = Page(as_("coach"), cast.student)
    later.send(drop=str(Focus.objects.get().key), keep="Calm")
    assert Focus.objects.get().closed_in is None


def test_the_feel_in_sight_is_kept_only_where_the_coach_said_it_differently(page: Page) -> None:
    page.focus(0, fault=RUSHED, feel=Fault.objects.get(code=RUSHED).feel).send()
    assert Focus.objects.get().feel == ""
    page.open()
    key = Focus.objects.get().key
    assert escape(Fault.objects.get(code=RUSHED).feel) in page.answer.content.decode()
    page.type(**{f"focus-{key}-fault": RUSHED, f"focus-{key}-feel": "Like a swing in the park"}).send()
    assert Focus.objects.get().feel == "Like a swing in the park"


def test_another_drill_and_another_fault_are_found_by_name(page: Page) -> None:
    drill = Drill.objects.get(code="putting-ladder")
    page.focus(0, fault="putting: rushed change of direction", other_drill=str(drill).upper()).send()
    given = Prescription.objects.get()
    assert given.focus.fault.code == RUSHED and given.drill == drill  # type: ignore[union-attr]


def test_a_name_that_is_in_no_list_is_said_beside_its_field_and_stays_typed(page: Page) -> None:
    answer = page.focus(0, fault=RUSHED, other_drill="The one with the <coin>").send()
    anchor = f"id_{page.blocks[0]}-other_drill"
    assert answer.status_code == 422
    assert message_beside(answer, anchor).endswith("Not in the library. Choose a drill from the list.")
    assert "The one with the &lt;coin&gt;" in answer.content.decode()
    answer = page.focus(0, fault="Rushing", other_drill="").send()
    assert "Not in the catalogue." in message_beside(answer, f"id_{page.blocks[0]}-fault")


def test_drills_that_fit_the_fault_are_offered_and_no_long_list(page: Page) -> None:
    work_on(page, RUSHED)
    html = page.client.get(page.address).content.decode()
    block = html.split(f'id="block-{Focus.objects.get().key}"')[1].split("</details>")[0]
    fault = Fault.objects.get(code=RUSHED)
    fitting = fitting_drills(fault, read_offered())[:5]
    assert len(fitting) > 2 and {f'value="{drill.code}"' in block for drill in fitting} == {True}
    assert not any(f'value="{fit.drill.code}"' in block for fit in fault.fits.filter(is_wrong=True))
    assert block.count('type="radio"') <= 12


def test_of_two_degrees_at_once_the_greater_counts(page: Page) -> None:
    """Without a script nothing unticks the first."""
    page.typed[f"a.{APART}"] = ["slight", "clear"]
    page.send()
    assert SeenFault.objects.get().degree == "clear"


def test_a_row_kept_for_all_logs_holds_nothing_of_one_student(page: Page, as_: Clients, cast: Cast) -> None:
    """Blank rows are rendered once: what a coach and a manager may choose as readers differs all the same."""
    page.send(keep="Calm")
    own = page.client.get(f"{page.address}?whole").content.decode()
    other = as_("manager").get(page.address).content.decode()
    assert 'value="coach" selected>me and the managers' in own
    assert (
        f"{cast.coach.user.name} and the managers" in other
        and "me and the managers" not in other.split('id="words"')[0]
    )


def test_a_word_of_the_catalogue_that_changes_is_seen_in_the_next_log(page: Page) -> None:
    assert "Hands apart" in page.answer.content.decode()
    Fault.objects.filter(code=APART).update(name="Hands <b>two fingers</b> apart")
    html = page.client.get(f"{page.address}?whole").content.decode()
    assert "Hands &lt;b&gt;two fingers&lt;/b&gt; apart" in html and ">Hands apart<" not in html


def test_a_draft_log_still_finishes_with_its_focus(page: Page) -> None:
    work_on(page, RUSHED)
    assert page.send(done="1").status_code == 302 and lesson().status == "complete"
    sheet = lesson().sheets.get()
    html = page.client.get(reverse("sheet", args=[lesson().student.key, sheet.key])).content.decode()
    assert escape(Fault.objects.get(code=RUSHED).goal) in html


def test_what_could_not_be_saved_of_a_focus_is_there_when_the_log_is_opened_again(page: Page) -> None:
    page.focus(0, what="Pencil <grip>", kind="trial", feel="Like writing", decide_on="").send(HTMX)
    html = page.client.get(page.address).content.decode()
    assert "Pencil &lt;grip&gt;" in html and "Like writing" in html and "To put right" in html
    assert "A trial needs the day on which you decide." in html and not Focus.objects.exists()
    page.open()
    page.typed |= {
        f"focus-{page.typed['focus'][-1]}-{name}": value
        for name, value in {"what": "Pencil <grip>", "kind": "trial", "decide_on": "2027-03-01"}.items()
    }
    page.send(HTMX)
    assert Focus.objects.get().what == "Pencil <grip>" and lesson().unsaved == {}
    assert "To put right" not in page.client.get(page.address).content.decode()


def test_a_third_without_its_reason_is_there_again_with_the_question(page: Page) -> None:
    work_on(page, APART)
    work_on(page, SQUEEZE)
    work_on(page, RUSHED)
    html = page.client.get(page.address).content.decode()
    assert "A third focus needs a reason." in html and html.count(f'value="{RUSHED}"') >= 1
    assert Focus.objects.count() == 2


def test_one_reason_is_enough_whichever_of_three_was_stored_first(page: Page) -> None:
    """On a slow line a trial is stored before the focus whose button was pressed earlier."""
    trial = {"what": "Pencil grip", "kind": "trial", "decide_on": "2027-03-01"}
    page.focus(0, fault=RUSHED)
    page.focus(1, **trial)
    page.send(HTMX)
    page.focus(1, **trial, reason="She asked")
    work_on(page, SQUEEZE)
    assert [(str(focus.what), focus.slot, focus.reason) for focus in Focus.objects.filter(slot=3)] == [
        ("Pencil grip", 3, "She asked")
    ]
    assert Focus.objects.count() == 3 and lesson().unsaved == {}
    taken_back = page.focus(1, **trial, reason="").send(HTMX).content.decode()
    assert "A third focus needs a reason." in taken_back


def test_the_one_with_a_reason_is_the_third_of_three_that_come_at_once(page: Page) -> None:
    page.focus(0, fault=RUSHED, reason="A match on Sunday").focus(1, fault=APART).focus(2, fault=SQUEEZE)
    assert page.send().status_code == 302
    assert Focus.objects.get(slot=3).fault.code == RUSHED


def test_two_of_one_name_are_told_apart(page: Page) -> None:
    Fault.objects.filter(code=SQUEEZE).update(name=Fault.objects.get(code=APART).name)
    page.focus(0, fault=f"Putting: Hands apart ({SQUEEZE})").send()
    assert Focus.objects.get().fault.code == SQUEEZE  # type: ignore[union-attr]
    answer = page.focus(1, fault="Putting: Hands apart").send()
    assert "Not in the catalogue." in message_beside(answer, f"id_{page.blocks[1]}-fault")


def test_a_focus_on_a_fault_that_was_merged_is_answered_as_the_one_it_was_merged_into(page: Page) -> None:
    work_on(page, SQUEEZE)
    page.send(finish="1")
    Fault.objects.get(code=SQUEEZE).merge_into(Fault.objects.get(code=APART))
    later = Page(page.client, lesson().student)
    html = later.answer.content.decode().split('id="skills"')[0].split("What you saw")[0]
    assert f'name="a.{APART}"' in html and f'name="a.{SQUEEZE}"' not in html
    work_on(later, APART)
    assert Focus.objects.count() == 1, "it is worked on already"
