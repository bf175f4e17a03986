"""How much a log asks of one hand: taps, typed letters and scrolling, counted on a small phone from the day's page."""

from collections.abc import Callable
from dataclasses import dataclass

import pytest
from django.utils import timezone
from playwright.sync_api import Locator, Page, Route, expect

from coachbook.accounts.models import Student, User
from coachbook.diary.models import Appointment
from drills.models import Prescription
from lessons.models import Fault, Focus, Lesson, Observation, SeenFault
from tests.make import make_lesson, make_look, make_prescription

pytestmark = pytest.mark.browser
SMALL_PHONE = {"width": 360, "height": 640}
STUDENT = "Caspian Thornlace"  # putts left and chips right
OPEN = "putting-lead-wrist-cups"
IS_TOUCHABLE = """element => {
  const { left, top, width, height } = element.getBoundingClientRect();
  const touched = [top + 2, top + height - 2].map((y) => document.elementFromPoint(left + width / 2, y));
  return touched.every((found) => element.contains(found) || found?.contains(element));
}"""
Window = Callable[..., Page]


@dataclass
class Hand:
    """Taps, types and scrolls as a person would, and counts: a tap for each touch, focusing a field included."""

    page: Page
    taps: int = 0
    letters: int = 0
    scrolled: float = 0

    def tap(self, what: Locator) -> None:
        """Scroll as little as uncovers it, and touch it."""
        before = self.page.evaluate("scrollY")
        if not what.evaluate(IS_TOUCHABLE):
            what.evaluate("element => element.scrollIntoView({block: 'nearest'})")
        self.scrolled += abs(self.page.evaluate("scrollY") - before)
        what.click()
        self.taps += 1

    def type(self, what: Locator, words: str) -> None:
        self.tap(what)
        self.page.keyboard.type(words)
        self.letters += len(words)

    def skill(self, name: str) -> Locator:
        """The row of a skill, unfolded by a tap if need be."""
        row = self.page.locator("details.skill").filter(has=self.page.locator(f"summary:text-is('{name}')")).first
        if row.get_attribute("open") is None:
            self.tap(row.locator("summary").first)
        return row

    def mark(self, within: Locator, fault: str, moment: str, degree: str) -> None:
        line = within.locator(".line").filter(has=self.page.locator(f".what:text-is('{fault}')"))
        self.tap(line.locator(f".{moment} .mark").filter(has_text=degree))

    def work_on(self, within: Locator, fault: str) -> None:
        self.tap(within.get_by_role("button", name=f"Work on this {fault}"))

    def report(self) -> str:
        return f"{self.taps} taps, {self.letters} letters, {self.scrolled:.0f} px"


@pytest.fixture
def student(academy: None) -> Student:
    """One who comes today, with a focus that was opened two weeks ago and the drill given for it."""
    student, coach = Student.objects.get(name=STUDENT), User.objects.get(username="ida").coach
    appointment = Appointment.objects.create(coach=coach, starts_at=timezone.now(), made_by=coach.user)
    appointment.students.add(student)
    return student


def give_focus(student: Student) -> None:
    coach, fault = User.objects.get(username="ida").coach, Fault.objects.get(code=OPEN)
    lesson = make_lesson(student, coach, days_ago=14, status=Lesson.Status.COMPLETE, completed_at=timezone.now())
    look = make_look(lesson)
    Observation.objects.create(look=look, skill=fault.skill, verdict="not_good").seen_faults.create(
        fault=fault, degree="clear"
    )
    focus = Focus.objects.create(student=student, slot=1, area="putting", fault=fault, opened_in=lesson)
    make_prescription(lesson, focus, drill=fault.drills.first())


def open_log(open_window: Window, sign_in: Callable[[Page, str], None]) -> Hand:
    page = open_window(size=SMALL_PHONE)
    sign_in(page, "ida")
    hand = Hand(page)
    hand.tap(page.get_by_role("link", name=f"Log a lesson of {STUDENT}"))
    page.wait_for_load_state()
    return hand


def slow_down(page: Page) -> None:
    """Make each request wait as on a weak mobile line, so that what is pressed and typed queues up."""
    line = page.context.new_cdp_session(page)
    line.send("Network.enable")
    none = {"downloadThroughput": -1, "uploadThroughput": -1}
    line.send("Network.emulateNetworkConditions", {"offline": False, "latency": 300, **none})


def finish(hand: Hand) -> None:
    hand.tap(hand.page.get_by_role("button", name="Finish and create the sheet"))
    expect(hand.page.get_by_text("This is the sheet to take home.")).to_be_visible()


def test_the_shortest_honest_log(
    student: Student, open_window: Window, sign_in: Callable[[Page, str], None], record_property: Callable[..., None]
) -> None:
    """One focus answered, two observations, one new focus with its usual drill, from the day's page to the sheet."""
    give_focus(student)
    hand = open_log(open_window, sign_in)
    hand.mark(hand.page.locator(".block").first, "Lead wrist breaks down, trail hand takes over", "arrival", "slight")
    hand.mark(hand.skill("Ball position"), "Ball too far back in the stance", "arrival", "clear")
    tempo = hand.skill("Tempo")
    hand.mark(tempo, "Rushed change of direction", "arrival", "slight")
    hand.work_on(tempo, "Rushed change of direction")
    finish(hand)
    print("the shortest log:", hand.report())
    lesson = Lesson.objects.latest("pk")
    seen = {
        row.fault.code: row.degree
        for o in Observation.objects.filter(look__lesson=lesson)
        for row in o.seen_faults.all()
    }
    assert seen == {OPEN: "slight", "putting-ball-position-back": "clear", "putting-tempo-rushed": "slight"}
    given = Prescription.objects.get(lesson=lesson, focus__fault__code="putting-tempo-rushed")
    assert (given.drill.code, given.days) == ("putting-four-beats", given.drill.dose_days)
    assert (hand.taps, hand.letters) <= (9, 0) and hand.scrolled <= 1280, hand.report()


