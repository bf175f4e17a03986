"""The list of who needs attention: each reason by its own rule, with the next step, put off with a reason."""

import re
import uuid
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from html import unescape
from itertools import pairwise

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Coach, Guardianship, Student
from coachbook.caseload.attention.gather import gather_facts
from coachbook.caseload.attention.rules import RULES, Facts, Kind, reasons
from coachbook.caseload.models import Snooze
from coachbook.diary.models import Appointment
from coachbook.family.models import Message
from drills.models import PracticeEntry
from lessons.models import Focus, Outcome
from tests.conftest import Cast
from tests.make import make_fault, make_lesson, make_pause, make_prescription, make_skill, make_student

Clients = Callable[[str], Client]
ON = date(2026, 6, 1)
USUAL = {kind: rule.usual for kind, rule in RULES.items()}
FINE = Facts(
    ON, 1, uuid.uuid4(), "Wren Sallow", "Ida Fernkettle", in_care_since=date(2025, 1, 1), last=date(2026, 5, 25)
)


def ago(days: int) -> date:
    return ON - timedelta(days=days)


def new(name: str, coach: Coach, **values: object) -> Student:
    """A student who came to a coach a week ago."""
    student = make_student(name, coach=coach, **values)
    student.cares.update(since=ago(7))
    return student


# --- The rules ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "enough", "too_little", "words"),
    [
        (Kind.UNANSWERED, {"unanswered": ago(1)}, {"unanswered": ago(0)}, "A message of 31 May waits for an answer"),
        (Kind.CONSENT, {"is_junior": True, "has_guardian": False}, {"has_guardian": False}, "No guardian"),
        (Kind.CONSENT, {"is_junior": True, "unshared": True}, {"unshared": True}, "A second coach helps"),
        (Kind.DRAFT, {"draft": ago(2)}, {"draft": ago(1)}, "The log of 30 May is not finished"),
        (Kind.NOT_SEEN, {"days_unseen": 60}, {"days_unseen": 59}, "Not seen for 60 days, and nothing is booked"),
        (Kind.NOT_SEEN, {"days_unseen": 60, "last": None}, {"days_unseen": 60, "next_lesson": ON}, "No lesson yet"),
        (Kind.REVIEW, {"overdue": ago(1)}, {"overdue": ago(0)}, "The review is overdue since 31 May"),
        (Kind.SILENT, {"last_report": ago(10)}, {"last_report": ago(9)}, "No practice reported for 10 days"),
        (Kind.LOST, {"lost": {"Grips too tight": 2}}, {"lost": {"Grips too tight": 1}}, "Grips too tight: the last 2"),
        (Kind.OF_AGE, {"of_age": ago(-60)}, {"of_age": ago(-61)}, "Comes of age on 31 July 2026"),
    ],
)  # fmt: skip
def test_each_rule_has_its_number(
    kind: Kind, enough: dict[str, object], too_little: dict[str, object], words: str
) -> None:
    (reason,) = reasons(replace(FINE, **enough), USUAL)
    assert reason.kind == kind and reason.words.startswith(words)
    assert reasons(replace(FINE, **too_little), USUAL) == []
    assert reasons(replace(FINE, **enough), {each: USUAL[each] for each in USUAL if each != kind}) == []


def test_who_pauses_is_neither_missed_nor_silent() -> None:
    away = replace(FINE, paused=True, days_unseen=90, last_report=ago(40))
    assert reasons(away, USUAL) == []


def test_several_reasons_stand_the_most_pressing_first() -> None:
    found = reasons(replace(FINE, days_unseen=70, unanswered=ago(3), draft=ago(9)), USUAL)
    assert [reason.kind for reason in found] == [Kind.UNANSWERED, Kind.DRAFT, Kind.NOT_SEEN]


# --- The page -----------------------------------------------------------------------------------


@pytest.fixture(autouse=True)
def first_of_june(cast: Cast) -> object:
    """The day from which `make_lesson` counts back; the student was there a week ago."""
    with time_machine.travel(datetime(2026, 6, 1, 18, tzinfo=UTC), tick=False):
        make_lesson(cast.student, cast.coach, days_ago=7, status="complete", completed_at=timezone.now())
        yield


def lines(client: Client, **asked: str) -> list[str]:
    """The reasons that stand on the page, each with its name."""
    page = unescape(client.get(reverse("attention"), asked).content.decode())
    found = re.findall(r"<a href=\"/students/[^\"]*\">([^<]*)</a>\s*<div>\s*<p><b>([^<]*)</b>", page)
    return [f"{name}: {words}" for name, words in found]


def test_nobody_who_is_well_is_on_it(cast: Cast, as_: Clients) -> None:
    assert lines(as_("coach")) == []
    assert "Nobody waits for anything." in as_("coach").get(reverse("attention")).content.decode()


