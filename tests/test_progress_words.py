"""Every sentence and every part of the picture of a history once, each at the value from which it is said or drawn."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from lessons.measures import Measure
from lessons.progress.focus_states import Ending, Rules, Run, Span, State, Stretch, is_seen_often
from lessons.progress.held import Held, Outcome
from lessons.progress.held_sentences import (
    anyway_numbers,
    held_by_days,
    held_by_practice,
    held_numbers,
    held_words,
    whether_held,
)
from lessons.progress.intervals import Interval, Pairs, Share
from lessons.progress.judgement import Judgement, Trend, judge_all
from lessons.progress.picture import Picture, down, picture, rows, shortened
from lessons.progress.points import LookPoint, Totals, by_month, count_looks, first_of_each_day, frequency, one_a_day
from lessons.progress.readings import Reading, measure_picture
from lessons.progress.sentences import (
    changed_numbers,
    changed_words,
    degrees_words,
    interval_words,
    p_words,
    points_words,
    reason,
    seen_words,
)
from lessons.progress.sequential import sequential_trend
from lessons.progress.significance import weighted_p_values
from lessons.progress.streaks import yes_no_trend
from lessons.progress.trend import EXACT_UP_TO
from lessons.progress.trend_sentences import (
    halves_words,
    plain_change,
    plain_trend,
    trend_numbers,
    trend_short,
    trend_words,
    whether_changed,
    whether_changed_short,
)
from lessons.progress.words import COACH, STUDENT, coach_words, counted, on, plain_words
from tests.test_held import lessons
from tests.test_points import FIRST, drawn, history, week

OPEN = [Span(FIRST, None)]


def judged(points: list[LookPoint], spans: list[Span] = OPEN) -> Judgement:
    return judge_all([(points, spans)], Rules())[0]


def trend_of(letters: str) -> Trend:
    """The trend of these looks, one a week after the opening."""
    found = judged(history(f"m{letters}")).trend
    assert found
    return found


# --- Trends -------------------------------------------------------------------------------------


def test_what_was_seen_on_nine_arrivals_of_ten_is_always_there_from_eight_looks_on() -> None:
    for letters, words, short in (
        ("m" * 9 + "-", "Always there: seen on all 9 looks since it was opened.", "always there"),
        ("m" * 8 + "-", "Seen on all 8 looks since it was opened, of 9 arrivals.", "cannot tell yet"),
        ("m" * 8, "Always there: seen on all 8 looks since it was opened.", "always there"),
        ("m" * 7, "Cannot tell yet whether it changes: too few looks since it was opened.", "cannot tell yet"),
    ):
        found = trend_of(letters)
        assert (trend_words(found), trend_short(found)) == (words, short)


def test_a_difference_of_thirty_points_could_be_a_streak() -> None:
    """Six of ten then three, or three then six, are thirty points apart; six then four are too few for a change."""
    for first, later, reason_words in (
        (6, 3, "and a streak could look like that"),
        (3, 6, "and a streak could look like that"),
        (6, 4, "too few for a small change"),
        (4, 6, "too few for a small change"),
    ):
        shown = ""
        for seen in (first, later):
            places = {round(step * 10 / seen) for step in range(seen)}
            shown += "".join("m" if place in places else "c" for place in range(10))
        words = trend_words(trend_of(shown))
        assert words.startswith("Cannot tell yet") and words.endswith(f" {reason_words}."), words
        assert f"seen on {first} of the first 10 looks, then on {later} of 10" in words


def test_a_trend_in_a_few_words_says_what_its_sentence_says() -> None:
    for letters, words in (
        ("m" * 9 + "c" * 9, "rarer than before"),
        ("c" * 9 + "m" * 9, "more often than before"),
        ("m" * 10 + "s" * 10, "milder than before"),
        ("c" * 6, "good throughout"),
        ("mc" * 60, "about the same"),
        ("mc" * 5, "cannot tell yet"),
        ("m", "cannot tell yet"),
    ):
        assert trend_short(trend_of(letters)) == words


def test_a_sentence_of_degrees_names_how_many_were_clear() -> None:
    rarer, milder = trend_of("m" * 9 + "c" * 9), trend_of("m" * 10 + "s" * 10)
    assert halves_words(rarer) == "seen on 9 of the first 9 looks, then on 0 of 9"
    assert halves_words(milder) == "seen on 10 of the first 10 looks (10 clear), then on 10 of 10 (none clear)"
    assert trend_words(milder).endswith(f"unlikely to be chance: {halves_words(milder)}.")
    often = trend_words(trend_of("c" * 9 + "m" * 9))
    assert often.endswith(". A stricter eye looks the same as a worse swing.") and not trend_words(rarer).endswith(
        "swing."
    )


def test_months_are_named_once_where_they_are_the_same() -> None:
    for begins, words in ((date(2026, 3, 1), "in March,"), (date(2025, 12, 1), "in December 2025,")):
        days = [begins + timedelta(days=number) for number in range(21)] + [
            date(2026, 5, 1) + timedelta(days=n) for n in range(20)
        ]
        points = [LookPoint(day, True, "clear" if n < 21 else None, "") for n, day in enumerate(days)]
        found = judged(points, [Span(begins, None)]).trend
        assert found and f"Rarer than {words} unlikely" in trend_words(found)


def test_the_statistics_of_a_trend_have_their_difference_from_eight_looks_on() -> None:
    assert trend_numbers(trend_of("m")) == []
    assert [name for name, _ in trend_numbers(trend_of("mcmcmcm"))] == [
        "First looks",
        "Later looks",
        "Order of the looks",
    ]
    eight = dict(trend_numbers(trend_of("mmmmmmcc")))
    assert list(eight) == ["First looks", "Later looks", "Difference", "Order of the looks"]
    assert eight["First looks"].startswith("12 Jan 2026 to 2 Feb 2026: seen on 4 of 4; 4 clear")
    assert "−" in eight["Order of the looks"] and ", exact," in eight["Order of the looks"]
    assert trend_numbers(trend_of("mc"))[0][1].startswith("12 Jan 2026: seen on 1 of 1")
    for looks, how in ((EXACT_UP_TO, "exact"), (EXACT_UP_TO + 1, "approximate")):
        words = dict(trend_numbers(trend_of("mc" * 10 + "m" * (looks - 20))))["Order of the looks"]
        assert f"over {looks} looks, below 0 is better" in words and f", {how}, if" in words


def test_a_student_is_told_of_luck_and_of_practice() -> None:
    for letters, words in (
        ("m" * 9 + "c" * 9, "Getting better, and that is unlikely to be luck."),
        ("c" * 9 + "m" * 9, "Some extra practice would help here."),
        ("mcsc" * 4, "Cannot tell yet whether it changes."),
        ("mc", "It is too early to see a change."),
    ):
        assert plain_trend(trend_of(letters)) == plain_change(trend_of(letters), has_selective_looks=False) == words
    assert plain_change(trend_of("m" * 9 + "c" * 9), has_selective_looks=True) == "Cannot tell yet whether it changes."


def test_a_trend_of_selective_looks_is_not_told() -> None:
    selective, never = judged(history("m" + "m--" * 6)), judged(history("mmcc"), [])
    assert selective.has_selective_looks
    assert whether_changed(selective) == "Cannot tell yet whether it changes: it is mostly looked at when it is there."
    assert whether_changed_short(selective) == "cannot tell yet"
    assert (whether_changed(never), whether_changed_short(never)) == ("", "")
    told = judged(history("m" + "m" * 9 + "c" * 9))
    assert (
        told.trend
        and whether_changed(told) == trend_words(told.trend)
        and whether_changed_short(told) == "rarer than before"
    )


# --- Changes that held --------------------------------------------------------------------------


def test_what_held_is_grouped_by_the_days_until_it_was_seen() -> None:
    days = {
        1: "up to 14 days",
        14: "up to 14 days",
        15: "15 to 28 days",
        28: "15 to 28 days",
        29: "over 28 days",
        400: "over 28 days",
    }
    for number, name in days.items():
        assert held_by_days([Outcome(0, 1, "held", number)]) == [(name, Held(1, 0, 0))]
    both = held_by_days([Outcome(0, 1, "lost", 29), Outcome(0, 1, "partly", 3)])
    assert both == [("up to 14 days", Held(0, 1, 0)), ("over 28 days", Held(0, 0, 1))]


def test_what_held_is_grouped_by_the_practice_of_the_arrival_that_showed_it() -> None:
    for reported, name in (("none", "none"), ("some", "some"), ("most", "most"), ("all", "all"), ("", "not asked")):
        points = [
            LookPoint(FIRST, True, "clear", "", practice_reported="x"),
            LookPoint(week(1), True, None, "", practice_reported=reported),
        ]
        assert held_by_practice([Outcome(0, 1, "held", 7)], points) == [(name, Held(1, 0, 0))]


def test_changes_that_held_are_said_with_what_would_have_been_good_anyway() -> None:
    for held, anyway, words in (
        (Held(1, 0, 0), None, "The one change made in a lesson held until the next arrival."),
        (Held(0, 1, 0), 0.5, "The one change made in a lesson held partly until the next arrival."),
        (Held(0, 0, 1), 0.5, "The one change made in a lesson was lost by the next arrival."),
        (
            Held(1, 0, 0),
            0.04,
            "The one change made in a lesson held until the next arrival; hardly any would have looked good anyway.",
        ),
        (
            Held(2, 0, 0),
            1.0,
            (
                "Of 2 changes made in a lesson, 2 held, none held partly, none was lost by the next arrival; "
                "about 1 of 2 would have looked good anyway."
            ),
        ),
        (
            Held(2, 1, 2),
            None,
            (
                "Of 5 changes made in a lesson, 2 held, 1 held partly, 2 were lost by the next arrival; "
                "too few other arrivals to say how many would have looked good anyway."
            ),
        ),
        (
            Held(0, 1, 1),
            1.0,
            "Of 2 changes made in a lesson, none held, 1 held partly, 1 was lost by the next arrival.",
        ),
    ):
        assert held_words(held, anyway) == words
    assert held_numbers(Held(3, 2, 2)) == "" and held_numbers(Held(3, 2, 3)).startswith("held on 3 of 8 (38%")


def test_how_often_it_would_have_been_good_anyway_is_a_rate_of_all_changes() -> None:
    results = [Outcome(0, 1, "held", 7)] * 3 + [Outcome(0, 1, "lost", 7)]
    found = Judgement(Totals(4, 8, 8), False, Pairs(0, 0, 0, 0), results, anyway=1.0)
    assert anyway_numbers(found).startswith("25% would have looked good anyway")
    selective = Judgement(Totals(4, 8, 8), True, Pairs(0, 0, 0, 0), results, anyway=1.0)
    assert anyway_numbers(selective) == "" and whether_held(selective).startswith("Whether changes hold is not known")
    assert whether_held(found).startswith("Of 4 changes made in a lesson, 3 held")
    assert anyway_numbers(Judgement(Totals(4, 8, 8), False, Pairs(0, 0, 0, 0), results)) == ""
    lost = Judgement(Totals(4, 8, 8), False, Pairs(0, 0, 0, 0), results[3:], anyway=1.0)
    assert anyway_numbers(lost) == "" and whether_held(Judgement(Totals(0, 0, 0), True, Pairs(0, 0, 0, 0), [])) == ""


def test_what_a_lesson_changed_is_weighed_from_eight_lessons_on() -> None:
    seven, eight = judged(lessons("mc " * 7)), judged(lessons("mc " * 8))
    assert changed_numbers(seven) == "" and "chance" not in changed_words(seven)
    assert changed_words(eight).endswith("That is unlikely to be chance.")
    assert changed_numbers(eight).endswith("less often on departure, 95% interval; p 0.008, exact")  # 2 of 2 ** 8
    five, six = (judged(lessons("mc " * number + "mm " * 8)) for number in (5, 6))
    assert changed_words(five).endswith("That may be chance."), "2 of 2 ** 5 is 6 in 100"
    assert changed_words(six).endswith("That is unlikely to be chance."), "2 of 2 ** 6 is 3 in 100"
    assert "seen in none on arrival" in changed_words(judged(lessons("cc")))


# --- Numbers in words ---------------------------------------------------------------------------


def test_a_p_value_keeps_the_digits_that_matter() -> None:
    for p, words in (
        (0.0009, "under 0.001"),
        (0.001, "0.001"),
        (0.0456, "0.046"),
        (0.0994, "0.099"),
        (0.1, "0.10"),
        (0.456, "0.46"),
    ):
        assert p_words(p) == words
    assert (
        interval_words(Interval(0.236, 0.764)) == "24 to 76%"
        and points_words(Interval(-0.5, -0.25)) == "−50 to −25 points"
    )
    assert (counted(0, "look"), counted(1, "look"), counted(2, "look")) == ("0 looks", "1 look", "2 looks")
    assert on(date(2026, 3, 3)) == "3 Mar 2026"
    assert degrees_words(count_looks(history("msu"))) == "1 clear, 1 slight, 1 not graded"
    assert (
        seen_words(judged(history("mc"))) == "seen on 1 of 2 looks"
        and seen_words(judged(history("m"))) == "seen on 1 of 1 look"
    )
    assert seen_words(judged(history("m" + "m--" * 6))) == "noted on 7 arrivals, mostly when it was there"


def test_a_history_that_is_mostly_noted_when_it_is_there_says_so() -> None:
    each, nearly = coach_words(history("m--s---m-")), coach_words(history("m--c---s----m"))
    assert each.startswith("Looked at on 3 of 9 arrivals, and it was there each time. It is mostly looked at")
    assert nearly.startswith("Looked at on 4 of 13 arrivals, and it was there nearly each time. It is mostly")
    assert plain_words(history("m--s---m-")).startswith("We looked at this mostly on days when it needed work")
    assert plain_words(history("mc")) == "Good on 1 of the last 2 times we looked"


# --- States in words ----------------------------------------------------------------------------


def state(word: str, **values: object) -> State:
    given = {"since": FIRST, "looks": 3, "run": Run(0, 0), "lost": 0, "ended_on": week(4)} | values
    return State(word, **given)  # type: ignore[arg-type]


def test_the_reason_of_a_state_names_what_it_follows_from() -> None:
    nine = Stretch(9, 10, 63)
    for found, words in (
        (state("closed", closed=True, stretch=nine), "on 2 Feb 2026"),
        (state("closed", closed=True, seen_since=1), "on 2 Feb 2026, seen on 1 arrival since"),
        (
            state("closed", closed=False, stretch=nine, run=Run(2, 7)),
            "good on 9 of the last 10 arrivals over 63 days, and on the last 2",
        ),
        (state("closed", closed=False), "ready to close again on 2 Feb 2026"),
        (
            state("holding", stretch=nine, run=Run(1, 0)),
            "good on 9 of the last 10 arrivals over 63 days, and on the last one",
        ),
        (
            state("ready_to_close", stretch=Stretch(9, 9, 56), run=Run(9, 56)),
            "good on 9 arrivals in a row over 56 days",
        ),
        (state("holding", stretch=Stretch(5, 5, 1), run=Run(6, 1)), "good on 6 arrivals in a row over 1 day"),
        (state("returned", closed=True, seen_since=2), "closed on 2 Feb 2026, seen on 2 arrivals since"),
        (
            state("returned", seen_since=2, run=Run(2, 7)),
            "ready to close on 2 Feb 2026, seen on 2 arrivals since, good on the last 2",
        ),
        (state("does_not_hold", lost=1), "the last change was lost by the next arrival"),
        (state("does_not_hold", lost=2), "the last 2 changes were lost by the next arrival"),
        (state("new", looks=0), "opened 5 Jan 2026, not looked at since"),
        (state("new", looks=1, run=Run(1, 0)), "opened 5 Jan 2026, looked at on 1 arrival since"),
        (state("in_progress", run=Run(2, 7)), "opened 5 Jan 2026, looked at on 3 arrivals since, good on the last 2"),
        (
            state("in_progress", same_day=2),
            "opened 5 Jan 2026, looked at on 3 arrivals since, counting one arrival a day",
        ),
        (
            state("in_progress", is_looked_less=True),
            "opened 5 Jan 2026, looked at on 3 arrivals since; looked at less often than before",
        ),
        (state("closed", closed=True, is_looked_less=True), "on 2 Feb 2026"),
    ):
        assert reason(found) == words


def test_it_is_seen_often_where_one_good_arrival_lies_between_at_most() -> None:
    for shown, is_often in (
        ("mm", True),
        ("mcm", True),
        ("mccm", False),
        ("m", False),
        ("ccmcm", True),
        ("mccmccmm", True),
        ("", False),
    ):
        after = tuple(letter == "m" for letter in shown)
        assert is_seen_often(Ending(FIRST, True, after), Rules()) is is_often
        assert Ending(FIRST, True, after).seen == shown.count("m")
    assert is_seen_often(Ending(FIRST, True, (True,)), Rules(returned=1))
    assert not is_seen_often(Ending(FIRST, True, (True, True)), Rules(returned=3))


# --- Points -------------------------------------------------------------------------------------


def test_a_day_is_counted_once() -> None:
    day, later = FIRST, week(1)
    points = [
        LookPoint(day, False, None, "a"),
        LookPoint(day, True, "clear", "b"),
        LookPoint(day, True, None, "c"),
        LookPoint(later, False, None, "d"),
        LookPoint(later, False, None, "e"),
    ]
    assert [point.coach for point in first_of_each_day(points)] == ["a", "d"]
    assert [point.coach for point in one_a_day(points)] == ["b", "d"]


def test_months_are_counted_apart_even_of_two_years() -> None:
    months = by_month([*history("ms-u", begins=date(2025, 1, 6)), *history("cm", begins=date(2026, 1, 5))])
    assert [(each.begins.year, each.good, each.slight, each.clear, each.not_graded) for each in months] == [
        (2025, 0, 1, 1, 1),
        (2026, 1, 0, 1, 0),
    ]
    assert [each.share for each in months] == [Share(3, 3), Share(1, 2)] and by_month(history("--")) == []


def test_a_window_holds_eight_looks() -> None:
    """A coach asks about the last eight arrivals; common practice, no source."""
    assert [count.looked for count in frequency(history("m" * 10))] == [1, 2, 3, 4, 5, 6, 7, 8, 8, 8]
    assert [count.looked for count in frequency(history("mmm"), window=1)] == [1, 1, 1]


def test_lists_that_belong_together_are_as_long() -> None:
    for wrong in (
        lambda: sequential_trend(["0", "1"], ["Ida"]),
        lambda: yes_no_trend([True, False, True], ["Ida", "Ida"]),
        lambda: weighted_p_values([0.1, 0.2], [1.0]),
    ):
        with pytest.raises(ValueError):
            wrong()


# --- The picture --------------------------------------------------------------------------------


def test_a_bar_has_a_step_for_each_look_and_the_seen_ones_are_filled() -> None:
    shown = drawn("mc-m")
    assert [(place.row.seen_height, place.row.looked_height) for place in shown.places] == [
        (7, 7),
        (7, 14),
        (0, 0),
        (14, 21),
    ]
    assert [bool(place.row.interval_words) for place in shown.places] == [True, True, False, True]
    assert shown.places[1].row.interval_words == "9 to 91%", "1 of 2 by Wilson's interval"
    assert [place.row.word for place in shown.places] == ["clear", "good", "not looked at", "clear"]


def test_a_student_sees_what_was_good() -> None:
    shown = picture(rows(history("mcc"), STUDENT), [], STUDENT)
    assert [(place.row.seen_height, place.row.looked_height) for place in shown.places] == [(0, 7), (7, 14), (14, 21)]
    assert not shown.departures and shown.top < drawn("mcc").top, "no name of a row above the only one"
    assert (
        rows(lessons("mc"), STUDENT)[0].departure_word == "" and rows(lessons("mc"), COACH)[0].departure_word == "good"
    )


def test_a_rate_that_would_mislead_is_not_drawn() -> None:
    assert drawn("m--s---m-").dots == [] and drawn("m--s---m-").band == "" and drawn("m--s---m-").curve == ""
    assert len(drawn("m-s-m").dots) == 3


def test_dots_stand_below_their_arrival_at_the_height_of_their_rate() -> None:
    """All is at the top of the plot, none at its bottom; the band reaches a little past the first and the last look."""
    shown = drawn("mccc")
    assert [dot.x for dot in shown.dots] == [12, 36, 60, 84]
    full = down(0.0)
    assert down(1.0) == 0.0 and full > 50 and down(0.5) == full / 2
    assert [dot.y for dot in shown.dots] == [
        pytest.approx(full * (1 - rate), abs=0.05) for rate in (1, 1 / 2, 1 / 3, 1 / 4)
    ]
    assert all(dot.high <= dot.y <= dot.low for dot in shown.dots)
    assert shown.curve == " ".join(f"{dot.x},{dot.y:g}" for dot in shown.dots)
    band = [tuple(map(float, pair.split(","))) for pair in shown.band.split()]
    assert [x for x, _ in band] == [6, 12, 36, 60, 84, 90, 90, 84, 60, 36, 12, 6]
    highs, lows = [y for _, y in band[:6]], [y for _, y in band[6:]][::-1]
    assert highs == [shown.dots[0].high, *(dot.high for dot in shown.dots), shown.dots[-1].high]
    assert lows == [shown.dots[0].low, *(dot.low for dot in shown.dots), shown.dots[-1].low]


def test_a_label_touches_its_line_on_the_side_that_has_room() -> None:
    for number, anchor in ((0, "start"), (5, "start"), (6, "end"), (11, "end")):
        (line,) = drawn("m" * 12, opened=week(number)).lines
        assert (line.x, line.anchor) == (24 * (number + 1), anchor)
        assert line.label_x == line.x + (4 if anchor == "start" else -4)
        assert line.top < line.y <= line.top + 14
    (before,) = drawn("m" * 14, opened=week(0)).lines
    assert (before.x, before.label_x, before.anchor) == (0, 0, "start")


def parts(shown: Picture) -> list[int]:
    return [0, shown.top, shown.days, shown.below, shown.height]


def test_the_parts_of_a_picture_stand_one_below_the_other() -> None:
    """A line of words takes 14, a row of symbols 34; what is not there takes no room."""
    plain, opened = drawn("mmcc"), drawn("mmcc", opened=week(1))
    closed = drawn("mmcc", opened=week(1), closed=week(2))
    assert opened.top - plain.top == 14 and closed.top - plain.top == 28
    assert [line.y for line in closed.lines] == [opened.lines[0].y, opened.lines[0].y + 14]
    assert all(0 < line.y < closed.top - 14 for line in closed.lines)
    both = picture(rows(lessons("mc mc"), COACH), [], COACH)
    assert both.departures and not plain.departures
    assert both.departure_top == both.top + 34 + 14 and both.days == both.departure_top + 34
    assert plain.days == plain.top + 34
    two = picture(rows([*history("mm"), *history("m", "Bo Fell", week(2))], COACH), [], COACH)
    assert (two.below - two.days) - (plain.below - plain.days) == 14, "the names of coaches take a line"
    for shown in (plain, opened, closed, both, two):
        assert parts(shown) == sorted(set(parts(shown)))
    nothing = drawn("----")
    assert nothing.height == nothing.below and plain.height > plain.below + down(0.0)
    assert drawn("m" * 20).width == drawn("m").width == 12 * 24 + 28


def test_initials_tell_coaches_apart() -> None:
    names = ["Ida Fern", "Bo Salt", "Ivo Falk", "Ida Fern", "Ines Frost", "Ada"]
    assert shortened(names) == {"Ida Fern": "IF", "Bo Salt": "BS", "Ivo Falk": "IF2", "Ines Frost": "IF3", "Ada": "A"}


def test_a_month_begins_in_another_year_too() -> None:
    shown = picture(
        rows([*history("m", begins=date(2025, 3, 3)), *history("mm", begins=date(2026, 3, 2))], COACH), [], COACH
    )
    assert [(place.month, place.year) for place in shown.places] == [("Mar", "2025"), ("Mar", "2026"), ("", "")]


# --- Readings -----------------------------------------------------------------------------------

STANCE = Measure("stance width", "cm", Decimal(5), Decimal(80), Decimal(2))
USUAL = Measure("finish held", "s", Decimal(0), Decimal(10), Decimal(1), usual=(Decimal(2), Decimal(4)))


def test_the_plot_has_a_step_of_room_beyond_the_highest_and_the_lowest_bar() -> None:
    readings = [Reading(FIRST, Decimal(20)), Reading(week(1)), Reading(week(2), Decimal(30))]
    found = measure_picture(readings, STANCE)
    assert found
    low, high = found.bars
    step = high.y - high.top
    assert high.top == pytest.approx(step, abs=0.2) and high.bottom - high.y == pytest.approx(step, abs=0.2)
    assert low.y - high.y == pytest.approx(5 * step, abs=0.5), "ten centimetres are five steps of two"
    plot = low.bottom + step
    assert found.days == pytest.approx(found.top + plot + 4, abs=1) and found.height == found.days + 39
    assert found.width == drawn("m").width and found.top >= 14
    assert [(mark.x, mark.day, mark.month, mark.year) for mark in found.marks] == [
        (12, 5, "Jan", "2026"),
        (36, 12, "", ""),
        (60, 19, "", ""),
    ]
    assert [bar.x for bar in found.bars] == [12, 60] and found.usual_names == ("", "")


def test_marks_name_a_month_and_a_year_where_they_begin() -> None:
    days = [date(2025, 3, 3), date(2025, 4, 1), date(2026, 4, 1), date(2026, 4, 2)]
    found = measure_picture([Reading(day, Decimal(20)) for day in days], STANCE)
    assert found and [(mark.month, mark.year) for mark in found.marks] == [
        ("Mar", "2025"),
        ("Apr", ""),
        ("Apr", "2026"),
        ("", ""),
    ]


def test_the_usual_range_has_room_where_the_readings_lie_outside() -> None:
    found = measure_picture([Reading(FIRST, Decimal(8))], USUAL)
    assert found and found.usual
    [bar] = found.bars
    step = bar.y - bar.top
    assert found.usual == (pytest.approx(bar.y + 4 * step, abs=0.5), pytest.approx(bar.y + 6 * step, abs=0.5))
    assert found.usual_names == ("4", "2") and found.label == "Finish held, s"
