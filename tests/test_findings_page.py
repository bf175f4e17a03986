"""The academy's progress page: the manager's, from the rows that are worked out when a lesson is done."""

import re
from collections import defaultdict
from collections.abc import Callable
from datetime import date, timedelta
from html import unescape

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Coach, Student
from coachbook.caseload.findings.clusters import clusters
from coachbook.caseload.findings.gather import change_groups_since, counted, gather_findings, mixes
from coachbook.caseload.findings.views import months_before
from lessons.models import Fault, Focus, Lesson, MonthCount, Outcome
from lessons.progress.intervals import Share
from tests.conftest import Cast
from tests.make import make_coach, make_fault, make_lesson, make_skill, make_student

Clients = Callable[[str], Client]


@pytest.fixture
def fault(db: None) -> Fault:
    return make_fault(make_skill(name="Weight"), name="Weight on the heels")


def today(cast: Cast) -> date:
    return cast.academy.today(timezone.now())


def done(student: Student, coach: Coach, **values: object) -> Lesson:
    """A finished lesson at this moment."""
    lesson = make_lesson(student, coach, status="complete", completed_at=timezone.now(), **values)
    lesson.session.starts_at = timezone.now()
    lesson.session.save()
    return lesson


def changed(cast: Cast, coach: Coach, student: Student, fault: Fault, verdicts: str, **values: object) -> None:
    """A change for each letter: held, partly, lost."""
    words = {"h": "held", "p": "partly", "l": "lost"}
    for letter in verdicts:
        before, lesson = make_lesson(student, coach), make_lesson(student, coach)
        told = {"day": today(cast), "days": 10, **values}
        links = {"lesson": lesson, "before": before, "student": student, "coach": coach, "fault": fault}
        Outcome.objects.create(**links, verdict=words[letter], **told)


def looked(cast: Cast, coach: Coach, fault: Fault, months_ago: int = 0, **counts: int) -> None:
    MonthCount.objects.create(coach=coach, month=months_before(today(cast), months_ago), fault=fault, **counts)


def page(client: Client, **asked: str) -> str:
    """The words of the page, without tags."""
    answer = client.get(reverse("academy_progress"), asked)
    assert answer.status_code == 200
    main = answer.content.decode().split("<main", 1)[1].split("</main>")[0]
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", main)))


# --- Who, and from when -------------------------------------------------------------------------


def test_the_manager_alone_reads_it(as_: Clients) -> None:
    address = reverse("academy_progress")
    assert as_("manager").get(address).status_code == 200
    for actor in ("coach", "guardian", "student"):
        assert as_(actor).get(address).status_code == 403


def test_the_caseload_leads_to_it(as_: Clients) -> None:
    assert f'href="{reverse("academy_progress")}"' in as_("manager").get(reverse("caseload")).content.decode()


def test_an_empty_academy_is_told_how_the_page_fills(as_: Clients) -> None:
    assert "Nothing to show for this time yet." in page(as_("manager"))
    assert "Nothing to show yet." in page(as_("manager"), months="all")


@pytest.mark.parametrize("months", ["", "0", "-3", "1e9", "twelve", "\0", "12 or 1=1"])
def test_a_time_that_cannot_be_is_the_usual_one(as_: Clients, months: str) -> None:
    answer = as_("manager").get(reverse("academy_progress"), {"months": months})
    assert re.search(r'aria-current="true">\s*12 months', answer.content.decode())


@pytest.mark.parametrize(
    "on, months, since",
    [
        (date(2026, 11, 25), 12, date(2025, 11, 1)),
        (date(2026, 3, 31), 3, date(2025, 12, 1)),
        (date(2026, 12, 1), 12, date(2025, 12, 1)),
        (date(2026, 1, 15), 3, date(2025, 10, 1)),
    ],
)
def test_a_time_begins_with_a_month(on: date, months: int, since: date) -> None:
    assert months_before(on, months) == since


