"""The brief before a lesson, as a coach would say what they read there."""

import re
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from html import unescape
from itertools import pairwise
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from coachbook.accounts.models import Academy, Coach, Student
from coachbook.diary.models import Appointment
from coachbook.loop.brief.wording import time_ago
from drills.models import PracticeEntry, Prescription
from lessons.models import Fault, Focus, Lesson, Session
from tests.conftest import Cast
from tests.make import make_drill, make_fault, make_lesson, make_pause, make_prescription, make_skill
from tests.test_progress import DONE, arrive, look_at, open_focus, weeks

Clients = Callable[[str], Client]
MONDAY = datetime(2026, 6, 8, 9, tzinfo=UTC)  # a week after the last lesson of the factories


@pytest.fixture(autouse=True)
def a_week_later(cast: Cast) -> Iterator[None]:
    with time_machine.travel(MONDAY, tick=False):
        yield


@pytest.fixture
def pushing(cast: Cast) -> Fault:
    words = {"name": "{Lead} hand stops", "goal": "{Lead} hand leads on", "feel": "The {lead} hand is soft."}
    return make_fault(make_skill(name="Lead wrist"), **words)


@pytest.fixture
def read(cast: Cast, as_: Clients) -> Callable[..., str]:
    """What somebody reads in the brief of the cast's student, without its tags."""

    def read(actor: str = "coach") -> str:
        answer = as_(actor).get(reverse("brief", args=[cast.student.key]))
        assert answer.status_code == 200
        return text_of(answer.content.decode())

    return read


Read = Callable[..., str]


def text_of(page: str) -> str:
    main = page[page.index("<main") : page.index("</main>")]
    return " ".join(unescape(re.sub(r"<[^>]+>", "", main)).split())


def visit(cast: Cast, *, days_ago: int = 0, coach: Coach | None = None, kind: str = "lesson", **values: Any) -> Lesson:
    lesson = make_lesson(cast.student, coach or cast.coach, days_ago=days_ago, **{**DONE, **values})
    Session.objects.filter(pk=lesson.session_id).update(kind=kind)
    return lesson


def own_words(lesson: Lesson, what: str, slot: int = 1, **values: Any) -> Focus:
    return Focus.objects.create(
        student=lesson.student, slot=slot, area="putting", what=what, opened_in=lesson, **values
    )


# --- What we agreed -----------------------------------------------------------------------------


def test_i_read_what_we_agreed_in_my_own_words_with_feel_drill_and_dose(cast: Cast, pushing: Fault, read: Read) -> None:
    lesson = weeks(cast, "m", pushing)[0]
    drill = make_drill(name="{Lead} hand only")
    make_prescription(lesson, open_focus(lesson, pushing), drill=drill, amount=15, unit="balls", per_week=2, days=21)
    page = read()
    assert "Lead hand stops" in page and "Feel: The lead hand is soft." in page
    assert "Drill: Lead hand only, 15 balls, twice a week, for 21 days." in page


def test_i_read_the_feel_that_we_found_rather_than_the_catalogues(cast: Cast, pushing: Fault, read: Read) -> None:
    open_focus(weeks(cast, "m", pushing)[0], pushing, feel="Like a {trail} handed throw")
    page = read()
    assert "Feel: Like a trail handed throw" in page and "is soft" not in page


def test_i_read_in_which_area_a_fault_is(cast: Cast, pushing: Fault, read: Read) -> None:
    lesson = weeks(cast, "m", pushing)[0]
    open_focus(lesson, pushing)
    Focus.objects.create(student=cast.student, slot=2, area="bunker", what="Splash it out", opened_in=lesson)
    page = read()
    assert "Putting: Lead hand stops" in page and "Bunker: Splash it out" in page


def test_a_focus_without_a_drill_says_so(cast: Cast, pushing: Fault, read: Read) -> None:
    open_focus(weeks(cast, "m", pushing)[0], pushing)
    assert "No drill is given." in read()


