"""What must hold of the files themselves."""

import ast
import codecs
import os
import re
from fnmatch import fnmatch
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
TOP = "README.md DEVELOPERS.md manage.py requirements.txt coachbook lessons drills templates static tests".split()
CODE = ("manage.py", "coachbook/", "lessons/", "drills/")
EXEMPTION = re.compile(r"# (?:type: ignore|noqa)(.*)")
# Codes in brackets or after a colon, then words.
REASON = re.compile(r"(?:\[[\w, -]+\]|: [A-Z]+\d+(?:, ?[A-Z]+\d+)*)\s+(?:# ?|- )\w.{7,}")
# Names that belong in no file, this one among them: hence the cipher.
FOREIGN = "pynhqr naguebcvp bcranv tcg pungtcg pbcvybg yyz jbex/funerq".split()
FOREIGN_NAME = re.compile(r"\b(?:" + "|".join(codecs.decode(name, "rot13") for name in FOREIGN) + r")\b", re.I)


def files(root=ROOT):
    """The files of the project by name: all but those that .gitignore leaves out. A copy without git has the same."""
    ignored = [".git", *(line.rstrip("/") for line in (root / ".gitignore").read_text().splitlines())]

    def is_ours(name):
        return not any(fnmatch(name, pattern) for pattern in ignored)

    found = []
    for folder, folders, names in os.walk(root):
        folders[:] = filter(is_ours, folders)
        found += [(Path(folder) / name).relative_to(root).as_posix() for name in filter(is_ours, names)]
    return sorted(found)


def code():
    """The modules that people wrote and run, as name and text; migrations are written by Django."""
    names = [name for name in files() if name.startswith(CODE) and name.endswith(".py")]
    return [(name, (ROOT / name).read_text()) for name in names if "/migrations/" not in name]


def test_the_visible_top_level():
    visible = {name.split("/")[0] for name in files() if not name.startswith(".")}
    assert visible == set(TOP)


def test_exemptions_are_few_and_have_a_reason():
    found = [(name, line.strip()) for name, text in code() for line in text.splitlines() if EXEMPTION.search(line)]
    assert [line for line in found if not REASON.fullmatch(EXEMPTION.search(line[1])[1])] == []
    assert len(found) <= 15


@pytest.mark.parametrize(
    "line, has_reason",
    [
        ("# type: ignore[misc]  # the stubs know the manager by another name", True),
        ("# noqa: F401 - read by the templates", True),
        ("# noqa: F401", False),
        ("# type: ignore[misc]", False),
        ("# type: ignore  # the code is missing", False),
    ],
)
def test_what_counts_as_a_reason(line, has_reason):
    assert bool(REASON.fullmatch(EXEMPTION.search(line)[1])) == has_reason


def test_no_file_names_what_does_not_belong_to_the_project():
    contents = {name: (ROOT / name).read_bytes() for name in files()}
    texts = {name: f"{name}\n{data.decode()}" for name, data in contents.items() if b"\0" not in data}
    assert [name for name, text in texts.items() if FOREIGN_NAME.search(text)] == []


def test_modules_are_short():
    assert {name: lines for name, text in code() if (lines := text.count("\n")) >= 350} == {}


def test_functions_are_short():
    functions = (ast.FunctionDef, ast.AsyncFunctionDef)
    lengths = {
        f"{name}:{node.name}": node.end_lineno - node.lineno + 1
        for name, text in code()
        for node in ast.walk(ast.parse(text))
        if isinstance(node, functions)
    }
    assert {name: length for name, length in lengths.items() if length > 40} == {}


def test_the_files_of_a_copy_without_git(tmp_path):
    (tmp_path / ".gitignore").write_text(".venv/\n.data\n*.pyc\n")
    for name in (".venv/a.py", ".data/b", ".git/c", "d/e.pyc", "d/f.py", "g.py", ".ci/run"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).touch()
    assert files(tmp_path) == [".ci/run", ".gitignore", "d/f.py", "g.py"]


def test_what_is_ignored_is_said_by_name_alone():
    names = (ROOT / ".gitignore").read_text().split("\n")
    assert [name for name in names if "/" in name.rstrip("/") or name.startswith(("!", "#"))] == []
