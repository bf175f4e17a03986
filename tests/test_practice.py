"""The student's day: what is shown, what is reported with one tap or with a form, and what is undone."""

import re
import uuid
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Student
from drills.library.drawing import draw
from drills.models import Drill, PracticeEntry, Prescription
from drills.practice.reports import Practice, practice_by_student
from lessons.models import Focus
from tests.conftest import Cast
from tests.library import load_library
from tests.make import fresh_key, make_fault, make_lesson, make_skill

Clients = Callable[[str], Client]
HTMX = {"HX-Request": "true"}
LINE = {
    "view": "top", "frame": [-50, -50, 50, 50], "words": "A line.",
    "pieces": [{"piece": "line", "x": x, "y": -40, "to_x": x, "to_y": 40} for x in (-20, 20)],
}  # fmt: skip
DRILL = {
    "area": "putting",
    "name": "{Lead} hand gate",
    "purpose": "A steadier path.",
    "equipment": "two tees",
    "setup": "Stand so that the {trail} foot feels light.",
    "steps": ["Grip with the {lead} hand.", "Count ten."],
    "feel": "A train in a tunnel.",
    "mark": "9 of 10 touch no tee.",
    "tip": "Let the putter swing.",
    "dose_amount": 10,
    "caution": "Nobody stands beside you.",
}


@pytest.fixture
def on(cast: Cast) -> date:
    return cast.academy.today(timezone.now())


@pytest.fixture
def give(cast: Cast, on: date) -> Callable[..., Prescription]:
    """Prescribe a drill in a finished lesson that began so many days ago."""

    def give(student: Student | None = None, days_ago: int = 11, drill: Any = None, **values: Any) -> Prescription:
        student = student or cast.student
        focus_values = {name: values.pop(name) for name in ("feel", "fault", "what") if name in values}
        status = values.pop("status", "complete")
        done = timezone.now() if status == "complete" else None
        lesson = make_lesson(student, cast.coach, status=status, completed_at=done)
        slot = student.focuses.filter(closed_in=None).count() + 1
        focus_values.setdefault("fault", make_fault(make_skill(), feel="The {lead} hand is soft."))
        focus = Focus.objects.create(
            student=student, slot=min(slot, 3), reason="x", area="putting", opened_in=lesson,
            closed_in=lesson if slot > 3 else None, **focus_values,
        )  # fmt: skip
        drill = drill or Drill.objects.create(code=f"drill-{uuid.uuid4()}", **DRILL)
        begins = on - timedelta(days=days_ago)
        dose = {"amount": 10, "begins": begins, "review_on": begins + timedelta(days=30)}
        return Prescription.objects.create(
            student=student, lesson=lesson, focus=focus, feel=focus.feel, drill=drill, **dose | values
        )

    return give


Give = Callable[..., Prescription]


@pytest.fixture
def given(give: Give) -> Prescription:
    return give()


def day_address(student: Student) -> str:
    return reverse("today", args=[student.key])


def report_address(given: Prescription, key: uuid.UUID | None = None) -> str:
    return reverse("practice_report", args=[given.student.key, given.key, key or fresh_key()])


def void_address(entry: PracticeEntry) -> str:
    given = entry.prescription
    return reverse("practice_void", args=[given.student.key, given.key, entry.key])


def make_entry(given: Prescription, day: date, **values: Any) -> PracticeEntry:
    return PracticeEntry.objects.create(prescription=given, day=day, **{"amount": 10, **values})


def read(client: Client, student: Student) -> str:
    """The words of the page, without its markup."""
    answer = client.get(day_address(student))
    assert answer.status_code == 200
    return words_of(answer)


def words_of(answer: Any) -> str:
    text = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return re.sub(r"\s+", " ", text).replace(" ,", ",")


# --- What is shown ------------------------------------------------------------------------------


def test_the_page_shows_what_to_do_how_much_and_how_it_feels(given: Prescription, cast: Cast, as_: Clients) -> None:
    page = read(as_("student"), cast.student)
    for words in (
        "Left hand gate",
        "The left hand is soft.",
        "10 minutes. 0 of 3 this week.",
        "10 minutes, 3 times a week, for 30 days.",
        "9 of 10 touch no tee.",
        "Grip with the left hand.",
        "Nobody stands beside you.",
        "0 of 3 this week",
        "Day 12 of 30.",
        "Start",
        "Done today",
        "How many of 10?",
        "How did it feel?",
    ):
        assert words in page