def test_what_another_log_closed_or_did_not_finish_was_not_agreed(cast: Cast, pushing: Fault, read: Read) -> None:
    lessons = weeks(cast, "mm", pushing)
    open_focus(lessons[0], pushing, closed_in=lessons[1])
    own_words(make_lesson(cast.student, cast.coach), "Not finished yet", slot=2)
    page = read()
    assert "Lead hand stops" not in page and "Not finished yet" not in page
    assert "No focus is open." in page


# --- What to look at first ----------------------------------------------------------------------

# Nine weekly arrivals, their departures, and the first and last lesson of each focus, by the word that they come to
# under the academy's rules (lessons/progress/focus_states.py).
STORIES: dict[str, tuple[str, str, list[tuple[int, int | None]]]] = {
    "Returned": ("---m--mmm", "---------", [(3, 4), (6, None)]),
    "Does not hold": ("---mmmmmm", "---cccccc", [(3, None)]),
    "New": ("--------m", "---------", [(8, None)]),
    "In progress": ("---mmsmsm", "---------", [(3, None)]),
    "Holding": ("---mccccc", "---------", [(3, None)]),
    "Ready to close": ("mcccccccc", "---------", [(0, None)]),
}


def tell(lessons: list[Lesson], word: str, slot: int = 1) -> Fault:
    """A focus on a fault of that name, whose looks come to the word."""
    arrivals, departures, spans = STORIES[word]
    fault = make_fault(make_skill(), name=f"the one that is {word}")
    for lesson, arrival, departure in zip(lessons, arrivals, departures, strict=True):
        look_at(lesson, arrival, fault)
        look_at(lesson, departure, fault, "departure")
    for first, last in spans:
        open_focus(lessons[first], fault, slot, closed_in=None if last is None else lessons[last])
    return fault


@pytest.mark.parametrize(("sooner", "later"), list(pairwise(STORIES)))
def test_i_look_first_at_what_returned_then_at_what_does_not_hold_and_last_at_what_is_ready_to_close(
    sooner: str, later: str, cast: Cast, pushing: Fault, read: Read
) -> None:
    lessons = weeks(cast, "---------", pushing)
    tell(lessons, later, slot=1)
    tell(lessons, sooner, slot=2)
    page = read()
    assert page.index(f"the one that is {sooner}") < page.index(f"the one that is {later}")
    assert f"Look first. {sooner}: " in page and f" {later}: " in page and page.count("Look first") == 1


@pytest.mark.parametrize(
    ("word", "why"),
    [
        ("Returned", "closed on 4 May 2026, seen on 3 arrivals since."),
        ("Does not hold", "the last 5 changes were lost by the next arrival."),
        ("New", "opened 1 Jun 2026, not looked at since."),
        ("In progress", "opened 27 Apr 2026, looked at on 5 arrivals since."),
        ("Holding", "good on 5 arrivals in a row over 28 days."),
        ("Ready to close", "good on 8 arrivals in a row over 49 days."),
    ],
)
def test_the_word_stands_beside_its_reason(word: str, why: str, cast: Cast, pushing: Fault, read: Read) -> None:
    tell(weeks(cast, "---------", pushing), word)
    assert f"{word}: {why}" in read()


def test_of_two_new_ones_i_look_first_at_the_one_that_nobody_looked_at(cast: Cast, pushing: Fault, read: Read) -> None:
    lessons = weeks(cast, "mm", pushing)
    unseen = make_fault(make_skill(), name="Never looked at")
    open_focus(lessons[0], pushing, slot=1)
    open_focus(lessons[0], unseen, slot=2)
    page = read()
    assert page.index("Never looked at") < page.index("Lead hand stops")


def test_alone_it_needs_no_first(cast: Cast, pushing: Fault, read: Read) -> None:
    open_focus(weeks(cast, "m", pushing)[0], pushing)
    assert "Look first" not in read()


