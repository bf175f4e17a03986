"""Days are made in the academy's zone, and whatever makes one runs at the clocks of `tests/clocks.py`."""

import ast
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest

from tests.clocks import ACADEMY, CLOCKS, WORST, each_case_once, until_midnight_is_past
from tests.dated import TestCode

ROOT = Path(__file__).resolve().parent.parent
MAKE = """
def this_month():
    return timezone.localdate(timezone.now()).month

def long_ago():
    return date(2020, 1, 1)
"""
CONFTEST = """
@pytest.fixture
def lesson():
    return Lesson(starts_at=timezone.now() - timedelta(days=3))

@pytest.fixture
def student():
    return Student(since=date(2020, 1, 1))
"""
TESTS = """
from tests.make import long_ago, this_month

class Page:
    def send(self):
        return {"day": academy.today(timezone.now())}

def open_page():
    return Page()

def test_itself():
    assert academy.today(timezone.now())

def test_by_counting_days():
    assert timezone.now() + timedelta(days=2)

def test_in_a_helper_of_another_module():
    assert this_month()

def test_in_a_fixture(lesson):
    assert lesson

def test_in_a_class_behind_a_helper():
    assert open_page().send()

def test_none(student):
    assert long_ago()

def test_a_moment_is_no_day():
    finish(at=timezone.now())

def test_another_days_moment_is_not_the_clock():
    assert academy.today(moment)
"""
FOR_ALL = """
@pytest.fixture(autouse=True)
def begun():
    begin(academy.today(timezone.now()))

def test_in_what_all_use():
    assert True
"""


def test_what_handles_dates_is_found_wherever_the_day_is_made() -> None:
    code = TestCode({"tests.make": MAKE, "tests.conftest": CONFTEST, "tests.test_x": TESTS, "tests.test_y": FOR_ALL})
    found = {name for name in code.modules["tests.test_x"].definitions if code.makes_days("tests.test_x", name)}
    assert {name for name in found if name.startswith("test_")} == {
        "test_itself",
        "test_by_counting_days",
        "test_in_a_helper_of_another_module",
        "test_in_a_fixture",
        "test_in_a_class_behind_a_helper",
    }
    assert code.makes_days("tests.test_y", "test_in_what_all_use")


@pytest.mark.parametrize("path", ["test_derived.py", "test_reopen_focus.py", "test_score_views.py"])
def test_modules_that_count_days_run_at_the_clocks(path: str) -> None:
    code, module = TestCode.of(ROOT / "tests"), f"tests.{path.removesuffix('.py')}"
    tests = [name for name in code.modules[module].definitions if name.startswith("test_")]
    assert sum(code.makes_days(module, test) for test in tests) > len(tests) / 3


def test_each_clock_is_what_its_name_says() -> None:
    """The days of the changes: tz database, Europe/Dublin, last Sundays of March and October."""
    offsets = {name: [hours_ahead(at, side) for side in (-1, 1)] for name, at in CLOCKS.items()}
    assert offsets["forward-0030"] == offsets["forward-2330"] == [0, 1]
    assert offsets["back-0030"] == offsets["back-2330"] == [1, 0]
    for name, at in CLOCKS.items():
        assert f"{at.astimezone(UTC):%H%M}" == name[-4:]
        assert at.date() != at.astimezone(UTC).date(), "the machine is in another day"
    assert {f"{at.astimezone(UTC):%d %B}" for at in CLOCKS.values()} >= {"29 February", "31 December"}


def hours_ahead(at: datetime, days: int) -> float:
    """How far the academy is ahead of UTC at noon of the day before or after."""
    noon = at.astimezone(UTC).replace(hour=12) + timedelta(days=days)
    offset = noon.astimezone(ACADEMY).utcoffset()
    assert offset is not None
    return offset / timedelta(hours=1)


@pytest.mark.parametrize(
    "now, seconds",
    [
        ("2026-12-01T23:57:59", 0),
        ("2026-12-01T23:58:01", 119),
        ("2026-12-01T23:59:59", 1),
        ("2026-12-02T00:00:00", 0),
        ("2026-07-01T22:59:00", 60),  # midnight in Dublin
        ("2026-07-01T23:59:00", 60),
        ("2026-07-01T21:59:00", 0),
    ],
)
def test_no_test_begins_just_before_midnight(now: str, seconds: int) -> None:
    assert until_midnight_is_past(datetime.fromisoformat(now).replace(tzinfo=UTC)) == timedelta(seconds=seconds)


