"""The phrases of a catalogue, compiled once for the playing sides of a student, and slips of typing put right."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

from rapidfuzz import process
from rapidfuzz.distance import OSA

from lessons.sentence.catalogue import Catalogue, SkillWords
from lessons.sentence.cues import classes, cue_tree, idioms
from lessons.sentence.match import Hit, Meaning, PhraseTree, expand
from lessons.sentence.tokens import (
    COMMON,
    FILLERS,
    IRREGULAR,
    NOUN_STEMS,
    NUMBERS,
    SHORT_FOR,
    TELLING,
    Token,
    make_token,
    stem,
)

SHORTEST_SLIP = 5  # letters: a shorter unknown word is near to too many others
SMALL_WORDS = frozenset("the a an and of on in at to it for your both every".split())  # of the name of a drill
SIDED = ("lead", "trail", "open", "closed")
MARKED = {"open": ["open"], "face_open": ["open"], "closed": ["closed", "shut"], "face_closed": ["closed", "shut"]}
Sides = tuple[tuple[str, str], ...]  # area and playing side, sorted


@dataclass(frozen=True)
class Lexicon:
    """Everything that is compiled for one catalogue and one student's sides."""

    trees: Mapping[str, PhraseTree]
    skills: Mapping[str, frozenset[str]]  # skill code -> the codes of its faults
    areas: Mapping[str, str]  # the area of each skill and drill
    sided: Mapping[str, str]  # the side that a fault's or skill's words speak of, where they do
    sides: Mapping[str, str]
    phases: Mapping[str, str]  # of each skill
    nouns: frozenset[str]  # the stems of the words by which skills are called
    spoken_of: Mapping[str, frozenset[str]]  # skill -> the stems of the parts of body and club in its phrases
    name_lengths: Mapping[str, int]  # drill -> the words of its name that are no small ones

    @cached_property
    def finishes(self) -> frozenset[str]:
        """The skills that are looked at when the stroke ends, so that "at the end" says nothing of the lesson."""
        return frozenset(skill for skill, phase in self.phases.items() if phase == "finish")

    @cached_property
    def sided_skills(self) -> frozenset[str]:
        """The skills of which "right" may name a side."""
        return frozenset(skill for skill, faults in self.skills.items() if faults & set(self.sided))

    @cached_property
    def vocabulary(self) -> frozenset[str]:
        """Every word that means something here, in the forms of a phrase and the usual endings."""
        words = set(FILLERS) | set(NUMBERS) | set(SHORT_FOR) | set(IRREGULAR) | cue_tree().vocabulary() | COMMON
        for tree in self.trees.values():
            words |= tree.vocabulary()
        return frozenset(words)

    @cached_property
    def targets(self) -> list[str]:
        """What a slip may have been meant for."""
        words = {word for word in self.vocabulary if len(word) >= SHORTEST_SLIP - 1}
        return sorted(word for word in words if word.isalpha())

    def corrected(self, token: Token) -> Token:
        """The token, or the one known word that is a slip away from it."""
        if token.number is not None or len(token.word) < SHORTEST_SLIP or self.knows(token):
            return token
        meant = find_meant(token, self)
        return replace(token, word=meant, stem=make_token(meant, 0, 0).stem) if meant else token

    def knows(self, token: Token) -> bool:
        return token.word in self.vocabulary or token.stem in self.vocabulary

    def words_of_side(self, area: str) -> tuple[str, str]:
        """The student's own word for the lead and for the trail side in an area."""
        return ("left", "right") if self.sides.get(area, "right") == "right" else ("right", "left")


def find_meant(token: Token, lexicon: Lexicon) -> str | None:
    """The word that one slip made into this one, where it begins alike and there is no second such word."""
    for text in (token.word, token.stem):
        found = process.extract(text, lexicon.targets, scorer=OSA.distance, score_cutoff=1, limit=3)
        alike = [word for word, *_ in found if word[0] == text[0] and not is_other_letter(word, text)]
        stems = {make_token(word, 0, 0).stem for word in alike}
        if len(text) >= SHORTEST_SLIP - 1 and len(stems) == 1:
            return alike[0]
    return None


def is_other_letter(word: str, text: str) -> bool:
    """Whether one letter stands in another's place, which as often makes another word (thumb, thump) as a slip."""
    return len(word) == len(text) and sorted(word) != sorted(text)


def side_classes(side: str) -> dict[str, list[str]]:
    """What stands for the markers of a phrase, for a player of that side.

    `{lead}` and `{trail}` stand before a part of the body; `{leading}` and `{trailing}` may stand alone. `{open}` is
    the way that the face points; `{openly}` a direction alone, `{face_open}` stands before the face.
    """
    left, right = ("left", "right") if side == "right" else ("right", "left")
    return {
        "lead": ["lead", "leading", "front", "forward", "target", "near", left],
        "trail": ["trail", "trailing", "rear", "back", right],
        "leading": ["lead", left],
        "trailing": ["trail", "rear", right],
        "open": ["open", right],
        "openly": [right],
        "closed": ["closed", "shut", left],
        "closedly": [left],
        "face_open": ["open"],
        "face_closed": ["closed", "shut"],
    }