def test_every_reason_comes_from_the_record(cast: Cast, as_: Clients) -> None:
    """Each one is made as life makes it, and is on the list of the coach and of the manager."""
    coach, at = cast.coach, timezone.now()
    lost = new("Lost Again", coach, birth_year=1980)
    skill = make_skill("putting-grip")
    fault = make_fault(skill, "too-tight", name="Grips too tight")
    taught = [make_lesson(lost, coach, days_ago=days, status="complete", completed_at=at) for days in (30, 20, 10)]
    Focus.objects.create(student=lost, opened_in=taught[0], slot=1, area="putting", fault=fault)
    for before, after in pairwise(taught):
        about = {"student": lost, "coach": coach, "fault": fault, "verdict": "lost", "days": 10}
        Outcome.objects.create(lesson=after, before=before, day=academy_day(after.session.starts_at), **about)
    quiet = new("Quiet One", coach, birth_year=1980)
    lesson = make_lesson(quiet, coach, days_ago=20, status="complete", completed_at=at)
    focus = Focus.objects.create(student=quiet, opened_in=lesson, slot=1, area="putting", what="A steady head")
    given = make_prescription(lesson, focus)
    PracticeEntry.objects.create(prescription=given, day=ago(12), amount=10)
    make_lesson(new("Draft Left", coach, birth_year=1980), coach, days_ago=3)
    long_gone = new("Long Gone", coach, birth_year=1980)
    long_gone.cares.update(since=date(2025, 1, 1))
    make_lesson(long_gone, coach, days_ago=80, status="complete", completed_at=at)
    due = new("Due Since", coach, birth_year=1980)
    old = make_lesson(due, coach, days_ago=50, status="complete", completed_at=at)
    focus = Focus.objects.create(student=due, opened_in=old, slot=1, area="putting", what="A steady head")
    make_prescription(old, focus, review_on=ago(5), days=60)
    new("No Guardian", coach, birth_year=2016)
    asked = new("Asked Twice", coach, birth_year=1980)
    for days, who in ((3, asked.user), (2, coach.user), (2, asked.user)):
        moment = at - timedelta(days=days, hours=-days)
        Message.objects.create(student=asked, written_by=who, text="Hello", written_at=moment)
    expected = [
        "Asked Twice: A message of 30 May waits for an answer.",
        "No Guardian: No guardian, so nobody can consent or read the messages.",
        "Draft Left: The log of 29 May is not finished.",
        "Long Gone: Not seen for 80 days, and nothing is booked.",
        "Due Since: The review is overdue since 27 May.",
        "Quiet One: No practice reported for 12 days.",
        "Lost Again: Grips too tight: the last 2 changes were lost by the next arrival.",
    ]
    assert lines(as_("coach")) == expected
    assert lines(as_("manager"), coach=str(coach.user.key)) == expected
    others = lines(as_("other_coach"))
    assert others == lines(as_("manager"), coach=str(cast.other_coach.user.key)) and not set(others) & set(expected)
    assert set(lines(as_("manager"))) == {*expected, *others}


def academy_day(at: datetime) -> date:
    return Academy.current().today(at)


def test_what_is_booked_answered_or_shared_is_no_reason(cast: Cast, as_: Clients) -> None:
    student = new("Long Gone", cast.coach, birth_year=1980)
    student.cares.update(since=date(2025, 1, 1))
    assert len(lines(as_("coach"))) == 1
    row = Appointment.objects.create(
        coach=cast.coach, starts_at=timezone.now() + timedelta(days=3), made_by=cast.coach.user
    )
    row.students.add(student)
    assert lines(as_("coach")) == []
    day = academy_day(row.starts_at)
    absence = student.absences.create(first_day=day, last_day=day, reported_by=student.user)
    assert len(lines(as_("coach"))) == 1, "a lesson to which they cannot come is none that is booked"
    absence.delete()
    row.delete()
    pause = make_pause(student, since=date(2026, 5, 1))
    assert lines(as_("coach")) == []
    pause.delete()
    Message.objects.create(
        student=student, written_by=student.user, text="Hello", written_at=ON_NOON - timedelta(days=3)
    )
    Message.objects.create(student=student, written_by=cast.manager, text="Yes", written_at=ON_NOON - timedelta(days=2))
    assert [words for words in lines(as_("coach")) if "message" in words] == []


ON_NOON = datetime(2026, 6, 1, 12, tzinfo=UTC)


def test_a_junior_comes_of_age_with_the_year(cast: Cast, as_: Clients) -> None:
    """Who becomes 18 in 2026 decides alone from the first day of 2027."""
    Student.objects.filter(pk=cast.student.pk).update(birth_year=2008)
    with time_machine.travel(datetime(2026, 12, 1, 12, tzinfo=UTC), tick=False):
        make_lesson(cast.student, cast.coach, days_ago=-180, status="complete", completed_at=timezone.now())
        (words,) = lines(as_("coach"))
        assert "Comes of age on 1 January 2027" in words
        (facts,) = [each for each in gather_facts(cast.academy, timezone.now(), cast.coach) if each.of_age]
    on = date(2027, 1, 1)
    student = Student.objects.get(pk=cast.student.pk)
    assert facts.of_age == on and not student.is_junior(on, 18) and student.is_junior(on - timedelta(days=1), 18)


