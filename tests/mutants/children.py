"""Tests run in forked children, so that what takes long to import is imported once.

The parent knows Django and pytest and nothing of the program. A child imports the program, perhaps with a fault in
one module, which is handed to it in memory: no file of the checkout is ever changed.
"""

import importlib
import json
import os
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import spec_from_file_location
from pathlib import Path
from types import CodeType
from typing import Any, TypeVar

import pytest

from tests.mutants.targets import ROOT, settings

Task = TypeVar("Task")
WORKERS = 2
WALL = 600  # seconds in which something must happen
OPTIONS = [
    *"-q -p no:xdist -p no:cacheprovider --reuse-db --hypothesis-seed=0".split(),
    *"-W ignore::pytest.PytestAssertRewriteWarning".split(),  # what is preloaded holds no assertions of ours
]


@dataclass(frozen=True)
class Ending:
    """How a child ended: what it made of its task, or else by which signal; and the last it printed."""

    made: dict[str, Any] | None
    signal: int
    printed: str

    @property
    def is_too_long(self) -> bool:
        """Whether its time was up, by the clock or by the work of the processor."""
        return self.signal in (signal.SIGPROF, signal.SIGALRM)


def preload() -> None:
    """Import what every child needs; hypothesis neither narrows examples down nor watches the clock."""
    os.chdir(ROOT)
    os.environ |= {"OPENBLAS_NUM_THREADS": "1", "DJANGO_SETTINGS_MODULE": "coachbook.settings"}
    os.environ.pop("DATABASE_URL", None)
    for name in settings()["preloaded"]:
        importlib.import_module(name)
    import hypothesis

    phases = [hypothesis.Phase.explicit, hypothesis.Phase.generate]
    hypothesis.settings.register_profile("mutants", phases=phases, deadline=None, database=None)
    hypothesis.settings.load_profile("mutants")


def in_children(tasks: Sequence[Task], work: Callable[[Task], dict[str, Any]]) -> Iterator[tuple[Task, Ending]]:
    """Each task with the ending of the child that worked on it, in the order in which they end."""
    waiting = list(enumerate(tasks))[::-1]
    running: dict[int, tuple[Task, Path]] = {}
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        try:
            while waiting or running:
                while waiting and len(running) < WORKERS:
                    number, task = waiting.pop()
                    place = Path(folder) / str(number)
                    running[fork(task, work, place)] = task, place
                pid, status = os.wait()
                end(pid)
                task, place = running.pop(pid)
                yield task, ending_of(place, status)
        finally:
            for pid in running:
                end(pid)


def fork(task: Task, work: Callable[[Task], dict[str, Any]], place: Path) -> int:
    """Start a child that leads a group of processes of its own and keeps everything in one place."""
    place.mkdir()
    sys.stdout.flush()
    if pid := os.fork():
        return pid
    try:
        os.setsid()
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        printed = os.open(place / "printed", os.O_WRONLY | os.O_CREAT)
        os.dup2(printed, 1)
        os.dup2(printed, 2)
        sys.stdout = sys.stderr = os.fdopen(1, "w", closefd=False)
        os.environ["DATA_DIR"] = str(place)
        signal.alarm(WALL)
        made = json.dumps(work(task))
        signal.alarm(0)
        (place / "made").write_text(made)
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        os._exit(0)


def ending_of(place: Path, status: int) -> Ending:
    made = json.loads((place / "made").read_text()) if (place / "made").exists() else None
    printed = (place / "printed").read_text(errors="replace") if (place / "printed").exists() else ""
    shutil.rmtree(place, ignore_errors=True)
    return Ending(made, os.WTERMSIG(status) if os.WIFSIGNALED(status) else 0, printed[-2000:])


def end(pid: int) -> None:
    """End a child and all that it has started."""
    with suppress(ProcessLookupError):
        os.killpg(pid, signal.SIGKILL)


@dataclass(eq=False)  # pytest keeps its plugins in sets
class Run:
    """One run of pytest in a child, and what it came to."""

    limits: dict[str, float] | None = None  # the tests to run, in this order, each with its seconds of processor time
    seconds: dict[str, float] = field(default_factory=dict)
    failed: list[str] = field(default_factory=list)
    on_test: Callable[[str], object] = lambda test: None

    def go(self, files: Sequence[str], *options: str) -> dict[str, Any]:
        """Run the tests of some files; exit code 1 says that one failed."""
        chosen = ["-m", settings()["marks"], "-k", settings()["names"]]
        code = pytest.main([*OPTIONS, *chosen, *options, *files], plugins=[self])
        signal.setitimer(signal.ITIMER_PROF, 0)
        return {"code": int(code), "failed": self.failed, "seconds": self.seconds}

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        if self.limits is not None:
            order = {test: number for number, test in enumerate(self.limits)}
            items[:] = sorted((item for item in items if item.nodeid in order), key=lambda item: order[item.nodeid])

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self.on_test(item.nodeid)
        signal.alarm(WALL)
        if self.limits is not None:
            signal.setitimer(signal.ITIMER_PROF, self.limits[item.nodeid])
        began = time.process_time()
        result = yield
        self.seconds[item.nodeid] = time.process_time() - began
        return result

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed:  # a test file may ask the program for its cases
            self.failed.append(report.nodeid)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed and report.nodeid not in self.failed:
            self.failed.append(report.nodeid)


class Faulty(SourceFileLoader):
    """Loads one module with a fault in it, and leaves no compiled file behind."""

    source: bytes

    def get_code(self, fullname: str) -> CodeType:
        return compile(self.source, self.path, "exec", dont_inherit=True)


@dataclass(frozen=True)
class FaultyFinder:
    """Finds one module, with a fault in it, before anybody else does."""

    path: str
    source: bytes

    def find_spec(self, name: str, path: object = None, target: object = None) -> ModuleSpec | None:
        if name != module_name(self.path):
            return None
        loader = Faulty(name, str(ROOT / self.path))
        loader.source = self.source
        folder = [str((ROOT / self.path).parent)] if self.path.endswith("__init__.py") else None
        return spec_from_file_location(name, ROOT / self.path, loader=loader, submodule_search_locations=folder)


def module_name(path: str) -> str:
    return path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
