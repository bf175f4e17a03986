"""The state of a focus: each word at its boundary, by hand; the rules are common practice, no source.

How seldom a fault must be seen follows from the exact upper bound at 95 % (Clopper and Pearson 1934): below one half
for none of 5, as 0.5 ** 5 is 3.1 %, and for 1 of 8 (9 / 256 is 3.5 %); below one third for none of 8 ((2 / 3) ** 8 is
3.9 %).
"""

from dataclasses import replace
from datetime import timedelta
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import beta
from statsmodels.stats.proportion import proportion_confint

from lessons.progress.focus_states import (
    HOLDING_BELOW,
    READY_BELOW,
    Rules,
    Span,
    State,
    Stretch,
    most_seen,
    run_of,
    state_of,
    stretch_of,
)
from lessons.progress.held import outcomes
from lessons.progress.points import LookPoint
from lessons.progress.sentences import reason
from tests.test_held import lessons
from tests.test_points import FIRST, history, week

RULES = Rules()
OPEN = [Span(FIRST, None)]


def judged(points: list[LookPoint], spans: list[Span] = OPEN, rules: Rules = RULES) -> State:
    return state_of(points, outcomes(points), spans, rules)


def word(letters: str, spans: list[Span] = OPEN, rules: Rules = RULES) -> str:
    """The word after one arrival a week, the first of them on the day of the first focus."""
    return judged(history(letters), spans, rules).word


def on_days(*days: int) -> list[LookPoint]:
    """Clear on the day it was opened, then good on arrivals so many days later."""
    clean = [LookPoint(FIRST + timedelta(days=day), True, None, "Ida") for day in days]
    return [LookPoint(FIRST, True, "clear", "Ida"), *clean]


# --- How seldom it is seen ----------------------------------------------------------------------


@pytest.mark.parametrize("below", [HOLDING_BELOW, READY_BELOW])
def test_the_upper_bound_is_that_of_clopper_and_pearson(below: float) -> None:
    """As statsmodels computes it from the beta distribution: the upper end of a two-sided interval at 90 %."""
    for number in range(1, 21):
        bounds = [proportion_confint(seen, number, alpha=0.1, method="beta")[1] for seen in range(number + 1)]
        assert most_seen(number, below) == sum(bound <= below for bound in bounds) - 1


def test_fifty_nine_without_one_show_that_it_is_below_one_in_twenty() -> None:
    """The sample of 59 for 95 % confidence in 95 %: Wilks (1941), Ann. Math. Stat. 12, 91-96."""
    assert [most_seen(number, 0.05) for number in (58, 59)] == [-1, 0]


def plain_bound(seen: int, number: int) -> float:
    """Clopper and Pearson's one-sided upper bound at 95 %, from scipy's beta distribution."""
    return float(beta.ppf(0.95, seen + 1, number - seen)) if seen < number else 1.0


def plain_stretch(points: list[LookPoint], below: float, in_a_row: int, days: int) -> Stretch | None:
    """The same by its definition, one number of latest looks after the other, each counted anew."""
    looked = [point for point in points if point.looked]
    if len(looked) < in_a_row or any(point.seen for point in looked[-in_a_row:]):
        return None
    for number in range(1, min(20, len(looked)) + 1):
        latest = looked[-number:]
        begins, ends, seen = latest[0].day, latest[-1].day, sum(point.seen for point in latest)
        before = [point.looked for point in points if looked[0].day <= point.day < begins]
        during = [point.looked for point in points if begins <= point.day <= ends]
        less = sum(before) / len(before) - sum(during) / len(during) - 0.1 if before else 0.0
        missed = max(0, round(less * len(during)))
        is_seldom = all(plain_bound(seen + more, number + more) <= below for more in {0, missed})
        if is_seldom and (ends - begins).days >= days:
            return Stretch(number - seen, number, (ends - begins).days)
    return None