def test_a_week_is_counted_from_the_weekday_of_the_lesson_and_a_day_once(
    given: Prescription, on: date, cast: Cast, as_: Clients
) -> None:
    """Day 12 is the fifth of its week: the day before yesterday counts, seven days ago does not."""
    for ago in (2, 2, 4, 5, 7):
        make_entry(given, on - timedelta(days=ago))
    make_entry(given, on - timedelta(days=1), is_void=True)
    assert "2 of 3 this week" in read(as_("student"), cast.student)


def test_the_feel_agreed_in_the_lesson_comes_before_the_catalogues(give: Give, cast: Cast, as_: Clients) -> None:
    give(feel="As if the {lead} hand sleeps")
    page = read(as_("student"), cast.student)
    assert "As if the left hand sleeps" in page and "is soft" not in page


def test_a_focus_in_the_coachs_own_words_reads_the_feel_of_the_drill(give: Give, cast: Cast, as_: Clients) -> None:
    give(fault=None, what="something of our own")
    assert "A train in a tunnel." in read(as_("student"), cast.student)


def test_braces_that_a_coach_typed_stay_as_they_are(give: Give, cast: Cast, as_: Clients) -> None:
    give(feel="One {or two} breaths")
    assert "One {or two} breaths" in read(as_("student"), cast.student)


def test_left_and_right_are_those_of_the_lesson_whatever_the_student_plays_now(
    give: Give, cast: Cast, as_: Clients
) -> None:
    Student.objects.filter(pk=cast.student.pk).update(putting_side="left")
    cast.student.refresh_from_db()
    give()
    Student.objects.filter(pk=cast.student.pk).update(putting_side="right")
    page = read(as_("student"), cast.student)
    for words in ("Right hand gate", "The right hand is soft.", "Grip with the right hand.", "left foot feels light"):
        assert words in page


def test_the_drawing_is_that_of_the_student_s_own_side(give: Give, cast: Cast, as_: Clients) -> None:
    load_library()
    drill = Drill.objects.get(code="putting-ball-gate")
    Student.objects.filter(pk=cast.student.pk).update(putting_side="left")
    cast.student.refresh_from_db()
    give(drill=drill)
    shown = as_("student").get(day_address(cast.student)).content.decode()
    assert draw(drill.drawing, "left", "m") in shown and draw(drill.drawing, "right", "m") not in shown


def test_no_word_of_the_trade_reaches_a_student(give: Give, cast: Cast, as_: Clients) -> None:
    """Every drill of the library, in the page's text and in its markup."""
    Student.objects.filter(pk=cast.student.pk).update(practice_minutes=20, practice_days=2)  # a week soon planned
    load_library()
    for drill in Drill.objects.all():
        give(drill=drill)
    page = as_("student").get(day_address(cast.student)).content.decode()
    assert page.count("Done today") == Drill.objects.count()
    assert re.findall(r"\b(?:faults?|marked|lead|trail)\b", page, re.IGNORECASE) == []


def test_after_the_days_are_over_the_drill_stays(give: Give, cast: Cast, as_: Clients) -> None:
    give(days_ago=31)
    page = read(as_("student"), cast.student)
    assert "Your 30 days are done; keep it going until you see your coach." in page and "Done today" in page


def test_a_child_reads_the_game_right_below_the_start_and_before_the_steps(
    give: Give, cast: Cast, as_: Clients, on: date
) -> None:
    give(drill=Drill.objects.create(code="game", **DRILL, game="You are the goal scorer."))
    assert "goal scorer" not in read(as_("student"), cast.student)
    Student.objects.filter(pk=cast.student.pk).update(birth_year=on.year - 10)
    page = read(as_("student"), cast.student)
    assert page.index("Done today") < page.index("goal scorer") < page.index("Done well") < page.index("Steps")


