"""Four weeks at home in a real browser, dose by dose: of a junior with two guardians, and of an adult without a script.

The days were worked out by hand from the rules of the plan. What was tapped is counted here and compared with what is
stored, and with the page of days.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, timedelta

import pytest
import time_machine
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect
from pytest_django.live_server_helper import LiveServer

from coachbook.accounts.models import Academy, Coach, Guardianship, Student, User
from coachbook.demo import people
from drills.models import Drill, PracticeEntry, Prescription
from drills.practice.prescribe import replace_prescriptions
from lessons.models import Focus, Lesson
from tests.browser.conftest import broken_rules, give_session
from tests.browser.test_fortnight import moment
from tests.browser.test_week import MONDAY
from tests.library import load_library
from tests.make import make_lesson, make_prescription

pytestmark = pytest.mark.browser
Window = Callable[..., Page]
JUNIOR, ADULT = "Emeka Larkwren", "Alder Quimble"
GATE, BEATS = "putting-ball-gate", "putting-four-beats"
SMALL_PHONE = {"width": 360, "height": 640}
BLAME = re.compile(r"\b(missed|late|failed|forgot|forgotten|fault|streak)\b", re.IGNORECASE)


@contextmanager
def at(day: int) -> Iterator[None]:
    """An evening, counted from the Monday of the lesson."""
    with time_machine.travel(moment(day, 18), tick=True):
        yield


def day_of(number: int) -> date:
    return MONDAY + timedelta(days=number)


@dataclass
class Home:
    """A student at home: their windows and their drills, and what was tapped so far."""

    student: Student
    server: str
    given: list[Prescription]
    reported: list[tuple[str, date, int | None]] = field(default_factory=list)

    def address(self, name: str, *more: object) -> str:
        return reverse(name, args=[self.student.key, *more])

    def opens(self, page: Page, username: str) -> Page:
        """Today, on a phone on which they are signed in."""
        give_session(page, User.objects.get(username=username), self.server)
        page.goto(self.address("today"))
        return page

    def card(self, page: Page, drill: int = 0) -> Locator:
        return page.locator(f"#drill-{self.given[drill].key}")

    def taps_done(self, page: Page, day: int, drill: int = 0) -> None:
        """One tap."""
        expect(self.card(page, drill)).not_to_contain_text("Not planned for today")
        self.card(page, drill).get_by_role("button", name="Done today").click()
        self.is_reported(page, day, drill)

    def taps_score(self, page: Page, day: int, score: int, felt: str = "Just right") -> None:
        """Three taps: the score, how it felt, done."""
        card = self.card(page)
        expect(card).not_to_contain_text("Not planned for today")
        card.get_by_role("group", name="How many of 10?").get_by_label(str(score), exact=True).check()
        card.get_by_label(felt).check()
        card.get_by_role("button", name="Done", exact=True).click()
        self.is_reported(page, day, score=score)

    def is_reported(self, page: Page, day: int, drill: int = 0, score: int | None = None) -> None:
        expect(self.card(page, drill).get_by_text("Reported today:")).to_be_visible()
        self.reported.append((self.given[drill].drill.code, day_of(day), score))

    def stored(self) -> list[tuple[str, date, int | None]]:
        rows = PracticeEntry.objects.filter(prescription__student=self.student, is_void=False)
        return list(rows.values_list("prescription__drill__code", "day", "score"))


@pytest.fixture
def home(transactional_db: None, live_server: LiveServer) -> Callable[..., Home]:
    """A lesson on that Monday, with drills to take home for four weeks; the first drill matters most."""
    with at(0):
        load_library()
        people.fill(MONDAY)
        piers = User.objects.get(username="piers")
        Guardianship.objects.create(guardian=piers, student=Student.objects.get(name=JUNIOR))

    def lesson_of(name: str, doses: dict[str, int]) -> Home:
        student, ida = Student.objects.get(name=name), Coach.objects.get(user__username="ida")
        lesson = finished_lesson(student, ida, 0)
        return Home(student, live_server.url, [give(lesson, *dose, n) for n, dose in enumerate(doses.items(), 1)])

    return lesson_of


def finished_lesson(student: Student, coach: Coach, day: int) -> Lesson:
    lesson = make_lesson(student, coach, status="complete", completed_at=moment(day, 17))
    lesson.session.starts_at = moment(day, 16)
    lesson.session.save()
    return lesson


def give(lesson: Lesson, code: str, minutes: int, slot: int) -> Prescription:
    """A drill three times a week for four weeks, for a fault that it mends."""
    drill = Drill.objects.get(code=code)
    fault = drill.faults.order_by("pk").first()
    about = {"student": lesson.student, "slot": slot, "area": drill.area, "fault": fault, "reason": "They asked for it"}
    focus = Focus.objects.create(opened_in=lesson, **about)
    return make_prescription(lesson, focus, drill=drill, amount=minutes, days=28, begins=MONDAY)


def day_on_week_page(page: Page, day: int) -> Locator:
    heading = page.get_by_role("heading", name=re.compile(f"{day_of(day):%A} {day_of(day).day} "))
    return page.locator("section.entry", has=heading)


def days_on_month_pages(home: Home, page: Page) -> set[date]:
    """The days that have a dot."""
    found = set()
    for first in sorted({day_of(number).replace(day=1) for number in range(28)}):
        page.goto(home.address("month", f"{first:%Y-%m}"))
        cells = page.locator("table.days td", has=page.locator(".practised"))
        found |= {first.replace(day=int(number)) for number in cells.locator(".number").all_inner_texts()}
    return found


def test_four_weeks_of_a_junior(open_window: Window, home: Callable[..., Home]) -> None:
    emeka, ngozi, piers = (open_window(size=SMALL_PHONE) for _ in range(3))
    at_home = home(JUNIOR, {GATE: 10})
    with at(0):
        picks_a_fourth_day(at_home.opens(emeka, "emeka"))
        at_home.taps_done(at_home.opens(emeka, "emeka"), 0)
    with at(2):
        at_home.taps_score(at_home.opens(emeka, "emeka"), 2, 6, "Hard")
    with at(5):
        a_session_that_moved(at_home.opens(emeka, "emeka"), at_home)
    with at(7):
        both_parents_report(at_home, at_home.opens(ngozi, "ngozi"), at_home.opens(piers, "piers"))
    with at(9):
        at_home.taps_score(at_home.opens(emeka, "emeka"), 9, 8)
    with at(11):
        takes_it_back(at_home.opens(emeka, "emeka"), at_home)
    with at(20):
        a_week_on_paper(at_home.opens(ngozi, "ngozi"), at_home)
    for day, score in ((21, None), (23, 9), (25, None)):
        with at(day):
            page = at_home.opens(emeka, "emeka")
            at_home.taps_score(page, day, score) if score else at_home.taps_done(page, day)
    with at(28):
        the_dose_is_over(at_home.opens(emeka, "emeka"), at_home)
        assert days_on_month_pages(at_home, emeka) == {day for _, day, _ in at_home.reported}
    assert sorted(at_home.stored(), key=lambda row: row[1]) == at_home.reported and len(at_home.reported) == 12
    sources = PracticeEntry.objects.filter(is_void=False).order_by("day").values_list("source", flat=True)
    assert [row == "guardian" for row in sources] == [False] * 3 + [True] + [False] * 2 + [True] * 3 + [False] * 3


def picks_a_fourth_day(page: Page) -> None:
    """Two taps: Monday, Wednesday and Friday suit the dose and are ticked; Saturday is one more."""
    page.get_by_role("link", name="Week", exact=True).click()
    for day in ("Monday", "Wednesday", "Friday"):
        expect(page.get_by_label(day, exact=True)).to_be_checked()
    page.get_by_label("Saturday", exact=True).check()
    page.get_by_role("button", name="Save these days").click()
    expect(page.get_by_text("Saved. The week is laid out over these days.")).to_be_visible()


def a_session_that_moved(page: Page, home: Home) -> None:
    """Nothing was reported on Friday; it is Saturday's now, and nobody is blamed."""
    page.goto(home.address("practice_week"))
    page.get_by_text("Earlier this week").click()
    expect(day_on_week_page(page, 4)).to_contain_text("moved to Saturday")
    assert broken_rules(page) == []
    assert not BLAME.search(page.locator("main").inner_text())
    page.goto(home.address("today"))
    home.taps_done(page, 5)
    assert not BLAME.search(page.locator("main").inner_text())


