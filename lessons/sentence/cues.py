"""The small words around: which of them say no, maybe, later, somebody else, keep that, and so on."""

import tomllib
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path

from lessons.sentence.match import Hit, Meaning, PhraseTree
from lessons.sentence.tokens import Token

WORDS = Path(__file__).parent / "words"
ARTICLES = frozenset("a an the his her very um uh er just really quite so some all".split())
ANSWERED = {  # an expression of the first kind takes the place of what it overlaps
    "not_focus": "focus", "not_keep": "keep", "not_person": "person", "not_wish": "wish", "no_area": "area",
    "neutral": "", "comparison": "",
}  # fmt: skip


@cache
def classes() -> dict[str, list[str]]:
    """Words that stand for one another."""
    return tomllib.loads((WORDS / "classes.toml").read_text(encoding="utf-8"))


@cache
def idioms() -> list[str]:
    """Expressions that hold a word of the trade and mean something else."""
    phrases = tomllib.loads((WORDS / "idioms.toml").read_text(encoding="utf-8"))["idioms"]
    return [" ".join(exactly(word) for word in phrase.split()) for phrase in phrases]


def exactly(word: str) -> str:
    """A part of a phrase, each of its words meant in that very form."""
    return word if word == ".." else "/".join(f"={choice}" for choice in word.split("/"))


@cache
def cue_tree() -> PhraseTree:
    """All cues, compiled once."""
    tree = PhraseTree(classes(), ARTICLES, wide=4, parting=())
    for kind, phrases in tomllib.loads((WORDS / "cues.toml").read_text(encoding="utf-8")).items():
        for phrase in phrases:
            tree.add(phrase, Meaning(kind, kind))
    return tree


def find_cues(tokens: Sequence[Token]) -> list[Hit]:
    """The cues that do not overlap, longer ones first; what a cue of nothing covers is covered."""
    chosen: list[Hit] = []
    for hit in sorted(cue_tree().find(tokens), key=lambda hit: (hit.start - hit.end, -hit.weight, rank(hit))):
        if not any(overlap(hit, other) for other in chosen):
            chosen.append(hit)
    return sorted(chosen, key=lambda hit: hit.start)


def rank(hit: Hit) -> int:
    """Of equally long cues the one that says less."""
    return 0 if hit.meaning.kind in ANSWERED else 1


def overlap(one: Hit, other: Hit) -> bool:
    return one.start < other.end and other.start < one.end


def kinds(cues: Iterable[Hit]) -> set[str]:
    return {cue.meaning.kind for cue in cues}
