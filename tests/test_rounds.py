"""Rounds in four numbers: how they are saved, their sums, and what they cannot tell."""

import re
import uuid
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from coachbook.accounts.models import Student
from drills.models import Design, Round, ScoredTest
from drills.scored_tests.rounds.picture import LEFT, PLOT, RIGHT, TOP, WIDTH, Picture
from drills.scored_tests.rounds.summary import certainty, change_words, compared_words, four_numbers
from tests.conftest import Cast
from tests.crawl import Reader
from tests.make import fresh_key

Clients = Callable[[str], Client]
WHOLE = {"holes": "18", "putts": "33", "three_putts": "2", "tried": "6", "made": "2"}


@pytest.fixture
def on(cast: Cast) -> date:
    return cast.academy.today(timezone.now())


def played(putts: int, holes: int = 18, **values: Any) -> Round:
    """A round that is not stored."""
    return Round(**{"day": date(2026, 5, 1), "putts": putts, "holes": holes, **values})


def write(cast: Cast, day: date, putts: int = 33, student: Student | None = None, **values: Any) -> Round:
    student = student or cast.student
    return Round.objects.create(student=student, day=day, putts=putts, by=cast.coach.user, **values)


def make_test(cast: Cast, day: date, **values: Any) -> ScoredTest:
    texts = dict.fromkeys(["name", "purpose", "setup", "note", "caution"], "Some words.")
    design, _ = Design.objects.get_or_create(
        code="putting-leaves",
        defaults={"area": "putting", "kind": "leaves", "distances_m": [6.0], "balls": 20, **texts},
    )
    row = {"done_at": timezone.now(), "side": "right", "by": cast.coach.user, "day": day, "student": cast.student}
    return ScoredTest.objects.create(design=design, **row | values)


def page_of(student: Student) -> str:
    return reverse("rounds", args=[student.key])


def report_at(student: Student, key: uuid.UUID | None = None) -> str:
    return reverse("round_report", args=[student.key, key or fresh_key()])


def void_address(row: Round) -> str:
    return reverse("round_void", args=[row.student.key, row.key])


def words(client: Client, student: Student) -> str:
    answer = client.get(page_of(student))
    assert answer.status_code == 200
    return Reader(answer.content.decode()).text


def values_of(rounds: list[Round]) -> list[tuple[str, str]]:
    """The four numbers over all rounds."""
    return [(number.name, number.value) for number in four_numbers(rounds)]


# --- What rounds come to ------------------------------------------------------------------------


def test_nine_holes_are_scaled_to_18_and_weigh_half() -> None:
    """16 putts on 9 holes are 32 for 18; with 36 on 18 they are 52 on 27, 34.7 for 18."""
    assert dict(values_of([played(16, 9)]))["Putts for 18 holes"] == "32.0"
    assert dict(values_of([played(16, 9), played(36)]))["Putts for 18 holes"] == "34.7"


def test_three_putts_come_with_the_holes_they_were_counted_on() -> None:
    two = [played(36, three_putts=3), played(18, 9, three_putts=1)]
    assert dict(values_of(two))["Holes with three putts or more"] == "2.7 of 18 (4 in 27)"


@pytest.mark.parametrize(
    ("made", "tried", "said"),
    [
        (3, 7, []),
        # 0.0061 to 0.1718 and 0.2553 to 0.3662: Newcombe (1998), Stat. Med. 17, 857-872, table I, method 3.
        (1, 29, [("Up-and-downs", "3%, 95% interval 1 to 17%")]),
        (81, 263, [("Up-and-downs", "31%, 95% interval 26 to 37%")]),
    ],
)
def test_up_and_downs_have_an_interval_from_eight_tried_on(made: int, tried: int, said: list[tuple[str, str]]) -> None:
    rounds = [played(33, tried=tried, made=made)]
    assert certainty(rounds) == said
    assert dict(values_of(rounds))["Up-and-downs"] == f"{made} of {tried}"