def test_a_guardian_who_wrote_last_waits_too(cast: Cast, as_: Clients) -> None:
    Message.objects.create(
        student=cast.student, written_by=cast.guardian, text="She is ill.", written_at=ON_NOON - timedelta(days=2)
    )
    assert lines(as_("coach")) == ["Alder Quimble: A message of 30 May waits for an answer."]


def test_a_second_coach_without_consent_is_a_reason(cast: Cast, as_: Clients) -> None:
    cast.student.consents.update(withdrawn_at=timezone.now())
    assert lines(as_("coach")) == [
        "Alder Quimble: A second coach helps, and nobody has consented to sharing the record."
    ]
    Guardianship.objects.update(ended_on=ago(1))
    assert lines(as_("coach")) == ["Alder Quimble: No guardian, so nobody can consent or read the messages."]


def test_a_reason_is_put_off_with_a_word_and_comes_back(cast: Cast, as_: Clients) -> None:
    Message.objects.create(
        student=cast.student, written_by=cast.guardian, text="Hm.", written_at=ON_NOON - timedelta(days=2)
    )
    address = reverse("attention_snooze", args=[cast.student.key, "unanswered"])
    for typed, message in (
        ({"until": "2026-06-03", "why": ""}, "This field is required."),
        ({"until": "2026-05-30", "why": "Called them."}, "This day has passed."),
        ({"until": "2028-05-30", "why": "Called them."}, "Choose a day within the next 90 days."),
        ({"until": "soon", "why": "x" * 201}, "at most 200 characters"),
    ):
        answer = as_("coach").post(address, typed)
        assert answer.status_code == 422 and message in answer.content.decode()
        assert typed["why"] in answer.content.decode() and not Snooze.objects.exists()
    answer = as_("coach").post(address, {"until": "2026-06-03", "why": "Called them."}, follow=True)
    page = unescape(answer.content.decode())
    assert "Put off until 3 June by Ida Fernkettle: Called them." in page.split("Put off</h2>")[1]
    assert page.index("Put off</h2>") < page.index("waits for an answer")
    with time_machine.travel(datetime(2026, 6, 4, 12, tzinfo=UTC), tick=False):
        assert "Put off</h2>" not in as_("coach").get(reverse("attention")).content.decode()
    assert as_("coach").post(reverse("attention_snooze", args=[cast.student.key, "score"])).status_code == 404


def test_the_manager_sets_the_numbers(cast: Cast, as_: Clients) -> None:
    """A rule that is off says nothing; one with another number counts by it; what is wrong is said beside it."""
    make_lesson(cast.student, cast.coach, days_ago=1)
    Message.objects.create(
        student=cast.student, written_by=cast.guardian, text="Hm.", written_at=ON_NOON - timedelta(days=2)
    )
    page = as_("manager").get(reverse("attention_rules")).content.decode()
    typed = dict(re.findall(r'name="([\w-]+-number)" value="(\d+)"', page))
    typed |= {f"{kind}-on": "on" for kind in Kind}
    assert len(typed) == 2 * len(Kind) and typed["not-seen-number"] == "60"
    answer = as_("manager").post(reverse("attention_rules"), {**typed, "draft-number": "1001"})
    assert answer.status_code == 422 and "less than or equal to 1000" in answer.content.decode()
    typed["draft-number"] = "1"
    del typed["unanswered-on"]
    assert as_("manager").post(reverse("attention_rules"), typed).status_code == 302
    assert lines(as_("coach")) == ["Alder Quimble: The log of 31 May is not finished."]


def test_from_signing_in_to_the_first_step_in_two_taps(cast: Cast, as_: Clients) -> None:
    Message.objects.create(
        student=cast.student, written_by=cast.guardian, text="Hm.", written_at=ON_NOON - timedelta(days=2)
    )
    for actor in ("coach", "manager"):
        first = as_(actor).get(reverse("home"), follow=True).content.decode()
        assert f'href="{reverse("attention")}"' in first
        second = as_(actor).get(reverse("attention")).content.decode()
        assert f'class="button" href="{reverse("messages", args=[cast.student.key])}">Answer' in second


def test_no_coach_reads_the_list_of_another_by_its_address(cast: Cast, as_: Clients) -> None:
    own, other = new("Wren Ashknot", cast.coach), new("Wilf Tarkle", cast.other_coach)
    page = as_("coach").get(reverse("attention"), {"coach": str(cast.other_coach.user.key)}).content.decode()
    assert own.name in page and other.name not in page


def test_the_list_asks_a_fixed_number_of_queries(cast: Cast, as_: Clients) -> None:
    counts = []
    cast.other_student.cares.all().delete()
    for number in range(3):
        new(f"Child {number}", cast.coach, birth_year=2016)
        for actor in ("coach", "manager"):
            client = as_(actor)
            client.get(reverse("attention"))
            with CaptureQueriesContext(connection) as queries:
                assert len(lines(client)) == number + 1
            counts.append(len(queries))
    assert counts[:2] == counts[2:4] == counts[4:] and max(counts) <= 12, counts
