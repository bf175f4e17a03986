"""A month of a student on one page: what stands there, for whom, and that it is one page in any case."""

import re
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pypdfium2
import pytest
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from coachbook.accounts.models import Coach, Student
from coachbook.loop.months.days import DaysOfMonth, MonthDay, days_of
from coachbook.loop.months.gather import report_of
from coachbook.loop.months.report import MOST_LESSONS, fitted, next_month
from drills.models import PracticeEntry, Prescription
from lessons.models import Focus, Lesson, Observation, Outcome, Session
from tests.conftest import Cast
from tests.crawl import pdf_text
from tests.make import academy_today, make_fault, make_look, make_prescription, make_skill

Clients = Callable[[str], Client]
GOAL = "Hands {lead} of the ball"
LONG = ("Keepthehandsahead" * 20)[:300]


def months_back(number: int) -> date:
    """The first day of a month that is over."""
    first = academy_today().replace(day=1)
    for _ in range(number):
        first = (first - timedelta(days=1)).replace(day=1)
    return first


def lesson_on(student: Student, coach: Coach, day: date, **values: Any) -> Lesson:
    at = datetime.combine(day, time(12), tzinfo=UTC)
    session = Session.objects.create(coach=coach, starts_at=at)
    areas = {"putting": True, "chipping": False, "pitching": False, "bunker": False}
    done = {"status": "complete", "completed_at": at, **areas}
    lesson = Lesson.for_student(student, session, **{**done, **values})
    lesson.save()
    return lesson


def agree(lesson: Lesson, slot: int = 1, **fault: Any) -> Prescription:
    """A focus with a drill, agreed in the lesson."""
    day = lesson.session.starts_at.date()
    found = make_fault(make_skill(), **{"name": "Hands behind", "goal": GOAL, "feel": "Heavy hands", **fault})
    about = {"area": "putting", "fault": found, "opened_in": lesson, "reason": "They asked for it" * (slot == 3)}
    focus = Focus.objects.create(student=lesson.student, slot=slot, **about)
    given = make_prescription(lesson, focus)
    Prescription.objects.filter(pk=given.pk).update(begins=day, review_on=day + timedelta(days=30), ended_on=None)
    return Prescription.objects.get(pk=given.pk)


def outcome(lesson: Lesson, before: Lesson, focus: Focus, verdict: str) -> None:
    day = lesson.session.starts_at.date()
    Outcome.objects.create(
        lesson=lesson, before=before, student=lesson.student, coach=before.session.coach, fault=focus.fault,
        verdict=verdict, day=day, days=7,
    )  # fmt: skip


@pytest.fixture
def first(cast: Cast) -> date:
    return months_back(2)


@pytest.fixture
def month(cast: Cast, first: date) -> Prescription:
    """Two lessons, a change that held, and practice on three days; the month before had a lesson, too."""
    earlier = lesson_on(cast.student, cast.coach, first - timedelta(days=3))
    given = agree(earlier)
    lesson_on(cast.student, cast.coach, first + timedelta(days=4))
    second = lesson_on(cast.student, cast.cover, first + timedelta(days=11), next_time="Look at the grip")
    outcome(second, earlier, given.focus, "held")
    for number in (1, 2, 2, 20):
        PracticeEntry.objects.create(prescription=given, day=first + timedelta(days=number), amount=10)
    PracticeEntry.objects.create(prescription=given, day=first + timedelta(days=21), amount=10, is_void=True)
    return given


def ask(client: Client, student: Student, month: date | str) -> HttpResponse:
    text = month if isinstance(month, str) else f"{month:%Y-%m}"
    return client.get(reverse("month_pdf", args=[student.key, text]))


def pages_of(answer: HttpResponse) -> int:
    document = pypdfium2.PdfDocument(answer.content)
    number = len(document)
    document.close()
    return number


@pytest.mark.one_database
@pytest.mark.parametrize("actor", ["student", "guardian", "coach", "manager"])
def test_a_month_stands_on_one_page(actor: str, cast: Cast, month: Prescription, first: date, as_: Clients) -> None:
    answer = ask(as_(actor), cast.student, first)
    words = pdf_text(answer.content)
    assert answer.headers["Content-Type"] == "application/pdf" and "no-store" in answer.headers["Cache-Control"]
    assert pages_of(answer) == 1
    assert f"{first:%B %Y}" in words and "Alder Quimble" in words and "Sedge Hollow" in words
    assert f"{first + timedelta(days=4):%-d %B} Putting, with Ida Fernkettle" in words
    assert f"{first + timedelta(days=11):%-d %B} Putting, with" in words and str(cast.cover) in words
    assert f"{first - timedelta(days=3):%-d %B} Putting" not in words
    assert "Hands left of the ball: held" in words, "the lead hand of a right-handed player is the left one"
    assert "3 days of practice reported" in words
    assert "Heavy hands" in words and "Next time: Look at the grip" in words
    assert "Hands behind" not in words and "fault" not in words.lower()


