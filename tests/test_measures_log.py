"""Measures in a log: stored as numbers, asked about outside their limits, nothing lost; values of before are read."""

from collections.abc import Callable
from decimal import Decimal
from importlib import import_module
from typing import Any

import pytest
from django.apps import apps
from django.db import IntegrityError, transaction
from django.test import Client

from coachbook.accounts.models import Student
from lessons.load import load_catalogue
from lessons.models import Lesson, Look, Observation, Skill
from tests.conftest import Cast
from tests.library import load_library
from tests.make import make_lesson, make_look, make_skill
from tests.test_log import HTMX, Page

pytestmark = pytest.mark.long

Clients = Callable[[str], Client]
STANCE, GRIP, READ = "putting-stance-width", "putting-grip", "putting-read"
FIELD, KEEP = f"a.{STANCE}.measure", f"a.{STANCE}.measure-keep"
QUESTION = "120 cm is more than most (5 to 80 cm). Type it again, or tick to keep it."


@pytest.fixture
def page(cast: Cast, as_: Clients) -> Page:
    load_library()
    return Page(as_("coach"), cast.student)


def stored(code: str = STANCE) -> tuple[Decimal | None, str]:
    row = Observation.objects.get(skill__code=code)
    return row.measure, row.measure_words


def shown(page: Page) -> Any:
    """The field as it stands on the page when it is opened again."""
    page.open()
    return next(row for row in page.answer.context["lesson_form"].rows if row.name == f"a.{STANCE}").measure


@pytest.mark.parametrize("typed", ["31,5", "31.5 cm", "about 31.5cm"])
def test_a_measure_is_stored_as_a_number_and_shown_again(typed: str, page: Page) -> None:
    assert page.send(**{FIELD: typed}).status_code == 302
    assert stored() == (Decimal("31.5"), "")
    assert shown(page).text == "31.5"


def test_what_was_typed_and_cannot_be_read_stays_beside_its_message_while_the_rest_is_saved(page: Page) -> None:
    answer = page.see("a", f"{STANCE}.good", "on").send(**{FIELD: "wide <b>"})
    html = answer.content.decode()
    assert answer.status_code == 422 and 'value="wide &lt;b&gt;"' in html
    assert ("a-putting-stance-width", "Stance width, arrival: Type a number, such as 42.") in problems(answer)
    assert Observation.objects.get().verdict == "good" and stored() == (None, "")


def problems(answer: Any) -> list[tuple[str, str]]:
    return list(answer.context["lesson_form"].problems)


def test_a_slip_leaves_the_number_that_was_stored(page: Page) -> None:
    page.send(**{FIELD: "31"})
    assert page.send(count="2", **{FIELD: "31 32"}).status_code == 422
    assert stored() == (Decimal(31), "")
    assert page.send(count="3", **{FIELD: ""}).status_code == 302 and not Observation.objects.exists()


def test_outside_the_limits_it_is_asked_about_and_kept_by_a_tick(page: Page) -> None:
    answer = page.send(**{FIELD: "120"})
    html = answer.content.decode()
    assert answer.status_code == 422 and QUESTION in html and not Observation.objects.exists()
    assert f'type="checkbox" name="{KEEP}" value="120 cm"' in html and 'value="120"' in html
    assert page.send(count="2", **{KEEP: "120 cm"}).status_code == 302
    assert stored() == (Decimal(120), "")
    del page.typed[KEEP]
    assert page.send(count="3").status_code == 302, "what is stored is not asked about again"


def test_a_tick_keeps_the_number_that_was_asked_about_and_no_other(page: Page) -> None:
    answer = page.send(**{FIELD: "210", KEEP: "120 cm"})
    assert answer.status_code == 422 and "210 cm is more than most" in answer.content.decode()
    assert not Observation.objects.exists()


def test_a_measure_in_words_has_no_number_and_no_question(page: Page) -> None:
    words = f"a.{READ}.measure"
    assert page.send(**{words: "a cup to the left, from 3 m"}).status_code == 302
    assert stored(READ) == (None, "a cup to the left, from 3 m")
    answer = page.send(count="2", **{words: "x" * 41})
    assert answer.status_code == 422 and "Write at most 40 letters here" in answer.content.decode()
    assert "x" * 41 in answer.content.decode() and stored(READ) == (None, "a cup to the left, from 3 m")


def test_words_of_before_stay_until_somebody_changes_them(page: Page) -> None:
    page.send(**{FIELD: "31"})
    Observation.objects.update(measure=None, measure_words="two fingers")
    assert shown(page).text == "two fingers"
    assert page.send(**{FIELD: "two fingers"}).status_code == 302 and stored() == (None, "two fingers")
    assert page.send(count="2", **{FIELD: "three fingers"}).status_code == 422 and stored() == (None, "two fingers")


def test_saving_the_same_number_in_another_spelling_leaves_no_row_in_the_history(page: Page) -> None:
    page.send(**{FIELD: "31"})
    page.send(count="2", **{FIELD: "31,0 cm"})
    assert Observation.history.count() == 1


def test_the_page_says_unit_step_and_what_is_a_guess_by_eye(page: Page) -> None:
    html = page.client.get(f"{page.address}?whole").content.decode()
    assert "Stance width, cm" in html and "To about 2 cm." in html
    assert "Weight on the lead foot (a guess by eye), %" in html and "Usual: 60 to 70%." in html