def test_the_steps_are_a_tap_away_after_the_picture_the_feel_the_dose_and_the_start(
    give: Give, cast: Cast, as_: Clients
) -> None:
    give(drill=Drill.objects.create(code="drawn", **DRILL, drawing=LINE))
    page = as_("student").get(day_address(cast.student)).content.decode()
    parts = [
        "Left hand gate</h2>",
        "<svg",
        "The left hand is soft.",
        "10 minutes.",
        ">Start<",
        ">Done today<",
        "<summary>Steps",
    ]
    assert [page.index(part) for part in parts] == sorted(page.index(part) for part in parts)
    assert re.findall(r'<details id="steps-[^"]+"( open)?', page) == [""]


def test_a_day_without_a_drill_links_to_the_library(cast: Cast, as_: Clients) -> None:
    answer = as_("student").get(day_address(cast.student))
    assert "No drill for today." in words_of(answer)
    assert f'href="{reverse("drills")}"' in answer.content.decode()


@pytest.mark.parametrize("values", [{"status": "draft"}, {"days_ago": -1}, {"ended_on": date(2020, 1, 1)}])
def test_what_is_not_in_force_is_not_shown(values: dict[str, Any], give: Give, cast: Cast, as_: Clients) -> None:
    give(**values)
    assert "No drill for today." in read(as_("student"), cast.student)


@pytest.mark.parametrize(
    ("actor", "may"), [("student", True), ("guardian", True), ("coach", False), ("manager", False)]
)
def test_who_looks_and_who_reports(actor: str, may: bool, given: Prescription, cast: Cast, as_: Clients) -> None:
    page = read(as_(actor), cast.student)
    assert "Left hand gate" in page
    assert ("Done today" in page, "How did it feel?" in page, "Start" in page) == (may, may, may)


def test_what_was_reported_is_read_by_the_coach_without_a_way_to_undo_it(
    given: Prescription, on: date, cast: Cast, as_: Clients
) -> None:
    make_entry(given, on, score=8, score_of=10, felt="hard", note="Windy", source="guardian")
    page = read(as_("coach"), cast.student)
    assert (
        "Reported today: 10 minutes, 8 of 10, felt hard. “Windy” Reported by a guardian." in page and "Undo" not in page
    )


def test_the_page_costs_no_more_with_more_history(
    give: Give, on: date, cast: Cast, as_: Clients, django_assert_max_num_queries: Any
) -> None:
    give(mark="9 of 10 touch no tee.")
    guardian = as_("guardian")
    with django_assert_max_num_queries(12) as few:
        read(guardian, cast.student)
    for _ in range(5):
        given = give(mark="9 of 10 touch no tee.")
        for ago in range(12):
            make_entry(given, on - timedelta(days=ago), score=8, score_of=10)
    with django_assert_max_num_queries(12) as many:
        read(guardian, cast.student)
    assert len(many) == len(few)


def test_what_is_planned_for_today_comes_first_and_the_rest_says_that_it_is_not(
    give: Give, cast: Cast, as_: Clients
) -> None:
    """Given five days ago: one drill is asked for every day, the other was done as often as it is asked for."""
    done, due = give(days_ago=5, per_week=1), give(days_ago=5, per_week=7)
    make_entry(done, done.begins)
    page = as_("student").get(day_address(cast.student)).content.decode()
    assert page.index(f"drill-{due.key}") < page.index(f"drill-{done.key}")
    assert page.count("Not planned for today.") == 1
    assert page.index(f"drill-{done.key}") < page.index("Not planned for today.")


# --- Reporting ----------------------------------------------------------------------------------


def test_one_tap_reports_the_whole_dose_today(given: Prescription, on: date, cast: Cast, as_: Clients) -> None:
    page = as_("student").get(day_address(cast.student)).content.decode()
    address = re.search(r'action="([^"]+)"', page)
    assert address
    answer = as_("student").post(address[1])
    assert (answer.status_code, answer.headers["Location"]) == (303, day_address(cast.student))
    entry = PracticeEntry.objects.get()
    assert (entry.prescription, entry.amount, entry.day, entry.source) == (given, 10, on, "student")
    page = read(as_("student"), cast.student)
    assert "Reported for today: 10 minutes." in page and "1 of 3 this week" in page
    assert "Undo" in page and "Done today" not in page


def test_a_double_tap_meets_the_same_report(given: Prescription, as_: Clients) -> None:
    address = report_address(given)
    answers = [as_("student").post(address, headers=HTMX) for _ in range(3)]
    assert [answer.status_code for answer in answers] == [201, 200, 200]
    assert PracticeEntry.objects.count() == 1
    for answer in answers:
        assert "1 of 3 this week" in words_of(answer) and "<html" not in answer.content.decode()


