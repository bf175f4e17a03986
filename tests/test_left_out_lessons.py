"""What sheets, months and records leave out: other students, lessons and days, drafts and what was taken back."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Student
from coachbook.loop.months.gather import report_of
from coachbook.loop.sheets.content import SheetContent, content_from
from coachbook.loop.sheets.gather import content_of
from coachbook.loop.sheets.issue import find_shared, issue_sheet, share_token
from drills.models import PracticeEntry, Prescription
from lessons.models import Fault, Focus, Lesson, Observation, Outcome, SeenFault, SeenFocus, Skill
from tests.conftest import Cast
from tests.make import (
    make_ball,
    make_design,
    make_drill,
    make_fault,
    make_lesson,
    make_look,
    make_prescription,
    make_skill,
    make_test,
)

Clients = Callable[[str], Client]


def finished(student: Student, cast: Cast, days_ago: int = 0, **values: Any) -> Lesson:
    """A finished lesson so many days before the first of June 2026."""
    done = {"status": "complete", "completed_at": timezone.now(), **values}
    return make_lesson(student, cast.coach, days_ago=days_ago, **done)


def agreed(lesson: Lesson, what: str, slot: int = 1, **values: Any) -> Focus:
    """A focus in own words that the lesson opened."""
    about = {"student": lesson.student, "area": "putting", "opened_in": lesson, "what": what, **values}
    return Focus.objects.create(slot=slot, **about)


def given(lesson: Lesson, focus: Focus, drill: str, **values: Any) -> Prescription:
    return make_prescription(lesson, focus, drill=make_drill(name=drill), **values)


def saw(lesson: Lesson, kind: str, skill: Skill, *faults: Fault, **values: Any) -> Observation:
    """What a look of the lesson showed of a skill."""
    degree = values.pop("degree", "clear")
    look = lesson.looks.filter(kind=kind).first() or make_look(lesson, kind)
    row = Observation.objects.create(look=look, skill=skill, verdict="not_good" if faults else "good", **values)
    for fault in faults:
        SeenFault.objects.create(observation=row, fault=fault, degree=degree)
    return row


# --- Sheets ---------------------------------------------------------------------------------------


def content(lesson: Lesson) -> SheetContent:
    return content_of(lesson, Academy.current())


def test_a_sheet_holds_what_was_written_for_the_student_in_its_own_lesson(cast: Cast) -> None:
    lesson, other = finished(cast.student, cast), finished(cast.other_student, cast)
    grip, stance, eyes = (make_skill(name=name) for name in ("Grip", "Stance", "Eyes"))
    saw(lesson, "arrival", grip, words="Thumbs down", reader="student")
    saw(lesson, "arrival", stance, words="coach-words", reader="coach")
    saw(lesson, "arrival", eyes, reader="student")
    saw(other, "arrival", grip, words="heron-words", reader="student")
    assert content(lesson).coach_words == ("Grip: Thumbs down",)


def test_a_sheet_holds_the_finished_tests_of_its_own_lesson(cast: Cast) -> None:
    lesson, other = finished(cast.student, cast), finished(cast.other_student, cast)
    for name, of, more in [("own", lesson, {}), ("begun", lesson, {"done_at": None}), ("heron", other, {})]:
        make_ball(make_test(of.student, make_design(name=f"The {name} test"), lesson=of, moment="arrival", **more))
    assert [words.split(",")[0] for words in content(lesson).tests] == ["The own test"]


def test_a_sheet_holds_what_was_open_after_its_lesson(cast: Cast) -> None:
    """What a later lesson or another's draft opened is not on it, and what a draft closes still is."""
    earlier, lesson = finished(cast.student, cast, 9), finished(cast.student, cast, 5)
    later, draft = finished(cast.student, cast), make_lesson(cast.student, cast.coach, days_ago=7)
    own = agreed(lesson, "of this one", closed_in=later)
    agreed(earlier, "of an earlier one", slot=2, closed_in=draft)
    agreed(earlier, "closed before", closed_in=finished(cast.student, cast, 6))
    agreed(earlier, "closed by it", closed_in=lesson)
    agreed(draft, "of a draft", closed_in=later)
    agreed(later, "of a later one")
    theirs = finished(cast.other_student, cast, 9)
    agreed(theirs, "of a heron")
    agreed(theirs, "closed for the wrong student", closed_in=lesson)
    found = content(lesson)
    assert [focus.heading for focus in found.focuses] == [own.what, "of an earlier one"]
    assert [focus.heading for focus in found.closed] == ["closed by it"]


