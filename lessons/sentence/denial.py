"""Whether a piece denies what it names: "no recoil", "not seen today", "head down too long"."""

from collections.abc import Sequence
from itertools import takewhile

from lessons.sentence.match import Hit
from lessons.sentence.pieces import Piece
from lessons.sentence.state import State
from lessons.sentence.tokens import DENYING_VERBS, Token, same_sentence

DENIALS = DENYING_VERBS | {"no", "not", "never", "without"}  # within what is good: "no peeking"
SUBJECTS = frozenset("he she his her hes shes its theres they i".split())
SPOILERS = frozenset(
    "short never stops stopped wrong wrongly fails failed almost nearly barely miles metre inch half unless except "
    "rarely poor poorly".split()
)
GREATLY = frozenset("badly massively hugely terribly horribly".split())  # "not badly peeking" is peeking
LIST = 10  # words: within so many more an "or" ends a list of what was not seen
UNDONE = frozenset(
    "wants wanted asked supposed "
    "forgot forgets forget refuses refused neglects neglected instead tries tried trying cant couldnt stop mostly "
    "largely".split()
)


def is_denied(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether what would be good is said not to be: denied, too little, done badly, or too much of it."""
    is_missing = negated(state, hit, piece) or piece.has("not_enough") or is_conditional(state, hit, piece)
    return is_missing or is_done_badly(state, piece) or is_overdone(hit, piece) or is_spoilt(state, hit)


def is_overdone(hit: Hit, piece: Piece) -> bool:
    """Whether "too" stands in the piece, up to what names the skill: too much of what is good."""
    return "too" in piece.words[: hit.end - piece.start]


def is_conditional(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether it is good only at times: "digs less when the face is open"."""
    covered = {place for cue in piece.cues for place in cue.words}
    before = [place for place in range(piece.start, hit.start) if place not in covered]
    times = [place for place in before if state.tokens[place].word in {"when", "whenever", "if", "unless"}]
    return bool(times) and not {token.word for token in state.tokens[times[-1] : hit.end]} & SUBJECTS


def is_spoilt(state: State, hit: Hit) -> bool:
    """Whether a word before, within or right after what would be good takes it back: "chest short of the target"."""
    after = list(same_sentence(state.tokens[hit.end : hit.end + 2]))
    if len(after) > 1 and after[0].word == "too":
        return True
    within = [state.tokens[place] for place in range(hit.start, hit.end) if place not in hit.words]
    before = state.tokens[max(0, hit.start - 4) : hit.start]
    return holds(before, UNDONE) or holds([*within, *after], SPOILERS) or holds(within, GREATLY)


def holds(tokens: Sequence[Token], words: frozenset[str]) -> bool:
    return any(token.word in words for token in tokens)


def is_done_badly(state: State, piece: Piece) -> bool:
    """Whether a piece says that what it names is bad."""
    return any(state.tokens[cue.start].word in {"badly", "bad", "terrible", "terribly"} for cue in piece.of("clear"))


def negated(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether a "no" before the hit, or within it, denies it."""
    if hit.meaning.kind == "fault" and (said_absent(state, hit, piece) or goes_on_denying(state, piece)):
        return True
    for cue in piece.of("negation", "absent"):
        if stands_alone(state, cue):
            continue
        inside = hit.start < cue.start < hit.end and cue.start not in hit.words
        before = cue.end <= hit.start and not parted(state, cue, hit, piece)
        if inside or before:
            return True
    return False


def goes_on_denying(state: State, piece: Piece) -> bool:
    """Whether a list of what was not seen goes on: "doesn't rush, peek or fall over"."""
    is_name = piece.words[0].endswith("ing") and not piece.cues
    ahead = state.tokens[piece.end : piece.end + (LIST if is_name else 2)]
    follows = {token.word for token in takewhile(lambda token: not token.ends_sentence, ahead)}
    listed = piece.joiner == "," and (is_name or len(piece.words) <= 2) and "or" in follows
    listed = listed or (piece.joiner == "and" and is_name)
    alternative = "or" in {state.tokens[piece.start].word, state.tokens[piece.start - 1].word}
    return state.denies and (alternative or listed)


def is_denial(state: State, hit: Hit) -> bool:
    """Whether what is good is so by a "no" among its words: "no peeking"."""
    return any(state.tokens[place].word in DENIALS for place in hit.words)


def said_absent(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether the piece says afterwards that the fault was not there: "recoil not seen today"."""
    if piece.words[-1] == "no" and hit.end == piece.end - 1:
        return True
    later = [cue for cue in piece.of("absent", "negation") if 0 <= cue.start - hit.end <= 3]
    said = any(cue.meaning.kind == "absent" or state.tokens[cue.end - 1].word in {"longer", "stopped"} for cue in later)
    return said and not piece.has("not_enough")


def stands_alone(state: State, cue: Hit) -> bool:
    """Whether the sentence goes on with a new subject after it: "but she doesn't, her wrists are quiet"."""
    words = [token.word for token in state.tokens[cue.start : cue.end + 1]]
    return words[0] in DENYING_VERBS and words[-1] in SUBJECTS


def parted(state: State, cue: Hit, hit: Hit, piece: Piece) -> bool:
    """Whether something else that was seen stands between a "no" and the hit."""
    between = [other for other in piece.hits if cue.end <= other.start < hit.start]
    words = {token.word for token in state.tokens[cue.end : hit.start]}
    answered = any(cue.end <= other.start < hit.start for other in piece.of("praise"))
    return (bool(between) and not words & {"or", "nor"}) or answered