def both_parents_report(home: Home, ngozi: Page, piers: Page) -> None:
    """Both have the page open; the second one is asked, and it is the same practice."""
    home.taps_done(ngozi, 7)
    home.card(piers).get_by_role("button", name="Done today").click()
    expect(home.card(piers).get_by_text("Already reported for today by a guardian").first).to_be_visible()
    home.opens(piers, "piers")
    expect(home.card(piers)).to_contain_text("1 of 3 this week")


def takes_it_back(page: Page, home: Home) -> None:
    """Tapped by mistake, undone, and reported with its score afterwards."""
    home.taps_done(page, 11)
    page.reload()
    home.card(page).get_by_role("button", name="Undo").first.click()
    expect(home.card(page).get_by_text("Undone for today")).to_be_visible()
    home.reported.pop()
    home.taps_score(page, 11, 7)


def a_week_on_paper(page: Page, home: Home) -> None:
    """On Sunday a guardian types in the ticks of Monday, Wednesday and Friday."""
    page.get_by_role("link", name="Fill in a whole month").click()
    for day in (14, 16, 18):
        page.locator(f"input[name=ticked][value$=':{day_of(day).isoformat()}']").check()
        home.reported.append((GATE, day_of(day), None))
    page.get_by_role("button", name="Report all that is ticked").click()
    expect(page.get_by_text("Filled in: 3 practices.")).to_be_visible()


