"""Pages without a network, in a real Chromium whose network is off: what is written there reaches the server once."""

import time
import uuid
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.core.signals import request_started
from django.utils import timezone
from playwright.sync_api import Page, expect

from coachbook.accounts.models import Coach, Student, User
from coachbook.diary.models import Appointment
from coachbook.loop.sheets.issue import issue_sheet
from coachbook.offline import files
from drills.models import Drill, PracticeEntry, Prescription, ScoredTest
from lessons.log import complete
from lessons.models import Fault, Focus, Lesson, SeenFault
from tests.browser.conftest import DESK, PHONE, broken_rules, wait_until_sent
from tests.make import academy_today, make_lesson, make_prescription, make_student, this_time

pytestmark = pytest.mark.browser
Window = Callable[..., Page]
SignIn = Callable[[Page, str], None]
KEEP, NEXT = "Your rhythm was calm – all through", "The same putt from 2 m"
FAULT = "Lead wrist breaks down, trail hand takes over"
FULL = """() => {
  const refuse = () => { throw new DOMException("full", "QuotaExceededError"); };
  IDBObjectStore.prototype.put = IDBObjectStore.prototype.add = refuse;
}"""
CACHED = """async () => {
  const found = await Promise.all((await caches.keys()).map((name) => caches.open(name)));
  const requests = await Promise.all(found.map((cache) => cache.keys()));
  return requests.flat().map(({ url }) => new URL(url).pathname);
}"""
KEPT = "async () => (await import('/static/js/offline/kept.js')).kept()"


def plan_today(username: str, coach: str = "ida") -> Student:
    """An appointment of now for a student of the demo's."""
    user = User.objects.get(username=coach)
    student = Student.objects.get(user__username=username)
    row = Appointment.objects.create(coach=user.coach, starts_at=timezone.now(), minutes=60, made_by=user)
    row.students.add(student)
    return student


def keep_what_is_needed(page: Page) -> None:
    """Wait until the worker is there for the next page, and the phone has what it needs."""
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    wait_until(page, f"await ({KEPT})()")


def wait_until(page: Page, expression: str) -> None:
    """Wait until an asynchronous expression is true."""
    for _ in range(600):
        if page.evaluate(f"async () => Boolean({expression})"):
            return
        page.wait_for_timeout(50)
    raise AssertionError(expression)


def cut(page: Page, *, off: bool = True) -> None:
    """Switch the network of a window off or on."""
    page.context.set_offline(off)


def look(page: Page, skill: str, moment: str, fault: str, degree: str) -> None:
    """Tap a degree in the row of a skill, or *good* where no fault is named."""
    row = page.locator("details.skill").filter(has=page.get_by_text(skill, exact=True)).first
    if row.get_attribute("open") is None:
        row.locator(":scope > summary").click()
    line = row.locator(".line").filter(has=page.locator(f".what:text-is('{fault}')")) if fault else row.locator(".good")
    line.locator(f".{moment} .mark").filter(has_text=degree or "good").click()


def write_a_log(page: Page, name: str) -> None:
    """From the day's list to a finished log and its provisional sheet."""
    page.goto("/diary/")
    page.get_by_role("link", name=f"Log a lesson of {name}").click()
    look(page, "Lead wrist", "arrival", FAULT, "clear")
    look(page, "Lead wrist", "departure", "", "")
    page.get_by_role("button", name=f"Work on this {FAULT}").click()
    block = page.locator("#opened .block")
    expect(block.get_by_label("Feel, as the student reads it")).not_to_have_value("")
    page.get_by_label("What was good: keep it").fill(KEEP)
    page.get_by_label("To look at next time").fill(NEXT)
    page.get_by_role("button", name="Finish and create the sheet").click()
    expect(page.get_by_role("heading", name=name)).to_be_visible()