def test_a_good_skill_with_a_fault_and_a_measure_outside_its_limits_says_both(page: Page) -> None:
    page.see("a", f"{STANCE}.good", "on").see("a", "putting-stance-width-wide", "clear")
    html = page.send(headers=HTMX, **{FIELD: "120"}).content.decode()
    assert "clear one of the two" in html and QUESTION in html


# --- Values of an earlier version -------------------------------------------------------------------


@pytest.fixture
def lesson(cast: Cast) -> Lesson:
    return make_lesson(cast.student, cast.coach)


def migration() -> Any:
    return import_module("lessons.migrations.0010_measures")


def old_skill(code: str, text: str, shipped: str | None = None) -> Skill:
    """A skill as an earlier version stored it; an academy reworded it if another text was shipped."""
    skill = make_skill(code, measure=text)
    values = {"name": skill.name, "measure": text if shipped is None else shipped}
    Skill.objects.filter(pk=skill.pk).update(shipped=values)
    Skill.history.filter(id=skill.pk).update(shipped=values)
    return skill


VALUES = {
    "31": "31",
    "31 cm": "31",
    "31,5": "31.5",
    "about 31cm": "31",
    "120 cm": "120",
    "120": None,  # millimetres, perhaps
    "wide": None,
    "31 32": None,
    "-3": None,
    "12 in": None,
}


@pytest.mark.parametrize(("typed", "number"), VALUES.items())
def test_a_value_typed_as_text_is_read_where_there_is_no_doubt_and_else_kept(
    typed: str, number: str | None, lesson: Lesson
) -> None:
    """After the columns were renamed, what was typed is in the words, in the rows and in the history."""
    skill = old_skill(STANCE, "stance width, cm")
    row = Observation.objects.create(look=make_look(lesson), skill=skill, verdict="good", measure_words=typed)
    step = migration()
    step.split_measures(apps, None)
    step.read_values(apps, None)
    expected = (None, typed) if number is None else (Decimal(number), "")
    for found in (Observation.objects.get(), Observation.history.get(id=row.pk)):
        assert (found.measure, found.measure_words) == expected


def test_a_skill_that_nobody_changed_is_split_and_stays_unchanged(db: None) -> None:
    old_skill(STANCE, "stance width, cm")
    old_skill("chipping-weight", "weight on the foot nearer the target, %")
    migration().split_measures(apps, None)
    for code in (STANCE, "chipping-weight"):
        skill = Skill.objects.get(code=code)
        assert not skill.is_edited and skill.measured is not None
        past = Skill.history.filter(id=skill.pk).latest()
        assert (past.measure, past.measure_unit) == (skill.measure, skill.measure_unit)
    assert Skill.objects.get(code=STANCE).measured.label() == "Stance width, cm"  # type: ignore[union-attr]
    load_catalogue()
    assert Skill.objects.get(code="chipping-weight").measured.by_eye  # type: ignore[union-attr]


def test_what_an_academy_reworded_keeps_its_name_and_its_numbers_where_the_unit_is_the_same(db: None) -> None:
    old_skill(STANCE, "heel to heel, cm", shipped="stance width, cm")
    old_skill("putting-finish-hold", "how long, in heartbeats", shipped="finish held, seconds")
    migration().split_measures(apps, None)
    load_catalogue()
    stance, hold = Skill.objects.get(code=STANCE), Skill.objects.get(code="putting-finish-hold")
    assert stance.is_edited and stance.measured.label() == "Heel to heel, cm"  # type: ignore[union-attr]
    assert hold.is_edited and hold.measured is None and hold.measure == "how long, in heartbeats"


def test_values_in_an_academys_own_unit_stay_in_words(lesson: Lesson) -> None:
    hold = old_skill("putting-finish-hold", "how long, in heartbeats", shipped="finish held, seconds")
    Observation.objects.create(look=make_look(lesson), skill=hold, verdict="good", measure_words="3")
    step = migration()
    step.split_measures(apps, None)
    step.read_values(apps, None)
    assert stored("putting-finish-hold") == (None, "3")


def test_the_way_back_writes_texts_again(lesson: Lesson) -> None:
    skill = old_skill(STANCE, "stance width, cm")
    about = {"skill": skill, "verdict": "good"}
    Observation.objects.create(look=make_look(lesson), measure_words="31,5", **about)
    step = migration()
    for run in (step.split_measures, step.read_values, step.write_values, step.join_measures):
        run(apps, None)
    assert stored() == (None, "31.5 cm")
    again = Skill.objects.get()
    assert again.measure == "stance width, cm" and again.shipped == {"name": "Grip", "measure": "stance width, cm"}


def test_words_that_were_typed_are_read_by_whoever_reads_the_log_and_by_no_student(
    page: Page, cast: Cast, as_: Clients
) -> None:
    page.send(**{FIELD: "31"})
    Observation.objects.update(measure=None, measure_words="canary fingers")
    Lesson.objects.update(status="complete", completed_at="2026-06-01T10:00Z")
    assert "canary fingers" in as_("manager").get(page.address).content.decode()
    for name in ("student", "progress"):
        assert "canary" not in as_("student").get(address(name, cast.student)).content.decode()


def address(name: str, student: Student) -> str:
    return f"/students/{student.key}/" if name == "student" else f"/students/{student.key}/{name}/"


def test_a_row_holds_a_number_or_words_and_looks_stay_apart(lesson: Lesson) -> None:
    about = {"look": make_look(lesson), "skill": make_skill(), "verdict": "good"}
    with transaction.atomic(), pytest.raises(IntegrityError):
        Observation.objects.create(**about, measure=3, measure_words="three")
    assert Look.objects.count() == 1