def test_a_blank_focus_is_not_opened_while_an_answer_may_fill_it(
    student: Student, open_window: Window, sign_in: Callable[[Page, str], None]
) -> None:
    """On a weak line the answer would replace the block in which somebody has begun to type."""
    hand, held = open_log(open_window, sign_in), list[Route]()
    tempo, page = hand.skill("Tempo"), hand.page
    hand.mark(tempo, "Rushed change of direction", "arrival", "slight")
    page.get_by_text("Saved at").wait_for()
    page.route("**/lessons/**", lambda route: held.append(route))
    hand.work_on(tempo, "Rushed change of direction")
    while not held:
        page.wait_for_timeout(50)
    blank = page.locator("details.block.blank").first
    assert blank.evaluate("block => block.inert")
    held[0].continue_()
    page.unroute("**/lessons/**")
    hand.tap(blank.locator("summary").first)
    hand.type(blank.get_by_label("Or in your own words"), "Pencil grip")
    expect(page.locator(".block:not(.blank)")).to_have_count(1)


def test_a_full_lesson(student: Student, open_window: Window, sign_in: Callable[[Page, str], None]) -> None:
    """Three arrivals and departures, two faults of one skill, a measure, keep, two focuses, a trial and a plan."""
    hand = open_log(open_window, sign_in)
    slow_down(hand.page)
    stance = hand.skill("Stance width")
    hand.mark(stance, "Stance too narrow", "arrival", "clear")
    hand.mark(stance, "Stance too narrow", "departure", "slight")
    hand.tap(stance.locator(".more summary").first)
    hand.type(stance.get_by_label("Stance width, cm, arrival"), "19")
    tempo = hand.skill("Tempo")
    hand.mark(tempo, "Rushed change of direction", "arrival", "slight")
    hand.tap(tempo.locator(".good .departure .mark"))
    hand.work_on(tempo, "Rushed change of direction")
    grip = hand.skill("Grip")
    hand.mark(grip, "Hands apart", "arrival", "clear")
    hand.mark(grip, "Squeezing the handle", "arrival", "slight")
    hand.mark(grip, "Squeezing the handle", "departure", "slight")
    hand.work_on(grip, "Squeezing the handle")
    page = hand.page
    trial = page.locator("details.block.blank").first
    hand.tap(trial.locator("summary").first)
    hand.type(trial.get_by_label("Or in your own words"), "Pencil grip")
    hand.tap(trial.get_by_text("Trial", exact=True))
    hand.type(trial.get_by_label("Reason for a third focus"), "She asked")
    hand.type(page.get_by_label("What was good: keep it"), "Calm eyes over the ball")
    hand.type(page.get_by_label("To look at next time"), "Two metres, uphill")
    finish(hand)
    print("the full lesson:", hand.report())
    lesson = Lesson.objects.latest("pk")
    assert Focus.objects.filter(opened_in=lesson).count() == 3 and lesson.prescriptions.count() == 2
    assert Focus.objects.get(kind="trial").what == "Pencil grip"
    assert Observation.objects.filter(look__lesson=lesson, look__kind="arrival").count() == 3
    assert Observation.objects.filter(look__lesson=lesson, look__kind="departure").count() == 3
    assert lesson.keep and lesson.next_time
    assert hand.taps <= 22 and hand.letters <= 120, hand.report()


def test_a_tap_clears_what_it_contradicts_and_two_letters_find_a_fault(
    student: Student, open_window: Window, sign_in: Callable[[Page, str], None]
) -> None:
    hand = open_log(open_window, sign_in)
    page = hand.page
    page.get_by_label("Find a skill or a fault").fill("ru")
    tempo = page.locator("#skill-putting-tempo")
    expect(tempo.get_by_text("Rushed change of direction").first).to_be_visible()
    expect(page.locator("#skill-putting-grip")).to_be_hidden()
    hand.tap(tempo.locator(".good .arrival .mark"))
    hand.mark(tempo, "Rushed change of direction", "arrival", "slight")
    hand.mark(tempo, "Rushed change of direction", "arrival", "clear")
    hand.tap(tempo.locator(".good .departure .mark"))
    ticked = [box.get_attribute("name") for box in tempo.locator(".marks :checked").all()]
    assert ticked == ["d.putting-tempo.good", "a.putting-tempo-rushed"]
    for _ in range(100):  # each tap is a save of its own
        if SeenFault.objects.filter(degree="clear", observation__verdict="not_good").exists():
            break
        page.wait_for_timeout(100)
    row = SeenFault.objects.get()
    assert (row.degree, row.observation.verdict) == ("clear", "not_good")
    hand.work_on(tempo, "Rushed change of direction")
    block = page.locator("#opened .block")
    block.get_by_text("times a week").click()
    block.get_by_label("Another drill").fill("Ladder")
    block.get_by_text("none", exact=True).click()
    expect(block.get_by_label("Another drill")).to_have_value("")
    hand.tap(tempo.locator(".good .arrival .mark"))
    assert [box.get_attribute("name") for box in tempo.locator(".marks :checked").all()] == [
        "a.putting-tempo.good",
        "d.putting-tempo.good",
    ]