def test_how_seldom_it_was_seen_lately_is_what_the_definition_says() -> None:
    chance, found = Random(4), 0
    for _ in range(400):
        day, points = FIRST, list[LookPoint]()
        first, then = chance.choice((0.5, 1.0)), chance.choice((0.4, 0.7, 1.0))
        for number in range(chance.randrange(30)):
            day += timedelta(days=chance.choice((1, 3, 7)))
            is_looked = chance.random() < (first if number < 10 else then)
            is_seen = is_looked and chance.random() < chance.choice((0.0, 0.15))
            points.append(LookPoint(day, is_looked, "slight" if is_seen else None, ""))
        for below, in_a_row, days in ((HOLDING_BELOW, 2, 0), (READY_BELOW, 3, 28), (READY_BELOW, 1, 14)):
            expected = plain_stretch(points, below, in_a_row, days)
            looked = [point for point in points if point.looked]
            assert stretch_of(looked, points, below, in_a_row, days) == expected
            found += expected is not None
    assert 200 < found < 1000


# --- New, in progress ---------------------------------------------------------------------------


def test_a_focus_is_new_until_two_arrivals_have_looked() -> None:
    assert [word("m"), word("ms"), word("mss")] == ["new", "new", "in_progress"]


def test_the_arrival_on_which_it_was_opened_does_not_count() -> None:
    found = judged(history("mmmms"), [Span(week(3), None)])
    assert (found.word, found.looks, found.since) == ("new", 1, week(3))


def test_arrivals_without_a_look_do_not_make_it_older() -> None:
    assert word("m-----") == word("ms----") == "new"


def test_a_focus_before_any_arrival_is_new() -> None:
    assert word("") == word("--") == "new"


def test_what_was_never_opened_or_was_dropped_has_no_state() -> None:
    with pytest.raises(ValueError, match="no focus"):
        judged(history("mmc"), [])


# --- Does not hold ------------------------------------------------------------------------------


def test_two_changes_lost_in_a_row_do_not_hold() -> None:
    """Two changes need three arrivals: after the second, only one of them has been asked."""
    assert judged(lessons("mc mc")).word == "new"
    once = judged(lessons("mc m- m-"))
    twice = judged(lessons("mc mc m-"))
    assert (once.word, once.lost) == ("in_progress", 1)
    assert (twice.word, twice.lost) == ("does_not_hold", 2)


@pytest.mark.parametrize(
    ("words", "became", "lost"),
    [
        ("mc mc mc s-", ["lost", "lost", "partly"], 0),  # partly is not lost
        ("mc mc mc c-", ["lost", "lost", "held"], 0),
        ("mc sc mc m-", ["partly", "lost", "lost"], 2),
        ("ms ms m-", ["lost", "lost"], 2),
        ("mc m- -- mc m-", ["lost", "lost"], 2),  # not every lesson makes a change
    ],
)
def test_only_the_latest_changes_count(words: str, became: list[str], lost: int) -> None:
    found = judged(lessons(words))
    assert [outcome.verdict for outcome in outcomes(lessons(words))] == became
    assert (found.lost, found.word) == (lost, "does_not_hold" if lost == 2 else "in_progress")


def test_a_change_lost_before_it_was_opened_does_not_count() -> None:
    points = lessons("mc mc mc m-")
    assert judged(points, [Span(week(1), None)]).lost == 2
    assert judged(points, [Span(week(2), None)]).lost == 1


# --- Holding, ready to close --------------------------------------------------------------------


def test_five_good_arrivals_in_a_row_are_holding_and_fewer_may_be_luck() -> None:
    assert [word("m" + "c" * good) for good in (1, 4, 5)] == ["new", "in_progress", "holding"]
    assert [word("mcmc"), word("mcccccs")] == ["in_progress", "in_progress"]


