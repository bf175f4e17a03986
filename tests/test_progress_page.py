"""The progress page and its charts: what a coach reads in ten seconds, one tap away, and when zooming in; bad input."""

import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.contrib.staticfiles import finders

from coachbook.accounts.models import Academy
from coachbook.finders import PlotlyFinder
from coachbook.loop.progress.explore import DARK, LIGHT, figures
from lessons.models import Fault, Focus, Lesson, Session, Skill
from lessons.progress.focus_states import Rules, Span
from lessons.progress.held import Outcome
from lessons.progress.held_sentences import held_by_days
from lessons.progress.picture import lines, picture, rows
from lessons.progress.sentences import rules_words
from lessons.progress.words import COACH
from tests.conftest import Cast
from tests.make import make_fault, make_skill
from tests.test_points import history
from tests.test_progress import (
    DAY,
    SVG,
    Clients,
    arrive,
    look_at,
    open_focus,
    page_of,
    pictures_of,
    pushing,
    table_of,
    texts_of,
    weeks,
)

__all__ = ["pushing"]
BOTH = pytest.mark.parametrize("actor", ["coach", "student"])


def text_of(page: str) -> str:
    """What a page says, without its tags."""
    return " ".join(re.sub(r"<[^>]+>", " ", page.split("<main", 1)[1]).split()).replace(" .", ".").replace(" :", ":")


def both_ways(cast: Cast, letters: str, left: str, fault: Fault, every: int = 7) -> list[Lesson]:
    """Arrivals and departures, one lesson every so many days."""
    last = len(letters) - 1
    lessons = [arrive(cast.student, cast.coach, every * (last - n), letter, fault) for n, letter in enumerate(letters)]
    for lesson, letter in zip(lessons, left, strict=True):
        look_at(lesson, letter, fault, "departure")
    return lessons


# --- The coach's ten seconds --------------------------------------------------------------------


def test_a_line_for_every_open_focus_stands_above_all_else(cast: Cast, pushing: Fault, as_: Clients) -> None:
    lessons = weeks(cast, "mcccccccc", pushing)
    open_focus(lessons[0], pushing)
    other = make_fault(make_skill(), name="Hands apart")
    open_focus(lessons[8], other, slot=2)
    page = page_of(as_("coach"), cast.student)
    summary = text_of(page).split("What the words mean")[0]
    assert "2 focuses are open: 1 ready to close, 1 new." in summary
    assert "Lead hand stops ready to close good throughout" in summary
    assert "Hands apart new cannot tell yet" in summary
    assert page.index("Open focuses") < page.index("What the words mean") < page.index('<svg class="history"')


def test_what_returned_after_it_was_closed_stands_there_too(cast: Cast, pushing: Fault, as_: Clients) -> None:
    lessons = weeks(cast, "mccmm", pushing)
    open_focus(lessons[0], pushing, closed_in=lessons[2])
    summary = text_of(page_of(as_("coach"), cast.student)).split("What the words mean")[0]
    assert "No focus is open." in summary and "Lead hand stops returned closed before" in summary


def test_a_state_is_said_with_its_reason_and_its_rule(cast: Cast, pushing: Fault, as_: Clients) -> None:
    """Academies set the numbers of the rules."""
    Academy.objects.update(state_holding=4, state_ready=9)
    open_focus(weeks(cast, "mcccccccc", pushing)[0], pushing)
    said = text_of(page_of(as_("coach"), cast.student))
    assert "holding: good on 8 arrivals in a row over 49 days." in said
    assert "holding good on 4 arrivals in a row" in said and "ready to close good on 9 arrivals in a row" in said


def test_open_focuses_are_unfolded_and_the_rest_is_not(cast: Cast, pushing: Fault, as_: Clients) -> None:
    before, other = make_fault(make_skill(), name="Sways"), make_fault(make_skill(), name="Looks up")
    lessons = weeks(cast, "mm-", pushing)
    for fault in (before, other):
        look_at(lessons[1], "s", fault)
    open_focus(lessons[0], pushing)
    open_focus(lessons[0], before, slot=2, closed_in=lessons[2])
    page = page_of(as_("coach"), cast.student)
    folded = re.findall(r'<details class="fold" id="history-(\d+)">\s*<summary>(.*?)</summary>', page)
    assert [(int(key), re.sub("<[^>]+>", "", words)) for key, words in folded] == [
        (before.pk, "Sways: closed"),
        (other.pk, "Looks up: seen on 1 of 1 look"),
    ]
    assert f'<h2 id="history-{pushing.pk}">Lead hand stops</h2>' in page
    assert [text_of("<main" + part.split("</h2>")[0]).split(">")[-1].strip() for part in page.split("<h2")[3:]] == [
        "Worked on before",
        "Also seen",
    ]


