"""What an academy's changes come to, without a database.

Design effects: Rao & Scott (1992), Biometrics 48, 577-585, Table 1 (Weil's litters), with the effects that the manual
of the R package PF prints for it (ABS-dev/PF, man/rsb); and the cluster-robust variance of statsmodels.
"""

import random
from collections.abc import Sequence
from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.api import OLS
from statsmodels.stats.proportion import proportion_confint

from coachbook.caseload.findings.clusters import (
    Clusters,
    Tally,
    cautious_effect,
    clusters,
    combine,
    design_effect,
    intraclass_correlation,
    share_words,
    weight,
    wide,
)
from coachbook.caseload.findings.faults import FaultLine, Looks, commonest, monthly_trends, never_seen
from coachbook.caseload.findings.report import (
    LONGEST,
    ChangeGroup,
    Dependence,
    compare_coach,
    count_changes,
    dependences,
    usual_gap,
    verdict_words,
)
from lessons.progress.intervals import Limits, Share, wilson

# Pups alive at 21 days of those alive at 4 days, litter by litter.
CONTROL = "13/13 12/12 9/9 9/9 8/8 8/8 12/13 11/12 9/10 9/10 8/9 11/13 4/5 5/7 7/10 7/10"
TREATED = "12/12 11/11 10/10 9/9 10/11 9/10 9/10 8/9 8/9 4/5 7/9 4/7 5/10 3/6 3/10 0/7"
some_shares = st.lists(st.integers(1, 12).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of))), min_size=2)


def shares(words: str) -> list[Share]:
    return [Share(*map(int, word.split("/"))) for word in words.split()]


def tally(words: str, correlation: float = 0.0) -> Tally:
    """Changes by student, such as 3/4 2/5; what did not hold was lost."""
    return Tally(clusters(shares(words)), 0, correlation)


# --- Design effects -----------------------------------------------------------------------------


@pytest.mark.parametrize("litters, printed", [(CONTROL, 1.232495), (TREATED, 3.952861)])
def test_a_design_effect_is_the_published_one(litters: str, printed: float) -> None:
    assert design_effect(clusters(shares(litters))) == pytest.approx(printed, abs=5e-7)


@given(some_shares)
def test_a_design_effect_is_the_cluster_robust_variance_over_the_binomial_one(rows: list[tuple[int, int]]) -> None:
    found = clusters(Share(*row) for row in rows)
    if found.seen in (0, found.of):
        return
    ones = np.concatenate([np.repeat([1.0, 0.0], [seen, of - seen]) for seen, of in rows])
    groups = np.repeat(np.arange(len(rows)), [of for _, of in rows])
    fitted = OLS(ones, np.ones_like(ones)).fit(cov_type="cluster", cov_kwds={"groups": groups})
    binomial = ones.mean() * (1 - ones.mean()) / len(ones)
    assert design_effect(found) == pytest.approx(max(1.0, fitted.bse[0] ** 2 / binomial))


def test_single_changes_of_many_students_are_separate() -> None:
    single = clusters([Share(1, 1)] * 120 + [Share(0, 1)] * 80)
    assert design_effect(single) == pytest.approx(200 / 199)
    assert weight(single) == 1 and intraclass_correlation(single) == 0


@pytest.mark.parametrize("correlation", ["10/20", "5/5 5/5 5/5", "0/5 0/5"])
def test_where_nothing_can_be_said_a_student_counts_once(correlation: str) -> None:
    found = clusters(shares(correlation))
    assert found.of / design_effect(found) == pytest.approx(found.number)


def test_changes_that_are_all_the_same_for_each_student_count_once_a_student() -> None:
    found = clusters([Share(5, 5)] * 100 + [Share(0, 5)] * 100)
    assert design_effect(found) == pytest.approx(5, rel=0.01) and intraclass_correlation(found) == pytest.approx(
        1, abs=0.01
    )


def test_changes_half_alike_lie_between() -> None:
    """Two of four students are all of one kind, two are mixed: alike, and not the same throughout."""
    found = clusters([Share(4, 4), Share(0, 4), Share(2, 4), Share(2, 4)] * 25)
    assert 0.2 < intraclass_correlation(found) < 0.5


def test_clusters_add_up() -> None:
    one, other = shares(CONTROL), shares(TREATED)
    assert combine([clusters(one), clusters(other)]) == clusters(one + other)
    assert clusters([Share(0, 0), Share(1, 2)]) == clusters([Share(1, 2)])
    assert clusters([]) == combine([]) == Clusters()
    assert design_effect(Clusters()) == 1 and intraclass_correlation(Clusters()) == 0


