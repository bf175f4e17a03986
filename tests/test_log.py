"""The log of a lesson: saved as it goes, once, checked strictly only when finished, and nothing typed is ever lost."""

import gzip
import os
import re
import subprocess
import sys
import uuid
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.contrib.staticfiles import finders
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Area, Care, Student
from drills.models import Design, Drill, Prescription
from lessons.models import Fault, Focus, Lesson, Observation, SeenFault
from tests.conftest import Cast
from tests.library import load_library
from tests.make import academy_today, make_ball, make_test, this_time

pytestmark = pytest.mark.long

Clients = Callable[[str], Client]
GRIP, APART, SQUEEZE = "putting-grip", "putting-grip-apart", "putting-grip-squeeze"
HTMX = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def catalogue(cast: Cast) -> None:
    load_library()


@pytest.fixture
def coach(as_: Clients) -> Client:
    return as_("coach")


class Page:
    """A log page in a browser without a script: what was typed, and what comes back when it is sent."""

    def __init__(self, client: Client, student: Student, address: str = "") -> None:
        self.client = client
        self.address = address or client.get(reverse("lesson_new", args=[student.key])).url  # type: ignore[attr-defined]
        self.open()

    def open(self) -> None:
        self.answer = self.client.get(f"{self.address}{'&' if '?' in self.address else '?'}edit")
        context = self.answer.context
        self.typed: dict[str, Any] = {
            "page": context["page"],
            "base": str(context["base"]),
            "count": "1",
            "day": context["lesson_form"].today.isoformat(),
            "focus": [str(form.key) for form in context["lesson_form"].focuses],
            "putting": "on",
        }
        self.blocks = [f"focus-{form.key}" for form in context["lesson_form"].fresh]

    def send(self, headers: dict[str, str] | None = None, **typed: Any) -> Any:
        self.typed |= {name.replace("__", "."): value for name, value in typed.items()}
        return self.client.post(self.address, self.typed, headers=headers or {})

    def type(self, **typed: Any) -> "Page":
        self.typed |= typed
        return self

    def focus(self, number: int = 0, **values: Any) -> "Page":
        self.typed |= {f"{self.blocks[number]}-{name}": value for name, value in values.items()}
        return self

    def see(self, moment: str, code: str, value: str) -> "Page":
        self.typed[f"{moment}.{code}"] = value
        return self


@pytest.fixture
def page(coach: Client, cast: Cast) -> Page:
    return Page(coach, cast.student)


def lesson() -> Lesson:
    return Lesson.objects.get()


def message_beside(answer: Any, anchor: str) -> str:
    """The words in the place beside a field."""
    found = re.search(rf'id="{anchor}_error"[^>]*>(.*?)</div>', answer.content.decode(), re.DOTALL)
    assert found, f"no place beside {anchor}"
    return re.sub(r"<[^>]+>", "", found[1]).strip()


def test_opening_a_fresh_log_writes_nothing(page: Page) -> None:
    assert not Lesson.objects.exists()


def test_what_was_seen_is_stored_by_look_skill_fault_and_degree(page: Page) -> None:
    page.see("a", APART, "clear").see("a", SQUEEZE, "slight").see("d", f"{GRIP}.good", "on")
    page.see("a", f"{GRIP}.words", "Hands a thumb apart")
    assert page.send().status_code == 302
    arrival, departure = Observation.objects.order_by("look__kind")
    assert (arrival.look.kind, arrival.verdict, arrival.words) == ("arrival", "not_good", "Hands a thumb apart")
    assert {(s.fault.code, s.degree) for s in arrival.seen_faults.all()} == {(APART, "clear"), (SQUEEZE, "slight")}
    assert (departure.look.kind, departure.verdict) == ("departure", "good")


def test_blank_is_not_looked_at_and_never_good(page: Page) -> None:
    page.send(keep="Good rhythm today")
    assert lesson().keep == "Good rhythm today"
    assert not Observation.objects.exists()


