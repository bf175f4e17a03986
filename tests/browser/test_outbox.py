"""What a phone keeps while nothing answers, and that it is sent once: each with the real outbox in a real browser."""

import re
import time
import uuid
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, Route, expect

from coachbook.accounts.models import Student, User
from coachbook.demo import year
from coachbook.outbox.models import Receipt
from drills.models import PracticeEntry, Prescription
from lessons.models import Lesson
from tests.browser.conftest import wait_until_sent
from tests.browser.test_not_saved import to_a_new_log
from tests.make import academy_today

pytestmark = [pytest.mark.browser, pytest.mark.one_database]
Window = Callable[..., Page]
SignIn = Callable[[Page, str], None]
STRIP = "#outbox"
FULL = "IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); };"
KEPT = "import('/static/js/offline/kept.js')"


@pytest.fixture
def practised(academy: None) -> None:
    """Drills for today, without the reports of the year so far."""
    year.fill(academy_today())


def done(page: Page) -> None:
    page.get_by_role("button", name="Done today").first.click()


def key_of(username: str) -> str:
    return str(User.objects.get(username=username).key)


def outboxes(page: Page) -> set[str]:
    """The names of the outboxes on this phone; what is kept for days without a network is looked at by itself."""
    names = page.evaluate("indexedDB.databases().then((all) => all.map(({ name }) => name))")
    return {name for name in names if name != "coachbook-kept"}


def is_post(route: Route) -> bool:
    return route.request.method == "POST"


def refuse_posts(page: Page) -> None:
    page.route("**/*", lambda route: route.abort() if is_post(route) else route.continue_())


HOLD_THE_SENDER = """() => new Promise((held) => {
  const { person } = document.getElementById("outbox").dataset;
  navigator.locks.request(`sender-${person}`, () => new Promise((resolve) => { window.letSend = resolve; held(); }));
})"""
WAITING = "import('/static/js/outbox/page.js').then(({ outbox }) => outbox.store.all())"


def send_now(page: Page) -> None:
    """The network is back, and *Send now* is pressed before it was sent by itself, which would hide the button."""
    page.evaluate(HOLD_THE_SENDER)
    page.context.set_offline(False)
    page.get_by_role("button", name="Send now").click()
    page.evaluate("window.letSend()")


def until(page: Page, condition: Callable[[], object]) -> None:
    """Wait until something is so, however busy the machine is."""
    deadline = time.monotonic() + 30
    while not condition():
        assert time.monotonic() < deadline
        page.wait_for_timeout(50)


def waiting_keys(page: Page, field: str = "page") -> set[str]:
    """The keys of what waits and has this field."""
    return {entry["key"] for entry in page.evaluate(WAITING) if field in dict(entry["fields"])}


def test_practice_is_kept_without_a_network_and_sent_once_with_it(
    practised: None, open_window: Window, sign_in: SignIn
) -> None:
    before = PracticeEntry.objects.count()
    page = open_window(watched=False)
    sign_in(page, "caspian")
    page.context.set_offline(True)
    done(page)
    expect(page.locator(STRIP)).to_contain_text("Saved on this phone. Not sent yet: no connection.")
    expect(page.locator(STRIP)).to_contain_text("1 waits on this phone, the oldest just now")
    done(page)  # in doubt, a second time
    expect(page.locator(STRIP)).to_contain_text("1 waits")
    assert PracticeEntry.objects.count() == before
    send_now(page)
    expect(page.locator(STRIP)).to_contain_text("Sent. Reported for today")
    expect(page.get_by_text("Reported today:").first).to_be_visible()
    expect(page.get_by_role("button", name="Send now")).to_be_hidden()
    assert PracticeEntry.objects.count() == before + 1 and Receipt.objects.count() == 1


