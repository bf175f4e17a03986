"""A small share of the junk that `manage.py test --fuzz` sends, and that the tool would see what breaks."""

from collections.abc import Callable
from random import Random

import pytest
from django.test import Client

from coachbook.accounts import gate
from coachbook.management.commands import test as suite
from tests.conftest import Cast
from tests.fuzz.junk import body, headers
from tests.fuzz.places import FormReader, unknown_parts
from tests.fuzz.shots import shoot, told
from tests.make import make_drill
from tests.security.rows import ROWS

pytestmark = [pytest.mark.one_database, pytest.mark.long]
Clients = Callable[[str], Client]
PEOPLE = ("coach", "manager", "guardian", "student", "cover", "anonymous")


@pytest.fixture
def people(cast: Cast, as_: Clients) -> dict[str, Client]:
    """Clients of every kind of person, and a row behind every address."""
    make_drill("putting-ball-gate")
    for row in ROWS:
        row.args(cast)
    return {actor: as_(actor) for actor in PEOPLE}


def test_junk_meets_no_server_error(people: dict[str, Client]) -> None:
    tally = shoot(people, 150, seed=1)
    assert list(tally.failures) == [], list(told(tally))
    assert sum(tally.statuses.values()) == 150 and {200, 302, 401, 403, 404, 422} <= set(tally.statuses)


def test_what_breaks_is_told_once_with_where_it_broke(
    people: dict[str, Client], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*args: object) -> None:
        raise ZeroDivisionError("on purpose")

    monkeypatch.setattr(gate, "get_student", broken)
    tally = shoot(people, 30, seed=1, only="lesson")
    assert tally.failures and all(
        where.startswith("ZeroDivisionError at tests/test_fuzz.py") for where in tally.failures
    )
    assert tally.statuses[500] == sum(failure.count for failure in tally.failures.values())


def test_there_are_keys_for_every_part_of_every_address() -> None:
    assert list(unknown_parts()) == []


def test_a_seed_makes_the_same_junk_again() -> None:
    pairs = [("keep", b"Calm"), ("note", b"")]
    first, again, other = ([(body(pairs, r), headers(r)) for _ in range(50)] for r in map(Random, (1, 1, 2)))
    assert first == again != other


def test_the_fields_of_a_form_are_read_for_where_it_is_sent() -> None:
    page = '<form method="post"><input name="a" value="1"></form><form action="/b/"><select name="c"></select></form>'
    assert FormReader(page, "/here/").forms == {"/here/": [("a", b"1")], "/b/": [("c", b"")]}


def test_the_command_hands_its_options_on(monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[list[str]] = []
    monkeypatch.setattr("os.chdir", lambda folder: None)
    monkeypatch.setattr("os.execve", lambda *call: calls.append(call[1]))
    monkeypatch.setattr(suite, "run_environment", lambda on_postgres: {})
    suite.Command().run_from_argv(["manage.py", "test", "--fuzz", "--seed", "2"])
    assert calls[0][1:] == ["-m", "tests.fuzz", "--seed", "2"]
