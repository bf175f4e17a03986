"""Single values of the files that carry a library or an academy: what is stored of each, and what is refused."""

import json
import math
from datetime import UTC, date, datetime, time
from decimal import Decimal
from typing import Any
from uuid import UUID

import pytest

from coachbook.rights.academy_file import cells
from coachbook.rights.academy_file.cells import CellProblem, Column, Kind
from drills.library.carry import checks, reading
from drills.library.carry.checks import Check, InvalidValue
from drills.library.carry.reading import FileProblem, read_file
from drills.library.carry.shown import shown

# --- A library ------------------------------------------------------------------------------------


def kept(check: Check, *values: Any) -> list[Any]:
    """What is stored of each value; a refusal as its message."""
    found = []
    for value in values:
        try:
            found.append(check(value))
        except InvalidValue as problem:
            found.append(problem)
    return found


def refusals(check: Check, *values: Any) -> list[str]:
    """The messages of values each of which is refused."""
    return [
        str(problem) if isinstance(problem, InvalidValue) else f"stored: {problem}" for problem in kept(check, *values)
    ]


def test_words_are_text_of_some_length_with_known_markers() -> None:
    check = checks.words(10)
    good = [" a\r\nb ", "a" * 10, "  " + "a" * 10 + " ", "{Lead} arm", "ä\n💥"]
    assert kept(check, *good) == ["a\nb", "a" * 10, "a" * 10, "{Lead} arm", "ä\n💥"]
    assert refusals(check, 3, None, ["a"]) == ["Write words in quotes here."] * 3
    assert refusals(check, "", " \n ") == ["Write something here."] * 2
    assert refusals(check, "a" * 11) == ["11 letters are too many: 10 at most."]
    assert (
        refusals(check, *[f"a{letter}b" for letter in "\x00\t\x0b\x1f\x7f\ud800\udfff"])
        == ["A character in it cannot be shown. Type this text again."] * 7
    )
    [message] = refusals(check, "{leg} x")
    assert message.startswith("{leg} is not known. Use only {") and "{lead}" in message
    assert kept(checks.words(3, optional=True), "", " ", "abc") == ["", "", "abc"]


def test_whole_numbers_and_others_lie_within_their_limits() -> None:
    whole, number = checks.whole(-2, 3), checks.number(-0.5, 2)
    assert kept(whole, -2, 0, 3) == [-2, 0, 3]
    assert refusals(whole, -3, 4, 1.0, True, "1", None) == ["Write a whole number from -2 to 3."] * 6
    assert kept(number, -0.5, 2, 1.25) == [-0.5, 2.0, 1.25] and type(kept(number, 2)[0]) is float
    wrong = [-0.6, 2.1, math.nan, math.inf, True, "1", None, 10**400]
    assert refusals(number, *wrong) == ["Write a number from -0.5 to 2."] * len(wrong)
    assert [checks.isfinite_number(value) for value in (1.5, math.inf, math.nan, 10**400)] == [
        True,
        False,
        False,
        False,
    ]


def test_a_code_has_one_to_sixty_letters_and_may_be_left_out_where_it_may() -> None:
    assert kept(checks.code, "a", "Ball-gate_2", "x" * 60) == ["a", "Ball-gate_2", "x" * 60]
    wrong = ["", "x" * 61, "a b", "ä", 3, None, "a\n"]
    assert refusals(checks.code, *wrong) == ["A code has 1 to 60 letters (a to z), digits and hyphens."] * len(wrong)
    assert kept(checks.code_or_none, "", "gate") == ["", "gate"] and "1 to 60" in refusals(checks.code_or_none, None)[0]


def test_yes_or_no_nothing_and_one_of_some_words() -> None:
    assert kept(checks.yes_no, True, False) == [True, False]
    assert refusals(checks.yes_no, 1, 0, "true", None) == ["Write true or false."] * 4
    maybe = checks.nothing_or(checks.whole(0, 9))
    assert kept(maybe, None, 0, 9) == [None, 0, 9] and "whole number" in refusals(maybe, 10)[0]
    one = checks.one_of(iter(["green", "sand"]))
    assert kept(one, "green", "sand") == ["green", "sand"]
    assert refusals(one, "snow") == ["“snow” is not known. Write one of: green, sand."]
    assert "[1] is not known" not in refusals(one, 1)[0] and refusals(one, True, ["green"])[0].startswith("“True”")


