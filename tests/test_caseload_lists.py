"""Behind the manager's numbers: lists sorted and filtered over all coaches, the weeks of each coach, unread counts."""

import csv
import io
import re
from collections.abc import Callable, Sequence
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Coach, Student
from coachbook.caseload.workload import PAST, Workload, workloads
from coachbook.diary.models import Absence, Appointment
from coachbook.family.models import Message
from tests.conftest import Cast
from tests.make import make_care, make_coach, make_lesson, make_pause, make_student
from tests.test_caseload import ago, given, held, reported, today

Clients = Callable[[str], Client]
LISTS = ("caseload_students", "coach_caseload", "caseload_file")


def book(coach: Coach, days: int, *students: Student, status: str = "planned") -> Appointment:
    """An appointment at noon, so many days from today."""
    zone = ZoneInfo("Europe/Dublin")
    day = datetime.combine(timezone.now().astimezone(zone).date() + timedelta(days=days), time(12), tzinfo=zone)
    row = Appointment.objects.create(coach=coach, starts_at=day, made_by=coach.user, status=status)
    row.students.set(students)
    return row


def report(student: Student, cast: Cast, first: int, last: int, reason: str = "ill") -> Absence:
    days = [today(cast) + timedelta(days=number) for number in (first, last)]
    return Absence.objects.create(
        student=student, first_day=days[0], last_day=days[1], reason=reason, reported_by=cast.guardian
    )


def names_in(page: str) -> list[str]:
    """The students of the table, from the top."""
    table = page.split("<table")[1].split("</table>")[0] if "<table" in page else ""
    return re.findall(r'rowheader"><a [^>]*>([^<]+)</a>', table)


def listed(client: Client, **asked: str) -> list[str]:
    answer = client.get(reverse("caseload_students"), asked)
    assert answer.status_code == 200
    return names_in(answer.content.decode())


@pytest.fixture
def students(cast: Cast) -> Sequence[Student]:
    """Four of Ida's beside Alder, who has nothing, and one whom two coaches share."""
    on = today(cast)
    bryn, clem, dora, ewan = (
        make_student(name, coach=cast.coach) for name in ("Bryn Oatling", "Clem Hazelwax", "Dora 100%", "Ewan O’Knot")
    )
    reported(given(held(bryn, cast.coach, 40, on=on)), 0, 3)
    held(clem, cast.coach, 90, on=on)
    given(held(dora, cast.coach, 3, on=on), days=28)
    make_pause(ewan, since=ago(5, on))
    book(cast.coach, 9, bryn)
    book(cast.other_coach, 2, dora)
    report(clem, cast, 3, 5)
    report(bryn, cast, -9, -1)
    dora.cares.update(putting=False)
    make_care(cast.other_coach, dora, chipping=False, pitching=False, bunker=False)
    return [bryn, clem, dora, ewan]


ALL = ["Alder Quimble", "Bryn Oatling", "Clem Hazelwax", "Dora 100%", "Ewan O’Knot", "Petra Sallowpipit"]
A, B, C, D, E, P = ALL


@pytest.mark.parametrize(
    ("sort", "order"),
    [
        ("name", [A, B, C, D, E, P]),
        ("-name", [P, E, D, C, B, A]),
        ("last", [C, B, D, A, E, P]),  # who never came is last in both directions, by name
        ("-last", [D, B, C, A, E, P]),
        ("next", [D, B, A, C, E, P]),
        ("-next", [B, D, A, C, E, P]),
        ("practice", [D, B, A, C, E, P]),  # none of one session, two of six, nothing asked
        ("review", [B, D, A, C, E, P]),
        ("coach", [P, D, A, B, C, E]),  # Cai, Cai and Ida, Ida
    ],
)
def test_a_list_is_sorted_by_links(
    sort: str, order: list[str], cast: Cast, students: Sequence[Student], as_: Clients
) -> None:
    assert listed(as_("manager"), sort=sort) == order
    page = as_("manager").get(reverse("caseload_students"), {"sort": sort}).content.decode()
    other = sort[1:] if sort.startswith("-") else f"-{sort}"
    assert f'href="?{"" if other == "name" else "sort=" + other}"' in page, "the other direction is a tap away"


@pytest.mark.parametrize(
    ("show", "shown"),
    [
        ("all", ALL),
        ("overdue", [B]),
        ("unseen", [A, C, P]),
        ("unbooked", [A, C, P]),  # of one who pauses nobody expects a lesson
        ("absent", [C]),  # what is over is no absence
        ("paused", [E]),
    ],
)
def test_each_count_is_the_number_of_names_behind_it(
    show: str, shown: list[str], cast: Cast, students: Sequence[Student], as_: Clients
) -> None:
    answer = as_("manager").get(reverse("caseload_students"), {"show": show})
    assert names_in(answer.content.decode()) == shown
    choice = next(each for each in answer.context["listing"].filters if each.is_chosen)
    assert choice.number == len(shown)
    assert f'<p class="paper-only">{choice.label}: {len(shown)}. By name, ascending.</p>' in answer.content.decode()


