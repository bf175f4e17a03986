"""The test before a test: like is compared with like, by design, side and moment."""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from datetime import date

from drills.models import ScoredTest


def alike(test: ScoredTest) -> tuple[int, str, str]:
    """What two tests must have in common to be compared.

    Balls at the end of a lesson are no match for the first ones of a day, nor for those that were hit alone.
    """
    return test.design_id, test.side, test.moment


def previous_test(test: ScoredTest) -> ScoredTest | None:
    """The test before this one that it may be compared with."""
    return previous_tests([test]).get(test.pk)


def previous_tests(tests: Sequence[ScoredTest], known: Sequence[ScoredTest] = ()) -> dict[int, ScoredTest]:
    """For each of some tests of one student, by its pk, the one before it that it may be compared with.

    `known` are tests with their balls, all of them since some day: one of them is the last before another, if any is.
    """
    found = {test.pk: before for test in tests if (before := last_before(test, known))}
    return {**found, **asked_for([test for test in tests if test.pk not in found])}


def last_before(test: ScoredTest, known: Iterable[ScoredTest]) -> ScoredTest | None:
    """The last of some tests that is before another and like it."""
    before = [each for each in known if alike(each) == alike(test) and (each.day, each.pk) < (test.day, test.pk)]
    return max(before, key=lambda each: (each.day, each.pk), default=None)


def asked_for(tests: Sequence[ScoredTest]) -> dict[int, ScoredTest]:
    """The tests before some tests of one student, from the database, in as many queries however many there are."""
    if not tests:
        return {}
    rows = tests[0].student.scored_tests.done()
    earlier: dict[Hashable, list[tuple[date, int]]] = defaultdict(list)
    same_designs = rows.filter(design__in={test.design_id for test in tests}).order_by("day", "pk")
    for pk, day, *kind in same_designs.values_list("pk", "day", "design", "side", "moment"):
        earlier[tuple(kind)].append((day, pk))
    found: dict[int, int] = {}
    for test in tests:
        before = [pk for day, pk in earlier[alike(test)] if (day, pk) < (test.day, test.pk)]
        if before:
            found[test.pk] = before[-1]
    by_pk = rows.prefetch_related("balls").in_bulk(found.values()) if found else {}
    return {pk: by_pk[before] for pk, before in found.items()}


def latest_of_each_design(tests: Iterable[ScoredTest]) -> list[ScoredTest]:
    """The latest test of each design."""
    return latest_by(tests, lambda test: test.design_id)


def latest_of_each_kind(tests: Iterable[ScoredTest]) -> list[ScoredTest]:
    """The latest test of each design, side and moment."""
    return latest_by(tests, alike)


def latest_by(tests: Iterable[ScoredTest], key: Callable[[ScoredTest], Hashable]) -> list[ScoredTest]:
    """The latest test of each key, latest first."""
    found: dict[Hashable, ScoredTest] = {}
    for test in sorted(tests, key=lambda test: (test.day, test.pk), reverse=True):
        found.setdefault(key(test), test)
    return list(found.values())
