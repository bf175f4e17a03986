"""A note typed or dictated is read into proposals: each entered by a tap, the words staying as they were written."""

import re
from collections.abc import Callable
from html import unescape

import pytest
from django.test import Client

from drills.models import Prescription
from lessons.models import Focus, Observation, SeenFault
from tests.conftest import Cast
from tests.library import load_library
from tests.make import make_student
from tests.test_log import HTMX, Page, lesson

Clients = Callable[[str], Client]
SENTENCE = (
    "ball position fine, a bit on the heels, rushes the change of direction; by the end it was smoother;"
    " two weeks of the ladder"
)
pytestmark = [pytest.mark.django_db, pytest.mark.long]


@pytest.fixture
def page(cast: Cast, as_: Clients) -> Page:
    load_library()
    return Page(as_("coach"), cast.student)


def propose(page: Page, note: str, **typed: str) -> str:
    """Press *Propose* with a script."""
    answer = page.send(HTMX, note=note, propose="1", **typed)
    page.typed.pop("propose")
    assert answer.status_code < 300
    return unescape(answer.content.decode())


def values(html: str) -> list[str]:
    return re.findall(r'name="enter" value="([^"]+)"', html)


def said(html: str) -> list[str]:
    return re.findall(r'name="proposed" value="([^"]+)"', html)


def test_a_sentence_is_read_and_nothing_is_entered_unasked(page: Page) -> None:
    html = propose(page, SENTENCE)
    assert said(html) == [
        "a.putting-ball-position.good=on",
        "a.putting-weight-heels=slight",
        "a.putting-tempo-rushed=not_graded",
        "d.putting-tempo-rushed=slight",
        "drill=putting-ladder;;;;14",
    ]
    assert re.search(r"<q>[^<]*on the heels</q>", html) and "Arrival: Weight on the heels" in html
    assert not Observation.objects.exists() and lesson().note == SENTENCE


def test_one_tap_enters_one_and_another_degree_is_as_near(page: Page) -> None:
    html = propose(page, SENTENCE)
    assert "a.putting-weight-heels=clear" in values(html)
    html = unescape(page.send(HTMX, enter="a.putting-weight-heels=clear").content.decode())
    assert [(row.fault.code, row.degree) for row in SeenFault.objects.all()] == [("putting-weight-heels", "clear")]
    assert "a.putting-weight-heels=slight" not in said(html) and "entered" in html
    assert 'id="panel-putting-weight" hx-swap-oob="true"' in html, "the row shows what was entered"
    assert lesson().note == SENTENCE


def test_all_are_entered_at_once_and_the_drill_finds_its_focus(page: Page) -> None:
    html = propose(page, f"{SENTENCE}; we work on the tempo rushing; leave the ball position alone")
    page.typed["proposed"] = said(html)
    assert "work=putting-tempo-rushed" in said(html) and "keep=Ball position" in said(html)
    page.send(HTMX, enter_all="1")
    assert {o.look.kind for o in Observation.objects.all()} == {"arrival", "departure"}
    given = Prescription.objects.get()
    assert given.focus.fault.code == "putting-tempo-rushed"  # type: ignore[union-attr]
    assert (given.drill.code, given.days) == ("putting-ladder", 14) and lesson().keep == "Ball position"


def test_without_a_script_the_page_shows_the_proposals_and_keeps_the_words(page: Page) -> None:
    answer = page.send(note=SENTENCE, propose="1")
    html = answer.content.decode()
    assert answer.status_code == 201 and "<title>" in html and len(said(html)) == 5 and SENTENCE in unescape(html)
    answer = page.send(propose="", enter="a.putting-weight-heels=slight")
    assert SeenFault.objects.get().fault.code == "putting-weight-heels"


def test_what_is_entered_replaces_what_it_contradicts(page: Page) -> None:
    page.typed["a.putting-weight.good"] = "on"
    page.send(HTMX, enter="a.putting-weight-heels=slight")
    assert Observation.objects.get().verdict == "not_good"
    page.typed.pop("a.putting-weight.good")
    page.typed["a.putting-weight-heels"] = "slight"
    page.send(HTMX, enter="a.putting-weight.good=on")
    assert Observation.objects.get().verdict == "good"


def test_a_drill_without_a_focus_says_so_and_enters_nothing(page: Page) -> None:
    answer = page.send(HTMX, enter="drill=putting-ladder;;;;14")
    assert answer.status_code == 422 and "choose what to work on first" in answer.content.decode()
    assert not Prescription.objects.exists() and not Focus.objects.exists()


