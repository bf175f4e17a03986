"""A fault's history on plain points, against examples counted by hand."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.progress.focus_states import Span
from lessons.progress.picture import Picture, picture, rows
from lessons.progress.points import LookPoint, counted_points, frequency, totals
from lessons.progress.words import COACH, STUDENT, coach_words, plain_words

DEGREES = {"m": "clear", "s": "slight", "u": "not_graded", "c": None, "-": None}
FIRST = date(2026, 1, 5)


def history(letters: str, coach: str = "Ida Fernkettle", begins: date = FIRST) -> list[LookPoint]:
    """One arrival a week: m clear, s slight, u seen and not graded, c good, - not looked at."""
    return [
        LookPoint(begins + timedelta(weeks=week), letter != "-", DEGREES[letter], coach)
        for week, letter in enumerate(letters)
    ]


def week(number: int) -> date:
    return FIRST + timedelta(weeks=number)


def test_frequency_counts_the_last_five_looks_by_hand() -> None:
    assert frequency(history("mc-succm"), window=5) == [
        (week(0), 1, 1),
        (week(1), 1, 2),
        (week(3), 2, 3),
        (week(4), 3, 4),
        (week(5), 3, 5),
        (week(6), 2, 5),  # c s u c c
        (week(7), 3, 5),  # s u c c m
    ]


def test_frequency_takes_another_window() -> None:
    assert [count[1:] for count in frequency(history("mccs"), window=2)] == [(1, 1), (1, 2), (0, 2), (1, 2)]


def test_a_window_holds_at_least_one_arrival() -> None:
    with pytest.raises(ValueError):
        frequency(history("m"), window=0)


def test_nobody_looked_is_neither_seen_nor_good() -> None:
    assert frequency(history("---")) == []
    assert totals(history("m--c")) == (1, 2, 4)
    assert (totals(history("m--c")).good, totals(history("m--c")).not_looked_at) == (1, 2)


def test_what_was_not_graded_counts_as_seen() -> None:
    assert totals(history("uc")) == (1, 2, 2)


def test_a_degree_where_nobody_looked_cannot_be() -> None:
    with pytest.raises(ValueError):
        LookPoint(FIRST, False, "slight", "Ida Fernkettle")


def test_the_strip_keeps_every_arrival_and_leaves_unlooked_ones_without_a_count() -> None:
    slots = counted_points(history("m-c"))
    assert [slot.point.level for slot in slots] == ["2", "none", "0"]
    assert [slot.lately and slot.lately[1:] for slot in slots] == [(1, 1), None, (1, 2)]


@given(st.text("msuc-", max_size=40), st.integers(1, 8))
def test_every_count_is_what_counting_the_letters_gives(letters: str, window: int) -> None:
    looked = letters.replace("-", "")
    for end, count in enumerate(frequency(history(letters), window), start=1):
        last = looked[:end][-window:]
        assert (count.seen, count.looked) == (len(last) - last.count("c"), len(last))


@pytest.mark.parametrize(
    ("letters", "words"),
    [
        ("", "Not looked at yet"),
        ("---", "Not looked at yet"),
        ("-m-", "Looked at once"),
        ("c", "Looked at once"),
        ("mcscccc", "Good on 5 of the last 7 times we looked"),
        ("mmm-mcscc-ccc", "Good on 6 of the last 8 times we looked"),
        ("mu", "Still working on this on each of the last 2 times we looked"),
    ],
)
def test_what_a_student_reads(letters: str, words: str) -> None:
    assert plain_words(history(letters)) == words


@pytest.mark.parametrize(
    ("letters", "words"),
    [
        (
            "m---s---c--uc-",
            "Seen on 3 of the 5 arrivals where it was looked at; 9 other lessons had no look and say nothing.",
        ),
        ("mc", "Seen on 1 of the 2 arrivals where it was looked at."),
        ("mc-", "Seen on 1 of the 2 arrivals where it was looked at; 1 other lesson had no look and says nothing."),
        ("m", "Looked at on one arrival, and seen."),
        ("c-", "Looked at on one arrival, and not seen; 1 other lesson had no look and says nothing."),
        ("--", "Not looked at on any arrival yet; 2 lessons had no look and say nothing."),
        ("", "Not looked at on any arrival yet."),
    ],
)
def test_what_a_coach_reads(letters: str, words: str) -> None:
    assert coach_words(history(letters)) == words


@given(st.text("msuc-", max_size=30))
def test_no_reader_meets_a_percentage_and_no_student_a_word_of_the_trade(letters: str) -> None:
    points = history(letters)
    assert "%" not in plain_words(points) + coach_words(points)
    read = " ".join([plain_words(points), STUDENT.opened, STUDENT.closed, STUDENT.often, *STUDENT.levels.values()])
    assert not [word for word in ("fault", "clear", "slight", "bad", "wrong") if word in read.lower()]


# --- The picture --------------------------------------------------------------------------------


def drawn(letters: str, opened: date | None = None, closed: date | None = None) -> Picture:
    return picture(rows(history(letters), COACH), [Span(opened, closed)] if opened else [], COACH)


def test_the_picture_holds_the_latest_twelve_within_its_width() -> None:
    shown = drawn("m" * 14)
    assert [place.row.point.day for place in shown.places] == [week(number) for number in range(2, 14)]
    assert shown.places[0].x == 0 and shown.places[-1].x + 24 == shown.width - 28  # the names of the axis


def test_what_stands_below_the_days_begins_below_their_last_label() -> None:
    """Day, month and year stand 11, 24 and 37 below the top of the days; letters reach 3 below their line."""
    shown = drawn("mmsc")
    assert shown.below >= shown.days + 37 + 3
    assert shown.height > shown.below + 50


def test_a_month_and_a_year_are_named_where_they_begin() -> None:
    shown = picture(rows(history("mmm", begins=date(2025, 12, 22)), COACH), [], COACH)
    assert [(place.month, place.year) for place in shown.places] == [("Dec", "2025"), ("", ""), ("Jan", "2026")]


def test_a_focus_stands_after_the_arrival_of_its_lesson() -> None:
    (line,) = drawn("mmcc", opened=week(1)).lines
    assert (line.after, line.x, line.text) == (2, 48, "opened 12 Jan 2026")


def test_a_focus_from_before_the_picture_is_named_without_a_line() -> None:
    (line,) = drawn("m" * 14, opened=week(0)).lines
    assert (line.after, line.text) == (0, "← opened 5 Jan 2026")


def test_both_days_of_a_closed_focus_are_labelled_on_lines_of_their_own() -> None:
    opened, closed = drawn("mmcccc", opened=week(1), closed=week(4)).lines
    assert closed.after == 5 and opened.y != closed.y and closed.text == "closed 2 Feb 2026"


def test_every_time_it_was_opened_shows_and_only_the_latest_from_before_the_picture() -> None:
    spans = [Span(week(0), week(1)), Span(week(2), week(4)), Span(week(6), None)]
    shown = picture(rows(history("m" * 14), COACH), spans, COACH)
    assert [(line.after, line.text) for line in shown.lines] == [
        (1, "opened 19 Jan 2026"),
        (3, "closed 2 Feb 2026"),
        (5, "opened 16 Feb 2026"),
    ]


def test_a_label_never_leaves_the_picture() -> None:
    for number in range(12):
        shown = drawn("m" * 12, opened=week(number))
        (line,) = shown.lines
        room = line.label_x if line.anchor == "end" else shown.width - line.label_x
        assert room >= 6 * len(line.text)


def test_a_bar_of_few_looks_stays_lower_than_one_of_many() -> None:
    heights = [place.row.looked_height for place in drawn("mmmmmm").places]
    assert heights == sorted(set(heights)) and heights[-1] == 6 * heights[0] > 0


def test_changes_of_coach_show_to_a_coach_only() -> None:
    points = history("mm") + history("mc", "Bram Saltquill", week(2)) + history("c", begins=week(4))
    shown = picture(rows(points, COACH), [], COACH)
    assert [place.coach for place in shown.places] == ["IF", "", "BS", "", "IF"]
    assert shown.coaches == {"IF": "Ida Fernkettle", "BS": "Bram Saltquill"}
    assert picture(rows(points, STUDENT), [], STUDENT).coaches == {}
    assert drawn("mmm").coaches == {}


def test_nothing_is_drawn_of_no_arrivals() -> None:
    assert drawn("").places == []
