"""The record of a usual lesson on a small phone takes half a screen, and a slip in an edit is undone in one tap."""

from collections.abc import Callable

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from coachbook.accounts.models import Coach, Student
from drills.models import Drill
from lessons.models import Fault, Focus, Lesson, Observation, SeenFault
from tests.browser.conftest import broken_rules
from tests.make import make_lesson, make_look, make_prescription

pytestmark = [pytest.mark.browser, pytest.mark.one_database]
Window = Callable[..., Page]
SignIn = Callable[[Page, str], None]
SMALL_PHONE = {"width": 360, "height": 640}
EYES, RUSHED = "putting-finish-eyes-early", "putting-tempo-rushed"


@pytest.fixture
def usual(academy: None) -> Lesson:
    """Two faults on arrival, of which one was less on departure; what to keep, a focus with its drill, a plan."""
    student, ida = Student.objects.get(name="Gideon Puddlefern"), Coach.objects.get(user__username="ida")
    words = {"keep": "A calm rhythm on the short ones", "next_time": "The same putt, eyes closed"}
    putting = dict.fromkeys(("chipping", "pitching", "bunker"), False)
    lesson = make_lesson(student, ida, status="complete", completed_at=timezone.now(), **words, **putting)
    eyes, rushed = (Fault.objects.get(code=code) for code in (EYES, RUSHED))
    for kind, degrees in {"arrival": {eyes: "clear", rushed: "slight"}, "departure": {eyes: "slight"}}.items():
        look = make_look(lesson, kind)
        for fault, degree in degrees.items():
            row = Observation.objects.create(look=look, skill=fault.skill, verdict="not_good")
            SeenFault.objects.create(observation=row, fault=fault, degree=degree)
    focus = Focus.objects.create(
        student=student, opened_in=lesson, slot=1, area="putting", fault=eyes, feel="Chin still"
    )
    make_prescription(lesson, focus, drill=Drill.objects.get(code="putting-four-beats"), per_week=3, days=14)
    return lesson


def test_a_usual_lesson_is_read_in_half_a_screen_and_a_slip_is_undone(
    usual: Lesson, open_window: Window, sign_in: SignIn
) -> None:
    page = open_window(size=SMALL_PHONE)
    sign_in(page, "ida")
    page.goto(reverse("lesson", args=[usual.student.key, usual.key]))
    box = page.locator(".record").bounding_box()
    assert box and box["height"] <= SMALL_PHONE["height"] / 2
    assert broken_rules(page) == []
    page.get_by_role("link", name="Edit", exact=True).click()
    with page.expect_response(lambda answer: answer.request.method == "POST" and answer.ok):
        page.locator("[name=keep]").fill("Slipped")
    page.goto(reverse("lesson", args=[usual.student.key, usual.key]))
    expect(page.locator(".record")).to_contain_text("Slipped")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator(".record")).to_contain_text("A calm rhythm on the short ones")
    expect(page.locator(".messages")).to_contain_text("Undone")
