"""Words found in texts whatever their capitals and accents, and what stands around them."""

import pytest

from lessons.matching import AROUND, contains_all, cut_after, cut_before, excerpt, fold, hits_in, words_of


def shown(text: str, query: str) -> str:
    """An excerpt as a page shows it, the hits in brackets."""
    return "".join(
        f"[{part.words}]" if part.is_hit else part.words for part in excerpt(text, hits_in(text, words_of(query)))
    )


def test_every_letter_knows_where_it_stood() -> None:
    """Full case folding and compatibility decomposition (Unicode Standard, 3.13 and UAX 15): ß is ss, ﬁ is fi."""
    for text, plain, places in (
        ("Abc", "abc", [0, 1, 2]),
        ("Éa", "ea", [0, 1]),
        ("e\u0301a", "ea", [0, 2]),
        ("aßb", "assb", [0, 1, 1, 2]),
        ("ﬁt", "fit", [0, 0, 1]),
    ):
        assert fold(text) == (plain, places), text


def test_a_query_is_its_words_each_once() -> None:
    assert words_of("  Calm calm RHYTHM ") == ["calm", "rhythm"] and words_of(" ") == []


@pytest.mark.parametrize(
    ("text", "words", "hits"),
    [
        ("calm rhythm, calm eyes", ["calm"], [(0, 3), (13, 16)]),
        ("calm", ["calm", "al"], [(0, 3)]),
        ("abcdef", ["abcd", "bc", "f"], [(0, 3), (5, 5)]),
        ("abcdef", ["ab", "cd"], [(0, 3)]),
        ("ab cd", ["ab", "cd"], [(0, 1), (3, 4)]),
        ("aaaa", ["aa"], [(0, 3)]),
        ("aXa", ["a"], [(0, 0), (2, 2)]),
        ("Straße", ["strasse"], [(0, 5)]),
        ("nothing", ["calm"], []),
    ],
)
def test_hits_that_meet_or_overlap_are_one(text: str, words: list[str], hits: list[tuple[int, int]]) -> None:
    assert hits_in(text, words) == hits


def test_all_words_stand_in_some_text() -> None:
    texts = ["Calm rhythm", "Größe"]
    assert contains_all(texts, ["calm", "grosse"]) and contains_all(texts, [])
    assert not contains_all(texts, ["calm", "loud"]) and not contains_all([], ["calm"])


def test_a_short_text_is_shown_whole_with_its_hits_marked() -> None:
    assert shown("Calm rhythm, calm eyes", "calm") == "[Calm] rhythm, [calm] eyes"
    assert shown("eyes calm", "calm") == "eyes [calm]" and shown("calm", "calm") == "[calm]"


def test_a_long_text_is_cut_at_whole_words_on_both_sides() -> None:
    text = " ".join(["before"] * 20 + ["Hit", "and", "hit"] + ["after"] * 20)
    found = shown(text, "hit")
    assert found == f"… {'before ' * 8}[Hit] and [hit]{' after' * 9} …"
    begins, ends = found.split("[Hit]")[0], found.split("[hit]")[1]
    assert max(len(begins.removeprefix("… ")), len(ends.removesuffix(" …"))) <= AROUND


def test_as_many_letters_as_are_shown_are_not_cut() -> None:
    for letters, is_cut in ((AROUND - 1, False), (AROUND, False), (AROUND + 1, True)):
        words = ("x" * 9 + " ") * 7
        before, after = words[-letters:], words[:letters]
        assert (cut_before(before + "hit", letters) > 0) == is_cut, letters
        assert (cut_after("hit" + after[::-1], 3) < 3 + letters) == is_cut, letters


def test_a_word_without_an_end_near_by_is_cut_off_whole() -> None:
    assert shown("x" * 100 + "hit" + "y" * 100, "hit") == "… [hit] …"
    assert shown("a " + "x" * 59 + "hit" + "y" * 59 + " b", "hit") == "… " + "x" * 59 + "[hit]" + "y" * 59 + " …"
    assert shown("a " + "x" * 60 + "hit", "hit") == "… [hit]"