def test_no_up_and_down_tried() -> None:
    assert dict(values_of([played(33)]))["Up-and-downs"] == "none noted" and certainty([played(33)]) == []


def test_seven_tried_and_one_more_make_eight() -> None:
    two = [played(33, tried=7, made=3), played(33, tried=1, made=1)]
    assert dict(values_of(two))["Up-and-downs"] == "4 of 8" and certainty(two)[0][1].startswith("50%")


def test_no_round_has_no_numbers() -> None:
    assert four_numbers([]) == certainty([]) == [] and change_words([]).startswith("Cannot tell yet")


def test_the_first_rounds_stand_beside_the_last_only_where_an_order_could_tell() -> None:
    """Three of six are drawn in 20 ways, of which 2 (one in ten) are clearest; four of eight in 70, 2 (one in 35)."""
    seven = [played(36, day=date(2026, 5, day)) for day in range(1, 8)]
    assert {(number.first, number.last) for number in four_numbers(seven)} == {("", "")}
    assert compared_words(seven) == "From 8 rounds on, the first half stands here beside the last."
    nine = [*seven, played(27, day=date(2026, 5, 8)), played(15, 9, tried=3, made=1, day=date(2026, 5, 9))]
    first, last = zip(*((number.first, number.last) for number in four_numbers(nine)), strict=True)
    assert first == ("4", "36.0", "0.0 of 18 (0 in 72)", "none noted")
    assert last == ("5", "33.3", "0.0 of 18 (0 in 81)", "1 of 3")
    words = compared_words(nine)
    assert "first 4 and the last 5 rounds: 1 May 2026 to 4 May 2026 and 5 May 2026 to 9 May 2026" in words


# Of the 720 orders of six numbers 20 reach an S of 11 (one-sided 0.028) and 6 an S of 13 (0.0083): Kendall (1975), Rank
# Correlation Methods, 4th ed., appendix table 1. So two exchanged neighbours may still be chance, one is not.
@pytest.mark.parametrize(
    ("putts", "said"),
    [
        ([40, 39, 38, 37, 36], "Cannot tell yet: 5 of the 6 rounds that are needed."),
        ([40, 38, 39, 36, 37, 35], "No clear change over these 6 rounds."),
        ([40, 39, 38, 37, 35, 36], "Fewer putts from round to round; luck alone would rarely do that."),
        ([36, 35, 37, 38, 39, 40], "More putts from round to round; luck alone would rarely do that."),
        ([36] * 12, "No clear change over these 12 rounds."),
    ],
)
def test_a_change_is_called_only_where_it_is_clear(putts: list[int], said: str) -> None:
    assert change_words([played(number) for number in putts]) == said


def test_shorter_rounds_are_no_change() -> None:
    """Fewer putts because fewer holes were played are not fewer putts."""
    rounds = [played(36), played(36), played(36), played(18, 9), played(18, 9), played(18, 9)]
    assert change_words(rounds).startswith("No clear change")


# --- The picture --------------------------------------------------------------------------------

some_rounds = st.lists(
    st.builds(
        played,
        st.integers(1, 120),
        st.sampled_from([9, 18]),
        day=st.dates(date(2024, 6, 1), date(2026, 5, 31)),
    ),
    min_size=1,
    max_size=60,
)


@given(some_rounds, st.lists(st.dates(date(2024, 6, 1), date(2026, 5, 31)), max_size=20))
def test_everything_lies_within_the_picture(rounds: list[Round], days: list[date]) -> None:
    picture = Picture(rounds, days)
    for dot in picture.dots:
        assert LEFT <= dot.x <= RIGHT and TOP <= dot.y <= TOP + PLOT
    assert all(LEFT <= x <= RIGHT for x in picture.tests)
    assert all(0 <= label.at <= WIDTH for label in picture.labels)
    assert 2 <= len(picture.lines) <= 6 and picture.lines == sorted(picture.lines, reverse=True)


