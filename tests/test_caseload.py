"""The manager's Monday: every coach's numbers, and one coach's students."""

import csv
import io
import re
import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Care, Coach, Student
from coachbook.caseload.care.assignments import move_student
from coachbook.caseload.counts import CaseloadTotals, days_outside, practice_words
from coachbook.caseload.gather import Caseload, gather_caseload, students_by_coach
from coachbook.csv_file import safe_cell
from coachbook.diary.models import Appointment
from drills.models import Drill, PracticeEntry, Prescription
from lessons.models import Focus, Lesson, Session
from tests.conftest import Cast
from tests.make import make_care, make_coach, make_fault, make_lesson, make_pause, make_skill, make_student

Clients = Callable[[str], Client]
ON = date(2026, 6, 1)  # the day from which make_lesson counts back
NOTHING = CaseloadTotals(students=0, lessons=0, asked=0, reported=0, overdue=0, unseen=0, drafts=0)


def ago(days: int, on: date = ON) -> date:
    return on - timedelta(days=days)


def held(student: Student, coach: Coach, days: int, *, on: date = ON, **values: Any) -> Lesson:
    """A finished lesson at the noon of a day so many days ago."""
    at = datetime.combine(ago(days, on), time(12), tzinfo=UTC)
    session = Session.objects.create(coach=coach, starts_at=at)
    lesson = Lesson.for_student(student, session, **{"status": "complete", "completed_at": at, **values})
    lesson.save()
    return lesson


def given(lesson: Lesson, *, days: int = 14, per_week: int = 3, name: str = "Hands apart") -> Prescription:
    """A focus with a drill, from the lesson's own day on."""
    fault, begins = make_fault(make_skill(), name=name), lesson.session.starts_at.date()
    slot = 1 + Focus.objects.filter(student=lesson.student).count()
    focus = Focus.objects.create(student=lesson.student, slot=slot, area="putting", fault=fault, opened_in=lesson)
    words = dict.fromkeys(["name", "purpose", "equipment", "setup", "feel", "mark", "tip", "caution"], "x")
    drill = Drill.objects.create(code=f"drill-{uuid.uuid4()}", area="putting", steps=["x"], dose_amount=10, **words)
    dose = {"amount": 10, "per_week": per_week, "days": days, "begins": begins}
    links = {"student": lesson.student, "lesson": lesson, "focus": focus, "drill": drill}
    return Prescription.objects.create(**links, **dose, review_on=begins + timedelta(days=days))


def reported(prescription: Prescription, *days: int, **values: Any) -> None:
    for number in days:
        day = prescription.begins + timedelta(days=number)
        PracticeEntry.objects.create(prescription=prescription, day=day, amount=10, **values)


def counted(cast: Cast, days: int = 60) -> Caseload:
    return gather_caseload(cast.academy, ON, days)


def sums_of(cast: Cast, coach: Coach, days: int = 60) -> CaseloadTotals:
    return next(row.sums for row in counted(cast, days).rows if row.coach == coach)


def today(cast: Cast) -> date:
    return cast.academy.today(timezone.now())


def page_of(client: Client, coach: Coach, **asked: str) -> str:
    return client.get(reverse("coach_caseload", args=[coach.user.key]), asked).content.decode()


# --- Who may look -------------------------------------------------------------------------------


def test_a_manager_sees_every_coach_by_name_and_nobody_else_sees_any(cast: Cast, as_: Clients) -> None:
    page = as_("manager").get(reverse("caseload")).content.decode()
    names = ["Bram Saltquill", "Cai Meadowtwine", "Ida Fernkettle", "Noor Appleknot", "All together"]
    assert [page.index(f"{name}<") for name in names] == sorted(page.index(f"{name}<") for name in names)
    for actor in ("student", "guardian", "coach", "cover", "assistant"):
        assert as_(actor).get(reverse("caseload")).status_code == 403
        assert as_(actor).get(reverse("coach_caseload", args=[cast.coach.user.key])).status_code == 403
    assert as_("anonymous").get(reverse("caseload")).status_code == 302


def test_a_caseload_is_only_read(cast: Cast, as_: Clients) -> None:
    assert as_("manager").post(reverse("caseload")).status_code == 405
    assert as_("manager").post(reverse("coach_caseload", args=[cast.coach.user.key])).status_code == 405


