"""A week at the academy, day by day, in a real browser: its last Sunday is the one on which the clocks go forward."""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from icalendar import Calendar
from playwright.sync_api import Page, expect

from coachbook.accounts.models import Student
from coachbook.demo import people
from coachbook.loop.models import Sheet
from tests.browser.conftest import type_password
from tests.library import load_library

pytestmark = pytest.mark.browser
Window = Callable[..., Page]


def monday_before_summer_time() -> date:
    """In a March to come, so that a cookie of that week has not run out by the browser's own clock."""
    end = date(datetime.now(UTC).year + 1, 3, 31)
    last_sunday = end - timedelta(days=end.isoweekday() % 7)
    return last_sunday - timedelta(days=6)


MONDAY = monday_before_summer_time()


@contextmanager
def on(weekday: int, hour: int = 9) -> Iterator[None]:
    """A day of that week at the academy and on its server; Monday is 0."""
    day = MONDAY + timedelta(days=weekday)
    with time_machine.travel(datetime(day.year, day.month, day.day, hour, tzinfo=UTC), tick=True):
        yield


@pytest.fixture
def week(transactional_db: None) -> None:
    """The demo academy's people and catalogue, as they are that Monday."""
    with on(0):
        load_library()
        people.fill(MONDAY)


def sign_in(page: Page, username: str) -> Page:
    type_password(page, username)
    return page


def open_student(page: Page, name: str) -> None:
    page.goto("/students/")
    page.get_by_role("link", name=name, exact=True).first.click()
    page.get_by_role("heading", name=name, exact=True).wait_for()


def write_log(page: Page, keep: str) -> None:
    page.get_by_label("What was good: keep it").fill(keep)
    page.get_by_text("Saved at").wait_for()
    page.get_by_role("button", name="Finish and create the sheet").click()
    page.get_by_text("The lesson is finished. This is the sheet to take home.").wait_for()


def test_a_week(open_window: Window, week: None) -> None:
    ida, odile = open_window(), open_window()
    with on(0):
        sign_in(ida, "ida")
        sign_in(odile, "odile")
        link = a_series_over_the_change_of_the_clocks(ida)
    with on(1):
        a_walk_in(ida)
    with on(2):
        a_covering_coach(sign_in(odile, "odile"), sign_in(open_window(), "bram"))  # a manager signs in each day
    with on(3):
        a_group_of_four(ida, sign_in(open_window(), "ngozi"))
    with on(4):
        a_lesson_under_the_wrong_student(ida, sign_in(odile, "odile"))
    with on(8, hour=17):
        the_second_of_the_series(ida, link)


def a_series_over_the_change_of_the_clocks(ida: Page) -> str:
    """Every Tuesday at four; the page to add to a calendar then says its address once."""
    open_student(ida, "Hattie Birdpenny")
    ida.get_by_role("link", name="Plan a lesson").click()
    ida.get_by_label("Day", exact=True).fill(f"{MONDAY + timedelta(days=1):%Y-%m-%d}")
    ida.get_by_label("Time", exact=True).fill("16:00")
    ida.get_by_label("every week").check()
    ida.get_by_label("How many times").fill("3")
    ida.get_by_role("button", name="Plan it").click()
    expect(ida.get_by_text(re.compile("Next lesson:.*16:00"))).to_be_visible()
    ida.goto("/diary/calendar/")
    ida.get_by_role("button", name="Create a link").click()
    return ida.locator(".slip").inner_text()


def the_second_of_the_series(ida: Page, link: str) -> None:
    """A week later the clocks have changed, and it is still at four; the first one is over."""
    ida.goto("/diary/")
    expect(ida.get_by_text("16:00–17:00")).to_be_visible()
    ida.locator("main summary", has_text="Change").first.click()
    ida.get_by_role("button", name="Did not come").click()
    expect(ida.get_by_text("did not come", exact=True)).to_be_visible()
    starts = [event.decoded("dtstart") for event in Calendar.from_ical(ida.request.get(link).body()).walk("VEVENT")]
    day = MONDAY + timedelta(days=1)
    first, second = (datetime(d.year, d.month, d.day, tzinfo=UTC) for d in (day, day + timedelta(days=7)))
    assert starts[:2] == [first.replace(hour=16), second.replace(hour=15)]


