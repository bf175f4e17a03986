"""A history judged: the look on which it was picked is left out, and many skills on a page find no more by chance.

Expectations come from how the students are drawn: whoever has the same chances throughout does not change.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lessons.progress.focus_states import Rules, Span
from lessons.progress.held_sentences import held_words
from lessons.progress.intervals import Interval, Pairs, Share
from lessons.progress.judgement import FALSE_DISCOVERY_RATE, Case, Judgement, Trend, judge, judge_all
from lessons.progress.points import Degree, LookPoint
from lessons.progress.sentences import changed_words, reason
from lessons.progress.sequential import LEVEL
from lessons.progress.significance import benjamini_hochberg
from lessons.progress.trend_sentences import plain_trend, trend_words
from tests.test_held import LEVELS, lessons
from tests.test_points import DEGREES, FIRST, history, week

RULES = Rules()
OPEN = [Span(FIRST, None)]
FALLS, RISES = "m" + "m" * 10 + "c" * 10, "c" + "c" * 10 + "m" * 10
STEADY = "m" + "mcsc" * 5


def alone(points: Sequence[LookPoint], spans: Sequence[Span] = OPEN) -> Judgement:
    [found] = judge_all([(points, spans)], RULES)
    return found


def trend_of(letters: str, spans: Sequence[Span] = OPEN) -> Trend:
    found = alone(history(letters), spans).trend
    assert found
    return found


def is_rarer(trend: Trend | None) -> bool:
    return trend is not None and trend.is_significant and trend.kendall.s < 0


# --- The looks since it was opened --------------------------------------------------------------


def test_the_look_on_which_it_was_picked_is_left_out() -> None:
    """Clear, then opened, then slight throughout: with that look S would be -6, without it nothing changes."""
    before, at_it = trend_of("mssssss", [Span(FIRST - timedelta(days=1), None)]), trend_of("mssssss")
    assert (before.kendall.s, before.kendall.looks) == (-6, 7)
    assert (at_it.kendall.s, at_it.kendall.looks) == (0, 6)


def test_what_was_before_it_was_opened_is_left_out() -> None:
    assert trend_of("mmmmmmmmmm" + "mcccccccc", [Span(week(10), None)]).kendall.s == 0


def test_a_focus_opened_again_is_judged_from_then() -> None:
    assert trend_of(FALLS, [Span(week(0), week(12)), Span(week(15), None)]).kendall.looks == 5


def test_two_halves_by_hand() -> None:
    """Seven looks after the first, one of them missing: four and three."""
    first, second = trend_of("mms-uccsc").halves or ()
    assert (first.share, second.share) == (Share(3, 4), Share(1, 3))
    assert (first.begins, first.ends, second.begins, second.ends) == (week(1), week(5), week(6), week(8))
    assert (first.good, first.slight, first.clear, first.not_graded) == (1, 1, 1, 1)
    assert trend_of("mmcsc").change.low < 0 < trend_of("mmcsc").change.high


def test_what_became_rarer_changed_by_more_than_nothing_and_what_became_commoner_by_less() -> None:
    assert trend_of("m" + "m" * 9 + "c" * 9).change.low > 0
    assert trend_of("m" + "c" * 9 + "m" * 9).change.high < 0


def test_fewer_than_two_looks_have_no_halves() -> None:
    for letters in ("", "m", "mm", "m-s-"):
        found = trend_of(letters)
        assert (found.halves, found.change, found.can_be_significant, found.is_significant) == (
            None,
            Interval(-1, 1),
            False,
            False,
        )


def test_what_plainly_falls_or_rises_is_significant_and_what_stays_is_not() -> None:
    """Ten looks against ten; and five rounds of clear, good, slight, good, each with 4 pairs better and 1 worse."""
    found = judge_all([(history(letters), OPEN) for letters in (FALLS, RISES, STEADY)], RULES)
    trends = [judgement.trend for judgement in found if judgement.trend]
    assert [(trend.is_significant, trend.kendall.s) for trend in trends] == [(True, -100), (True, 100), (False, -15)]


FEW = "m" + "m" * 8 + "c" * 8  # just enough to be called alone


def test_looks_that_no_order_makes_significant_are_no_test() -> None:
    """Three seen of six can be ordered in 20 ways; the clearest, either way, has the chance 2 in 20."""
    few = trend_of("mmmmccc")
    assert (few.kendall.smallest_p, few.can_be_significant, few.is_significant) == (pytest.approx(0.1), False, False)
    assert trend_of("mmmmmcccc").kendall.smallest_p == pytest.approx(2 / 70)
    assert trend_of(FEW).is_significant
    crowd: list[Case] = [(history("mmmmccc"), OPEN)] * 30
    assert is_rarer(judge_all([(history(FEW), OPEN), *crowd], RULES)[0].trend)


def test_a_p_value_of_four_in_seventy_is_not_significant() -> None:
    """Four seen and four good, but one pair out of order: of the 70 orders, two each way are as clear or clearer."""
    found = trend_of("mmmmcmccc")
    assert (found.kendall.s, found.kendall.p) == (-14, pytest.approx(4 / 70))
    assert not found.is_significant


def test_what_is_clear_alone_may_be_chance_among_many() -> None:
    """It counts alone; among nine others that show nothing it would have to be ten times as unlikely."""
    others: list[Case] = [(history(STEADY), OPEN)] * 9
    first = judge_all([(history(FEW), OPEN), *others], RULES)[0].trend
    assert first and first.can_be_significant and first.counts_alone and not first.is_significant


def test_what_was_never_opened_has_no_trend_no_state_and_takes_no_share() -> None:
    never: list[Case] = [(history(STEADY), [])] * 9
    found = judge_all([(history(FEW), OPEN), *never], RULES)
    assert is_rarer(found[0].trend)
    assert {(judgement.trend, judgement.state) for judgement in found[1:]} == {(None, None)}


def test_cases_may_come_one_by_one_and_keep_their_order() -> None:
    letters = ["mc", "ms-uc", STEADY]
    found = judge_all(((history(case), OPEN) for case in letters), RULES)
    assert [judgement.total.arrivals for judgement in found] == [len(case) for case in letters]
    assert judge_all([], RULES) == []


cases = st.lists(st.tuples(st.text("msuc-", max_size=16), st.booleans()), max_size=8)


@settings(max_examples=200, deadline=None)
@given(cases)
def test_a_page_calls_significant_what_benjamini_and_hochberg_find_among_possible_ones(
    page: list[tuple[str, bool]],
) -> None:
    found = judge_all([(history(letters), OPEN if is_opened else []) for letters, is_opened in page], RULES)
    trends = [judgement.trend for judgement in found if judgement.trend]
    possible = [trend for trend in trends if trend.can_be_significant]
    passed = benjamini_hochberg([trend.sequential.p for trend in possible], FALSE_DISCOVERY_RATE)
    assert [trend.is_significant for trend in possible] == [
        is_passed and trend.sequential.p <= 0.05 for trend, is_passed in zip(possible, passed, strict=True)
    ]
    assert not any(trend.is_significant for trend in trends if not trend.can_be_significant)
    assert all(trend.kendall.p <= LEVEL and trend.kendall.s for trend in trends if trend.is_significant)


# --- Within lessons -----------------------------------------------------------------------------


def test_all_of_a_history_by_hand() -> None:
    found = judge(lessons("mc sc -- m- cc"), OPEN, RULES)
    assert (found.total, found.changed, found.held) == ((3, 4, 5), Pairs(0, 2, 0, 1), (0, 1, 1))
    assert found.changed_p == 0.5  # two changed, both one way: 2 of 4 ways
    assert found.changed_by.low < 2 / 3 < found.changed_by.high
    assert found.state and found.state.word == "in_progress"


@pytest.mark.parametrize(
    ("letters", "is_misleading"),
    [
        ("m--s---m-", True),  # 3 of 9 looked at, seen each time
        ("-----m-s-m", False),  # 3 of 5 since it was first seen: before, nobody knew of it
        ("m--s---", False),  # two looks are too few to tell
        ("m-s-m", False),  # 3 of 5: looked at on most
        ("m-s-m-", False),  # half are not fewer than half
        ("m-s-m--", True),
        ("m--c---s----m", True),  # seen on 3 of 4
        ("m--c---c----m", False),  # on 2 of 4
        ("-------", False),
        ("c--c---c-", False),
        ("mmm---------", True),  # 3 of 12, seen each time
        ("---mmmmmmmmm", True),  # 9 of 12, nobody knows of the other three
        ("--mmmmmmmmmm", False),  # 10 of 12
        ("--mmmmmmmmm", False),  # twelve arrivals at least
        ("mmmmcmm-----", True),  # 7 of 12, seen on 6: noted now and then on a good day, too
        ("mmmmcmmm----", False),  # 8 of 12, once good
        ("mmcmcmm-----", False),  # 7 of 12, twice good
        ("mcmccmcm----", False),
    ],
)
def test_a_fault_looked_at_only_when_it_is_bad_is_known(letters: str, is_misleading: bool) -> None:
    assert alone(history(letters)).has_selective_looks is is_misleading
    assert alone(history(letters), []).has_selective_looks is is_misleading


# --- Whatever was seen --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("letters", "words"),
    [
        ("", "Cannot tell yet whether it changes: too few looks since it was opened."),
        ("m", "Cannot tell yet whether it changes: too few looks since it was opened."),
        ("----", "Cannot tell yet whether it changes: too few looks since it was opened."),
        ("mc", "Cannot tell yet whether it changes: too few looks since it was opened."),
        ("mmmm", "Cannot tell yet whether it changes: too few looks since it was opened."),
        ("c" * 13, "Good on all 12 arrivals looked at since it was opened."),
    ],
)
def test_of_little_a_page_says_little(letters: str, words: str) -> None:
    assert trend_words(trend_of(letters)) == words


@pytest.mark.parametrize("letter", "msuc")
@pytest.mark.parametrize("number", [2, 20, 21, 60])
def test_what_always_shows_the_same_does_not_change(letter: str, number: int) -> None:
    found = trend_of(letter * (number + 1))
    assert (found.kendall.s, found.kendall.p, found.is_significant, found.can_be_significant) == (0, 1, False, False)
    assert not {"Rarer", "Milder", "Clearer"} & {*trend_words(found).split()}


@settings(max_examples=300, deadline=None)
@given(st.lists(st.tuples(st.sampled_from("msuc-"), st.sampled_from("msuc-")), max_size=30), st.integers(0, 5))
def test_every_history_gets_sentences_without_a_number_that_is_none(shown: list[tuple[str, str]], opened: int) -> None:
    points = [
        LookPoint(week(n), arrival != "-", DEGREES[arrival], "Ida", LEVELS[departure])
        for n, (arrival, departure) in enumerate(shown)
    ]
    found = alone(points, [Span(week(opened), None)])
    assert found.trend and found.state
    said = [trend_words(found.trend), plain_trend(found.trend), reason(found.state), changed_words(found)]
    read = " ".join([*said, held_words(found.held)])
    assert "nan" not in read.split() and "inf" not in read.split() and "None" not in read
    assert ("%" in changed_words(found)) <= (found.changed.total >= 8)
    assert "%" not in held_words(found.held)
    assert is_rarer(found.trend) is trend_words(found.trend).startswith(("Rarer", "Milder"))


# --- Students who do not change -----------------------------------------------------------------


def shown(seen: float, clear: float, chance: Random) -> Degree | None:
    """What one look shows: how likely it is to be there, and of that how likely clear."""
    if chance.random() >= seen:
        return None
    return "clear" if chance.random() < clear else "slight"


def picked_on_a_bad_day(seen: float, clear: float, looks: int, chance: Random) -> tuple[list[LookPoint], date]:
    """A student with the same chances every week, from the first clear look on, on which the coach opens it."""
    degrees: list[Degree | None] = ["clear", *(shown(seen, clear, chance) for _ in range(looks))]
    points = [LookPoint(week(number), True, degree, "Ida") for number, degree in enumerate(degrees)]
    return points, points[0].day


def false_rarer(seen: float, clear: float, looks: int, *, with_the_picked: bool, drawn: int = 1500) -> float:
    """How often the order of such a student's looks would by itself be called rarer."""
    chance, wrong = Random(f"{seen} {looks}"), 0
    for _ in range(drawn):
        points, taken = picked_on_a_bad_day(seen, clear, looks, chance)
        since = taken - timedelta(days=with_the_picked)
        trend = alone(points, [Span(since, None)]).trend
        wrong += bool(trend and trend.kendall.s < 0 and trend.kendall.p <= LEVEL)
    return wrong / drawn


