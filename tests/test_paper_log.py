"""The paper log: one page for every student, what stands on it, and what does not."""

import ctypes
import logging
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from itertools import product

import pypdfium2
import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from coachbook.accounts.models import Area, Student
from coachbook.diary.models import Appointment
from lessons.models import Focus, Skill
from tests.conftest import Cast
from tests.crawl import Reader, pdf_text
from tests.make import make_fault, make_lesson, make_skill
from tests.test_progress import DONE

Clients = Callable[[str], Client]
NOW = datetime(2026, 6, 8, 9, tzinfo=UTC)
SIZES = {"A4": (595, 842), "Letter": (612, 792)}  # ISO 216: 210 by 297 mm; ANSI/ASME Y14.1: 8.5 by 11 in; in points


@pytest.fixture(autouse=True)
def june(cast: Cast) -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def student(cast: Cast) -> Student:
    """Who came for putting and bunker, works on two things, and comes again in two days."""
    for area in Area:
        make_skill(area=area, name=f"The {area} skill")
    lesson = make_lesson(cast.student, cast.coach, **DONE, putting=True, bunker=True, chipping=False, pitching=False)
    fault = make_fault(Skill.objects.get(area="putting"), name="{Lead} hand stops", feel="The {lead} hand is soft.")
    about = {"student": cast.student, "opened_in": lesson}
    Focus.objects.create(**about, slot=1, area="putting", fault=fault)
    Focus.objects.create(**about, slot=2, area="bunker", what="Splash it out", feel="Like a skimmed stone")
    row = Appointment.objects.create(coach=cast.coach, starts_at=NOW + timedelta(days=2), made_by=cast.coach.user)
    row.students.set([cast.student])
    return cast.student


def words_of(client: Client, name: str, *args: object, **query: object) -> str:
    """What a page says, or a PDF."""
    answer = client.get(reverse(name, args=args), query)
    assert answer.status_code == 200
    if answer.headers["Content-Type"] == "application/pdf":
        return pdf_text(answer.content)
    return Reader(answer.content.decode().split("<article")[1]).text


@pytest.mark.parametrize("name", ["paper_log", "paper_log_pdf"])
def test_it_holds_name_and_day_the_open_focuses_and_the_skills_of_the_last_areas(
    name: str, student: Student, as_: Clients
) -> None:
    words = words_of(as_("coach"), name, student.key)
    for text in (
        *("Alder Quimble", "Wednesday 10 June 2026", "Ida Fernkettle", "× Putting", "× Bunker"),
        *("Putting: Lead hand stops", "The lead hand is soft.", "Bunker: Splash it out", "Like a skimmed stone"),
        *("The putting skill", "The bunker skill", "On arrival", "On departure", "keep it open", "close it"),
        *("Keep", "Work on", "Drill", "Dose", "Plan for next time"),
    ):
        assert text in words, text
    assert "The chipping skill" not in words and "× Chipping" not in words


@pytest.mark.parametrize("name", ["paper_log_blank", "paper_log_blank_pdf"])
def test_a_blank_one_holds_the_skills_of_every_area_and_nobodys_name(name: str, student: Student, as_: Clients) -> None:
    words = words_of(as_("coach"), name)
    assert all(f"The {area} skill" in words for area in Area) and "×" not in words
    assert "Alder" not in words and "hand stops" not in words and "June" not in words


@pytest.mark.parametrize("name", ["paper_log", "paper_log_pdf", "paper_log_blank", "paper_log_blank_pdf"])
def test_other_areas_can_be_chosen(name: str, student: Student, as_: Clients) -> None:
    args = [] if "blank" in name else [student.key]
    words = words_of(as_("coach"), name, *args, area=["chipping", "lawn"])
    assert "The chipping skill" in words and "× Chipping" in words
    assert "The putting skill" not in words and "× Putting" not in words


def test_before_a_first_lesson_every_area_is_there_and_name_and_day_alone_are_known(cast: Cast, as_: Clients) -> None:
    for area in Area:
        make_skill(area=area, name=f"The {area} skill")
    words = words_of(as_("coach"), "paper_log", cast.student.key)
    assert "Alder Quimble" in words and all(f"The {area} skill" in words for area in Area) and "×" not in words


def test_what_is_closed_or_belongs_to_a_draft_is_not_on_it(student: Student, cast: Cast, as_: Clients) -> None:
    draft = make_lesson(student, cast.coach, days_ago=-1)
    Focus.objects.create(student=student, opened_in=draft, slot=3, reason="x", area="putting", what="From a draft")
    Focus.objects.filter(slot=2).update(closed_in=Focus.objects.get(slot=2).opened_in)
    words = words_of(as_("coach"), "paper_log", student.key)
    assert "Lead hand stops" in words and "Splash it out" not in words and "From a draft" not in words


