"""What became of a change at the next arrival, against examples told by hand.

Clear, then good, then slight is partly held and not lost: common practice, no source.
"""

from datetime import date, timedelta
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lessons.progress.held import Held, Outcome, changed_in_lesson, count_verdicts, outcomes, verdict_on
from lessons.progress.intervals import Share
from lessons.progress.points import Degree, Level, LookPoint, count_levels
from tests.test_points import DEGREES, FIRST

LEVELS: dict[str, Level] = {"c": "0", "s": "1", "m": "2", "u": "any", "-": "none"}
RANK = {"lost": 0, "partly": 1, "held": 2}


def lessons(words: str, days: list[int] | None = None) -> list[LookPoint]:
    """One lesson a week, each as arrival and departure: m clear, s slight, u degree not said, c good, - no look."""
    return [
        LookPoint(FIRST + timedelta(days=days[n] if days else 7 * n), a != "-", DEGREES[a], "Ida", LEVELS[d])
        for n, (a, d) in enumerate(words.split())
    ]


def verdicts(words: str, days: list[int] | None = None) -> list[str]:
    return [outcome.verdict for outcome in outcomes(lessons(words, days))]


# --- By hand ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "verdict"),
    [
        ("mc c-", "held"),
        ("mc s-", "partly"),  # better than it was, worse than it left
        ("mc m-", "lost"),
        ("ms c-", "held"),  # better still
        ("ms s-", "held"),
        ("ms m-", "lost"),
        ("sc c-", "held"),
        ("sc s-", "lost"),  # as bad as it was: slight counts
        ("sc m-", "lost"),
    ],
)
def test_the_next_arrival_tells_what_became_of_a_change(words: str, verdict: str) -> None:
    assert verdicts(words) == [verdict]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("uc c-", ["held"]),  # it was there, then not, and still not
        ("uc m-", ["lost"]),  # no worse is possible
        ("uc u-", ["lost"]),  # there before and there again
        ("uc s-", []),  # it may have been clear, and then it is partly held; or slight, and lost
        ("mu c-", []),  # whether it left any better nobody said
        ("su c-", []),
        ("um c-", []),
        ("us c-", []),
        ("mc u-", []),  # slight would be partly, clear lost
        ("sc u-", ["lost"]),  # slight or worse: as bad as it was in any case
        ("ms u-", []),  # slight would be held, clear lost
    ],
)
def test_a_degree_that_was_not_said_says_only_what_is_sure(words: str, told: list[str]) -> None:
    assert verdicts(words) == told


@pytest.mark.parametrize("words", ["cc m-", "ss m-", "mm c-", "sm c-", "cs s-", "cm c-", "uu c-", "cu c-"])
def test_a_lesson_that_made_nothing_better_has_no_change_to_hold(words: str) -> None:
    assert verdicts(words) == []


def test_a_departure_without_an_arrival_says_nothing() -> None:
    assert verdicts("-c c-") == []


def test_an_arrival_without_a_departure_says_nothing() -> None:
    assert verdicts("m- c-") == []


def test_a_lesson_without_a_look_in_between_is_skipped() -> None:
    assert outcomes(lessons("mc -- -- s-")) == [Outcome(0, 3, "partly", 21)]


def test_a_lesson_that_looked_at_departure_only_does_not_hide_an_earlier_change() -> None:
    assert outcomes(lessons("mc -c c-")) == [Outcome(0, 2, "held", 14)]


def test_a_second_lesson_on_the_same_day_says_nothing() -> None:
    assert outcomes(lessons("mc m- c-", [0, 0, 7])) == [Outcome(0, 2, "held", 7)]
    assert verdicts("mc c-", [0, 0]) == []


def test_of_two_departures_on_a_day_the_later_one_is_asked() -> None:
    assert outcomes(lessons("mc ms s-", [0, 0, 7])) == [Outcome(1, 2, "held", 7)]


def test_two_departures_have_an_outcome_each() -> None:
    assert outcomes(lessons("mc sc c-")) == [Outcome(0, 1, "partly", 7), Outcome(1, 2, "held", 7)]


def test_an_arrival_tells_of_the_latest_departure_only() -> None:
    """The second lesson had no time for a departure: what it saw told of the first, and the third tells of nothing."""
    assert outcomes(lessons("mc m- c-")) == [Outcome(0, 1, "lost", 7)]


def test_the_last_departure_waits_for_its_arrival() -> None:
    assert verdicts("mc") == [] and verdicts("mc -- --") == []


def test_a_year_later_is_still_the_next_arrival() -> None:
    assert outcomes(lessons("mc s-", [0, 365])) == [Outcome(0, 1, "partly", 365)]