def test_one_bad_arrival_among_eight_is_holding_once_two_are_good_again() -> None:
    assert [word("mcccccs" + "c" * good) for good in range(4)] == ["in_progress", "in_progress", "holding", "holding"]
    assert [word("mccccs" + "c" * good) for good in range(4)] == ["in_progress"] * 3 + ["holding"]


def test_two_changes_lost_and_two_good_arrivals_since_are_no_longer_called_lost() -> None:
    assert [judged(lessons(f"mc mc m- {since}")).word for since in ("", "c-", "c- c-")] == [
        "does_not_hold",
        "does_not_hold",
        "in_progress",
    ]


def test_a_missing_look_does_not_break_a_row() -> None:
    assert judged(history("mc--c")).run == (2, 21)


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        ((7, 8, 9, 10, 11, 12, 35), "holding"),  # 28 days, but seven arrivals
        ((7, 8, 9, 10, 11, 12, 13, 34), "holding"),  # eight arrivals, but 27 days
        ((7, 8, 9, 10, 11, 12, 13, 35), "ready_to_close"),  # eight arrivals over 28 days
        ((7, 35, 63), "in_progress"),  # a fault seen every other time is good three times in a row on one in eight
        (tuple(range(7, 27)), "holding"),
    ],
)
def test_ready_to_close_takes_eight_arrivals_over_twenty_eight_days(days: tuple[int, ...], expected: str) -> None:
    assert judged(on_days(*days)).word == expected


def test_ready_to_close_says_since_when() -> None:
    found = judged(on_days(*range(7, 67, 7)))
    assert (found.word, found.run, found.ended_on, found.closed) == (
        "ready_to_close",
        (9, 56),
        FIRST + timedelta(days=56),
        False,
    )


def test_one_bad_arrival_of_thirteen_leaves_it_ready_to_close_once_three_are_good_again() -> None:
    before = "m" + "c" * 9 + "s"
    assert [word(before + "c" * good) for good in range(4)] == [
        "in_progress",
        "in_progress",
        "holding",
        "ready_to_close",
    ]
    assert word("m" + "c" * 8 + "sccc") == "holding"  # 1 of 12: (2 / 3) ** 11 * (2 / 3 + 12 / 3) is 5.4 %


def test_what_was_longer_ago_than_twenty_arrivals_says_nothing_of_now() -> None:
    often_bad_now = "cs" * 9 + "cc"
    assert word("m" + "c" * 200 + often_bad_now) == "returned"


def test_several_arrivals_of_one_day_count_once_by_the_first_of_them() -> None:
    """A day of a camp with many arrivals is one look, and what comes later that day follows a lesson."""
    one_day = [LookPoint(FIRST + timedelta(days=7), True, degree, "Ida") for degree in ("clear", *[None] * 20)]
    found = judged(one_day)
    assert (found.word, found.looks, found.run.arrivals, found.same_day) == ("new", 1, 0, 20)


def test_a_camp_of_two_arrivals_a_day_is_not_ready_to_close() -> None:
    found = judged(on_days(*(day for day in range(1, 11) for _ in range(2))))
    assert (found.word, found.looks, found.run) == ("holding", 10, (10, 9))


def test_no_fault_seen_every_time_for_years_ever_holds() -> None:
    assert {word("m" * number) for number in (3, 50, 150)} == {"in_progress"}


def test_a_fault_that_vanished_after_two_lessons_is_ready_to_close_after_eight() -> None:
    words = [word("mmm" + "c" * good) for good in range(9)]
    assert words == ["in_progress"] * 5 + ["holding"] * 3 + ["ready_to_close"]


def test_a_slight_one_in_the_row_begins_it_anew() -> None:
    assert judged(history("mccscc")).run == (2, 7)


def test_a_gap_of_a_year_counts_as_days_but_not_as_arrivals() -> None:
    assert judged(on_days(1, 2, 3, 4, 5, 6, 372)).word == "holding"
    assert judged(on_days(1, 2, 3, 4, 5, 6, 372, 379)).word == "ready_to_close"