def test_the_report_counts_what_was_reported(cast: Cast, month: Prescription, first: date) -> None:
    report = report_of(cast.student, first, cast.academy, academy_today())
    assert [day.day for day, _ in report.practised] == [2, 3, 21]
    assert [line.words for line in report.drills] == ["3 days"]
    bars = [day.number for day in report.days if day.height]
    rings = [day.number for day in report.days if day.has_lesson]
    assert (bars, rings) == ([2, 3, 21], [5, 12]) and report.is_over
    assert report.chart_words.startswith("Practice was reported on 3 days. Lessons: 5 ")


def test_a_player_from_the_left_reads_their_own_side(cast: Cast, first: date) -> None:
    Student.objects.filter(pk=cast.student.pk).update(putting_side="left")
    cast.student.refresh_from_db()
    agree(lesson_on(cast.student, cast.coach, first))
    report = report_of(cast.student, first, cast.academy, academy_today())
    assert (
        report.lessons[0].agreed == ("Hands right of the ball",) and report.steps[0].goal == report.lessons[0].agreed[0]
    )


def test_what_was_closed_or_agreed_later_is_no_next_step(cast: Cast, first: date) -> None:
    one, two = (
        lesson_on(cast.student, cast.coach, first),
        lesson_on(cast.student, cast.coach, first + timedelta(days=9)),
    )
    done = agree(one, goal="Weight in the front foot").focus
    Focus.objects.filter(pk=done.pk).update(closed_in=two)
    agree(lesson_on(cast.student, cast.coach, months_back(1)), slot=2, goal="A slow swing back")
    agree(lesson_on(cast.student, cast.coach, first, status="draft", completed_at=None), slot=3, goal="From a draft")
    report = report_of(cast.student, first, cast.academy, academy_today())
    assert report.steps == () and [tuple(line) for line in report.held] == [("Weight in the front foot", "finished")]
    later = report_of(cast.student, months_back(1), cast.academy, academy_today())
    assert [step.goal for step in later.steps] == ["A slow swing back"] and later.held == ()


@pytest.mark.parametrize(
    ("verdicts", "words"),
    [
        (["held"], "held"),
        (["partly"], "held partly"),
        (["lost"], "not held yet"),
        (["lost", "held", "held"], "held 2 of 3 times"),
        (["lost", "lost"], "not held yet"),
        (["lost", "partly"], "held partly"),  # the latest is last
    ],
)
def test_what_held_is_said_calmly(verdicts: list[str], words: str, cast: Cast, first: date) -> None:
    before = lesson_on(cast.student, cast.coach, first - timedelta(days=10))
    focus = agree(before).focus
    for number, verdict in enumerate(verdicts):
        outcome(lesson_on(cast.student, cast.coach, first + timedelta(days=7 * number)), before, focus, verdict)
    report = report_of(cast.student, first, cast.academy, academy_today())
    assert [line.words for line in report.held] == [words]


def test_what_nobody_agreed_to_work_on_stays_with_the_coaches(cast: Cast, month: Prescription, first: date) -> None:
    lesson = cast.student.lessons.latest("session__starts_at")
    other = Focus(fault=make_fault(make_skill(), name="Squeezing", goal="A light grip"))
    outcome(lesson, cast.student.lessons.earliest("session__starts_at"), other, "lost")
    report = report_of(cast.student, first, cast.academy, academy_today())
    assert [line.about for line in report.held] == ["Hands left of the ball"]


@pytest.mark.one_database
def test_nothing_that_coaches_keep_stands_on_it(cast: Cast, month: Prescription, first: date, as_: Clients) -> None:
    lesson = cast.student.lessons.latest("session__starts_at")
    Lesson.objects.filter(pk=lesson.pk).update(note="canary-note", note_reader="academy")
    row = {"skill": make_skill(), "verdict": "good", "reader": "coach", "words": "canary-words"}
    Observation.objects.create(look=make_look(lesson), **row)
    lesson_on(
        cast.student, cast.coach, first + timedelta(days=6), status="draft", completed_at=None, next_time="canary"
    )
    Student.objects.filter(pk=cast.student.pk).update(phone="0123 4567", limits="canary-limits")
    for actor in ("coach", "student"):
        words = pdf_text(ask(as_(actor), cast.student, first).content)
        assert "canary" not in words and "4567" not in words