def test_what_one_lesson_opened_and_closed_is_no_success_on_its_sheet(cast: Cast) -> None:
    lesson = finished(cast.student, cast)
    agreed(lesson, "by mistake", closed_in=lesson)
    agreed(finished(cast.student, cast, 7), "closed elsewhere", closed_in=finished(cast.student, cast, 3))
    assert content(lesson).closed == ()


def test_a_sheet_gives_the_drills_that_go_on_after_its_lesson(cast: Cast) -> None:
    """Neither one that ended before, nor one that is looked at again on this day, nor one of a later lesson."""
    earlier, lesson = finished(cast.student, cast, 9), finished(cast.student, cast, 5)
    later, day = finished(cast.student, cast), date(2026, 5, 27)
    for slot, drill, more in [
        (1, "Ended drill", {"ended_on": day - timedelta(days=1)}),
        (2, "Reviewed drill", {"days": 4, "review_on": day}),
    ]:
        given(earlier, agreed(earlier, f"focus of the {drill}", slot, closed_in=later), drill, **more)
    on_trial = agreed(earlier, "goes on", 1, closed_in=finished(cast.student, cast, 1))
    given(earlier, on_trial, "Drill that goes on", days=60)
    own = agreed(lesson, "own", 2, closed_in=finished(cast.student, cast, 2))
    given(lesson, own, "Own drill")
    given(later, own, "Later drill", begins=date(2026, 5, 20))
    found = {focus.heading: focus.drill and focus.drill.name for focus in content(lesson).focuses}
    assert found == {
        "own": "Own drill", "goes on": "Drill that goes on",
        "focus of the Ended drill": None, "focus of the Reviewed drill": None,
    }  # fmt: skip


def test_issuing_a_sheet_voids_no_sheet_of_another_lesson(cast: Cast) -> None:
    other = issue_sheet(lesson=finished(cast.other_student, cast), at=timezone.now())
    own = [issue_sheet(lesson=finished(cast.student, cast), at=timezone.now())]
    own.append(issue_sheet(lesson=own[0].lesson, at=timezone.now()))
    for sheet in (other, *own):
        sheet.refresh_from_db()
    assert [sheet.voided_at is None for sheet in (other, *own)] == [True, False, True]


def test_a_link_opens_its_own_sheet_while_its_lesson_is_finished(cast: Cast) -> None:
    sheets = [
        issue_sheet(lesson=finished(student, cast), at=timezone.now()) for student in (cast.student, cast.student)
    ]
    for sheet in sheets:
        assert find_shared(share_token(sheet), timezone.now()) == (sheet, True)
    Lesson.objects.filter(pk=sheets[0].lesson_id).update(status="draft")
    assert find_shared(share_token(sheets[0]), timezone.now()) == (None, False)


def test_an_address_opens_the_sheet_of_this_student_with_this_key(cast: Cast, as_: Clients) -> None:
    sheets = [issue_sheet(lesson=finished(cast.student, cast, days), at=timezone.now()) for days in (7, 0)]
    theirs = issue_sheet(lesson=finished(cast.other_student, cast), at=timezone.now())
    for sheet in sheets:
        answer = as_("student").get(reverse("sheet", args=[cast.student.key, sheet.key]))
        assert answer.context["content"] == content_from(sheet.content)
    assert as_("coach").get(reverse("sheet", args=[cast.student.key, theirs.key])).status_code == 404


# --- Months ---------------------------------------------------------------------------------------

LAST = date(2026, 5, 31)
MAY = date(2026, 5, 1)  # lessons of the factories: the first of June, less some days


def report(student: Student) -> Any:
    return report_of(student, MAY, Academy.current(), date(2026, 6, 30))


def practised(prescription: Prescription, *days: date, **values: Any) -> None:
    for day in days:
        PracticeEntry.objects.create(prescription=prescription, day=day, amount=5, **values)


def test_the_list_of_months_counts_what_this_student_came_to_and_practised(cast: Cast, as_: Clients) -> None:
    lesson = finished(cast.student, cast, 3)
    finished(cast.student, cast, 100, attendance="absent")
    make_lesson(cast.student, cast.coach, days_ago=200)
    drill = given(lesson, agreed(lesson, "own"), "Own drill")
    practised(drill, date(2026, 5, 30))
    practised(drill, date(2026, 5, 31), date(2025, 8, 1), is_void=True)
    theirs = finished(cast.other_student, cast, 50)
    practised(given(theirs, agreed(theirs, "heron"), "Heron drill"), date(2026, 5, 29), date(2026, 4, 2))
    [month] = as_("student").get(reverse("months", args=[cast.student.key])).context["months"]
    assert (month.first, month.lessons, month.days) == (MAY, 1, 1)