def test_only_a_coach_has_a_caseload(cast: Cast, as_: Clients) -> None:
    for key in (uuid.uuid4(), cast.student.user.key, cast.manager.key):
        assert as_("manager").get(reverse("coach_caseload", args=[key])).status_code == 404
    assert as_("manager").get("/caseload/ida/").status_code == 404


# --- The numbers --------------------------------------------------------------------------------


def test_every_number_of_a_small_academy(cast: Cast) -> None:
    """By hand. Alder: 14 days at 3 a week are 6 sessions, 2 reported, review due 26 days ago. Fern: day 4 of 28 at 3
    a week, 12/7, so 1 session asked. Ewan was never seen, and is in_care_since since 2020. Dora came ten days ago."""
    ida, alder = cast.coach, cast.student
    old = given(held(alder, ida, 40))
    reported(old, 0, 3, 3)
    reported(old, 5, is_void=True)
    bryn = make_student("Bryn Oatling", coach=ida)
    make_pause(bryn, since=ago(60))
    held(bryn, ida, 100)
    held(make_student("Clem Hazelwax", coach=ida, status="left"), ida, 100)
    make_care(ida, make_student("Dora Wetherknit"), since=ago(10))
    ewan = make_student("Ewan Starknot", coach=ida)
    given(held(make_student("Fern Larchreed", coach=ida), ida, 3), days=28)
    make_lesson(ewan, ida, days_ago=3)
    make_lesson(alder, ida, days_ago=2)

    totals = CaseloadTotals(students=5, lessons=1, asked=7, reported=2, overdue=1, unseen=1, drafts=2)
    assert sums_of(cast, ida) == totals
    assert sums_of(cast, cast.cover) == NOTHING
    assert sums_of(cast, cast.other_coach) == CaseloadTotals(**{**vars(NOTHING), "students": 1, "unseen": 1})
    assert counted(cast).total == CaseloadTotals(**{**vars(totals), "students": 6, "unseen": 2})


@pytest.mark.parametrize(("days", "lessons"), [(0, 1), (29, 1), (30, 0)])
def test_thirty_days_are_counted_with_today(days: int, lessons: int, cast: Cast) -> None:
    held(cast.student, cast.coach, days)
    assert sums_of(cast, cast.coach).lessons == lessons


@pytest.mark.parametrize(
    "values",
    [{"status": "draft", "completed_at": None}, {"attendance": "absent"}],
    ids=["a draft", "did not come"],
)
def test_neither_a_draft_nor_an_empty_hour_is_a_lesson(values: dict[str, Any], cast: Cast) -> None:
    held(cast.student, cast.coach, 1, **values)
    assert (sums_of(cast, cast.coach).lessons, sums_of(cast, cast.coach).unseen) == (0, 1)


def test_a_clip_that_was_sent_in_is_not_a_visit(cast: Cast) -> None:
    lesson = held(cast.student, cast.coach, 1)
    Session.objects.filter(lessons=lesson).update(kind="clip")
    assert (sums_of(cast, cast.coach).lessons, sums_of(cast, cast.coach).unseen) == (0, 1)


def test_a_stand_in_has_the_lesson_and_the_main_coach_the_student(cast: Cast) -> None:
    held(cast.student, cast.cover, 5)
    main, cover = sums_of(cast, cast.coach), sums_of(cast, cast.cover)
    assert (main.students, main.lessons, main.unseen) == (1, 0, 0)
    assert (cover.students, cover.lessons) == (0, 1)


@pytest.mark.parametrize(("days", "unseen"), [(59, 0), (60, 1)])
def test_not_seen_for_sixty_days(days: int, unseen: int, cast: Cast) -> None:
    held(cast.student, cast.coach, days)
    assert sums_of(cast, cast.coach, days=60).unseen == unseen


@pytest.mark.parametrize(("status", "unseen"), [("active", 1), ("left", 0)])
def test_nobody_expects_a_student_who_left(status: str, unseen: int, cast: Cast) -> None:
    held(cast.student, cast.coach, 90)
    Student.objects.filter(pk=cast.student.pk).update(status=status)
    assert sums_of(cast, cast.coach).unseen == unseen


@pytest.mark.parametrize(
    ("since", "until", "waits"),
    [
        (50, None, 0),  # no end in sight
        (0, None, 0),  # from today on
        (1, 0, 0),  # today is the last day
        (-1, None, 1),  # from tomorrow on
        (2, 1, 1),  # until yesterday: two days of ninety
    ],
)
def test_who_pauses_is_neither_unseen_nor_overdue(since: int, until: int | None, waits: int, cast: Cast) -> None:
    given(held(cast.student, cast.coach, 90), days=14)
    make_pause(cast.student, since=ago(since), until=None if until is None else ago(until))
    totals = sums_of(cast, cast.coach)
    assert (totals.unseen, totals.overdue) == (waits, waits)


