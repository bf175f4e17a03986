"""Scored tests on the phone: begun, noted ball by ball, finished, undone; by whom; and invalid input."""

import re
import uuid
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Student
from drills.models import Ball, Design, ScoredTest
from lessons.models import Lesson, Session
from tests.conftest import Cast
from tests.library import load_library
from tests.make import fresh_key, this_time

DUBLIN = ZoneInfo("Europe/Dublin")
Clients = Callable[[str], Client]
HTMX = {"HX-Request": "true"}
DEFAULTS = {"unit": "m", "width_unit": "cm", "step": "step", "moment": "home"}  # what the closed part of the form sends


@pytest.fixture
def on(cast: Cast) -> date:
    return cast.academy.today(timezone.now())


@pytest.fixture(autouse=True)
def designs(cast: Cast) -> dict[str, Design]:
    load_library()
    return {design.kind: design for design in Design.objects.all()}


@pytest.fixture
def make_test(cast: Cast, designs: dict[str, Design], on: date) -> Callable[..., ScoredTest]:
    def make(kind: str = "leaves", balls: int = 0, **values: Any) -> ScoredTest:
        values = {"student": cast.student, "by": cast.coach.user, "day": on, "side": "right", **values}
        test = ScoredTest.objects.create(design=designs[kind], width_m=designs[kind].width_m, **values)
        what = {"gate": "through", "counted": "holed"}.get(kind, "holed")
        for number in range(1, balls + 1):
            test.balls.create(number=number, distance_m=test.design.distances_m[0], result=what)
        return test

    return make


Make = Callable[..., ScoredTest]


def address(name: str, test: ScoredTest) -> str:
    return reverse(name, args=[test.student.key, test.key])


def list_address(student: Student) -> str:
    return reverse("tests", args=[student.key])


def words_of(answer: Any) -> str:
    """What a page says, without its tags."""
    page = re.sub(r"(?s)<(head|script|style).*?</\1>", "", answer.content.decode())
    return " ".join(re.sub(r"<[^>]+>", " ", page).split())


def begin(client: Client, student: Student, design: Design, key: uuid.UUID | None = None, **typed: Any) -> Any:
    data = {"design": design.pk, **DEFAULTS, **typed}
    return client.post(reverse("scored_test", args=[student.key, key or fresh_key()]), data)


# --- The list -----------------------------------------------------------------------------------


def test_the_list_gives_counts_latest_first(make_test: Make, cast: Cast, as_: Clients, on: date) -> None:
    make_test("gate", 5, done_at=timezone.now(), day=on - timedelta(days=3))
    make_test("counted", 12, done_at=timezone.now())
    make_test("leaves", 9, done_at=timezone.now(), is_void=True)
    page = words_of(as_("student").get(list_address(cast.student)))
    assert page.index("Holed 12 of 12 from 1 m.") < page.index("5 of 5 through.")
    assert "How close to the hole" not in page and "%" not in page and "at practice" in page


def test_a_test_without_a_ball_is_not_listed(make_test: Make, cast: Cast, as_: Clients) -> None:
    make_test()
    assert "No test yet." in words_of(as_("student").get(list_address(cast.student)))


def test_an_unfinished_test_can_be_gone_on_with(make_test: Make, cast: Cast, as_: Clients) -> None:
    test = make_test(balls=3)
    page = as_("guardian").get(list_address(cast.student))
    assert "Not finished." in words_of(page) and f'href="{address("scored_test", test)}"' in page.content.decode()
    assert "Ball 4 of 20" in words_of(as_("guardian").get(address("scored_test", test)))


def test_the_list_costs_no_more_with_more_tests(
    make_test: Make, cast: Cast, as_: Clients, django_assert_max_num_queries: Any
) -> None:
    client = as_("guardian")
    make_test("gate", 5, done_at=timezone.now())
    with django_assert_max_num_queries(14) as few:
        client.get(list_address(cast.student))
    for _ in range(6):
        make_test("leaves", 8, done_at=timezone.now())
    with django_assert_max_num_queries(14) as many:
        client.get(list_address(cast.student))
    assert len(many) == len(few)


