"""The catalogue that ships: whole, in markers, fit for a student's eyes; and what an academy rewords stays."""

import re
from collections.abc import Iterator
from typing import Any

import pytest

from coachbook.accounts.models import Area
from drills.load import CATALOGUE as DRILLS
from drills.load import DESIGNS, load_drills
from drills.models import Drill
from drills.putting.units import METRES
from lessons.load import CATALOGUE as SKILLS
from lessons.load import load_catalogue
from lessons.measures import UNITS
from lessons.models import Fault, Skill
from lessons.models.catalogue import load_skills
from lessons.shipped import tables
from lessons.wording import COACH, MARKER, render

SKILL_ROWS = list(tables(SKILLS, "skill"))
FAULT_ROWS = [fault for skill in SKILL_ROWS for fault in skill["fault"]]
DRILL_ROWS = list(tables(DRILLS, "drill"))
DESIGN_ROWS = list(tables(DESIGNS, "design"))
ALL_ROWS = SKILL_ROWS + FAULT_ROWS + DRILL_ROWS + DESIGN_ROWS
NOT_WORDED = {
    "code",
    "area",
    "phase",
    "dose_unit",
    "costs",
    "was",
    "mends",
    "first_for",
    "wrong_for",
    "kind",
    "schedule",
}
NOT_WORDED |= {"places", "items"}
BARE = re.compile(r"\b(lead|trail|left|right|open|closed|push|pull)(s|es|ing|ed)?\b", re.IGNORECASE)
NOT_FOR_STUDENTS = re.compile(r"\b(fault|faults|marked|bad|badly|wrong)\b", re.IGNORECASE)
NOT_TO_DO = re.compile(
    r"\b(watch (out )?for|mistakes?|avoid|not|no|never|stop|too|without|instead)\b|n['’]t\b", re.IGNORECASE
)
NOT_OUR_WORDS = re.compile(
    r"\b(long|big) steps?\b|\bpaces\b|\bfarther\b|\bto and fro\b|\bknows? better\b|\bthe house\b"
    r"|\b(foot|feet|inch|inches) past\b|\d (ft|in|yd)\b",
    re.IGNORECASE,
)
IN_STEPS = re.compile(r"(\d[\d.]*) m \(([a-z-]+) steps?\)")
STEPS = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "nine": 9, "eleven": 11}
STEPS |= {"eighteen": 18, "twenty-two": 22, "thirty-three": 33}
SELF_RATED = re.compile(
    r"\b(smooth(ly)?|feels?|comfortabl[ey]|nice(ly)?|relaxed|good|well|easy|easily)\b", re.IGNORECASE
)
DRILL_TEXTS = ["purpose", "equipment", "setup", "feel", "mark", "tip", "caution"]
NUMBER = re.compile(r"\d|\b(one|two|three|four|five|six|seven|eight|nine|ten|twelve|every|all)\b", re.IGNORECASE)


def texts(row: dict[str, Any]) -> Iterator[str]:
    """Every wording of a row, its own and those of its steps and of its drawing."""
    for name, value in row.items():
        if name in NOT_WORDED:
            continue
        if name == "measure":
            yield value["name"]
        elif name == "drawing":
            yield from [value["words"], *(piece["words"] for piece in value["pieces"] if "words" in piece)]
        else:
            yield from (text for text in (value if isinstance(value, list) else [value]) if isinstance(text, str))


def codes(rows: list[dict[str, Any]]) -> list[str]:
    return [row["code"] for row in rows]


def test_sides_are_said_with_markers_only() -> None:
    for row in SKILL_ROWS + FAULT_ROWS + DRILL_ROWS:
        for text in texts(row):
            assert not BARE.search(MARKER.sub("", text)), text
            assert {marker.lower() for marker in MARKER.findall(text)} <= set(COACH), text


def test_a_student_reads_what_to_do_and_never_what_is_bad() -> None:
    for row in FAULT_ROWS + DRILL_ROWS:
        read = [row["goal"], row["plain"], row["feel"]] if "goal" in row else list(texts(row))
        for text in read:
            assert (text and not NOT_FOR_STUDENTS.search(text)) or text == row.get("game"), text
            for side in ("left", "right"):
                assert not re.search(r"\b(lead|trail)\b|[{}]", render(text, side)), text  # type: ignore[arg-type]


def test_codes_are_unique() -> None:
    for rows in (SKILL_ROWS, FAULT_ROWS, DRILL_ROWS):
        assert len(set(codes(rows))) == len(rows)


def test_every_area_has_skills_and_drills() -> None:
    assert {row["area"] for row in SKILL_ROWS} == {row["area"] for row in DRILL_ROWS} == set(Area.values)


def test_the_tip_of_a_drill_says_what_to_do() -> None:
    for row in DRILL_ROWS:
        assert not NOT_TO_DO.search(row["tip"]), row["tip"]
        assert row["tip"][0].isupper() and row["tip"].endswith(".")


