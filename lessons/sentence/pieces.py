"""A text cut into pieces that each speak of one thing, with the cues that stand in it."""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from lessons.sentence.match import Hit
from lessons.sentence.tokens import FILLERS, Token

JOINERS = frozenset(
    "but because so though although while whereas however and then which until or yet except plus".split()
)
STARTERS = frozenset(
    "he she hes shes theres his her the um uh its it they theyre i im we were also when by at on his you youre in "
    "since yeah well only just not no never after before leave keep dont and maybe perhaps now then today last "
    "next instead rather".split()
)
TRAILING = frozenset("slight clear praise departure arrival better worse gone fixed keep today doubt".split())
TIMES = {"departure", "arrival"}
OF_NAMES = frozenset({"praise", "not_enough", "better", "worse", "keep", "focus", "comparative", "hedge", "doubt"})


@dataclass
class Piece:
    """Tokens[start:end], the sign or word that joins it to what stands before, its hits and its cues."""

    start: int
    end: int
    joiner: str  # "" where nothing stands between, "." for the end of any sentence
    words: list[str]
    area: str = ""
    hits: list[Hit] = field(default_factory=list)
    cues: list[Hit] = field(default_factory=list)
    asks: bool = False
    is_spared: bool = False  # whether it names what is not worked on
    is_after_drill: bool = False  # whether a drill was done before what it says was seen
    ends_sentence: bool = False

    @property
    def starts_sentence(self) -> bool:
        return self.joiner == "."

    def has(self, *kinds: str) -> bool:
        return any(cue.meaning.kind in kinds for cue in self.cues)

    def of(self, *kinds: str) -> list[Hit]:
        """The cues of some kinds."""
        return [cue for cue in self.cues if cue.meaning.kind in kinds]

    def hits_of(self, *kinds: str) -> list[Hit]:
        return [hit for hit in self.hits if hit.meaning.kind in kinds]


def cut(tokens: Sequence[Token], hits: Sequence[Hit], cues: Sequence[Hit]) -> list[Piece]:
    """The pieces of a text, in order."""
    pieces: list[Piece] = []
    for start, end, joiner in stretches(tokens, [*hits, *cues]):
        for number, (begin, stop) in enumerate(parts(tokens, start, end, hits, cues)):
            words = [token.word for token in tokens[begin:stop]]
            pieces.append(Piece(begin, stop, "" if number else joiner, words))
    for piece in pieces:
        piece.hits = [hit for hit in hits if piece.start <= hit.start < piece.end]
        piece.cues = [cue for cue in cues if piece.start <= cue.start < piece.end]
    for piece, after in zip(pieces, [*pieces[1:], None], strict=False):
        piece.ends_sentence = after is None or after.starts_sentence
    mark_questions(pieces, tokens)
    return pieces


def stretches(tokens: Sequence[Token], spans: Sequence[Hit]) -> Iterator[tuple[int, int, str]]:
    """The tokens between signs and joining words, each with what joins it; a word inside a phrase joins nothing."""
    inside = {place for span in spans for place in range(span.start + 1, span.end)}
    whole = {span.start for span in spans}
    start, joiner = 0, "."
    for place, token in enumerate(tokens):
        if (token.is_sign and place not in inside) or token.ends_sentence or is_joiner(token, place, inside | whole):
            if place > start:
                yield start, place, joiner
                joiner = ""
            joiner = stronger(joiner, "." if token.ends_sentence else token.word)
            start = place + 1
    if start < len(tokens):
        yield start, len(tokens), joiner


def is_joiner(token: Token, place: int, taken: set[int]) -> bool:
    return token.word in JOINERS and place not in taken


def stronger(one: str, other: str) -> str:
    """Of two joiners in a row the one that separates more; a word says more than a comma."""
    if "." in (one, other):
        return "."
    return other or one


def parts(
    tokens: Sequence[Token], start: int, end: int, hits: Sequence[Hit], cues: Sequence[Hit]
) -> Iterator[tuple[int, int]]:
    """One stretch, cut between hits of different skills."""
    inner = telling(
        [hit for hit in hits if start <= hit.start < end], [cue for cue in cues if start <= cue.start < end]
    )
    begin = start
    for before, after in itertools.pairwise(inner):
        if belong_together(before, after) and not times_between(before, after, cues):
            continue
        place = cut_between(tokens, before.end, after.start, cues)
        if begin < place < end:
            yield begin, place
            begin = place
    yield begin, end


def telling(hits: Sequence[Hit], cues: Sequence[Hit]) -> list[Hit]:
    """The hits between which a stretch is cut: names of skills only where something may be said of them."""
    said = any(cue.meaning.kind in OF_NAMES for cue in cues)
    return [
        hit for hit in hits if hit.meaning.kind in {"fault", "good", "drill"} or (said and hit.meaning.kind == "topic")
    ]


def belong_together(before: Hit, after: Hit) -> bool:
    """Whether both speak of one skill, the second saying more of it."""
    return before.meaning.skill == after.meaning.skill != "" and "topic" in (before.meaning.kind, after.meaning.kind)


def times_between(before: Hit, after: Hit, cues: Sequence[Hit]) -> bool:
    """Whether another time is named between two hits: "when she came ball back, when she left ball fine"."""
    return any(before.end <= cue.start < after.start and cue.meaning.kind in TIMES for cue in cues)


def cut_between(tokens: Sequence[Token], start: int, end: int, cues: Sequence[Hit]) -> int:
    """Where the next piece begins: after the words that still belong to the first hit."""
    place = after_trailing(tokens, start, end, cues)
    if any(cue.start == place and mends(cue, tokens, end) for cue in cues):
        return place
    for later in range(place, end):
        if tokens[later].word in STARTERS and not any(cue.start < later < cue.end for cue in cues):
            return later
    return place


def after_trailing(tokens: Sequence[Token], start: int, end: int, cues: Sequence[Hit]) -> int:
    """The place after the degree, praise or time that follows a hit at once."""
    place, used = start, set[str]()
    while place < end:
        ahead = place
        while ahead < end and tokens[ahead].word in FILLERS - STARTERS and not begins(cues, ahead):
            ahead += 1
        cue = begins(cues, ahead)
        if not cue or cue.meaning.kind not in TRAILING - used or cue.end > end or mends(cue, tokens, end):
            return place
        used |= TIMES if cue.meaning.kind in TIMES else {cue.meaning.kind}
        place = cue.end
    return place


def mends(cue: Hit, tokens: Sequence[Token], end: int) -> bool:
    """Whether what was put right follows: "the rod sorted the flick"."""
    after = [token.word for token in tokens[cue.end : min(cue.end + 1, end)]]
    return cue.meaning.kind == "fixed" and after in (["the"], ["his"], ["her"], ["that"])


def begins(cues: Sequence[Hit], place: int) -> Hit | None:
    return next((cue for cue in cues if cue.start == place), None)


def begins_question(piece: Piece) -> bool:
    """Whether the question begins with this piece, so that what stands before it is none."""
    return any(cue.start <= piece.start + 1 for cue in piece.of("question"))


def mark_questions(pieces: Sequence[Piece], tokens: Sequence[Token]) -> None:
    """Mark the pieces of each question that ends in its mark."""
    asks = False
    for piece in reversed(pieces):
        sign = next((token.word for token in tokens[piece.end : piece.end + 1]), "")
        if sign == "?":
            asks = True
        elif sign in {".", "!", ";", "|"}:
            asks = False
        piece.asks = asks
        if asks and begins_question(piece):
            asks = False
