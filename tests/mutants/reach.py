"""Which tests run which lines, found by running each test once without a fault; kept until a file changes."""

import hashlib
import json
import os
import shutil
import sys
from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from itertools import accumulate
from pathlib import Path
from typing import Any

from tests.mutants.children import Run, in_children
from tests.mutants.faults import Mutant
from tests.mutants.targets import ROOT, Group

KEPT = ROOT / ".data" / "mutants"
BUDGET = 120  # seconds of processor time for the tests of one fault: what only later ones could catch survives
EMPTY_DATABASE = "test.sqlite3"
APART = ("tests/browser", "tests/test_mutants.py")


@dataclass
class Reach:
    """The tests that run each line of a file, and the seconds of processor time that each takes."""

    lines: dict[str, dict[int, set[str]]]
    seconds: dict[str, float]
    failed: list[str]

    def tests_of(self, mutant: Mutant, first: str = "") -> dict[str, float]:
        """The tests that meet a fault, each with its limit: those of `first`, then the fastest, up to the budget.

        What a file's tests share is made by the first of them that runs: any may take as long as the slowest one.
        """
        lines = self.lines.get(mutant.path, {})
        found = {test for line, tests in lines.items() if not mutant.reach or line in mutant.reach for test in tests}
        ordered = sorted(found, key=lambda test: (not (first and test.startswith(first)), self.seconds[test], test))
        until_now = accumulate(self.seconds[test] for test in ordered)
        return {test: self.limit(test) for test, sum_ in zip(ordered, until_now, strict=True) if sum_ <= BUDGET}

    def limit(self, test: str) -> float:
        """The seconds of processor time after which a test hangs."""
        return 20 + 3 * self.slowest[file_of(test)]

    @property
    def slowest(self) -> dict[str, float]:
        """The slowest test of each file."""
        slowest: dict[str, float] = defaultdict(float)
        for test, seconds in self.seconds.items():
            slowest[file_of(test)] = max(slowest[file_of(test)], seconds)
        return slowest


def file_of(test: str) -> str:
    return test.split("::")[0]


def find_reach(groups: list[Group], only: Collection[str] = ()) -> Reach:
    """What was kept of the files that are as they were, and the others run again; `only` names the test files."""
    measured = sorted({str(path) for group in groups for path in group.paths})
    every = {test: KEPT / f"{key}.json" for test, key in keys(measured).items()}
    kept = {test: path for test, path in every.items() if not only or test in only}
    KEPT.mkdir(parents=True, exist_ok=True)
    for old in set(KEPT.glob("*.json")) - set(every.values()):
        old.unlink()
    missing = [test for test, path in kept.items() if not path.exists()]
    for number, (test, ending) in enumerate(in_children(missing, lambda test: measure(test, measured)), 1):
        print(f"lines of {number} of {len(missing)} test files: {test}", flush=True)
        if ending.made is None or ending.made["code"] not in (0, 1, 5):
            sys.exit(f"{test} cannot be run:\n{ending.printed}")
        kept[test].write_text(json.dumps(ending.made))
    return merged([json.loads(path.read_text()) for path in kept.values()])


def keys(measured: list[str]) -> dict[str, str]:
    """The test files, each with a digest of all on which its lines depend."""
    tests = [path for path in sorted(ROOT.glob("tests/**/test_*.py")) if not name_of(path).startswith(APART)]
    program = [path for folder in ("coachbook", "lessons", "drills") for path in sorted(ROOT.glob(f"{folder}/**/*.py"))]
    helpers = [path for path in sorted(ROOT.glob("tests/**/*.py")) if not path.name.startswith("test_")]
    common = [path.read_bytes() for path in program + helpers if not name_of(path).startswith("tests/mutants/")]
    common.append(" ".join(sorted(name_of(Path(path)) for path in measured)).encode())  # the same in a copy elsewhere
    return {name_of(test): hashlib.sha256(b"\0".join([*common, test.read_bytes()])).hexdigest() for test in tests}


def name_of(path: Path) -> str:
    return str(path.relative_to(ROOT))


def make_database() -> Path:
    """A migrated database, from which every child has its own copy."""
    made = KEPT / EMPTY_DATABASE
    made.parent.mkdir(parents=True, exist_ok=True)
    made.unlink(missing_ok=True)
    for _, ending in in_children([made], migrate):
        if ending.made is None:
            sys.exit(f"The database cannot be made:\n{ending.printed}")
    return made


def migrate(path: Path) -> dict[str, Any]:
    import django
    from django.core.management import call_command
    from django.db import connection

    os.environ["DATABASE_URL"] = f"sqlite:///{path}"
    django.setup()
    connection.ensure_connection()  # a file, even where there is nothing to migrate
    call_command("migrate", verbosity=0)
    connection.close()
    return {}


def take_database() -> None:
    """Copy the migrated database to where this child's tests look for theirs."""
    shutil.copy(KEPT / EMPTY_DATABASE, Path(os.environ["DATA_DIR"]) / "test.sqlite3")


def measure(test_file: str, measured: list[str]) -> dict[str, Any]:
    """Run one test file and note which test runs which lines."""
    from coverage import Coverage

    take_database()
    coverage = Coverage(data_file=None, include=measured, config_file=False, messages=False)
    coverage.start()
    coverage.switch_context("")
    made = Run(on_test=coverage.switch_context).go([test_file])
    coverage.stop()
    data = coverage.get_data()
    lines = {name_of(Path(path)): data.contexts_by_lineno(path) for path in data.measured_files()}
    return made | {"lines": lines}


def merged(parts: list[dict[str, Any]]) -> Reach:
    """One reach out of those of the test files; a test that fails without a fault catches none."""
    failed = [test for part in parts for test in part["failed"]]
    lines: dict[str, dict[int, set[str]]] = defaultdict(lambda: defaultdict(set))
    for part in parts:
        for path, by_line in part["lines"].items():
            for line, tests in by_line.items():
                lines[path][int(line)] |= set(tests) - {"", *failed}
    seconds = {test: taken for part in parts for test, taken in part["seconds"].items()}
    return Reach(lines, seconds, failed)
