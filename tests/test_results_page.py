"""The pages of test results, as a coach, a student, a guardian and a child read them; sparse and odd data."""

import os
import re
import subprocess
import sys
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from coachbook.accounts.models import Academy
from drills.models import ScoredTest
from tests.conftest import Cast
from tests.test_putting_results import Putting, all_three, chips, designs, scored, today

__all__ = ["designs"]
pytestmark = [pytest.mark.one_database, pytest.mark.long]
Clients = Callable[[str], Client]
READERS = pytest.mark.parametrize("actor", ["coach", "student"])
WRONG = re.compile(r"\b(nan|None|inf|-?Infinity)\b")


def page_of(client: Client, cast: Cast, query: str = "") -> str:
    return read(client, reverse("test_results", args=[cast.student.key]) + query)


def alone(client: Client, test: ScoredTest) -> str:
    return read(client, reverse("test_result", args=[test.student.key, test.key]))


def read(client: Client, url: str) -> str:
    response = client.get(url)
    assert response.status_code == 200
    return response.content.decode()


def text_of(page: str) -> str:
    """What a page says, without its tags and the names of what is drawn."""
    words = re.sub(r"<svg.*?</svg>", " ", page.split("<main", 1)[1].split("</main>")[0], flags=re.DOTALL)
    return " ".join(re.sub(r"<[^>]+>", " ", words).split())


# --- A coach ------------------------------------------------------------------------------------


def test_a_coach_reads_results_with_their_limits(cast: Cast, as_: Clients) -> None:
    all_three(cast.student, Putting(1.5, 0.12), stimp_ft=9.5)
    text = text_of(page_of(as_("coach"), cast))
    assert "3 tests: 80 putts. Stimp 9.5." in text
    assert re.search(r"Two putts of three start within \d\.\d° of their average line\.", text)
    assert re.search(r"Two putts of three stop within \d+% of their average length", text)
    assert "Of the stroke alone, by the balls at the gate" in text and "published averages include misreads" in text
    assert re.search(r"Line at the hole Two putts of three are within \d\.\d°", text) and "read" in text
    assert re.search(r"7 of 10 from [\d.]+ m", text) and "through a gate" in text
    assert "Ten putts cannot tell a player who holes 5 of 10 from one who holes 6" in text
    assert "What this assumes" in text and "not a verdict" in text


def test_without_a_gate_a_misread_counts_as_start_line(cast: Cast, as_: Clients) -> None:
    scored(cast.student, "putting-counted", Putting(1.5, 0.12).counted())
    text = text_of(page_of(as_("coach"), cast))
    assert "A misread counts as start line here" in text and "Line at the hole" not in text


def outside_how_sure(page: str) -> str:
    """What a page says without its one control for intervals; pictures are left out."""
    assert page.count("<summary>How sure is this?</summary>") == 1
    return text_of(re.sub(r'<details class="how-sure">.*?</details>', " ", page, flags=re.DOTALL))


def test_intervals_stand_behind_one_control(cast: Cast, as_: Clients) -> None:
    """What is outside speaks in counts and estimates; authors are named on the page of sources alone."""
    tests = all_three(cast.student, Putting(1.5, 0.12))
    scored(cast.student, "chipping-proximity", chips(*[1.0, 2.0] * 5))
    for page in (page_of(as_("coach"), cast), *(alone(as_("coach"), test) for test in tests)):
        assert not re.search(r"interval|\d to \d+%|\d[°%] to \d", outside_how_sure(page))
        for author in ("Broadie", "Gelman", "Holmes", "Penner", "Bansal", "(19", "(20"):
            assert author not in page.split("<main", 1)[1]
    page = page_of(as_("coach"), cast)
    behind = text_of("<main>" + page.split('<details class="how-sure">')[1].split("</details>")[0] + "</main>")
    for name in (
        "Start line",
        "Right or left",
        "Pace",
        "Short or long",
        "Putts to hole",
        "Holed from 1 m",
        "Up and down",
    ):
        assert re.search(rf"{name} [\d.]+\S*.*? to [\d.]+", behind), name
    assert reverse("sources") in page


