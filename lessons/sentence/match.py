"""Phrases compiled into a tree, and found in a text whatever their inflection and the small words between."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product

from lessons.sentence.tokens import FILLERS, PARTING, Token, as_word, make_token, stem

WIDE = 2  # words of any kind that `..` may skip
MOST_SKIPPED = 6  # small words that may stand between two words of a phrase


@dataclass(frozen=True)
class Meaning:
    """What a phrase stands for: a kind, such as fault or good, and the code of it and of its skill."""

    kind: str
    code: str
    skill: str = ""


@dataclass(frozen=True)
class Hit:
    """A phrase found in tokens[start:end]; `words` are the places of the tokens that met its words."""

    meaning: Meaning
    words: tuple[int, ...]

    @property
    def start(self) -> int:
        return self.words[0]

    @property
    def end(self) -> int:
        return self.words[-1] + 1

    @property
    def weight(self) -> int:
        return len(self.words)


@dataclass
class Node:
    """A place in the tree: what may follow at once, what may follow further on, and what ends here."""

    tight: dict[int, "Node"] = field(default_factory=dict)
    wide: dict[int, "Node"] = field(default_factory=dict)
    meanings: list[Meaning] = field(default_factory=list)


@dataclass(frozen=True)
class Part:
    """One word of a phrase: what it may be, exact (`=`) or by stem, and whether other words may stand before it."""

    stems: frozenset[str]
    exact: frozenset[str]
    wide: bool = False


class PhraseTree:
    """Phrases of one area, for one playing side."""

    def __init__(
        self,
        classes: Mapping[str, Sequence[str]],
        fillers: frozenset[str] = FILLERS,
        wide: int = WIDE,
        parting: Iterable[str] = PARTING,
    ) -> None:
        self.classes = classes
        self.fillers = fillers
        self.wide = wide
        self.parting = frozenset(stem(word) for word in parting)
        self.root = Node()
        self.parts: dict[tuple[frozenset[str], frozenset[str]], int] = {}
        self.by_stem: dict[str, list[int]] = {}
        self.by_word: dict[str, list[int]] = {}

    def add(self, phrase: str, meaning: Meaning) -> None:
        """Add a phrase in all its variants."""
        for words in variants(phrase):
            node = self.root
            for part in read_parts(words, self.classes):
                edges = node.wide if part.wide else node.tight
                node = edges.setdefault(self.number_of(part), Node())
            if node is not self.root and meaning not in node.meanings:
                node.meanings.append(meaning)

    def number_of(self, part: Part) -> int:
        """The number of a part; equal parts share it."""
        key = (part.stems, part.exact)
        if key not in self.parts:
            self.parts[key] = len(self.parts)
            for text in part.stems:
                self.by_stem.setdefault(text, []).append(self.parts[key])
            for text in part.exact:
                self.by_word.setdefault(text, []).append(self.parts[key])
        return self.parts[key]

    def numbers(self, token: Token) -> list[int]:
        """The parts that a token meets."""
        return self.by_stem.get(token.stem, []) + self.by_word.get(token.word, [])

    def find(self, tokens: Sequence[Token]) -> list[Hit]:
        """All phrases found, overlapping ones as well."""
        met = [self.numbers(token) for token in tokens]
        search = Search(tokens, met, self.fillers, self.wide, self.parting)
        for start, numbers in enumerate(met):
            for number in numbers:
                if number in self.root.tight:
                    search.follow(self.root.tight[number], (start,))
        return search.hits

    def vocabulary(self) -> set[str]:
        """Every word that a phrase may hold."""
        return set(self.by_word) | set(self.by_stem)


@dataclass
class Search:
    """One walk over the tokens of a text."""

    tokens: Sequence[Token]
    met: Sequence[list[int]]
    fillers: frozenset[str]
    wide: int
    parting: frozenset[str]
    hits: list[Hit] = field(default_factory=list)

    def follow(self, node: Node, words: tuple[int, ...]) -> None:
        """Note what ends at this node and go on from it."""
        self.hits += [Hit(meaning, words) for meaning in node.meanings]
        if node.tight:
            self.step(node.tight, words, self.near(words[-1] + 1))
        if node.wide:
            self.step(node.wide, words, self.further(words[-1] + 1))

    def step(self, edges: dict[int, Node], words: tuple[int, ...], places: Iterator[int]) -> None:
        """Follow each edge to the first place that meets it."""
        taken: set[int] = set()
        for place in places:
            for number in self.met[place]:
                if number in edges and number not in taken:
                    taken.add(number)
                    self.follow(edges[number], (*words, place))

    def near(self, at: int) -> Iterator[int]:
        """The next token, and those after small words."""
        for place in range(at, min(at + MOST_SKIPPED, len(self.tokens))):
            if self.tokens[place].is_sign:
                return
            yield place
            if self.tokens[place].word not in self.fillers:
                return

    def further(self, at: int) -> Iterator[int]:
        """The tokens of the same sentence within reach of `..`; a comma counts as a word."""
        skipped = 0
        for place in range(at, min(at + 2 * MOST_SKIPPED, len(self.tokens))):
            if self.tokens[place].ends_sentence or self.tokens[place].word == "but":
                return
            yield place
            skipped += 2 if self.tokens[place].word == "," else self.tokens[place].word not in FILLERS
            if skipped > self.wide or self.tokens[place].stem in self.parting:
                return


def variants(phrase: str) -> Iterator[list[str]]:
    """The phrase with and without each optional word, in both orders where `<>` stands."""
    if "<>" in phrase:
        first, second = (half.strip() for half in phrase.split("<>", 1))
        yield from variants(f"{first} .. {second}")
        yield from variants(f"{second} .. {first}")
        return
    choices = [[word[:-1], ""] if word.endswith("?") else [word] for word in phrase.split()]
    yield from ([word for word in chosen if word] for chosen in product(*choices))


def read_parts(words: Iterable[str], classes: Mapping[str, Sequence[str]]) -> Iterator[Part]:
    """The parts of a phrase: `a/b` either, `@name` a class of words, `=word` that very form, `..` words between."""
    wide = False
    for word in words:
        if word == "..":
            wide = True
            continue
        yield read_part(word, classes, wide)
        wide = False


def read_part(text: str, classes: Mapping[str, Sequence[str]], wide: bool) -> Part:
    """One part."""
    stems: set[str] = set()
    exact: set[str] = set()
    for word in expand(text, classes):
        if word.startswith("="):
            exact.add(as_word(word[1:]))
        else:
            stems.add(make_token(word, 0, 0).stem)
    return Part(frozenset(stems), frozenset(exact), wide)


def expand(text: str, classes: Mapping[str, Sequence[str]]) -> Iterator[str]:
    """The words of a part, its classes and markers written out."""
    for word in text.split("/"):
        if word[0] in "@{":
            yield from (inner for name in classes[word.strip("@{}").lower()] for inner in expand(name, classes))
        else:
            yield word


def best(hits: Iterable[Hit]) -> tuple[list[Hit], list[Hit]]:
    """The hits that do not overlap, those of more words first; and those that fit equally well and so say nothing."""
    ranks = {"fault": 0, "good": 1, "idiom": -1, "drill": 2, "topic": 3, "follow": 4}
    chosen: list[Hit] = []
    unsure: list[Hit] = []
    for hit in sorted(hits, key=lambda hit: (-strength(hit), ranks.get(hit.meaning.kind, 9), hit.end - hit.start)):
        rivals = [other for other in chosen if other.start < hit.end and hit.start < other.end]
        if not rivals:
            chosen.append(hit)
        unsure += [other for other in rivals if fits_equally(other, hit) and other not in unsure]
    sure = sorted((hit for hit in chosen if hit not in unsure), key=lambda hit: hit.start)
    return sure, unsure


def strength(hit: Hit) -> int:
    """How much a hit says: the name of a skill says less than a phrase of as many words."""
    return hit.weight - 2 if hit.meaning.kind == "topic" else hit.weight


def fits_equally(one: Hit, other: Hit) -> bool:
    """Whether as many words, the same or overlapping ones, mean two faults or what is seen of two skills.

    What is good of two skills is rivalled by the very same words only: "eyes stay down" says more than "stay down".
    """
    kinds = {one.meaning.kind, other.meaning.kind}
    if one.weight != other.weight or one.meaning == other.meaning:
        return False
    two_skills = one.meaning.skill != other.meaning.skill
    return kinds == {"fault"} or (two_skills and (kinds == {"fault", "good"} or is_same_good(one, other)))


def is_same_good(one: Hit, other: Hit) -> bool:
    return {one.meaning.kind, other.meaning.kind} == {"good"} and one.words == other.words