def test_who_may_not_read_the_record_finds_no_report(cast: Cast, as_: Clients) -> None:
    for actor, status in {"other_coach": 404, "other_student": 404, "anonymous": 302}.items():
        assert ask(as_(actor), cast.student, "2026-01").status_code == status
        assert as_(actor).get(reverse("months", args=[cast.student.key])).status_code == status


@pytest.mark.one_database
@pytest.mark.parametrize(("born", "paper"), [(40, "Letter"), (9, "A4")], ids=["adult", "child"])
def test_a_month_full_of_long_words_is_still_one_page(
    born: int, paper: str, cast: Cast, first: date, as_: Clients
) -> None:
    cast.academy.paper = paper
    cast.academy.save()
    long_name = f"{'Bartholomew' * 10}"[:120]
    Student.objects.filter(pk=cast.student.pk).update(birth_year=first.year - born, name=long_name)
    lessons = [
        lesson_on(cast.student, cast.coach, first + timedelta(days=3 * number), next_time="Long words, " * 300,
                  chipping=True, pitching=True, bunker=True)
        for number in range(8)
    ]  # fmt: skip
    drills = [
        agree(lesson, slot=1 + number % 3, goal=LONG[:80], feel=LONG) for number, lesson in enumerate(lessons[:3])
    ]
    for given in drills:
        given.drill.name = LONG[:60]
        given.drill.save()
        for number in range(31):
            day = first + timedelta(days=number)
            if day.month == first.month:
                PracticeEntry.objects.create(prescription=given, day=day, amount=10)
    for lesson in lessons[1:]:
        outcome(lesson, lessons[0], drills[0].focus, "lost")
    answer = ask(as_("coach"), cast.student, first)
    assert answer.status_code == 200 and pages_of(answer) == 1
    assert "8 times" in pdf_text(answer.content) if born == 9 else "with Ida Fernkettle" in pdf_text(answer.content)


def test_more_lessons_than_a_page_holds_are_counted(cast: Cast, first: date) -> None:
    for number in range(MOST_LESSONS + 2):
        lesson_on(cast.student, cast.coach, first + timedelta(days=number))
    report = report_of(cast.student, first, cast.academy, academy_today())
    assert (len(report.lessons), report.more) == (MOST_LESSONS, 2) and fitted(report).lessons[0].day.day == 3


@pytest.mark.one_database
def test_an_empty_month_says_so(cast: Cast, as_: Clients) -> None:
    answer = ask(as_("student"), cast.student, months_back(3))
    words = pdf_text(answer.content)
    assert pages_of(answer) == 1 and "Nothing was recorded in this month" in words and "Practice" not in words


@pytest.mark.parametrize(
    ("month", "words"),
    [
        ("2026-13", "There is no such month"),
        ("2026-00", "There is no such month"),
        ("0000-01", "There is no such month"),
        ("2026-6", "There is no such month"),
        ("june", "There is no such month"),
        ("٢٠٢٦-٠٦", "There is no such month"),
        ("2026-06-01", "There is no such month"),
        ("1" * 5000, "There is no such month"),
        ("9999-12", "December 9999 has not begun"),
    ],
)
def test_a_month_that_cannot_be_shown_is_said_beside_those_that_can(
    month: str, words: str, cast: Cast, as_: Clients
) -> None:
    lesson_on(cast.student, cast.coach, months_back(2))
    answer = ask(as_("guardian"), cast.student, month)
    page = answer.content.decode()
    assert answer.status_code == 404 and words in page and f"{months_back(2):%B %Y}</a>" in page


def test_the_months_are_listed_where_the_reader_is(cast: Cast, month: Prescription, first: date, as_: Clients) -> None:
    own = reverse("months", args=[cast.student.key])
    for actor in ("student", "coach", "manager"):
        assert own in as_(actor).get(reverse("student", args=[cast.student.key])).content.decode()
    assert own in as_("guardian").get(reverse("students")).content.decode()
    page = as_("guardian").get(own).content.decode()
    assert "2 lessons, practice on 3 days" in page and "fault" not in page.split("<main")[1].split("</main>")[0].lower()
    assert page.index(f"{first:%B %Y}</a>") < page.index(f"{months_back(3):%B %Y}</a>")
    assert "No month yet" in as_("manager").get(reverse("months", args=[cast.other_student.key])).content.decode()