def test_a_log_is_kept_while_the_network_is_off_and_finished_with_it(
    academy: None, open_window: Window, sign_in: SignIn
) -> None:
    page = open_window(watched=False)
    sign_in(page, "ida")
    to_a_new_log(page)
    page.context.set_offline(True)
    page.get_by_label("What was good: keep it").fill("Calm rhythm")
    expect(page.locator("#saved")).to_contain_text("saved on this phone")
    expect(page.locator(STRIP)).to_contain_text("Log of Beatrix")
    page.get_by_label("Chipping").first.check()
    page.get_by_role("button", name="Finish and create the sheet").click()
    expect(page.locator("#saved")).to_contain_text("Not sent yet: no connection.")
    expect(page.locator(STRIP)).to_contain_text("Not sent yet: no connection.")
    assert not Lesson.objects.exists()
    send_now(page)
    page.wait_for_url("**/sheets/**")
    expect(page.get_by_text("The lesson is finished.")).to_be_visible()
    expect(page.locator(STRIP)).to_be_hidden()
    lesson = Lesson.objects.get()
    assert (lesson.status, lesson.keep) == ("complete", "Calm rhythm")


def test_finish_is_followed_although_an_earlier_save_is_answered_meanwhile(
    academy: None, open_window: Window, sign_in: SignIn
) -> None:
    """The log that waits is then put in once more, under another key, before anything of it was sent."""
    page = open_window(watched=False)
    sign_in(page, "ida")
    to_a_new_log(page)
    page.get_by_label("Chipping").first.check()
    expect(page.locator("#saved")).to_contain_text("Saved at")
    held: list[Route] = []
    page.route("**/lessons/**", lambda route: held.append(route) if is_post(route) else route.continue_())
    page.evaluate(HOLD_THE_SENDER)
    page.get_by_label("What was good: keep it").fill("Calm rhythm")
    until(page, lambda: held)
    [save] = held  # on its way, and not answered
    page.get_by_role("button", name="Finish and create the sheet").click()
    until(page, lambda: waiting_keys(page, "done"))
    finish = waiting_keys(page)
    save.continue_()
    page.unroute_all()
    until(page, lambda: waiting_keys(page) != finish)
    page.evaluate("window.letSend()")
    expect(page.get_by_text("The lesson is finished.")).to_be_visible()
    assert Lesson.objects.get().keep == "Calm rhythm"


TWO_ANSWERS = """async (to) => {
  const { follow } = await import("/static/js/outbox/forms.js");
  const listeners = [];
  const outbox = { onchange: (listener) => listeners.push(listener), send() {} };
  follow(outbox, null, document.createElement("form"), { key: "k", page: "p" });
  const answered = () => listeners[0]({ key: "k", answer: { isSent: true, to } });
  await answered();
  await new Promise((resolve) => { setTimeout(resolve, 50); }); // the first load is on its way
  await answered();
}"""


def test_a_page_that_two_answers_lead_to_is_loaded_once(academy: None, open_window: Window, sign_in: SignIn) -> None:
    """Its message is shown once: a second load would lack it."""
    page = open_window(watched=False)
    sign_in(page, "ida")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.evaluate(TWO_ANSWERS, "/students/?twice")
    expect(page).to_have_url(re.compile("twice"))
    assert len([url for url in asked if url.endswith("?twice")]) == 1


def test_a_phone_that_fills_up_during_a_log_sends_no_earlier_words_as_if_they_were_all(
    academy: None, open_window: Window, sign_in: SignIn
) -> None:
    page = open_window(watched=False)
    sign_in(page, "ida")
    to_a_new_log(page)
    page.context.set_offline(True)
    page.get_by_label("Chipping").first.check()
    keep = page.get_by_label("What was good: keep it")
    keep.fill("Calm rhythm")
    until(
        page,
        lambda: ["keep", "Calm rhythm"] in [field for entry in page.evaluate(WAITING) for field in entry["fields"]],
    )
    page.evaluate(f"() => {{ {FULL} }}")
    keep.fill("Calm rhythm, soft hands")
    finish = page.get_by_role("button", name="Finish and create the sheet")
    finish.click()
    expect(page.locator("#saved")).to_contain_text("press again when you are back online")
    page.context.set_offline(False)
    expect(page.locator("#saved")).to_contain_text("Saved at")
    expect(keep).to_have_value("Calm rhythm, soft hands")
    finish.click()
    expect(page.get_by_text("The lesson is finished.")).to_be_visible()
    assert Lesson.objects.get().keep == "Calm rhythm, soft hands"


