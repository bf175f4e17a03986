"""What nobody may do with tests, rounds and what is derived: other people's keys, odd input, and odd orders."""

import random
import re
import sys
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Guardianship, Student
from coachbook.corrections.models import Correction
from drills.models import Design, Round, ScoredTest
from lessons.derived import recompute_all
from lessons.models import Fault, Focus, Lesson, MonthCount, Outcome, Session
from tests.conftest import Cast
from tests.crawl import Reader, read
from tests.group_page import Group
from tests.library import load_library
from tests.make import academy_today, fresh_key, make_ball, make_care, make_lesson, make_student, make_test
from tests.test_derived import APART, SQUEEZE, show, taught
from tests.test_log import GRIP, Page
from tests.test_score_views import begin

pytestmark = pytest.mark.long

Clients = Callable[[str], Client]
ROUND = {"holes": "18", "putts": "33", "three_putts": "1", "tried": "4", "made": "2"}
ODD = ["a\0b", "NaN", "inf", "1e308", "-1", "9" * 401, "9" * 5000, "<b>x</b>", "{x}", "1,2,,;", "=1+1", "½", "\u202e"]


@pytest.fixture(autouse=True)
def catalogue(cast: Cast) -> None:
    load_library()


@pytest.fixture
def on(cast: Cast) -> date:
    return cast.academy.today(timezone.now())


@pytest.fixture
def going(cast: Cast, on: date) -> ScoredTest:
    """A test of the student that is not finished, with one ball."""
    test = make_test(cast.student, Design.objects.get(code="putting-gate"), done_at=None, day=on)
    make_ball(test, "through")
    return test


def posted_to(student: Student, test: ScoredTest) -> list[str]:
    return [
        reverse(name, args=[student.key, test.key]) for name in ("test_ball", "test_undo", "test_done", "test_void")
    ]


def as_it_was(test: ScoredTest) -> tuple[Any, ...]:
    test.refresh_from_db()
    return test.student_id, test.done_at, test.is_void, test.side, test.lesson_id, list(test.balls.values())


# --- Other people's keys ------------------------------------------------------------------------


def test_a_test_is_reached_under_its_own_student_alone(cast: Cast, as_: Clients, going: ScoredTest) -> None:
    """Neither a stranger under their own page nor a coach of both finds it anywhere else."""
    make_care(cast.coach, cast.other_student, role="cover")
    before = as_it_was(going)
    for actor in ("other_student", "other_coach", "coach"):
        for address in posted_to(cast.other_student, going):
            assert as_(actor).post(address, {"number": 2, "what": "left"}).status_code == 404, (actor, address)
        for name in ("scored_test", "test_result"):
            assert as_(actor).get(reverse(name, args=[cast.other_student.key, going.key])).status_code == 404
        taken = begin(as_(actor), cast.other_student, going.design, key=going.key)
        assert taken.status_code == 404
    assert as_it_was(going) == before


@pytest.mark.parametrize("actor", ["past_guardian", "past_coach", "other_student", "other_coach", "manager"])
def test_who_has_no_part_in_it_notes_nothing(actor: str, cast: Cast, as_: Clients, going: ScoredTest, on: date) -> None:
    row = Round.objects.create(student=cast.student, day=on, putts=33, by=cast.coach.user)
    before, refused = as_it_was(going), 403 if actor == "manager" else 404
    addresses = posted_to(cast.student, going)
    addresses += [
        reverse(name, args=[cast.student.key, key])
        for name in ("round_report", "round_void")
        for key in (row.key, fresh_key())
    ]
    for address in addresses:
        answer = as_(actor).post(address, {"number": 2, "what": "left", "day": on.isoformat(), **ROUND})
        assert answer.status_code == refused, address
    assert begin(as_(actor), cast.student, going.design).status_code == refused
    row.refresh_from_db()
    assert as_it_was(going) == before and not row.is_void and ScoredTest.objects.count() == Round.objects.count() == 1