@pytest.mark.parametrize(("days", "unseen"), [(89, 0), (90, 1)])
def test_the_days_of_a_pause_do_not_count_as_unseen(days: int, unseen: int, cast: Cast) -> None:
    """Thirty days of pause, the first and the last counted, are taken off: 90 days are 60 then."""
    held(cast.student, cast.coach, days)
    make_pause(cast.student, since=ago(40), until=ago(11))
    assert sums_of(cast, cast.coach, days=60).unseen == unseen


def test_the_pause_of_one_student_excuses_no_other(cast: Cast) -> None:
    held(cast.student, cast.coach, 90)
    make_pause(cast.other_student, since=ago(50))
    assert sums_of(cast, cast.coach).unseen == 1


@pytest.mark.parametrize(
    ("spans", "days"),
    [
        ([], 30),
        ([(10, 5)], 24),  # the tenth day before and the fifth both count: six days
        ([(10, 5), (7, 3)], 22),  # two pauses that overlap count once
        ([(10, 5), (10, 5)], 24),
        ([(100, 60)], 30),  # over before the lesson
        ([(40, 30)], 30),  # the day of the lesson itself is no unseen day
        ([(40, 29)], 29),
        ([(3, None)], 26),  # today and the three days before
        ([(3, -20)], 26),  # planned on past today
        ([(-1, None)], 30),  # not yet
        ([(99, None)], 0),
    ],
)
def test_days_without_those_of_a_pause(spans: list[tuple[int, int | None]], days: int) -> None:
    pauses = [(ago(first), None if last is None else ago(last)) for first, last in spans]
    assert days_outside(ago(30), ON, pauses) == days


@pytest.mark.parametrize(("days", "drafts"), [(0, 1), (1, 1), (2, 1), (300, 1)])
def test_a_log_counts_as_not_finished_from_the_day_of_its_lesson(days: int, drafts: int, cast: Cast) -> None:
    make_lesson(cast.student, cast.coach, days_ago=days)
    assert sums_of(cast, cast.coach).drafts == drafts


@pytest.mark.parametrize(("days_ago", "overdue"), [(13, 0), (14, 0), (15, 1)])
def test_a_review_is_overdue_the_day_after_it_was_due(days_ago: int, overdue: int, cast: Cast) -> None:
    given(held(cast.student, cast.coach, days_ago), days=14)
    assert sums_of(cast, cast.coach).overdue == overdue


@pytest.mark.parametrize(("seen", "overdue"), [(7, 1), (6, 0), (1, 0)])
def test_a_lesson_on_the_review_day_or_after_it_is_the_review(seen: int, overdue: int, cast: Cast) -> None:
    given(held(cast.student, cast.coach, 20), days=14)  # due 6 days ago
    held(cast.student, cast.coach, seen)
    assert sums_of(cast, cast.coach).overdue == overdue


def test_what_a_draft_gives_or_what_has_ended_waits_for_no_review(cast: Cast) -> None:
    given(held(cast.student, cast.coach, 40, status="draft", completed_at=None))
    ended = given(held(cast.student, cast.coach, 40))
    ended.ended_on = ago(30)
    ended.save()
    assert (sums_of(cast, cast.coach).overdue, sums_of(cast, cast.coach).asked) == (0, 0)


@pytest.mark.parametrize(
    ("asked", "practice_reported", "words"),
    [
        (60, 34, "34 of 60 sessions reported"),
        (60, 0, "not reported"),
        (0, 0, "nothing given"),
        (1, 1, "1 of 1 session reported"),
        (0, 2, "2 sessions reported"),
        (3, 5, "5 of 3 sessions reported"),
    ],
)
def test_practice_in_words(asked: int, practice_reported: int, words: str) -> None:
    assert practice_words(asked, practice_reported) == words


def test_a_day_is_the_academys_own(cast: Cast) -> None:
    """23:30 in universal time on the last of May is half past midnight in Dublin's summer, on the first of June."""
    lesson = held(cast.student, cast.coach, 1)
    Session.objects.filter(lessons=lesson).update(starts_at=datetime(2026, 5, 31, 23, 30, tzinfo=UTC))
    assert students_by_coach(cast.academy, ON)[cast.coach.pk][0].last == ON
    assert students_by_coach(cast.academy, ago(1))[cast.coach.pk][0].last is None


