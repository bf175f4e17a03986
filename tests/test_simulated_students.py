"""The students of the tables of `calibrate`: what their looks are turned into, and which rows are printed."""

from datetime import timedelta
from itertools import pairwise
from random import Random

import pytest

from lessons.progress import scenarios, state_calibration, streak_calibration
from lessons.progress.calibration import (
    OPENED,
    RATES,
    SimulatedStudent,
    beside_limits,
    even,
    false_alarms,
    is_significant,
    joint,
    share_significant,
)
from lessons.progress.points import LookPoint
from lessons.progress.scenarios import (
    ever_says,
    fading_student,
    is_called,
    looked_less_later,
    milder_later,
    not_looked_at,
    noted_one_kind,
    opened_on_a_bad_day,
    page_words,
    says,
    share_of,
    steady,
    streaky,
    stricter_later,
    with_second_coach,
)
from tests.test_points import history


class Always(Random):
    """A chance that always comes out as this number."""

    def __init__(self, number: float) -> None:
        super().__init__(0)
        self.number = number

    def random(self) -> float:
        return self.number


def letters(points: list[LookPoint]) -> str:
    """m clear, s slight, u not graded, c good, - not looked at."""
    degrees = {"clear": "m", "slight": "s", "not_graded": "u", None: "c"}
    return "".join(degrees[point.degree] if point.looked else "-" for point in points)


# --- Looks --------------------------------------------------------------------------------------


def test_a_student_s_chances_go_evenly_from_the_first_look_to_the_last() -> None:
    assert even((0.9, 0.1), 5) == pytest.approx([0.9, 0.7, 0.5, 0.3, 0.1])
    assert even((0.9, 0.1), 1) == [0.9] and even((0.2, 0.4), 2) == pytest.approx([0.2, 0.4])
    assert (steady(0.4).seen, steady(0.4).clear, steady(0.4, 0.9).clear) == ((0.4, 0.4), (0.5, 0.5), (0.9, 0.9))
    assert (fading_student().seen, fading_student((1, 0)).clear) == ((0.9, 0.1), (1, 0))


def test_one_look_a_week_follows_the_opening() -> None:
    found = steady(0.5).looks(4, Random(1))
    assert [point.day - OPENED for point in found] == [timedelta(weeks=week) for week in (1, 2, 3, 4)]
    assert all(point.looked for point in found)


def test_a_look_sees_what_its_chance_says() -> None:
    """A chance below the student's rate sees it, at the rate it does not; likewise of how clear it is."""
    for chance, seen in ((0.399, "m"), (0.4, "c"), (0.999, "c")):
        assert letters(steady(0.4, 1).looks(1, Always(chance))) == seen
    for chance, seen in ((0.299, "m"), (0.3, "s")):
        assert letters(steady(1, 0.3).looks(1, Always(chance))) == seen
    assert letters(SimulatedStudent((1, 1), (1, 1), is_graded=False).looks(2, Random(1))) == "uu"


def test_a_look_that_copies_shows_what_the_last_one_showed() -> None:
    student = SimulatedStudent((1, 0), (1, 1))  # seen for certain at first, and not at all in the end
    assert letters(streaky(student, 3, 1.0, Random(1))) == "mmm"
    assert letters(streaky(student, 3, 0.0, Random(1)))[::2] == "mc"
    plain, copied = steady(0.5).looks(200, Random(4)), streaky(steady(0.5), 200, 0.9, Random(4))
    assert [point.day for point in plain] == [point.day for point in copied]
    changes = [sum(one.degree != other.degree for one, other in pairwise(some)) for some in (plain, copied)]
    assert changes[1] < 0.3 * changes[0]


def test_a_second_coach_takes_the_later_half_and_sees_the_same() -> None:
    for text, half in (("mscu-c", 3), ("mscuc", 2)):
        points = history(text)
        found = with_second_coach(points)
        assert [point.coach for point in found] == ["Ida"] * half + ["Cai"] * (len(text) - half)
        assert [point.degree for point in found] == [point.degree for point in points]
        assert [point.day for point in found] == [point.day for point in points]
    assert {point.coach for point in with_second_coach(history("mc"), "Bo", "Wen")} == {"Bo", "Wen"}