class Case:
    """One case of a test at one clock, as pytest names it."""

    def __init__(self, test: str, case: int, clock: str) -> None:
        self.nodeid = f"t.py::{test}[{case}-{clock}]"
        self.callspec = SimpleNamespace(params={"clock": clock})


def test_the_cases_of_a_test_take_turns_at_its_clocks() -> None:
    here, there = WORST, "back-0030"
    items = [Case("many", case, clock) for case in (1, 2, 3) for clock in (here, there)]
    items += [Case("one", 1, clock) for clock in (here, there)]
    many = [f"many[1-{here}]", f"many[2-{there}]", f"many[3-{here}]"]
    chosen = each_case_once(items)  # type: ignore[arg-type]
    assert sorted(item.nodeid.removeprefix("t.py::") for item in chosen) == [
        *many,
        f"one[1-{there}]",
        f"one[1-{here}]",
    ]


# --- How a day is made --------------------------------------------------------------------------

WRONG = """
day = date.today()
day = timezone.localdate()
day = timezone.now().date()
day = (sheet.issued_at + timedelta(days=30)).date()
lesson.starts_at = timezone.now() - timedelta(days=days_ago)
"""
RIGHT = """
def day(academy, at):
    timezone.localdate(at)
    until = timezone.now() + timedelta(minutes=5)
    return academy.today(timezone.now()) - timedelta(days=30)
"""


def other_days(source: str) -> list[int]:
    """The lines that make a day in another zone than the academy's, or count days by 24 hours."""
    return sorted({node.lineno for node in ast.walk(ast.parse(source)) if is_another_day(node)})


def is_another_day(node: ast.AST) -> bool:
    match node:
        case ast.Call(func=ast.Attribute(value=ast.Name(id="date" | "datetime"), attr="today")):
            return True
        case ast.Call(func=ast.Attribute(attr="localdate"), args=[], keywords=[]):
            return True
        case ast.Call(func=ast.Attribute(value=ast.BinOp() | ast.Call(func=ast.Attribute(attr="now")), attr="date")):
            return True
        case ast.BinOp(
            left=ast.Call(func=ast.Attribute(attr="now")),
            op=ast.Sub(),
            right=ast.Call(func=ast.Name(id="timedelta"), keywords=[ast.keyword(arg="days")]),
        ):
            return True
    return False


def read_when_imported(source: str) -> list[int]:
    """The lines of a module that read the clock as soon as it is imported: too early, hours before a test is run."""
    outside = [node for node in ast.parse(source).body if not isinstance(node, ast.FunctionDef | ast.ClassDef)]
    outside += [each for node in ast.parse(source).body for each in getattr(node, "decorator_list", ())]
    calls = (part for node in outside for part in ast.walk(node) if isinstance(part, ast.Call))
    return [part.lineno for part in calls if getattr(part.func, "attr", "") in ("now", "today", "localdate")]


def modules() -> Iterator[Path]:
    for folder in ("coachbook", "lessons", "drills", "tests"):
        yield from (path for path in (ROOT / folder).rglob("*.py") if "migrations" not in path.parts)


def test_a_day_is_made_in_the_academys_zone_everywhere() -> None:
    assert other_days(WRONG) == [2, 3, 4, 5, 6] and other_days(RIGHT) == []
    found = {str(path.relative_to(ROOT)): other_days(path.read_text(encoding="utf-8")) for path in modules()}
    assert {path: lines for path, lines in found.items() if lines} == {}


def test_no_module_reads_the_clock_when_it_is_imported() -> None:
    assert read_when_imported("TODAY = timezone.now().date()\n\n@mark(date.today())\ndef f():\n    now()\n") == [1, 3]
    found = {str(path.relative_to(ROOT)): read_when_imported(path.read_text(encoding="utf-8")) for path in modules()}
    assert {path: lines for path, lines in found.items() if lines} == {}