@pytest.mark.parametrize(
    "units, foreign", [("m", r"\b(ft|feet|foot|inch(es)?|in wide)\b"), ("ft", r"\d (m|cm)\b|m/s|metre")]
)
@pytest.mark.parametrize("actor", ["coach", "student"])
def test_a_page_has_one_system_of_units(cast: Cast, as_: Clients, units: str, foreign: str, actor: str) -> None:
    Academy.objects.update(units=units)
    all_three(cast.student, Putting(1.0, 0.1, long=0.15))
    scored(cast.student, "chipping-proximity", chips(*[1.0, 2.0] * 5))
    page = page_of(as_(actor), cast)
    assert re.findall(foreign, page.split("<main", 1)[1].split("</main>")[0]) == []
    assert "One step is about 0.9 m." in page if units == "m" else "One step is about 3 ft." in page


def test_the_share_of_the_target_is_asked_for(cast: Cast, as_: Clients) -> None:
    all_three(cast.student, Putting(1.5, 0.12))
    assert "8 of 10 from" in text_of(page_of(as_("coach"), cast, "?share=80"))
    for odd in ("?share=75", "?share=", "?share=nan", "?share=-1", "?share=60&share=x"):
        assert "7 of 10 from" in text_of(page_of(as_("coach"), cast, odd))


def test_feet_for_an_academy_that_uses_feet(cast: Cast, as_: Clients) -> None:
    Academy.objects.update(units="ft")
    all_three(cast.student, Putting(1.5, 0.12))
    page = page_of(as_("coach"), cast)
    assert re.search(r"7 of 10 from [\d.]+ ft", text_of(page)) and "feet from the hole" in page


def test_sides_are_those_that_were_played_from(cast: Cast, as_: Clients) -> None:
    cast.student.putting_side = "left"
    cast.student.save()
    all_three(cast.student, Putting(1.0, 0.1, push=1.5), side="left")
    assert re.search(r"Pushes: \d\.\d° to the left", text_of(page_of(as_("coach"), cast)))


def test_tests_of_the_other_side_or_long_ago_are_left_out(cast: Cast, as_: Clients) -> None:
    all_three(cast.student, Putting(1.5, 0.12), side="left")
    all_three(cast.student, Putting(1.5, 0.12), days_ago=61)
    assert "No finished test" in text_of(page_of(as_("coach"), cast))


def test_the_picture_has_a_summary_and_a_table(cast: Cast, as_: Clients) -> None:
    all_three(cast.student, Putting(1.5, 0.12))
    page = page_of(as_("coach"), cast)
    assert "average for professionals" in page and 'class="club-players"' in page and page.count("<polyline") == 3
    described = re.search(r'<desc id="text-curve">(.*?)</desc>', page, re.DOTALL)
    assert described and re.search(r"From 1 m: \d+% estimated \(\d+% to \d+%\); \d+ of 10 counted", described[1])
    rows = re.findall(r'<tr role="row"><th scope="row" role="rowheader">3 m</th>.*?</tr>', page)
    assert rows and "<script" not in page.split("<main", 1)[1] and "style=" not in page


def test_one_test_stands_beside_all_recent_ones(cast: Cast, as_: Clients) -> None:
    leaves, gate, counted = all_three(cast.student, Putting(1.5, 0.12))
    for test in (leaves, gate, counted):
        text = text_of(alone(as_("coach"), test))
        assert "this test" in text and "all of the last 60 days" in text
        assert "By all putting tests of the last 60 days." in text


def test_one_test_shows_what_changed_since_the_one_before(cast: Cast, as_: Clients) -> None:
    scored(cast.student, "putting-gate", Putting(3.0, 0.1).gated(), days_ago=90)
    test = scored(cast.student, "putting-gate", Putting(0.5, 0.1).gated())
    text = text_of(alone(as_("coach"), test))
    assert "Better. Start-line error" in text and re.search(r"Change, Ball gate a change by \d+ to \d+%", text)


def test_what_changed_within_the_weeks_stands_at_the_top(cast: Cast, as_: Clients) -> None:
    scored(cast.student, "putting-gate", Putting(3.0, 0.1).gated(), days_ago=30)
    scored(cast.student, "putting-gate", Putting(0.5, 0.1).gated())
    text = text_of(page_of(as_("coach"), cast))
    assert text.index("the estimates mix before and after") < text.index("Start line and pace")