@pytest.mark.parametrize(
    ("arrivals", "departures", "words"),
    [
        ("m", "c", "Last: arrival clear, departure good."),
        ("s", "-", "Last: arrival slight. Feel"),
        ("u", "s", "Last: arrival seen (not graded), departure slight."),
        ("s-", "--", "Last look, 25 May: arrival slight. Feel"),
    ],
)
def test_i_read_what_the_last_lesson_showed(
    arrivals: str, departures: str, words: str, cast: Cast, pushing: Fault, read: Read
) -> None:
    lessons = weeks(cast, arrivals, pushing)
    for lesson, letter in zip(lessons, departures, strict=True):
        look_at(lesson, letter, pushing, "departure")
    open_focus(lessons[0], pushing)
    assert words in read()


def test_what_nobody_ever_looked_at_has_no_last_time(cast: Cast, pushing: Fault, read: Read) -> None:
    open_focus(weeks(cast, "-", pushing)[0], pushing)
    page = read()
    assert "not looked at since" in page and "Last:" not in page and "Last look" not in page and "departure" not in page


def test_a_focus_in_own_words_has_a_state_like_any_other(cast: Cast, read: Read) -> None:
    own_words(visit(cast), "Breathe out before every {trail} hand putt")
    page = read()
    assert "Breathe out before every trail hand putt" in page
    assert "New: opened 1 Jun 2026, not looked at since." in page


def test_whoever_asks_what_a_word_means_reads_this_academys_rules(cast: Cast, pushing: Fault, read: Read) -> None:
    Academy.objects.update(state_holding=4, state_ready=5)
    tell(weeks(cast, "---------", pushing), "In progress")
    page = read()
    assert "What the words mean" in page and "good on 4 arrivals in a row" in page
    assert "good on 5 arrivals in a row, and lately seen on none of 8" in page and "over 28 days or more" in page


# --- A trial ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (date(2026, 6, 9), "Trial, to decide on 9 June, in 1 day."),
        (date(2027, 1, 3), "Trial, to decide on 3 January 2027, in 209 days."),
        (date(2026, 6, 8), "Trial to decide today: keep it or drop it?"),
        (date(2026, 6, 3), "Trial overdue: keep it or drop it? To decide on 3 June, 5 days ago."),
    ],
)
def test_i_read_when_a_trial_is_to_be_decided(day: date, words: str, cast: Cast, read: Read) -> None:
    own_words(visit(cast), "Lead hand low", kind="trial", decide_on=day)
    page = read()
    assert words in page and "No drill is given" not in page, "a trial is used for every stroke"


@pytest.mark.parametrize(("day", "is_first"), [(date(2026, 6, 8), True), (date(2026, 6, 9), False)])
def test_a_trial_that_is_due_comes_before_all_else(
    day: date, is_first: bool, cast: Cast, pushing: Fault, read: Read
) -> None:
    lessons = weeks(cast, "---------", pushing)
    tell(lessons, "Returned")
    own_words(lessons[0], "Lead hand low", slot=2, kind="trial", decide_on=day)
    page = read()
    assert (page.index("Lead hand low") < page.index("Returned")) is is_first


def test_a_trial_that_a_draft_drops_stands_until_the_draft_is_done(cast: Cast, pushing: Fault, read: Read) -> None:
    draft = make_lesson(cast.student, cast.coach)
    dropped = {"kind": "trial", "decide_on": date(2026, 6, 20), "closed_in": draft, "decision": "dropped"}
    open_focus(weeks(cast, "m", pushing)[0], pushing, **dropped)
    assert "Dropped in a log that is not finished: opened 1 Jun 2026." in read()


# --- Practice -----------------------------------------------------------------------------------


@pytest.fixture
def given(cast: Cast, pushing: Fault) -> Prescription:
    """Three sessions a week for thirty days, given a week ago: eight days, three sessions given."""
    lesson = weeks(cast, "m", pushing)[0]
    return make_prescription(lesson, open_focus(lesson, pushing), drill=make_drill(name="Coin under the ball"))