def a_walk_in(page: Page) -> None:
    page.goto("/students/")
    page.get_by_role("link", name="Walk-in").click()
    page.get_by_label("Name").fill("Tobit Larchwing")
    page.get_by_label("Left").check()
    page.get_by_label("Adult").check()
    page.get_by_role("button", name="Save and log the lesson").click()
    write_log(page, "A calm start")
    open_student(page, "Tobit Larchwing")
    assert Student.objects.get(name="Tobit Larchwing").putting_side == "left"


def a_covering_coach(manager: Page, bram: Page) -> None:
    assert bram.goto("/students/").ok
    expect(bram.get_by_role("link", name="Gideon Puddlefern")).to_have_count(0)
    open_student(manager, "Gideon Puddlefern")
    manager.get_by_role("link", name="Coaches", exact=True).click()
    manager.get_by_label("Coach", exact=True).select_option(label="Bram Saltquill")
    manager.get_by_label("Note for this coach").fill("Likes to begin with long putts")
    manager.get_by_role("button", name="Add").click()
    open_student(bram, "Gideon Puddlefern")
    expect(bram.get_by_text("Likes to begin with long putts")).to_be_visible()
    bram.get_by_role("link", name="Log a lesson").click()
    write_log(bram, "Held the finish")


def a_group_of_four(ida: Page, ngozi: Page) -> None:
    emeka = Student.objects.get(name="Emeka Larkwren")
    ngozi.goto(f"/students/{emeka.key}/consents/")
    ngozi.get_by_role("button", name=re.compile("Withdraw.*pictures")).click()
    expect(ngozi.get_by_role("button", name=re.compile("Give consent.*pictures"))).to_be_visible()
    assert not emeka.consents.filter(purpose="photos", withdrawn_at=None).exists()

    ida.goto("/groups/new/")
    ida.get_by_label("Name of the group").fill("Thursday four")
    for name in ("Alder Quimble", "Beatrix Mossbud", "Caspian Thornlace", "Emeka Larkwren"):
        ida.get_by_label(name, exact=True).check()
    ida.get_by_role("button", name="Begin").click()
    ida.get_by_label("Beatrix Mossbud did not come").check()
    ida.get_by_label("What was good: keep it").fill("You all let the ball roll")
    ida.get_by_role("button", name="Save for everyone").click()
    ida.get_by_role("button", name="Finish and create the sheets").click()
    ida.get_by_role("link", name=re.compile("Sheet with its code of Emeka")).wait_for()
    of_today = Sheet.objects.filter(lesson__session__name="Thursday four")
    assert sorted(of_today.values_list("lesson__student__name", flat=True)) == [
        "Alder Quimble",
        "Caspian Thornlace",
        "Emeka Larkwren",
    ]


def a_lesson_under_the_wrong_student(ida: Page, odile: Page) -> None:
    open_student(ida, "Alder Quimble")
    ida.get_by_role("link", name="Log a lesson").click()
    write_log(ida, "Gideon kept the ball low")
    link = ida.locator("a.link").get_attribute("href") or ""
    ida.get_by_role("link", name="The lesson", exact=True).click()
    ida.get_by_role("link", name="Move to another student").click()
    ida.get_by_label(re.compile("student", re.IGNORECASE)).select_option(label="Gideon Puddlefern")
    ida.get_by_role("button", name="Move the lesson").click()
    open_student(ida, "Alder Quimble")
    expect(ida.get_by_text("Gideon kept the ball low")).to_have_count(0)
    assert ida.request.get(link).status == 410

    odile.goto("/caseload/")
    odile.get_by_role("link", name=re.compile("[Cc]orrection")).first.click()
    expect(odile.get_by_text("Alder Quimble").first).to_be_visible()
    odile.get_by_role("button", name="Undo").first.click()
    assert ida.request.get(link).status == 200
