"""What follows from lessons stands where the record says, whatever happens to a lesson afterwards."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.corrections.models import Correction
from lessons.derived import recompute_all, recompute_month, recompute_student
from lessons.load import load_catalogue
from lessons.models import Fault, Lesson, MonthCount, Observation, Outcome, SeenFault, Session
from tests.conftest import Cast
from tests.group_page import Group
from tests.make import academy_today, make_lesson, make_look, make_student, this_time
from tests.test_log import APART, GRIP, SQUEEZE, Page

Clients = Callable[[str], Client]
DEGREES = {"m": "clear", "s": "slight", "u": "not_graded"}


@pytest.fixture(autouse=True)
def catalogue(cast: Cast) -> None:
    load_catalogue()


@pytest.fixture
def apart(catalogue: None) -> Fault:
    return Fault.objects.get(code=APART)


def show(lesson: Lesson, kind: str, letter: str, fault: Fault) -> None:
    """A look that showed: m clear, s slight, u seen, c good, - nothing."""
    if letter == "-":
        return
    verdict = "good" if letter == "c" else "not_good"
    look = lesson.looks.filter(kind=kind).first() or make_look(lesson, kind)
    observation = Observation.objects.create(look=look, skill=fault.skill, verdict=verdict)
    if letter in DEGREES:
        SeenFault.objects.create(observation=observation, fault=fault, degree=DEGREES[letter])


def taught(student: Student, cast: Cast, days_ago: int, letters: str, fault: Fault, **values: Any) -> Lesson:
    """A finished lesson so many days before today, by what its arrival and its departure showed."""
    lesson = make_lesson(student, values.pop("coach", cast.coach), status="complete", completed_at=timezone.now())
    Session.objects.filter(pk=lesson.session_id).update(starts_at=this_time(days_ago=days_ago), **values)
    lesson.session.refresh_from_db()
    show(lesson, "arrival", letters[0], fault)
    show(lesson, "departure", letters[1], fault)
    return lesson


def verdicts() -> list[tuple[str, str, int]]:
    return [(row.student.name, row.verdict, row.days) for row in Outcome.objects.order_by("day", "student__name")]


def counts(coach_name: str = "Ida Fernkettle") -> dict[str, tuple[int, int, int, int]]:
    """For each month of a coach (of hands apart): looked at, slight, clear, degree not said."""
    rows = MonthCount.objects.filter(coach__user__name=coach_name, fault__code=APART).order_by("month")
    return {f"{row.month:%Y-%m}": (row.looked, row.slight, row.clear, row.not_graded) for row in rows}


def this_month() -> str:
    return f"{academy_today():%Y-%m}"


def test_done_tells_what_became_of_the_last_change(cast: Cast, as_: Clients, apart: Fault) -> None:
    taught(cast.student, cast, 40, "mc", apart)
    page = Page(as_("coach"), cast.student).see("a", APART, "slight").type(practice_reported="some")
    page.send()
    assert not Outcome.objects.exists()  # a draft says nothing yet
    page.send(done="1")
    assert verdicts() == [(cast.student.name, "partly", 40)]
    row = Outcome.objects.get()
    assert (row.coach, row.fault, row.practice_reported) == (cast.coach, apart, "some")
    assert counts()[this_month()] == (1, 1, 0, 0)


def test_what_is_put_right_in_a_finished_lesson_counts_at_once(cast: Cast, as_: Clients, apart: Fault) -> None:
    taught(cast.student, cast, 40, "mc", apart)
    page = Page(as_("coach"), cast.student).see("a", APART, "slight")
    page.send(done="1")
    again = Page(as_("coach"), cast.student, page.address).see("a", APART, "clear").see("a", SQUEEZE, "slight")
    again.send()
    assert verdicts() == [(cast.student.name, "lost", 40)]
    assert counts()[this_month()] == (1, 0, 1, 0)
    never = Page(as_("coach"), cast.student, page.address)
    never.see("a", APART, "").see("a", SQUEEZE, "").type(keep="Nothing looked at").send()
    assert verdicts() == [] and this_month() not in counts()


def test_what_is_put_right_of_practice_alone_counts_at_once(cast: Cast, as_: Clients, apart: Fault) -> None:
    taught(cast.student, cast, 40, "mc", apart)
    page = Page(as_("coach"), cast.student).see("a", APART, "slight").type(practice_reported="some")
    page.send(done="1")
    again = Page(as_("coach"), cast.student, page.address).see("a", APART, "slight")
    again.type(practice_reported="all").send()
    assert Outcome.objects.get().practice_reported == "all"


def test_an_earlier_departure_put_right_changes_what_the_next_arrival_says(cast: Cast, apart: Fault) -> None:
    first = taught(cast.student, cast, 14, "mm", apart)
    taught(cast.student, cast, 3, "s-", apart)
    recompute_student(cast.student)
    assert verdicts() == []  # nothing was changed
    SeenFault.objects.filter(observation__look__lesson=first, observation__look__kind="departure").delete()
    Observation.objects.filter(look__lesson=first, look__kind="departure").update(verdict="good")
    recompute_student(cast.student)
    assert verdicts() == [(cast.student.name, "partly", 11)]


def test_another_day_counts_in_its_own_month(cast: Cast, as_: Clients, apart: Fault) -> None:
    page = Page(as_("coach"), cast.student).see("a", APART, "clear")
    page.send(done="1")
    other = academy_today().replace(day=1) - timedelta(days=3)
    Page(as_("coach"), cast.student, page.address).see("a", APART, "clear").send(day=other.isoformat())
    assert counts() == {f"{other:%Y-%m}": (1, 0, 1, 0)}


def test_a_moved_lesson_takes_its_outcomes_along_and_back(cast: Cast, as_: Clients, apart: Fault) -> None:
    right = make_student("Linnet Mopple", coach=cast.coach)
    for student in (cast.student, right):
        taught(student, cast, 20, "mc" if student == right else "mm", apart)
    wrong = taught(cast.student, cast, 5, "c-", apart)
    recompute_all()
    before = verdicts()
    assert before == []
    address = reverse("lesson_move", args=[cast.student.key, wrong.key])
    assert as_("coach").post(address, {"to": right.pk}).status_code == 302
    assert verdicts() == [("Linnet Mopple", "held", 15)]
    undo = reverse("correction_undo", args=[right.key, Correction.objects.get().key])
    assert as_("coach").post(undo).status_code == 302
    assert verdicts() == before
    assert counts()  # a coach's months do not follow from whose lessons they are


def test_a_merged_page_brings_its_changes_along(cast: Cast, as_: Clients, apart: Fault) -> None:
    walk_in = make_student("Alder from the green", coach=cast.coach, account=False, walked_in=True)
    taught(walk_in, cast, 20, "mc", apart)
    taught(cast.student, cast, 5, "c-", apart)
    recompute_all()
    assert verdicts() == []
    as_("coach").post(reverse("student_merge", args=[walk_in.key]), {"into": cast.student.pk})
    assert verdicts() == [(cast.student.name, "held", 15)]


def test_who_turns_out_to_have_been_absent_showed_nothing(cast: Cast, as_: Clients, apart: Fault) -> None:
    other = make_student("Rosalind Tuftle", coach=cast.coach)
    group = Group(as_("coach"), [cast.student, other])
    group.begin()
    for student in group.students:
        show(group.lesson(student), "arrival", "m", apart)
    group.send(done="1")
    assert counts()[this_month()] == (2, 0, 2, 0)
    group.send(absent=(other,))
    assert counts()[this_month()] == (1, 0, 1, 0)


@pytest.mark.parametrize("kind", ["clip", "course"])
def test_only_arrivals_count(kind: str, cast: Cast, apart: Fault) -> None:
    taught(cast.student, cast, 9, "mc", apart, kind=kind)
    taught(cast.student, cast, 2, "c-", apart)
    recompute_all()
    assert verdicts() == []
    assert sum(looked for looked, *_ in counts().values()) == 1


def test_a_skill_that_shows_another_fault_was_looked_at(cast: Cast, apart: Fault) -> None:
    lesson = taught(cast.student, cast, 2, "--", apart)
    show(lesson, "arrival", "s", Fault.objects.get(code=SQUEEZE))
    recompute_all()
    assert list(counts().values()) == [(1, 0, 0, 0)]
    assert MonthCount.objects.get(fault__code=SQUEEZE).slight == 1
    assert not MonthCount.objects.exclude(fault__skill__code=GRIP).exists()


def test_a_month_is_the_academys(cast: Cast, apart: Fault) -> None:
    """Half past midnight in Dublin on 1 July is still June in UTC."""
    lesson = taught(cast.student, cast, 2, "m-", apart)
    Session.objects.filter(pk=lesson.session_id).update(starts_at="2026-06-30T23:30Z")
    recompute_all()
    assert counts() == {"2026-07": (1, 0, 1, 0)}


def test_working_out_again_changes_nothing(cast: Cast, apart: Fault) -> None:
    for days_ago, letters in ((40, "mc"), (30, "sc"), (12, "m-"), (3, "cc")):
        taught(cast.student, cast, days_ago, letters, apart)
    recompute_all()
    rows = [list(kind.objects.order_by("pk").values()) for kind in (Outcome, MonthCount)]
    assert [verdict for _, verdict, _ in verdicts()] == ["partly", "lost"]
    recompute_all()
    assert [list(kind.objects.order_by("pk").values()) for kind in (Outcome, MonthCount)] == rows


def test_counts_that_no_lesson_bears_out_go(cast: Cast, apart: Fault) -> None:
    month = date(2026, 3, 1)
    MonthCount.objects.create(coach=cast.coach, month=month, fault=apart, looked=4, clear=4)
    recompute_month(cast.coach, month)
    assert not MonthCount.objects.exists()


def test_the_database_refuses_what_cannot_be(cast: Cast, apart: Fault) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        MonthCount.objects.create(coach=cast.coach, month=date(2026, 3, 1), fault=apart, looked=1, clear=2)
    lesson = taught(cast.student, cast, 2, "m-", apart)
    told = {"before": lesson, "student": cast.student, "coach": cast.coach, "fault": apart, "day": date(2026, 3, 1)}
    for values in ({"verdict": "held", "days": 0}, {"verdict": "kept", "days": 3}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Outcome.objects.create(lesson=lesson, **told, **values)
