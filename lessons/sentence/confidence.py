"""How sure a phrase that was found is: many words say more than one, and words around it may mean something else."""

from lessons.sentence.match import Hit
from lessons.sentence.pieces import Piece
from lessons.sentence.state import State
from lessons.sentence.tokens import FILLERS, TELLING

SURE = 0.81  # chosen on the sets of tests/sentences that rules are made on; below it a phrase is left out
BEFORE_THE_END = ("way back", "going back", "goes back", "backswing", "takeaway", "at address", "at setup")
PREPOSITIONS = frozenset("on in at to of with by and right left".split())
EMPTY = (FILLERS - TELLING) | PREPOSITIONS | frozenset(
    "a i you we us me for from before after when it as or off up down into onto through over about em 1s ones shot "
    "shots ball balls one swing swings stroke strokes putt putts chip chips pitch pitches impact address every each "
    "again only early same look saw".split()
)


def confidence(words: int, between: int = 0, foreign: int = 0, unknown: int = 0) -> float:
    """How sure a phrase is, from 0 to 1.

    `words`: how many of its words were found; `between`: how many others stand between them; `foreign`: how many words
    in its piece name a part of the body or a position of which its skill never speaks; `unknown`: how many more were not
    understood. One word beside a foreign one says little ("pulls his head up"), four words hold against one.
    """
    return words**2 / (words**2 + between + 2 * foreign + unknown / 5)


def is_loose(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether the words of a phrase stand too far apart to be sure of them, one from two and three from three."""
    if hit.meaning.kind == "good" and any(state.tokens[place].word == "," for place in range(hit.start, hit.end)):
        return True
    return confidence(hit.weight, count_between(state, hit, piece)) < SURE


def is_crowded(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether words that belong to another skill, and were not understood, stand beside it."""
    free = not_understood(state, piece)
    foreign = count_foreign(state, hit, piece, free)
    return confidence(hit.weight, foreign=foreign, unknown=len(free - TELLING)) < SURE


def count_between(state: State, hit: Hit, piece: Piece) -> int:
    """The words between those of a phrase, without small ones and those that say how much or when."""
    cues = piece.of("slight", "clear", "arrival", "departure", "still", "negation")
    graded = {place for cue in cues for place in range(cue.start, cue.end)}
    skipped = set(range(hit.start, hit.end)) - set(hit.words) - graded
    return sum(state.tokens[place].word not in FILLERS | PREPOSITIONS | {":"} for place in skipped)


def not_understood(state: State, piece: Piece) -> set[str]:
    """The stems of the words of a piece that belong neither to a phrase nor to a cue, without small words and numbers."""
    covered = {place for other in [*piece.hits, *piece.cues] for place in range(other.start, other.end)}
    free = [state.tokens[place] for place in range(piece.start, piece.end) if place not in covered]
    return {token.stem for token in free if token.number is None and token.word not in EMPTY}


def count_foreign(state: State, hit: Hit, piece: Piece, free: set[str]) -> int:
    """How many of the words that were not understood tell of something else than the skill of the hit."""
    own = state.lexicon.spoken_of[hit.meaning.skill]
    return len(free & TELLING - own) + names_another_skill(hit, piece) + is_before_the_end(state, hit, piece)


def names_another_skill(hit: Hit, piece: Piece) -> bool:
    """Whether the name of another skill stands before a single word: "the grip is smooth" is no tempo."""
    topics = [other for other in piece.hits_of("topic") if other.end <= hit.start]
    return any(other.meaning.skill != hit.meaning.skill for other in topics)


def is_before_the_end(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether what is looked at in the finish is said of the way back or the setup."""
    words = " ".join(piece.words)
    return hit.meaning.skill in state.lexicon.finishes and any(time in words for time in BEFORE_THE_END)