def test_a_student_whom_two_coaches_share_is_counted_once_in_all(cast: Cast) -> None:
    cast.student.cares.filter(role="main").update(putting=False)
    make_care(cast.other_coach, cast.student, chipping=False, pitching=False, bunker=False)
    given(held(cast.student, cast.coach, 40))
    found = counted(cast)
    assert [sums_of(cast, coach).overdue for coach in (cast.coach, cast.other_coach)] == [1, 1]
    assert (found.total.students, found.total.overdue, found.total.asked, found.shared) == (2, 1, 6, 1)


def test_a_closed_account_is_named_only_while_students_are_in_its_care(cast: Cast, as_: Clients) -> None:
    for coach in (cast.coach, cast.assistant):
        coach.user.is_active = False
        coach.user.save()
    page = as_("manager").get(reverse("caseload")).content.decode()
    assert "The account of Ida Fernkettle is closed, and" in page and "Noor Appleknot" not in page
    assert counted(cast).total.students == 1
    assert "Alder Quimble" in page_of(as_("manager"), cast.coach)
    Student.objects.filter(pk=cast.student.pk).update(status="left")
    assert "Ida Fernkettle" not in as_("manager").get(reverse("caseload")).content.decode()


def test_an_academy_without_a_coach_says_what_comes_first(cast: Cast, as_: Clients) -> None:
    Care.objects.all().delete()
    Coach.objects.all().delete()
    assert "No coach yet" in as_("manager").get(reverse("caseload")).content.decode()


def test_every_number_leads_to_its_details(cast: Cast, as_: Clients) -> None:
    given(held(cast.student, cast.coach, 70, on=today(cast)))
    page = as_("manager").get(reverse("caseload"), {"days": "65"}).content.decode()
    row = page.split("Ida Fernkettle")[1].split("</tr>")[0]
    links = [link.replace("&amp;", "&") for link in re.findall(r'href="([^"]+)"', row)]
    assert len(links) == 6 and len(re.findall("<td ", row)) == 7  # the weeks are a picture, their numbers below it
    for link in links:
        address, _, anchor = link.partition("#")
        assert f'id="{anchor}"' in as_("manager").get(address).content.decode()
    assert [link for link in links if "show=unseen&days=65" in link]
    assert "not reported does not mean not done." in page


# --- Not seen for how many days -----------------------------------------------------------------


def test_the_academys_own_rule_holds_until_another_is_asked_for(cast: Cast, as_: Clients) -> None:
    cast.academy.not_seen_days = 45
    cast.academy.save()
    held(cast.student, cast.coach, 50, on=today(cast))
    held(cast.other_student, cast.other_coach, 20, on=today(cast))
    usual = as_("manager").get(reverse("caseload"))
    assert "Not seen for 45 days" in usual.content.decode() and usual.context["caseload"].total.unseen == 1
    asked = as_("manager").get(reverse("caseload"), {"days": "20"})
    assert "Not seen for 20 days" in asked.content.decode() and asked.context["caseload"].total.unseen == 2


@pytest.mark.parametrize("days", ["abc", "0", "-3", "", "1.5", "1001", "9" * 30, "<b>"])
def test_days_that_cannot_be_are_said_and_the_usual_ones_shown(days: str, cast: Cast, as_: Clients) -> None:
    for address in (reverse("caseload"), reverse("coach_caseload", args=[cast.coach.user.key])):
        answer = as_("manager").get(address, {"days": days})
        page = answer.content.decode()
        assert answer.status_code == 200 and "Not seen for 60 days" in page
        assert "is not a number of days from 1 to 1000. Shown for 60." in page and "<b>" not in page


def test_the_summary_of_problems_leads_to_the_days(cast: Cast, as_: Clients) -> None:
    page = as_("manager").get(reverse("caseload"), {"days": "abc"}).content.decode()
    assert "To put right" in page and 'href="#id_days"' in page and 'id="id_days"' in page
    assert "To put right" not in as_("manager").get(reverse("caseload"), {"days": "20"}).content.decode()


# --- One coach's students -----------------------------------------------------------------------