def test_a_whole_log_is_written_without_a_network(open_window: Window, sign_in: SignIn) -> None:
    page = open_window(watched=False)
    sign_in(page, "ida")
    student = plan_today("beatrix")
    page.reload()
    keep_what_is_needed(page)
    cut(page)
    write_a_log(page, "Beatrix M.")
    sheet = page.locator("article.sheet")
    expect(sheet).to_contain_text(KEEP)
    expect(sheet).to_contain_text(FAULT)
    expect(sheet).to_contain_text(NEXT)
    expect(page.get_by_text("This sheet is provisional")).to_be_visible()
    assert not Lesson.objects.exists()
    cut(page, off=False)
    expect(page.locator("#outbox")).to_contain_text("Sent.")
    [lesson] = Lesson.objects.all()
    assert (lesson.student, lesson.status, lesson.keep, lesson.next_time) == (student, "complete", KEEP, NEXT)
    seen = SeenFault.objects.values_list("observation__look__kind", "degree")
    assert {*seen} == {("arrival", "clear")}
    [focus] = Focus.objects.all()
    assert str(focus) == FAULT
    assert focus.prescriptions.count() == 1
    cut(page)
    page.goto("/diary/")  # as it was kept before: the log that was sent since is no lesson without one
    expect(page.locator(".visit")).to_contain_text("logged")
    expect(page.get_by_role("link", name="Log a lesson of Beatrix M.")).to_have_count(0)


def test_what_a_phone_keeps_is_fetched_anew_after_something_was_sent(open_window: Window, sign_in: SignIn) -> None:
    student = plan_today("beatrix")
    page = open_window(watched=False)
    sign_in(page, "ida")
    keep_what_is_needed(page)
    page.goto(f"/students/{student.key}/lessons/new/")
    page.get_by_label("What was good: keep it").fill(KEEP)
    expect(page.locator("#saved")).to_contain_text("Saved at")
    page.goto("/students/")
    wait_until(page, f"(await ({KEPT})()).visits[0].begun")


def test_one_log_in_two_tabs_without_a_network_keeps_the_words_of_both(open_window: Window, sign_in: SignIn) -> None:
    """Both write the one entry that waits: what the other tab kept must not be written over by what it had before."""
    page = open_window(watched=False)
    sign_in(page, "ida")
    plan_today("beatrix")
    page.reload()
    keep_what_is_needed(page)
    cut(page)
    page.goto("/diary/")
    page.get_by_role("link", name="Log a lesson of Beatrix M.").click()
    page.get_by_label("What was good: keep it").fill("Calm")
    expect(page.locator("#saved")).to_contain_text("Saved on this phone")
    other = page.context.new_page()
    other.goto(page.url)
    expect(other.get_by_label("What was good: keep it")).to_have_value("Calm")
    other.get_by_label("What was good: keep it").fill(KEEP)
    expect(page.get_by_label("What was good: keep it")).to_have_value(KEEP)
    page.get_by_label("To look at next time").fill(NEXT)
    expect(other.get_by_label("To look at next time")).to_have_value(NEXT)
    other.close()
    back_online(page)
    [lesson] = Lesson.objects.all()
    assert (lesson.keep, lesson.next_time) == (KEEP, NEXT)


def ready(page: Page, sign_in: SignIn, username: str) -> None:
    """A signed-in person whose phone keeps what they need, and has just lost its network."""
    sign_in(page, username)
    keep_what_is_needed(page)
    cut(page)


def back_online(page: Page) -> None:
    """The network is back, and nothing waits any more."""
    cut(page, off=False)
    expect(page.locator("#outbox summary")).to_have_text("")


