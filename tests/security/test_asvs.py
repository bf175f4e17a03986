"""OWASP ASVS 5.0.0, levels 1 and 2: every requirement has a test, a reason for a deviation, or does not apply.

`asvs.csv` holds those that apply, `asvs_not_applicable.csv` the others with the reason; a reason that the code could
break is held by a test, too. The titles are ours: the requirement's own words stand in the source, under its id.
"""

import csv
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from tests.security.asserts import ROOT, problem_of

FOLDER = Path(__file__).parent
# Of level 3, those that matter where the records of children are kept.
OF_LEVEL_3 = {f"v5.0.0-{number}" for number in "1.2.10 3.4.8 5.2.4 5.2.6 6.3.8 8.3.2 14.2.7 14.2.8".split()}
# How many rows wait for work that has begun, and how many deviate for good: neither may grow.
PENDING = 0
DEVIATIONS = {1: 4, 2: 13, 3: 1}

Row = dict[str, str]


@cache
def source() -> dict[str, int]:
    """The level of each requirement by its id."""
    lines = (FOLDER / "asvs_levels.tsv").read_text().splitlines()
    sections = [line.split("\t") for line in lines if not line.startswith("#")]
    return {
        f"v5.0.0-{section}.{number}": int(level)
        for section, levels in sections
        for number, level in enumerate(levels, start=1)
    }


@cache
def rows(name: str) -> list[Row]:
    with (FOLDER / name).open(newline="") as file:
        return list(csv.DictReader(file, strict=True))


def applicable() -> list[Row]:
    return rows("asvs.csv")


def not_applicable() -> list[Row]:
    return rows("asvs_not_applicable.csv")


def is_pending(row: Row) -> bool:
    return row["deviation"].startswith("pending:")


def named_in(row: Row) -> list[str]:
    return [name.strip() for name in row["test"].split(";") if name.strip()]


def test_the_levels_are_those_of_the_source() -> None:
    """345 requirements: 70 of level 1, 183 of level 2, 92 of level 3."""
    assert Counter(source().values()) == {1: 70, 2: 183, 3: 92}


def test_every_requirement_of_levels_1_and_2_stands_in_one_of_the_tables_once() -> None:
    ids = Counter(row["id"] for row in [*applicable(), *not_applicable()])
    wanted = {name for name, level in source().items() if level < 3} | OF_LEVEL_3
    assert {name: times for name, times in ids.items() if times > 1} == {}
    assert set(ids) == wanted


def test_each_level_is_the_one_that_the_source_gives() -> None:
    assert [row["id"] for row in applicable() if row["level"] != str(source()[row["id"]])] == []


def test_rows_stand_in_the_order_of_the_source() -> None:
    order = list(source())
    for table in (applicable(), not_applicable()):
        places = [order.index(row["id"]) for row in table]
        assert places == sorted(places)


def test_every_row_has_a_title_and_a_test_or_a_reason() -> None:
    assert [row["id"] for row in applicable() if not row["title"].strip()] == []
    assert [row["id"] for row in applicable() if not (named_in(row) or row["deviation"].strip())] == []
    assert [row["id"] for row in not_applicable() if len(row["reason"].split()) < 3] == []


def test_a_reason_says_something() -> None:
    reasons = [row for row in applicable() if row["deviation"]]
    assert [row["id"] for row in reasons if len(row["deviation"].removeprefix("pending:").split()) < 4] == []


def test_every_named_test_exists_and_asserts() -> None:
    named = {name for row in [*applicable(), *not_applicable()] for name in named_in(row)}
    assert sorted(filter(None, map(problem_of, named))) == []


def test_pending_rows_and_deviations_do_not_grow() -> None:
    """Both numbers are exact, so that a row which is filled in lowers them here, too."""
    pending = [row for row in applicable() if is_pending(row)]
    deviating = Counter(int(row["level"]) for row in applicable() if row["deviation"] and not is_pending(row))
    assert len(pending) == PENDING
    assert {level: deviating[level] for level in DEVIATIONS} == DEVIATIONS


# --- The check itself: does it notice? ----------------------------------------------------------

PLANTED = """
import pytest
from tests.security import planted_helpers
from tests.security.planted_helpers import check, idle, loop

def test_itself(): assert 1 + 1 == 2
def test_raises():
    with pytest.raises(ValueError): int("x")
def test_expects(page): expect(page.locator("p")).to_be_visible()
def test_by_a_helper(): own()
def own(): check()
def test_by_a_helper_of_a_module(): planted_helpers.check()
class TestGroup:
    def test_in_a_class(self): assert own is not None

def test_nothing(): own_idle()
def own_idle(): idle()
def test_true(): assert True
def test_round_and_round(): loop()
def test_expected_by_name_only(): expected = 1
helper = 1
"""
HELPERS = "def check(): assert open\ndef idle(): pass\ndef loop(): again()\ndef again(): loop()\n"


@pytest.fixture
def planted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A file of tests beside its helpers, in a project of their own."""
    folder = tmp_path / "tests/security"
    folder.mkdir(parents=True)
    (folder / "test_planted.py").write_text(PLANTED)
    (folder / "planted_helpers.py").write_text(HELPERS)
    monkeypatch.setattr("tests.security.asserts.ROOT", tmp_path)
    return "tests/security/test_planted.py"


@pytest.mark.parametrize(
    "name",
    ["test_itself", "test_raises", "test_expects", "test_by_a_helper", "test_by_a_helper_of_a_module",
     "TestGroup::test_in_a_class"],
)  # fmt: skip
def test_what_asserts_is_found(name: str, planted: str) -> None:
    assert problem_of(f"{planted}::{name}") == ""


@pytest.mark.parametrize(
    ("name", "problem"),
    [
        ("test_nothing", "asserts nothing"),
        ("test_true", "asserts nothing"),
        ("test_round_and_round", "asserts nothing"),
        ("test_expected_by_name_only", "asserts nothing"),
        ("test_gone", "no such test"),
        ("test_in_a_class", "no such test"),
        ("TestGroup::test_gone", "no such test"),
        ("own", "no such test"),
        ("helper", "no such test"),
    ],
)
def test_what_asserts_nothing_or_is_not_there_is_found(name: str, problem: str, planted: str) -> None:
    assert problem in problem_of(f"{planted}::{name}")


def test_a_file_that_is_not_there_is_found() -> None:
    assert "no such test" in problem_of("tests/test_gone.py::test_gone")
    assert (ROOT / "tests/security/test_asvs.py").is_file()