def test_a_list_has_so_many_values_and_its_message_says_which_is_wrong() -> None:
    check = checks.list_of(checks.whole(0, 9), least=1, most=3)
    assert kept(check, [3], [3, 1, 1]) == [[3], [3, 1, 1]]
    assert refusals(check, [], [1, 2, 3, 4]) == ["It has 0; 1 to 3 can be stored.", "It has 4; 1 to 3 can be stored."]
    assert refusals(check, (1,), "1", None) == ["Write a list in square brackets."] * 3
    assert refusals(check, [1, 10]) == ["number 2: Write a whole number from 0 to 9."]
    loose = checks.list_of(checks.whole(0, 9), most=3, in_order=False)
    assert refusals(loose, [1, 2, 3, 4]) == ["It has 4; 0 to 3 can be stored."]
    assert kept(loose, [], [3, 1, 2]) == [[], [1, 2, 3]] and refusals(loose, [1, 1]) == ["One stands here twice."]


def document(**changes: Any) -> dict[str, Any]:
    return {"format": "coachbook library", "version": 1, "drills": [{}]} | changes


def refused_file(content: Any) -> str:
    with pytest.raises(FileProblem) as problem:
        read_file(content if isinstance(content, bytes) else json.dumps(content).encode())
    return str(problem.value)


def test_a_file_is_a_library_of_this_version_with_rows() -> None:
    right = [
        document(),
        document(units=reading.UNITS, academy="Sedge Hollow", skills=[], faults=[{}]),
        document(drills=[{}] * 2000),
    ]
    for content in right:
        assert read_file(json.dumps(content).encode()) == content
        assert read_file(b"\xef\xbb\xbf" + json.dumps(content).encode()) == content, "with the mark of its encoding"
    assert refused_file([document()]) == refused_file(document(format="x")) == refused_file({"version": 1})
    assert "holds no library" in refused_file(document(format=None))
    for version in (2, 0, True, None, "1"):
        assert refused_file(document(version=version)) == f"This file is of version {version}; only 1 can be read."
    assert (
        refused_file(document(units={"length": "ft"}))
        == "“units” must be these: length in m, drawing in cm, time in min."
    )
    assert refused_file(document(colours=[])).startswith("“colours” is no part of a library. Its parts are format, ")
    assert refused_file(document(faults={})) == "“faults” must be a list of rows, in square brackets."
    assert refused_file(document(drills=[{}] * 2000, skills=[{}])).startswith("The file has 2001 rows; 2000 at most")
    assert refused_file(document(drills=[])) == "This library has no rows: nothing can be taken in."


def test_what_cannot_be_read_is_said_with_its_place() -> None:
    assert refused_file(b'{\n "format": x}').startswith("Line 2, column 12: the file cannot be read on from here.")
    assert refused_file(b'{"a": 1, "b": 2, "b": 3}') == "“b” stands twice in one row. Keep one of the two."
    assert "not a text file" in refused_file(b"\xff\xfe\x00") and "nested too deep" in refused_file(b"[" * 100_000)
    assert "far too long" in refused_file(b'{"version": ' + b"1" * 5000 + b"}")
    exact = json.dumps(document(academy="")).encode()
    largest = json.dumps(document(academy="x" * (1_000_000 - len(exact)))).encode()
    assert len(largest) == 1_000_000 and read_file(largest)["version"] == 1
    assert refused_file(largest + b" ") == "The file is too large: 1,000,001 bytes. 1,000,000 bytes at most."


@pytest.mark.parametrize("shorten", [reading.shortened, cells.shortened])
def test_a_message_quotes_forty_letters_at_most(shorten: Any) -> None:
    assert [shorten("x" * number) for number in (39, 40, 41, 400)] == [
        "x" * 39,
        "x" * 40,
        "x" * 39 + "…",
        "x" * 39 + "…",
    ]


def test_a_value_is_shown_as_a_person_reads_it() -> None:
    values = [True, False, None, "", 0, 1, 0.5, 2.0, "{lead} arm", [], ["a", True], {}, {"to_x": 3, "words": ""}]
    assert [shown(value) for value in values] == [
        *("yes", "no", "none", "none", "0", "1", "0.5", "2", "lead arm", "none", "a; yes", "none"),
        "to x: 3; words: none",
    ]


# --- An academy -----------------------------------------------------------------------------------