def test_putts_that_the_model_does_not_describe_are_counts_only(cast: Cast, as_: Clients) -> None:
    balls = [{"distance_m": 1.0, "result": "missed"}] * 20 + [{"distance_m": 6.0, "result": "holed"}] * 20
    scored(cast.student, "putting-counted", balls)
    text = text_of(page_of(as_("coach"), cast))
    assert "does not describe these putts well" in text and "7 of 10 from" not in text


# --- Little or odd data -------------------------------------------------------------------------

ODD: dict[str, tuple[str, list[dict[str, Any]]]] = {
    "no balls": ("putting-counted", []),
    "one ball": ("putting-counted", [{"result": "holed"}]),
    "one distance": ("putting-counted", list(Putting(1.5, 0.1).counted([2.0], each=20))),
    "all holed": ("putting-counted", [{"result": "holed"}] * 20),
    "none holed": ("putting-counted", [{"result": "missed"}] * 20),
    "none holed, all short": ("putting-counted", [{"result": "missed", "length": "short", "miss": "push"}] * 20),
    "all through": ("putting-gate", [{"result": "through"}] * 20),
    "none through": ("putting-gate", [{"result": "beside"}] * 20),
    "only a gate": ("putting-gate", list(Putting(1.5, 0.1).gated())),
    "only chips": ("chipping-proximity", list(chips(1.0, 2.0, 0.5, 3.0, 1.5, 2.5, 1.0, 0.5, 2.0, 4.0))),
    "few chips": ("chipping-proximity", list(chips(1.0, 2.0))),
    "chips all holed": ("chipping-proximity", list(chips(*[0.0] * 10))),
    "all leaves the same": ("putting-leaves", list(chips(*[0.5] * 20))),
    "leaves of nothing": ("putting-leaves", [{"result": "missed", "leave_m": 0.0}] * 20),
    "misses that nobody measured": ("putting-leaves", [{"result": "missed"}] * 20),
    "all leaves holed": ("putting-leaves", [{"result": "holed"}] * 20),
    "a ball that ran backwards": ("putting-leaves", [{"result": "missed", "leave_m": -6.99}] * 20),
    "a very long putt": ("putting-counted", [{"result": "missed", "distance_m": 60.0}] * 10),
    "a very short one": ("putting-counted", [{"result": "holed", "distance_m": 0.01}] * 10),
}


@READERS
@pytest.mark.parametrize("name", ODD)
def test_odd_data_gets_a_sensible_sentence(cast: Cast, as_: Clients, name: str, actor: str) -> None:
    code, balls = ODD[name]
    for days_ago in (3, 0):
        test = scored(cast.student, code, balls, days_ago=days_ago, step_m=0.1)
    for page in (page_of(as_(actor), cast), alone(as_(actor), test)):
        assert not WRONG.search(page.split("<main", 1)[1])
        assert len(text_of(page).split()) > 12


@READERS
def test_no_tests_no_numbers(cast: Cast, as_: Clients, actor: str) -> None:
    text = text_of(page_of(as_(actor), cast))
    assert "No finished test" in text or "fills with your first test" in text
    assert not re.search(r"\d°|\d%", text.split("What this assumes")[0])


@READERS
def test_no_percentage_of_under_eight_balls(cast: Cast, as_: Clients, actor: str) -> None:
    scored(cast.student, "putting-counted", [{"result": "holed"}, {"result": "missed"}] * 3)
    scored(cast.student, "chipping-proximity", chips(1.0, 2.0, 3.0))
    text = text_of(page_of(as_(actor), cast)).split("What this assumes")[0]
    assert "3 of 6" in text and "%" not in text and "°" not in text


# --- Students -----------------------------------------------------------------------------------