def test_a_second_coach_of_a_junior_is_shut_out_once_sharing_is_withdrawn(
    cast: Cast, as_: Clients, going: ScoredTest
) -> None:
    Student.objects.filter(pk=cast.student.pk).update(birth_year=academy_today().year - 11)
    addresses = [
        reverse(name, args=[cast.student.key]) for name in ("tests", "test_results", "rounds", "brief", "progress")
    ]
    assert [as_("cover").get(address).status_code for address in addresses] == [200] * 5
    cast.student.consents.update(withdrawn_at=timezone.now())
    before = as_it_was(going)
    assert [as_("cover").get(address).status_code for address in addresses] == [404] * 5
    for address in posted_to(cast.student, going):
        assert as_("cover").post(address, {"number": 2, "what": "left"}).status_code == 404
    assert as_it_was(going) == before


def test_a_round_is_reached_under_its_own_student_alone(cast: Cast, as_: Clients, on: date) -> None:
    row = Round.objects.create(student=cast.student, day=on, putts=33, by=cast.coach.user)
    typed = {"day": on.isoformat(), **ROUND}
    for name in ("round_report", "round_void"):
        address = reverse(name, args=[cast.other_student.key, row.key])
        assert as_("other_student").post(address, typed).status_code == 404
    row.refresh_from_db()
    assert (row.student, row.is_void, Round.objects.count()) == (cast.student, False, 1)


@pytest.mark.parametrize("actor", ["student", "guardian", "coach"])
def test_a_test_is_set_into_a_lesson_only_by_who_teaches_the_student(actor: str, cast: Cast, as_: Clients) -> None:
    """Neither into one's own lesson by the student, nor by anybody into that of somebody else."""
    design = Design.objects.filter(kind="gate").get()
    own, others = taught_now(cast.student, cast), taught_now(cast.other_student, cast)
    begin(as_(actor), cast.student, design, moment=f"arrival_{others.key}")
    begin(as_(actor), cast.student, design, moment=f"arrival_{own.key}")
    lessons = set(ScoredTest.objects.values_list("lesson", flat=True)) - {None}
    assert lessons == ({own.pk} if actor == "coach" else set())


def test_a_coach_who_is_only_the_guardian_sets_nothing_into_a_lesson(cast: Cast, as_: Clients) -> None:
    """A parent may well be a coach of the academy; the lessons of their child are another coach's."""
    Guardianship.objects.create(guardian=cast.other_coach.user, student=cast.student)
    Student.objects.filter(pk=cast.student.pk).update(birth_year=academy_today().year - 11)
    lesson = taught_now(cast.student, cast)
    answer = begin(as_("other_coach"), cast.student, Design.objects.get(kind="gate"), moment=f"arrival_{lesson.key}")
    assert answer.status_code == 303
    assert ScoredTest.objects.get().lesson is None


def taught_now(student: Student, cast: Cast) -> Lesson:
    lesson = make_lesson(student, cast.coach)
    Session.objects.filter(pk=lesson.session_id).update(starts_at=timezone.now() - timedelta(minutes=5))
    return lesson


def test_a_student_cannot_take_back_what_a_coach_recorded(cast: Cast, as_: Clients, on: date) -> None:
    test = make_test(cast.student, Design.objects.get(kind="gate"), day=on, by=cast.coach.user)
    make_ball(test, "through")
    address = reverse("test_void", args=[cast.student.key, test.key])
    assert as_("student").post(address).status_code == 422
    test.refresh_from_db()
    assert not test.is_void
    assert as_("guardian").post(address).status_code == 303


def test_no_chart_of_what_is_not_among_a_students_own(cast: Cast, as_: Clients) -> None:
    """Neither a fault of somebody else, nor, for the student, one that was seen but never worked on."""
    faults = {code: Fault.objects.get(code=code) for code in (APART, SQUEEZE)}
    taught(cast.student, cast, 9, "m-", faults[APART])
    taught(cast.other_student, cast, 9, "m-", faults[SQUEEZE])
    for actor, code, status in (("coach", APART, 200), ("coach", SQUEEZE, 404), ("student", APART, 404)):
        address = reverse("progress_explore", args=[cast.student.key, faults[code].pk])
        assert as_(actor).get(address).status_code == status, (actor, code)


# --- Side, order, and what comes twice ----------------------------------------------------------