def test_a_tap_that_arrives_again_the_next_day_moves_nothing(given: Prescription, on: date, as_: Clients) -> None:
    entry = make_entry(given, on - timedelta(days=1), amount=25)
    assert as_("student").post(report_address(given, entry.key), headers=HTMX).status_code == 200
    stored = PracticeEntry.objects.get()
    assert (stored.day, stored.amount) == (on - timedelta(days=1), 25)


def test_a_report_that_arrives_again_after_it_was_undone_stays_undone(
    given: Prescription, on: date, as_: Clients
) -> None:
    entry = make_entry(given, on, is_void=True)
    answer = as_("student").post(report_address(given, entry.key), headers=HTMX)
    assert answer.status_code == 200 and "Undone for today" in words_of(answer)
    assert PracticeEntry.objects.get().is_void


def test_a_guardian_reports_for_a_child(given: Prescription, cast: Cast, as_: Clients) -> None:
    as_("guardian").post(report_address(given))
    assert PracticeEntry.objects.get().source == "guardian"
    assert "Reported by a guardian." in read(as_("student"), cast.student)


def test_amount_score_feel_note_and_an_earlier_day(given: Prescription, on: date, cast: Cast, as_: Clients) -> None:
    day = on - timedelta(days=3)
    typed = {"amount": "25", "score": "8", "felt": "right", "note": "Carpet & <socks>", "day": day.isoformat()}
    answer = as_("student").post(report_address(given), typed, headers=HTMX)
    assert answer.status_code == 201 and "Carpet &amp; &lt;socks&gt;" in answer.content.decode()
    entry = PracticeEntry.objects.get()
    assert (entry.amount, entry.score, entry.score_of, entry.felt) == (25, 8, 10, "right")
    assert (entry.note, entry.day, entry.reported_on) == ("Carpet & <socks>", day, on)
    page = read(as_("student"), cast.student)
    assert "1 of 3 this week" in page and "25 minutes, 8 of 10, felt just right." in page and "Filled in later." in page


def test_other_words_at_the_same_address_lose_neither_report(given: Prescription, as_: Clients) -> None:
    address = report_address(given)
    typed = {"amount": "10", "score": "7", "note": "", "day": ""}
    as_("student").post(address, typed)
    answer = as_("student").post(address, {**typed, "score": "9"})
    page = answer.content.decode()
    assert answer.status_code == 422 and re.search('value="9"[^>]* checked', page) and "it is kept" in page
    assert [entry.score for entry in PracticeEntry.objects.all()] == [7]
    assert str(given.key) in page and f'action="{address}"' not in page, "sent again, it goes to a fresh address"


BAD = [
    ("amount", "0"),
    ("amount", "-3"),
    ("amount", "601"),
    ("amount", "1000"),
    ("amount", "2.5"),
    ("amount", "ten"),
    ("amount", "9" * 30),
    ("score", "11"),
    ("score", "-1"),
    ("score", "8 of 10"),
    ("felt", "cold"),
    ("note", "x" * 301),
    ("day", "yesterday"),
    ("day", "2026-02-30"),
    ("day", "last year"),
    ("day", "+1"),
    ("day", "-15"),
]


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["page", "fragment"])
@pytest.mark.parametrize(("field", "value"), BAD, ids=[f"{field}-{value[:9]}" for field, value in BAD])
def test_what_cannot_be_says_why_keeps_the_rest_and_saves_nothing(
    field: str, value: str, headers: dict[str, str], give: Give, on: date, as_: Clients
) -> None:
    given = give(days_ago=20)
    days = {"+1": 1, "-15": -15, "last year": -365}
    if value in days:
        value = (on + timedelta(days=days[value])).isoformat()
    typed = {"amount": "20", "score": "8", "felt": "hard", "note": "Kept words", "day": on.isoformat(), field: value}
    answer = as_("student").post(report_address(given), typed, headers=headers)
    page = answer.content.decode()
    assert answer.status_code == 422 and not PracticeEntry.objects.exists()
    assert f'id="id_{given.key}_{field}_error"' in page and "To put right" in page
    assert re.search(r"<details open>\s*<summary>Note", page)
    assert all(words in page for name, words in typed.items() if name not in ("score", "felt"))
    chosen = re.findall(r'name="(score|felt)" value="([^"]+)"[^>]* checked', page)
    assert chosen == [one for one in (("score", typed["score"]), ("felt", typed["felt"])) if one[0] != field]
    assert ("<html" in page) == (not headers)