def test_a_log_whose_page_is_gone_is_sent_by_the_next_page(academy: None, open_window: Window, sign_in: SignIn) -> None:
    page = open_window(watched=False)
    sign_in(page, "ida")
    to_a_new_log(page)
    refuse_posts(page)
    page.get_by_label("What was good: keep it").fill("Calm rhythm")
    expect(page.locator(STRIP)).to_contain_text("Log of Beatrix")
    page.unroute_all()
    page.on("dialog", lambda dialog: dialog.accept())
    page.goto("/students/")
    wait_until_sent(page)
    assert Lesson.objects.get().keep == "Calm rhythm"


def test_a_log_that_is_opened_again_shows_what_waited_of_it(
    academy: None, open_window: Window, sign_in: SignIn
) -> None:
    page = open_window(watched=False)
    page.on("dialog", lambda dialog: dialog.accept())
    sign_in(page, "ida")
    to_a_new_log(page)
    refuse_posts(page)
    keep = page.get_by_label("What was good: keep it")
    keep.fill("Calm rhythm")
    expect(page.locator(STRIP)).to_contain_text("Log of Beatrix")
    page.unroute_all()
    page.goto(page.url)
    expect(keep).to_have_value("Calm rhythm")
    keep.fill("Calm rhythm, soft hands")
    expect(page.locator("#saved")).to_contain_text("Saved at")
    assert Lesson.objects.get().keep == "Calm rhythm, soft hands"


def test_an_answer_of_somebody_elses_network_saves_no_log(academy: None, open_window: Window, sign_in: SignIn) -> None:
    page = open_window(watched=False)
    page.on("dialog", lambda dialog: dialog.accept())
    sign_in(page, "ida")
    to_a_new_log(page)
    portal = lambda route: route.fulfill(status=200, body="<h1>Welcome</h1>", content_type="text/html")  # noqa: E731
    page.route("**/*", lambda route: portal(route) if is_post(route) else route.continue_())
    page.get_by_label("What was good: keep it").fill("Calm rhythm")
    expect(page.locator("#saved")).to_contain_text("Not saved")
    expect(page.locator(STRIP)).to_contain_text("Log of Beatrix")
    expect(page.get_by_text("Welcome")).to_be_hidden()
    page.unroute_all()
    page.goto("/students/")
    wait_until_sent(page)
    assert Lesson.objects.get().keep == "Calm rhythm"


