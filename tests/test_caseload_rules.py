"""Who needs attention, what a caseload counts, when to change the database: each rule at its bound and beside it."""

import uuid
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from coachbook.caseload.attention.rules import RULES, Facts, Kind, reasons
from coachbook.caseload.counts import (
    StudentInCare,
    days_outside,
    holds,
    practice_words,
    summarise_students,
)
from coachbook.caseload.findings.clusters import Clusters, Tally, clusters
from coachbook.caseload.findings.faults import FaultLine, Looks
from coachbook.caseload.findings.plots import WIDTH, dot_of, place
from coachbook.caseload.findings.summary import changes_words, coaches_words, common_words
from coachbook.diary.recurrence import INTERVALS, count_rule, exists_in_zone, expand, until_rule
from coachbook.operations.growth.advice import Figures, reasons_to_change
from lessons.progress.intervals import Limits, Share

ON = date(2026, 6, 30)
USUAL = {kind: rule.usual for kind, rule in RULES.items()}
LONG_AGO = date(2020, 1, 1)


def ago(days: int) -> date:
    return ON - timedelta(days=days)


# --- Who needs attention --------------------------------------------------------------------------

WELL = Facts(ON, 1, uuid.uuid4(), "Alder", "Ida", LONG_AGO, last=ago(1), days_unseen=1)


def why(**facts: Any) -> list[str]:
    """The kinds of reasons that apply by the usual numbers to somebody who is well but for this."""
    return [str(reason.kind) for reason in reasons(replace(WELL, **facts), USUAL)]


@pytest.mark.parametrize(
    ("kind", "fact", "days"),
    [("unanswered", "unanswered", 1), ("draft", "draft", 2), ("review", "overdue", 1), ("silent", "last_report", 10)],
)
def test_a_reason_that_waits_so_many_days_begins_on_that_day(kind: str, fact: str, days: int) -> None:
    assert [why(**{fact: ago(number)}) for number in (days - 1, days, days + 1)] == [[], [kind], [kind]]
    [reason] = reasons(replace(WELL, **{fact: ago(days)}), USUAL)
    assert f"{ago(days):%-d %B}" in reason.words or f"{days} days" in reason.words


def test_a_junior_needs_a_guardian_and_a_second_coach_their_consent() -> None:
    assert why(is_junior=True) == [] and why(has_guardian=False) == [] and why(unshared=True) == []
    assert why(is_junior=True, has_guardian=False) == why(is_junior=True, unshared=True) == ["consent"]
    words = [reasons(replace(WELL, is_junior=True, **facts), USUAL)[0].words for facts in NO_CONSENT]
    assert words[0].startswith("No guardian") and words[1].startswith("A second coach") and words[2] == words[0]
    since = {Kind.CONSENT: 7}
    for days, waits in ((6, 0), (7, 1)):
        facts = replace(WELL, is_junior=True, has_guardian=False, in_care_since=ago(days))
        assert len(reasons(facts, since)) == waits


NO_CONSENT: list[dict[str, Any]] = [
    {"has_guardian": False},
    {"unshared": True},
    {"has_guardian": False, "unshared": True},
]


def test_who_is_not_seen_for_sixty_days_and_has_nothing_booked_is_missed() -> None:
    assert [why(days_unseen=days) for days in (59, 60)] == [[], ["not-seen"]]
    assert why(days_unseen=99, next_lesson=ON) == why(days_unseen=99, paused=True) == []
    never = replace(WELL, last=None, days_unseen=61)
    assert [reasons(facts, USUAL)[0].words.split(" in ")[0] for facts in (never, replace(never, last=ago(61)))] == [
        "No lesson yet",
        "Not seen for 61 days, and nothing is booked",
    ]
    assert "61 days" in reasons(never, USUAL)[0].words


def test_who_pauses_is_not_silent() -> None:
    assert why(last_report=ago(30), paused=True) == [] and why(last_report=None) == []


def test_changes_lost_in_a_row_are_named_by_their_fault() -> None:
    assert [why(lost={"Grip": number}) for number in (1, 2, 3)] == [[], ["lost"], ["lost"]]
    assert why(lost={"Grip": 2, "Eyes": 3, "Feet": 0}) == ["lost", "lost"]
    for number, said in ((0, 0), (1, 1)):
        assert len(reasons(replace(WELL, lost={"Grip": number}), {Kind.LOST: 0})) == said, "none lost is no reason"


def test_coming_of_age_is_said_from_sixty_days_before_to_the_day() -> None:
    days = {61: [], 60: ["of-age"], 0: ["of-age"], -1: []}
    assert {before: why(of_age=ago(-before)) for before in days} == days


def test_a_reason_that_is_off_is_none() -> None:
    assert reasons(replace(WELL, draft=ago(30), unanswered=ago(30)), {Kind.DRAFT: 2}) == [
        ("draft", f"The log of {ago(30):%-d %B} is not finished")
    ]