@pytest.mark.parametrize(
    ("days", "words"),
    [
        ([], "Practice: not reported (3 given)."),
        ([3], "Practice: 1 of 3 sessions reported."),
        ([3, 3, 4], "Practice: 2 of 3 sessions reported."),
        ([2, 3, 4, 5], "Practice: 4 sessions reported (3 given)."),
    ],
)
def test_i_read_how_much_was_given_and_reported(days: list[int], words: str, given: Prescription, read: Read) -> None:
    for day in days:
        PracticeEntry.objects.create(prescription=given, day=date(2026, 6, day), amount=10)
    page = read()
    assert words in page and "not practised" not in page.lower()


def test_a_drill_given_today_has_no_session_due_yet(given: Prescription, read: Read) -> None:
    with time_machine.travel(datetime(2026, 6, 1, 12, tzinfo=UTC), tick=False):
        assert "Practice: no session due yet." in read()


def test_without_a_drill_nothing_is_due(cast: Cast, read: Read) -> None:
    visit(cast)
    assert "Practice: no drill is given." in read()


def test_i_read_the_last_score_from_home_with_its_day_and_drill(given: Prescription, read: Read) -> None:
    scored = {"prescription": given, "amount": 10, "score_of": 10}
    for day, score in ((2, 4), (4, 7)):
        PracticeEntry.objects.create(day=date(2026, 6, day), score=score, **scored)
    PracticeEntry.objects.create(prescription=given, day=date(2026, 6, 6), amount=10)
    PracticeEntry.objects.create(day=date(2026, 6, 7), score=10, is_void=True, **scored)
    page = read()
    assert "Last score reported: 7 of 10, on 4 June 2026, Coin under the ball." in page
    assert "10 of 10," not in page


def test_i_read_what_they_wrote_since_the_last_lesson(given: Prescription, read: Read) -> None:
    PracticeEntry.objects.create(prescription=given, day=date(2026, 6, 4), amount=10, note="My wrist was sore")
    assert "They wrote on 4 June 2026, Coin under the ball: My wrist was sore" in read()


def test_what_they_wrote_before_the_last_lesson_was_spoken_of_then(given: Prescription, read: Read) -> None:
    PracticeEntry.objects.create(prescription=given, day=date(2026, 5, 31), amount=10, note="My wrist was sore")
    assert "sore" not in read()


def test_i_read_the_practice_they_reported_when_they_came(cast: Cast, read: Read) -> None:
    visit(cast, practice_reported="most")
    assert "Practice reported on 1 June: most." in read()


PRACTICE = [
    ("all", [], "Practice reported on 1 June: all. From home since then: not reported (3 given)."),
    ("some", [3, 4], "Practice reported on 1 June: some. From home since then: 2 of 3 sessions reported."),
]


@pytest.mark.parametrize(("spoken", "days", "words"), PRACTICE)
def test_what_they_said_of_their_practice_comes_before_what_was_reported_since(
    spoken: str, days: list[int], words: str, given: Prescription, read: Read
) -> None:
    """Else the page says that nothing was reported and, further down, that all was practised."""
    Lesson.objects.filter(pk=given.lesson_id).update(practice_reported=spoken)
    for day in days:
        PracticeEntry.objects.create(prescription=given, day=date(2026, 6, day), amount=10)
    page = read()
    assert words in page and page.lower().count("practice reported") == 1


def test_practice_from_home_may_begin_before_they_came(given: Prescription, cast: Cast, read: Read) -> None:
    later = visit(cast, days_ago=-3, practice_reported="all")
    with time_machine.travel(datetime(2026, 6, 10, 9, tzinfo=UTC), tick=False):
        assert "Practice reported on 4 June: all. From home since 1 June: not reported (4 given)." in read()
    assert later.pk


def test_practice_of_drills_that_have_ended_is_not_called_none(cast: Cast, read: Read) -> None:
    visit(cast, practice_reported="all")
    assert "Practice reported on 1 June: all. No drill is given now." in read()