def test_tests_stand_on_the_same_line_of_time_as_rounds() -> None:
    first, middle, last = (date(2026, 5, day) for day in (1, 11, 21))
    picture = Picture([played(36, day=first), played(30, day=middle), played(33, 9, day=last)], [middle])
    assert picture.tests == [picture.dots[1].x] and picture.dots[0].x < picture.tests[0] < picture.dots[2].x
    assert [dot.is_whole for dot in picture.dots] == [True, True, False]
    assert picture.dots[1].y > picture.dots[0].y > picture.dots[2].y, "more putts stand higher: 30, 36, 66"


def test_one_round_alone_is_drawn_too() -> None:
    picture = Picture([played(33)], [])
    assert len(picture.labels) == len(picture.dots) == 1


# --- What is shown ------------------------------------------------------------------------------


def test_the_page_shows_rounds_and_the_days_of_tests(cast: Cast, as_: Clients, on: date) -> None:
    write(cast, on - timedelta(days=9), 36, three_putts=3, tried=5, made=1)
    write(cast, on - timedelta(days=2), 16, holes=9)
    make_test(cast, on - timedelta(days=5))
    page = words(as_("student"), cast.student)
    for said in (
        "Days of scored tests",
        "Cannot tell yet",
        "1 of 5",
        "32.0",
        "Courses, greens and weather differ",
    ):
        assert said in page
    assert f"Scored tests on {on - timedelta(days=5):%-d %b %Y}." in page


def test_tests_that_do_not_count_are_not_drawn(cast: Cast, as_: Clients, on: date) -> None:
    write(cast, on)
    make_test(cast, on, is_void=True)
    make_test(cast, on, done_at=None)
    make_test(cast, on, student=cast.other_student)
    assert "scored tests" not in words(as_("student"), cast.student).lower()


def test_rounds_of_others_and_undone_rounds_are_not_counted(cast: Cast, as_: Clients, on: date) -> None:
    write(cast, on, 33)
    write(cast, on, 99, is_void=True)
    write(cast, on, 98, student=cast.other_student)
    page = words(as_("student"), cast.student)
    assert "the rest) 1 " in page and "(fewer is better) 33.0" in page and "99" not in page and "98" not in page


@pytest.mark.parametrize("actor", ["student", "guardian", "coach", "manager"])
def test_nobody_reads_a_comparison_or_a_word_of_the_trade(actor: str, cast: Cast, as_: Clients, on: date) -> None:
    for ago in range(7):
        write(cast, on - timedelta(days=ago), 30 + ago)
    page = words(as_(actor), cast.student)
    assert re.findall(r"\b(?:faults?|marked|slight|average|handicap|others|rank\w*|better than)\b", page, re.I) == []


def test_who_reads_and_who_writes(cast: Cast, as_: Clients, on: date) -> None:
    write(cast, on)
    for actor, may in (("student", True), ("guardian", True), ("coach", True), ("manager", False)):
        page = words(as_(actor), cast.student)
        assert ("Save round" in page, "Undo the round" in page) == (may, may)


def test_the_page_costs_no_more_with_more_rounds(
    cast: Cast, as_: Clients, on: date, django_assert_max_num_queries: Any
) -> None:
    guardian = as_("guardian")
    write(cast, on)
    with django_assert_max_num_queries(8) as few:
        words(guardian, cast.student)
    for ago in range(20):
        write(cast, on - timedelta(days=ago))
        make_test(cast, on - timedelta(days=ago))
    with django_assert_max_num_queries(8) as many:
        words(guardian, cast.student)
    assert len(many) == len(few)


# --- Saving a round ------------------------------------------------------------------------------


def typed(on: date, **values: str) -> dict[str, str]:
    return {"day": on.isoformat(), **WHOLE, **values}


