"""The academy's own words by which a note is understood: added, used by the next note, removed."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from lessons.models import Phrase
from tests.conftest import Cast
from tests.library import load_library
from tests.test_log import Page
from tests.test_log_sentence import propose, said

Clients = Callable[[str], Client]
pytestmark = pytest.mark.django_db


@pytest.fixture
def coach(cast: Cast, as_: Clients) -> Client:
    load_library()
    return as_("coach")


def add(client: Client, meant: str, words: str) -> str:
    answer = client.post(reverse("phrases"), {"meant": meant, "words": words}, follow=True)
    return answer.content.decode()


@pytest.mark.parametrize(
    ("meant", "words", "note", "found"),
    [
        ("Putting: Hands apart", "Goalkeeper  Gloves", "goalkeeper gloves today", "a.putting-grip-apart=not_graded"),
        ("putting-tempo", "grandfather clock", "like a grandfather clock", "a.putting-tempo.good=on"),
        ("Drill: Ladder", "the rungs", "two weeks of the rungs", "drill=putting-ladder;;;;14"),
    ],
)
def test_words_that_were_added_are_understood_in_the_next_note(
    meant: str, words: str, note: str, found: str, coach: Client, cast: Cast
) -> None:
    assert found not in said(propose(Page(coach, cast.student), note))
    assert "Added." in add(coach, meant, words)
    assert Phrase.objects.get().words == words.lower().replace("  ", " ")
    assert found in said(propose(Page(coach, cast.student), note))


def test_words_that_were_removed_are_understood_no_more_and_their_history_stays(coach: Client, cast: Cast) -> None:
    add(coach, "putting-grip-apart", "velcro mittens")
    phrase = Phrase.objects.get()
    assert coach.post(reverse("phrase_remove", args=[phrase.key])).status_code == 302
    assert said(propose(Page(coach, cast.student), "velcro mittens today")) == []
    assert Phrase.history.count() == 2  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("meant", "words", "message"),
    [
        ("", "goalkeeper gloves", "Choose what is meant."),
        ("Putting: Nothing", "goalkeeper gloves", "Not in the catalogue."),
        ("putting-grip-apart", "", "This field is required."),
        ("putting-grip-apart", "ab", "at least 3"),
        ("putting-grip-apart", "x" * 61, "at most 60"),
        ("putting-grip-apart", "{lead} .. @wrist", "Use words only, without signs."),
        ("putting-grip-apart", "<b>gloves</b>", "Use words only, without signs."),
    ],
)
def test_what_is_no_phrase_is_said_beside_its_field_and_stays_typed(
    meant: str, words: str, message: str, coach: Client
) -> None:
    html = add(coach, meant, words)
    assert message in html and not Phrase.objects.exists()
    assert not meant or f'value="{meant}"' in html or 'value="Putting: Hands apart"' in html


def test_the_same_words_stand_for_one_thing(coach: Client) -> None:
    add(coach, "putting-grip-apart", "goalkeeper gloves")
    assert "These words stand for “Putting: Hands apart” already." in add(coach, "putting-tempo", "Goalkeeper gloves")
    assert Phrase.objects.count() == 1