def test_where_there_is_nothing_from_home_nothing_is_said_of_it(given: Prescription, read: Read) -> None:
    page = read()
    assert "From home" not in page and "score" not in page


# --- What I meant to try ------------------------------------------------------------------------


def test_i_read_that_ida_meant_to_try_the_lead_hand_alone(cast: Cast, read: Read) -> None:
    visit(cast, days_ago=7, next_time="Before that, something else")
    visit(cast, next_time="Try the {lead} hand alone", note="Tires after forty balls", note_reader="academy")
    assert "Ida Fernkettle, 1 June 2026: Try the lead hand alone Note: Tires after forty balls" in read("cover")
    page = read("coach")
    assert "You, 1 June 2026: Try the lead hand alone" in page and "something else" not in page


def test_the_plan_comes_before_the_focuses_and_all_of_a_long_one_further_down(
    cast: Cast, pushing: Fault, read: Read
) -> None:
    lesson = weeks(cast, "m", pushing)[0]
    open_focus(lesson, pushing)
    words = "Begin with long putts. " * 10 + "Then the ladder."
    Lesson.objects.filter(pk=lesson.pk).update(next_time=words)
    page = read()
    assert page.index("Plan for today.") < page.index("Begin with long putts.") < page.index("Lead hand stops")
    before, after = page.split("Lead hand stops", 1)
    assert "All of it" in before and "the ladder" not in before and words in after


@pytest.mark.parametrize(
    ("reader", "who_read"),
    [
        ("coach", {"coach", "manager"}),
        ("academy", {"coach", "cover", "assistant", "manager"}),
        ("student", {"coach", "cover", "assistant", "manager"}),
    ],
)
def test_a_note_is_read_by_those_it_is_for(reader: str, who_read: set[str], cast: Cast, read: Read) -> None:
    visit(cast, note="heron-canary", note_reader=reader)
    found = {actor for actor in ("coach", "cover", "assistant", "manager") if "heron-canary" in read(actor)}
    assert found == who_read


def test_a_clip_in_between_and_what_was_said_of_it(cast: Cast, read: Read) -> None:
    visit(cast, days_ago=7, next_time="Try the lead hand alone")
    clip = visit(cast, coach=cast.cover, kind="clip", next_time="Look at the finish")
    Session.objects.filter(pk=clip.session_id).update(filmed_on=date(2026, 5, 30))
    page = read()
    assert "Last seen 2 weeks ago, 25 May." in page, "a clip is no visit"
    assert "A clip filmed on 30 May, looked at by Bram Saltquill on 1 June." in page
    assert page.index("Bram Saltquill, 1 June: Look at the finish") < page.index("Try the lead hand alone")


# --- When they came -----------------------------------------------------------------------------


EVENTS = [
    (date(2026, 6, 20), "Next event: Autumn bowl, 20 June, in 12 days."),
    (date(2026, 6, 9), "Next event: Autumn bowl, 9 June, in 1 day."),
    (date(2026, 6, 8), "Next event: Autumn bowl, 8 June, today."),
    (date(2026, 6, 7), "Last event: Autumn bowl, 7 June, yesterday."),
    (None, "Next event: Autumn bowl."),
]


@pytest.mark.parametrize(("on", "words"), EVENTS)
def test_i_read_their_goal_their_next_event_and_their_telephone(
    on: date | None, words: str, cast: Cast, as_: Clients, read: Read
) -> None:
    Student.objects.filter(pk=cast.student.pk).update(
        goal="Two putts from anywhere",
        event="Autumn bowl",
        event_on=on,
        phone="+44 1632 960017",
        phone_of="Maud, mother",
    )
    page = read()
    assert "Two putts from anywhere" in page and words in page and "+44 1632 960017, Maud, mother" in page
    brief = as_("coach").get(reverse("brief", args=[cast.student.key])).content.decode()
    assert '<a href="tel:+441632960017">' in brief