def test_the_side_of_a_begun_test_stays_with_its_balls(cast: Cast, as_: Clients, going: ScoredTest) -> None:
    """Left of the gate is what a right-side player pulls, whatever the page says of their side meanwhile."""
    Student.objects.filter(pk=cast.student.pk).update(putting_side="left")
    as_("student").post(posted_to(cast.student, going)[0], {"number": 2, "what": "left"})
    going.refresh_from_db()
    assert (going.side, going.balls.get(number=2).miss) == ("right", "pull")


def test_two_tabs_and_a_lost_reply_leave_what_both_saw(cast: Cast, as_: Clients, going: ScoredTest) -> None:
    ball, undo, done, _ = posted_to(cast.student, going)
    client = as_("student")

    def balls() -> list[tuple[int, str]]:
        return list(going.balls.values_list("number", "result"))

    for _ in range(2):
        assert client.post(ball, {"number": 2, "what": "left"}).status_code == 303
    assert balls() == [(1, "through"), (2, "beside")]
    for _ in range(2):
        assert client.post(undo, {"number": 2}).status_code == 303
    assert client.post(ball, {"number": 3, "what": "left"}).status_code == 422  # the other tab was one ahead
    assert balls() == [(1, "through")]
    assert [client.post(done).status_code for _ in range(2)] == [303, 303]
    assert client.post(ball, {"number": 2, "what": "left"}).status_code == 422
    assert client.post(undo, {"number": 1}).status_code == 422
    assert balls() == [(1, "through")]


# --- What is derived ----------------------------------------------------------------------------


def derived_rows() -> tuple[list[Any], list[Any]]:
    """Every outcome and every month's count, in an order of their own."""
    outcomes = Outcome.objects.values_list(
        "student", "lesson", "fault", "before", "coach", "verdict", "day", "days", "practice_reported"
    )
    months = MonthCount.objects.values_list("coach", "month", "fault", "looked", "slight", "clear", "not_graded")
    return sorted(outcomes), sorted(months)


class Walk:
    """Whatever may happen to lessons, in any order, by the pages themselves."""

    def __init__(self, cast: Cast, client: Client, seed: int) -> None:
        self.chance, self.client, self.coach = random.Random(seed), client, cast.coach
        self.students = [cast.student, make_student("Linnet Mopple", coach=cast.coach)]
        self.group = Group(client, self.students)
        self.group.begin()

    def lesson(self) -> Lesson:
        return self.chance.choice(list(Lesson.objects.filter(student__in=self.students).order_by("pk")))

    def log(self, lesson: Lesson | None = None) -> Any:
        """Write a lesson down, or change one: what was seen, and on which day."""
        student = lesson.student if lesson else self.chance.choice(self.students)
        page = Page(self.client, student, reverse("lesson", args=[student.key, lesson.key]) if lesson else "")
        for moment in self.chance.choice(["", "a", "ad", "ad", "ad"]):
            shown = self.chance.choice(["good", "good", "clear", "slight", "not_graded"])
            if shown == "good":
                page.see(moment, f"{GRIP}.good", "on")
            else:
                page.see(moment, self.chance.choice([APART, APART, SQUEEZE]), shown)
        day = academy_today() - timedelta(days=self.chance.randrange(70))
        return page.type(keep="Rhythm").send(done="1", day=day.isoformat())

    def change(self) -> Any:
        return self.log(self.lesson())

    def gather(self) -> Any:
        """Say anew who of the group was there, and call it done."""
        rows = Lesson.objects.filter(session__key=self.group.key).order_by("pk").select_related("student")
        return self.group.send(absent=[row.student for row in rows if self.chance.random() < 0.5], done="1")

    def move(self) -> Any:
        lesson = self.lesson()
        to = next(student for student in self.students if student != lesson.student)
        return self.client.post(reverse("lesson_move", args=[lesson.student.key, lesson.key]), {"to": to.pk})

    def merge(self) -> Any:
        """A walk-in of these days turns out to be somebody who is in the book."""
        walk_in = make_student(coach=self.coach, account=False, walked_in=True)
        taught_as = Page(self.client, walk_in).see("a", f"{GRIP}.good", "on").see("d", APART, "slight")
        taught_as.send(done="1", day=(academy_today() - timedelta(days=self.chance.randrange(70))).isoformat())
        into = self.chance.choice(self.students)
        return self.client.post(reverse("student_merge", args=[walk_in.key]), {"into": into.pk})

    def undo(self) -> Any:
        last = Correction.objects.filter(undone_at=None).order_by("-at", "-pk").first()
        return last and self.client.post(reverse("correction_undo", args=[last.student.key, last.key]))


