"""The first screen of a coach's results: what the tests say in three plain sentences, and one target to try."""

import re
from collections.abc import Callable

import pytest
from django.test import Client

from drills.putting import summary_text
from drills.putting.predictions import MarginalGain
from drills.putting.unit_formatter import UnitFormatter
from tests.conftest import Cast
from tests.test_putting_results import Putting, all_three, chips, designs, scored
from tests.test_putting_text import KNOWN, METRES, compared
from tests.test_results_page import ODD, alone, outside_how_sure, page_of

__all__ = ["designs"]
pytestmark = pytest.mark.one_database
Clients = Callable[[str], Client]


def sentences_of(page: str) -> list[str]:
    [found] = re.findall(r'<ul class="plainly">(.*?)</ul>', page, re.DOTALL)
    return re.findall(r"<li>(.*?)</li>", found)


def test_all_that_stands_before_the_control_are_three_sentences_and_a_target(cast: Cast, as_: Clients) -> None:
    tests = all_three(cast.student, Putting(1.5, 0.12))
    scored(cast.student, "chipping-proximity", chips(*[1.0, 2.0] * 5))
    for page in (page_of(as_("coach"), cast), *(alone(as_("coach"), test) for test in tests)):
        sentences, outside = sentences_of(page), outside_how_sure(page)
        assert len(sentences) == 3 and all(len(sentence.split()) <= 30 for sentence in sentences)
        assert all(re.fullmatch(r"[^.]*\.", re.sub(r"\d\.\d", "1", sentence)) for sentence in sentences)
        assert outside.count(" of 10 ") <= 2 and len(outside.split()) < 120
        assert page.split('<details class="how-sure"')[0].count("<h2") == 1


def test_the_sentences_are_the_counts_what_costs_most_and_what_changed(cast: Cast, as_: Clients) -> None:
    scored(cast.student, "putting-gate", Putting(4.0, 0.1).gated(), days_ago=20)
    all_three(cast.student, Putting(1.2, 0.1, long=-0.12))
    first, second, third = sentences_of(page_of(as_("coach"), cast))
    assert re.match(r"\d+ of 40 putts holed from 1 m to 3 m, \d+ of 40 balls through the gate\.", first)
    assert "costs most" in second
    assert re.match(r"Ball gate: better than on \d+ \w+ \d+; the estimates mix before and after\.", third)


@pytest.mark.parametrize("name", ODD)
def test_odd_data_has_a_first_screen(cast: Cast, as_: Clients, name: str) -> None:
    code, balls = ODD[name]
    test = scored(cast.student, code, balls, step_m=0.1)
    for page in (page_of(as_("coach"), cast), alone(as_("coach"), test)):
        assert 1 <= len(sentences_of(page)) <= 3 and "The next target" in outside_how_sure(page)


def test_a_share_that_was_asked_for_opens_what_it_was_asked_in(cast: Cast, as_: Clients) -> None:
    all_three(cast.student, Putting(1.5, 0.12))
    assert '<details class="how-sure" open>' in page_of(as_("coach"), cast, "?share=80")
    assert '<details class="how-sure">' in page_of(as_("coach"), cast)


LEFTY = UnitFormatter("m", "left")
EVEN = compared(line=0.5, pace=0.5)


@pytest.mark.parametrize(
    "gain, units, words",
    [
        (
            MarginalGain(compared(line=0.95), EVEN),
            METRES,
            "An uneven start line costs most near the hole: with a fifth",
        ),
        (
            MarginalGain(EVEN, compared(pace=0.95)),
            METRES,
            "Uneven pace costs most far from the hole: with a fifth less",
        ),
        (
            MarginalGain(compared(pace_bias=1.1), EVEN),
            METRES,
            "Leaving putts short costs most near the hole: with",
        ),
        (MarginalGain(compared(line_bias=1.1), EVEN), METRES, "Starting putts to the right costs most near the hole"),
        (MarginalGain(compared(line_bias=1.1), EVEN), LEFTY, "Starting putts to the left costs most near the hole"),
        (MarginalGain(EVEN, EVEN), METRES, "Cannot tell yet what costs most: an uneven start line, or uneven pace."),
    ],
)
def test_what_costs_most_is_said_in_plain_words(gain: MarginalGain, units: UnitFormatter, words: str) -> None:
    assert summary_text.costs_most(KNOWN, gain, units).startswith(words)