@pytest.mark.parametrize("lists", [True, False], ids=["a browser that lists databases", "one that does not"])
def test_who_signs_out_while_something_waits_is_asked_and_leaves_what_another_person_wrote(
    lists: bool, practised: None, open_window: Window, sign_in: SignIn
) -> None:
    page = open_window(watched=False)
    sign_in(page, "alder")
    page.route("**/practice/**", lambda route: route.abort() if is_post(route) else route.continue_())
    done(page)
    expect(page.locator(STRIP)).to_contain_text("1 waits")
    sign_in(page, "caspian")  # on the same phone, without signing out
    expect(page.get_by_role("button", name="Done today").first).to_be_visible()
    expect(page.locator(STRIP)).to_be_hidden()
    done(page)
    expect(page.locator(STRIP)).to_contain_text("1 waits")
    page.wait_for_function(f"{KEPT}.then(({{ kept }}) => kept()).then((day) => day?.person === '{key_of('caspian')}')")
    assert outboxes(page) == {f"outbox-{key_of(name)}" for name in ("alder", "caspian")}
    page.goto("/account/logout/")
    expect(page.get_by_text("1 entry is only on this phone and not sent yet.")).to_be_visible()
    page.get_by_role("main").get_by_role("button", name="Sign out").click()
    expect(page.get_by_text("1 entry is only on this phone and not sent yet.")).to_be_visible()
    page.get_by_label("Sign out and delete it").check()
    page.evaluate("(lists) => { if (!lists) indexedDB.databases = undefined; }", lists)
    page.get_by_role("main").get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/account/login/**")
    assert outboxes(page) == {f"outbox-{key_of('alder')}"}
    assert page.evaluate(f"{KEPT}.then(({{ names }}) => names())") == [], "what was kept for days without a network"
    page.unroute_all()
    sign_in(page, "alder")
    expect(page.locator(STRIP)).to_contain_text("Sent.")
    assert Receipt.objects.get().person.username == "alder"


def test_a_phone_that_keeps_nothing_says_so_and_sends_as_before(
    practised: None, open_window: Window, sign_in: SignIn
) -> None:
    before = PracticeEntry.objects.count()
    page = open_window(watched=False)
    page.add_init_script(FULL)
    sign_in(page, "caspian")
    page.route("**/practice/**", lambda route: route.abort() if is_post(route) else route.continue_())
    done(page)
    expect(page.get_by_text("This phone keeps nothing: it is full, or the browser refuses it.")).to_be_visible()
    with page.expect_download() as download:
        page.locator(STRIP).get_by_role("button", name="Export").first.click()
    assert "practice" in download.value.path().read_text()
    page.unroute_all()
    done(page)
    expect(page.get_by_text("Reported for today").first).to_be_visible()
    assert PracticeEntry.objects.count() == before + 1


def test_an_older_page_that_does_not_let_go_of_what_waits_stops_neither_a_form_nor_signing_out(
    practised: None, open_window: Window, sign_in: SignIn
) -> None:
    """As one that a phone has put to sleep: it hears nothing of a newer version, and holds the database."""
    before = PracticeEntry.objects.count()
    page = open_window(watched=False)
    sign_in(page, "caspian")
    page.goto("/account/logout/")  # any page; nothing is kept on this one
    name = f"outbox-{key_of('caspian')}"
    page.evaluate("(name) => import('/static/js/outbox/page.js').then(({ outbox }) => outbox.store.erase())", name)
    sleeper = page.context.new_page()
    sleeper.goto("/worker.js")
    sleeper.evaluate(HOLD_AN_OLDER_VERSION, name)
    page.goto("/")
    expect(page.locator(STRIP)).to_contain_text("An older page of this site is open in another tab: close it.")
    done(page)
    expect(page.get_by_text("Reported for today").first).to_be_visible()
    assert PracticeEntry.objects.count() == before + 1
    page.goto("/account/logout/")
    page.get_by_role("main").get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/account/login/**")


HOLD_AN_OLDER_VERSION = """(name) => new Promise((held) => {
  const asked = indexedDB.open(name, 2);
  asked.onupgradeneeded = () => asked.result.createObjectStore("entries", { keyPath: "id", autoIncrement: true });
  asked.onsuccess = () => { window.holds = asked.result; held(); };
})"""


def test_what_waits_for_long_is_warned_of_and_a_browser_that_promises_nothing_is_said(
    practised: None, open_window: Window, sign_in: SignIn
) -> None:
    page = open_window(watched=False)
    page.add_init_script("StorageManager.prototype.persist = async () => false;")
    sign_in(page, "caspian")
    page.context.set_offline(True)
    done(page)
    strip = page.locator(STRIP)
    expect(strip).to_contain_text("1 waits")
    expect(strip).not_to_contain_text("14 days")
    page.evaluate("const now = Date.now; Date.now = () => now() + 15 * 24 * 3600 * 1000;")
    page.get_by_role("button", name="Send now").click()
    expect(strip).to_contain_text("the oldest 15 days old")
    expect(strip).to_contain_text("Something has waited for more than 14 days: send it or export it")
    strip.locator("summary").click()
    expect(strip.get_by_text("This browser may clear what waits here")).to_be_visible()
    page.context.set_offline(False)


def test_what_was_refused_is_opened_and_put_right(practised: None, open_window: Window, sign_in: SignIn) -> None:
    """Two parents report the same practice; and the words of one that may not be sent any more are kept."""
    page = open_window(watched=False)
    sign_in(page, "caspian")
    page.context.set_offline(True)
    done(page)
    expect(page.locator(STRIP)).to_contain_text("1 waits")
    entry = PracticeEntry.objects.filter(prescription__student__name="Caspian Thornlace").latest("day")
    entry.pk, entry.key, entry.day = None, uuid.uuid4(), academy_today()
    entry.prescription_id = Prescription.objects.get(key=waiting_prescription(page)).pk
    entry.save()
    page = elsewhere(page)
    page.context.set_offline(False)
    page.goto("/sources/")
    expect(page.locator(STRIP)).to_contain_text("It was changed elsewhere. Open it to see both.")
    page.get_by_text("1 waits on this phone").click()
    page.get_by_role("button", name="Open it").click()
    expect(page.get_by_text("If it was one more, tick here").first).to_be_visible()
    expect(page.locator(STRIP)).to_be_hidden()
    form = page.locator("form:has([name=outbox_key])")
    form.get_by_label("This was one more practice on the same day").check()
    form.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator(STRIP)).to_contain_text("Sent.")
    wait_until_sent(page)
    assert PracticeEntry.objects.filter(prescription_id=entry.prescription_id, day=academy_today()).count() == 2
    page.evaluate(PUT_OF_A_STRANGER, f"/students/{Student.objects.get(user__username='alder').key}/practice/")
    expect(page.locator(STRIP)).to_contain_text("Practice was not taken.")
    page.reload()
    page.get_by_text("1 waits on this phone").click()
    expect(page.locator(STRIP)).to_contain_text("It was not taken: you no longer reach this student")
    assert {"note": "Windy"} in [dict(entry["fields"]) for entry in page.evaluate(WAITING)]


def test_a_form_at_which_the_server_fails_holds_up_no_other(
    practised: None, open_window: Window, sign_in: SignIn
) -> None:
    given = Prescription.objects.in_force(academy_today()).filter(student__user__username="caspian")[:2]
    first, second = (f"/students/{row.student.key}/practice/{row.key}/{uuid.uuid4()}/" for row in given)
    page = open_window(watched=False)
    sign_in(page, "caspian")
    page.route(f"**{first}", lambda route: route.fulfill(status=500, body="<h1>Error</h1>"))
    page.evaluate(PUT_BOTH, [first, second])
    expect(page.locator(STRIP)).to_contain_text("Not sent yet: the server cannot save just now.")
    until(page, lambda: [entry["address"] for entry in page.evaluate(WAITING)] == [first])
    page.unroute_all()
    wait_until_sent(page)  # by the next try of itself
    assert Receipt.objects.count() == 2


PUT_BOTH = """async (addresses) => {
  const { outbox } = await import("/static/js/outbox/page.js");
  const form = { fields: [["another", "on"]], kind: "practice", words: "Practice" };
  for (const address of addresses) await outbox.put({ ...form, address });
  await outbox.send();
}"""
PUT_OF_A_STRANGER = """async (address) => {
  const { outbox } = await import("/static/js/outbox/page.js");
  const report = `${address}${crypto.randomUUID()}/${crypto.randomUUID()}/`;
  await outbox.put({ address: report, fields: [["note", "Windy"]], kind: "practice", words: "Practice" });
  await outbox.send();
}"""


def elsewhere(page: Page) -> Page:
    """The same browser without the page that waits for its answer: that page would open what was refused by itself."""
    other = page.context.new_page()
    page.close()
    return other


def waiting_prescription(page: Page) -> str:
    address: str = page.evaluate(f"{WAITING}.then(([{{ address }}]) => address)")
    return address.split("/")[4]
