"""Every page as its people meet it: nothing for axe to find, nothing wider than the phone, big enough to tap.

Rules: axe-core for WCAG 2.2 A and AA, and its best practices. The 44 px for a thumb are our own mark.
"""

import re
import uuid
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db.models import Count
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from coachbook.accounts.models import Academy, Coach, NewAddress, Student, User
from coachbook.corrections.approvals.asking import age_request, ask
from coachbook.corrections.models import ApprovalRequest
from coachbook.demo import scored_tests as scores
from coachbook.demo import year
from coachbook.diary.scheduling import Plan, create_appointments
from coachbook.digests.unsubscribe import off_token
from coachbook.loop.models import Sheet
from drills.models import Design, Drill, ScoredTest
from lessons.edits import edit_of
from lessons.models import Lesson, SeenFault, Session, Still
from tests.browser.conftest import DESK, PHONE, broken_rules
from tests.make import academy_today, make_ball, make_picture_consent, make_still, make_test

pytestmark = [pytest.mark.browser, pytest.mark.one_database]
Window = Callable[..., Page]
EXPLORE = re.compile(r".*/progress/\d+/")
SMALL = """() => [...document.querySelectorAll('button, .button, summary, select, input:not([type=hidden]), nav a')]
  .map(e => [e.closest('label') || e, e.outerHTML.slice(0, 90)])
  .map(([e, words]) => [e.getBoundingClientRect(), words])
  .filter(([box]) => box.width > 0 && box.height > 0 && box.height < 43.5)
  .map(([box, words]) => Math.round(box.height) + ' px: ' + words)"""


def a_group() -> Session:
    """A group of two, and for one of them an appointment tomorrow."""
    ida = Coach.objects.get(user__username="ida")
    two = list(Student.objects.filter(name__in=["Alder Quimble", "Emeka Larkwren"]))
    tomorrow = timezone.now() + timedelta(days=1)
    create_appointments(
        key=uuid.uuid4(), plan=Plan(ida, two, [tomorrow], 60, "The green"), by=ida.user, at=timezone.now()
    )
    session = Session.objects.create(coach=ida, starts_at=timezone.now(), kind=Session.Kind.GROUP, name="Two")
    for student in two:
        Lesson.for_student(student, session).save()
    return session


def a_series() -> list[uuid.UUID]:
    """The first of three weekly lessons of a student of one of the coaches, to be moved with the later ones."""
    ida, alder = Coach.objects.get(user__username="ida"), Student.objects.get(name="Alder Quimble")
    moments = [timezone.now() + timedelta(days=2 + 7 * week) for week in range(3)]
    plan = Plan(ida, [alder], moments, 60, "The green", "FREQ=WEEKLY;INTERVAL=1;COUNT=3")
    first = create_appointments(key=uuid.uuid4(), plan=plan, by=ida.user, at=timezone.now())
    return [alder.key, first.key]


def a_waiting_change(student: Student) -> ApprovalRequest:
    """Another year of birth, for which a coach asked."""
    ida = Coach.objects.get(user__username="ida")
    row = age_request(student, by=ida.user, values={"birth_year": 2016, "age_group": ""})
    return ask(row, Academy.current(), timezone.now())[0]


def a_test(student: Student, kind: str, balls: int) -> ScoredTest:
    """A test in the middle of it."""
    test = make_test(student, Design.objects.get(kind=kind), day=academy_today(), done_at=None)
    for number in range(balls):
        make_ball(test, leave_m=0.9 * (number % 3 - 1))
    return test


def overwritten(student: Student) -> int:
    """The number of a change of words in the history."""
    lesson = student.lessons.latest_first()[0]
    for words in ("Calm over the ball", "Same rhythm back and through"):
        lesson.keep = words
        lesson.save()
    return int(lesson.history.first().history_id)


def edited(lesson: Lesson) -> Lesson:
    """A finished lesson that was edited twice."""
    for words in ("Calm over the ball", "Same rhythm back and through"):
        with edit_of(lesson, None):
            lesson.keep = words
            lesson.save()
    return lesson