def test_no_day_before_it_began(given: Prescription, on: date, as_: Clients) -> None:
    first = on - timedelta(days=11)
    early = as_("student").post(report_address(given), {"day": (first - timedelta(days=1)).isoformat()})
    assert early.status_code == 422 and not PracticeEntry.objects.exists()
    as_("student").post(report_address(given), {"day": first.isoformat()})
    assert PracticeEntry.objects.get().day == first


@pytest.mark.parametrize("amount", [1, 600])
def test_the_ends_of_what_can_be(amount: int, give: Give, on: date, as_: Clients) -> None:
    day = on - timedelta(days=14)
    as_("student").post(report_address(give(days_ago=20)), {"amount": amount, "day": day.isoformat()})
    assert (PracticeEntry.objects.get().amount, PracticeEntry.objects.get().day) == (amount, day)


def test_what_a_new_lesson_replaced_still_takes_the_days_before_it(give: Give, on: date, as_: Clients) -> None:
    given = give(ended_on=on)
    refused = as_("student").post(report_address(given))
    assert refused.status_code == 422 and "Choose a day from" in words_of(refused)
    as_("student").post(report_address(given), {"day": (on - timedelta(days=1)).isoformat()})
    assert PracticeEntry.objects.get().day == on - timedelta(days=1)


def test_both_parents_report_one_practice_and_are_asked_rather_than_counted_twice(
    given: Prescription, on: date, cast: Cast, as_: Clients
) -> None:
    as_("guardian").post(report_address(given), {"amount": "10"})
    for headers in ({}, HTMX):
        answer = as_("student").post(report_address(given), {"amount": "12", "note": "Kept"}, headers=headers)
        page = answer.content.decode()
        assert answer.status_code == 422 and "Already reported for today by a guardian: 10 minutes." in words_of(answer)
        assert "Kept" in page and 'value="12"' in page and PracticeEntry.objects.count() == 1
    as_("student").post(report_address(given), {"amount": "12", "another": "on"})
    assert sorted(PracticeEntry.objects.values_list("amount", flat=True)) == [10, 12]
    PracticeEntry.objects.update(is_void=True)
    assert as_("student").post(report_address(given)).status_code == 303, "what was undone is not asked about"
    yesterday = {"day": (on - timedelta(days=1)).isoformat()}
    assert as_("guardian").post(report_address(given), yesterday).status_code == 303


def test_a_phone_where_it_is_tomorrow_reads_which_day_it_is_here(given: Prescription, on: date, as_: Clients) -> None:
    answer = as_("student").post(report_address(given), {"day": (on + timedelta(days=1)).isoformat()})
    assert answer.status_code == 422 and "At the academy it is still" in words_of(answer)


def test_a_drill_without_a_mark_takes_the_score_in_words(give: Give, as_: Clients) -> None:
    given = give(mark="A row of chips that you like.")
    as_("student").post(report_address(given), {"score_words": "a row of five"})
    entry = PracticeEntry.objects.get()
    assert (entry.score, entry.score_in_words) == (None, "a row of five")


# --- Undo ---------------------------------------------------------------------------------------


def test_undo_takes_effect_once(given: Prescription, on: date, cast: Cast, as_: Clients) -> None:
    entry = make_entry(given, on)
    assert as_("student").post(void_address(entry)).status_code == 303
    kept = PracticeEntry.history.count()  # type: ignore[attr-defined]
    answer = as_("guardian").post(void_address(entry), headers=HTMX)
    assert answer.status_code == 200 and "Done today" in words_of(answer) and "0 of 3 this week" in words_of(answer)
    assert PracticeEntry.objects.get().is_void and PracticeEntry.history.count() == kept  # type: ignore[attr-defined]


@pytest.mark.parametrize(("ago", "status"), [(14, 303), (15, 404)])
def test_a_report_can_be_undone_for_two_weeks(ago: int, status: int, give: Give, on: date, as_: Clients) -> None:
    entry = make_entry(give(days_ago=20), on - timedelta(days=ago))
    assert as_("student").post(void_address(entry)).status_code == status
    assert PracticeEntry.objects.get().is_void == (status == 303)


