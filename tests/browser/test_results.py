"""The results of tests on a small phone without scripts: the first screen says it all, and the rest opens."""

from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from coachbook.accounts.models import Student
from tests.test_putting_results import Putting, all_three

pytestmark = [pytest.mark.browser, pytest.mark.one_database]


def test_the_first_screen_holds_what_the_tests_say(
    open_window: Callable[..., Page], sign_in: Callable[[Page, str], None]
) -> None:
    """360 by 640 pixels: three sentences, one target, and the control behind which all else is."""
    student = Student.objects.get(name="Caspian Thornlace")
    all_three(student, Putting(1.5, 0.12), side="left")
    page = open_window(script=False, size={"width": 360, "height": 640})
    sign_in(page, "ida")
    page.goto(reverse("test_results", args=[student.key]))
    expect(page.locator(".plainly li")).to_have_count(3)
    control = page.locator("summary", has_text="How sure is this?")
    box = control.bounding_box()
    assert box and box["y"] + box["height"] <= 640
    assert page.evaluate("document.documentElement.scrollHeight") <= 2 * 640
    table = page.get_by_role("table").first
    expect(table).to_be_hidden()
    control.click()
    expect(table).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") == 360