def test_a_stricter_eye_marks_one_degree_more_in_the_later_half() -> None:
    assert letters(stricter_later(history("csmcsm"), 1.0, Random(1))) == "csmsmm"
    assert letters(stricter_later(history("csmcs"), 1.0, Random(1))) == "csmsm"
    assert letters(stricter_later(history("csmcsm"), 0.0, Random(1))) == "csmcsm"
    assert letters(stricter_later(history("cc"), 0.7, Always(0.699))) == "cs"
    assert letters(stricter_later(history("cc"), 0.7, Always(0.7))) == "cc"
    kinder = milder_later(history("csmcsm"), 1.0, Random(1))
    assert letters(kinder) == "smmcsm" and [point.day for point in kinder] == [point.day for point in history("csmcsm")]


def test_a_coach_notes_one_kind_of_day_in_one_half_and_all_in_the_other() -> None:
    for seen, at_first, expected in (
        (True, True, "m--mcc"),
        (True, False, "mccm--"),
        (False, True, "-ccmcc"),
        (False, False, "mcc-cc"),
    ):
        assert letters(noted_one_kind(history("mccmcc"), seen, at_first)) == expected
    assert letters(noted_one_kind(history("ccccc"), True, True)) == "--ccc"


def test_a_later_half_may_be_looked_at_less() -> None:
    points = history("mscmsc")
    assert letters(looked_less_later(points, 1.0, Random(1))) == "mscmsc"
    assert letters(looked_less_later(points, 0.0, Random(1))) == "msc---"
    assert letters(looked_less_later(points[:5], 0.0, Random(1))) == "ms---"
    assert letters(looked_less_later(points, 0.5, Always(0.5))) == "msc---"
    unlooked = not_looked_at(points[1])
    assert (unlooked.day, unlooked.looked, unlooked.coach) == (points[1].day, False, points[1].coach)


def test_a_focus_is_opened_on_a_day_that_saw_it() -> None:
    for clear, first in ((1.0, "m"), (0.0, "s")):
        student = SimulatedStudent((0, 0), (clear, clear))
        assert letters(opened_on_a_bad_day(student, 3, 0.0, Random(1))) == f"{first}ccc"
        copied = opened_on_a_bad_day(student, 3, 1.0, Random(1))
        assert letters(copied) == first * 4 and copied[0].day == OPENED < copied[1].day
    assert letters(opened_on_a_bad_day(steady(0, 0.5), 0, 0.0, Always(0.5))) == "s"


# --- What a page says ---------------------------------------------------------------------------

FELL, ROSE = (f"{first * 10}{then * 10}" for first, then in ("mc", "cm"))


def after(text: str) -> list[LookPoint]:
    """These looks, one a week after the opening."""
    return history(f"m{text}", begins=OPENED)[1:]


def test_a_page_is_asked_for_the_words_that_say_better_or_worse() -> None:
    better, worse = page_words([after(FELL)]), page_words([after(ROSE)])
    assert [is_called(each[0]) for each in (better, worse, page_words([after("mc" * 10)]))] == [True, True, False]
    assert says([after(FELL)]) and not says([after(ROSE)]) and says([after(ROSE)], scenarios.WORSE)
    assert says([after("mc" * 10), after(FELL)]), "any of a page"
    assert is_called("Milder than") and is_called("Clearer than") and not is_called("Cannot tell")


def test_a_page_that_is_read_again_after_each_arrival_may_say_it_for_a_while() -> None:
    back = FELL + "m" * 12
    assert not says([after(back)]) and ever_says([after(back)])
    assert not ever_says([after("mc" * 10)]) and ever_says([after("mc"), after(FELL)])