def test_a_cleared_look_leaves_nothing_but_its_history(page: Page) -> None:
    page.see("a", APART, "clear").send()
    page.open()
    page.see("a", APART, "").send()
    assert not Observation.objects.exists() and not SeenFault.objects.exists()
    assert Observation.history.filter(history_type="-").count() == 1  # type: ignore[attr-defined]


def test_the_first_save_is_201_later_ones_200_and_one_lesson_comes_of_it(page: Page) -> None:
    assert page.send(HTMX, keep="a").status_code == 201
    assert page.send(HTMX, keep="ab", count="2").status_code == 200
    assert page.send(HTMX, keep="ab", count="2").status_code == 200  # a reply was lost, the phone tries again
    assert lesson().keep == "ab"


def test_a_late_older_post_of_the_same_page_does_not_write_over_a_newer_one(page: Page) -> None:
    page.send(HTMX, keep="new", count="5")
    assert page.send(HTMX, keep="old", count="4").status_code == 422
    assert lesson().keep == "new"


def test_a_lesson_posted_twice_is_one_lesson_with_one_focus_and_one_sheet(page: Page) -> None:
    page.focus(fault=APART, drill="putting-ball-gate")
    for _ in range(2):
        assert page.send(done="1", keep="Good").status_code == 302
    assert (Lesson.objects.count(), Focus.objects.count(), Prescription.objects.count()) == (1, 1, 1)
    assert lesson().sheets.count() == 1


def test_finishing_again_issues_a_new_sheet_where_the_words_changed_and_only_then(page: Page) -> None:
    for keep, sheets in (("Good", 1), ("Good", 1), ("Better", 2)):
        assert page.send(done="1", keep=keep, areas=["putting"]).status_code == 302
        assert (lesson().sheets.count(), lesson().sheets.valid().count()) == (sheets, 1), keep
        assert lesson().sheets.valid().get().content["keep"] == keep


def test_a_save_leaves_other_lessons_and_their_versions_alone(page: Page, coach: Client, cast: Cast) -> None:
    page.send(HTMX, keep="first")
    other = Page(coach, cast.student)
    before = Lesson.objects.values_list("pk", "version", "page").get()
    other.send(HTMX, keep="of another lesson")
    assert Lesson.objects.count() == 2
    assert Lesson.objects.values_list("pk", "version", "page").get(pk=before[0]) == before


def test_a_save_that_changes_nothing_leaves_no_row_in_the_history(page: Page) -> None:
    page.send(HTMX, keep="Calm rhythm")
    before = lesson().history.count()
    page.send(HTMX, count="2")
    assert lesson().history.count() == before
    page.send(HTMX, keep="Calmer", count="3")
    assert lesson().history.count() == before + 1


def test_a_stale_page_is_refused_keeps_what_was_typed_and_may_be_saved_knowingly(
    page: Page, coach: Client, cast: Cast
) -> None:
    page.send(keep="first")
    old, new = Page(coach, cast.student, page.address), Page(coach, cast.student, page.address)
    new.send(keep="from the new page")
    answer = old.send(keep="from the old page")
    assert answer.status_code == 422
    assert "Changed elsewhere" in answer.content.decode() and "from the old page" in answer.content.decode()
    assert lesson().keep == "from the new page"
    assert old.send(over="1").status_code == 302
    assert lesson().keep == "from the old page"


def test_a_day_that_has_not_come_is_refused_beside_its_field_and_the_rest_is_saved(page: Page) -> None:
    tomorrow = (academy_today() + timedelta(days=1)).isoformat()
    answer = page.send(day=tomorrow, keep="Good rhythm")
    assert answer.status_code == 422
    assert "in the future" in message_beside(answer, "id_day")
    assert f'value="{tomorrow}"' in answer.content.decode()
    assert lesson().keep == "Good rhythm" and lesson().session.starts_at <= timezone.now()


def test_sound_and_a_fault_at_once_are_refused_beside_the_look(page: Page) -> None:
    answer = page.see("a", f"{GRIP}.good", "on").see("a", APART, "slight").send()
    assert answer.status_code == 422
    assert "clear one of the two" in message_beside(answer, f"a-{GRIP}")
    assert not Observation.objects.exists()