def test_what_lies_before_the_time_is_left_out(cast: Cast, as_: Clients, fault: Fault) -> None:
    changed(cast, cast.coach, cast.student, fault, "hh")
    changed(cast, cast.coach, cast.student, fault, "lll", day=today(cast) - timedelta(days=150))
    looked(cast, cast.coach, fault, looked=4, clear=1)
    looked(cast, cast.coach, fault, months_ago=5, looked=3, slight=3)
    assert "Of 2 changes, 2 held" in page(as_("manager"), months="3")
    assert "1 of 4" in page(as_("manager"), months="3")
    assert "Of 5 changes, 2 held, none held partly, 3 were lost" in page(as_("manager")).replace(
        " 0 held", " none held"
    )
    assert "4 of 7" in page(as_("manager"))


# --- Which faults are common --------------------------------------------------------------------


def test_a_fault_is_told_with_who_works_on_it_and_how_often_anybody_looked(
    cast: Cast, as_: Clients, fault: Fault
) -> None:
    lessons = [done(cast.student, cast.coach) for _ in range(3)]
    make_lesson(cast.student, cast.coach)  # a draft has no arrival
    done(cast.student, cast.coach, attendance="absent")
    done(cast.student, cast.coach, putting=False)
    clip = done(cast.student, cast.coach)
    clip.session.kind = "clip"
    clip.session.save()
    looked(cast, cast.coach, fault, looked=2, slight=1)
    Focus.objects.create(student=cast.student, opened_in=lessons[0], slot=1, area="putting", fault=fault)
    words = page(as_("manager"))
    assert "Weight on the heels Weight 1 1 of 2 2 of 3" in words
    assert "1 slight, 1 good" in words


def test_only_what_is_worked_on_now_counts_as_such(cast: Cast, as_: Clients, fault: Fault) -> None:
    opened, closed = done(cast.student, cast.coach), done(cast.student, cast.coach)
    focus = {"student": cast.student, "area": "putting", "opened_in": opened}
    Focus.objects.create(**focus, slot=1, fault=fault, closed_in=closed)
    Focus.objects.create(**{**focus, "opened_in": make_lesson(cast.student, cast.coach)}, slot=1, fault=fault)
    left = make_student(coach=cast.coach, status="left")
    Focus.objects.create(student=left, area="putting", opened_in=done(left, cast.coach), slot=1, fault=fault)
    Focus.objects.create(**focus, slot=2, what="quiet feet")
    words = page(as_("manager"))
    assert "Weight on the heels" not in words and "quiet feet" not in words
    assert "1 student works on something that a coach put in their own words" in words


def test_a_fault_that_was_never_seen_is_not_common(cast: Cast, as_: Clients, fault: Fault) -> None:
    looked(cast, cast.coach, fault, looked=9)
    assert "Looked at and never seen: Weight on the heels (9 looks)." in page(as_("manager"))


# --- Which changes hold -------------------------------------------------------------------------


def test_changes_are_counted_with_care(cast: Cast, as_: Clients, fault: Fault) -> None:
    changed(cast, cast.coach, cast.student, fault, "hhplllll")
    words = page(as_("manager"))
    assert "Weight on the heels Weight 8 changes with 1 student: 2 held, 1 held partly, 5 were lost" in words
    assert "2 of 8" in words and "%" not in words  # all of one student
    for caution in ("rated the departure", "does not prove", "Arrivals at which nobody asked are left out"):
        assert caution in words


def test_a_percentage_comes_once_enough_students_tell(cast: Cast, as_: Clients, fault: Fault) -> None:
    for number in range(16):
        changed(cast, cast.coach, make_student(), fault, "hl"[number % 2], practice_reported="all")
    assert re.search(r"8 of 16 \(50%, 95% interval 2\d to 7\d%\)", page(as_("manager")))


# --- Each coach ---------------------------------------------------------------------------------


def coach_rows(client: Client) -> list[str]:
    """The names of the coaches, each folded, in order."""
    answer = client.get(reverse("academy_progress")).content.decode().split('id="coaches"')[1]
    return [name.strip() for name in re.findall(r'<details class="fold">\s*<summary>([^<]+)', answer)]


def test_coaches_stand_by_name_whatever_held(cast: Cast, as_: Clients, fault: Fault) -> None:
    for coach, verdicts in ((cast.coach, "l"), (cast.cover, "h"), (cast.other_coach, "p")):
        changed(cast, coach, cast.student, fault, verdicts * 3)
    assert coach_rows(as_("manager")) == ["Bram Saltquill", "Cai Meadowtwine", "Ida Fernkettle"]
    assert page(as_("manager")).count("Too few to compare.") + page(as_("manager")).count("Too few to compare:") == 3