def test_rules_of_one_are_in_the_singular() -> None:
    rules = dict(rules_words(Rules(new_looks=1, lost=1, holding=1, ready=1, ready_days=1, returned=1)))
    assert (
        rules["holding"].startswith("good on 1 arrival in a row,") and "over 1 day or more" in rules["ready to close"]
    )
    assert rules["does not hold"] == "the last change was lost by the next arrival"


# --- Arrivals and departures --------------------------------------------------------------------


def test_departures_have_a_row_and_a_word_of_their_own(cast: Cast, pushing: Fault, as_: Clients) -> None:
    both_ways(cast, "mms", "c-s", pushing)
    page = page_of(as_("coach"), cast.student)
    (drawing,) = pictures_of(page)
    names = {text.text: float(text.get("y", 0)) for text in drawing.iter(f"{SVG}text") if text.get("class") == "row"}
    arrival, departure, _ = names
    assert (arrival, departure) == ("Arrival", "Departure, rated by the coach who taught it")
    assert names[arrival] < names[departure]
    assert [group.get("class") for group in drawing.iter(f"{SVG}g") if "departure-" in group.get("class", "")] == [
        "departure-0",
        "departure-1",
    ]
    assert table_of(page, "On departure") == ["slight", "", "good"]
    assert "18 May 2026 clear, on departure good, 1/1;" in drawing.findtext(f"{SVG}desc", "")


def test_a_student_is_shown_no_departure(cast: Cast, pushing: Fault, as_: Clients) -> None:
    open_focus(both_ways(cast, "mms", "cmc", pushing)[0], pushing)
    page = page_of(as_("student"), cast.student)
    assert "eparture" not in page and "band" not in page


def test_what_lessons_change_and_what_is_left_of_it(cast: Cast, pushing: Fault, as_: Clients) -> None:
    """By hand: four changes to good; the arrivals after them are clear, good, clear, and 35 days later clear.

    Of the other arrivals around them none that followed no change was good: 0.13 + 0 + 0.1 + 0.22 of 4 anyway.
    """
    lessons = both_ways(cast, "mmcmmsm", "cc-c-c-", pushing)
    Session.objects.filter(pk=lessons[6].session_id).update(starts_at=datetime(2026, 6, 29, 10, tzinfo=UTC))
    Lesson.objects.filter(pk=lessons[1].pk).update(practice_reported="none")
    said = text_of(page_of(as_("coach"), cast.student))
    assert (
        "Of 4 lessons looked at on arrival and departure, seen in 4 on arrival and in none on departure, "
        "rated by the coach who taught it." in said
    )
    assert (
        "Of 4 changes made in a lesson, 1 held, none held partly, 3 were lost by the next arrival; hardly any would"
        in said
    )
    assert "up to 14 days 1 of 3 0 of 3 2 of 3" in said and "over 28 days 0 of 1 0 of 1 1 of 1" in said
    assert "none 0 of 1 0 of 1 1 of 1" in said and "not asked 1 of 3 0 of 3 2 of 3" in said


def test_a_change_falls_into_one_span_of_days() -> None:
    results = [Outcome(0, 1, "held", days) for days in (1, 14, 15, 28, 29, 400)]
    assert [(name, held.total) for name, held in held_by_days(results)] == [
        ("up to 14 days", 2),
        ("15 to 28 days", 2),
        ("over 28 days", 2),
    ]


def test_the_p_value_of_a_change_is_given_from_eight_lessons_on(cast: Cast, pushing: Fault, as_: Clients) -> None:
    """McNemar's exact test by hand: eight that all got better have the chance 2 / 2^8 = 0.008."""
    both_ways(cast, "m" * 8, "c" * 8, pushing)
    said = text_of(page_of(as_("coach"), cast.student))
    assert "rated by the coach who taught it. That is unlikely to be chance." in said
    assert "p 0.008, exact" in said


