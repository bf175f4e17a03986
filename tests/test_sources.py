"""The page of methods and sources: everybody signed in reads it, and it names what the program really uses."""

import re
from collections.abc import Callable
from pathlib import Path
from pydoc import locate

import pytest
from django.test import Client
from django.urls import reverse

from coachbook.sources import GROUPS, Source
from tests.conftest import Cast

Clients = Callable[[str], Client]
ROOT = Path(__file__).parent.parent
PURE = ("lessons/progress", "drills/putting", "coachbook/caseload/findings")
SOURCES = [source for group in GROUPS for source in group.sources]
# One author, or the last of several, before the year: "Wilson (1927)", "Benjamini & Hochberg (1995)".
CITED = re.compile(r"([A-Z][a-zA-Z]+) \(((?:19|20)\d\d)\)")


def citations(text: str) -> set[tuple[str, str]]:
    return set(CITED.findall(" ".join(text.split())))


def text_of(page: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", page).split()).replace("&amp;", "&")


@pytest.mark.parametrize("actor", ["student", "guardian", "coach", "assistant", "cover", "manager"])
def test_everybody_signed_in_reads_every_source_with_its_limits(cast: Cast, as_: Clients, actor: str) -> None:
    answer = as_(actor).get(reverse("sources"))
    assert answer.status_code == 200
    text = text_of(answer.content.decode())
    for source in SOURCES:
        for words in (source.name, source.purpose, source.limits, source.citation):
            assert words in text


def test_a_visitor_signs_in_first(db: None, client: Client) -> None:
    assert client.get(reverse("sources")).status_code == 302


@pytest.mark.parametrize("source", SOURCES, ids=lambda source: source.code)
def test_each_method_exists(source: Source) -> None:
    assert locate(source.code) is not None


@pytest.mark.parametrize("source", SOURCES, ids=lambda source: source.code)
def test_each_entry_is_said_in_whole_sentences(source: Source) -> None:
    for words in (source.purpose, source.limits, source.citation):
        assert words.endswith(".")


def cited_in_code() -> set[tuple[str, str]]:
    """The author and year of every source that a module of the three packages names."""
    found: set[tuple[str, str]] = set()
    for package in PURE:
        for path in sorted((ROOT / package).glob("*.py")):
            text = path.read_text()
            found |= citations(re.sub(r"\n\s*#?\s*", " ", text))
    return found


def test_every_source_that_the_code_names_is_on_the_page() -> None:
    on_page = citations(" ".join(source.citation for source in SOURCES))
    assert len(cited_in_code()) > 20
    assert cited_in_code() - on_page == set()


def test_a_source_that_is_missing_would_be_seen() -> None:
    fewer = citations(" ".join(source.citation for source in SOURCES if "Wilson" not in source.citation))
    assert ("Wilson", "1927") in cited_in_code() - fewer