@pytest.mark.long
def test_whatever_happens_to_lessons_what_follows_is_what_the_record_says(cast: Cast, as_: Clients) -> None:
    walk = Walk(cast, as_("coach"), seed=8)
    acts = [walk.log, walk.log, walk.change, walk.change, walk.gather, walk.move, walk.merge, walk.undo]
    done = []
    for step in range(24):
        act = walk.chance.choice(acts)
        answer = act()
        done.append((act.__name__, answer and answer.status_code))
        if step % 4 == 0:
            kept = derived_rows()
            Outcome.objects.all().delete()
            MonthCount.objects.all().delete()
            recompute_all()
            assert kept == derived_rows(), done
    assert {status for _, status in done} <= {None, 302, 303, 422}
    assert Outcome.objects.exists() and Correction.objects.exclude(undone_at=None).exists()


@pytest.mark.parametrize("is_draft", [True, False])
def test_another_day_of_a_group_is_another_day_for_all_of_it(is_draft: bool, cast: Cast, as_: Clients) -> None:
    """The day is the group's, and it is put right on the page of one of them, be that one done or not."""
    apart, other = Fault.objects.get(code=APART), make_student("Linnet Mopple", coach=cast.coach)
    group = Group(as_("coach"), [cast.student, other])
    group.begin()
    for student in group.students:
        taught(student, cast, 70, "mc", apart)
        show(group.lesson(student), "arrival", "c", apart)
    group.send(done="1")
    own = group.lesson(cast.student)
    Lesson.objects.filter(pk=own.pk).update(status="draft" if is_draft else "complete")
    recompute_all()
    day = academy_today() - timedelta(days=65)
    address = reverse("lesson", args=[cast.student.key, own.key])
    Page(as_("coach"), cast.student, address).see("a", f"{GRIP}.good", "on").send(day=day.isoformat())
    stored = Outcome.objects.values_list("student", "day", "days")
    assert list(stored.order_by("student")) == [(each.pk, day, 5) for each in group.students[is_draft:]]
    assert {row.month for row in MonthCount.objects.filter(looked__gt=0)} <= {day.replace(day=1), *months_of(70)}


def months_of(*days_ago: int) -> set[date]:
    return {(academy_today() - timedelta(days=days)).replace(day=1) for days in days_ago}


# --- Odd input ----------------------------------------------------------------------------------


@pytest.mark.long
def test_odd_input_is_answered_and_nothing_odd_is_stored(cast: Cast, as_: Clients, going: ScoredTest, on: date) -> None:
    """Whatever comes in a field that no page would send: said beside the field, or passed over."""
    client, key, gate, ball = as_("student"), cast.student.key, going.design, posted_to(cast.student, going)[0]
    begun = {"design": gate.pk, "unit": "m", "width_unit": "cm", "step": "step"}
    played = {"day": on.isoformat(), **ROUND}
    for odd in ODD:
        for name in (*begun, "distances", "balls", "minutes", "width", "stimp", "stimp_up"):
            address = reverse("scored_test", args=[key, fresh_key()])
            assert client.post(address, {**begun, name: odd}).status_code == 422, (name, odd)
        for typed in ({"number": odd, "what": "left"}, {"number": 2, "what": odd}):
            assert client.post(ball, typed).status_code == 422, (typed, odd)
        for name in ("day", "holes", "putts", "made"):
            address = reverse("round_report", args=[key, fresh_key()])
            assert client.post(address, {**played, name: odd}).status_code == 422, (name, odd)
    assert (ScoredTest.objects.count(), going.balls.count(), Round.objects.count()) == (1, 1, 0)