def test_who_has_no_change_yet_is_told_so_without_blame(cast: Cast, as_: Clients, fault: Fault) -> None:
    changed(cast, cast.coach, cast.student, fault, "h")
    silent = "Noor Appleknot: no change has met a next arrival in this time, which says nothing about the lessons."
    assert silent in page(as_("manager"))


def test_a_closed_account_stands_there_only_with_changes(cast: Cast, as_: Clients, fault: Fault) -> None:
    for coach in (cast.cover, cast.assistant):
        coach.user.is_active = False
        coach.user.save()
    changed(cast, cast.cover, cast.student, fault, "h")
    words = page(as_("manager"))
    assert "Bram Saltquill account closed" in words and "Noor Appleknot" not in words


def test_the_case_mix_is_told(cast: Cast, as_: Clients, fault: Fault) -> None:
    chip = make_fault(make_skill(area="chipping"), name="Chest stops")
    young, old = make_student(birth_year=today(cast).year - 10), make_student(birth_year=1960)
    changed(cast, cast.coach, young, fault, "hl", days=7)
    changed(cast, cast.coach, old, chip, "h", days=60)
    assert "1 of 2 students is a junior. Putting 2, chipping 1. Half met the next arrival within 1 week." in page(
        as_("manager")
    )


def test_a_coach_is_called_out_only_beyond_chance(cast: Cast, as_: Clients, fault: Fault) -> None:
    """Sixty single changes each, of which 35 were to be expected to hold: three sigmas are 11 or 12 changes."""
    for coach, held in ((cast.coach, 50), (cast.cover, 20)):
        for number in range(60):
            changed(cast, coach, make_student(account=False), fault, "h" if number < held else "l")
    words = page(as_("manager"))
    assert "More held than chance explains: worth asking what they do." in words
    assert "Fewer held than chance explains. Look at the case mix and at the lessons" in words
    assert "about 35 of 60 (58%)" in words


def test_no_student_is_named(cast: Cast, as_: Clients, fault: Fault) -> None:
    changed(cast, cast.coach, cast.student, fault, "h" * 9)
    Focus.objects.create(
        student=cast.student, opened_in=done(cast.student, cast.coach), slot=1, area="putting", fault=fault
    )
    words = as_("manager").get(reverse("academy_progress")).content.decode()
    assert cast.student.name not in words and str(cast.student.key) not in words


# --- The first screen ---------------------------------------------------------------------------


def first_sentences(client: Client) -> list[str]:
    answer = client.get(reverse("academy_progress")).content.decode()
    return re.findall("<p>(.*?)</p>", answer.split('aria-label="In three sentences">')[1].split("</section>")[0])


OF_FIVE = (
    "Of 5 changes, 4 held, none held partly, 1 was lost by the next arrival;"
    " about 3 of 5 would have looked good anyway."
)


def test_three_sentences_come_first(cast: Cast, as_: Clients, fault: Fault) -> None:
    Focus.objects.create(
        student=cast.student, opened_in=done(cast.student, cast.coach), slot=1, area="putting", fault=fault
    )
    looked(cast, cast.coach, fault, looked=9, clear=4)
    changed(cast, cast.coach, cast.student, fault, "hhhhl", anyway=0.6)
    assert first_sentences(as_("manager")) == [
        "Most students work on “Weight on the heels”: 1 student now, and it was seen on 4 of 9 looks.",
        OF_FIVE,
        "Too few changes to set any coach beside what chance does.",
    ]


def test_a_coach_outside_what_chance_does_is_named_there_with_care(cast: Cast, as_: Clients, fault: Fault) -> None:
    for coach, held in ((cast.coach, 50), (cast.cover, 20)):
        for number in range(60):
            changed(cast, coach, make_student(account=False), fault, "h" if number < held else "l")
    third = first_sentences(as_("manager"))[2]
    assert "Bram Saltquill and Ida Fernkettle: ask before you conclude." in third