def test_an_event_long_over_is_not_spoken_of(cast: Cast, read: Read) -> None:
    Student.objects.filter(pk=cast.student.pk).update(event="Winter cup", event_on=date(2026, 1, 5))
    assert "Winter cup" not in read()


def test_before_the_first_lesson_i_am_advised_to_ask_and_look(cast: Cast, read: Read) -> None:
    page = read()
    assert "No lesson yet." in page
    assert "Ask what they came for, and look before you say anything." in page
    assert "Practice" not in page and "What the words mean" not in page


def test_after_one_lesson_with_no_focus_i_am_advised_to_choose_one_thing(cast: Cast, read: Read) -> None:
    visit(cast)
    page = read()
    assert "Last seen 7 days ago, 1 June." in page and "No focus is open. Look first, then choose one thing." in page


def test_a_gap_of_a_year_is_said(cast: Cast, read: Read) -> None:
    visit(cast, days_ago=420)
    assert "Last seen 14 months ago, 7 April 2025." in read()


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (date(2026, 6, 8), "today"),
        (date(2026, 6, 7), "yesterday"),
        (date(2026, 5, 26), "13 days ago"),
        (date(2026, 5, 25), "2 weeks ago"),
        (date(2026, 3, 31), "9 weeks ago"),
        (date(2026, 3, 30), "2 months ago"),
        (date(2025, 6, 9), "11 months ago"),
        (date(2025, 6, 8), "12 months ago"),
        (date(2024, 6, 9), "23 months ago"),
        (date(2024, 6, 8), "2 years ago"),
    ],
)
def test_how_long_ago_is_said_as_a_person_says_it(day: date, words: str) -> None:
    assert time_ago(day, MONDAY.date()) == words


def test_i_read_who_taught_them_last(cast: Cast, read: Read) -> None:
    visit(cast, coach=cast.cover)
    assert "Last seen 7 days ago, 1 June, by Bram Saltquill." in read("coach")
    assert "Last seen 7 days ago, 1 June." in read("cover")


def test_i_read_that_it_was_in_a_group(cast: Cast, read: Read) -> None:
    visit(cast, kind="group")
    assert "Last seen 7 days ago, 1 June, in a group." in read()


def test_i_read_that_they_did_not_come(cast: Cast, read: Read) -> None:
    visit(cast, days_ago=7)
    visit(cast, attendance="absent")
    page = read()
    assert "Last seen 2 weeks ago, 25 May. Did not come on 1 June." in page


def test_an_appointment_they_missed_is_shown_once_and_an_old_one_not_at_all(cast: Cast, read: Read) -> None:
    visit(cast, days_ago=7)
    visit(cast, attendance="absent")
    for day, status in ((date(2026, 5, 4), "missed"), (date(2026, 6, 1), "missed"), (date(2026, 6, 3), "missed")):
        at = datetime(day.year, day.month, day.day, 15, tzinfo=UTC)
        row = Appointment.objects.create(coach=cast.coach, starts_at=at, status=status, made_by=cast.coach.user)
        row.students.add(cast.student)
    assert "25 May. Did not come on 3 June. Did not come on 1 June. Practice" in read()


def test_of_a_season_of_missed_lessons_the_latest_three_are_shown(cast: Cast, read: Read) -> None:
    visit(cast, days_ago=70)
    for weeks_ago in range(6):
        visit(cast, days_ago=7 * weeks_ago, attendance="absent")
    days = re.findall(r"Did not come on ([^.]+)\.", read())
    assert days == ["1 June", "25 May", "18 May"]


def test_a_walk_on_the_course_is_shown_and_is_no_visit(cast: Cast, read: Read) -> None:
    visit(cast, days_ago=7)
    visit(cast, kind="course")
    assert "25 May. Course walk with you on 1 June." in read()


# --- Held, partly, lost -------------------------------------------------------------------------