@pytest.mark.parametrize("looks", [8, 16])
@pytest.mark.parametrize("seen", [0.3, 0.5])
def test_the_look_on_which_it_was_picked_would_flatter(seen: float, looks: int) -> None:
    """A coach takes on what looks worst, and the next looks are better though nothing changed.

    Without that look a steady student is called rarer at most as often as chance allows, one way: 2.5 %, and by three
    standard errors of 1500 more. With it that happens at least twice as often.
    """
    without = false_rarer(seen, 0.3, looks, with_the_picked=False)
    flattered = false_rarer(seen, 0.3, looks, with_the_picked=True)
    assert without <= 0.025 + 3 * (0.025 * 0.975 / 1500) ** 0.5
    assert flattered > 2 * without and flattered > 0.05


SKILLS, PAGES = 20, 600


def page_of_steady(chance: Random) -> list[Case]:
    """Twenty skills of a student who does not change, each as often seen and as badly as may be."""
    page: list[Case] = []
    for _ in range(SKILLS):
        seen, clear, looks = chance.uniform(0.1, 0.9), chance.uniform(0.1, 0.9), chance.randrange(6, 31)
        points, taken = picked_on_a_bad_day(seen, clear, looks, chance)
        page.append((points, [Span(taken, None)]))
    return page