@lru_cache(maxsize=64)
def compile_lexicon(catalogue: Catalogue, sides: Sides) -> Lexicon:
    """The compiled phrases; equal versions of a catalogue share them."""
    of_area = dict(sides)
    trees = {area: compile_tree(catalogue, area, of_area.get(area, "right")) for area in catalogue.areas}
    skills = {skill.code: frozenset(fault.code for fault in skill.faults) for skill in catalogue.skills}
    phases = {skill.code: skill.phase for skill in catalogue.skills}
    areas = {row.code: row.area for row in catalogue.skills} | {row.code: row.area for row in catalogue.drills}
    spoken = {skill.code: nouns_in(phrase for phrase, _ in phrases_of(skill)) for skill in catalogue.skills}
    lengths = {drill.code: len(set(drill.phrases[0].split()) - SMALL_WORDS) for drill in catalogue.drills}
    return Lexicon(trees, skills, areas, sided_codes(catalogue), of_area, phases, nouns_of(catalogue), spoken, lengths)


@lru_cache(maxsize=64)
def compile_tree(catalogue: Catalogue, area: str, side: str) -> PhraseTree:
    """The phrases of one area for one playing side."""
    tree = PhraseTree(classes() | side_classes(side))
    for phrase, meaning in all_phrases(catalogue, area):
        tree.add(phrase, meaning)
    for phrase in idioms():
        tree.add(phrase, Meaning("idiom", "idiom"))
    return tree


def all_phrases(catalogue: Catalogue, area: str) -> Iterator[tuple[str, Meaning]]:
    """Every phrase of an area with its meaning."""
    for skill in catalogue.skills:
        if skill.area == area:
            yield from phrases_of(skill)
    for drill in catalogue.drills:
        if drill.area == area:
            yield from ((phrase, Meaning("drill", drill.code)) for phrase in drill.phrases)


def phrases_of(skill: SkillWords) -> Iterator[tuple[str, Meaning]]:
    """The phrases of one skill and of its faults."""
    for kind, phrases in (("topic", skill.names), ("good", skill.good), ("follow", skill.good_follow)):
        yield from ((phrase, Meaning(kind, skill.code, skill.code)) for phrase in phrases)
    for fault in skill.faults:
        for kind, phrases in (("fault", fault.phrases), ("follow", fault.follow)):
            yield from ((phrase, Meaning(kind, fault.code, skill.code)) for phrase in phrases)


def nouns_in(phrases: Iterable[str]) -> frozenset[str]:
    """The stems of the parts of body and club, and of the positions, that some phrases name."""
    words = {word.strip("?=") for phrase in phrases for part in phrase.split() for word in part.split("/")}
    words |= {inner.strip("=") for word in words if word[:1] == "@" for inner in expand(word, classes())}
    words |= {word for marker in words if marker[:1] == "{" for word in MARKED.get(marker.strip("{}").lower(), ())}
    return frozenset(stem(word) for word in words if word.isalpha()) & (NOUN_STEMS | TELLING)


def nouns_of(catalogue: Catalogue) -> frozenset[str]:
    """The stems of the words by which skills are called, without small words."""
    words = {
        word for skill in catalogue.skills for name in skill.names for part in name.split() for word in part.split("/")
    }
    stems = {stem(word.strip("?=").lower()) for word in words if word.isalpha()}
    return frozenset(stems - FILLERS - cue_tree().vocabulary() | NOUN_STEMS)


def sided_codes(catalogue: Catalogue) -> dict[str, str]:
    """For each fault the side that its name speaks of."""
    names = {fault.code: fault.phrases[0] for skill in catalogue.skills for fault in skill.faults}
    spoken = {code: [side for side in SIDED if "{" + side + "}" in name] for code, name in names.items()}
    return {code: found[0] for code, found in spoken.items() if len(found) == 1}


def without_names(text: str, tokens: Sequence[Token], lexicon: Lexicon) -> list[Token]:
    """The tokens, with "they" for a name that is said twice or more: it is the student's."""
    names = [name_of(text, token, lexicon) for token in tokens]
    said = Counter(name for name in names if name)
    return [
        as_they(token, name) if name and said[name] > 1 else token for token, name in zip(tokens, names, strict=True)
    ]


def as_they(token: Token, name: str) -> Token:
    """The token of a name as "they", or "their" where more than the name is written."""
    word = "they" if len(name) == token.end - token.start else "their"
    return replace(token, word=word, stem=word)


def name_of(text: str, token: Token, lexicon: Lexicon) -> str | None:
    """A word with a capital that means nothing here, without its 's."""
    word = text[token.start : token.end].replace("’", "'").removesuffix("'s")
    is_name = word.istitle() and word.isalpha() and len(word) > 2
    return word if is_name and not lexicon.knows(make_token(word, 0, 0)) else None


def correct_slips(tokens: Sequence[Token], lexicon: Lexicon) -> list[Token]:
    """The tokens with slips of typing put right."""
    return [token if token.is_sign else lexicon.corrected(token) for token in tokens]


def find_hits(tokens: Sequence[Token], lexicon: Lexicon) -> dict[str, list[Hit]]:
    """The phrases found, by area."""
    return {area: tree.find(tokens) for area, tree in lexicon.trees.items()}