@pytest.mark.parametrize(
    "word", ["", "=", "page=x", "a.nothing=slight", "a.putting-weight-heels=worst", "drill=x;1;2;3;4", "drill=;;;;"]
)
def test_a_value_that_no_proposal_has_enters_nothing(word: str, page: Page) -> None:
    assert page.send(HTMX, enter=word, keep="Calm").status_code < 300
    assert not Observation.objects.exists() and lesson().keep == "Calm"


@pytest.mark.parametrize("note", ["", "   ", "Der Ball liegt zu weit hinten und das Tempo ist gut", "💥" * 50])
def test_where_nothing_is_found_the_page_says_so(note: str, page: Page) -> None:
    html = propose(page, note)
    assert "Nothing found that the catalogue has words for. The note stays as you wrote it." in html
    assert not said(html)


def test_a_note_that_is_too_long_is_refused_beside_it_and_stays(page: Page) -> None:
    answer = page.send(HTMX, note="weight on the heels " * 250, propose="1")
    assert answer.status_code == 422 and "4000" in answer.content.decode()


def test_what_is_unsure_is_left_out_and_said(page: Page) -> None:
    html = propose(page, "maybe a bit on the heels; his brother squeezes the handle; grip fine")
    assert said(html) == ["a.putting-grip.good=on"]
    assert re.search(r"Left out: <q>[^<]*on the heels</q> \w", html) and "squeezes" in html


def test_what_was_left_out_by_a_tap_stays_out(page: Page) -> None:
    propose(page, SENTENCE)
    page.typed["left"] = ["a.putting-weight-heels=slight"]
    html = unescape(page.send(HTMX, enter="a.putting-ball-position.good=on").content.decode())
    assert "a.putting-weight-heels=slight" not in said(html)
    assert 'name="left" value="a.putting-weight-heels=slight"' in html


def test_left_and_right_are_the_students_own(page: Page, cast: Cast, as_: Clients) -> None:
    """Aimed left is closed for a right-side player and open for a left-side player."""
    html = propose(page, "face aimed left")
    assert said(html) == ["a.putting-aim-closed=not_graded"]
    cast.other_student.putting_side = "left"
    cast.other_student.save()
    other = Page(as_("other_coach"), cast.other_student)
    assert said(propose(other, "face aimed left")) == ["a.putting-aim-open=not_graded"]


def test_a_course_walk_has_one_look(cast: Cast, as_: Clients, page: Page) -> None:
    client = as_("coach")
    address = client.get(f"/students/{cast.student.key}/lessons/new/?kind=course").url  # type: ignore[attr-defined]
    walk = Page(client, cast.student, address)
    assert said(propose(walk, "a bit on the heels, gone by the end")) == ["c.putting-weight-heels=slight"]


def test_another_coach_s_private_note_is_never_read(page: Page, as_: Clients) -> None:
    page.send(note="Heron: a bit on the heels", note_reader="coach")
    cover = as_("cover")
    answer = cover.get(page.address)
    assert "Heron" not in answer.content.decode()
    typed = {"page": "x", "base": str(lesson().version), "count": "1", "putting": "on", "day": page.typed["day"]}
    answer = cover.post(page.address, typed | {"propose": "1"}, headers=HTMX)
    assert not said(answer.content.decode())


def test_what_is_kept_is_entered_in_the_students_own_sides(page: Page, cast: Cast, as_: Clients) -> None:
    """The student reads it: the lead wrist of a left-side player is the right one."""
    note = "lead wrist flat, leave the lead wrist alone"
    assert "keep=Left wrist" in said(propose(page, note))
    cast.other_student.putting_side = "left"
    cast.other_student.save()
    assert "keep=Right wrist" in said(propose(Page(as_("other_coach"), cast.other_student), note))


def test_a_note_that_names_another_student_of_theirs_says_whose_log_it_is(page: Page, cast: Cast) -> None:
    make_student("Flora Larkwren", coach=cast.coach)
    html = propose(page, "Flora squeezes the handle, too much weight on the heels")
    assert "This names Flora Larkwren, and this is the log of Alder Quimble." in html
    assert lesson().note.startswith("Flora") and not Observation.objects.exists()
    for note in ("Alder is on his heels", "Petra squeezes the handle", "the florals are nice, weight on the heels"):
        assert "This names" not in propose(page, note), "their own name, one of whom this coach knows nothing, no name"