def with_three_open(page: list[Case]) -> list[Case]:
    """The same page on which a student works on the first three, the most there are, and has closed all others."""
    return [*page[:3], *((points, [Span(spans[0].opened, points[-1].day)]) for points, spans in page[3:])]


def test_a_page_of_twenty_steady_skills_is_seldom_wrong_anywhere() -> None:
    """On at most 5.5 % of pages anything is called that changed by chance; each skill on its own would be on half."""
    chance = Random(1)
    pages = [page_of_steady(chance) for _ in range(PAGES)]
    three_open = [[judgement.trend for judgement in judge_all(with_three_open(page), RULES)] for page in pages]
    assert sum(any(trend and trend.is_significant for trend in page) for page in three_open) <= 0.055 * PAGES
    together = [[judgement.trend for judgement in judge_all(page, RULES)] for page in pages]
    alone_each = [[judge(*case, RULES).trend for case in page] for page in pages[:100]]
    rarer = sum(any(is_rarer(trend) for trend in page) for page in together)
    called = sum(any(trend and trend.is_significant for trend in page) for page in together)
    naive = sum(any(trend and trend.kendall.p <= LEVEL for trend in page) for page in alone_each)
    assert rarer <= called <= 0.055 * PAGES
    assert naive > 0.4 * 100