def test_every_table_has_its_plot_and_stands_behind_how_sure_this_is(cast: Cast, as_: Clients, fault: Fault) -> None:
    """Of 4 looks 1 is at a quarter of the way; what would have looked good anyway is dashed at half of it."""
    looked(cast, cast.coach, fault, looked=4, clear=1)
    changed(cast, cast.coach, cast.student, fault, "hhhl", anyway=0.5)
    answer = as_("manager").get(reverse("academy_progress")).content.decode()
    plots = answer.split('<ul class="dots"')[1:]
    assert 'class="turning" d="M160 0V14"' in plots[1]
    assert len(plots) == 4  # seen, by the days between, by the practice reported, held
    assert 'cx="80.0"' in plots[0] and "1 of 4" in plots[0]
    assert 'cx="240.0"' in plots[3] and 'class="turning" d="M160 0V14"' in plots[3]
    outside = re.sub(r'<details class="how-sure">.*?</details>', "", answer, flags=re.DOTALL)
    assert "<table" in answer and "<table" not in outside


def test_a_fault_noted_only_when_it_is_there_has_no_share(cast: Cast, as_: Clients, fault: Fault) -> None:
    for _ in range(12):
        done(cast.student, cast.coach)
    looked(cast, cast.coach, fault, looked=7, clear=7)
    words = page(as_("manager"))
    assert "Mostly noted when it was there, so no share is said: Weight on the heels." in words
    assert "7 of 7" not in words and "7 of 12" in words


# --- What is read -------------------------------------------------------------------------------


def test_the_grouped_rows_are_what_counting_one_by_one_gives(cast: Cast, fault: Fault) -> None:
    other, students = make_fault(make_skill()), [cast.student, *(make_student() for _ in range(3))]
    for number, student in enumerate(students):
        for coach, one in ((cast.coach, fault), (cast.cover, fault), (cast.coach, other)):
            changed(
                cast,
                coach,
                student,
                one,
                "hplh"[: 1 + number],
                days=1 + 15 * number,
                practice_reported=("all", "")[number % 2],
            )
    by_coach, by_fault = defaultdict(list), defaultdict(list)
    for row in Outcome.objects.all():
        by_coach[row.coach_id, row.student_id].append(row.verdict)
        by_fault[row.fault_id, row.student_id].append(row.verdict)
    for group, found in (("coach_id", by_coach), ("fault_id", by_fault)):
        for key, (sums, partly) in counted(None)[group].items():
            rows = [verdicts for (one, _), verdicts in found.items() if one == key]
            assert sums == clusters(Share(verdicts.count("held"), len(verdicts)) for verdicts in rows)
            assert partly == sum(verdicts.count("partly") for verdicts in rows)
        assert set(counted(None)[group]) == {key for key, _ in found}
    assert sorted(row[:3] for row in mixes(None)) == sorted(
        {
            (coach.pk, one.pk, Outcome.objects.filter(coach=coach, fault=one).count())
            for coach, one in ((cast.coach, fault), (cast.cover, fault), (cast.coach, other))
        }
    )
    weeks = {(row.coach_id, (row.days - 1) // 7, row.practice_reported) for row in Outcome.objects.all()}
    assert {row[:3] for row in change_groups_since(None)} == weeks
    assert sum(row[4] for row in change_groups_since(None)) == Outcome.objects.count()


def test_the_number_of_queries_does_not_grow(cast: Cast, fault: Fault) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as found:
            gather_findings(cast.academy, today(cast), None)
        return len(found)

    changed(cast, cast.coach, cast.student, fault, "h")
    few = queries()
    for _ in range(4):
        coach, student, one = make_coach(), make_student(), make_fault(make_skill())
        changed(cast, coach, student, one, "hpl")
        looked(cast, coach, one, looked=3, slight=1)
        Focus.objects.create(student=student, opened_in=done(student, coach), slot=1, area="putting", fault=one)
    assert queries() == few == 9


def test_the_whole_page_takes_at_most_twelve_queries(cast: Cast, as_: Clients, fault: Fault) -> None:
    changed(cast, cast.coach, cast.student, fault, "hp")
    client = as_("manager")
    with CaptureQueriesContext(connection) as captured:
        assert client.get(reverse("academy_progress")).status_code == 200
    assert len(captured) <= 12