# --- Closed, opened again, returned -------------------------------------------------------------


def test_what_the_coach_closed_is_closed_whatever_was_seen_before() -> None:
    found = judged(history("mmm"), [Span(week(0), week(2))])
    assert (found.word, found.closed, found.ended_on, found.seen_since) == ("closed", True, week(2), 0)


def test_closed_and_seen_twice_has_returned_and_once_is_still_closed() -> None:
    spans = [Span(week(0), week(2))]
    assert [word(f"mcc{after}", spans) for after in ("s", "sc", "ss", "scu")] == [
        "closed",
        "closed",
        "returned",
        "returned",
    ]
    found = judged(history("mccss"), spans)
    assert (found.ended_on, found.closed, found.seen_since) == (week(2), True, 2)


def test_the_arrival_of_the_lesson_that_closed_it_is_not_after() -> None:
    assert judged(history("mcms"), [Span(week(0), week(2))]).seen_since == 1


def test_ready_to_close_and_seen_twice_has_returned() -> None:
    good = "m" + "c" * 8
    assert [word(good), word(good + "s"), word(good + "ss")] == ["ready_to_close", "in_progress", "returned"]
    assert judged(history(good + "ss")).ended_on == week(8)


def test_seen_now_and_then_after_it_was_closed_has_not_returned() -> None:
    """Two bad ones of three are a return; two with two good ones between them are not."""
    spans = [Span(week(0), week(2))]
    assert [word(f"mcc{after}", spans) for after in ("scs", "sccs", "sccsccs")] == ["returned", "closed", "closed"]


def test_what_returned_is_called_so_until_it_holds() -> None:
    words = [word("mccss" + "c" * good, [Span(week(0), week(2))]) for good in range(9)]
    assert words == ["returned"] * 5 + ["holding"] * 3 + ["closed"]


def test_what_was_good_before_it_was_opened_was_not_ready_to_close() -> None:
    assert word("ccccccmss", [Span(week(6), None)]) == "in_progress"


def test_what_returned_is_holding_and_ready_to_close_again_by_its_own_row() -> None:
    before = "mccccccccss"
    words = [word(before + "c" * more) for more in range(9)]
    assert words == ["returned"] * 5 + ["holding"] * 3 + ["ready_to_close"]
    assert judged(history(before + "c" * 8)).ended_on == week(18)


def test_the_arrival_on_which_it_was_opened_makes_nothing_ready_to_close() -> None:
    """A good arrival in which it was opened and seven more over six weeks are a run of seven, which then ended."""
    rules = replace(RULES, returned=1)
    assert word("c" * 8 + "m", rules=rules) == "in_progress"
    assert word("c" * 9 + "m", rules=rules) == "returned"


def test_no_good_arrival_is_a_run_of_no_days() -> None:
    assert (run_of([]).arrivals, run_of([]).days) == (0, 0)
    assert (run_of(history("cm")).arrivals, run_of(history("cm")).days) == (0, 0)


def test_seen_once_and_opened_again_has_returned() -> None:
    spans = [Span(week(0), week(3)), Span(week(5), None)]
    found = judged(history("mccccm"), spans)
    assert (found.word, found.since, found.ended_on, found.seen_since) == ("returned", week(5), week(3), 1)


def test_opened_again_though_it_was_not_seen_begins_anew() -> None:
    spans = [Span(week(0), week(3)), Span(week(5), None)]
    words = [word(("m" + "c" * 20)[:looks], spans) for looks in (6, 7, 8, 11)]
    assert words == ["new", "new", "in_progress", "holding"]


def test_opened_again_and_closed_again_is_closed_since_the_later_day() -> None:
    found = judged(history("mccmmm"), [Span(week(0), week(2)), Span(week(3), week(5))])
    assert (found.word, found.ended_on, found.seen_since) == ("closed", week(5), 0)