# --- What a caseload comes to ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("asked", "reported", "words"),
    [
        (0, 0, "nothing given"),
        (3, 0, "not reported"),
        (3, 2, "2 of 3 sessions reported"),
        (1, 1, "1 of 1 session reported"),
        (1, 2, "2 of 1 sessions reported"),
        (2, 1, "1 of 2 sessions reported"),
        (0, 1, "1 session reported"),
        (0, 2, "2 sessions reported"),
    ],
)
def test_practice_is_said_in_sessions(asked: int, reported: int, words: str) -> None:
    assert practice_words(asked, reported) == words


def test_a_span_holds_on_its_first_and_last_day_and_one_without_an_end_for_ever() -> None:
    span = (ago(3), ago(1))
    assert [holds(span, ago(days)) for days in (4, 3, 2, 1, 0)] == [False, True, True, True, False]
    assert [holds((ago(3), None), ago(days)) for days in (4, 3, -999)] == [False, True, True]


def outside_by_hand(after: date, on: date, spans: Iterable[tuple[date, date | None]]) -> int:
    """Day by day: those after the first, up to the last, on which no span holds."""
    days = [after + timedelta(days=number) for number in range(1, (on - after).days + 1)]
    return sum(not any(first <= day and (last is None or day <= last) for first, last in spans) for day in days)


def test_days_outside_of_spans_are_counted_one_by_one() -> None:
    ends = [ago(days) for days in (12, 10, 9, 5, 1, 0)] + [ON + timedelta(days=2)]
    for first in ends:
        for last in [*ends, None]:
            if last is None or last >= first:
                for other in ((ago(8), ago(7)), (ago(6), None), (ago(20), ago(15))):
                    spans = [(first, last), other]
                    assert days_outside(ago(10), ON, spans) == outside_by_hand(ago(10), ON, spans), spans


def in_care(**values: Any) -> StudentInCare:
    return StudentInCare(
        **{"on": ON, "coach": 1, "student": 1, "key": uuid.uuid4(), "name": "Alder", "in_care_since": ago(99)} | values
    )


def test_a_review_is_overdue_from_the_next_day_unless_they_came_since() -> None:
    days = (ago(1), ago(8), ON, ago(-1))
    assert in_care(reviews=days).overdue == [ago(8), ago(1)] and in_care(reviews=days).due == ON
    assert in_care(reviews=days, last=ago(8)).overdue == [ago(1)]
    assert in_care(reviews=days, last=ago(1)).overdue == [] and in_care(reviews=(ago(1),)).due is None
    paused = in_care(reviews=days, pauses=((ago(3), None),))
    assert (paused.paused, paused.overdue, in_care(pauses=((ago(3), ago(1)),)).paused) == (True, [], False)


def test_who_is_unseen_is_counted_since_the_last_lesson_or_since_they_came() -> None:
    assert [in_care(last=ago(days)).is_unseen(60) for days in (59, 60)] == [False, True]
    assert [in_care(in_care_since=ago(days)).is_unseen(60) for days in (59, 60)] == [False, True]
    assert not in_care(pauses=((ago(1), None),)).is_unseen(60)
    assert not in_care(last=ago(60), pauses=((ago(30), ago(30)),)).is_unseen(60)


def test_a_caseload_counts_each_student_once() -> None:
    students = [
        in_care(asked=3, reported=2, reviews=(ago(1), ago(2)), last=ago(90)),
        in_care(coach=2, asked=3, reported=2, reviews=(ago(1), ago(2)), last=ago(90)),
        in_care(student=2, asked=4, reported=0, last=ago(1)),
    ]
    found = summarise_students(students, lessons=7, drafts=1, days=60)
    assert (found.students, found.asked, found.reported, found.overdue, found.unseen) == (2, 7, 2, 1, 1)
    assert (found.lessons, found.drafts, found.practice) == (7, 1, "2 of 7 sessions reported")
    assert [one.practice_share for one in (students[0], in_care(reported=2))] == [2 / 3, None]
    assert students[2].practice == "not reported"


# --- Findings -------------------------------------------------------------------------------------


def line(name: str, working: int, seen: int, looked: int, arrivals: int = 0) -> FaultLine:
    looks = (Looks(looked, slight=seen),) if looked else ()
    return FaultLine("Grip", name, working, looks, arrivals or looked, Tally())


def test_the_commonest_fault_is_that_on_which_most_work_then_that_most_often_seen() -> None:
    lines = [line("Apart", 1, 9, 20), line("Tight", 2, 3, 20), line("Late", 2, 4, 20)]
    assert common_words(lines) == "Most students work on “Late”: 2 students now, and it was seen on 4 of 20 looks."
    assert common_words(lines[:1]).startswith("Most students work on “Apart”: 1 student now, and")
    assert common_words([line("Apart", 1, 0, 0)]) == "Most students work on “Apart”: 1 student now."
    assert common_words([line("Apart", 1, 8, 8, arrivals=99)]) == "Most students work on “Apart”: 1 student now."
    nobody = "No student works on a fault from the list of skills now."
    assert common_words([]) == common_words([line("Apart", 0, 9, 20)]) == nobody