def test_neither_notes_nor_pain_nor_the_telephone_stand_on_it(student: Student, as_: Clients) -> None:
    Student.objects.filter(pk=student.pk).update(limits="Sore left wrist", phone="0155501", goal="Break ninety")
    student.lessons.update(note="canary-note", next_time="canary-plan")
    words = words_of(as_("coach"), "paper_log_pdf", student.key)
    assert [word for word in ("Sore", "0155501", "ninety", "canary") if word in words] == []


def test_the_brief_and_the_day_lead_to_it(student: Student, as_: Clients) -> None:
    brief = as_("coach").get(reverse("brief", args=[student.key])).content.decode()
    assert f'href="{reverse("paper_log", args=[student.key])}"' in brief
    assert f'href="{reverse("paper_log_blank")}"' in as_("coach").get(reverse("day")).content.decode()
    page = as_("coach").get(reverse("paper_log", args=[student.key]), {"area": "chipping"}).content.decode()
    assert f'href="{reverse("paper_log_pdf", args=[student.key])}?area=chipping"' in page


# --- One page for every student -----------------------------------------------------------------


def sizes_of(page: pypdfium2.PdfPage) -> set[float]:
    """The size of every letter on a page, in points: that of its font, as the page scales it."""
    letters, found, matrix = page.get_textpage(), set(), pypdfium2.raw.FS_MATRIX()
    for number in range(letters.count_chars()):
        if pypdfium2.raw.FPDFText_IsGenerated(letters, number):  # a space or line end that stands in no PDF
            continue
        assert pypdfium2.raw.FPDFText_GetMatrix(letters, number, ctypes.byref(matrix))
        scale = (matrix.c**2 + matrix.d**2) ** 0.5
        found.add(round(pypdfium2.raw.FPDFText_GetFontSize(letters, number) * scale, 2))
    return found


def make_full(student: Student, skills: int) -> None:
    """As much as can be: a long name, three focuses as long as they may be, and so many skills in each area."""
    Student.objects.filter(pk=student.pk).update(name="Wilhelmina " * 10 + "Tarkle")
    opened = student.lessons.get()
    Focus.objects.filter(slot=2).update(what="Splash it out, " * 13, feel="Like a skimmed stone, " * 13)
    about = {"opened_in": opened, "slot": 3, "reason": "A match", "area": "putting"}
    Focus.objects.create(student=student, **about, what="onelongword" * 18, feel="anotherlongword" * 20)
    student.lessons.update(chipping=True, pitching=True)
    names = [
        (area, f"{area} skill {number:03} with quite a long name to read")
        for area, number in product(Area, range(skills))
    ]
    words = {"phase": "setup", "look": "The hands.", "goal": "They touch."}
    Skill.objects.bulk_create(
        Skill(code=name.replace(" ", "-"), area=area, name=name, position=9, **words) for area, name in names
    )


@pytest.mark.parametrize(("paper", "skills"), [("A4", 0), ("Letter", 0), ("Letter", 25), ("A4", 75), ("Letter", 75)])
def test_it_is_one_page_of_the_academys_paper_in_print_of_seven_points_or_more(
    paper: str, skills: int, student: Student, cast: Cast, as_: Clients
) -> None:
    cast.academy.paper = paper
    cast.academy.save()
    if skills:
        make_full(student, skills)
    answer = as_("coach").get(reverse("paper_log_pdf", args=[student.key]))
    document = pypdfium2.PdfDocument(answer.content)
    assert len(document) == 1
    assert tuple(round(side) for side in document[0].get_size()) == SIZES[paper]
    sizes = sizes_of(document[0])
    document.close()
    assert sizes and min(sizes) >= 7
    words = pdf_text(answer.content)
    shown = sum(f"skill {number:03}" in words for number in range(skills))
    assert "Plan for next time" in words and (shown == skills or "more skills do not fit here" in words)


def test_nothing_is_complained_of_while_it_is_made(
    student: Student, as_: Clients, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        words_of(as_("coach"), "paper_log_pdf", student.key)
    assert [record.message for record in caplog.records if record.name.startswith("weasyprint")] == []


def test_a_machine_without_pdf_says_how_to_print_it(
    student: Student, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("coachbook.pdf.problem", lambda: "Type: apt install something")
    answer = as_("coach").get(reverse("paper_log_pdf", args=[student.key]))
    page = answer.content.decode()
    assert answer.status_code == 503 and "apt install something" in page
    assert f'href="{reverse("paper_log", args=[student.key])}"' in page


def test_it_costs_few_queries(student: Student, as_: Clients, django_assert_max_num_queries: Callable) -> None:
    client = as_("coach")
    with django_assert_max_num_queries(12):
        client.get(reverse("paper_log", args=[student.key]))