def test_a_month_holds_the_lessons_and_goals_of_its_days(cast: Cast) -> None:
    """The first of June and the last of April lie beside it; a draft has agreed nothing."""
    before, own, after = (finished(cast.student, cast, days) for days in (32, 9, 0))
    finished(cast.student, cast, 10, attendance="absent")
    draft = make_lesson(cast.student, cast.coach, days_ago=8)
    agreed(own, "own")
    agreed(draft, "of a draft", 2)
    agreed(finished(cast.other_student, cast, 9), "of a heron")
    found = report(cast.student)
    assert [lesson.day for lesson in found.lessons] == [date(2026, 5, 23)]
    assert [step.goal for step in found.steps] == ["own"]
    assert before.session.starts_at.month == 4 and after.session.starts_at.month == 6


def test_a_month_says_of_its_days_and_of_this_student_what_held(cast: Cast) -> None:
    fault = make_fault(make_skill(), goal="Hands together")
    early, before, own, after = (finished(cast.student, cast, days) for days in (60, 32, 9, 0))
    theirs, earlier = finished(cast.other_student, cast, 9), finished(cast.other_student, cast, 40)
    agreed(early, "", fault=fault)
    for lesson, last, day, verdict in [
        (before, early, date(2026, 4, 30), "held"),
        (own, before, date(2026, 5, 23), "lost"),
        (after, own, date(2026, 6, 1), "held"),
        (theirs, earlier, date(2026, 5, 23), "held"),
    ]:
        about = {"lesson": lesson, "before": last, "coach": cast.coach, "fault": fault, "verdict": verdict, "day": day}
        Outcome.objects.create(student=lesson.student, days=7, **about)
    [line] = report(cast.student).held
    assert tuple(line) == ("Hands together", "not held yet")


def test_a_month_counts_the_practice_of_its_days_and_of_this_student(cast: Cast) -> None:
    lesson, theirs = finished(cast.student, cast, 50), finished(cast.other_student, cast, 50)
    own = given(lesson, agreed(lesson, "own"), "Own drill", days=90)
    practised(own, date(2026, 4, 30), date(2026, 5, 1), date(2026, 5, 31), date(2026, 6, 1))
    practised(own, date(2026, 5, 15), is_void=True)
    practised(given(theirs, agreed(theirs, "heron"), "Heron drill"), date(2026, 5, 15))
    found = report(cast.student)
    assert list(map(tuple, found.drills)) == [("Own drill", "2 days")]
    assert [day for day, _ in found.practised] == [MAY, LAST]


def test_a_month_holds_the_finished_tests_of_its_days(cast: Cast) -> None:
    for name, day, student, more in [
        ("April", date(2026, 4, 30), cast.student, {}),
        ("May", date(2026, 5, 31), cast.student, {}),
        ("June", date(2026, 6, 1), cast.student, {}),
        ("Begun", date(2026, 5, 30), cast.student, {"done_at": None}),
        ("Heron", date(2026, 5, 30), cast.other_student, {}),
    ]:
        make_ball(make_test(student, make_design(name=f"The {name} test"), day=day, **more))
    assert [line[0] for line in map(tuple, report(cast.student).tests)] == ["The May test"]


def test_a_month_goes_on_with_the_drills_in_force_at_its_end(cast: Cast) -> None:
    lesson, later = finished(cast.student, cast, 9), finished(cast.student, cast)
    focus = agreed(lesson, "own")
    given(lesson, focus, "Own drill")
    given(later, focus, "Later drill")
    over = agreed(lesson, "over", 2)
    given(lesson, over, "Ended drill", ended_on=LAST)
    steps = {step.goal: step.drill.split(":")[0] for step in report(cast.student).steps}
    assert steps == {"own": "Own drill", "over": ""}


# --- The record of a lesson -------------------------------------------------------------------------


def record(client: Client, lesson: Lesson) -> Any:
    return client.get(reverse("lesson", args=[lesson.student.key, lesson.key])).context["record"]