@given(st.integers(1, 300).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of))), st.floats(1, 20))
def test_an_interval_with_a_design_effect_is_that_of_fewer_looks(row: tuple[int, int], effect: float) -> None:
    seen, of = row
    low, high = proportion_confint(seen / effect, of / effect, method="wilson")
    assert wide(Share(seen, of), effect) == pytest.approx((max(low, 0), min(high, 1)), abs=1e-9)


def caseload(rng: random.Random, students: int, correlation: float, rate: float = 0.5) -> list[Share]:
    """Students who each have a rate of their own (a beta distribution) and some changes."""
    rows = []
    for _ in range(students):
        own = rng.betavariate(rate * (1 - correlation) / correlation, (1 - rate) * (1 - correlation) / correlation)
        of = rng.randint(1, 9)
        rows.append(Share(sum(rng.random() < own for _ in range(of)), of))
    return rows


def test_an_interval_covers_the_truth_as_often_as_it_says_though_students_differ() -> None:
    rng = random.Random(92)
    cautious, naive, rounds = 0, 0, 400
    for _ in range(rounds):
        rows = caseload(rng, students=30, correlation=0.3)
        whole = Share(sum(row.seen for row in rows), sum(row.of for row in rows))
        effect = cautious_effect(clusters(rows), 0.3)
        low, high = wide(whole, effect)
        cautious += low <= 0.5 <= high
        low, high = wilson(whole)
        naive += low <= 0.5 <= high
    assert 0.93 <= cautious / rounds <= 0.985
    assert naive / rounds < 0.85


@pytest.mark.parametrize("students", [3, 6, 12])
def test_a_small_caseload_is_hardly_ever_called_out_by_chance(students: int) -> None:
    """Chance alone leads outside three sigmas once in 370; without the effect it would be once in twenty or more."""
    rng = random.Random(370 + students)
    cautious, naive, rounds = 0, 0, 800
    for _ in range(rounds):
        found = clusters(caseload(rng, students, correlation=0.3))
        cautious += "chance explains" in compare_coach(Tally(found, 0, 0.3), 0.5 * found.of).words
        naive += abs(found.seen / found.of - 0.5) > 3 * sqrt(0.25 / found.of)
    assert cautious / rounds < 0.01 < naive / rounds


# --- CoachComparison the academy -------------------------------------------------------------------------


def test_what_is_expected_of_all_coaches_is_what_held() -> None:
    """Indirect standardisation with the academy's own rates redistributes what held, and neither adds nor takes."""
    easy, hard = tally("9/10 8/10 7/10"), tally("1/10 2/10 3/10")
    mixes = [(1, 10, 20), (1, 20, 10), (2, 10, 10), (2, 20, 20)]
    coaches = {1: (clusters(shares("9/10 8/10 1/10")), 0), 2: (clusters(shares("7/10 2/10 3/10")), 0)}
    book = count_changes(coaches, {10: (easy.clusters, 0), 20: (hard.clusters, 0)}, mixes)
    assert book.expected(1) == pytest.approx(20 * 0.8 + 10 * 0.2)
    assert book.expected(2) == pytest.approx(10 * 0.8 + 20 * 0.2)
    assert book.expected(1) + book.expected(2) == pytest.approx(book.every.share.seen)


def test_a_coach_of_hard_faults_is_not_below_the_academy() -> None:
    """A quarter held where a quarter was to be expected, though half holds elsewhere."""
    told = compare_coach(tally("1/4 " * 25), 25.0)
    assert told.words == "Within what chance does." and told.expected_share == "about 25 of 100 (25%)"


@pytest.mark.parametrize(
    "held, words",
    [
        (65, "Within what chance does."),  # 3 sigmas around 50 of 100 are 35 to 65, both still within
        (66, "More held than chance explains: worth asking what they do."),
        (35, "Within what chance does."),
        (34, "Fewer held than chance explains. Look at the case mix and at the lessons before you conclude anything."),
    ],
)
def test_a_share_is_compared_with_the_limits_of_a_proportions_chart(held: int, words: str) -> None:
    """NIST/SEMATECH e-Handbook, 6.3.3.2: p plus or minus three times the root of p(1 - p) / n. Each student once."""
    single = Tally(clusters([Share(1, 1)] * held + [Share(0, 1)] * (100 - held)))
    assert compare_coach(single, 50.0).words == words