def test_shares_are_of_all_pages() -> None:
    pages = [["Rarer than", "Cannot"], ["Cannot"], ["Cannot"], ["Milder"]]
    assert share_of(pages, is_called) == 0.5 and share_of(pages, lambda words: words == "Cannot") == 0.75
    assert (
        share_significant(SimulatedStudent((1, 0), (1, 1)), 30, 5, 1) > 0.5 > share_significant(steady(1, 1), 30, 5, 1)
    )
    assert is_significant(after(FELL)) and not is_significant(after("mc" * 10))
    certain = SimulatedStudent((1, 1), (1, 1))
    assert scenarios.share_called(certain, 20, 0, 3) == scenarios.share_ever_called(certain, 0, 2) == 0
    assert streak_calibration.share_called(certain, 0, 0.3, [20], 3) == 0
    plain = fading_student((1, 1))
    assert 0.3 < scenarios.share_called(plain, 40, 0, 20) <= scenarios.share_called(plain, 40, 0, 20, faults=2) <= 1
    assert 0.3 < scenarios.share_after_bad(plain, 40, 0, 20) <= 1 and 0 < scenarios.share_ever_called(plain, 0, 6) <= 1
    assert 0.3 < streak_calibration.share_called(plain, 0, 0.3, [30, 40], 20) <= 1


# --- Probabilities ------------------------------------------------------------------------------


def test_orders_of_few_looks_are_no_false_alarm_and_of_many_at_most_one_in_twenty() -> None:
    """Of four looks the clearest order has the chance 2 in 6: no order is significant."""
    assert false_alarms(4, 0.5, 0.5) == 0.0
    for number, seen in ((8, 0.5), (12, 0.3)):
        assert 0.0 < false_alarms(number, seen, 0.5) <= 0.05
    assert false_alarms(8, 1.0, 1.0) == 0.0, "what always shows the same has no order"


def test_the_worst_rate_is_looked_for_on_both_sides_of_each_limit() -> None:
    """One look: none seen is 0 to 0.793, one seen 0.207 to 1; between the limits both hold the rate."""
    assert (RATES[0], RATES[-1], len(RATES)) == (0.05, 0.95, 19)
    found = {cell.where: cell.coverage for cell in beside_limits([1])}
    assert {where.split("rate ")[1] for where in found} == {"0.050", "0.950", "0.207", "0.793"}
    cells = sorted(cell.coverage for cell in beside_limits([1]))
    assert cells == pytest.approx([0.793, 0.793, 0.95, 0.95, 1.0, 1.0], abs=1e-3)


def test_pairs_have_the_rates_that_they_are_given() -> None:
    """At the very limit a correlation is possible: pairs that always go together."""
    found = joint(0.5, 0.5, 1.0)
    assert found == (0.5, 0.0, 0.0, 0.5) and joint(0.5, 0.5, -1.0) == (0.0, 0.5, 0.5, 0.0)
    with pytest.raises(ValueError):
        joint(0.5, 0.4, 1.0)


# --- States and streaks -------------------------------------------------------------------------


def test_rates_are_met_one_after_the_other_and_copied() -> None:
    assert state_calibration.draw_seen((1.0, 0.0, 1.0), 0.0, Random(1)) == [True, False, True]
    assert state_calibration.draw_seen((1.0, 0.0, 0.0), 1.0, Random(1)) == [True] * 3
    assert state_calibration.draw_seen((0.5, 0.5), 0.0, Always(0.5)) == [False, False]
    assert state_calibration.draw_seen((0.6, 0.1), 0.5, Always(0.5)) == [True, False]
    assert len(state_calibration.HALF) == 20 and set(state_calibration.HALF) == {0.5}


def test_a_fault_that_goes_and_comes_back_is_seldom_seen_between() -> None:
    relapse = state_calibration.RELAPSE
    assert (relapse[:10], relapse[10:30], relapse[30:]) == ((0.9,) * 10, (0.1,) * 20, (0.9,) * 10)
    assert len(relapse) - state_calibration.WORKS == 30


