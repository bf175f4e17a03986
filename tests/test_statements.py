"""Which tests run on a second database: none that asks only what another has asked."""

from types import SimpleNamespace

import pytest
from django.db import connection

from coachbook.accounts.models import Academy
from tests.statements import Keeper, choose, kind_of, name_of, read_kept


class Item:
    """A test, as far as the choice looks at it."""

    def __init__(self, name, *, marks=(), fixtures=(), clock=None):
        self.nodeid, self.fixturenames, self.marks = name, fixtures, marks
        if clock:
            self.callspec = SimpleNamespace(params={"clock": clock})

    def get_closest_marker(self, name):
        return next((mark for mark in self.marks if mark.name == name), None)


def kept(**tests):
    return {name: {"kinds": set(kinds), "seconds": seconds} for name, (kinds, seconds) in tests.items()}


def test_the_length_of_a_list_is_no_new_kind():
    one, three = (f"SELECT a FROM b WHERE c IN ({', '.join(['%s'] * number)})" for number in (1, 3))
    assert kind_of(one) == kind_of(three) != kind_of("SELECT a FROM b WHERE d IN (%s)")
    assert kind_of("INSERT INTO b (a, c) VALUES (%s, %s), (%s, %s)") == kind_of("INSERT INTO b (a, c) VALUES (%s, %s)")
    assert kind_of('SAVEPOINT "s1_x2"') == ""


def test_the_quickest_test_that_asks_something_runs_and_who_asks_nothing_new_does_not():
    slow, quick, other = items = [Item("slow"), Item("quick"), Item("other")]
    found = choose(items, kept(slow=("ab", 9.0), quick=("ab", 1.0), other=("bc", 5.0)))
    assert found == [quick, other] and slow not in found


def test_a_quick_test_goes_where_a_slower_one_that_is_needed_anyway_asks_the_same():
    quick, slow = Item("quick"), Item("slow")
    assert choose([quick, slow], kept(quick=("ab", 1.0), slow=("abc", 5.0))) == [slow]


def test_a_test_that_nobody_saw_runs():
    assert len(choose([Item("new"), Item("old")], kept(old=("a", 1.0), other=("a", 0.1)))) == 2


@pytest.mark.parametrize(
    "always",
    [
        Item("always", fixtures=("transactional_db",)),
        Item("always", marks=[SimpleNamespace(name="django_db", kwargs={"transaction": True})]),
        Item("always", marks=[SimpleNamespace(name="both_databases", kwargs={})]),
    ],
    ids=["fixture", "transaction", "marked"],
)
def test_what_needs_transactions_or_gives_the_database_odd_values_always_runs(always):
    plain = Item("plain", marks=[SimpleNamespace(name="django_db", kwargs={})])
    assert choose([plain, always], kept(plain=("ab", 0.1), always=("ab", 9.0))) == [always]


@pytest.mark.parametrize(
    "name", ["t.py::test_x[forward-2330]", "t.py::test_x[forward-2330-a b]", "t.py::test_x[a b-forward-2330]"]
)
def test_a_clock_makes_no_other_test(name):
    assert name_of(Item(name, clock="forward-2330")) == ("t.py::test_x[a b]" if "a b" in name else "t.py::test_x")


def test_what_is_kept_can_be_read(db, tmp_path):
    keeper = Keeper(tmp_path / "new", "one")
    running = keeper.pytest_runtest_protocol(Item("t.py::test_x"))
    next(running)
    list(Academy.objects.filter(pk__in=[1, 2]))
    with pytest.raises(StopIteration):
        next(running)
    list(Academy.objects.all())
    keeper.pytest_sessionfinish()
    assert [len(test["kinds"]) for test in read_kept(tmp_path / "new").values()] == [1]
    assert connection.execute_wrappers == [] or keeper.note not in connection.execute_wrappers