def test_who_is_looked_at_only_when_it_is_bad_is_warned_of(cast: Cast, pushing: Fault, as_: Clients) -> None:
    weeks(cast, "m---m---m--", pushing)
    assert "It is mostly looked at when it is there" in page_of(as_("coach"), cast.student)
    weeks(cast, "ccccccccc", pushing)
    assert "It is mostly looked at when it is there" not in page_of(as_("coach"), cast.student)


# --- Numbers one tap away -----------------------------------------------------------------------


def test_statistics_stand_behind_one_control_a_section(cast: Cast, pushing: Fault, as_: Clients) -> None:
    """Outside it the page speaks in counts; inside are intervals and p-values; no method or author is named."""
    lessons = both_ways(cast, "m" * 9 + "c" * 9, "c" * 18, pushing)
    open_focus(lessons[0], pushing)
    page = page_of(as_("coach"), cast.student)
    control = r'<details class="how-sure">.*?</details>'
    (hidden,) = (text_of(f"<main{part}") for part in re.findall(control, page, re.DOTALL))
    shown = text_of(re.sub(control, "", page, flags=re.DOTALL))
    assert hidden.startswith("How sure is this?") and "95% interval" in hidden and "p under 0.001, exact" in hidden
    assert not re.search(r"%|interval|\bp\b|\bS\b", shown) and "Of 9 changes made in a lesson" in shown
    assert not re.search(r"Wilson|Newcombe|Kendall|McNemar|Benjamini|Mann", page)


def test_the_page_begins_with_counts_and_one_sentence(cast: Cast, pushing: Fault, as_: Clients) -> None:
    open_focus(weeks(cast, "mm", pushing)[0], pushing)
    assert "Open focuses 1 focus is open: 1 new." in text_of(page_of(as_("coach"), cast.student))
    assert "How it is going You are working on 1 thing now." in text_of(page_of(as_("student"), cast.student))


def test_a_trend_shows_its_halves_by_degree(cast: Cast, pushing: Fault, as_: Clients) -> None:
    """Clear that becomes slight is progress that a bare rate hides: S by hand is −81, of 2 x 9! 9! / 18! orders."""
    open_focus(weeks(cast, "m" + "m" * 9 + "s" * 9, pushing)[0], pushing)
    said = text_of(page_of(as_("coach"), cast.student))
    assert "Milder than" in said
    assert "unlikely to be chance: seen on 9 of the first 9 looks (9 clear), then on 9 of 9 (none clear)." in said
    assert "interval 70 to 100%); 9 clear" in said and "interval 70 to 100%); 9 slight" in said
    assert "S = −81 over 18 looks, below 0 is better; p under 0.001, exact" in said


def test_it_was_opened_on_a_bad_day_only_where_there_are_good_ones(cast: Cast, pushing: Fault, as_: Clients) -> None:
    """Of a fault that was seen on 24 of 24 arrivals no day was bad."""
    lessons = weeks(cast, "m" * 24, pushing)
    open_focus(lessons[0], pushing)
    said = text_of(page_of(as_("coach"), cast.student))
    assert "Always there: seen on all 23 looks since it was opened." in said and "bad day" not in said


def test_what_held_is_said_before_all_else(cast: Cast, pushing: Fault, as_: Clients) -> None:
    lessons = both_ways(cast, "mmmm", "cccc", pushing)
    open_focus(lessons[0], pushing)
    said = text_of(page_of(as_("coach"), cast.student))
    assert said.index("Of 3 changes made in a lesson") < said.index("Since it was opened") < said.index("How often")


def test_what_was_never_opened_has_no_trend_and_no_state(cast: Cast, pushing: Fault, as_: Clients) -> None:
    weeks(cast, "mmmccc", pushing)
    said = text_of(page_of(as_("coach"), cast.student)).split("Also seen")[1]
    assert "Since it was opened" not in said and "S =" not in said and "bad day" not in said


def test_months_count_degrees_and_few_looks_have_no_percentage(cast: Cast, pushing: Fault, as_: Clients) -> None:
    """The weeks end on 1 June 2026: four looks in May, of which one showed nothing, and one in June."""
    weeks(cast, "msucm", pushing)
    said = text_of(page_of(as_("coach"), cast.student)).split("By month")[-1].split("The band")[0]
    assert "May 2026 3 of 4 1 clear, 1 slight, 1 not graded, 1 good" in said
    assert "June 2026 1 of 1 1 clear" in said and "%" not in said