def test_looks_are_two_weeks_apart_and_a_lesson_may_leave_them_good() -> None:
    found = state_calibration.fortnightly([True, False])
    assert [(point.day - OPENED).days for point in found] == [14, 28] and letters(found) == "uc"
    assert {point.departure for point in found} == {"none"}
    assert {point.departure for point in state_calibration.fortnightly([True], changes=True)} == {"0"}


def test_a_change_carries_over_to_one_arrival() -> None:
    assert letters(state_calibration.draw_changes(1.0, 1.0, 5, Random(1))) == "ucucu"
    assert letters(state_calibration.draw_changes(1.0, 0.0, 3, Random(1))) == "uuu"
    assert letters(state_calibration.draw_changes(0.0, 0.5, 3, Random(1))) == "ccc"
    assert state_calibration.mean_held(0.0, 0.0, 2, 1) == (0.0, 0.0), "no change at all"
    held, _ = state_calibration.mean_held(1.0, 0.0, 2, 1)
    assert held == 0.0


def test_only_bad_days_are_noted_of_a_selective_history() -> None:
    found = state_calibration.draw_selective(0.5, 40, Random(3))
    assert set(letters(found)) == {"u", "-"} and letters(state_calibration.draw_selective(1.0, 3, Random(1))) == "uuu"
    assert state_calibration.share_withheld(0.5, 20, 30, 5) > 0.8


def test_words_are_those_after_each_arrival() -> None:
    points = state_calibration.fortnightly([True, True] + [False] * 10)
    words = list(state_calibration.words_over_time(points))
    assert words[0] == "new" and words[-1] == "ready_to_close" and len(words) == 12
    assert list(state_calibration.words_over_time(points, 10)) == words[10:]
    ever = state_calibration.share_ever
    assert ever("ready_to_close", (0.0,) * 12, 0.0, 3, 1) == 1.0 and ever("new", (0.0,) * 12, 0.0, 3, 1, since=5) == 0.0
    assert ever("ready_to_close", (1.0,) * 12, 0.0, 3, 1) == 0.0


def test_later_arrivals_are_looked_at_with_their_chance() -> None:
    ready = state_calibration.share_ready
    assert ready((1.0,) * 10 + (0.0,) * 12, {True: 1, False: 1}, 2, 1) == 1.0
    assert ready((1.0,) * 10 + (0.0,) * 12, {True: 1, False: 0}, 2, 1) == 0.0
    assert ready((0.0,) * 10, {True: 0, False: 0}, 2, 1) == 1.0, "the first ten are looked at"
    assert ready((1.0,) * 9 + (0.0,) * 9, {True: 0, False: 0}, 2, 1) == 0.0


def test_streaks_are_the_changes_that_are_missing() -> None:
    """Of ten yes and ten no, drawn anew, half of 20 looks differ from the one before: 10 changes are expected."""
    pooled = streak_calibration.pooled_streakiness
    assert pooled([[True, False] * 10]) == pytest.approx(1 - 19 / 10)
    assert pooled([[True] * 10 + [False] * 10]) == pytest.approx(1 - 1 / 10)
    assert pooled([[True, False] * 10, [True] * 10 + [False] * 10]) == pytest.approx(1 - 20 / 20)
    assert pooled([[True] * 5]) == 0.0 == pooled([])
    drawn = streak_calibration.draw_academy(40, 0.0, Random(1))
    assert len(drawn) == 40 and {len(seen) for seen in drawn} <= {4, 6, 8, 12, 16, 20, 24}
    assert len({len(seen) for seen in drawn}) > 4


# --- The tables ---------------------------------------------------------------------------------


