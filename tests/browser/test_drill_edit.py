"""A coach writes a drill on a phone: words of a side at a tap, pieces of a drawing, and the preview beside them."""

from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from drills.models import Drill

pytestmark = [pytest.mark.browser, pytest.mark.one_database]
Window = Callable[..., Page]
COPY = "?copy=putting-ball-gate"


def test_a_drill_is_written_with_the_thumb_and_seen_as_it_is_typed(
    open_window: Window, sign_in: Callable[[Page, str], None]
) -> None:
    page = open_window()
    sign_in(page, "ida")
    page.goto(reverse("drill_new") + COPY)
    page.get_by_label("Name", exact=True).fill("My own gate")
    tip = page.get_by_label("Tip", exact=True)
    tip.fill("Press with your ")
    page.get_by_role("button", name="trail", exact=True).click()
    tip.press_sequentially(" thumb.")
    expect(tip).to_have_value("Press with your [trail] thumb.")
    preview = page.locator("#preview")
    expect(preview).to_contain_text("Press with your right thumb.")
    expect(preview).to_contain_text("Press with your left thumb.")

    page.get_by_role("button", name="Add a piece").click()
    piece = page.locator(".piece").last
    piece.get_by_label("What").select_option("coin")
    expect(piece.get_by_label("to x")).to_be_hidden()
    piece.get_by_label("x", exact=True).fill("4000")
    piece.get_by_label("y", exact=True).fill("0")
    expect(piece).to_contain_text("This is outside the frame")
    piece.get_by_label("x", exact=True).fill("10")
    expect(piece).not_to_contain_text("This is outside the frame")
    expect(preview.locator("svg")).to_have_count(2)
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", name="My own gate")).to_be_visible()
    assert Drill.objects.get(name="My own gate").drawing["pieces"][-1] == {"piece": "coin", "x": 10, "y": 0}


def test_all_of_it_works_without_a_script(open_window: Window, sign_in: Callable[[Page, str], None]) -> None:
    page = open_window(script=False)
    sign_in(page, "ida")
    page.goto(reverse("drills"))
    page.get_by_label("Search in all words").fill("ball gate")
    page.get_by_role("button", name="Search").click()
    page.get_by_role("link", name="Ball gate", exact=True).click()
    page.get_by_role("link", name="Copy").click()
    page.get_by_label("Name", exact=True).fill("Plain gate")
    page.get_by_label("Tip", exact=True).fill("Press with your trail thumb.")
    page.get_by_role("button", name="Save").click()
    expect(page.locator(".problems")).to_contain_text("reads “trail” as it stands")
    page.get_by_role("button", name="Put lead and trail in brackets").click()
    expect(page.locator("#preview")).to_contain_text("Press with your left thumb.")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", name="Plain gate")).to_be_visible()