def test_a_walk_in_and_their_log_arrive_together(open_window: Window, sign_in: SignIn) -> None:
    page = open_window(watched=False)
    ready(page, sign_in, "ida")
    page.goto("/diary/")
    page.get_by_role("link", name="Walk-in").click()
    page.get_by_role("button", name="Save and log the lesson").click()
    expect(page.get_by_text("Choose child or adult.")).to_be_visible()
    page.get_by_label("Name").fill("Ottoline Brackenrow")
    page.get_by_text("Adult", exact=True).click()
    page.get_by_text("Left", exact=True).click()
    page.get_by_role("button", name="Save and log the lesson").click()
    expect(page.get_by_role("heading", name="Ottoline B.")).to_be_visible()
    page.get_by_label("What was good: keep it").fill(KEEP)
    page.get_by_role("button", name="Finish and create the sheet").click()
    expect(page.get_by_text("This sheet is provisional")).to_be_visible()
    back_online(page)
    [lesson] = Lesson.objects.all()
    assert (lesson.student.name, lesson.student.putting_side) == ("Ottoline Brackenrow", "left")
    assert (lesson.status, lesson.keep) == ("complete", KEEP)


def fill_walk_in(page: Page, name: str) -> None:
    page.get_by_label("Name").fill(name)
    page.get_by_text("Adult", exact=True).click()
    page.get_by_role("button", name="Save and log the lesson").click()
    expect(page.get_by_label("What was good: keep it")).to_be_visible()


def test_a_walk_in_that_is_typed_anew_and_then_put_right_stays_one_and_goes_before_its_log(
    open_window: Window, sign_in: SignIn
) -> None:
    """The name is mended on the way back; then somebody else has it already, which the server asks about."""
    page = open_window(watched=False)
    ready(page, sign_in, "ida")
    namesake = make_student("Ottoline Brackenrow", coach=Coach.objects.get(user__username="ida"))
    page.goto("/students/walk-in/")
    fill_walk_in(page, "Ottolin")
    page.go_back()
    fill_walk_in(page, "Ottoline Brackenrow")
    page.get_by_label("What was good: keep it").fill(KEEP)
    page.get_by_role("button", name="Finish and create the sheet").click()
    expect(page.locator("#outbox summary")).to_contain_text("2 wait")
    cut(page, off=False)
    expect(page.locator("#outbox")).to_contain_text("was not taken.")
    page.locator("#outbox summary").click()
    page.get_by_role("button", name="Open it").click()
    page.get_by_label("Another person").check()
    page.get_by_role("button", name="Save and log the lesson").click()
    page.wait_for_url("**/lessons/**")
    wait_until_sent(page)
    [lesson] = Lesson.objects.all()
    assert (lesson.status, lesson.keep, lesson.student.name) == ("complete", KEEP, namesake.name)
    assert lesson.student != namesake and not Student.objects.filter(name="Ottolin").exists()


def test_a_test_is_noted_ball_by_ball_and_survives_a_reload(open_window: Window, sign_in: SignIn) -> None:
    page = open_window(watched=False)
    ready(page, sign_in, "beatrix")
    page.goto("/")
    page.get_by_role("link", name="Begin a test").click()
    page.get_by_text("Putts that drop", exact=True).click()
    page.get_by_role("button", name="Begin").click()
    for word in ("Holed", "Past left", "Short", "Holed"):
        page.get_by_role("button", name=word, exact=True).click()
    page.get_by_role("button", name="Undo ball 4").click()
    expect(page.get_by_text("Ball 4 of")).to_be_visible()
    page.reload()
    expect(page.get_by_text("Ball 4 of")).to_be_visible()
    expect(page.get_by_label("The last balls")).to_contain_text("2: Past left")
    page.get_by_text("Stop here").click()
    page.get_by_role("button", name="Yes, 3 balls count").click()
    expect(page.get_by_text("Holed: 1 of 3")).to_be_visible()
    back_online(page)
    [test] = ScoredTest.objects.all()
    assert test.done_at
    assert [(ball.result, ball.length) for ball in test.balls.order_by("number")] == [
        ("holed", ""), ("missed", "past"), ("missed", "short"),
    ]  # fmt: skip


