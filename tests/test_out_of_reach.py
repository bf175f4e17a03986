"""What a coach sees of students who have gone to another coach: that there was somebody, and no name."""

import uuid
from collections.abc import Callable
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.diary.calendar.feed import new_link
from coachbook.diary.models import Appointment
from coachbook.loop.sheets.issue import issue_sheet
from lessons.models import Lesson, Reader, Session
from tests.conftest import Cast
from tests.crawl import crawl, pdf_text
from tests.make import academy_today, make_lesson, make_student, this_time

Clients = Callable[[str], Client]
GONE = "Wren Canarybird"
BORN = 2014


@pytest.fixture
def gone(cast: Cast) -> Student:
    """A child whom the coach taught a week ago, alone and in a group, and who has had another coach since."""
    child = make_student(GONE, coach=cast.coach, account=False, birth_year=BORN)
    for kind in (Session.Kind.LESSON, Session.Kind.GROUP):
        taught(child, cast, kind)
    group = Session.objects.get(kind=Session.Kind.GROUP)
    Lesson.for_student(cast.student, group, status="complete", completed_at=timezone.now()).save()
    row = Appointment.objects.create(coach=cast.coach, starts_at=this_time(days_ago=7), made_by=cast.coach.user)
    row.students.set([child, cast.student])
    child.cares.update(until=date(2020, 1, 2))
    return child


def taught(child: Student, cast: Cast, kind: Session.Kind) -> None:
    lesson = make_lesson(child, cast.coach, status="complete", completed_at=timezone.now(), keep="canary-words")
    lesson.session.starts_at, lesson.session.kind = this_time(days_ago=7), kind
    lesson.session.save()
    issue_sheet(lesson=lesson, at=timezone.now())


def group_pages() -> dict[str, str]:
    key = Session.objects.get(kind=Session.Kind.GROUP).key
    return {name: reverse(name, args=[key]) for name in ("group", "group_sheets", "group_pdf")}


def old_days() -> list[str]:
    day = academy_today().fromordinal(academy_today().toordinal() - 7)
    return [f"{reverse(name)}?day={day}" for name in ("day", "week")]


def test_old_days_and_weeks_name_only_those_within_reach(gone: Student, cast: Cast, as_: Clients) -> None:
    for page in old_days():
        words = as_("coach").get(page).content.decode()
        assert GONE not in words and str(gone.key) not in words, page
        assert "A student" in words and "no longer one of your students" in words and cast.student.name in words
        assert GONE in as_("manager").get(f"{page}&coach={cast.coach.user.key}").content.decode()


def test_an_adult_who_has_gone_is_not_named_either(gone: Student, as_: Clients) -> None:
    Student.objects.filter(pk=gone.pk).update(birth_year=1980)
    for page in (*old_days(), group_pages()["group"]):
        assert GONE not in as_("coach").get(page).content.decode(), page


def test_an_old_group_names_only_those_within_reach_and_shows_no_sheet_of_others(
    gone: Student, cast: Cast, as_: Clients
) -> None:
    pages, sheet = group_pages(), str(gone.lessons.get(session__kind="group").sheets.get().key)
    for name in ("group", "group_sheets"):
        words = as_("coach").get(pages[name]).content.decode()
        assert GONE not in words and str(gone.key) not in words and sheet not in words, name
    group = as_("coach").get(pages["group"]).content.decode()
    assert "A student" in group and cast.student.name in group
    assert as_("coach").get(pages["group_pdf"]).status_code == 302, "there is no sheet within reach"
    assert GONE in as_("manager").get(pages["group_sheets"]).content.decode()


def test_the_paper_of_a_group_holds_the_sheets_within_reach_alone(gone: Student, cast: Cast, as_: Clients) -> None:
    own = cast.student.lessons.get()
    own.keep = "own-words"
    own.save()
    issue_sheet(lesson=own, at=timezone.now())
    papers = {actor: pdf_text(as_(actor).get(group_pages()["group_pdf"]).content) for actor in ("coach", "manager")}
    assert "own-words" in papers["coach"] and "canary-words" not in papers["coach"] and GONE not in papers["coach"]
    assert "own-words" in papers["manager"] and "canary-words" in papers["manager"]


def test_a_namesake_within_reach_gives_no_year_away(gone: Student, cast: Cast, as_: Clients) -> None:
    Student.objects.filter(pk=cast.student.pk).update(name=GONE)
    for name in ("group", "group_sheets"):
        assert str(BORN) not in as_("coach").get(group_pages()[name]).content.decode()
    form = {"name": GONE, "putting_side": "right"}
    answer = as_("coach").post(reverse("walk_in", args=[uuid.uuid4()]), form)
    assert answer.status_code == 422 and str(BORN) not in answer.content.decode()


def test_a_calendar_program_reads_no_name_of_one_who_has_gone(gone: Student, cast: Cast) -> None:
    Student.objects.filter(pk=gone.pk).update(birth_year=1980)
    alone = Appointment.objects.create(coach=cast.coach, starts_at=this_time(days_ago=8), made_by=cast.coach.user)
    alone.students.set([gone])
    feed = Client().get(reverse("calendar_feed", args=[new_link(cast.coach, timezone.now())]))
    words = feed.content.decode().replace("\r\n ", "")
    assert GONE not in words and "W.C." not in words and "Lesson: a student" in words and "Lesson: A.Q." in words


@pytest.mark.long
def test_wherever_the_coach_goes_the_name_is_nowhere(gone: Student, as_: Clients) -> None:
    pages = dict(crawl(as_("coach")))
    for page in old_days():
        pages |= dict(crawl(as_("coach"), page))
    assert len(pages) > 20
    assert [page for page, words in pages.items() if GONE in words or str(gone.key) in page] == []


def test_whoever_reads_a_note_is_named_where_it_is_written(cast: Cast, as_: Clients) -> None:
    assert Reader.COACH.label == "me and the managers"
    log = reverse("lesson", args=[cast.student.key, uuid.uuid4()])
    assert "me and the managers" in as_("coach").get(log).content.decode()