def test_every_row_of_the_table_of_trends_has_its_name_its_share_and_its_mark() -> None:
    """The marks are those of `tests/test_scenarios.py`; what has none is printed to be read."""
    rows = {row.name: row for row in scenarios.trend_rows(2)}
    assert all(0 <= row.value <= 1 for row in rows.values())
    for copies, one, page in (
        ("0%", "<= 5.5%", "<= 8%"),
        ("30%", "<= 5.5%", "<= 8%"),
        ("50%", "<= 5.5%", "<= 15%"),
        ("70%", "", ""),
    ):
        name = f"copies {copies}: rarer"
        assert rows[f"{name}, one history, the worst"].mark == one
        for rest in ("a page of six", "ever over 24 arrivals"):
            assert rows[f"{name}, {rest}"].mark == page
        assert rows[f"{name}, ever, a page of six"].mark == ""
    for name in ("degrees stay", "degrees fade, too", "slight only"):
        marks = [rows[f"fades, {name}: {number} looks"].mark for number in (12, 20, 30, 40)]
        assert marks == ["", ">= 25%", ">= 45%", ""]
    assert rows["stricter second coach: anything called"].mark == "<= 5.5%"
    assert rows["stricter second coach: named"].mark == ">= 90%"
    for name in ("stricter", "kinder"):
        assert rows[f"{name} half-way, a page of six: seen"].mark == ">= 90%"
    for when in ("at first", "later"):
        for kind in ("there", "good"):
            assert rows[f"noted {when} only when {kind}, 36 arrivals: anything called"].mark == "<= 5.5%"
    for share in ("100%", "80%", "65%", "50%"):
        assert rows[f"fades, 36 arrivals, later looked at on {share}: called"].mark == "printed"
    for copies, mark in (("0%", "<= 5.5%"), ("30%", "<= 5.5%"), ("50%", "printed"), ("70%", "printed")):
        assert rows[f"opened on a bad day, copies {copies}: rarer, the worst"].mark == mark
    assert [rows[f"opened on a bad day, fades: {number} looks"].mark for number in (20, 30)] == [">= 25%", ">= 45%"]
    assert len(rows) == 16 + 12 + 5 + 8 + 6


def test_every_row_of_the_tables_of_states_and_streaks_has_its_name_and_its_mark(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rows = {row.name: row.mark for row in state_calibration.state_rows(12)}
    for copied, mark in (("0%", "<= 10%"), ("30%", "printed"), ("50%", "printed"), ("70%", "printed")):
        assert rows[f"seen on half of 20, copies {copied}: ready to close"] == mark
        assert rows[f"seen on half of 20, copies {copied}: holding"] == "printed"
    assert (rows["relapse, copies 0%: returned"], rows["relapse, copies 50%: returned"]) == (">= 80%", "printed")
    assert rows["returned before it relapses"] == "<= 15%"
    for name, truth in (("seen 50%, 0%", "50%"), ("seen 20%, 0%", "80%"), ("seen 90%, 50%", "10%")):
        assert (
            rows[f"{name} carries over: held"] == "printed"
            and rows[f"{name} carries over: good anyway"] == f"truth {truth}"
        )
    assert rows["seen on half of 30, later noted only when good: ready to close"] == "printed"
    for share in ("100%", "80%", "50%"):
        assert rows[f"healed after 10, then looked at on {share} of 20: ready to close"] == "printed"
    assert {rows[f"noted when bad, {arrivals} arrivals: withheld"] for arrivals in (12, 20)} == {">= 95%"}
    assert len(rows) == 8 + 3 + 6 + 4 + 2
    monkeypatch.setattr(streak_calibration, "ACADEMIES", {5: 2})
    streaks = {row.name: row for row in streak_calibration.streak_rows(1)}
    for copies in ("0%", "30%", "50%"):
        assert f"copies {copies}: 5 histories say" in streaks and f"copies {copies}: 5 histories say, spread" in streaks
    for usual in ("10%", "30%", "50%"):
        assert f"usual {usual}: fades, 30 looks" in streaks
        for copies in ("0%", "30%", "50%", "70%"):
            assert f"usual {usual}, copies {copies}: ever rarer over 24 arrivals" in streaks
    assert len(streaks) == 6 + 3 * 5 and {row.mark for row in streaks.values()} == {"printed"}