@pytest.mark.parametrize("actor", ["student", "guardian"])
def test_a_student_reads_plain_words(cast: Cast, as_: Clients, actor: str) -> None:
    scored(cast.student, "putting-gate", Putting(4.0, 0.1).gated(), days_ago=20)
    scored(cast.student, "putting-counted", Putting(1.2, 0.1, push=1.5, seed=4).counted(), days_ago=1)
    all_three(cast.student, Putting(1.2, 0.1, push=1.5))
    scored(cast.student, "chipping-proximity", chips(*[1.0, 2.0] * 5))
    for page in (page_of(as_(actor), cast), alone(as_(actor), cast.student.scored_tests.last())):
        text = text_of(page)
        for word in (
            "interval",
            "°",
            "%",
            "tour",
            "professional",
            "90 strokes",
            "push",
            "pull",
            "Broadie",
            "fault",
            "tend",
        ):
            assert word not in text and f"{word}<" not in page.split("<main")[1]
    text = text_of(page_of(as_(actor), cast))
    assert "Start your putts a little further to the left." in text and "Try for this" in text
    assert re.search(r"7 of 10 holed from [\d.]+ m \(.{,12} steps?\)", text)
    assert "Through the gate Better than on" in text
    assert "Half of your chips stop within" in text
    first_screen = text.split("What next")[0]
    assert "Try for this 7 of 10 holed from" in first_screen and first_screen.count(" of 10 ") == 1
    assert text.index("What next") < text.index("Where your putts stopped")


def test_a_child_reads_one_sentence_and_a_game(cast: Cast, as_: Clients) -> None:
    cast.student.birth_year = today().year - 9
    cast.student.save()
    all_three(cast.student, Putting(1.5, 0.1))
    text = text_of(page_of(as_("student"), cast))
    assert re.search(r"You holed \d+ of 40 putts from 1 m to 3 m, and \d+ of 20 balls went through the gate\.", text)
    assert re.search(r"Putt ten balls from .* step.*\. Seven in the hole, and you win\.", text)
    assert "Your result" not in text and "%" not in text
    assert "What this assumes" in text_of(page_of(as_("coach"), cast))


def test_a_student_who_leaves_a_ladder_short_reads_of_its_line_and_of_no_hole(cast: Cast, as_: Clients) -> None:
    """A tenth short of the line in every station; beside a test to a hole the two aims differ, and none is said."""
    short = [{"distance_m": d, "leave_m": -d / 10 + off} for d in (3.0, 6.0, 9.0, 12.0) for off in (-0.5, 0, 0, 0, 0.5)]
    scored(cast.student, "putting-ladder", [{"result": "missed", **ball} for ball in short])
    text = text_of(page_of(as_("student"), cast))
    assert "Let your putts roll a little further: they are meant to stop at the line." in text
    assert "past the hole" not in text
    scored(cast.student, "putting-leaves", Putting(1.0, 0.08, long=-0.1).leaves())
    text = text_of(page_of(as_("student"), cast))
    assert "Let your putts roll a little further." in text and "meant to stop" not in text


# --- The address --------------------------------------------------------------------------------


def test_strangers_and_other_methods(cast: Cast, as_: Clients) -> None:
    [test, *_] = all_three(cast.student, Putting(1.5, 0.1))
    for url in (
        reverse("test_results", args=[cast.student.key]),
        reverse("test_result", args=[cast.student.key, test.key]),
    ):
        assert as_("other_coach").get(url).status_code == 404
        assert as_("coach").post(url).status_code == 405


def test_only_finished_tests_of_this_student_have_a_result(cast: Cast, as_: Clients) -> None:
    open_test = scored(cast.student, "putting-gate", Putting(1, 0.1).gated(), done_at=None)
    is_void = scored(cast.student, "putting-gate", Putting(1, 0.1).gated(), is_void=True)
    foreign = scored(cast.other_student, "putting-gate", Putting(1, 0.1).gated())
    for key in (open_test.key, is_void.key, foreign.key, uuid.uuid4()):
        assert as_("coach").get(reverse("test_result", args=[cast.student.key, key])).status_code == 404


def test_queries_do_not_grow_with_balls_or_tests(cast: Cast, as_: Clients) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as found:
            page_of(as_("coach"), cast)
        return len(found)

    for days_ago in (9, 8):
        all_three(cast.student, Putting(1.5, 0.1), days_ago=days_ago)
    page_of(as_("coach"), cast)
    few = queries()
    for days_ago in (7, 6, 5):
        all_three(cast.student, Putting(1.5, 0.1), days_ago=days_ago)
    assert queries() == few


def test_other_pages_do_not_load_the_model() -> None:
    """The table of contents alone imports neither numpy nor scipy: they cost more than a page."""
    code = "import django; django.setup(); import coachbook.urls, sys; print({'numpy', 'scipy'} & set(sys.modules))"
    site = {**os.environ, "DJANGO_SETTINGS_MODULE": "coachbook.settings"}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=site)
    assert done.stdout.strip() == "set()"