def the_dose_is_over(page: Page, home: Home) -> None:
    """Its days are done; after the next lesson, which gives no drill, it has left the page."""
    expect(home.card(page)).to_contain_text("Your 28 days are done")
    next_lesson = finished_lesson(home.student, Coach.objects.get(user__username="ida"), 28)
    replace_prescriptions(lesson=next_lesson, academy=Academy.current())
    page.reload()
    expect(page.get_by_text("No drill for today.")).to_be_visible()
    expect(home.card(page)).to_have_count(0)


def test_four_weeks_of_an_adult(open_window: Window, home: Callable[..., Home]) -> None:
    """Twenty minutes on four days: the first drill has its three, Monday, Thursday and Saturday; the other Tuesday."""
    alder, ida = open_window(size=SMALL_PHONE, script=False), open_window(size=SMALL_PHONE)
    at_home = home(ADULT, {GATE: 20, BEATS: 20})
    with at(0):
        says_twenty_minutes(at_home.opens(alder, "alder"))
        at_home.taps_done(at_home.opens(alder, "alder"), 0)
    for week in range(4):
        for day, drill in ((0, 0), (1, 1), (3, 0), (5, 0)):
            number = 7 * week + day
            if number in (0, 10):  # reported above, and left out
                continue
            with at(number):
                page = at_home.opens(alder, "alder")
                at_home.taps_score(page, number, 6 + week) if day == 5 else at_home.taps_done(page, number, drill)
        if week == 1:
            with at(13):
                a_session_without_a_later_day(alder, at_home)
                the_coach_reads_it(ida, at_home)
    with at(27):
        at_home.opens(alder, "alder")
        assert days_on_month_pages(at_home, alder) == {day for _, day, _ in at_home.reported}
    assert sorted(at_home.stored(), key=lambda row: row[1]) == at_home.reported and len(at_home.reported) == 15


def says_twenty_minutes(page: Page) -> None:
    page.get_by_role("link", name="Week", exact=True).click()
    page.get_by_label("Minutes a day").fill("20")
    page.get_by_role("button", name="Save these days").click()
    expect(page.get_by_text("gives way: 1 of 3 times a week")).to_be_visible()


def a_session_without_a_later_day(page: Page, home: Home) -> None:
    """Thursday's had no day left with room; the page says so and that it is all right."""
    page.goto(home.address("practice_week"))
    page.get_by_text("Earlier this week").click()
    expect(day_on_week_page(page, 10)).to_contain_text("not reported")
    expect(page.get_by_text("That is all right; the next week starts afresh.")).to_be_visible()
    assert not BLAME.search(page.locator("main").inner_text())


def the_coach_reads_it(page: Page, home: Home) -> None:
    give_session(page, User.objects.get(username="ida"), home.server)
    page.goto(home.address("brief"))
    words = f"The week does not fit: {home.given[1].drill} (1 of 3) gives way."
    expect(page.get_by_text(words)).to_be_visible()