def test_every_total_of_the_caseload_leads_to_as_many_rows(
    cast: Cast, students: Sequence[Student], as_: Clients
) -> None:
    make_lesson(cast.student, cast.coach, days_ago=0)
    held(cast.other_student, cast.other_coach, 4, on=today(cast))
    page = as_("manager").get(reverse("caseload"), {"days": "50"}).content.decode()
    total = page.split("All together")[1].split("</tr>")[0]
    links = re.findall(r'href="([^"]+)">(\d+)<', total)
    assert len(links) == 5  # students, lessons, reviews, not seen, logs
    for address, number in links:
        found = as_("manager").get(address.replace("&amp;", "&"))
        rows = found.context.get("lessons") if "lessons" in address else found.context["listing"].rows
        shown = found.content.decode()
        assert len(rows) == int(number) > 0, address
        assert shown.count('href="/students/') - shown.count("/students.csv") >= int(number), address


def test_every_number_of_a_coach_leads_to_as_many_rows(cast: Cast, students: Sequence[Student], as_: Clients) -> None:
    page = as_("manager").get(reverse("caseload")).content.decode()
    row = page.split(f">{cast.coach.user.name}<")[1].split("</tr>")[0]
    for address, number in re.findall(r'href="([^"]+)">(\d+)<', row):
        context = as_("manager").get(address.split("#")[0].replace("&amp;", "&")).context
        of_anchor = {"lessons": context["lessons"], "drafts": context["drafts"], "students": context["listing"].rows}
        assert len(of_anchor[address.split("#")[1]]) == int(number), address


def test_an_absence_and_the_next_lesson_stand_beside_the_name(
    cast: Cast, students: Sequence[Student], as_: Clients
) -> None:
    page = as_("manager").get(reverse("caseload_students")).content.decode()
    row = page.split("Clem Hazelwax</a>")[1].split("</tr>")[0]
    first, last = (today(cast) + timedelta(days=number) for number in (3, 5))
    assert f"ill {first:%-d %b} to {last:%-d %b}" in " ".join(row.split()) and "not booked" in row
    assert f"{today(cast) + timedelta(days=9):%-d %b %Y}" in page.split("Bryn Oatling</a>")[1].split("</tr>")[0]


def test_the_file_holds_the_same_students_in_the_same_order(
    cast: Cast, students: Sequence[Student], as_: Clients
) -> None:
    for asked in ({"sort": "-last"}, {"show": "unseen", "days": "30"}, {"coach": str(cast.coach.user.key)}):
        page = as_("manager").get(reverse("caseload_students"), asked).content.decode()
        address = re.search(r'href="([^"]+students\.csv[^"]*)"', page)
        assert address
        answer = as_("manager").get(address[1].replace("&amp;", "&"))
        rows = list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"), newline="")))
        assert [row[0] for row in rows[1:]] == names_in(page), asked
        assert len({len(row) for row in rows}) == 1
    assert [row[-1] for row in rows if row[0] == "Clem Hazelwax"] == [
        f"{today(cast) + timedelta(days=3)} to {today(cast) + timedelta(days=5)} ill"
    ]


def test_a_student_of_two_coaches_is_one_line_with_both_names(
    cast: Cast, students: Sequence[Student], as_: Clients
) -> None:
    page = as_("manager").get(reverse("caseload_students")).content.decode()
    assert names_in(page).count(D) == 1
    assert "Cai Meadowtwine, Ida Fernkettle" in page.split(f"{D}</a>")[1].split("</tr>")[0]


@pytest.mark.parametrize("sort", ["size", "--name", "-", "<b>", "name'--", "x" * 5000])
def test_a_column_that_is_none_is_said_and_everybody_is_shown(
    sort: str, cast: Cast, students: Sequence[Student], as_: Clients
) -> None:
    page = as_("manager").get(reverse("caseload_students"), {"sort": sort}).content.decode()
    assert "is no column of this list. Sorted by name." in page and names_in(page) == ALL and "<b>”" not in page
    assert len(page) < 60_000


def test_the_lists_are_for_managers(cast: Cast, as_: Clients) -> None:
    for name in ("caseload_students", "caseload_lessons"):
        for actor, status in {"coach": 403, "guardian": 403, "student": 403, "anonymous": 302}.items():
            assert as_(actor).get(reverse(name)).status_code == status
        assert as_("manager").post(reverse(name)).status_code == 405
    assert as_("manager").get(reverse("caseload_students"), {"coach": "odd"}).status_code == 404


# --- The weeks of a coach -------------------------------------------------------------------------


def weeks_of(cast: Cast, coach: Coach, at: datetime) -> Workload:
    return next(each for each in workloads(Coach.objects.named(), cast.academy, at) if each.coach == coach)


WEDNESDAY = datetime(2026, 6, 3, 10, tzinfo=ZoneInfo("Europe/Dublin"))


def put(coach: Coach, day: date, *students: Student, hour: int = 12) -> Appointment:
    at = datetime.combine(day, time(hour), tzinfo=ZoneInfo("Europe/Dublin"))
    row = Appointment.objects.create(coach=coach, starts_at=at, made_by=coach.user)
    row.students.set(students)
    return row