def test_a_coachs_students_with_what_waits(cast: Cast, as_: Clients) -> None:
    on = today(cast)
    lesson = held(cast.student, cast.coach, 20, on=on, practice_reported="none")
    given(lesson, name="{Trail} hand presses")
    Focus.objects.create(
        student=cast.student,
        slot=2,
        area="putting",
        what="Ball {forward}",
        kind="trial",
        opened_in=lesson,
        decide_on=on,
    )
    page = page_of(as_("manager"), cast.coach)
    assert f'<a href="{reverse("student", args=[cast.student.key])}">Alder Quimble</a>' in page
    assert f"{ago(20, on):%-d %b %Y}" in page
    assert "Trail hand presses" in page and "trial: Ball {forward}" in page
    assert "not reported" in page and "at arrival: none" in page
    assert f"overdue since {ago(6, on):%-d %b %Y}" in page
    assert f"{reverse('student_move', args=[cast.student.key])}?from={cast.coach.user.key}" in page


def test_not_reported_is_told_apart_from_none_and_from_not_asked(cast: Cast, as_: Clients) -> None:
    on = today(cast)
    lesson = held(cast.student, cast.coach, 10, on=on)
    page = page_of(as_("manager"), cast.coach)
    assert "nothing given" in page and "at arrival: not asked" in page and "no drill given" in page
    given(lesson)
    Lesson.objects.filter(pk=lesson.pk).update(practice_reported="most")
    page = page_of(as_("manager"), cast.coach)
    assert "not reported" in page and "at arrival: most" in page and "none" not in page
    assert f"due {ago(-4, on):%-d %b %Y}" in page


def test_what_was_told_last_counts_and_not_what_was_told_before(cast: Cast, as_: Clients) -> None:
    held(cast.student, cast.coach, 20, on=today(cast), practice_reported="all")
    held(cast.student, cast.coach, 10, on=today(cast), practice_reported="some")
    page = page_of(as_("manager"), cast.coach)
    assert "at arrival: some" in page and "at arrival: all" not in page


def test_a_student_who_never_came_was_never_asked(cast: Cast, as_: Clients) -> None:
    page = page_of(as_("manager"), cast.coach)
    assert "never" in page and "at arrival:" not in page and "no open focus" in page


def test_a_focus_of_an_unfinished_lesson_or_a_closed_one_is_not_worked_on(cast: Cast, as_: Clients) -> None:
    given(held(cast.student, cast.coach, 5, on=today(cast), status="draft", completed_at=None), name="Squeezing")
    lesson = held(cast.student, cast.coach, 4, on=today(cast))
    Focus.objects.filter(pk=given(lesson, name="Hands low").focus.pk).update(closed_in=lesson)
    page = page_of(as_("manager"), cast.coach)
    assert "Squeezing" not in page and "Hands low" not in page and "no open focus" in page


def test_a_review_due_today_is_due_and_not_overdue(cast: Cast, as_: Clients) -> None:
    given(held(cast.student, cast.coach, 14, on=today(cast)), days=14)
    assert "due today" in page_of(as_("manager"), cast.coach)


def test_a_list_shows_those_it_is_asked_for(cast: Cast, as_: Clients) -> None:
    on = today(cast)
    given(held(make_student("Bryn Oatling", coach=cast.coach), cast.coach, 40, on=on))
    held(make_student("Clem Hazelwax", coach=cast.coach), cast.coach, 90, on=on)
    held(cast.student, cast.coach, 5, on=on)

    def shown(**asked: str) -> list[str]:
        table = page_of(as_("manager"), cast.coach, **asked).split("<table")[1].split("</table>")[0]
        return [name for name in ("Alder Quimble", "Bryn Oatling", "Clem Hazelwax") if f"{name}</a>" in table]

    assert shown() == shown(show="all") == shown(show="nonsense") == ["Alder Quimble", "Bryn Oatling", "Clem Hazelwax"]
    assert shown(show="overdue") == ["Bryn Oatling"]
    assert shown(show="unseen") == ["Clem Hazelwax"]
    assert shown(show="unseen", days="30") == ["Bryn Oatling", "Clem Hazelwax"]
    assert "No student here" in page_of(as_("manager"), cast.other_coach, show="overdue")
    assert "This coach has no students today" in page_of(as_("manager"), cast.cover)


def test_the_lessons_and_drafts_that_were_counted_are_listed(cast: Cast, as_: Clients) -> None:
    on = today(cast)
    held(cast.student, cast.cover, 5, on=on)
    held(cast.other_student, cast.cover, 35, on=on)
    held(cast.other_student, cast.cover, 8, on=on, status="draft", completed_at=None)
    page = page_of(as_("manager"), cast.cover)
    lessons, drafts = page.split('id="lessons"')[1].split('id="drafts"')
    assert "Alder Quimble" in lessons and "Petra Sallowpipit" not in lessons and f"{ago(5, on):%-d %B %Y}" in lessons
    assert "Petra Sallowpipit" in drafts and "Alder Quimble" not in drafts


