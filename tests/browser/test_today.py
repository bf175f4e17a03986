"""What a student finds on opening the page: one drill, one tap; the clock and the count while doing it."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from coachbook.accounts.models import Coach, Student
from drills.models import Drill, PracticeEntry, Prescription
from lessons.models import Focus
from tests.make import academy_today, make_lesson, make_prescription, this_time

pytestmark = pytest.mark.browser
Window = Callable[..., Page]
SignIn = Callable[[Page, str], None]
SMALL_PHONE = {"width": 360, "height": 640}
STUDENT, USERNAME = "Caspian Thornlace", "caspian"
OUT_OF_REACH = """fold => [...document.querySelectorAll("section.entry")].filter(part => {
  const start = [...part.querySelectorAll("a")].find(link => link.textContent === "Start");
  return start.getBoundingClientRect().bottom - part.getBoundingClientRect().top > fold;
}).map(part => part.querySelector("h2").textContent + part.querySelector("h3").textContent)"""


@pytest.fixture
def give(academy: None) -> Callable[[Drill], Prescription]:
    """Give a drill for the first fault that it mends, a week ago."""
    student, ida = Student.objects.get(name=STUDENT), Coach.objects.get(user__username="ida")
    done = {"status": "complete", "completed_at": this_time(days_ago=7)}
    lesson = make_lesson(student, ida, **done)

    def give(drill: Drill) -> Prescription:
        fault = drill.faults.order_by("pk").first()
        focus = Focus.objects.create(
            student=student, slot=1, area=drill.area, fault=fault, opened_in=lesson, closed_in=lesson
        )
        return make_prescription(
            lesson, focus, drill=drill, unit=drill.dose_unit, begins=academy_today() - timedelta(days=7)
        )

    return give


def words_at_the_top(drill: Drill) -> int:
    """How many letters stand above the start, beside those that all drills have; drawings are of one height."""
    fault = drill.faults.order_by("pk").first()
    return len(drill.name) + len(fault.feel if fault else drill.feel)


def test_the_wordiest_drills_of_the_library_can_be_started_without_scrolling(
    give: Callable[[Drill], Prescription], open_window: Window, sign_in: SignIn
) -> None:
    """The first one as it stands; each other one measured from its own top, as if it were the first."""
    Student.objects.filter(name=STUDENT).update(practice_minutes=20, practice_days=2)  # a week that is soon planned
    for drill in sorted(Drill.objects.order_by("pk"), key=words_at_the_top)[-10:]:
        give(drill)
    page = open_window(size=SMALL_PHONE)
    sign_in(page, USERNAME)
    top = page.locator("section.entry").first.bounding_box()
    assert top
    for name, role in (("Start", "link"), ("Done today", "button")):
        box = page.get_by_role(role, name=name, exact=True).first.bounding_box()  # type: ignore[arg-type]
        assert box and box["y"] + box["height"] <= SMALL_PHONE["height"]
    assert page.evaluate(OUT_OF_REACH, SMALL_PHONE["height"] - top["y"]) == []


@pytest.mark.parametrize("script", [True, False])
def test_one_tap_or_three_report_it(
    script: bool, give: Callable[[Drill], Prescription], open_window: Window, sign_in: SignIn
) -> None:
    given = give(Drill.objects.get(code="putting-ball-gate"))
    page = open_window(size=SMALL_PHONE, script=script)
    sign_in(page, USERNAME)
    page.get_by_role("button", name="Done today").click()
    page.get_by_role("button", name="Undo").first.click()
    page.get_by_role("group", name="How many of 10?").get_by_label("8", exact=True).check()
    page.get_by_label("Just right").check()
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.get_by_text("Reported today:")).to_be_visible()
    undone, kept = PracticeEntry.objects.order_by("pk")
    assert (undone.is_void, undone.amount, undone.score) == (True, given.amount, None)
    assert (kept.is_void, kept.amount, kept.score, kept.score_of, kept.felt) == (False, given.amount, 8, 10, "right")


def test_the_clock_outlives_a_locked_screen_and_the_count_a_reload(
    give: Callable[[Drill], Prescription], open_window: Window, sign_in: SignIn
) -> None:
    given = give(Drill.objects.get(code="putting-ball-gate"))
    Prescription.objects.filter(pk=given.pk).update(unit="minutes")
    page = open_window(size=SMALL_PHONE)
    page.clock.install()
    sign_in(page, USERNAME)
    page.get_by_role("link", name="Start").click()
    expect(page.locator("#clock")).to_contain_text("0:0")
    page.clock.fast_forward("07:00")  # timers fire once at most, as those of a phone that slept
    expect(page.locator("#clock")).to_contain_text("7:0")
    expect(page.get_by_label("How many minutes")).to_have_value("7")
    page.get_by_role("button", name="It worked").click(click_count=2)
    page.get_by_role("button", name="Not this time").click()
    page.reload()
    expect(page.locator("#count")).to_have_text("2")
    expect(page.locator("#tries")).to_have_text("of 3 so far; 10 in all")
    for _ in range(7):
        page.get_by_role("button", name="It worked").click()
    expect(page.get_by_role("button", name="It worked")).to_be_disabled()
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.get_by_text("Reported for today")).to_be_visible()
    assert PracticeEntry.objects.get().score == 9