def test_a_test_that_was_begun_with_a_network_is_not_begun_again_without_one(
    open_window: Window, sign_in: SignIn
) -> None:
    """Its balls are on the server: here they would be counted anew, and be taken for the same ones."""
    page = open_window(watched=False)
    sign_in(page, "beatrix")
    keep_what_is_needed(page)
    page.goto("/students/{}/tests/new/".format(Student.objects.get(user__username="beatrix").key))
    page.get_by_text("Putts that drop", exact=True).click()
    page.get_by_role("button", name="Begin").click()
    page.get_by_role("button", name="Holed", exact=True).click()
    expect(page.get_by_text("Ball 2 of")).to_be_visible()
    wait_until_sent(page)
    cut(page)
    page.reload()
    expect(page.get_by_text("This page needs a network.")).to_be_visible()


def test_a_drill_that_a_phone_does_not_offer_stays_chosen(open_window: Window, sign_in: SignIn) -> None:
    """As one that was typed online by its name, in a log that is opened again without a network."""
    student, drill = plan_today("beatrix"), Drill.objects.exclude(faults__code="putting-lead-wrist-cups").first()
    assert drill
    page = open_window(watched=False)
    ready(page, sign_in, "ida")
    key, address = str(uuid.uuid4()), f"/students/{student.key}/lessons/{uuid.uuid4()}/"
    chosen = {"fault": "putting-lead-wrist-cups", "drill": drill.code, "per_week": "3", "days": "14"}
    typed = {"page": str(uuid.uuid4()), "count": "2", "day": academy_today().isoformat(), "putting": "on", "focus": key}
    typed |= {f"focus-{key}-{name}": value for name, value in chosen.items()}
    page.evaluate(
        PUT, {"address": address, "fields": [*typed.items()], "page": typed["page"], "kind": "log", "words": ""}
    )
    page.goto(address)
    page.get_by_label("What was good: keep it").fill(KEEP)
    wait_until(
        page,
        "(await (await import('/static/js/offline/send.js')).waiting(/lessons/))[0].fields.flat().includes('"
        + KEEP
        + "')",
    )
    back_online(page)
    assert (Lesson.objects.get().keep, Prescription.objects.get().drill) == (KEEP, drill)


PUT = "(form) => import('/static/js/outbox/page.js').then(({ outbox }) => outbox.put(form)).then(() => null)"


def test_practice_is_reported_and_the_own_sheet_is_read(open_window: Window, sign_in: SignIn) -> None:
    student = Student.objects.get(user__username="alder")
    lesson = make_lesson(student, Coach.objects.get(user__username="ida"))
    fault = Fault.objects.get(code="putting-lead-wrist-cups")
    focus = Focus.objects.create(student=student, slot=1, area="putting", fault=fault, opened_in=lesson)
    drill = Drill.objects.filter(faults=fault).order_by("pk").first()
    given = make_prescription(lesson, focus, drill=drill, amount=12, begins=academy_today())
    complete(lesson, this_time(days_ago=0))
    issue_sheet(lesson=lesson, at=this_time(days_ago=0))
    page = open_window(watched=False)
    ready(page, sign_in, "alder")
    page.goto("/")
    page.get_by_text("Hard", exact=True).click()
    page.get_by_role("button", name="Done today").click()
    expect(page.get_by_text("Reported today: 12")).to_be_visible()
    page.clock.set_fixed_time(timezone.now() + timedelta(days=1))
    page.reload()
    expect(page.get_by_role("button", name="Done today")).to_be_visible()  # what waits since yesterday is of yesterday
    page.clock.set_fixed_time(timezone.now())
    page.reload()
    expect(page.get_by_text("Reported today: 12")).to_be_visible()
    page.get_by_role("link", name="Sheet").click()
    expect(page.locator("article.sheet")).to_contain_text("Alder")
    assert "Quillfeather" not in page.content()
    back_online(page)
    [entry] = PracticeEntry.objects.all()
    assert (entry.prescription, entry.amount, entry.felt) == (given, 12, "hard")


