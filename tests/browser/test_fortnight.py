"""A fortnight in a real browser: a child is ill, a message is answered, a student is handed over, and a digest comes.

The digest goes through a real mail server on loopback, and its link stops it without signing in.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.core.management import call_command
from django.urls import reverse
from playwright.sync_api import Page, expect
from pytest_django.live_server_helper import LiveServer

from coachbook.accounts.models import Academy, Coach, Student, User
from coachbook.demo import people
from coachbook.diary.models import Appointment
from tests.browser.conftest import give_session
from tests.browser.test_week import MONDAY
from tests.library import load_library
from tests.post_office import Box, serving, text_of

pytestmark = pytest.mark.browser
Window = Callable[..., Page]
SITE = "https://book.example"
CHILD = "Emeka Larkwren"


def moment(day: int, hour: int) -> datetime:
    """An hour of a day at the academy, counted from the Monday."""
    zone = ZoneInfo(Academy.current().time_zone)
    on: date = MONDAY + timedelta(days=day)
    return datetime(on.year, on.month, on.day, hour, tzinfo=zone)


@contextmanager
def at(day: int, hour: int = 9) -> Iterator[None]:
    with time_machine.travel(moment(day, hour), tick=True):
        yield


@pytest.fixture
def fortnight(transactional_db: None, settings: Any) -> Iterator[Box]:
    """The demo academy's people as they are that Monday, a lesson on Wednesday, and the mail server."""
    settings.SITE_ADDRESS = SITE
    with time_machine.travel(datetime(MONDAY.year, MONDAY.month, MONDAY.day, 8), tick=True):
        load_library()
        people.fill(MONDAY)
        User.objects.filter(username="ngozi").update(email="ngozi@example.org")
        ida = Coach.objects.get(user__username="ida")
        lesson = Appointment.objects.create(coach=ida, starts_at=moment(2, 16), made_by=ida.user)
        lesson.students.add(Student.objects.get(name=CHILD))
    with serving(Box(), settings) as box:
        yield box


def notify(day: int) -> None:
    with at(day, 17):
        call_command("notify")


def test_a_fortnight(open_window: Window, fortnight: Box, live_server: LiveServer) -> None:
    ngozi, ida = open_window(), open_window()
    bram, odile = open_window(script=False), open_window(script=False)
    thread = f"/students/{Student.objects.get(name=CHILD).key}/messages/"

    def signed_in(page: Page, username: str) -> Page:
        give_session(page, User.objects.get(username=username), live_server.url)
        return page

    with at(0):
        chooses_mail(signed_in(ngozi, "ngozi"))
    with at(1):
        reports_illness(ngozi)
    with at(2):
        sees_it_on_the_day(signed_in(ida, "ida"))
        writes(ida, thread, "Get well soon. We begin again next week.")
        writes(ida, thread, "No practice until then.")
    notify(2)
    assert lines_of(fortnight, 1) == ["- 2 messages that you have not read"]
    with at(3):
        reads_and_answers(ngozi, ida, thread)
    with at(7):
        is_handed_over(signed_in(odile, "odile"), signed_in(bram, "bram"), ida, thread)
    with at(8):
        writes(bram, thread, "I am glad to meet Emeka on Friday.")
    notify(8)
    notify(8)
    assert lines_of(fortnight, 2) == ["- 1 message that you have not read"]
    with at(9):
        stops_it(open_window(script=False), fortnight)
        writes(bram, thread, "Bring the putter, please.")
    notify(9)
    assert len(fortnight.mails) == 2
    ngozi.goto("/students/")
    expect(ngozi.get_by_text("2 messages").first).to_be_visible()


def lines_of(box: Box, number: int) -> list[str]:
    """What the latest mail counts; it is the one of this number, to the guardian alone, and names no child."""
    assert [mail["To"] for mail in box.mails] == ["ngozi@example.org"] * number
    words = text_of(box.mails[-1])
    assert not [word for word in ("Emeka", "Flora", "Get well", "practice until", "glad") if word in words]
    return [line for line in words.splitlines() if line.startswith("- ")]


def chooses_mail(ngozi: Page) -> None:
    ngozi.goto("/account/")
    ngozi.get_by_role("link", name="Notices", exact=True).click()
    ngozi.get_by_label("messages that you have not read").check()
    ngozi.get_by_role("button", name="Save").click()
    expect(ngozi.get_by_text("Saved.")).to_be_visible()


def reports_illness(ngozi: Page) -> None:
    ngozi.goto("/students/")
    ngozi.get_by_role("link", name=re.compile(f"Cannot come.*{CHILD}")).click()
    ngozi.get_by_label("First day").fill(f"{MONDAY + timedelta(days=2):%Y-%m-%d}")
    ngozi.get_by_label("Ill", exact=True).check()
    ngozi.get_by_role("button", name="Tell the coach").click()
    expect(ngozi.get_by_text("the coach sees it on the day’s page")).to_be_visible()


def sees_it_on_the_day(ida: Page) -> None:
    ida.goto("/diary/")
    expect(ida.get_by_text(CHILD).first).to_be_visible()
    expect(ida.locator("main").get_by_text(re.compile(r"\bill\b")).first).to_be_visible()


def writes(page: Page, thread: str, words: str) -> None:
    page.goto(thread)
    page.get_by_label("Your message").fill(words)
    page.get_by_role("button", name="Send to all of them").click()
    expect(page.get_by_text("Sent.", exact=True)).to_be_visible()


def reads_and_answers(ngozi: Page, ida: Page, thread: str) -> None:
    ngozi.goto("/students/")
    ngozi.get_by_role("link", name="2 messages").click()
    expect(ngozi.get_by_text("Get well soon")).to_be_visible()
    ngozi.get_by_text("New: 2 messages").wait_for(state="detached")  # the page says by itself that it was read
    writes(ngozi, thread, "Thank you. Emeka is up again.")
    ida.goto("/students/")
    ida.get_by_role("link", name="1 message").first.click()
    expect(ida.get_by_text("Emeka is up again.")).to_be_visible()


def is_handed_over(odile: Page, bram: Page, ida: Page, thread: str) -> None:
    odile.goto(reverse("student_move", args=[Student.objects.get(name=CHILD).key]))
    odile.get_by_label("New main coach").select_option(label="Bram Saltquill")
    odile.get_by_role("button", name="Move", exact=True).click()
    assert bram.goto(thread).ok
    assert ida.request.get(thread).status == 404


def stops_it(stranger: Page, box: Box) -> None:
    """By the link of the header, in a browser without a script in which nobody is signed in."""
    link = box.mails[-1]["List-Unsubscribe"].strip()[1:-1]
    stranger.goto(link.removeprefix(SITE))
    stranger.get_by_role("button", name="Stop it").click()
    expect(stranger.get_by_role("heading", name="Stopped")).to_be_visible()
