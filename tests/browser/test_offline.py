"""Pages without a network, in a real Chromium whose network is off: what is written there reaches the server once."""

import re
from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from coachbook.accounts.models import Academy, Coach, Student
from coachbook.diary.models import Appointment
from lessons.models import Focus, Lesson, SeenFault
from tests.browser.conftest import DESK, PHONE, broken_rules
from tests.make import academy_today

pytestmark = pytest.mark.browser
Window = Callable[..., Page]
SignIn = Callable[[Page, str], None]
FAULT = "Lead wrist breaks down, trail hand takes over"
KEPT = "async () => (await import('/static/js/offline/kept.js')).kept()"


def plan_today(username: str, coach: str = "ida") -> Student:
    """An appointment of today for a student of the demo's."""
    student = Student.objects.get(user__username=username)
    begins = timezone.now().replace(microsecond=0)
    row = Appointment.objects.create(
        coach=Coach.objects.get(user__username=coach), starts_at=begins, ends_at=begins + timedelta(hours=1)
    )
    row.students.add(student)
    return student


def keep_what_is_needed(page: Page) -> None:
    """Wait until the worker controls the page and the phone has what it needs."""
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.wait_for_function("navigator.serviceWorker.controller !== null")
    expect_kept(page)


def expect_kept(page: Page) -> None:
    for _ in range(100):
        if page.evaluate(KEPT):
            return
        page.wait_for_timeout(50)
    raise AssertionError("nothing is kept")


def cut(page: Page, *, off: bool = True) -> None:
    """Switch the network of a window off or on."""
    page.context.set_offline(off)


def test_a_whole_log_is_written_without_a_network(open_window: Window, sign_in: SignIn) -> None:
    page = open_window(watched=False)
    sign_in(page, "ida")
    student = plan_today("beatrix")
    page.reload()
    keep_what_is_needed(page)