def test_a_share_on_a_limit_is_within_it_and_one_beside_it_is_not() -> None:
    limits = Limits(0.4, 0.6)
    words = [verdict_words(rate, limits).split()[0] for rate in (0.399, 0.4, 0.1 * 6, 0.6, 0.601)]
    assert words == ["Fewer", "Within", "Within", "Within", "More"]


@pytest.mark.parametrize(
    "words, separate", [("2/2 1/2 2/3", ""), ("4/10 6/10 5/10", "tell as much as 3 separate changes")]
)
def test_few_changes_are_not_compared_and_give_no_percentage(words: str, separate: str) -> None:
    told = compare_coach(tally(words, correlation=1.0), 5.0)
    assert told.words.startswith("Too few to compare") and separate in told.words
    assert "%" not in told.share + told.expected + told.chance + told.words


def test_where_nearly_all_holds_limits_say_nothing() -> None:
    told = compare_coach(tally("1/1 " * 38 + "0/1 0/1"), 39.2)
    assert told.words == "Too few to compare: nearly all such changes hold at the academy." and not told.chance


def test_one_coach_alone_has_nobody_to_be_compared_with() -> None:
    assert (
        compare_coach(tally("1/2 " * 50), 50.0, alone=True).words
        == "The only coach with changes: nobody to compare with."
    )


@given(some_shares, st.floats(0, 1), st.floats(0, 1))
def test_every_caseload_can_be_told(rows: list[tuple[int, int]], correlation: float, rate: float) -> None:
    found = Tally(clusters(Share(*row) for row in rows), 0, correlation)
    told = compare_coach(found, rate * found.share.of)
    assert "nan" not in f"{told} {found.words}".lower()


# --- On what it depends -------------------------------------------------------------------------


def change_groups(told: Sequence[tuple[str, int, int]], week: int = 0) -> list[ChangeGroup]:
    return [ChangeGroup(1, week, name, held, total) for name, held, total in told]


RISING = [("none", 10, 50), ("some", 20, 50), ("most", 30, 50), ("all", 40, 50)]


def words_of(found: Dependence) -> dict[str, str]:
    return {group.name: group.words for group in found.groups}


def test_a_trend_over_practice_is_told_with_care() -> None:
    days, told = dependences(change_groups(RISING), 1.0)
    assert told.words == "Held more often the more practice was reported, and unlikely to be chance."
    assert words_of(told)["none"].startswith("10 of 50 (20%")
    assert days.words == "Too few changes to say whether it depends on the time until the next arrival."


def test_the_other_way_round_it_is_less_often() -> None:
    falling = [ChangeGroup(1, week, "", held, 50) for week, held in ((1, 40), (2, 30), (7, 20), (8, 10))]
    days, told = dependences(falling, 1.0)
    assert days.words == "Held less often the longer the time until the next arrival, and unlikely to be chance."
    assert [group.counts for group in days.groups] == ["40 of 50", "30 of 50", "20 of 50", "10 of 50"]
    assert told.words.startswith("Too few") and {group.words for group in told.groups} == {"none"}


def test_each_group_says_how_many_would_have_looked_good_anyway_in_words_and_in_its_plot() -> None:
    """Of five, the three whose arrivals say it come to 1.8, so of all five to 3; of two of five none is said."""
    said = ChangeGroup(1, 0, "some", 4, 5, chances=1.8, known=3)
    silent = ChangeGroup(1, 2, "most", 4, 5, chances=1.2, known=2)
    days, practice = dependences([said, silent], 1.0)
    for found, name in ((days, "up to 14 days"), (practice, "some")):
        [group] = [group for group in found.groups if group.name == name]
        assert group.words == "4 of 5; about 3 of 5 would have looked good anyway"
        assert group.dot and group.dot.mark == "M192 0V14"  # 3 of 5 of 320
    for found, name in ((days, "15 to 28 days"), (practice, "most")):
        [group] = [group for group in found.groups if group.name == name]
        assert group.words == "4 of 5; too few other arrivals to say how many would have looked good anyway"
        assert group.dot and group.dot.mark == ""


def test_chances_of_several_coaches_and_weeks_are_added_up() -> None:
    rows = [ChangeGroup(coach, week, "all", 2, 4, chances=1.0, known=4) for coach in (1, 2) for week in (0, 1)]
    days, _ = dependences(rows, 1.0)
    assert days.groups[0].words.endswith("about 4 of 16 would have looked good anyway")