def test_how_far_a_ball_stopped_is_a_length_or_nothing(cast: Cast, as_: Clients, on: date) -> None:
    test = make_test(cast.student, Design.objects.get(kind="leaves"), done_at=None, day=on)
    address = posted_to(cast.student, test)[0]
    for odd in (*ODD, "-0", "999", "4.25", ""):
        for what in ("past", "short"):
            typed = {"number": 1, "what": what, "far": odd}
            assert as_("student").post(address, typed).status_code == 422, (what, odd)
    assert as_("student").post(address, {"number": 1, "what": "past", "far": "4,5"}).status_code == 303
    assert [round(ball.leave_m or 0, 4) for ball in test.balls.all()] == [4.05]  # steps of 0.9 m


@pytest.mark.long
def test_an_odd_address_shows_the_page_as_it_usually_stands(cast: Cast, as_: Clients, going: ScoredTest) -> None:
    """NUL bytes, too: PostgreSQL refuses them."""
    pages = [
        ("manager", reverse("academy_progress"), "months"),
        ("manager", reverse("design_new"), "kind"),
        ("coach", reverse("test_results", args=[cast.student.key]), "share"),
        ("student", reverse("scored_test", args=[cast.student.key, going.key]), "plan"),
    ]
    for actor, address, name in pages:
        for odd in (*ODD, "abc", ",".join(["1x1"] * 100), "1x0", "61x1", "0x5"):
            assert as_(actor).get(address, {name: odd}).status_code == 200, (address, odd)
    for number in (0, 10**9, 2**63, 10**30):
        address = reverse("progress_explore", args=[cast.student.key, number])
        assert as_("coach").get(address).status_code == 404


def test_a_design_is_words_and_lengths_wherever_it_is_read(cast: Cast, as_: Clients, on: date) -> None:
    """Tags stand as they were typed, and a student reads left and right, never lead and trail."""
    texts = dict.fromkeys(("purpose", "setup", "note", "caution"), "<i>Words</i>")
    typed = {
        "name": "<b>{Lead}</b> gate",
        "area": "putting",
        "kind": "gate",
        "distances": "1",
        "balls": "9",
        "width": "8",
    }
    for name, odd in ((name, odd) for name in ("distances", "balls", "width") for odd in ODD if odd != "1,2,,;"):
        assert as_("manager").post(reverse("design_new"), {**texts, **typed, name: odd}).status_code == 422, (name, odd)
    assert as_("manager").post(reverse("design_new"), {**texts, **typed}).status_code == 302
    design = Design.objects.get(name=typed["name"])
    for days in (9, 0):
        test = make_test(cast.student, design, day=on - timedelta(days=days))
        for number in range(9):
            make_ball(test, "through" if number or days else "beside")
    for name in ("tests", "test_results", "progress", "rounds"):
        page = as_("student").get(reverse(name, args=[cast.student.key])).content.decode()
        assert "<b>L" not in page, name
        assert "ead&lt;" not in page, name
        assert name == "rounds" or "&lt;b&gt;Left&lt;/b&gt; gate" in page, name
    assert "&lt;b&gt;Lead&lt;/b&gt; gate" in as_("manager").get(reverse("designs")).content.decode()


def test_a_round_of_a_merged_walk_in_can_be_undone(cast: Cast, as_: Clients, on: date) -> None:
    walk_in = make_student(coach=cast.coach, account=False, walked_in=True)
    as_("coach").post(reverse("round_report", args=[walk_in.key, fresh_key()]), {"day": on.isoformat(), **ROUND})
    as_("coach").post(reverse("student_merge", args=[walk_in.key]), {"into": cast.student.pk})
    row = Round.objects.get(student=cast.student)
    address = reverse("round_void", args=[cast.student.key, row.key])
    assert address in as_("student").get(reverse("rounds", args=[cast.student.key])).content.decode()
    assert as_("student").post(address).status_code == 303
    row.refresh_from_db()
    assert row.is_void


# --- What is read -------------------------------------------------------------------------------