def a_still(lesson: Lesson) -> Still:
    """A still with consent to it."""
    make_picture_consent(lesson.student)
    return make_still(lesson, caption="Ball too far forward")


def withdrawn_pictures(name: str) -> list[uuid.UUID]:
    """A student with a still, of whom no picture may be shown any more."""
    student = Student.objects.get(name=name)
    make_still(student.lessons.complete().latest_first()[0])
    student.consents.update(withdrawn_at=timezone.now())
    return [student.key]


def given_most() -> Drill:
    """The drill that was given most often."""
    given = Drill.objects.annotate(given=Count("prescriptions"))
    return given.order_by("-given", "code")[0]


def one_of_each(student: Student) -> list[ScoredTest]:
    """A finished test of every kind that the student has."""
    return list({test.design.kind: test for test in student.scored_tests.done()}.values())


def new_address(username: str) -> str:
    """The token with which somebody confirms a new address."""
    return NewAddress.issue(User.objects.get(username=username), "new@example.org", timezone.now())


def with_address(username: str) -> User:
    """Somebody who can be sent e-mail."""
    User.objects.filter(username=username).update(email=f"{username}@example.org")
    return User.objects.get(username=username)


def pair_pages(lesson: Lesson) -> list[str]:
    """The pages of a pair, of all pairs of its lesson, and of a checkpoint over time."""
    arrival = Still.objects.filter(lesson=lesson).latest("pk")
    make_still(lesson, checkpoint=arrival.checkpoint, moment="departure", caption="Nearer the middle")
    keys = [lesson.student.key, lesson.key]
    return [
        reverse("stills_pairs", args=keys),
        reverse("stills_beside", args=[*keys, arrival.checkpoint.key, arrival.view]),
        reverse("stills_over_time", args=keys[:1]),
    ]