def test_the_weeks_count_what_was_held_and_what_is_booked(cast: Cast) -> None:
    """By hand: Monday is 1 June. A group of two is one lesson; a draft, and a lesson to which nobody came, is none."""
    alder, ida, monday = cast.student, cast.coach, date(2026, 6, 1)
    two = held(alder, ida, 7)
    held(make_student(), ida, 7)
    second = make_student("Bryn Oatling", coach=ida).lessons.model.for_student(cast.other_student, two.session)
    second.status, second.completed_at = "complete", two.completed_at
    second.save()
    held(alder, ida, 1)  # the Sunday before
    held(alder, ida, 0)
    held(alder, ida, 0, attendance="absent")
    make_lesson(alder, ida, days_ago=0)
    put(ida, monday, alder)  # it has begun
    put(ida, monday + timedelta(days=2), alder)
    put(ida, monday + timedelta(days=6), alder, hour=23)
    put(ida, monday + timedelta(days=7), alder, hour=0)
    put(ida, monday + timedelta(days=8), alder)
    put(ida, monday + timedelta(days=9))  # of nobody
    put(ida, monday + timedelta(weeks=5), alder)  # later than the picture
    Absence.objects.create(
        student=alder, first_day=monday + timedelta(8), last_day=monday + timedelta(8), reported_by=cast.guardian
    )
    found = weeks_of(cast, ida, WEDNESDAY)
    assert [week.first for week in found.weeks][PAST] == monday
    assert [week.held for week in found.weeks] == [0, 0, 0, 0, 0, 3, 1, 0, 0, 0, 0]
    assert [week.booked for week in found.weeks] == [0, 0, 0, 0, 0, 0, 2, 1, 0, 0, 0]
    assert weeks_of(cast, cast.other_coach, WEDNESDAY).words.endswith("booked from this week on 0, 0, 0, 0, 0")


def test_the_bars_have_one_scale_and_words(cast: Cast, as_: Clients) -> None:
    for days in (1, 2, 3, 4):
        held(cast.student, cast.coach, days)
    held(cast.other_student, cast.other_coach, 4)
    tall, small = (
        max(bar.held for bar in weeks_of(cast, each, WEDNESDAY).bars) for each in (cast.coach, cast.other_coach)
    )
    assert (tall, small) == (28, 7)
    assert "held 0, 0, 0, 0, 0, 4, 0, the last" in weeks_of(cast, cast.coach, WEDNESDAY).words


def test_the_weeks_stand_in_a_table_too(cast: Cast, as_: Clients) -> None:
    book(cast.coach, 8, cast.student)
    for page in (reverse("caseload"), reverse("coach_caseload", args=[cast.coach.user.key])):
        text = as_("manager").get(page).content.decode()
        assert 'role="img" aria-label="Lessons a week' in text and "style=" not in text.split("<main")[1]
        table = text.split("The weeks in numbers</summary>")[1].split("</table>")[0]
        assert "0&nbsp;+1" in table and cast.coach.user.name in table


# --- Unread, for a manager ------------------------------------------------------------------------


def test_a_manager_sees_what_is_unread_where_they_start_until_they_read_it(cast: Cast, as_: Clients) -> None:
    Message.objects.create(student=cast.student, written_by=cast.student.user, text="My heel hurts")
    start = as_("manager").get("/", follow=True)
    assert start.redirect_chain[-1][0] == reverse("caseload")
    assert "New from Alder Quimble: 1 message" in start.content.decode()
    row = Message.objects.get()
    as_("manager").post(reverse("messages_read", args=[cast.student.key]), {"message": str(row.pk), "note": "0"})
    assert "1 message" not in as_("manager").get(reverse("caseload")).content.decode()
    assert "New: 1 message" in as_("coach").get(reverse("brief", args=[cast.student.key])).content.decode()


# --- Queries --------------------------------------------------------------------------------------


def test_the_lists_cost_no_more_for_more_people(cast: Cast, students: Sequence[Student], as_: Clients) -> None:
    addresses = [
        reverse("caseload"),
        reverse("coach_caseload", args=[cast.coach.user.key]),
        *(reverse(name) for name in ("caseload_students", "caseload_lessons")),
    ]
    addresses.append(f"{addresses[2]}?coach={cast.coach.user.key}")

    def queries() -> list[int]:
        found = []
        for address in addresses:
            with CaptureQueriesContext(connection) as captured:
                assert as_("manager").get(address).status_code == 200
            assert len(captured) <= 12
            found.append(len([row for row in captured if "accounts_recordview" not in row["sql"]]))
        return found

    as_("manager").get(reverse("account"))  # signing in has queries of its own
    queries()
    few = queries()
    for number in range(4):
        coach = make_coach()
        student = make_student(coach=coach)
        given(held(student, coach, number, on=today(cast)))
        report(student, cast, 1, 2)
        book(coach, 4, student)
        Message.objects.create(student=student, written_by=student.user, text="Hello")
    assert queries() == few, few