# --- Who, how, and where nothing is ---------------------------------------------------------------


@pytest.fixture
def addresses(given: Prescription, on: date) -> dict[str, str]:
    entry = make_entry(given, on)
    return {
        "today": day_address(given.student),
        "report": report_address(given),
        "void": void_address(entry),
    }


@pytest.mark.parametrize("actor", ["other_student", "other_coach"])
def test_a_stranger_finds_nothing(actor: str, addresses: dict[str, str], as_: Clients) -> None:
    assert as_(actor).get(addresses["today"]).status_code == 404
    assert [as_(actor).post(addresses[name]).status_code for name in ("report", "void")] == [404, 404]


@pytest.mark.parametrize("actor", ["coach", "cover", "assistant", "manager"])
def test_a_reader_may_not_report(actor: str, addresses: dict[str, str], as_: Clients) -> None:
    assert as_(actor).get(addresses["today"]).status_code == 200
    assert [as_(actor).post(addresses[name]).status_code for name in ("report", "void")] == [403, 403]
    assert PracticeEntry.objects.filter(is_void=False).count() == 1


def test_a_visitor_is_asked_to_sign_in(addresses: dict[str, str], as_: Clients) -> None:
    assert as_("anonymous").get(addresses["today"]).status_code == 302
    assert as_("anonymous").post(addresses["report"], {"note": "Kept words"}).status_code == 401


def test_wrong_methods(addresses: dict[str, str], as_: Clients) -> None:
    assert as_("student").post(addresses["today"]).status_code == 405
    assert [as_("student").get(addresses[name]).status_code for name in ("report", "void")] == [405, 405]


def test_a_prescription_of_another_student_is_not_there(give: Give, cast: Cast, as_: Clients) -> None:
    theirs = give(student=cast.other_student)
    address = reverse("practice_report", args=[cast.student.key, theirs.key, fresh_key()])
    assert as_("student").post(address).status_code == 404


@pytest.mark.parametrize("values", [{"status": "draft"}, {"days_ago": -1}, {"ended_on": date(2020, 1, 1)}])
def test_a_prescription_that_takes_no_report_is_not_there(values: dict[str, Any], give: Give, as_: Clients) -> None:
    assert as_("student").post(report_address(give(**values))).status_code == 404


def test_the_address_of_another_prescriptions_report_is_not_there(
    given: Prescription, give: Give, on: date, cast: Cast, as_: Clients
) -> None:
    entry = make_entry(give(student=cast.other_student), on)
    assert as_("student").post(report_address(given, entry.key)).status_code == 404
    void = reverse("practice_void", args=[cast.student.key, given.key, entry.key])
    assert as_("student").post(void).status_code == 404
    assert not PracticeEntry.objects.get().is_void


@pytest.mark.parametrize("tail", ["", "x/y/", f"{uuid.UUID(int=1)}/{uuid.UUID(int=2)}/"])
def test_addresses_that_do_not_exist(tail: str, cast: Cast, as_: Clients) -> None:
    unknown = day_address(cast.student).replace(str(cast.student.key), str(uuid.UUID(int=3)))
    assert as_("student").post(day_address(cast.student) + tail if tail else unknown).status_code in (404, 405)
    assert as_("student").get(unknown).status_code == 404


# --- Doing it, and the next mark ---------------------------------------------------------------------


def doing_address(given: Prescription) -> str:
    return reverse("practice_doing", args=[given.student.key, given.key])


@pytest.mark.parametrize("began", ["", "x", "-5", "9" * 40, "99999999999", "1000000000", "١٢"])
def test_a_start_without_a_right_moment_begins_now(began: str, given: Prescription, as_: Clients) -> None:
    answer = as_("student").get(doing_address(given), {"began": began})
    now = timezone.now().timestamp()
    assert answer.status_code == 302
    assert 0 <= now - int(answer.headers["Location"].rpartition("=")[2]) < 60