@pytest.fixture
def sister(cast: Cast, on: date) -> Student:
    """Two children of one guardian: tests of every kind, twice, rounds, and a change that was lost."""
    sister = make_student("Linnet Quimble", coach=cast.other_coach, putting_side="left")
    Guardianship.objects.create(guardian=cast.guardian, student=sister)
    fault = Fault.objects.get(code=APART)
    for student, coach in ((cast.student, cast.coach), (sister, cast.other_coach)):
        Student.objects.filter(pk=student.pk).update(birth_year=on.year - 15)
        first = taught(student, cast, 30, "mc", fault, coach=coach)
        Focus.objects.create(student=student, opened_in=first, slot=1, area="putting", fault=fault)
        taught(student, cast, 9, "m-", fault, coach=coach)
        Lesson.objects.filter(student=student).update(note=f"canary of {coach}")
        for design, days in ((design, days) for design in Design.objects.all() for days in (20, 3)):
            test = make_test(student, design, by=coach.user, day=on - timedelta(days=days))
            shot = {"gate": "beside", "counted": "holed"}.get(design.kind, "missed")
            for number in range(1, 10):
                leave = {"leave_m": 0.9 * (number % 3)} if shot == "missed" and design.kind != "chips" else {}
                leave = {"leave_m": 0.9 * number} if design.kind == "chips" else leave
                make_ball(test, shot, miss="push" if shot == "beside" else "", **leave)
        for days in range(7):
            Round.objects.create(student=student, day=on - timedelta(days=days), putts=30 + days, by=coach.user)
    recompute_all()
    return sister


@pytest.mark.long
@pytest.mark.parametrize("actor", ["student", "guardian", "coach", "manager"])
def test_to_read_is_not_to_write_and_nobody_reads_what_is_not_theirs(
    actor: str, cast: Cast, as_: Clients, sister: Student
) -> None:
    starts = [
        reverse(name, args=[cast.student.key]) for name in ("student", "tests", "test_results", "rounds", "progress")
    ]
    starts += [reverse("brief", args=[cast.student.key])] if actor in ("coach", "manager") else []
    client, read_pages = as_(actor), {}
    with CaptureQueriesContext(connection) as queries:
        for start in starts:
            answer = client.get(start)
            assert answer.status_code == 200, start
            page = answer.content.decode()
            read_pages[start], links = Reader(page).text, Reader(page).links
            assert not re.search(r"\sstyle=|<style|<script(?![^>]*src=)(?![^>]*json)|\son\w+=", page), start
            for link in links:
                if f"{cast.student.key}/" in link and "#" not in link:
                    read_pages[link] = read(client, link)[0]
    written = [query["sql"] for query in queries if re.match(r"INSERT|UPDATE|DELETE", query["sql"])]
    noted = "accounts_recordview" if actor == "manager" else "django_session"  # that a manager read a junior's record
    assert not [sql for sql in written if "django_session" not in sql and noted not in sql]
    assert sum(address.endswith("/result/") for address in read_pages) == 10, "both tests of each of five kinds"
    every = " ".join(read_pages.values())
    assert ("canary of Ida" in every) == (actor in ("coach", "manager")) and "canary of Cai" not in every
    if actor in ("student", "guardian"):
        assert not re.search(r"(?i)\b(faults?|marked|slight|hands apart)\b", every)
        assert "Linnet" not in every or actor == "guardian"


def test_pages_that_need_no_model_of_a_putter_do_without_numpy(
    cast: Cast, as_: Clients, going: ScoredTest, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It costs more to load than a page, and most pages of most days have no test to read."""
    loaded = [name for name in sys.modules if name.startswith(("drills.putting", "drills.scored_tests.results"))]
    for name in loaded:
        package, _, module = name.rpartition(".")
        monkeypatch.setattr(sys.modules[package], module, sys.modules[name])  # so that it is put back there, too
    for name in loaded:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "numpy", None)
    pages = [("coach", name) for name in ("lesson_new", "brief", "progress", "tests", "test_new", "rounds")]
    for actor, name in [*pages, ("student", "today"), ("student", "tests"), ("student", "progress")]:
        answer = as_(actor).get(reverse(name, args=[cast.student.key]), follow=True)
        assert answer.status_code == 200, (actor, name)
    assert as_("student").get(reverse("scored_test", args=[cast.student.key, going.key])).status_code == 200
    assert (
        as_("student").get(reverse("test_results", args=[cast.student.key])).status_code == 500
    )  # the probe does see it