def test_closed_and_not_seen_for_a_year_then_seen_on_two_arrivals() -> None:
    late = [LookPoint(FIRST + timedelta(days=400 + day), True, "slight", "Ida") for day in (0, 14)]
    spans = [Span(FIRST, FIRST + timedelta(days=21))]
    assert judged([*on_days(7, 14, 21), late[0]], spans).word == "closed"
    assert judged([*on_days(7, 14, 21), *late], spans).word == "returned"


# --- Other rules --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("points", "spans", "usual", "rules", "other"),
    [
        (history("mss"), OPEN, "in_progress", Rules(new_looks=3), "new"),
        (lessons("mc mc m-"), OPEN, "does_not_hold", Rules(lost=3), "in_progress"),
        (history("mccccc"), OPEN, "holding", Rules(holding=6), "in_progress"),
        (on_days(*range(7, 36, 4)), OPEN, "ready_to_close", Rules(ready=9), "holding"),
        (on_days(*range(7, 36, 4)), OPEN, "ready_to_close", Rules(ready_days=29), "holding"),
        (history("mccs"), [Span(FIRST, week(2))], "closed", Rules(returned=1), "returned"),
    ],
)
def test_an_academy_s_own_rules_change_the_word(
    points: list[LookPoint], spans: list[Span], usual: str, rules: Rules, other: str
) -> None:
    assert [judged(points, spans).word, judged(points, spans, rules).word] == [usual, other]


@settings(max_examples=300, deadline=None)
@given(st.text("msuc-", max_size=20), st.integers(0, 6), st.integers(0, 6), st.booleans())
def test_a_word_keeps_its_promise(letters: str, opened: int, lasts: int, is_closed: bool) -> None:
    span = Span(week(opened), week(opened + lasts) if is_closed else None)
    found = judged(history(letters), [span])
    after = letters[opened + 1 :].replace("-", "")
    row = len(after) - len(after.rstrip("c"))
    assert (found.looks, found.run.arrivals, found.same_day) == (len(after), row, 0)
    assert (found.word == "new") <= (len(after) < 2)
    assert (found.word == "holding") <= (row >= 2 and len(after) >= 5)
    assert (found.word == "closed") <= is_closed
    assert (found.word == "ready_to_close") <= (row >= 3 and len(after) >= 8 and not is_closed)
    assert (found.word == "returned") <= (found.seen_since >= 2 and row < 5)
    assert (found.word in ("closed", "ready_to_close", "returned")) <= (found.ended_on is not None)
    if row >= 8:  # seven weeks from the first to the last
        assert found.word == ("closed" if is_closed else "ready_to_close")
    if not is_closed:
        stricter = replace(RULES, ready=99)
        assert judged(history(letters), [span], stricter).word not in ("closed", "ready_to_close", "returned")


# --- Looked at less often -----------------------------------------------------------------------


def test_good_looks_on_every_other_arrival_do_not_make_it_ready_to_close_where_all_were_looked_at_before() -> None:
    """Had the arrivals between been bad, as when only good days are noted, it would be seen on half of them."""
    often, seldom = "m" * 10, "c-" * 10
    assert word(often + "c" * 10) == "ready_to_close"
    found = judged(history(often + seldom))
    assert (found.word, found.is_looked_less) == ("in_progress", True)
    assert reason(found).endswith(
        "looked at on 19 arrivals since, good on the last 10; looked at less often than before"
    )


def test_who_looked_at_every_other_arrival_from_the_start_looks_as_before() -> None:
    found = judged(history("m-" * 10 + "c-" * 10))
    assert (found.word, found.is_looked_less) == ("ready_to_close", False)


def test_looking_again_makes_it_ready_to_close() -> None:
    """Ten more in a row, whatever was missed before them."""
    found = judged(history("m" * 10 + "c-" * 5 + "c" * 10))
    assert (found.word, found.is_looked_less) == ("ready_to_close", False)