@pytest.mark.parametrize("actor", ["student", "guardian", "coach"])
def test_a_round_is_saved(actor: str, cast: Cast, as_: Clients, on: date) -> None:
    page = as_(actor).get(page_of(cast.student)).content.decode()
    address = re.search(r'action="([^"]+/rounds/[^"]+)"', page)
    assert address
    answer = as_(actor).post(address[1], typed(on))
    assert (answer.status_code, answer.headers["Location"]) == (303, page_of(cast.student))
    row = Round.objects.get()
    assert (row.student, row.by, row.day, row.holes) == (cast.student, cast.user(actor), on, 18)
    assert (row.putts, row.three_putts, row.tried, row.made) == (33, 2, 6, 2)
    assert "33 putts on 18 holes." in words(as_(actor), cast.student)


def test_a_double_tap_writes_once(cast: Cast, as_: Clients, on: date) -> None:
    address = report_at(cast.student)
    assert [as_("student").post(address, typed(on)).status_code for _ in range(3)] == [303] * 3
    assert Round.objects.count() == 1


def test_other_numbers_at_the_same_address_lose_neither_round(cast: Cast, as_: Clients, on: date) -> None:
    address = report_at(cast.student)
    as_("student").post(address, typed(on))
    answer = as_("student").post(address, typed(on, putts="31"))
    page = answer.content.decode()
    assert answer.status_code == 422 and 'value="31"' in page and "it is kept" in page
    assert Round.objects.get().putts == 33
    fresh = re.search(r'action="([^"]+/rounds/[^"]+)"', page)
    assert fresh and fresh[1] != address
    as_("student").post(fresh[1], typed(on, putts="31"))
    assert sorted(Round.objects.values_list("putts", flat=True)) == [31, 33]


def test_the_address_of_another_students_round_is_not_there(cast: Cast, as_: Clients, on: date) -> None:
    row = write(cast, on, student=cast.other_student)
    assert as_("student").post(report_at(cast.student, row.key), typed(on)).status_code == 404
    assert as_("student").post(reverse("round_void", args=[cast.student.key, row.key])).status_code == 404
    row.refresh_from_db()
    assert not row.is_void and Round.objects.count() == 1


def test_up_and_downs_may_be_left_out(cast: Cast, as_: Clients, on: date) -> None:
    as_("student").post(report_at(cast.student), typed(on, tried="", made=""))
    assert (Round.objects.get().tried, Round.objects.get().made) == (0, 0)
    assert "none noted" in words(as_("student"), cast.student)


BAD = [
    ("putts", "0", "from 1 to 120"),
    ("putts", "-5", "from 1 to 120"),
    ("putts", "many", "from 1 to 120"),
    ("putts", "300", "from 1 to 120"),
    ("putts", "31.5", "from 1 to 120"),
    ("putts", "9" * 30, "from 1 to 120"),
    ("putts", "", "required"),
    ("three_putts", "19", "from 0 to 18"),
    ("three_putts", "12", "12 with three putts make 36 putts at least, not 33."),
    ("three_putts", "", "required"),
    ("three_putts", "-1", "from 0 to 18"),
    ("made", "7", "7 made are more than 6 tried."),
    ("made", "", "how many of them were made"),
    ("tried", "", "how many were tried"),
    ("tried", "x", "from 0 to 18"),
    ("holes", "12", "not one of the available choices"),
    ("holes", "", "required"),
    ("day", "tomorrow", "Choose a day from"),
    ("day", "2026-02-30", "Choose a day from"),
    ("day", "+1", "Choose a day from"),
    ("day", "-731", "Choose a day from"),
    ("day", "", "required"),
]