def test_a_guardian_reports_a_childs_practice(open_window: Window, sign_in: SignIn) -> None:
    emeka = Student.objects.get(name="Emeka Larkwren")
    lesson = make_lesson(emeka, Coach.objects.get(user__username="ida"))
    focus = Focus.objects.create(student=emeka, slot=1, area="putting", what="Quiet eyes", opened_in=lesson)
    given = make_prescription(lesson, focus, drill=Drill.objects.order_by("pk")[0], amount=12, begins=academy_today())
    complete(lesson, this_time(days_ago=0))
    page = open_window(watched=False)
    ready(page, sign_in, "ngozi")
    page.goto("/students/")
    expect(page.get_by_role("heading", name="Flora")).to_be_visible()
    expect(page.get_by_text("No drill for today.")).to_have_count(1)
    assert "Larkwren" not in page.content()
    assert broken_rules(page) == []
    page.get_by_role("link", name="Report practice of Emeka").click()
    assert broken_rules(page) == []
    page.get_by_role("button", name="Done today").click()
    expect(page.get_by_text("Reported today: 12")).to_be_visible()
    expect(page.locator("#outbox")).to_contain_text("Practice of Emeka: ")
    page.get_by_role("link", name="Your children").click()
    expect(page.get_by_role("listitem").filter(has_text="reported today")).to_have_count(1)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    back_online(page)
    [entry] = PracticeEntry.objects.all()
    assert (entry.prescription, entry.amount, entry.source) == (given, 12, "guardian")


def test_another_person_on_this_phone_sees_nothing(open_window: Window, sign_in: SignIn) -> None:
    plan_today("beatrix")
    page = open_window(watched=False)
    ready(page, sign_in, "ida")
    page.goto("/")
    expect(page.get_by_text("Beatrix M.", exact=True)).to_be_visible()
    cut(page, off=False)
    busy = page.context.new_page()
    busy.add_init_script("window.requestIdleCallback = () => 0;")  # what is fetched waits for a quiet moment
    sign_in(busy, "alder")
    wait_until(busy, f"!(await ({KEPT})())")
    sign_in(page, "alder")
    wait_until(page, f"(await ({KEPT})())?.kind === 'student'")
    cut(page)
    for address in ("/", "/diary/"):
        page.goto(address)
        assert "Beatrix" not in page.content()
    kept = page.evaluate(f"async () => JSON.stringify(await ({KEPT})())")
    assert "Beatrix" not in kept


def test_signing_out_clears_what_is_kept(open_window: Window, sign_in: SignIn) -> None:
    plan_today("beatrix")
    page = open_window(watched=False)
    sign_in(page, "ida")
    keep_what_is_needed(page)
    page.goto("/account/logout/")
    page.get_by_role("button", name="Sign out").click()
    page.get_by_label("Password", exact=True).wait_for()
    assert page.evaluate(KEPT) is None
    assert page.evaluate("async () => caches.keys()") == []