KEY = UUID("12345678-1234-4234-8234-123456789012")
KEPT: list[tuple[Kind, Any, Any]] = [
    (cells.TEXT, "Calm, “soft”\nhands", "Calm, “soft”\nhands"),
    (cells.WHOLE_NUMBER, -12, -12),
    (cells.DECIMAL, Decimal("34.50"), Decimal("34.50")),
    (cells.FLOAT, 1.5e-05, 1.5e-05),
    (cells.YES_NO, True, "yes"),
    (cells.YES_NO, False, "no"),
    (cells.DAY, date(2026, 6, 30), "2026-06-30"),
    (cells.TIME, time(17, 30), "17:30:00"),
    (cells.MOMENT, datetime(2026, 6, 30, 17, 30, tzinfo=UTC), "2026-06-30T17:30:00Z"),
    (cells.KEY, KEY, str(KEY)),
    (cells.DOCUMENT, {"ä": [1, None, "\ud800"]}, '{"ä": [1, null, "\\ud800"]}'),
]


def column(kind: Kind, **values: Any) -> Column:
    return Column("name", "name", kind, **values)


def problem(of: Column, cell: str) -> str:
    with pytest.raises(CellProblem) as found:
        of.value(cell)
    return str(found.value)


def test_each_kind_of_value_is_written_and_read_again_as_it_was() -> None:
    for kind, value, cell in KEPT:
        assert column(kind).cell(value) == cell, kind.name
        assert column(kind).value(str(cell)) == value, kind.name
        assert type(column(kind).value(str(cell))) is type(value)
    assert {kind for kind, _, _ in KEPT} == {*cells.KINDS}
    summer = datetime.fromisoformat("2026-06-30T18:30:00+01:00")
    assert column(cells.MOMENT).cell(summer) == "2026-06-30T17:30:00Z"
    assert column(cells.MOMENT).value("2026-06-30T18:30:00+01:00") == summer


def test_a_cell_that_holds_no_such_value_is_refused_with_what_it_looks_like() -> None:
    wrong: dict[Kind, list[str]] = {
        cells.WHOLE_NUMBER: ["", "1.5", "1e3", " 1", "１", "--1", "1" * 20, "ten"],
        cells.DECIMAL: ["", "1,5", "NaN", "Infinity", ".5", "1.", "0x1"],
        cells.FLOAT: ["", "inf", "nan", "1e999", "1_0"],
        cells.YES_NO: ["", "Yes", "true", "1"],
        cells.DAY: ["", "30.6.2026", "2026-13-01"],
        cells.TIME: ["", "25:00:00"],
        cells.MOMENT: ["", "2026-06-30T17:30:00", "now"],
        cells.KEY: ["", "123"],
        cells.DOCUMENT: ["", "{", "[" * 100_000],
    }
    for kind, words in wrong.items():
        for word in words:
            quoted = cells.shortened(word)
            assert problem(column(kind), word) == f"“{quoted}” is no {kind.name} ({kind.says}).", word
    assert column(cells.WHOLE_NUMBER).value("-" + "1" * 19) < 0 and column(cells.FLOAT).value("-2E+3") == -2000


def test_nothing_is_told_from_empty_words_and_words_from_nothing() -> None:
    """An apostrophe in front of what would else be nothing, or be taken for one."""
    optional, needed = column(cells.TEXT, is_optional=True), column(cells.TEXT)
    written = {value: optional.cell(value) for value in (None, "", "'", "''", "'a", "a")}
    assert written == {None: "", "": "'", "'": "''", "''": "'''", "'a": "'a", "a": "a"}
    assert {value: optional.value(str(cell)) for value, cell in written.items()} == {value: value for value in written}
    assert (needed.cell(""), needed.cell("'"), needed.value(""), needed.value("'")) == ("", "'", "", "'")
    number = column(cells.WHOLE_NUMBER, is_optional=True)
    assert (number.cell(None), number.value(""), number.cell(0), number.value("0")) == ("", None, 0, 0)


def test_what_a_column_has_no_room_for_is_refused() -> None:
    words, number = column(cells.TEXT, longest=3), column(cells.WHOLE_NUMBER, limits=(-2, 9))
    assert (words.value("abc"), number.value("-2"), number.value("9")) == ("abc", -2, 9)
    assert problem(words, "abcd") == "4 letters; 3 at most."
    assert [problem(number, cell) for cell in ("-3", "10")] == [f"{n} does not lie between -2 and 9." for n in (-3, 10)]
    assert column(cells.WHOLE_NUMBER, longest=3).value("12345") == 12345, "letters are counted of words alone"