def test_the_band_is_the_score_interval_at_every_look() -> None:
    """Wilson (1927) by hand, z = 1.96: of 1 of 1 from 1 / (1 + z²) = 0.207 to 1; of 1 of 2 from 0.095 to 0.905."""
    drawn = picture(rows(history("mc"), COACH), [], COACH)
    first, second = drawn.dots
    tall = second.y / 0.5  # a rate of a half stands half way down
    assert (first.y, first.high) == (0, 0) and first.low / tall == pytest.approx(1 - 0.207, abs=0.002)
    assert (second.high / tall, second.low / tall) == pytest.approx((1 - 0.905, 1 - 0.095), abs=0.002)


def test_two_coaches_with_the_same_initials_are_told_apart() -> None:
    points = history("m", "Ida Fernkettle") + history("m", "Ivo Foxloop", date(2026, 2, 2))
    drawn = picture(rows(points, COACH), [], COACH)
    assert drawn.coaches == {"IF": "Ida Fernkettle", "IF2": "Ivo Foxloop"}
    assert [place.coach for place in drawn.places] == ["IF", "IF2"]


# --- In plain words -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("letters", "said"),
    [
        ("mm", "Just started."),
        ("mmmm", "You are working on it. Still working on this on each of the last 4 times we looked."),
        ("mmccccc", "It is holding. Good on 5 of the last 7 times we looked."),
        ("mcccccccc", "Nearly finished; keep it that way. Good on 8 of the last 8 times we looked."),
    ],
)
@pytest.mark.parametrize("actor", ["student", "guardian"])
def test_a_student_reads_how_far_it_has_come(
    letters: str, said: str, actor: str, cast: Cast, pushing: Fault, as_: Clients
) -> None:
    open_focus(weeks(cast, letters, pushing)[0], pushing)
    page = text_of(page_of(as_(actor), cast.student))
    assert said in page and "%" not in page and "interval" not in page and "chance" not in page


def test_a_student_whose_goal_is_reached_is_not_told_that_nothing_changes(
    cast: Cast, pushing: Fault, as_: Clients
) -> None:
    open_focus(weeks(cast, "mccccccccc", pushing)[0], pushing)
    page = text_of(page_of(as_("student"), cast.student))
    assert "Nearly finished; keep it that way." in page and "Cannot tell" not in page


# --- Whatever the record holds ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("letters", "coach", "student"),
    [
        ("-", "Not looked at on any arrival yet; 1 lesson had no look and says nothing.", "Not looked at yet."),
        ("m", "Looked at on one arrival, and seen.", "Looked at once."),
        ("c", "Looked at on one arrival, and not seen.", "Looked at once."),
        ("ccccccccc", "Seen on 0 of the 9 arrivals", "Good on 8 of the last 8 times we looked."),
        ("mmmmmmmmm", "Seen on 9 of the 9 arrivals", "Still working on this on each of the last 8 times we looked."),
        ("uuuuuuuuu", "Seen on 9 of the 9 arrivals", "Still working on this on each of the last 8 times we looked."),
    ],
)
@BOTH
@pytest.mark.parametrize("zoomed", [False, True])
def test_few_looks_and_looks_all_alike_make_a_sentence(
    letters: str, coach: str, student: str, actor: str, zoomed: bool, cast: Cast, pushing: Fault, as_: Clients
) -> None:
    open_focus(weeks(cast, letters, pushing)[0], pushing)
    page = page_of(as_(actor), cast.student, pushing if zoomed else None)
    assert (coach if actor == "coach" else student) in page
    assert not re.search(r"\b(nan|inf|None)\b", page) and "Infinity" not in page


@BOTH
def test_odd_days_draw_a_page(actor: str, cast: Cast, pushing: Fault, as_: Clients) -> None:
    """A gap of a year, two lessons on a day, a departure without an arrival, and a film in between."""
    lessons = weeks(cast, "mm", pushing)
    open_focus(arrive(cast.student, cast.coach, 400, "m", pushing), pushing)
    twice = arrive(cast.student, cast.coach, 0, "c", pushing)
    look_at(arrive(cast.student, cast.coach, 3, "-", pushing), "c", pushing, "departure")
    film = arrive(cast.student, cast.coach, 2, "m", pushing)
    Session.objects.filter(pk=film.session_id).update(kind="clip")
    assert twice.session.starts_at == lessons[1].session.starts_at
    for fault in (None, pushing):
        page = page_of(as_(actor), cast.student, fault)
        assert [row[:6] for row in table_of(page, DAY)] == ["1 Jun ", "1 Jun ", "29 May", "25 May", "27 Apr"]
        assert "2025" in texts_of(pictures_of(page)[0], r"\d{4}") and "nan" not in page.lower().split()