def test_what_nobody_asked_is_not_counted_as_none() -> None:
    _, told = dependences(change_groups([*RISING, ("", 0, 500)]), 1.0)
    assert words_of(told)["none"].startswith("10 of 50")


def test_without_a_trend_there_is_no_sign_of_one() -> None:
    _, told = dependences(change_groups([(name, 25, 50) for name in ("none", "some", "most", "all")]), 1.0)
    assert told.words == "Whether it depends on the practice reported: cannot tell yet."


def test_a_trend_that_few_students_make_is_not_called() -> None:
    """z is 2.6 for separate changes, and half of that where four tell as much as one."""
    slight = [("none", 20, 100), ("some", 24, 100), ("most", 28, 100), ("all", 36, 100)]
    assert "unlikely to be chance" in dependences(change_groups(slight), 1.0)[1].words
    assert (
        dependences(change_groups(slight), 4.0)[1].words
        == "Whether it depends on the practice reported: cannot tell yet."
    )


# --- Words --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "weeks, words",
    [
        ({0: 5, 3: 5}, "within 1 week"),
        ({0: 4, 2: 6}, "within 3 weeks"),
        ({LONGEST: 3, 1: 1}, "after more than half a year"),
    ],
)
def test_the_usual_gap_is_the_middle_one(weeks: dict[int, int], words: str) -> None:
    assert (
        usual_gap(ChangeGroup(1, week, "", 0, total) for week, total in weeks.items())
        == f"half met the next arrival {words}"
    )


def test_a_percentage_needs_as_much_as_eight_separate_looks() -> None:
    assert share_words(Share(3, 7), 1.0) == "3 of 7" and share_words(Share(8, 15), 2.0) == "8 of 15"
    assert share_words(Share(8, 16), 2.0).startswith("8 of 16 (50%, 95% interval")


def test_looks_are_told_by_degree() -> None:
    looks = Looks(looked=10, slight=2, clear=3, not_graded=1)
    assert looks.share == (6, 10) and looks.degrees == "3 clear, 2 slight, 1 seen, not graded, 4 good"


def line(name: str, working: int, looks: Looks) -> FaultLine:
    return FaultLine("Grip", name, working, (looks,) if looks.looked else (), 100, Tally())


def test_faults_come_by_who_works_on_them_and_the_never_seen_apart() -> None:
    often, worked, good, silent = (
        line("Often", 0, Looks(50, 40)),
        line("Worked", 2, Looks()),
        line("Good", 0, Looks(9)),
        line("Silent", 0, Looks()),
    )
    every = [good, silent, often, worked]
    assert commonest(every) == [worked, often] and never_seen(every) == [good]
    assert worked.seen == "not looked at" and often.looked == "50 of 100"
    assert line("Elsewhere", 0, Looks(120, 3)).looked == "120 of 120"


def monthly(name: str, *seen: int, of: int = 20) -> FaultLine:
    return FaultLine("Grip", name, 0, tuple(Looks(of, number) for number in seen), 1000, Tally())


def test_a_fault_that_gets_commoner_is_called_and_its_halves_are_told() -> None:
    """Of two faults one rises over eight months without a break: 2 in 40320 orders are as extreme."""
    rising, still = monthly("Rising", *range(2, 18, 2)), monthly("Still", 5, 6, 5, 4, 6, 5, 4, 5)
    found = monthly_trends([still, rising])
    assert (found.more, found.less, found.can_speak) == ([rising], [], True)
    assert rising.halves == "20 of 80 in the first half, 52 of 80 in the second"
    falling = monthly("Falling", *range(16, 0, -2))
    assert monthly_trends([still, falling]).less == [falling]


def test_one_rise_among_many_faults_may_be_chance() -> None:
    """A rise over five months has a chance of 2 in 120, and among forty faults one such is to be expected."""
    rise, still = monthly("Rise", 2, 4, 6, 8, 10), [monthly("Still", 5, 9, 3, 8, 4) for _ in range(39)]
    assert monthly_trends([rise]).more == [rise] and not monthly_trends([rise, *still]).more
    assert monthly_trends([rise, *still]).can_speak


def test_few_months_cannot_speak() -> None:
    """Four months have 24 orders: not even the most extreme two are rare."""
    assert not monthly_trends([monthly("Short", 1, 5, 10, 20)]).can_speak and not monthly_trends([]).can_speak