@pytest.mark.parametrize(("field", "value", "said"), BAD, ids=[f"{field}-{value[:9]}" for field, value, _ in BAD])
def test_what_cannot_be_says_why_beside_the_field_and_loses_nothing(
    field: str, value: str, said: str, cast: Cast, as_: Clients, on: date
) -> None:
    if field == "day" and value[:1] in ("+", "-"):
        value = (on + timedelta(days=int(value))).isoformat()
    sent = typed(on, **{field: value})
    answer = as_("student").post(report_at(cast.student), sent)
    page = answer.content.decode()
    beside = re.search(rf'<div id="id_{field}_error">(.*?)</div>', page, re.DOTALL)
    assert answer.status_code == 422 and not Round.objects.exists()
    assert beside and said in beside[1] and "To put right" in page and "<details open>" in page
    for name in ("day", "putts", "three_putts", "tried", "made"):
        assert not sent[name] or f'value="{sent[name]}"' in page, name


@pytest.mark.parametrize(("field", "value"), [("three_putts", "10"), ("tried", "10")])
def test_nine_holes_hold_nine_at_most(field: str, value: str, cast: Cast, as_: Clients, on: date) -> None:
    answer = as_("student").post(report_at(cast.student), typed(on, holes="9", putts="40", **{field: value}))
    assert answer.status_code == 422 and "10 are more than the 9 holes played." in answer.content.decode()


@pytest.mark.parametrize("ago", [0, 730])
def test_today_and_two_years_back_are_taken_and_shown(ago: int, cast: Cast, as_: Clients, on: date) -> None:
    as_("student").post(report_at(cast.student), typed(on - timedelta(days=ago)))
    assert Round.objects.get().day == on - timedelta(days=ago)
    assert "(fewer is better) 33.0" in words(as_("student"), cast.student)


# --- Undo ---------------------------------------------------------------------------------------


def test_a_round_is_undone_and_kept(cast: Cast, as_: Clients, on: date) -> None:
    row = write(cast, on)
    for _ in range(2):
        assert as_("student").post(void_address(row)).status_code == 303
    row.refresh_from_db()
    assert row.is_void and row.history.count() == 2
    assert "Undone for" in words(as_("student"), cast.student)


def test_a_round_that_arrives_again_after_it_was_undone_stays_undone(cast: Cast, as_: Clients, on: date) -> None:
    key = fresh_key()
    as_("student").post(report_at(cast.student, key), typed(on))
    as_("student").post(void_address(Round.objects.get()))
    as_("student").post(report_at(cast.student, key), typed(on))
    assert Round.objects.get().is_void and "Undone for" in words(as_("student"), cast.student)


def test_a_round_with_a_wrong_day_can_be_undone(cast: Cast, as_: Clients, on: date) -> None:
    row = write(cast, on - timedelta(days=400))
    assert as_("student").post(void_address(row)).status_code == 303


def test_after_two_weeks_a_round_stands(cast: Cast, as_: Clients, on: date) -> None:
    row = write(cast, on - timedelta(days=15))
    row.history.update(history_date=timezone.now() - timedelta(days=14, minutes=1))
    assert void_address(row) not in as_("student").get(page_of(cast.student)).content.decode()
    assert as_("student").post(void_address(row)).status_code == 404
    row.refresh_from_db()
    assert not row.is_void


def test_a_student_reads_counts_and_a_coach_how_sure_they_are(cast: Cast, as_: Clients, on: date) -> None:
    for days in range(3):
        values = {"putts": 33, "tried": 6, "made": 2, "by": cast.coach.user}
        Round.objects.create(student=cast.student, day=on - timedelta(days=days), **values)
    page = reverse("rounds", args=[cast.student.key])
    own, coachs = (as_(actor).get(page).content.decode() for actor in ("student", "coach"))
    assert "6 of 18" in own and "%" not in re.sub(r"(?s)<head>.*?</head>", "", own).split("In four numbers")[1]
    assert "6 of 18" in coachs and "33%, 95% interval" in coachs.split("How sure is this?")[1]
    assert (
        "%" not in re.sub(r"(?s)<head>.*?</head>", "", coachs).split("How sure is this?")[0].split("In four numbers")[1]
    )