@BOTH
def test_a_renamed_skill_keeps_its_history(actor: str, cast: Cast, pushing: Fault, as_: Clients) -> None:
    open_focus(weeks(cast, "mc", pushing)[0], pushing)
    Skill.objects.update(name="Another name")
    Fault.objects.filter(pk=pushing.pk).update(name="Hand stops early", goal="Hand goes on")
    page = page_of(as_(actor), cast.student)
    assert ("Hand stops early" if actor == "coach" else "Hand goes on") in page
    assert len(table_of(page, DAY)) == 2


@BOTH
def test_lessons_without_any_look_make_an_empty_page_and_a_focus_in_own_words_an_entry(
    actor: str, cast: Cast, pushing: Fault, as_: Clients
) -> None:
    lesson = weeks(cast, "--", pushing)[0]
    empty = "begins with the first finished lesson" if actor == "coach" else "fills by itself"
    assert empty in page_of(as_(actor), cast.student)
    Focus.objects.create(student=cast.student, slot=1, area="putting", what="Breathe", opened_in=lesson)
    words = text_of(page_of(as_(actor), cast.student))
    said = "Not looked at on any arrival yet; 2 lessons had no look" if actor == "coach" else "Not looked at yet"
    assert empty not in words and "Breathe" in words and said in words


# --- The chart to zoom into ---------------------------------------------------------------------


def chart(letters: str, opened: date | None = None) -> dict[str, Any]:
    every = rows(history(letters), COACH)
    return figures(every, lines(every, [Span(opened, None)] if opened else [], COACH), COACH)


def test_the_chart_holds_scatters_and_bars_with_the_numbers_of_the_picture() -> None:
    data = chart("mc-su")["light"]["data"]
    assert {trace["type"] for trace in data} == {"scatter", "bar"}
    seen, good, not_graded, not_looked_at, _, low, high, rate = data
    assert list(zip(seen["x"], seen["y"], seen["customdata"], strict=True)) == [
        ("5 Jan 2026", 2, "clear"),
        ("26 Jan 2026", 1, "slight"),
    ]
    assert (good["x"], not_looked_at["x"]) == (["12 Jan 2026"], ["19 Jan 2026"])
    assert (not_graded["x"], not_graded["customdata"]) == (["2 Feb 2026"], ["seen, not graded"])
    symbols = {trace["marker"]["symbol"] for trace in (good, not_graded, not_looked_at)}
    assert symbols == {"circle-open", "diamond-tall-open", "circle"}
    assert rate["y"] == [1, 0.5, 0.667, 0.75]
    assert [words.split(",")[0] for words in rate["customdata"]] == [
        f"seen on {count} looks"
        for count in ("1 of the last 1", "1 of the last 2", "2 of the last 3", "3 of the last 4")
    ]
    # The score interval (Wilson 1927) by hand: of 1 of 1 the lower limit is 1 / (1 + z²), of 1 of 2 the limits are
    # (1 ± z / sqrt(2 + z²)) / 2, z being 1.96.
    assert (low["y"][:2], high["y"][:2]) == ([0.207, 0.095], [1, 0.905])
    assert high["fill"] == "tonexty" and low["line"]["dash"] != high["line"]["dash"]


def test_a_departure_has_a_row_and_words_of_its_own() -> None:
    points = [point._replace(departure=left) for point, left in zip(history("mmc"), ("0", "none", "1"), strict=True)]
    figure = figures(rows(points, COACH), [], COACH)["light"]
    arrived, left = figure["data"][0], figure["data"][4]
    assert (left["x"], left["customdata"]) == (["5 Jan 2026", "19 Jan 2026"], ["good", "slight"])
    assert left["yaxis"] == "y3" and "on departure" in left["hovertemplate"] and arrived.get("yaxis", "y") == "y"
    assert figure["layout"]["yaxis3"]["domain"][1] < figure["layout"]["yaxis"]["domain"][0]
    assert any(note["text"].startswith("Departure") for note in figure["layout"]["annotations"])