def test_the_clock_stands_in_the_address_and_outlives_a_reload(given: Prescription, as_: Clients) -> None:
    began = int(timezone.now().timestamp()) - 7 * 60
    pages = [as_("student").get(doing_address(given), {"began": began}).content.decode() for _ in range(2)]
    for page in pages:
        seconds = re.search(r'data-seconds="(\d+)"', page)
        assert seconds and 420 <= int(seconds[1]) < 480
        assert re.search(r'name="amount" value="7"', page) and "of 10 minutes" in page
    assert not PracticeEntry.objects.exists()


def score_days(given: Prescription, on: date, *scores: int) -> None:
    for ago, score in enumerate(reversed(scores)):
        make_entry(given, on - timedelta(days=ago), score=score, score_of=10)


def test_scores_are_shown_as_last_best_and_mark_in_words_dots_and_rows(
    given: Prescription, on: date, cast: Cast, as_: Clients
) -> None:
    score_days(given, on, 4, 8, 7)
    make_entry(given, on, score_words="many")
    make_entry(given, on, score=3, score_of=12)
    page = as_("student").get(day_address(cast.student)).content.decode()
    assert "Last 7, best 8. The mark is 9 of 10." in page
    assert page.count('<circle class="dot"') == 3 and page.count("of 10</li>") == 3


def test_scores_of_a_drill_that_is_given_again_stay_in_sight(give: Give, on: date, cast: Cast, as_: Clients) -> None:
    earlier = give(days_ago=40, ended_on=on - timedelta(days=20))
    make_entry(earlier, on - timedelta(days=30), score=3, score_of=10)
    give(drill=earlier.drill)
    assert "Last 3, best 3." in read(as_("student"), cast.student)


def test_a_mark_met_three_times_is_raised_by_the_coach_in_one_tap(
    given: Prescription, on: date, cast: Cast, as_: Clients
) -> None:
    score_days(given, on, 9, 9)
    assert "Set this mark" not in read(as_("coach"), cast.student)
    score_days(given, on - timedelta(days=2), 10)
    assert "Set this mark" not in read(as_("student"), cast.student)
    page = read(as_("coach"), cast.student)
    assert "The mark was met three times. Next: 10 of 10 touch no tee." in page
    address = reverse("practice_mark", args=[cast.student.key, given.key])
    for mark in ("5 of 10 touch no tee.", "10 of 10 touch no tee.", "10 of 10 touch no tee."):
        assert as_("coach").post(address, {"mark": mark}).status_code == 302
    given.refresh_from_db()
    assert given.mark == "10 of 10 touch no tee." and given.history.count() == 2  # type: ignore[attr-defined]
    page = read(as_("coach"), cast.student)
    assert "The mark is 10 of 10." in page and "Set this mark" not in page


# --- A whole month typed in from paper ----------------------------------------------------------------


def month_address(student: Student, day: date) -> str:
    return reverse("practice_month", args=[student.key, day.year, day.month])


def tick(given: Prescription, day: date) -> str:
    return f"{given.key}:{day.isoformat()}"


@pytest.fixture
def last_month(on: date) -> date:
    """Its 28th day: at least one day and at most a month ago."""
    return (on.replace(day=1) - timedelta(days=1)).replace(day=28)


def test_a_ticked_sheet_is_typed_in_at_once_and_marked_as_filled_in(
    give: Give, on: date, last_month: date, cast: Cast, as_: Clients
) -> None:
    """Every box of two drills; one day was reported before, and the same page sent again adds nothing."""
    first, second = give(days_ago=90), give(days_ago=90, amount=15)
    make_entry(first, last_month, amount=3)
    address = month_address(cast.student, last_month)
    boxes = re.findall(r'name="ticked" value="([^"]+)"', as_("guardian").get(address).content.decode())
    days = (on.replace(day=1) - timedelta(days=1)).day
    assert len(set(boxes)) == len(boxes) == 2 * days - 1 and tick(first, last_month) not in boxes
    for stored in (len(boxes), 0):
        answer = as_("guardian").post(address, {"ticked": [*boxes, tick(first, last_month)]}, follow=True)
        assert f"Filled in: {stored} practices." in words_of(answer)
    assert PracticeEntry.objects.count() == 2 * days
    kept, new = first.entries.get(day=last_month), second.entries.get(day=last_month)
    assert (kept.amount, kept.is_filled_in) == (3, False)
    assert (new.amount, new.source, new.reported_on, new.is_filled_in) == (15, "guardian", on, True)
    assert PracticeEntry.history.count() == 2 * days
    assert as_("student").post(void_address(new)).status_code == 303, "what was filled in today can be undone"