def test_no_lessons_no_outcomes() -> None:
    assert outcomes([]) == []


def test_the_change_within_lessons_is_counted_over_those_that_looked_twice() -> None:
    """Twice seen both times, three times gone at departure, once there only then, once good both times."""
    found = changed_in_lesson(count_levels(lessons("mm su mc sc uc cs cc m- -c --")))
    assert found == (2, 3, 1, 1)
    assert (found.first, found.second) == (Share(5, 7), Share(3, 7))


def test_what_held_partly_is_not_held() -> None:
    found = count_verdicts(outcome.verdict for outcome in outcomes(lessons("mc sc cc mc c- mc m-")))
    assert found == Held(held=2, partly=1, lost=1)
    assert (found.total, found.share) == (4, Share(2, 4))


# --- Whatever was seen --------------------------------------------------------------------------

KNOWN: dict[Level, tuple[Level, ...]] = {"0": ("0",), "1": ("1",), "2": ("2",), "any": ("1", "2")}


@pytest.mark.parametrize(("was", "left", "now"), [*product(KNOWN, repeat=3)])
def test_a_verdict_holds_whatever_the_degrees_that_were_not_graded(was: Level, left: Level, now: Level) -> None:
    """Seen before, good at departure and seen again, all without a degree, is lost: as bad as was said."""
    if (was, left, now) == ("any", "0", "any"):
        return
    possible = {verdict_on(a, b, c) for a in KNOWN[was] for b in KNOWN[left] for c in KNOWN[now]}
    assert verdict_on(was, left, now) == (possible.pop() if len(possible) == 1 else None)


@pytest.mark.parametrize(("was", "left"), [*product(KNOWN, repeat=2)])
def test_a_better_arrival_never_gets_a_worse_verdict(was: Level, left: Level) -> None:
    said = [verdict_on(was, left, now) for now in ("0", "1", "2")]
    ranks = [RANK[verdict] for verdict in said if verdict]
    assert ranks == sorted(ranks, reverse=True)


pairs = st.tuples(st.sampled_from("msuc-"), st.sampled_from("msuc-"), st.sampled_from([0, 7, 400]))
histories = st.lists(pairs, max_size=12)
many = settings(max_examples=400, deadline=None)


def drawn(told: list[tuple[str, str, int]]) -> list[LookPoint]:
    day, found = date(2026, 1, 5), list[LookPoint]()
    for arrival, departure, gap in told:
        day += timedelta(days=gap)
        found.append(LookPoint(day, arrival != "-", DEGREES[arrival], "Ida", LEVELS[departure]))
    return found


@many
@given(histories)
def test_an_outcome_is_told_by_the_first_look_on_a_later_day(told: list[tuple[str, str, int]]) -> None:
    points = drawn(told)
    for before, now, _, days in outcomes(points):
        assert points[before].looked and points[before].departure != "none"
        assert points[now].looked and days == (points[now].day - points[before].day).days > 0
        between = [point for point in points[before + 1 : now] if point.looked]
        assert all(point.day == points[before].day for point in between)
        assert not any(
            changed_in_lesson(count_levels([point])).before for point in between
        )  # else that change would be asked about


@many
@given(histories)
def test_a_departure_has_one_outcome_at_most_and_an_arrival_tells_of_one(told: list[tuple[str, str, int]]) -> None:
    found = outcomes(drawn(told))
    assert len({outcome.before for outcome in found}) == len({outcome.now for outcome in found}) == len(found)


@many
@given(histories, st.sampled_from([None, "slight"]))
def test_what_held_is_not_lost_by_a_better_arrival(told: list[tuple[str, str, int]], better: Degree | None) -> None:
    points = drawn(told)
    for outcome in outcomes(points):
        was = points[outcome.now]
        if outcome.verdict == "lost" or was.level == "0" or (was.degree != "clear" and better):
            continue
        changed = list(points)
        changed[outcome.now] = LookPoint(was.day, True, better, was.coach, was.departure)
        again = [other for other in outcomes(changed) if other.before == outcome.before]
        assert again and RANK[again[0].verdict] >= RANK[outcome.verdict]


def test_a_second_lesson_of_the_day_that_changed_nothing_does_not_hide_what_the_first_one_changed() -> None:
    morning, afternoon, later = FIRST, FIRST, FIRST + timedelta(days=9)
    points = [
        LookPoint(morning, True, "clear", "Ida Fernkettle", departure="0"),
        LookPoint(afternoon, True, None, "Ida Fernkettle", departure="0"),
        LookPoint(later, True, "slight", "Ida Fernkettle"),
    ]
    assert [(row.before, row.now, row.verdict) for row in outcomes(points)] == [(0, 2, "partly")]