def test_a_departure_without_an_arrival_is_refused_only_when_finishing(page: Page) -> None:
    page.see("d", f"{GRIP}.good", "on")
    assert page.send().status_code == 302  # a coach may fill in the departure first
    page.open()
    answer = page.see("d", f"{GRIP}.good", "on").send(done="1")
    assert answer.status_code == 422 and "not looked at on arrival" in answer.content.decode()
    assert lesson().status == "draft"


def test_an_area_that_was_looked_at_stays_ticked(page: Page) -> None:
    answer = page.see("a", "chipping-grip-down.good", "on").send()
    assert answer.status_code == 422 and "keep it ticked" in message_beside(answer, "id_chipping")


def test_a_lesson_is_about_something(page: Page) -> None:
    del page.typed["putting"]
    answer = page.send(keep="x")
    assert answer.status_code == 422 and "at least one area" in message_beside(answer, "id_putting")
    assert page.send(putting="on", done="1", keep="").status_code == 422  # nothing is written down


def test_other_areas_are_stored_and_without_any_those_before_stay(page: Page) -> None:
    """The rest of what was typed is kept either way."""
    page.send(keep="Good rhythm")
    for areas, stored in ({"chipping": "on", "bunker": "on"}, {"chipping", "bunker"}), ({}, {"chipping", "bunker"}):
        page.open()
        del page.typed["putting"]
        answer = page.send(keep=f"Calm, {len(areas)}", **areas)
        assert answer.status_code == (302 if areas else 422)
        assert {area for area in Area.values if getattr(lesson(), area)} == stored
        assert lesson().keep == f"Calm, {len(areas)}"


@pytest.mark.parametrize("amount", ["0", "400", "-5", "ten"])
def test_a_dose_nobody_can_do(amount: str, page: Page) -> None:
    answer = page.focus(fault=APART, drill="putting-ball-gate", amount=amount, unit="minutes").send()
    block = page.blocks[0]
    assert answer.status_code == 422
    assert message_beside(answer, f"id_{block}-amount")
    assert f'value="{amount}"' in answer.content.decode()
    assert not Focus.objects.exists(), "nothing half saved"


def test_a_drill_brings_its_own_dose_and_thirty_days(page: Page) -> None:
    page.focus(fault=APART, drill="putting-ball-gate").send()
    row, drill = Prescription.objects.get(), Drill.objects.get(code="putting-ball-gate")
    assert (row.amount, row.unit, row.per_week, row.days) == (
        drill.dose_amount,
        drill.dose_unit,
        drill.dose_per_week,
        30,
    )
    assert row.review_on - row.begins == timedelta(days=30)


def test_a_third_focus_needs_a_reason_and_there_is_no_fourth(page: Page) -> None:
    page.focus(0, fault=APART).focus(1, fault=SQUEEZE).focus(2, what="Eyes still")
    answer = page.send()
    assert answer.status_code == 422
    assert message_beside(answer, f"id_{page.blocks[2]}-reason").endswith("A third focus needs a reason.")
    assert 'value="Eyes still"' in answer.content.decode()
    assert Focus.objects.count() == 2
    assert page.focus(2, reason="A match on Sunday").send(count="2").status_code == 302
    fourth = str(uuid.uuid4())
    page.typed["focus"] = [*page.typed["focus"], fourth]
    answer = page.send(count="3", **{f"focus-{fourth}-what": "One more"})
    assert answer.status_code == 422 and "Three focuses are open already" in answer.content.decode()
    assert Focus.objects.count() == 3


def test_closing_one_makes_room_in_the_same_post(page: Page, coach: Client, cast: Cast) -> None:
    page.focus(0, fault=APART).focus(1, fault=SQUEEZE).send(done="1")
    again = Page(coach, cast.student)
    first = Focus.objects.get(fault__code=APART)
    answer = again.focus(0, what="Eyes still").send(**{f"focus-{first.key}-decision": "close"})
    assert answer.status_code == 302
    assert [str(f) for f in Focus.objects.open().order_by("pk")] == [str(Fault.objects.get(code=SQUEEZE)), "Eyes still"]
    first.refresh_from_db()
    assert first.closed_in and str(first.closed_in.key) in again.address


