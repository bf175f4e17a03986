"""The catalogue that ships: whole, in markers, fit for a student's eyes; and what an academy rewords stays."""

import re
from collections.abc import Iterator
from typing import Any

import pytest

from coachbook.accounts.models import Area
from drills.load import CATALOGUE as DRILLS
from drills.load import load_drills
from drills.models import Drill
from lessons.load import CATALOGUE as SKILLS
from lessons.load import load_catalogue
from lessons.models import Fault, Skill
from lessons.shipped import tables
from lessons.wording import COACH, MARKER, render

SKILL_ROWS = list(tables(SKILLS, "skill"))
FAULT_ROWS = [fault for skill in SKILL_ROWS for fault in skill["fault"]]
DRILL_ROWS = list(tables(DRILLS, "drill"))
NOT_WORDED = {"code", "area", "phase", "dose_unit"}
BARE = re.compile(r"\b(lead|trail|left|right|open|closed|push|pull)(s|es|ing|ed)?\b", re.IGNORECASE)
NOT_FOR_STUDENTS = re.compile(r"\b(fault|faults|marked|bad|badly|wrong)\b", re.IGNORECASE)
DRILL_TEXTS = ["purpose", "equipment", "setup", "feel", "mark", "mistake", "caution"]
NUMBER = re.compile(r"\d|\b(one|two|three|four|five|six|seven|eight|nine|ten|twelve|every|all)\b", re.IGNORECASE)


def texts(row: dict[str, Any]) -> Iterator[str]:
    """Every wording of a row, its own and those of its steps."""
    for name, value in row.items():
        if name not in NOT_WORDED:
            yield from (
                [value]
                if isinstance(value, str)
                else filter(
                    lambda v: isinstance(v, str),
                    value if isinstance(value, list) and name != "costs" and name != "trains" else [],
                )
            )


def codes(rows: list[dict[str, Any]]) -> list[str]:
    return [row["code"] for row in rows]


@pytest.mark.parametrize("row", SKILL_ROWS + FAULT_ROWS + DRILL_ROWS, ids=codes(SKILL_ROWS + FAULT_ROWS + DRILL_ROWS))
def test_sides_are_said_with_markers_only(row: dict[str, Any]) -> None:
    for text in texts(row):
        assert not BARE.search(MARKER.sub("", text)), text
        assert {marker.lower() for marker in MARKER.findall(text)} <= set(COACH), text


@pytest.mark.parametrize("row", FAULT_ROWS + DRILL_ROWS, ids=codes(FAULT_ROWS + DRILL_ROWS))
def test_a_student_reads_what_to_do_and_never_what_is_bad(row: dict[str, Any]) -> None:
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


@pytest.mark.parametrize("row", FAULT_ROWS, ids=codes(FAULT_ROWS))
def test_a_fault_costs_something_or_is_a_house_wish(row: dict[str, Any]) -> None:
    assert set(row["costs"]) <= set(Fault.Cost.values)
    assert bool(row["costs"]) != row.get("house_wish", False)


@pytest.mark.parametrize("row", DRILL_ROWS, ids=codes(DRILL_ROWS))
def test_a_drill_is_written_out_in_full(row: dict[str, Any]) -> None:
    assert len(row["steps"]) >= 4
    assert all(row[name].strip() for name in DRILL_TEXTS)
    assert NUMBER.search(row["mark"]), "a mark can be measured"
    assert (row["child_minutes"] in range(5, 11)) if row["game"] else row["child_minutes"] == 0
    assert row["trains"] and set(row["trains"]) <= set(codes(SKILL_ROWS))


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
    skill = Skill.ship("putting-x", {"area": "putting", "phase": "setup", "name": "Old", "look": "a", "sound": "b"})
    assert not skill.is_edited
    Skill.ship("putting-x", {"area": "putting", "phase": "setup", "name": "New", "look": "a", "sound": "b"})
    skill.refresh_from_db()
    assert skill.name == "New"