def test_an_update_leaves_an_open_page_working(
    open_window: Window, sign_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan_today("beatrix")
    page = open_window(watched=False)
    ready(page, sign_in, "ida")
    page.goto("/diary/")
    page.get_by_role("link", name="Log a lesson of Beatrix M.").click()
    page.get_by_label("What was good: keep it").fill(KEEP)
    [old] = page.evaluate("async () => caches.keys()")
    monkeypatch.setattr(files, "version", lambda: "newer")
    cut(page, off=False)
    page.evaluate("async () => (await navigator.serviceWorker.ready).update()")
    wait_until(page, "(await caches.keys()).join() === 'coachbook-newer'")
    cut(page)
    assert old != "coachbook-newer"
    page.get_by_label("To look at next time").fill(NEXT)
    page.get_by_role("button", name="Finish and create the sheet").click()
    expect(page.get_by_text("This sheet is provisional")).to_be_visible()
    page.reload()
    expect(page.locator("article.sheet")).to_contain_text(NEXT)
    back_online(page)
    [lesson] = Lesson.objects.all()
    assert (lesson.status, lesson.keep, lesson.next_time) == ("complete", KEEP, NEXT)


def test_a_phone_that_keeps_nothing_says_so_and_the_words_stay(open_window: Window, sign_in: SignIn) -> None:
    plan_today("beatrix")
    page = open_window(watched=False)
    ready(page, sign_in, "ida")
    page.goto("/diary/")
    page.get_by_role("link", name="Log a lesson of Beatrix M.").click()
    page.evaluate(FULL)
    page.get_by_label("What was good: keep it").fill(KEEP)
    expect(page.locator("#saved")).to_contain_text("Not saved: this phone keeps nothing more.")
    page.get_by_role("button", name="Finish and create the sheet").click()
    expect(page.locator("#saved")).to_contain_text("Not saved")
    expect(page.get_by_label("What was good: keep it")).to_have_value(KEEP)


def test_a_network_that_is_slow_is_waited_for(
    open_window: Window, sign_in: SignIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the phone keeps stands there meanwhile, and a page of which it keeps nothing is not called missing."""
    student = plan_today("beatrix")
    alder = Student.objects.get(user__username="alder")
    elsewhere = make_lesson(alder, Coach.objects.get(user__username="ida"))
    monkeypatch.setattr(files, "PATIENCE", 200)
    page = open_window(watched=False)
    sign_in(page, "ida")
    keep_what_is_needed(page)

    def wait_a_second(environ: dict[str, str], **rest: object) -> None:
        if environ["PATH_INFO"].startswith("/students/"):
            time.sleep(1)

    request_started.connect(wait_a_second)
    try:
        page.goto(f"/students/{elsewhere.student.key}/lessons/{elsewhere.key}/")
        expect(page.get_by_role("link", name="Students", exact=True).first).to_be_visible()
        page.goto(f"/students/{student.key}/lessons/new/")
        expect(page.locator("#notice")).to_contain_text("The network is slow")
        page.get_by_label("What was good: keep it").fill(KEEP)  # and is sent, since the network is there
        expect(page.locator("#outbox")).to_contain_text("Sent.")
        page.get_by_role("link", name="Wait for the whole page").click()
        expect(page.get_by_role("link", name="Students", exact=True).first).to_be_visible()
    finally:
        request_started.disconnect(wait_a_second)


def test_a_clock_that_is_a_day_slow_is_said(open_window: Window, sign_in: SignIn) -> None:
    """Its day would stand in the log: whoever writes it is to look."""
    plan_today("beatrix")
    page = open_window(watched=False)
    page.add_init_script("{ const now = Date.now; Date.now = () => now() - 86400000; }")
    ready(page, sign_in, "ida")
    page.goto("/diary/")
    expect(page.locator("#notice")).to_contain_text("about 24 hours slow when it last had a network: check the day.")


def test_only_static_files_and_the_empty_page_are_cached(open_window: Window, sign_in: SignIn) -> None:
    student = plan_today("beatrix")
    page = open_window()
    sign_in(page, "ida")
    keep_what_is_needed(page)
    for address in ("/diary/", f"/students/{student.key}/", "/students/"):
        page.goto(address)
    cached = page.evaluate(CACHED)
    assert "/offline/" in cached
    assert {address for address in cached if not address.startswith("/static/")} == {"/offline/"}
    shell = page.evaluate("async () => (await caches.match('/offline/')).text()")
    assert "Ida" not in shell
    assert "Beatrix" not in shell


def test_pages_without_a_network_fit_and_are_accessible(open_window: Window, sign_in: SignIn) -> None:
    student = plan_today("beatrix")
    for size in (PHONE, DESK):
        page = open_window(size=size, watched=False)
        ready(page, sign_in, "ida")
        log = f"/students/{student.key}/lessons/new/"
        for address in ("/", log, "/students/walk-in/", f"/students/{student.key}/tests/new/", "/drills/"):
            page.goto(address)
            page.get_by_role("heading", level=1).wait_for()
            assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], address
            assert broken_rules(page) == [], address