def test_a_trial_needs_its_day_and_is_decided_later(page: Page, coach: Client, cast: Cast) -> None:
    answer = page.focus(kind="trial", what="Lead hand low for every putt").send()
    assert answer.status_code == 422 and message_beside(answer, f"id_{page.blocks[0]}-decide_on")
    page.focus(decide_on="2027-01-15").send(done="1", count="2")
    trial = Focus.objects.get()
    assert (trial.kind, str(trial.decide_on)) == ("trial", "2027-01-15")
    Page(coach, cast.student).send(
        **{f"focus-{trial.key}-decision": "kept", f"focus-{trial.key}-decide_on": "2027-01-15"}
    )
    trial.refresh_from_db()
    assert trial.decision == "kept" and trial.closed_in


def test_my_usual_drill_and_dose_is_one_tap(page: Page, coach: Client, cast: Cast) -> None:
    page.focus(fault=APART, drill="putting-head-gate", amount="7", unit="minutes", per_week="5", days="14").send(
        done="1"
    )
    Student.objects.filter(pk=cast.other_student.pk).update(birth_year=1980)
    Care.objects.create(coach=cast.coach, student=cast.other_student, role="cover", since="2020-01-01")
    other = Page(coach, cast.other_student)
    other.focus(fault=APART)
    other.send(usual=other.blocks[0].removeprefix("focus-"))
    row = Prescription.objects.get(student=cast.other_student)
    assert (row.drill.code, row.amount, row.per_week, row.days) == ("putting-head-gate", 7, 5, 14)


def test_my_usual_drill_for_nothing_asks_what_for(page: Page) -> None:
    answer = page.send(usual=page.blocks[0].removeprefix("focus-"))
    assert answer.status_code == 422
    assert "Choose what to work on" in message_beside(answer, f"id_{page.blocks[0]}-fault")
    assert message_beside(answer, f"id_{page.blocks[1]}-fault") == "", "an empty block asks for nothing"


def test_an_unfinished_log_is_offered_before_another_one(page: Page, coach: Client, cast: Cast) -> None:
    page.send(keep="x")
    html = coach.get(reverse("student", args=[cast.student.key])).content.decode()
    assert page.address in html and "Finish the log of" in html and "Log another lesson" in html


def test_the_next_log_brings_the_open_focus_first_with_last_times_answers(
    page: Page, coach: Client, cast: Cast
) -> None:
    page.see("a", APART, "clear").see("d", f"{GRIP}.good", "on").focus(fault=APART, drill="putting-head-gate")
    page.send(done="1")
    again = Page(coach, cast.student).answer
    html = again.content.decode()
    assert [str(form.focus) for form in again.context["lesson_form"].continuing] == ["Hands apart"]
    assert "Last time: arrival clear, departure good" in html
    assert "Head gate" in html.split('id="looks"')[0]


def test_a_draft_counts_for_nobody_until_it_is_finished(page: Page) -> None:
    page.focus(fault=APART, drill="putting-ball-gate").send()
    assert not Prescription.objects.in_force(academy_today()).exists()
    page.open()
    assert page.send(done="1", keep="Good").status_code == 302
    assert Prescription.objects.in_force(academy_today()).count() == 1


def test_a_later_lesson_replaces_what_the_earlier_one_gave(page: Page, coach: Client, cast: Cast) -> None:
    page.focus(fault=APART, drill="putting-ball-gate").send(done="1")
    Lesson.objects.get().session.__class__.objects.update(starts_at=this_time(days_ago=20))
    Prescription.objects.update(begins=academy_today() - timedelta(days=20))
    focus = Focus.objects.get()
    again = Page(coach, cast.student)
    again.send(done="1", keep="Better", **{f"focus-{focus.key}-drill": "putting-head-gate"})
    today = academy_today()
    assert [row.drill.code for row in Prescription.objects.in_force(today)] == ["putting-head-gate"]


