"""The statements that each test sends to the database, kept on one database to choose the tests for another.

`--statements=FOLDER` keeps them; beside `--asking` it reads them: of the tests that ask the database, those run that
send a statement of a kind that no quicker one has sent, and always those that need transactions of their own or are
marked `both_databases`, since what they give the database matters, not only how they ask.
"""

import json
import re
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from hashlib import blake2b
from pathlib import Path
from typing import Any

import pytest
from django.db import connection

LIST = re.compile(r"\(%s(?:, %s)*\)(?:, \(%s(?:, %s)*\))*")
OF_TRANSACTIONS = ("SAVEPOINT", "RELEASE", "ROLLBACK", "BEGIN", "COMMIT", "PRAGMA")


def kind_of(sql: str) -> str:
    """A digest of a statement without what changes from test to test: how long its lists are."""
    if sql.startswith(OF_TRANSACTIONS):
        return ""
    return blake2b(LIST.sub("(%s)", sql).encode(), digest_size=8).hexdigest()


class Keeper:
    """Notes the kinds of statements of each test and the seconds it takes; each process writes a file of its own."""

    def __init__(self, folder: Path, process: str) -> None:
        self.path = folder / f"{process}.json"
        self.numbers: dict[str, int] = {}
        self.kinds: dict[str, int] = {}
        self.tests: dict[str, dict[str, Any]] = {}
        self.current: set[int] = set()

    def note(self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        """Note one statement, and send it."""
        if sql not in self.numbers:
            self.numbers[sql] = self.kinds.setdefault(kind_of(sql), len(self.kinds))
        self.current.add(self.numbers[sql])
        return execute(sql, params, many, context)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self.current, began = set(), time.process_time()
        with connection.execute_wrapper(self.note):
            result = yield
        if self.current:
            self.tests[name_of(item)] = {"kinds": list(self.current), "seconds": time.process_time() - began}
        return result

    def pytest_sessionfinish(self) -> None:
        names = {number: kind for kind, number in self.kinds.items()}
        for test in self.tests.values():
            test["kinds"] = sorted(names[number] for number in test["kinds"] if names[number])
        self.path.parent.mkdir(parents=True, exist_ok=True)
        self.path.write_text(json.dumps(self.tests))


def name_of(item: pytest.Item) -> str:
    """The name of a test without the clock at which it runs: several clocks are one test."""
    clock = item.callspec.params.get("clock") if hasattr(item, "callspec") else None
    return re.sub(rf"(?<=\[){clock}-?|-?{clock}(?=\])", "", item.nodeid).removesuffix("[]") if clock else item.nodeid


def read_kept(folder: Path) -> dict[str, dict[str, Any]]:
    """What every process kept; a test that ran at two clocks has the statements of both."""
    kept: dict[str, dict[str, Any]] = defaultdict(lambda: {"kinds": set(), "seconds": 0.0})
    for path in sorted(folder.glob("*.json")):
        for test, values in json.loads(path.read_text()).items():
            kept[test]["kinds"] |= set(values["kinds"])
            kept[test]["seconds"] = max(kept[test]["seconds"], values["seconds"])
    return kept


def choose(items: list[pytest.Item], kept: dict[str, dict[str, Any]]) -> list[pytest.Item]:
    """Those that always run; then, from quick to slow, each that sends a new kind of statement.

    Of these, from slow to quick, go those that send no kind that the others do not: a later one may send all of it.
    """
    always = {item for item in items if runs_always(item) or name_of(item) not in kept}
    kinds = {item: kept[name_of(item)]["kinds"] for item in items if name_of(item) in kept}
    sent = Counter(kind for item in always for kind in kinds.get(item, ()))
    chosen = []
    for item in sorted(set(items) - always, key=lambda item: (kept[name_of(item)]["seconds"], item.nodeid)):
        if any(not sent[kind] for kind in kinds[item]):
            chosen.append(item)
            sent.update(kinds[item])
    for item in reversed(chosen[:]):
        if all(sent[kind] > 1 for kind in kinds[item]):
            chosen.remove(item)
            sent.subtract(kinds[item])
    return [item for item in items if item in always or item in chosen]


def runs_always(item: pytest.Item) -> bool:
    """Whether a test depends on what it gives the database or on transactions, not only on how it asks."""
    needs_transactions = "transactional_db" in getattr(item, "fixturenames", ())
    mark = item.get_closest_marker("django_db")
    is_marked = bool(item.get_closest_marker("both_databases"))
    return is_marked or needs_transactions or bool(mark and mark.kwargs.get("transaction"))