def falling(looks: int, chance: Random) -> list[LookPoint]:
    """Opened when clear, then ever rarer and milder, evenly from nine looks in ten to one in ten."""
    likely = [0.9 - 0.8 * look / (looks - 1) for look in range(looks)]
    degrees: list[Degree | None] = ["clear", *(shown(seen, seen, chance) for seen in likely)]
    return [LookPoint(week(number), True, degree, "Ida") for number, degree in enumerate(degrees)]


def test_what_really_changes_is_found_less_surely_among_many() -> None:
    """Over thirty looks: alone at least three times in four, among nineteen that stay at least two times in five.

    That is where it is one of three that are worked on; where all twenty are, at least one time in ten.
    """
    chance, by_itself, among_many, among_open = Random(2), 0, 0, 0
    for _ in range(150):
        case: Case = (falling(30, chance), OPEN)
        by_itself += is_rarer(judge_all([case], RULES)[0].trend)
        page = [case, *page_of_steady(chance)[1:]]
        among_many += is_rarer(judge_all(with_three_open(page), RULES)[0].trend)
        among_open += is_rarer(judge_all(page, RULES)[0].trend)
    assert by_itself >= 0.75 * 150
    assert by_itself > among_many >= 0.4 * 150
    assert among_many > among_open >= 0.1 * 150