# --- Set-up -------------------------------------------------------------------------------------


def test_a_fresh_address_shows_the_tests_with_their_cautions(cast: Cast, as_: Clients) -> None:
    fresh = as_("student").get(reverse("test_new", args=[cast.student.key]))
    answer = as_("student").get(fresh.headers["Location"])
    page = words_of(answer)
    for name in ("How close to the hole", "Through the gate", "Putts that drop", "Near and far", "Chips near the hole"):
        assert name in page
    assert "nobody stands near the gate" in page and "10 balls from each of 1, 1.5, 2 and 3 m" in page
    assert "outside a lesson" not in page and not ScoredTest.objects.exists()


def test_the_aim_of_a_putt_is_said_before_the_first_ball(cast: Cast, as_: Clients, designs: dict[str, Design]) -> None:
    """Past a hole, at a line, in the middle of a zone, in the academy's unit; where a test begins and at its pad."""
    Design.objects.filter(kind="counted").update(past_m=0.2)
    page = words_of(as_("student").get(reverse("scored_test", args=[cast.student.key, fresh_key()])))
    for aim in ("stop 30 cm past the hole.", "stop 20 cm past the hole.", "stop at the line."):
        assert page.count(f"Each putt is meant to {aim}") == 1
    Academy.objects.update(units="ft")
    page = words_of(as_("student").get(reverse("scored_test", args=[cast.student.key, fresh_key()])))
    assert "Each putt is meant to stop 1 ft past the hole." in page and "8 in past the hole" in page
    Design.objects.filter(kind="ladder").update(past_m=0.6096)
    key = fresh_key()
    pad = as_("student").get(begin(as_("student"), cast.student, designs["ladder"], key).headers["Location"])
    assert "stop 2 ft past the line. Between two lines, that is the middle." in words_of(pad)


def test_the_aim_is_the_one_that_the_test_began_with_and_leaves_the_pad_after_the_first_ball(
    make_test: Make, cast: Cast, as_: Clients
) -> None:
    begun, gate_test = make_test("leaves", past_m=0.5), make_test("gate")
    Design.objects.filter(kind="leaves").update(past_m=0.0)
    first, through = (words_of(as_("student").get(f"{address('scored_test', t)}?plan=")) for t in (begun, gate_test))
    assert "Each putt is meant to stop 0.5 m past the hole." in first and "meant to stop" not in through
    begun.balls.create(number=1, distance_m=6.0, result="holed")
    assert "meant to stop" not in words_of(as_("student").get(address("scored_test", begun)))


def test_a_child_reads_the_aim_in_a_childs_words(cast: Cast, as_: Clients, on: date) -> None:
    Student.objects.filter(pk=cast.student.pk).update(birth_year=on.year - 9)
    Design.objects.filter(kind="counted").update(past_m=0.0)
    at = reverse("scored_test", args=[cast.student.key, fresh_key()])
    child, coach = (words_of(as_(who).get(at)) for who in ("student", "coach"))
    assert "Let each ball roll a little past the hole: about 30 cm." in child
    assert "Try to stop each ball right at the line." in child and "Try to stop each ball right at the hole." in child
    assert "meant to stop" not in child
    assert "Each putt is meant to stop 30 cm past the hole." in coach and "a little past" not in coach


def test_an_archived_test_is_not_offered(cast: Cast, as_: Clients, designs: dict[str, Design]) -> None:
    Design.objects.filter(kind="chips").update(archived=True)
    page = words_of(as_("student").get(reverse("scored_test", args=[cast.student.key, fresh_key()])))
    assert "Proximity" not in page
    assert begin(as_("student"), cast.student, designs["chips"]).status_code == 422