def test_a_paused_student_and_a_move_to_come_are_said(cast: Cast, as_: Clients) -> None:
    make_pause(cast.student, since=today(cast))
    since = today(cast) + timedelta(days=10)
    move_student(student=cast.student, to=cast.other_coach, since=since, by=cast.manager)
    page = page_of(as_("manager"), cast.coach)
    assert "paused" in page and f"in this care until {ago(1, since):%-d %b %Y}" in page


def test_many_coaches_and_students_cost_no_more_queries(cast: Cast, as_: Clients) -> None:
    addresses = [reverse("caseload"), reverse("coach_caseload", args=[cast.coach.user.key])]
    addresses.append(reverse("student_move", args=[cast.student.key]))

    def queries() -> list[int]:
        found = []
        for address in addresses:
            with CaptureQueriesContext(connection) as captured:
                assert as_("manager").get(address).status_code == 200
            assert len(captured) <= 12
            found.append(len([row for row in captured if "accounts_recordview" not in row["sql"]]))
        return found

    given(held(cast.student, cast.coach, 3, on=today(cast)))
    as_("manager").get(reverse("account"))
    queries()  # signing in has queries of its own, and what is read first that day leaves a row
    few = queries()
    for coach in [cast.coach, *(make_coach() for _ in range(5))]:
        for days in range(5):
            reported(given(held(make_student(coach=coach), coach, days, on=today(cast))), 0)
    assert queries() == few and max(few) <= 12


# --- As a file ------------------------------------------------------------------------------------


def lines_of(client: Client, **asked: str) -> list[list[str]]:
    """The file as a spreadsheet reads it."""
    answer = client.get(reverse("caseload_file"), asked)
    assert answer.headers["Content-Type"].startswith("text/csv") and "no-store" in answer.headers["Cache-Control"]
    assert answer.headers["Content-Disposition"].startswith('attachment; filename="caseload-')
    content = answer.content.decode("utf-8-sig")
    assert answer.content.startswith(b"\xef\xbb\xbf") and content.endswith("\r\n")
    return list(csv.reader(io.StringIO(content, newline="")))


def test_the_caseload_is_a_file_for_a_spreadsheet(cast: Cast, as_: Clients) -> None:
    """RFC 4180: CRLF ends a line, quotes hold commas and quotes; an apostrophe stands before a formula."""
    odd = make_student('Wren "Tiny", of =SUM', coach=cast.coach)
    formula = make_student("=HYPERLINK(1)", coach=cast.coach)
    row = Appointment.objects.create(
        coach=cast.coach, starts_at=timezone.now() + timedelta(days=3), made_by=cast.coach.user
    )
    row.students.add(odd)
    head, *rows = lines_of(as_("manager"), coach=str(cast.coach.user.key))
    assert head[:2] == ["Student", "Coach"] and {len(line) for line in rows} == {len(head)}
    found = {line[0]: dict(zip(head, line, strict=True)) for line in rows}
    assert set(found) == {cast.student.name, odd.name, "'=HYPERLINK(1)"} and formula.name not in found
    assert found[odd.name]["Next lesson"] == cast.academy.today(row.starts_at).isoformat()
    assert found[odd.name]["Coach"] == str(cast.coach)
    everybody = {line[0] for line in lines_of(as_("manager"))[1:]}
    assert everybody > set(found) and as_("coach").get(reverse("caseload_file")).status_code == 403
    assert as_("manager").get(reverse("caseload_file"), {"coach": "odd"}).status_code == 404


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_no_cell_is_a_formula(start: str) -> None:
    assert safe_cell(f"{start}1+1") == f"'{start}1+1" and safe_cell(f"1{start}1") == f"1{start}1"


def test_the_file_asks_the_same_of_the_database_for_any_number_of_coaches(cast: Cast, as_: Clients) -> None:
    client, counts = as_("manager"), []
    for number in range(3):
        make_student(f"Student {number}", coach=make_coach(f"Coach {number}"))
        with CaptureQueriesContext(connection) as queries:
            client.get(reverse("caseload_file"))
        counts.append(len([row for row in queries.captured_queries if "accounts_recordview" not in row["sql"]]))
    assert counts[1] == counts[2] <= 12, counts