def test_i_read_what_became_of_the_changes_without_a_percentage_from_few_looks(
    cast: Cast, pushing: Fault, read: Read
) -> None:
    tell(weeks(cast, "---------", pushing), "Does not hold")
    page = read()
    assert "5 were lost by the next arrival. The last one was lost." in page
    assert "%" not in page


# --- Before the first ball ----------------------------------------------------------------------


def test_pain_is_read_before_what_was_agreed(cast: Cast, pushing: Fault, read: Read) -> None:
    Student.objects.filter(pk=cast.student.pk).update(limits="Sore left wrist")
    open_focus(weeks(cast, "m", pushing)[0], pushing)
    page = read()
    assert page.index("Pain or limits they reported: Sore left wrist") < page.index("Lead hand stops")
    assert "Stop at pain." in page


def test_a_pause_is_said(cast: Cast, read: Read) -> None:
    make_pause(cast.student, since=date(2026, 6, 2))
    assert "Pauses since 2 June, injury." in read()


# --- The way on ---------------------------------------------------------------------------------


def test_one_tap_leads_into_a_fresh_log(cast: Cast, as_: Clients, read: Read) -> None:
    assert "Log a lesson" in read()
    page = as_("coach").get(reverse("brief", args=[cast.student.key])).content.decode()
    assert reverse("lesson_new", args=[cast.student.key]) in page


def test_an_unfinished_log_is_finished_first_and_counts_for_nothing(cast: Cast, as_: Clients, read: Read) -> None:
    visit(cast, days_ago=7, next_time="Try the lead hand alone")
    draft = make_lesson(cast.student, cast.coach, next_time="Half a thought")
    page = read()
    assert "The log of 1 Jun is not finished." in page
    assert "Finish the log" in page and "Half a thought" not in page and "25 May" in page
    address = reverse("lesson", args=[cast.student.key, draft.key])
    assert address in as_("coach").get(reverse("brief", args=[cast.student.key])).content.decode()


def test_a_manager_reads_it_and_is_offered_no_log(cast: Cast, read: Read) -> None:
    visit(cast, next_time="Try the lead hand alone")
    page = read("manager")
    assert "Try the lead hand alone" in page and "Log a lesson" not in page


def test_the_students_page_and_the_day_lead_to_it(cast: Cast, as_: Clients) -> None:
    at = datetime(2026, 6, 8, 15, tzinfo=UTC)
    row = Appointment.objects.create(coach=cast.coach, starts_at=at, made_by=cast.coach.user)
    row.students.add(cast.student)
    address, own = reverse("brief", args=[cast.student.key]), reverse("student", args=[cast.student.key])
    for page in (own, reverse("day"), reverse("week")):
        assert address in as_("coach").get(page).content.decode(), page
    for actor in ("student", "guardian"):
        assert address not in as_(actor).get(own).content.decode()
    Appointment.objects.update(status="cancelled")
    assert address not in as_("coach").get(reverse("day")).content.decode()


@pytest.mark.parametrize(
    ("actor", "status"), [("student", 403), ("guardian", 403), ("other_coach", 404), ("other_student", 404)]
)
def test_it_is_for_those_who_read_what_coaches_write(actor: str, status: int, cast: Cast, as_: Clients) -> None:
    assert as_(actor).get(reverse("brief", args=[cast.student.key])).status_code == status


def test_a_long_history_asks_the_database_no_more(cast: Cast, given: Prescription, as_: Clients) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert as_("coach").get(reverse("brief", args=[cast.student.key])).status_code == 200
        return len(captured)

    queries()
    few = queries()
    for number in range(30):
        fault = make_fault(make_skill())
        lesson = arrive(cast.student, cast.cover, 7 + number, "m", fault, note="n", note_reader="academy")
        look_at(lesson, "c", fault, "departure")
        make_lesson(cast.student, cast.assistant, days_ago=-1)
    own_words(Lesson.objects.earliest("pk"), "Slow", slot=2)
    PracticeEntry.objects.create(prescription=given, day=date(2026, 6, 4), amount=10, note="n", score=1)
    assert queries() == few <= 12
