"""How sure a phrase that was found is: many words say more than one, and words around it may mean something else."""

from lessons.sentence.denial import GREATLY, SUBJECTS
from lessons.sentence.match import Hit
from lessons.sentence.pieces import Piece
from lessons.sentence.state import State
from lessons.sentence.tokens import FILLERS, PASSING, TELLING, Token

SURE = 0.81  # chosen on the sets of tests/sentences that rules are made on; below it a phrase is left out
BEFORE_THE_END = ("way back", "going back", "goes back", "backswing", "takeaway", "at address", "at setup")
PREPOSITIONS = frozenset("on in at to of with by and right left".split())
KNOWN = FILLERS | PREPOSITIONS | SUBJECTS


def confidence(words: int, between: int = 0, foreign: int = 0) -> float:
    """How sure a phrase is, from 0 to 1.

    `words`: how many of its words were found; `between`: how many others stand between them; `foreign`: how many words
    in its piece name a part of the body or a position of which its skill never speaks. One word beside a foreign one
    says little ("pulls his head up"), four words hold against one.
    """
    return words**2 / (words**2 + between + 2 * foreign)


def is_loose(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether the words of a phrase stand too far apart to be sure of them, one from two and three from three."""
    if hit.meaning.kind == "good" and any(state.tokens[place].word == "," for place in range(hit.start, hit.end)):
        return True
    return confidence(hit.weight, count_between(state, hit, piece)) < SURE


def is_crowded(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether words that belong to another skill, and were not understood, stand beside it."""
    return confidence(hit.weight, foreign=count_foreign(state, hit, piece)) < SURE


def is_strange(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether twice as many words that mean nothing here lead to a phrase as it has: they may say whether."""
    understood = {place for other in [*piece.hits, *piece.cues] for place in range(other.start, other.end)}
    understood |= {place for place in range(piece.start, hit.start) if state.tokens[place].word in SUBJECTS}
    begin = max((place + 1 for place in understood if place < hit.start), default=piece.start)
    words = {token.word for token in state.tokens[begin : hit.start] if token.stem not in TELLING}
    return len(words - KNOWN) >= 2 * hit.weight


def is_lost(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether more words of its piece mean nothing here than belong to a phrase, three at least.

    They may say anything of it: of the items of such proposals, on sentences that no rule had been made on, half were
    false, of all 98 of 1157. Two words are no sign yet: 10 of 81.
    """
    return count_strange(state, piece) > max(hit.weight, 2)


def is_bare_denial(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether a "no" may be said of a fault alone: one word that means nothing here may be what it denies instead."""
    within = [cue.end for cue in piece.of("negation") if hit.start < cue.start < hit.end]
    aside = any(state.tokens[place].word in PREPOSITIONS and place not in hit.words for place in within)
    measured = any(token.word in GREATLY for token in state.tokens[piece.start : hit.start])
    return not aside and not measured and not count_strange(state, piece)


def count_strange(state: State, piece: Piece) -> int:
    """The words of a piece that mean nothing here, without those that only say how often, when or where."""
    covered = {place for other in [*piece.hits, *piece.cues] for place in range(other.start, other.end)}
    free = [state.tokens[place] for place in range(piece.start, piece.end) if place not in covered]
    return sum(is_strange_word(token) for token in free)


def is_strange_word(token: Token) -> bool:
    """Whether a word is none of those that only link, or say how often, when or where."""
    return token.number is None and token.word not in KNOWN | PASSING


def count_between(state: State, hit: Hit, piece: Piece) -> int:
    """The words between those of a phrase, without small ones and those that say how much or when."""
    cues = piece.of("slight", "clear", "arrival", "departure", "still", "negation", *state.lexicon.trees)
    graded = {place for cue in cues for place in range(cue.start, cue.end)}
    skipped = set(range(hit.start, hit.end)) - set(hit.words) - graded
    return sum(state.tokens[place].word not in FILLERS | PREPOSITIONS | {":"} for place in skipped)


def count_foreign(state: State, hit: Hit, piece: Piece) -> int:
    """The words of a piece that tell something and belong neither to a phrase, a cue nor the skill of the hit."""
    covered = {place for other in [*piece.hits, *piece.cues] for place in range(other.start, other.end)}
    own = state.lexicon.spoken_of[hit.meaning.skill]
    free = {state.tokens[place].stem for place in range(piece.start, piece.end) if place not in covered}
    return len(free & TELLING - own) + names_another_skill(hit, piece) + is_before_the_end(state, hit, piece)


def names_another_skill(hit: Hit, piece: Piece) -> bool:
    """Whether the name of another skill stands before a single word: "the grip is smooth" is no tempo."""
    topics = [other for other in piece.hits_of("topic") if other.end <= hit.start]
    return any(other.meaning.skill != hit.meaning.skill for other in topics)


def is_before_the_end(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether what is looked at in the finish is said of the way back or the setup."""
    words = " ".join(piece.words)
    return hit.meaning.skill in state.lexicon.finishes and any(time in words for time in BEFORE_THE_END)