def test_what_is_reported_on_its_own_day_is_not_filled_in_later(give: Give, on: date) -> None:
    given = give(days_ago=3)
    for day, reported_on, is_filled_in in ((on, on, False), (on - timedelta(days=1), on, True), (on, None, False)):
        assert PracticeEntry(prescription=given, day=day, reported_on=reported_on).is_filled_in is is_filled_in


def test_a_sheet_with_one_wrong_box_saves_nothing_and_keeps_every_tick(
    give: Give, on: date, last_month: date, cast: Cast, as_: Clients
) -> None:
    given = give(days_ago=90)
    ended = give(days_ago=90, ended_on=last_month)
    theirs = give(student=cast.other_student, days_ago=90)
    address = month_address(cast.student, last_month)
    before = last_month - timedelta(days=1)
    last_year = last_month.replace(year=last_month.year - 1)
    for wrong in (
        tick(given, last_year), tick(given, on + timedelta(days=1)), tick(theirs, before), tick(ended, last_month),
        tick(given, on), "", "x", f"{given.key}:", ":2026-01-01", "9" * 500,
    ):  # fmt: skip
        answer = as_("student").post(address, {"ticked": [tick(given, before), wrong]})
        page = answer.content.decode()
        assert answer.status_code == 422 and "Nothing was saved" in page and page.count(" checked") == 1, wrong
    assert as_("student").post(address).status_code == 422
    assert not PracticeEntry.objects.exists()
    assert as_("student").post(address, {"ticked": [tick(ended, before)]}).status_code == 302


def test_weeks_in_which_a_drill_was_not_to_be_practised_take_no_room(
    give: Give, last_month: date, cast: Cast, as_: Clients
) -> None:
    """It ended on the third, so the rows end with the second: one week, or two where the second is a Monday."""
    first = last_month.replace(day=1)
    give(days_ago=90, ended_on=first.replace(day=3))
    page = as_("student").get(month_address(cast.student, first)).content.decode()
    rows = page.split("<tbody>")[1].split("</tbody>")[0].count("<tr>")
    assert rows == (2 if first.replace(day=2).weekday() == 0 else 1)
    assert page.count('name="ticked"') == 2


def test_only_this_month_and_the_last_are_filled_in(given: Prescription, on: date, cast: Cast, as_: Clients) -> None:
    assert as_("student").get(month_address(cast.student, on)).status_code == 200
    for day in (on.replace(year=on.year - 1), on + timedelta(days=32), on.replace(day=1) - timedelta(days=40)):
        assert as_("student").get(month_address(cast.student, day)).status_code == 404


# --- Counts for other pages ---------------------------------------------------------------------


def test_asked_and_reported_of_every_student(give: Give, on: date, cast: Cast) -> None:
    """Twelve days at 3 a week are 36/7, so 5; fifteen at 2 are 30/7, so 4."""
    first, second = give(days_ago=11), give(days_ago=14, per_week=2)
    theirs = give(student=cast.other_student, days_ago=0)
    give(days_ago=40, ended_on=on)
    give(status="draft")
    for given, ago, is_void in [(first, 0, False), (first, 0, False), (first, 2, False), (second, 0, False)]:
        make_entry(given, on - timedelta(days=ago), is_void=is_void)
    make_entry(second, on - timedelta(days=1), is_void=True)
    sums = practice_by_student([cast.student, cast.other_student], on)
    assert sums == {cast.student.pk: Practice(9, 3), cast.other_student.pk: Practice(0, 0)}
    assert theirs.student_id in practice_by_student([theirs.student_id], on)


def test_sums_of_an_earlier_day_know_nothing_of_later_ones(give: Give, on: date, cast: Cast) -> None:
    given = give(days_ago=11)
    make_entry(given, on)
    make_entry(given, on - timedelta(days=6))
    assert practice_by_student([cast.student], on - timedelta(days=5))[cast.student.pk] == Practice(3, 1)


def test_sums_cost_one_query_however_many(give: Give, on: date, cast: Cast, django_assert_num_queries: Any) -> None:
    for _ in range(4):
        give()
        give(student=cast.other_student)
    with django_assert_num_queries(1):
        practice_by_student([cast.student, cast.other_student], on)