def test_two_taps_begin_a_test_as_it_ships(cast: Cast, as_: Clients, designs: dict[str, Design], on: date) -> None:
    Student.objects.filter(pk=cast.student.pk).update(putting_side="left")
    key = fresh_key()
    answers = [begin(as_("student"), cast.student, designs["gate"], key) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [303, 303]
    test = ScoredTest.objects.get()
    assert (test.key, test.side, test.width_m, test.step_m, test.day) == (key, "left", 0.08, 0.9, on)
    assert (test.by, test.moment, test.lesson, test.stimp_ft) == (cast.student.user, "home", None, None)
    assert "Ball 1 of 20 from 1 m (1 step)" in words_of(as_("student").get(answers[0].headers["Location"]))
    assert ScoredTest.history.get().history_user == cast.student.user


def test_a_set_up_after_the_first_ball_changes_nothing_and_the_page_says_so(
    make_test: Make, cast: Cast, as_: Clients, designs: dict[str, Design]
) -> None:
    test = make_test("leaves", 2)
    answer = begin(as_("student"), cast.student, designs["gate"], test.key)
    page = words_of(as_("student").get(answer.headers["Location"]))
    assert "This test has already begun; it continues with its first set-up." in page
    assert "How close to the hole" in page and "Ball 3 of 20 from 6 m" in page


def test_before_the_first_ball_the_set_up_is_asked_again(make_test: Make, as_: Clients, cast: Cast) -> None:
    test = make_test("gate", stimp_ft="9.5", step_m=0.3048)
    page = as_("coach").get(address("scored_test", test)).content.decode()
    assert re.search(rf'name="design" value="{test.design.pk}"[^>]*checked', page) and 'value="9.5"' in page
    assert re.search(r'name="step" value="ft"[^>]*checked', page)
    assert "no ball yet" in words_of(as_("manager").get(address("scored_test", test))).lower()


@pytest.mark.parametrize(
    ("typed", "unit", "plan"),
    [
        ("3", "m", "3x20"),
        ("20", "ft", "6.096x20"),
        ("3 4,5 6", "m", "3x20,4.5x20,6x20"),
        ("7", "step", "6.3x20"),
        ("600", "cm", "6x20"),
        ("5", "yd", "4.572x20"),
        ("", "m", "6x20"),
    ],
)
def test_distances_are_typed_in_whatever_unit(
    typed: str, unit: str, plan: str, cast: Cast, as_: Clients, designs: dict[str, Design]
) -> None:
    answer = begin(as_("student"), cast.student, designs["leaves"], distances=typed, unit=unit)
    assert answer.status_code == 303
    assert answer.headers["Location"].endswith("?plan=" + plan.replace(",", "%2C"))


def test_minutes_at_hand_become_balls(cast: Cast, as_: Clients, designs: dict[str, Design]) -> None:
    """Four minutes at six balls a minute are 24, six from each of four distances. Common practice, no source."""
    student = as_("student")
    assert begin(student, cast.student, designs["counted"], minutes="4").headers["Location"].count("x6") == 4
    assert begin(student, cast.student, designs["counted"], minutes="2").headers["Location"].endswith("=1.5x6%2C2x6")
    assert begin(student, cast.student, designs["ladder"], minutes="1").headers["Location"].count("x") == 1
    assert "6x4" in begin(student, cast.student, designs["leaves"], minutes="9", balls="4").headers["Location"]


def test_the_green_is_read_up_and_down_the_slope(cast: Cast, as_: Clients, designs: dict[str, Design]) -> None:
    """Brede (1990), USGA Green Section Record 28(6): 2 x up x down / (up + down), so 6 and 12 ft make 8 ft."""
    begin(as_("student"), cast.student, designs["leaves"], stimp_up="6", stimp_down="12")
    begin(as_("student"), cast.student, designs["leaves"], stimp="9,5")
    assert sorted(ScoredTest.objects.values_list("stimp_ft", flat=True)) == [Decimal("8.0"), Decimal("9.5")]


BAD = [
    ("leaves", {"distances": "0", "unit": "ft"}, "distances", "more than 0"),
    ("leaves", {"distances": "200", "unit": "ft"}, "distances", "Is the unit right?"),
    ("leaves", {"distances": "-3"}, "distances", "more than 0"),
    ("leaves", {"distances": "61"}, "distances", "Is the unit right?"),
    ("leaves", {"distances": "six"}, "distances", "Type numbers only"),
    ("leaves", {"distances": "nan"}, "distances", "Type numbers only"),
    ("leaves", {"distances": "6 m"}, "distances", "Type numbers only"),
    ("leaves", {"distances": "3,6"}, "distances", "3 6 with a space for two"),
    ("leaves", {"distances": " ".join("1" * 13)}, "distances", "Not more than 12"),
    ("leaves", {"balls": "0"}, "balls", "from 1 to 100"),
    ("leaves", {"balls": "101"}, "balls", "from 1 to 100"),
    ("leaves", {"balls": "ten"}, "balls", "from 1 to 100"),
    ("leaves", {"minutes": "0"}, "minutes", "from 1 to 60"),
    ("leaves", {"stimp": "2"}, "stimp", "from 4 to 16"),
    ("leaves", {"stimp": "20"}, "stimp", "from 4 to 16"),
    ("leaves", {"stimp": "fast"}, "stimp", "from 4 to 16"),
    ("leaves", {"stimp": "-9"}, "stimp", "from 4 to 16"),
    ("leaves", {"stimp_up": "6"}, "stimp", "both readings"),
    ("leaves", {"stimp_up": "30", "stimp_down": "40"}, "stimp", "Read again"),
    ("leaves", {"stimp_up": "0", "stimp_down": "8"}, "stimp_up", "from 1 to 60"),
    ("leaves", {"stimp": "9", "stimp_up": "8", "stimp_down": "9"}, "stimp", "not both"),
    ("gate", {"width": "4"}, "width", "Is the unit right?"),
    ("gate", {"width": "8", "width_unit": "m"}, "width", "Is the unit right?"),
    ("gate", {"width": "8 9"}, "width", "one width"),
    ("leaves", {"unit": "mile", "distances": "1"}, "unit", "mile"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "typed", "field", "why"), BAD, ids=[f"{b[2]}-{next(iter(b[1].values()))[:8]}" for b in BAD]
)
def test_what_cannot_be_says_why_beside_the_field_and_keeps_the_rest(
    kind: str, typed: dict[str, str], field: str, why: str, cast: Cast, as_: Clients, designs: dict[str, Design]
) -> None:
    kept = {"balls": "17", "stimp": "9.5"} | ({"stimp": ""} if "stimp_up" in typed else {})
    answer = begin(as_("coach"), cast.student, designs[kind], **kept | typed)
    page = answer.content.decode()
    assert answer.status_code == 422 and not ScoredTest.objects.exists()
    assert why in words_of(answer).replace("&#x27;", "'") and f'id="id_{field}_error"' in page
    assert all(f'value="{value}"' in page for value in (kept | typed).values() if value not in ("", "mile"))
    assert re.search(r"<details class=\"more\" open>", page) and page.count("checked") >= 2


@pytest.mark.parametrize(
    ("kind", "typed", "asked"),
    [
        ("ladder", {"distances": "3", "unit": "ft"}, "You typed 3 ft; did you mean 3 m?"),
        ("leaves", {"distances": "20", "unit": "m"}, "You typed 20 m; did you mean 20 ft?"),
        ("gate", {"width": "8", "width_unit": "in"}, "You typed 8 in; did you mean 8 cm?"),
    ],
)
def test_units_mixed_up_are_asked_about_and_may_be_kept(
    kind: str, typed: dict[str, str], asked: str, cast: Cast, as_: Clients, designs: dict[str, Design]
) -> None:
    key = fresh_key()
    fresh = as_("student").get(reverse("scored_test", args=[cast.student.key, key]))
    assert "Keep it as I typed it" not in words_of(fresh)
    answer = begin(as_("student"), cast.student, designs[kind], key, **typed)
    page = words_of(answer)
    assert answer.status_code == 422 and asked in page and "Keep it as I typed it" in page
    assert begin(as_("student"), cast.student, designs[kind], key, keep="on", **typed).status_code == 303


def test_an_academy_that_reads_feet_begins_in_feet(cast: Cast, as_: Clients, designs: dict[str, Design]) -> None:
    Academy.objects.update(units="ft")
    page = as_("student").get(reverse("scored_test", args=[cast.student.key, fresh_key()])).content.decode()
    assert "20 balls from 20 ft" in page and '<option value="ft" selected>' in page
    address = begin(as_("student"), cast.student, designs["leaves"], distances="20", unit="ft").headers["Location"]
    assert "from 20 ft (7 steps)" in words_of(as_("student").get(address))


# --- In a lesson --------------------------------------------------------------------------------


@pytest.fixture
def lesson(cast: Cast) -> Lesson:
    session = Session.objects.create(coach=cast.coach, starts_at=timezone.now() - timedelta(hours=1))
    lesson = Lesson.for_student(cast.student, session)
    lesson.save()
    return lesson


def test_a_coach_sets_a_test_into_a_lesson_of_these_days(
    lesson: Lesson, cast: Cast, as_: Clients, designs: dict[str, Design]
) -> None:
    key = fresh_key()
    page = as_("coach").get(reverse("scored_test", args=[cast.student.key, key])).content.decode()
    assert f'value="arrival_{lesson.key}"' in page and f'value="departure_{lesson.key}"' in page
    begin(as_("coach"), cast.student, designs["leaves"], key, moment=f"departure_{lesson.key}")
    test = ScoredTest.objects.get()
    assert (test.lesson, test.moment) == (lesson, "departure")
    assert test.day == cast.academy.today(lesson.session.starts_at)


def test_the_moment_is_required_where_there_is_a_lesson(
    lesson: Lesson, cast: Cast, as_: Clients, designs: dict[str, Design]
) -> None:
    answer = begin(as_("coach"), cast.student, designs["leaves"], moment="")
    assert answer.status_code == 422 and "Choose when." in words_of(answer)
    assert begin(as_("coach"), cast.student, designs["leaves"], moment=f"arrival_{fresh_key()}").status_code == 422


@pytest.mark.parametrize("actor", ["student", "guardian"])
def test_a_student_alone_is_alone(
    actor: str, lesson: Lesson, cast: Cast, as_: Clients, designs: dict[str, Design]
) -> None:
    assert str(lesson.key) not in as_(actor).get(reverse("scored_test", args=[cast.student.key, fresh_key()])).text
    begin(as_(actor), cast.student, designs["leaves"], moment=f"arrival_{lesson.key}")
    assert ScoredTest.objects.get().moment == "home" and ScoredTest.objects.get().lesson is None


@pytest.mark.parametrize(("days", "kind", "offered"), [(2, "lesson", True), (3, "lesson", False), (0, "clip", False)])
def test_only_lessons_of_the_last_two_days_have_a_moment_to_test(
    days: int, kind: str, offered: bool, lesson: Lesson, cast: Cast, as_: Clients
) -> None:
    lesson.session.starts_at = this_time(days_ago=days)
    lesson.session.kind = kind
    lesson.session.save()
    page = as_("coach").get(reverse("scored_test", args=[cast.student.key, fresh_key()])).content.decode()
    assert (str(lesson.key) in page) == offered


# --- Balls --------------------------------------------------------------------------------------


def tap(client: Client, test: ScoredTest, number: int, what: str, **more: Any) -> Any:
    headers = more.pop("headers", {})
    return client.post(address("test_ball", test), {"number": number, "what": what, **more}, headers=headers)


def test_a_tap_without_a_script_notes_a_ball_and_comes_back_to_the_page(make_test: Make, as_: Clients) -> None:
    test = make_test()
    answer = tap(as_("student"), test, 1, "2", plan="3x10")
    assert answer.status_code == 303 and answer.headers["Location"].endswith("?plan=3x10")
    ball = Ball.objects.get()
    assert (ball.number, ball.distance_m, ball.result, ball.length) == (1, 3.0, "missed", "past")
    page = words_of(as_("student").get(answer.headers["Location"]))
    assert "Ball 2 of 10 from 3 m (3 steps)" in page and "1: 2 steps past" in page and "Undo ball 1" in page


def test_a_double_tap_meets_the_same_ball(make_test: Make, as_: Clients) -> None:
    test = make_test()
    answers = [tap(as_("student"), test, 1, "holed", headers=HTMX) for _ in range(3)]
    assert [answer.status_code for answer in answers] == [201, 200, 200]
    for answer in answers:
        assert "Ball 2 of 20" in words_of(answer) and "<html" not in answer.content.decode()
    assert Ball.objects.count() == 1


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["page", "fragment"])
def test_other_words_for_a_number_show_what_is_stored(headers: dict[str, str], make_test: Make, as_: Clients) -> None:
    test = make_test(balls=2)
    answer = tap(as_("student"), test, 2, "-1", headers=headers)
    page = words_of(answer)
    assert answer.status_code == 422 and "Ball 2 is already noted. Its result: holed." in page
    assert "Ball 3 of 20" in page and Ball.objects.count() == 2