def test_the_playing_sides_are_frozen_when_the_lesson_is_first_saved(page: Page, cast: Cast) -> None:
    Student.objects.filter(pk=cast.student.pk).update(putting_side="left")
    page.send(keep="x")
    assert lesson().putting_side == "left"
    Student.objects.filter(pk=cast.student.pk).update(putting_side="right")
    page.send(keep="y", count="2")
    assert lesson().putting_side == "left"


def test_another_students_lesson_is_not_found_at_this_students_address(page: Page, coach: Client, cast: Cast) -> None:
    page.send(keep="x")
    Care.objects.create(coach=cast.coach, student=cast.other_student, role="cover", since="2020-01-01")
    address = reverse("lesson", args=[cast.other_student.key, lesson().key])
    assert coach.get(address).status_code == 404
    assert coach.post(address, page.typed).status_code == 404


def test_care_that_ended_while_typing_loses_no_word(page: Page, cast: Cast) -> None:
    cast.student.cares.filter(coach=cast.coach).update(until="2020-01-02")
    answer = page.send(keep="A long thought about rhythm")
    assert answer.status_code == 404 and "A long thought about rhythm" in answer.content.decode()
    assert not Lesson.objects.exists()
    assert page.send(HTMX).headers["HX-Retarget"] == "#notice"


def test_a_manager_reads_the_log_and_cannot_write_it(page: Page, as_: Clients) -> None:
    page.send(keep="Good rhythm")
    html = as_("manager").get(page.address).content.decode()
    assert "Good rhythm" in html and "disabled" in html and 'name="done"' not in html
    assert as_("manager").post(page.address, page.typed).status_code == 403


def test_text_of_any_kind_is_kept_as_text(page: Page) -> None:
    strange = "<b>bold</b> {lead} {x} 💥 \u202e ' \" --"
    page.see("a", f"{GRIP}.words", "nul\0 inside").focus(what=strange[:150])
    assert page.send(keep=strange * 40, note=strange).status_code == 302
    html = page.client.get(page.address).content.decode()
    assert "<b>bold</b>" not in html and "&lt;b&gt;bold&lt;/b&gt;" in html
    assert Observation.objects.get().words == "nul inside"


@pytest.mark.parametrize("word", ["", "not-a-key", "💥", "0" * 400])
def test_nonsense_in_the_hidden_fields_is_no_error_of_ours(word: str, page: Page) -> None:
    answer = page.send(page=word, base=word, count=word, focus=[word], usual=word, keep="x")
    assert answer.status_code in (302, 422)


def test_the_page_costs_at_most_twelve_queries_whatever_the_history(
    page: Page, coach: Client, cast: Cast, django_assert_max_num_queries: Any
) -> None:
    for days in range(6):
        log = Page(coach, cast.student)
        for block in log.answer.context["lesson_form"].continuing:
            log.typed[f"focus-{block.key}-decision"] = "close"
        for letter in "ad":  # several looks, so that a query for each would be seen
            log.see(letter, "putting-stance-width.good", "on").see(letter, "putting-ball-position.good", "on")
        log.see("a", APART, "slight").focus(fault=APART, drill="putting-ball-gate").send(done="1", keep=str(days))
        Lesson.objects.get(keep=str(days)).session.__class__.objects.filter(lessons__keep=str(days)).update(
            starts_at=this_time(days_ago=60 - days)
        )
    address = reverse("lesson", args=[cast.student.key, uuid.uuid4()])
    with django_assert_max_num_queries(12):
        assert coach.get(address).status_code == 200
    earlier = reverse("lesson", args=[cast.student.key, Lesson.objects.get(keep="3").key])
    with django_assert_max_num_queries(12):
        assert coach.get(earlier).status_code == 200


# --- A mark of the student's own ----------------------------------------------------------------


def test_a_target_set_for_the_student_is_on_the_sheet_and_on_the_day_and_carries_over(page: Page, cast: Cast) -> None:
    mark = "7 of 10 from 1.2 m"
    page.focus(fault=APART, drill="putting-coin", mark=mark).see("a", APART, "slight")
    assert page.send(done="1").status_code == 302
    given = Prescription.objects.get()
    assert given.done_well == mark
    sheet = given.lesson.sheets.get()
    assert sheet.content["focuses"][0]["drill"]["mark"] == mark
    assert mark in page.client.get(reverse("today", args=[cast.student.key])).content.decode()
    Lesson.objects.update(completed_at=timezone.now())
    again = Page(page.client, cast.student)
    assert mark in again.answer.content.decode()


