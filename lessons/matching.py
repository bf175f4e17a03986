"""Find words in texts whatever their capitals and accents, and cut out what stands around them. All of it is pure."""

import unicodedata
from dataclasses import dataclass
from functools import lru_cache

AROUND = 60  # letters that an excerpt shows before and after its hits


@dataclass(frozen=True)
class Part:
    """A piece of an excerpt, and whether it is one of the words that were searched for."""

    words: str
    is_hit: bool


def fold(words: str) -> tuple[str, list[int]]:
    """The words without capitals and accents, and for each letter the index at which it stood."""
    if words.isascii():
        return words.lower(), list(range(len(words)))
    pieces = [fold_letter(letter) for letter in words]
    return "".join(pieces), [place for place, piece in enumerate(pieces) for _ in piece]


@lru_cache(maxsize=2048)
def fold_letter(letter: str) -> str:
    """A letter without capital and accent, which may be several letters, or none for an accent that stands alone."""
    plain = unicodedata.normalize("NFKD", letter.casefold())
    return "".join(piece for piece in plain if not unicodedata.combining(piece))


def words_of(query: str) -> list[str]:
    """The words of a query without capitals and accents, each once."""
    return list(dict.fromkeys(fold(query)[0].split()))


def hits_in(text: str, words: list[str]) -> list[tuple[int, int]]:
    """Where any of the words stands in a text: first and last index of each hit, joined where they meet."""
    plain, places = fold(text)
    found = []
    for word in words:
        start = plain.find(word)
        while start >= 0:
            found.append((places[start], places[start + len(word) - 1]))
            start = plain.find(word, start + len(word))
    joined: list[tuple[int, int]] = []
    for first, last in sorted(found):
        if joined and first <= joined[-1][1] + 1:
            joined[-1] = (joined[-1][0], max(last, joined[-1][1]))
        else:
            joined.append((first, last))
    return joined


def contains_all(texts: list[str], words: list[str]) -> bool:
    """Whether each of the words stands in one of the texts."""
    plain = [fold(text)[0] for text in texts]
    return all(any(word in text for text in plain) for word in words)


def excerpt(text: str, hits: list[tuple[int, int]]) -> list[Part]:
    """The text around its hits, with an ellipsis where it was cut."""
    begins, ends = cut_before(text, hits[0][0]), cut_after(text, hits[-1][1] + 1)
    parts, place = [Part("… ", False)] if begins else [], begins
    for first, last in hits:
        parts += [Part(text[place:first], False), Part(text[first : last + 1], True)]
        place = last + 1
    parts += [Part(text[place:ends], False)] + ([Part(" …", False)] if ends < len(text) else [])
    return [part for part in parts if part.words]


def cut_before(text: str, first: int) -> int:
    """Where an excerpt begins whose first hit is here: at a whole word."""
    if first <= AROUND:
        return 0
    return text.find(" ", first - AROUND, first) + 1 or first


def cut_after(text: str, end: int) -> int:
    """Where an excerpt ends whose last hit ends here: after a whole word."""
    if len(text) - end <= AROUND:
        return len(text)
    space = text.rfind(" ", end, end + AROUND)
    return space if space >= 0 else end