def test_only_the_last_three_balls_are_listed(make_test: Make, as_: Clients) -> None:
    page = words_of(as_("student").get(address("scored_test", make_test(balls=6))))
    assert "4: holed 5: holed 6: holed" in page and "3: holed" not in page


def test_undo_takes_the_last_ball_once(make_test: Make, as_: Clients) -> None:
    test = make_test(balls=3)
    answers = [as_("student").post(address("test_undo", test), {"number": 3}, headers=HTMX) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [200, 200] and Ball.objects.count() == 2
    assert "Ball 3 of 20" in words_of(answers[1])
    assert as_("student").post(address("test_undo", test), {}).status_code == 422


def test_after_the_last_ball_there_is_only_done_and_undo(make_test: Make, as_: Clients) -> None:
    test = make_test(balls=4)
    answer = tap(as_("student"), test, 5, "holed", plan="6x5", headers=HTMX)
    page = words_of(answer)
    assert "All 5 balls are noted." in page and "Undo ball 5" in page and "Done" in page and "Level" not in page
    late = tap(as_("student"), test, 6, "holed", plan="6x5")
    assert late.status_code == 422 and "All 5 balls are noted." in words_of(late) and Ball.objects.count() == 5


@pytest.mark.parametrize(
    ("what", "more", "why"),
    [
        ("", {}, "Tap where the ball went."),
        ("left", {}, "Tap where the ball went."),
        ("past", {"far": "x"}, "Type a number"),
        ("short", {"far": "9"}, "cannot stop behind where it lay"),
    ],
)
@pytest.mark.parametrize("headers", [{}, HTMX], ids=["page", "fragment"])
def test_a_tap_that_cannot_be_says_why(
    what: str, more: dict[str, str], why: str, headers: dict[str, str], make_test: Make, as_: Clients
) -> None:
    answer = tap(as_("student"), make_test(), 1, what, headers=headers, **more)
    assert answer.status_code == 422 and why in words_of(answer) and not Ball.objects.exists()


@pytest.mark.parametrize("number", ["", "0", "-1", "one", "9" * 30, "7"])
def test_a_number_that_cannot_be_notes_nothing(number: str, make_test: Make, as_: Clients) -> None:
    answer = as_("student").post(address("test_ball", make_test()), {"number": number, "what": "holed"})
    assert answer.status_code == 422 and not Ball.objects.exists()


@pytest.mark.parametrize("plan", ["", "x", "99x99", "1x5,2x"])
def test_a_page_without_its_plan_goes_on_as_the_test_says(plan: str, make_test: Make, as_: Clients) -> None:
    test = make_test(balls=1)
    tap(as_("student"), test, 2, "holed", plan=plan)
    assert Ball.objects.get(number=2).distance_m == 6.0


def test_one_distance_only_and_then_on_without_an_end(make_test: Make, as_: Clients) -> None:
    test = make_test()
    tap(as_("student"), test, 1, "holed", plan="4x8")
    page = words_of(as_("student").get(address("scored_test", test)))
    assert "Ball 2 from 4 m" in page


def test_a_left_side_player_reads_left_and_it_is_a_push(make_test: Make, as_: Clients) -> None:
    test = make_test("gate", side="left")
    page = words_of(tap(as_("student"), test, 1, "left", headers=HTMX))
    assert Ball.objects.get().miss == "push" and "1: left" in page


# --- Finished and undone ------------------------------------------------------------------------


def test_stopping_early_counts_the_balls_so_far(make_test: Make, as_: Clients, cast: Cast) -> None:
    test = make_test(balls=7)
    assert "Yes, 7 balls count" in words_of(as_("student").get(address("scored_test", test)))
    answers = [as_("student").post(address("test_done", test)) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [303, 303]
    page = words_of(as_("student").get(answers[0].headers["Location"]))
    assert "Of 7 from 6 m: 7 holed." in page and "Recorded by Ida Fernkettle." in page and "Holed, from 6 m" in page
    assert list(cast.student.scored_tests.done()) == [test]


def test_stopping_before_the_first_ball_says_why_not(make_test: Make, as_: Clients) -> None:
    test = make_test()
    answer = as_("student").post(address("test_done", test))
    assert answer.status_code == 422 and "No ball is noted yet" in words_of(answer)
    assert ScoredTest.objects.get().done_at is None


@pytest.mark.parametrize("headers", [{}, HTMX], ids=["page", "fragment"])
def test_no_ball_after_the_end(headers: dict[str, str], make_test: Make, as_: Clients) -> None:
    test = make_test(balls=2, done_at=timezone.now())
    answer = tap(as_("student"), test, 3, "holed", headers=headers)
    assert answer.status_code == 422 and "finished: no more balls" in words_of(answer)
    undone = as_("student").post(address("test_undo", test), {"number": 2}, headers=headers)
    assert undone.status_code == 422 and Ball.objects.count() == 2
    assert tap(as_("student"), test, 2, "holed", headers=HTMX).status_code == 200, "a replay is no new ball"


def test_a_test_is_undone_once_and_kept(make_test: Make, as_: Clients, cast: Cast) -> None:
    test = make_test(balls=2, done_at=timezone.now())
    assert [as_("coach").post(address("test_void", test)).status_code for _ in range(2)] == [303, 303]
    assert ScoredTest.objects.get().is_void and Ball.objects.count() == 2
    row = ScoredTest.history.first()
    assert row.history_user == cast.coach.user and ScoredTest.history.filter(is_void=True).count() == 1
    assert "Undone: this test does not count." in words_of(as_("coach").get(address("scored_test", test)))


@pytest.mark.parametrize(
    ("recorded_by", "actor", "may"),
    [
        ("student", "student", True),
        ("coach", "student", False),
        ("coach", "assistant", True),
        ("coach", "guardian", True),
        ("student", "coach", True),
    ],
)
def test_who_may_undo_a_test(
    recorded_by: str, actor: str, may: bool, make_test: Make, as_: Clients, cast: Cast
) -> None:
    test = make_test(balls=2, done_at=timezone.now(), by=cast.user(recorded_by))
    assert ("Undo this test" in words_of(as_(actor).get(address("scored_test", test)))) == may
    answer = as_(actor).post(address("test_void", test))
    assert answer.status_code == (303 if may else 422) and ScoredTest.objects.get().is_void == may


@pytest.mark.parametrize(("ago", "status"), [(14, 303), (15, 404)])
def test_a_test_can_be_undone_for_two_weeks(ago: int, status: int, make_test: Make, as_: Clients, on: date) -> None:
    test = make_test(balls=2, done_at=timezone.now(), day=on - timedelta(days=ago))
    assert as_("coach").post(address("test_void", test)).status_code == status


# --- Who, how, and where nothing is -------------------------------------------------------------

POSTS = ["scored_test", "test_ball", "test_undo", "test_done", "test_void"]


@pytest.mark.parametrize("actor", ["other_student", "other_coach", "past_guardian", "past_coach"])
def test_a_stranger_finds_nothing(actor: str, make_test: Make, as_: Clients, cast: Cast) -> None:
    test = make_test(balls=1)
    assert as_(actor).get(list_address(cast.student)).status_code == 404
    assert as_(actor).get(address("scored_test", test)).status_code == 404
    assert {as_(actor).post(address(name, test)).status_code for name in POSTS} == {404}


def test_a_manager_reads_and_records_nothing(make_test: Make, as_: Clients, cast: Cast) -> None:
    test = make_test(balls=1)
    page = as_("manager").get(address("scored_test", test))
    assert page.status_code == 200 and "Not finished." in words_of(page) and "Undo" not in words_of(page)
    assert "Begin a test" not in words_of(as_("manager").get(list_address(cast.student)))
    assert as_("manager").get(reverse("test_new", args=[cast.student.key])).status_code == 403
    assert as_("manager").get(reverse("scored_test", args=[cast.student.key, fresh_key()])).status_code == 403
    assert {as_("manager").post(address(name, test)).status_code for name in POSTS} == {403}


def test_a_visitor_is_asked_to_sign_in(make_test: Make, as_: Clients) -> None:
    test = make_test(balls=1)
    assert as_("anonymous").get(address("scored_test", test)).status_code == 302
    assert tap(as_("anonymous"), test, 2, "holed").status_code == 401
    assert Ball.objects.count() == 1


@pytest.mark.parametrize("name", POSTS)
def test_a_test_of_another_student_is_not_there(name: str, make_test: Make, as_: Clients, cast: Cast) -> None:
    theirs = make_test(balls=1, student=cast.other_student)
    mixed = reverse(name, args=[cast.student.key, theirs.key])
    assert as_("student").post(mixed).status_code == 404
    if name == "scored_test":
        assert as_("student").get(mixed).status_code == 404


def test_wrong_methods(make_test: Make, as_: Clients, cast: Cast) -> None:
    test = make_test(balls=1)
    assert as_("student").post(list_address(cast.student)).status_code == 405
    assert {as_("student").get(address(name, test)).status_code for name in POSTS[1:]} == {405}


def test_a_child_reads_plain_words(make_test: Make, as_: Clients, cast: Cast, on: date) -> None:
    Student.objects.filter(pk=cast.student.pk).update(birth_year=on.year - 10)
    test = make_test("gate", 3)
    pages = [
        list_address(cast.student),
        address("scored_test", test),
        reverse("scored_test", args=[cast.student.key, fresh_key()]),
    ]
    for page in pages:
        assert not re.search(r"\b(fault|marked|slight|push|pull)\b", words_of(as_("student").get(page)), re.IGNORECASE)


def test_a_test_reached_from_the_list_continues_with_its_plan(cast: Cast, as_: Clients) -> None:
    coach, key = as_("coach"), fresh_key()
    design = Design.objects.get(kind="counted")
    begin(coach, cast.student, design, key, distances="1, 2", unit="m", balls="3")
    at = [cast.student.key, key]
    for number in range(1, 5):
        coach.post(reverse("test_ball", args=at), {"number": number, "what": "holed"})
    page = words_of(coach.get(reverse("scored_test", args=at)))
    assert "Ball 5 of 6" in page and "2 m" in page