def addresses() -> dict[str, list[str]]:
    """The pages to open, by who opens them."""
    student = Student.objects.get(name="Caspian Thornlace")
    own = [student.key]
    sheet = Sheet.objects.valid().filter(lesson__student=student)[0]
    seen = SeenFault.objects.filter(observation__look__lesson__student=student, observation__look__kind="arrival")[0]
    draft = Lesson.objects.filter(status="draft")[0]
    still = [student.key, sheet.lesson.key, a_still(sheet.lesson).key]
    about = [
        reverse("student", args=own),
        reverse("today", args=own),
        reverse("practice_week", args=own),
        reverse("progress", args=own),
        reverse("progress_explore", args=[student.key, seen.fault_id]),
        reverse("month", args=[student.key, f"{academy_today():%Y-%m}"]),
        reverse("sheet", args=[student.key, sheet.key]),
        reverse("drills"),
        reverse("drill", args=["putting-ball-gate"]),
        reverse("messages", args=own),
        reverse("consents", args=own),
        reverse("tests", args=own),
        reverse("scored_test", args=[student.key, uuid.uuid4()]),
        reverse("scored_test", args=[student.key, a_test(student, "leaves", balls=7).key]),
        reverse("scored_test", args=[student.key, student.scored_tests.done()[0].key]),
        *(reverse("test_result", args=[student.key, test.key]) for test in one_of_each(student)),
        reverse("test_results", args=own),
        reverse("rounds", args=own),
        reverse("absences", args=own) + f"?day={academy_today()}",
        reverse("lesson_search", args=own) + "?q=ball",
        reverse("stills", args=still[:2]),
        reverse("still", args=still),
        *pair_pages(sheet.lesson),
    ]
    return {
        "ida": [
            reverse("students"),
            *about,
            reverse("test_results", args=own) + "?share=80",
            reverse("drills") + "?whose=own&minutes=10",
            reverse("drill_new"),
            reverse("drill_new") + "?copy=putting-ball-gate",
            reverse("usual_drills"),
            reverse("usual_drill", args=["putting-grip-apart"]),
            reverse("lesson", args=[student.key, uuid.uuid4()]),
            reverse("lesson", args=[draft.student.key, draft.key]),
            reverse("lesson", args=[student.key, edited(sheet.lesson).key]),
            reverse("lesson", args=[student.key, sheet.lesson.key]) + "?edit",
            reverse("still_change", args=still),
            reverse("stills", args=[draft.student.key, draft.key]),
            reverse("brief", args=own),
            reverse("paper_log", args=own),
            reverse("paper_log_blank"),
            reverse("library_file"),
            reverse("drill_holding", args=[given_most().code]),
            reverse("students_file"),
            reverse("student_details", args=own),
            reverse("student_invite", args=own),
            reverse("appearance"),
            reverse("sources"),
            reverse("skill_new") + "?area=bunker",
            reverse("fault_new", args=["putting-grip"]),
            reverse("day") + f"?day={academy_today() + timedelta(days=1)}",
            reverse("week") + f"?day={academy_today() + timedelta(days=1)}",
            reverse("attention"),
            reverse("calendar"),
            reverse("appointment", args=[student.key, uuid.uuid4()]),
            reverse("walk_in", args=[uuid.uuid4()]),
            reverse("intake", args=own),
            reverse("pauses", args=own),
            reverse("student_merge", args=own),
            reverse("changes", args=own),
            reverse("earlier_words", args=[student.key, "lesson", overwritten(student)]),
            reverse("care", args=own),
            reverse("lesson_move", args=[student.key, sheet.lesson.key]),
            reverse("lesson", args=[student.key, uuid.uuid4()]) + "?kind=clip",
            reverse("group", args=[uuid.uuid4()]),
            reverse("group", args=[a_group().key]),
            reverse("series_from_day", args=a_series()),
        ],
        "caspian": [
            *about,
            reverse("practice_month", args=[student.key, academy_today().year, academy_today().month]),
            reverse("practice_doing", args=[student.key, student.prescriptions.in_force(academy_today())[0].key]),
        ],
        "ngozi": [
            reverse("students"),
            reverse("mails"),
            reverse("mails_off", args=[off_token(with_address("ngozi"))]),
            reverse("account"),
            reverse("address_confirm", args=[new_address("ngozi")]),
            reverse("family_calendar"),
            reverse("pictures", args=withdrawn_pictures("Flora Larkwren")),
        ],
        "odile": [
            reverse("caseload"),
            reverse("caseload_students") + "?sort=-last&show=unseen",
            reverse("caseload_lessons"),
            reverse("months", args=own),
            reverse("attention"),
            reverse("attention_rules"),
            reverse("student_export", args=own),
            reverse("erasure", args=own),
            reverse("long_gone"),
            reverse("academy_file"),
            reverse("checkpoints"),
            reverse("references"),
            reverse("reference", args=[uuid.uuid4()]),
            reverse("checkpoint", args=[uuid.uuid4()]) + "?area=bunker",
            reverse("site_size"),
            *map(reverse, ("data_notice", "processing_record", "impact_assessment")),
            reverse("attention_snooze", args=[student.key, "review"]),
            reverse("academy_progress"),
            reverse("drill_holding", args=[given_most().code]),
            reverse("academy_progress") + "?months=all",
            reverse("brief", args=own),
            reverse("drill_edit", args=["putting-ball-gate"]),
            reverse("drill", args=["putting-ball-gate"]),
            reverse("row_merge", args=["drill", "putting-ball-gate"]),
            reverse("skills"),
            reverse("skill_row", args=["skill", "putting-grip"]),
            reverse("skill_row_edit", args=["fault", "putting-grip-apart"]),
            reverse("row_merge", args=["fault", "putting-grip-apart"]) + "?into=putting-grip-squeeze",
            reverse("designs"),
            reverse("design_new"),
            reverse("design", args=["putting-gate"]),
            reverse("academy"),
            reverse("coach_caseload", args=[Coach.objects.all()[0].user.key]),
            reverse("student_move", args=own),
            reverse("guardians", args=own),
            reverse("people"),
            reverse("person_close", args=[Coach.objects.all()[0].user.key]),
            reverse("corrections"),
            reverse("approvals"),
            reverse("approval", args=[a_waiting_change(student).key]),
            reverse("hand_over", args=[Coach.objects.all()[0].user.key]),
            reverse("person_invite"),
            reverse("account"),
            reverse("usersessions_list"),
            reverse("mfa_index"),
            reverse("account_change_password"),
            reverse("lesson", args=[draft.student.key, draft.key]),
        ],
    }


