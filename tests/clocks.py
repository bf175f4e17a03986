"""The clocks at which the tests that handle dates run with `--clocks`, and what every test obeys at midnight.

The tests' academy keeps the time of Dublin: UTC in winter, an hour ahead of it in summer. The machine's zone is one in
which it is another day than in UTC.
"""

import time
from collections import defaultdict
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from zlib import crc32
from zoneinfo import ZoneInfo

import pytest
import time_machine

from tests.dated import TestCode

ACADEMY = ZoneInfo("Europe/Dublin")
A_DAY_AHEAD, A_DAY_BEHIND = ZoneInfo("Pacific/Kiritimati"), ZoneInfo("Pacific/Pago_Pago")
CLOCKS = {
    "forward-0030": datetime(2027, 3, 28, 0, 30, tzinfo=UTC).astimezone(A_DAY_BEHIND),  # half an hour before they go
    "forward-2330": datetime(2027, 3, 28, 23, 30, tzinfo=UTC).astimezone(A_DAY_AHEAD),  # the academy's next day
    "back-0030": datetime(2027, 10, 31, 0, 30, tzinfo=UTC).astimezone(A_DAY_BEHIND),  # in the hour that comes twice
    "back-2330": datetime(2027, 10, 31, 23, 30, tzinfo=UTC).astimezone(A_DAY_AHEAD),  # at the end of 25 hours
    "leap-day-0030": datetime(2028, 2, 29, 0, 30, tzinfo=UTC).astimezone(A_DAY_BEHIND),
    "new-year-2330": datetime(2027, 12, 31, 23, 30, tzinfo=UTC).astimezone(A_DAY_AHEAD),
}
WORST = "forward-2330"  # it is another day at the academy, and to count a day back crosses the change of the clocks
LONGEST_TEST = timedelta(minutes=2)


def pytest_addoption(parser: pytest.Parser) -> None:
    help = "`dealt`: every test, those that handle dates at two odd clocks; `all`: these alone, each case at each clock"
    parser.addoption("--clocks", choices=["dealt", "all"], help=help)


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    which = metafunc.config.getoption("--clocks")
    if which and handles_dates(metafunc.definition):
        metafunc.fixturenames.append("clock")
        metafunc.parametrize("clock", list(CLOCKS) if which == "all" else dealt(metafunc.definition))


def dealt(item: pytest.Function) -> list[str]:
    """The worst clock and one of the others; that one alone for a test that takes long."""
    others = [name for name in CLOCKS if name != WORST]
    other = others[lot(item) % len(others)]
    return [other] if item.get_closest_marker("long") else [WORST, other]


def lot(item: pytest.Function) -> int:
    """A number that a test keeps from run to run, whatever comes before it."""
    return crc32(f"{item.path.name}::{item.originalname}".encode())


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark the tests that handle dates, where `-m` asks for the mark; with `--clocks` choose their clocks."""
    which = config.getoption("--clocks")
    dated = [item for item in items if handles_dates(item)] if which or "dates" in config.getoption("-m") else []
    for item in dated:
        item.add_marker("dates")
    if which:
        left_out = set(items) - set(dated) if which == "all" else set(dated) - each_case_once(dated)
        config.hook.pytest_deselected(items=list(left_out))
        items[:] = [item for item in items if item not in left_out]


def each_case_once(items: list[pytest.Function]) -> set[pytest.Function]:
    """Of a test's cases one at this clock, the next at that: they share the way in which they count days."""
    at_clock: dict[str, dict[str, list[pytest.Function]]] = defaultdict(lambda: defaultdict(list))
    for item in items:
        at_clock[item.nodeid.split("[")[0]][item.callspec.params["clock"]].append(item)
    chosen: set[pytest.Function] = set()
    for clocks in at_clock.values():
        for number, cases in enumerate(clocks.values()):
            chosen.update(cases if len(cases) == 1 else cases[number :: len(clocks)])
    return chosen


def handles_dates(item: pytest.Item) -> bool:
    """Whether a test makes a day from the clock, those of the browser left out."""
    is_ours = isinstance(item, pytest.Function) and not item.get_closest_marker("browser")
    return is_ours and test_code().makes_days(item.module.__name__, item.originalname)


@cache
def test_code() -> TestCode:
    return TestCode.of(Path(__file__).parent)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """Run a test at its clock, which goes on from there; one without never runs over midnight."""
    clock = item.callspec.params.get("clock") if hasattr(item, "callspec") else None
    if clock not in CLOCKS:
        time.sleep(until_midnight_is_past(datetime.now(UTC)).total_seconds())
        return (yield)
    with time_machine.travel(CLOCKS[clock], tick=True):
        return (yield)


def until_midnight_is_past(now: datetime) -> timedelta:
    """How long a test has to wait that could begin on one day and end on the next, in UTC or at the academy."""
    soon = now + LONGEST_TEST
    is_near = any(soon.astimezone(zone).date() != now.astimezone(zone).date() for zone in (UTC, ACADEMY))
    return timedelta(hours=1) - (now - now.replace(minute=0, second=0, microsecond=0)) if is_near else timedelta(0)
