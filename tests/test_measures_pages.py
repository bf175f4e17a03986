"""Where measures are shown: on the brief, the sheet and the pages of progress, each to its reader; nowhere else."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Student
from coachbook.loop.sheets.content import content_from
from coachbook.loop.sheets.gather import content_of
from coachbook.loop.sheets.issue import issue_sheet
from lessons.models import Fault, Focus, Lesson, Observation, SeenFault, Skill
from tests.conftest import Cast
from tests.make import make_fault, make_lesson, make_look, make_skill

Clients = Callable[[str], Client]
WEIGHT = {
    "measure": "weight on the {lead} foot",
    "measure_unit": "%",
    "measure_low": 20,
    "measure_high": 95,
    "measure_step": 10,
    "measure_by_eye": True,
    "measure_usual_low": 60,
    "measure_usual_high": 70,
}
STANCE = {
    "measure": "stance width",
    "measure_unit": "cm",
    "measure_low": 5,
    "measure_high": 80,
    "measure_step": 2,
}


@pytest.fixture
def fault(db: None) -> Fault:
    return make_fault(make_skill(name="Weight", **WEIGHT), name="Weight on the heels")


def measured(cast: Cast, fault: Fault, days_ago: int, arrival: int | None, departure: int | None = None) -> Lesson:
    """A finished lesson in which the fault was seen, and its skill measured."""
    lesson = make_lesson(cast.student, cast.coach, days_ago=days_ago, status="complete", completed_at=timezone.now())
    for kind, number in (("arrival", arrival), ("departure", departure)):
        about = {"look": make_look(lesson, kind), "skill": fault.skill, "verdict": "not_good", "measure": number}
        SeenFault.objects.create(observation=Observation.objects.create(**about), fault=fault, degree="clear")
    return lesson


@pytest.fixture
def weight(cast: Cast, fault: Fault) -> Lesson:
    """From 40 to 75 % in two weeks, with a focus that is open; the latest lesson."""
    first = measured(cast, fault, 14, 40)
    Focus.objects.create(student=cast.student, opened_in=first, slot=1, area="putting", fault=fault)
    return measured(cast, fault, 0, 75, 80)


def page(client: Client, name: str, student: Student) -> str:
    return " ".join(client.get(reverse(name, args=[student.key])).content.decode().split())


def test_the_brief_says_what_was_measured_of_an_open_focus(weight: Lesson, cast: Cast, as_: Clients) -> None:
    html = page(as_("coach"), "brief", cast.student)
    assert "Weight on the lead foot (a guess by eye): 75% on arrival, 80% on departure, 1 Jun 2026." in html
    assert "Weight on the lead foot (a guess by eye): on arrival 35 points more than on 18 May 2026 (40%)." in html


def test_progress_shows_it_beside_the_strip_with_a_picture_and_a_table(
    weight: Lesson, cast: Cast, as_: Clients
) -> None:
    html = page(as_("coach"), "progress", cast.student)
    assert "<desc" in html and "18 May 2026 40%; 1 Jun 2026 75%. Usual: 60 to 70%." in html
    assert '<td role="cell" data-label="On departure">80%</td>' in html
    assert html.count("Weight on the lead foot (a guess by eye), %") == 2
    assert "To about 10%." in html and ">Measured<" not in html, "it stands with its fault alone"


def test_a_student_reads_it_for_their_own_side(weight: Lesson, cast: Cast, as_: Clients) -> None:
    html = page(as_("student"), "progress", cast.student)
    assert "<b>Weight on the left foot (a guess by eye):</b>" in html and "lead foot" not in html
    Lesson.objects.update(putting_side="left")
    assert "Weight on the right foot" in page(as_("student"), "progress", cast.student)


def test_a_measure_of_a_skill_without_a_fault_has_a_section_of_its_own(
    weight: Lesson, cast: Cast, as_: Clients
) -> None:
    stance = make_skill(name="Stance width", **STANCE)
    about = {"look": weight.looks.get(kind="arrival"), "skill": stance, "verdict": "not_graded"}
    Observation.objects.create(**about, measure=Decimal("31.5"))
    html = page(as_("coach"), "progress", cast.student)
    assert "<b>Stance width:</b> 31.5 cm on arrival, 1 Jun 2026." in html and ">Measured<" in html
    assert "<b>How far apart your feet are:</b>" in page(as_("student"), "progress", cast.student)


def test_a_measure_alone_is_no_look_at_a_fault(fault: Fault, cast: Cast, as_: Clients) -> None:
    """What was only measured is neither good nor a fault."""
    measured(cast, fault, 7, 40)
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())
    Observation.objects.create(look=make_look(lesson), skill=fault.skill, verdict="not_graded", measure=75)
    html = page(as_("coach"), "progress", cast.student)
    assert "Looked at on one arrival, and seen; 1 other lesson had no look" in html
    assert "On arrival 35 points more than on 25 May 2026 (40%)." in html


def test_what_a_draft_holds_is_not_shown_yet(weight: Lesson, fault: Fault, cast: Cast, as_: Clients) -> None:
    draft = make_lesson(cast.student, cast.coach, days_ago=-1)
    Observation.objects.create(look=make_look(draft), skill=fault.skill, verdict="good", measure=90)
    assert "90%" not in page(as_("coach"), "progress", cast.student)


def test_the_sheet_says_it_in_the_students_words(weight: Lesson, cast: Cast, as_: Clients) -> None:
    sheet = issue_sheet(lesson=weight, at=timezone.now())
    words = (
        "Weight on the left foot (a guess by eye): 75% when you came, 80% at the end: too close to call it a change."
    )
    assert content_from(sheet.content).measures == (words,)
    html = as_("student").get(reverse("sheet", args=[cast.student.key, sheet.key])).content.decode()
    assert words in html and "Measured today" in html


def test_a_sheet_issued_before_has_none(weight: Lesson) -> None:
    stored = issue_sheet(lesson=weight, at=timezone.now()).content
    del stored["measures"]
    assert content_from(stored).measures == ()


def test_a_childs_sheet_leaves_numbers_out(weight: Lesson, cast: Cast) -> None:
    Student.objects.filter(pk=cast.student.pk).update(birth_year=2018)
    lesson = Lesson.objects.get(pk=weight.pk)
    content = content_of(lesson, Academy.current())
    assert content.child and content.measures == ()


def test_the_caseload_shows_none(weight: Lesson, as_: Clients) -> None:
    html = as_("manager").get(reverse("caseload")).content.decode()
    assert "lead foot" not in html and "75%" not in html


@pytest.mark.parametrize("name", ["brief", "progress"])
def test_measures_keep_a_page_within_its_queries(
    name: str, weight: Lesson, fault: Fault, cast: Cast, as_: Clients
) -> None:
    client = as_("coach")
    for skill in [make_skill(name=f"Skill {number}", **STANCE) for number in range(5)]:
        about = {"look": weight.looks.get(kind="arrival"), "skill": skill, "verdict": "not_graded"}
        Observation.objects.create(**about, measure=31)
    with CaptureQueriesContext(connection) as found:
        client.get(reverse(name, args=[cast.student.key]))
    assert len(found) <= 12


def test_a_unit_needs_limits_and_a_step(db: None) -> None:

    for broken in ({"measure_step": None}, {"measure_step": 0}, {"measure_low": None}, {"measure_high": 1}):
        with transaction.atomic(), pytest.raises(IntegrityError):
            make_skill(**STANCE | broken)
    with transaction.atomic(), pytest.raises(IntegrityError):
        make_skill(**WEIGHT | {"measure_usual_low": None})
    assert not Skill.objects.exists()
