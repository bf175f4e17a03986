"""Whether a piece speaks of the arrival or of the departure."""

from collections.abc import Sequence

from lessons.sentence.pieces import Piece
from lessons.sentence.reading import Look
from lessons.sentence.state import State
from lessons.sentence.tokens import FILLERS, Token

WORK = 5  # words
STROKES = frozenset(
    "ball balls impact contact hit stroke putt shot chip pitch swing miss misses missing it he she".split()
)
HOW_MANY = frozenset("few some couple".split())
ENDINGS = frozenset({"end", "left"})
END_OF_STROKE = frozenset({"at the end", "at end", "in the end"})


def set_look(state: State, piece: Piece) -> None:
    """Whether the piece speaks of arrival or departure."""
    label = len(piece.words) <= 3
    if piece.hits or piece.starts_sentence or piece.has("departure"):
        state.fronted = (state.fronted and not piece.starts_sentence) or is_fronted(state, piece)
    label = label or (piece.words[-1] == "after" and state.arrival_said)
    if departs(state, piece) or then_after_arrival(state, piece) or (label and piece.has("departure_label")):
        state.look = Look.DEPARTURE
        state.end_said = says_when(state, piece) or (state.end_said and not piece.has("departure"))
    elif piece.has("arrival") or (label and piece.has("arrival_label")):
        state.look = Look.ARRIVAL
        state.arrival_said = True
    elif not look_holds(state, piece):
        state.look = Look.ARRIVAL
    state.carries = not state.fronted and not piece.has("departure") and not piece.is_after_drill


def then_after_arrival(state: State, piece: Piece) -> bool:
    """Whether "then" follows what was seen at first: "rushed at first, then calm"."""
    spoken = {claim.skill for claim in state.found.claims}
    good = all(hit.meaning.kind != "fault" or hit.meaning.skill in spoken for hit in piece.hits)
    return piece.joiner == "then" and state.arrival_said and good and not piece.has("arrival")


def is_fronted(state: State, piece: Piece) -> bool:
    """Whether the departure opens a list: "by the end his finish was held, his weight left"."""
    cues = piece.of("departure")
    if not cues or cues[0].start - piece.start > 1:
        return False
    return cues[0].start < piece.hits[0].start if piece.hits else is_label(state, piece) or opens(state, piece)


def opens(state: State, piece: Piece) -> bool:
    """Whether a time, at most with a "no", stands before a comma: "by the end, his finish was held"."""
    covered = {place for cue in piece.of("departure", "negation") for place in range(cue.start, cue.end)}
    free = {state.tokens[place].word for place in range(piece.start, piece.end) if place not in covered}
    return not free - FILLERS and any(token.word == "," for token in state.tokens[piece.end : piece.end + 1])


def is_label(state: State, piece: Piece) -> bool:
    """Whether a list follows: "last five:"."""
    return any(token.word == ":" for token in state.tokens[piece.end : piece.end + 1])


def departs(state: State, piece: Piece) -> bool:
    """Whether the piece speaks of the end; "now" alone does so only where a before was spoken of."""
    if follows_work(piece):
        return True
    if not piece.has("departure") or is_end_of_stroke(state, piece) or is_next_area(state, piece):
        return False
    if not only_now(state, piece):
        return True
    changed = piece.has("better", "worse", "gone", "fixed", "comparative", "still")
    return not piece.has("focus") and (changed or state.spoke_of_time or was_faulty(state, piece))


def says_when(state: State, piece: Piece) -> bool:
    """Whether the departure is said outright: "by the end", "20 balls later", but not "second half"."""
    ending = [token for cue in piece.of("departure") for token in state.tokens[cue.start : cue.end]]
    outright = any(token.word in ENDINGS or token.number is not None for token in ending)
    return outright or bool(piece.words[0] == "after" and piece.hits_of("drill"))


def follows_work(piece: Piece) -> bool:
    """Whether the piece begins with what came before it, and that is no stroke: "after the break no rushing"."""
    if piece.is_after_drill:
        return True
    if piece.words[0] != "after" or piece.words[1:2] == ["that"] or not piece.hits:
        return False
    between = piece.words[1 : piece.hits[0].start - piece.start]
    between = between[:-1] if between[-1:] in (["he"], ["she"]) else between
    return 0 < len(between) <= WORK and not STROKES & set(between)


def mark_after_drills(pieces: Sequence[Piece]) -> None:
    """Mark what was seen after a drill: "none of that after the wall drill", "wrist fine | after the rod"."""
    for piece, after in zip(pieces, [*pieces[1:], None], strict=False):
        continues = after is not None and after.joiner == "" and not piece.hits_of("drill") and names_drill_after(after)
        piece.is_after_drill = names_drill_after(piece) or continues


def names_drill_after(piece: Piece) -> bool:
    """Whether a drill is named shortly behind "after", or further on in a piece that begins with it."""
    starts = [hit.start - piece.start for hit in piece.hits_of("drill")]
    return any("after" in [*piece.words[:1], *piece.words[max(0, start - 2) : start + 1]] for start in starts)


def is_next_area(state: State, piece: Piece) -> bool:
    """Whether it only says what came next in the lesson: "after that chipping", "then later some putts"."""
    named = piece.of(*state.lexicon.trees)
    times = [cue for cue in piece.of("departure") if not counts(state.tokens[cue.end - 1])]
    return any(0 <= area.start - cue.end <= 2 for area in named for cue in times)


def counts(token: Token) -> bool:
    """Whether a word says how many, so that strokes follow it and no area: "after a few putts"."""
    return token.number is not None or token.word in HOW_MANY


def was_faulty(state: State, piece: Piece) -> bool:
    """Whether a fault of a skill in the piece, or of the skill before, was seen on arrival."""
    skills: set[str | None] = {hit.meaning.skill for hit in piece.hits} or {state.last}
    return any(claim.skill in skills and claim.fault and claim.look is Look.ARRIVAL for claim in state.found.claims)


def is_end_of_stroke(state: State, piece: Piece) -> bool:
    """Whether "at the end" means the finish: it is said of a finish, and of nothing that changed."""
    words = [" ".join(token.word for token in state.tokens[cue.start : cue.end]) for cue in piece.of("departure")]
    if not set(words) <= END_OF_STROKE or not piece.hits:
        return False
    changed = piece.has("better", "worse", "gone", "fixed", "comparative", "still") or was_faulty(state, piece)
    changed = changed or state.arrival_said
    return not changed and all(hit.meaning.skill in state.lexicon.finishes for hit in piece.hits)


def only_now(state: State, piece: Piece) -> bool:
    return all(state.tokens[cue.start].word == "now" for cue in piece.of("departure"))


def look_holds(state: State, piece: Piece) -> bool:
    """Whether the look of the piece before still holds."""
    if piece.joiner in {",", "but"} and state.fronted:
        return True
    if piece.joiner in {"and", "", "then", ":"} or not piece.hits:
        return piece.joiner != "." or (not piece.hits and not piece.starts_sentence)
    spoken = {claim.skill for claim in state.found.claims}
    return not piece.starts_sentence and any(hit.meaning.skill in spoken for hit in piece.hits)