@pytest.mark.parametrize("username", ["ida", "caspian", "odile", "ngozi"])
def test_every_page_can_be_used_by_everybody(
    username: str, open_window: Window, sign_in: Callable[[Page, str], None]
) -> None:
    year.fill(academy_today())
    scores.fill(academy_today())
    page, found = open_window(), []
    sign_in(page, username)
    for address in addresses()[username]:
        found += [f"{address}: {problem}" for problem in problems(page, address, zooms=username == "ida")]
    assert found == []


def problems(page: Page, address: str, *, zooms: bool) -> list[str]:
    """What hinders people on one page, by day on a phone and in the dark on a desk; only coaches zoom in."""
    awaited = zooms and bool(EXPLORE.fullmatch(address))
    found = [] if asks_for_plotly(page, address) == awaited else ["plotly, unasked or missing"]
    for size, scheme in ((PHONE, "light"), (DESK, "dark")):
        page.set_viewport_size(size)
        page.emulate_media(color_scheme=scheme)
        found += [f"{scheme}: {rule}" for rule in broken_rules(page)]
        if page.evaluate("document.documentElement.scrollWidth") > size["width"]:
            found.append(f"{scheme}: scrolls sideways")
        found += page.evaluate(SMALL) if size is PHONE else []
    return found


def asks_for_plotly(page: Page, address: str) -> bool:
    """Open a page; whether it fetched the large library."""
    asked: list[str] = []
    page.set_viewport_size(PHONE)
    page.on("request", note := lambda request: asked.append(request.url))
    page.goto(address)
    expect(page.locator(".htmx-request")).to_have_count(0)
    page.remove_listener("request", note)
    return any("plotly" in url for url in asked)


def test_closing_the_tab_loses_nothing_that_was_said_to_be_saved(
    open_window: Window, sign_in: Callable[[Page, str], None]
) -> None:
    page = open_window()
    sign_in(page, "ida")
    page.goto("/students/")
    page.get_by_role("link", name="Beatrix Mossbud").first.click()
    page.get_by_role("link", name="Log a lesson").click()
    page.get_by_label("What was good: keep it").fill("Calm rhythm all through")
    page.get_by_text("Saved at").wait_for()
    page.close(run_before_unload=False)
    again = page.context.new_page()
    again.goto("/students/")
    again.get_by_role("link", name="Beatrix Mossbud").first.click()
    again.get_by_role("link", name="Finish the log of").click()
    assert again.get_by_label("What was good: keep it").input_value() == "Calm rhythm all through"


def test_what_is_typed_before_the_scripts_have_come_is_saved_too(
    open_window: Window, sign_in: Callable[[Page, str], None]
) -> None:
    page, held = open_window(), []
    sign_in(page, "ida")
    page.goto("/students/")
    page.get_by_role("link", name="Beatrix Mossbud").first.click()
    way_in = page.get_by_role("link", name="Log a lesson").get_attribute("href") or ""
    page.route("**/js/log*.js", lambda route: held.append(route))  # a slow line
    page.goto(way_in, wait_until="commit")
    page.get_by_label("What was good: keep it").fill("Calm rhythm all through")
    while not held:
        page.wait_for_timeout(50)
    page.unroute("**/js/log*.js")  # now all of them come
    page.get_by_text("Saved at").wait_for()
    page.reload()
    assert page.get_by_label("What was good: keep it").input_value() == "Calm rhythm all through"