@pytest.mark.one_database
def test_a_month_asks_the_database_no_more_for_more_of_everything(
    cast: Cast, month: Prescription, first: date, as_: Clients
) -> None:
    addresses = [
        reverse("months", args=[cast.student.key]),
        reverse("month_pdf", args=[cast.student.key, f"{first:%Y-%m}"]),
    ]

    def queries() -> list[int]:
        found = []
        for address in addresses:
            with CaptureQueriesContext(connection) as captured:
                assert as_("coach").get(address).status_code == 200
            found.append(len(captured))
        return found

    queries()
    few = queries()
    for number in range(2):
        lesson = lesson_on(cast.student, cast.coach, first + timedelta(days=15 + number))
        given = agree(lesson, slot=2 + number)
        PracticeEntry.objects.create(prescription=given, day=first + timedelta(days=20 + number), amount=5)
    assert queries() == few and max(few) <= 12, few


# --- A month as a page of days ----------------------------------------------------------------------------


def page_of_days(client: Client, student: Student, month: date) -> str:
    answer = client.get(reverse("month", args=[student.key, f"{month:%Y-%m}"]))
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def test_a_month_shows_each_day_and_a_gap_is_a_gap(cast: Cast, month: Prescription, first: date, as_: Clients) -> None:
    PracticeEntry.objects.create(prescription=month, day=first + timedelta(days=6), amount=10, is_void=True)
    page = page_of_days(as_("student"), cast.student, first)
    table, after = page.split("</table>")
    days = {int(number): words for number, words in re.findall(r'class="number">(\d+)<.*?</span>(.*?)</td>', table)}
    assert len(days) == (next_month(first) - first).days
    told = {number: re.sub(r"<[^>]*>", "", words).strip(": ") for number, words in days.items()}
    once = "practice of 1 drill"
    assert {number: words for number, words in told.items() if words} == {
        2: once, 3: once, 5: "a lesson", 12: "a lesson", 21: once,
    }  # fmt: skip
    assert table.count('class="practised"') == 3 and table.count('class="lesson"') == 2
    assert "10 minutes; 10 minutes" in after, "both reports of one day stand there"
    assert not re.search(
        r"streak|in a row|well done|missed|only|%", page.split("<main")[1].lower().replace("only means", "")
    )


def test_the_weeks_begin_on_monday_and_hold_each_day_once() -> None:
    for number in range(1, 13):
        begins = date(2026, number, 1)
        length = (next_month(begins) - begins).days
        month = DaysOfMonth([MonthDay(begins + timedelta(days=day)) for day in range(length)])
        assert all(len(week) == 7 for week in month.weeks)
        placed = [(day.day, column) for week in month.weeks for column, day in enumerate(week) if day]
        assert [day for day, _ in placed] == [begins + timedelta(days=day) for day in range(length)]
        assert all(day.weekday() == column for day, column in placed)


def test_it_leads_to_the_months_beside_it_and_asks_little(
    cast: Cast, month: Prescription, first: date, as_: Clients
) -> None:
    client = as_("guardian")
    address = reverse("month", args=[cast.student.key, f"{first:%Y-%m}"])
    client.get(address)
    with CaptureQueriesContext(connection) as captured:
        page = client.get(address).content.decode()
    assert len(captured) <= 12
    assert reverse("month", args=[cast.student.key, f"{months_back(3):%Y-%m}"]) in page
    assert reverse("month", args=[cast.student.key, f"{months_back(1):%Y-%m}"]) not in page, "there is nothing to see"


def test_a_day_is_the_academys(cast: Cast, month: Prescription, first: date, as_: Clients) -> None:
    """A lesson one minute before midnight UTC is on the next day east of it."""
    cast.academy.time_zone = "Pacific/Auckland"
    cast.academy.save()
    at = datetime.combine(first + timedelta(days=24), time(23, 59), tzinfo=UTC)
    lesson = lesson_on(cast.student, cast.coach, first)
    Session.objects.filter(pk=lesson.session_id).update(starts_at=at)
    days = {day.day: day for day in days_of(cast.student, first, cast.academy).days}
    assert days[first + timedelta(days=25)].lessons and not days[first + timedelta(days=24)].lessons


@pytest.mark.parametrize("text", ["2026-13", "0000-01", "2026-1", "x", "9999-12", "2026-06-01"])
def test_a_page_of_days_that_cannot_be_shown_says_so(text: str, cast: Cast, as_: Clients) -> None:
    assert as_("student").get(reverse("month", args=[cast.student.key, text])).status_code == 404