def test_what_became_of_changes_is_said_in_parts() -> None:
    found = clusters([Share(2, 3), Share(1, 2)])
    words = "Of 5 changes, 3 held, 1 held partly, 1 was lost by the next arrival"
    assert changes_words(Tally(found, 1), None).startswith(f"{words}; too few other arrivals")
    assert changes_words(Tally(found, 1), 2.0).startswith(words)
    assert changes_words(Tally(Clusters()), None).startswith("No change made in a lesson has met a next arrival")


class Compared:
    """A coach beside the academy."""

    def __init__(self, *, chance: bool, is_outside: bool = False) -> None:
        self.chance, self.is_outside = chance, is_outside


def test_coaches_are_named_only_where_chance_does_not_explain_their_changes() -> None:
    few, within, outside = Compared(chance=False), Compared(chance=True), Compared(chance=True, is_outside=True)

    def words(*coaches: Any) -> str:
        return coaches_words([*zip(("Ida", "Bram"), coaches, strict=True)])

    assert words(few, few).startswith("Too few changes") and coaches_words([]).startswith("Too few changes")
    assert words(few, within).startswith("No coach’s changes held more or less often than chance explains.")
    assert "with Bram: ask" in words(within, outside) and "with Ida and Bram: ask" in words(outside, outside)


def test_a_dot_lies_at_its_share_of_the_width_within_its_ends() -> None:
    assert [place(rate) for rate in (-0.1, 0.0, 0.25, 1.0, 1.2)] == [0, 0, 80, 320, 320]
    plain = dot_of("Grip", Share(5, 10))
    assert (plain.at, plain.words, plain.mark, plain.band) == (WIDTH / 2, "5 of 10", "", "")
    assert 0 < plain.low < plain.at < plain.high < WIDTH and plain.low + plain.high == pytest.approx(WIDTH, abs=0.2)
    wider = dot_of("Grip", Share(5, 10), 2.0)
    assert wider.low < plain.low and wider.high > plain.high, "several looks of one student tell less"
    marked = dot_of("Grip", Share(5, 10), 1.0, 2.5, Limits(0.25, 0.75))
    assert marked.mark.startswith("M80 ") and marked.band.startswith("M80 ") and "H240" in marked.band
    assert marked.band.count("80") == 2 and marked.band.endswith("z")


# --- Series and growth ----------------------------------------------------------------------------


def test_a_series_keeps_its_hour_though_the_clocks_change() -> None:
    """RFC 5545, 3.8.5.3; in Dublin the clocks went forward on 29 March 2026 (IANA, tz database)."""
    first = datetime(2026, 3, 23, 17, tzinfo=ZoneInfo("Europe/Dublin"))
    for rule, weeks in ((count_rule(1, 3), [0, 1, 2]), (count_rule(2, 2), [0, 2])):
        moments = expand(rule, first, 9)
        assert [(moment.date() - first.date()).days for moment in moments] == [7 * week for week in weeks]
        assert {moment.hour for moment in moments} == {17}
    assert len(expand(count_rule(1, 5), first, 2)) == 2 and INTERVALS == {"weekly": 1, "fortnightly": 2}
    last = datetime(2026, 4, 6, 17, tzinfo=ZoneInfo("Europe/Dublin"))
    assert until_rule(1, last) == "FREQ=WEEKLY;INTERVAL=1;UNTIL=20260406T160000Z"
    assert len(expand(until_rule(1, last), first, 9)) == 3


def test_an_hour_that_the_clocks_leave_out_does_not_exist() -> None:
    zone = ZoneInfo("Europe/Dublin")
    hours = {hour: exists_in_zone(datetime(2026, 3, 29, hour, 30, tzinfo=zone)) for hour in (0, 1, 2)}
    assert hours == {0: True, 1: False, 2: True} and exists_in_zone(datetime(2026, 3, 29, 1, 30, tzinfo=UTC))


def test_it_is_time_to_change_from_sixteen_at_once_or_a_gigabyte_on() -> None:
    """As the page says: 16 people in one minute, and 1 GB of 2^30 bytes; limits of our own."""
    few = Figures(False, 2**30 - 1, 100, 5, 1000, 50, 15)
    assert reasons_to_change(few) == []
    [busy] = reasons_to_change(few._replace(busiest=16))
    [large] = reasons_to_change(few._replace(size=2**30))
    assert busy.startswith("16 people saved within one minute.") and large.startswith("The file is larger than 1 GB.")
    assert reasons_to_change(few._replace(size=2**40, busiest=99)) == [busy.replace("16", "99"), large]
    assert reasons_to_change(few._replace(size=2**40, busiest=99, is_postgresql=True)) == []