def test_a_record_holds_what_the_looks_of_its_own_lesson_showed(cast: Cast, as_: Clients) -> None:
    """The looks in between are not compared with the first and the last."""
    grip, stance, eyes = (make_skill(name=name) for name in ("Grip", "Stance", "Eyes"))
    apart, tight = make_fault(grip, name="Hands apart"), make_fault(grip, name="Too tight")
    wide = make_fault(stance, name="Too wide")
    lesson, before, theirs = (
        finished(student, cast, days)
        for student, days in ((cast.student, 0), (cast.student, 7), (cast.other_student, 0))
    )
    saw(before, "departure", grip, apart, degree="slight")
    saw(lesson, "arrival", grip, apart)
    saw(lesson, "departure", eyes)
    saw(lesson, "during", stance, wide, words="in between")
    saw(before, "arrival", grip, tight)
    saw(theirs, "arrival", stance, wide, words="heron-words")
    saw(theirs, "departure", grip, apart, degree="slight")
    found = record(as_("coach"), lesson)
    assert [(row.name, row.first) for group in found.seen for row in group.rows] == [("Hands apart", "clear")]
    assert "Eyes" in str(found.seen) and "Stance" not in str(found.seen)
    assert [note.text for note in found.notes] == []


def test_a_record_holds_the_focuses_that_were_open_in_its_lesson(cast: Cast, as_: Clients) -> None:
    long_ago, before, lesson, later = (finished(cast.student, cast, days) for days in (30, 20, 10, 0))
    draft = make_lesson(cast.student, cast.coach, days_ago=15)
    agreed(long_ago, "closed before", closed_in=before)
    agreed(long_ago, "closed later", closed_in=later)
    agreed(long_ago, "closed by a draft", closed_in=draft)
    agreed(long_ago, "closed by it", closed_in=lesson)
    agreed(lesson, "its own")
    agreed(lesson, "opened and closed", closed_in=lesson)
    agreed(draft, "of a draft", closed_in=later)
    agreed(later, "opened later", 2)
    agreed(finished(cast.other_student, cast, 30), "of a heron")
    found = [(row.name, row.act.split(",")[0]) for row in record(as_("coach"), lesson).focuses]
    assert sorted(found) == [
        ("closed by a draft", "continued"), ("closed by it", "closed"), ("closed later", "continued"),
        ("its own", "opened"), ("opened and closed", "closed"),
    ]  # fmt: skip


def test_a_focus_that_was_opened_in_a_lesson_stays_on_its_record_though_an_earlier_one_closed_it(
    cast: Cast, as_: Clients
) -> None:
    """A lesson whose day was put right may have closed what a later one opened."""
    before, lesson = finished(cast.student, cast, 7), finished(cast.student, cast)
    agreed(lesson, "its own", closed_in=before)
    assert [row.name for row in record(as_("coach"), lesson).focuses] == ["its own"]


def test_a_record_holds_the_drills_that_its_own_lesson_gave(cast: Cast, as_: Clients) -> None:
    before, lesson, later = (finished(cast.student, cast, days) for days in (7, 3, 0))
    for slot, what in enumerate(("first", "second"), 1):
        agreed(before, what, slot)
    first, second = cast.student.focuses.order_by("slot")
    given(before, first, "Earlier drill")
    given(lesson, second, "Own drill")
    given(later, second, "Later drill")
    found = {row.name: row.drill.split(",")[0] for row in record(as_("coach"), lesson).focuses}
    assert found == {"first": "", "second": "Own drill"}


def test_a_record_holds_what_its_own_looks_showed_of_each_focus(cast: Cast, as_: Clients) -> None:
    before, lesson, later = (finished(cast.student, cast, days) for days in (14, 7, 0))
    own, other = agreed(before, "soft hands"), agreed(before, "calm head", 2)
    for of, kind, focus, degree in [
        (before, "arrival", own, "slight"),
        (before, "departure", own, "slight"),
        (lesson, "departure", own, "good"),
        (lesson, "arrival", own, "clear"),
        (lesson, "departure", other, "slight"),
        (later, "arrival", own, "slight"),
        (later, "departure", own, "slight"),
    ]:
        look = of.looks.filter(kind=kind).first() or make_look(of, kind)
        SeenFocus.objects.create(look=look, focus=focus, degree=degree)
    rows = {row.name: (row.first, row.departure) for group in record(as_("coach"), lesson).seen for row in group.rows}
    assert rows == {"soft hands": ("clear", "good"), "calm head": ("", "slight")}