def test_three_lessons_on_one_day_stay_three_places() -> None:
    every = rows(history("m") + history("c") + history("c"), COACH)
    layout = figures(every, [], COACH)["light"]["layout"]
    assert layout["xaxis"]["categoryarray"] == ["5 Jan 2026", "5 Jan 2026, again", "5 Jan 2026, again, again"]


def test_the_chart_draws_the_day_of_the_focus() -> None:
    layout = chart("mcc", opened=date(2026, 1, 5))["light"]["layout"]
    assert [shape["x0"] for shape in layout["shapes"]] == [0.5]
    assert "opened 5 Jan 2026" in [note["text"] for note in layout["annotations"]]


@pytest.mark.parametrize(("lesson", "side"), [(0, "left"), (9, "right")])
def test_the_label_of_a_day_stands_on_the_side_with_more_room(lesson: int, side: str) -> None:
    notes = chart("m" * 10, opened=date(2026, 1, 5) + timedelta(weeks=lesson))["light"]["layout"]["annotations"]
    assert [note["xanchor"] for note in notes if note["text"].startswith("opened")] == [side]


@pytest.mark.parametrize(("scheme", "colours"), [("light", LIGHT), ("dark", DARK)])
def test_the_chart_wears_the_colours_of_the_site(scheme: str, colours: Any) -> None:
    light, dark = Path(settings.BASE_DIR, "static/css/tokens.css").read_text().split("prefers-color-scheme: dark", 1)
    tokens = dict(re.findall(r"--(\w+): (#\w+);", light if scheme == "light" else dark))
    assert {name: tokens[name] for name in vars(colours)} == vars(colours)
    assert chart("m")[scheme]["layout"]["paper_bgcolor"] == tokens["paper"]


def test_nothing_of_a_record_is_offered_to_a_chart_service() -> None:
    config = chart("m")["config"]
    assert config["displaylogo"] is False and config["responsive"] is True
    assert config["showSendToCloud"] is False and config["plotlyServerURL"] == ""


def test_the_chart_without_a_template_stays_small(cast: Cast, pushing: Fault, as_: Clients) -> None:
    weeks(cast, "ms-uc" * 10, pushing)
    page = page_of(as_("coach"), cast.student, pushing)
    (data,) = re.findall(r'<script id="figures" type="application/json">(.*?)</script>', page)
    assert len(data) < 30_000
    css = Path(settings.BASE_DIR, "static/css/chart.css").read_text()
    assert f"min-height: {chart('m')['light']['layout']['height']}px" in css  # nothing moves when it is drawn


def test_only_the_page_to_zoom_asks_for_plotly(cast: Cast, pushing: Fault, as_: Clients) -> None:
    weeks(cast, "m", pushing)
    assert "plotly" not in page_of(as_("coach"), cast.student)
    assert "plotly/plotly.min.js" in page_of(as_("coach"), cast.student, pushing)


def test_a_focus_without_any_lesson_to_look_at_has_no_chart(cast: Cast, pushing: Fault, as_: Clients) -> None:
    lesson = arrive(cast.student, cast.coach, 0, "-", pushing)
    Session.objects.filter(pk=lesson.session_id).update(kind="clip")
    open_focus(lesson, pushing)
    page = page_of(as_("student"), cast.student, pushing)
    assert "Not looked at yet." in page and "plotly" not in page and "<table" not in page


def test_one_module_imports_plotly_and_only_when_it_draws() -> None:
    found = []
    for folder in ("coachbook", "lessons", "drills"):
        for path in Path(settings.BASE_DIR, folder).rglob("*.py"):
            found += [
                (path.name, line) for line in path.read_text().splitlines() if re.match(r"\s*import plotly", line)
            ]
    assert found == [("explore.py", "    import plotly.graph_objects as go")]


def test_the_script_comes_from_the_installed_package_and_nothing_else_does() -> None:
    path = Path(str(finders.find("plotly/plotly.min.js")))
    assert path.parts[-3:] == ("plotly", "package_data", "plotly.min.js") and path.stat().st_size > 1_000_000
    assert PlotlyFinder().find("plotly/plotly.min.js", find_all=True) == [str(path)]
    for other in ("plotly/widgetbundle.js", "plotly/../plotly.min.js", "plotly.min.js", ""):
        assert not finders.find(other) if other else PlotlyFinder().find(other) == []
    assert [name for name, _ in PlotlyFinder().list(None)] == ["plotly.min.js"]