def test_one_word_stands_for_one_thing() -> None:
    for row in ALL_ROWS:
        for text in texts(row):
            assert not NOT_OUR_WORDS.search(text), text


def test_a_length_in_steps_is_the_length_in_metres_beside_it() -> None:
    """A step is 0.9 m everywhere: common practice, no source."""
    for row in DRILL_ROWS + DESIGN_ROWS:
        for length, word in IN_STEPS.findall(" ".join(texts(row))):
            assert abs(STEPS[word] * METRES["step"] - float(length)) <= METRES["step"] / 2, (length, word)


def test_a_fault_costs_something_or_is_a_house_wish() -> None:
    for row in FAULT_ROWS:
        assert set(row["costs"]) <= set(Fault.Cost.values)
        assert bool(row["costs"]) != row.get("house_wish", False)


def test_a_drill_is_written_out_in_full() -> None:
    for row in DRILL_ROWS:
        assert len(row["steps"]) >= 4
        assert all(row[name].strip() for name in DRILL_TEXTS)
        assert NUMBER.search(row["mark"]), "a mark can be measured"
        assert not SELF_RATED.search(row["mark"]), (row["code"], "a mark can be missed: it is no matter of taste")
        assert (row["child_minutes"] in range(5, 11)) if row["game"] else row["child_minutes"] == 0


def test_loading_twice_changes_nothing(db: None) -> None:
    for _ in range(2):
        load_catalogue()
        load_drills()
    assert Skill.objects.count() == len(SKILL_ROWS)
    assert Fault.objects.count() == len(FAULT_ROWS)
    assert Drill.objects.count() == len(DRILL_ROWS)
    assert Drill.history.count() == len(DRILL_ROWS)  # type: ignore[attr-defined]


def test_what_an_academy_reworded_stays(db: None) -> None:
    load_catalogue()
    skill = Skill.objects.get(code="putting-grip")
    skill.name = "How we hold it here"
    skill.save()
    load_catalogue()
    skill.refresh_from_db()
    assert skill.name == "How we hold it here" and skill.is_edited


def test_a_new_version_renews_what_nobody_reworded(db: None) -> None:
    skill = Skill.ship("putting-x", {"area": "putting", "phase": "setup", "name": "Old", "look": "a", "goal": "b"})
    assert not skill.is_edited
    Skill.ship("putting-x", {"area": "putting", "phase": "setup", "name": "New", "look": "a", "goal": "b"})
    skill.refresh_from_db()
    assert skill.name == "New"


MEASURES = [row for row in SKILL_ROWS if row.get("measure", {}).get("unit")]


def test_a_measure_in_a_unit_has_limits_and_a_step_that_fit_it() -> None:
    for row in MEASURES:
        measure = row["measure"]
        assert measure["unit"] in UNITS and measure["name"][0].islower()
        assert 0 < 5 * measure["step"] <= measure["high"] - measure["low"], "the limits leave room for a change"
        low, high = measure.get("usual", (measure["low"], measure["high"]))
        assert measure["low"] <= low < high <= measure["high"]
        assert measure["unit"] != "%" or (measure["low"] >= 0 and measure["high"] <= 100)


@pytest.mark.parametrize(
    ("skill", "unit", "step", "by_eye"),
    [
        ("stance-width", "cm", 2, False),
        ("weight", "%", 10, True),
        ("finish-hold", "s", 1, False),
    ],
)
@pytest.mark.parametrize("area", ["putting", "chipping"])
def test_the_first_three_measures_are_read_as_finely_as_the_trade_can(
    area: str, skill: str, unit: str, step: int, by_eye: bool
) -> None:
    measure = next(row["measure"] for row in SKILL_ROWS if row["code"] == f"{area}-{skill}")
    assert (measure["unit"], measure["step"], measure.get("by_eye", False)) == (unit, step, by_eye)


def test_a_measure_that_a_new_version_leaves_out_goes(db: None) -> None:
    row = {"code": "putting-x", "area": "putting", "phase": "setup", "name": "X", "look": "a", "goal": "b", "fault": []}
    load_skills([{**row, "measure": {"name": "width", "unit": "cm", "low": 0, "high": 9, "step": 1, "usual": [2, 3]}}])
    assert Skill.objects.get().measured is not None
    load_skills([row])
    skill = Skill.objects.get()
    assert (skill.measure, skill.measured, skill.measure_usual_low, skill.is_edited) == ("", None, None, False)


def test_a_row_that_was_moved_stays_there_and_gets_new_words(db: None) -> None:
    load_catalogue()
    grip = Skill.objects.get(code="putting-grip")
    grip.position = 7
    grip.save()
    rows = [row | {"name": "Hold"} if row["code"] == "putting-grip" else row for row in SKILL_ROWS]
    load_skills(rows)
    grip.refresh_from_db()
    assert (grip.position, grip.name) == (7, "Hold")
