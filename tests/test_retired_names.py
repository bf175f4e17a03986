"""One thing has one name: what was renamed does not come back, neither in the code nor on a screen.

tests/retired.tsv holds a row for each: `identifier` or `phrase`, the retired one, what is said now, and, where the
old one still has a right to stand, the paths in which it may.
"""

import ast
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

import pytest
from django.test import Client

from tests.conftest import Cast
from tests.crawl import crawl

pytestmark = pytest.mark.one_database
Clients = Callable[[str], Client]
ROOT = Path(__file__).parent.parent
CODE = [path for name in ("coachbook", "lessons", "drills", "tests") for path in sorted((ROOT / name).rglob("*.py"))]
MODULES = [path for path in CODE if "migrations" not in path.parts]
TEMPLATES = sorted((ROOT / "templates").rglob("*.*"))


class Retired(NamedTuple):
    """A name or a phrase that is not used any more."""

    kind: str
    old: str
    new: str
    allowed: tuple[str, ...]


def retired(kind: str) -> list[Retired]:
    rows = [line.split("\t") for line in (ROOT / "tests/retired.tsv").read_text().splitlines()[1:]]
    every = [Retired(row[0], row[1], row[2], tuple(row[3].split()) if row[3:] else ()) for row in rows]
    return [row for row in every if row.kind == kind]


def identifiers(tree: ast.AST) -> Iterator[str]:
    """Every name that a module defines, takes or uses."""
    for node in ast.walk(tree):
        match node:
            case ast.Name(id=name) | ast.Attribute(attr=name) | ast.arg(arg=name):
                yield name
            case ast.FunctionDef(name=name) | ast.AsyncFunctionDef(name=name) | ast.ClassDef(name=name):
                yield name
            case ast.alias(name=name, asname=other):
                yield from (*name.split("."), other or "")
            case ast.keyword(arg=str(name)):
                yield name


def strings(tree: ast.AST) -> Iterator[str]:
    """Every text in a module but its docstrings."""
    documented = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
    docstrings = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, documented) and node.body and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docstrings:
            yield node.value


def is_allowed(row: Retired, path: Path) -> bool:
    return path.relative_to(ROOT).as_posix().startswith(row.allowed) if row.allowed else False


def pattern(rows: list[Retired]) -> re.Pattern[str]:
    """Any of the phrases, as whole words."""
    phrases = "|".join(re.escape(row.old) for row in sorted(rows, key=lambda row: -len(row.old)))
    return re.compile(rf"(?<!\w)({phrases})(?!\w)")


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_no_module_uses_a_retired_name(path: Path) -> None:
    used = set(identifiers(ast.parse(path.read_text())))
    assert [row.old for row in retired("identifier") if row.old in used and not is_allowed(row, path)] == []


def test_no_text_in_the_code_or_a_template_holds_a_retired_phrase() -> None:
    rows = {row.old: row for row in retired("phrase")}
    search = pattern(list(rows.values()))
    texts = {path: " ".join(path.read_text().split()) for path in TEMPLATES}
    texts |= {path: "\n".join(strings(ast.parse(path.read_text()))) for path in MODULES if "tests" not in path.parts}
    found = {(path, phrase) for path, text in texts.items() for phrase in search.findall(text)}
    wrong = [
        (path.relative_to(ROOT).as_posix(), phrase) for path, phrase in found if not is_allowed(rows[phrase], path)
    ]
    assert sorted(wrong) == []


@pytest.mark.parametrize("actor", ["student", "guardian", "coach", "manager"])
def test_no_page_says_a_retired_phrase(actor: str, cast: Cast, as_: Clients) -> None:
    search = pattern(retired("phrase"))
    pages = dict(crawl(as_(actor)))
    assert len(pages) > 5
    assert {address: found for address, words in pages.items() if (found := search.findall(words))} == {}


def test_a_planted_name_and_phrase_are_found() -> None:
    tree = ast.parse("def told(x, *, Eyes=1):\n    return book.take_on(put_down=x)")
    assert {"told", "Eyes", "take_on", "put_down"} <= set(identifiers(tree))
    rows = [Retired("phrase", "Somebody walked in", "Walk-in", ())]
    assert pattern(rows).findall("<a>Somebody walked in</a>") == ["Somebody walked in"]


def test_every_row_says_what_is_used_now() -> None:
    rows = retired("identifier") + retired("phrase")
    assert len(rows) > 150 and all(row.old and row.new and row.old != row.new for row in rows)
    assert len({(row.kind, row.old) for row in rows}) == len(rows)