def test_without_one_the_target_of_the_drill_is_used(page: Page) -> None:
    page.focus(fault=APART, drill="putting-coin").send()
    given = Prescription.objects.get()
    assert (given.mark, given.done_well) == ("", given.drill.mark)


def test_a_log_suggests_targets_that_follow_from_recent_tests(
    page: Page, cast: Cast, django_assert_max_num_queries: Any
) -> None:
    page.send(keep="Good rhythm", done="1")
    assert "recent tests" not in page.answer.content.decode()
    gate = Design.objects.get(code="putting-gate")
    test = make_test(cast.student, gate, day=academy_today(), done_at=timezone.now())
    for number in range(20):
        make_ball(test, "through" if number % 2 else "beside", miss="" if number % 2 else "pull")
    fresh = Page(page.client, cast.student).answer
    (offered,) = fresh.context["targets"]
    assert "of 10" in offered and f'<option value="{offered}">' in fresh.content.decode()
    with django_assert_max_num_queries(12):
        Page(page.client, cast.student, page.address)


@pytest.mark.parametrize("days_ago, offered", [(60, True), (61, False)])
@pytest.mark.parametrize("zone, hour", [("Pacific/Kiritimati", 20), ("Pacific/Pago_Pago", 5)])
def test_tests_of_late_are_those_of_the_academys_last_sixty_days(
    zone: str, hour: int, days_ago: int, offered: bool, page: Page, cast: Cast
) -> None:
    """At these hours of UTC it is another day there: the next one, and the one before."""
    page.send(keep="Good rhythm", done="1")
    Academy.objects.update(time_zone=zone)
    gate = Design.objects.get(code="putting-gate")
    with time_machine.travel((timezone.now() + timedelta(days=2)).replace(hour=hour)):
        day = academy_today() - timedelta(days=days_ago)
        test = make_test(cast.student, gate, day=day, done_at=timezone.now())
        for number in range(20):
            make_ball(test, "through" if number % 2 else "beside", miss="" if number % 2 else "pull")
        asked = Page(page.client, cast.student).answer.context
    assert (bool(asked["targets"]), asked["lesson_form"].last.tested) == (offered, offered)


def test_a_log_without_tests_loads_no_numpy() -> None:
    words = "import django; django.setup(); import coachbook.urls, sys; sys.exit('numpy' in sys.modules)"
    environ = {**os.environ, "DJANGO_SETTINGS_MODULE": "coachbook.settings"}
    assert subprocess.run([sys.executable, "-c", words], env=environ, check=False).returncode == 0


@pytest.mark.one_database
def test_the_page_and_its_scripts_are_light(page: Page) -> None:
    """At most 40 KB of scripts, 15 KB of page, 60 KB with what is fetched once: limits of our own, for a phone."""
    html = page.answer.content
    names = re.findall(r'<script src="/static/([^"?]+)"', html.decode())
    scripts = [Path(str(finders.find(name))).read_bytes() for name in names]
    assert len(names) >= 3 and sum(len(gzip.compress(script)) for script in scripts) <= 40_000
    [choices] = re.findall(r'data-choices="([^"]+)"', html.decode())
    fetched = page.client.get(choices).content
    assert len(gzip.compress(html)) <= 15_000 and len(gzip.compress(html + fetched)) <= 60_000


def test_a_fault_that_is_no_longer_offered_stays_in_the_lesson_that_saw_it(page: Page) -> None:
    page.see("a", APART, "clear").send(HTMX)
    Fault.objects.filter(code=APART).update(archived=True)
    page.send(HTMX, keep="Calm eyes")
    assert SeenFault.objects.get().fault.code == APART
    assert 'name="a.putting-grip-apart"' in page.client.get(page.address).content.decode()
