"""Names of skills in a row of which one word of praise speaks: "grip, stance width and tempo all fine"."""

from lessons.sentence.claims import Claim
from lessons.sentence.match import Hit
from lessons.sentence.pieces import Piece
from lessons.sentence.state import State
from lessons.sentence.tokens import FILLERS

LINKS = frozenset({",", "and", "", ":", "-", "–", "—"})  # between the names of a row
SMALL = FILLERS | frozenset("and or in on".split())
ALSO = frozenset({"too", "also", "likewise"})


def ends_list(state: State, piece: Piece) -> None:
    """Forget the names of a row where something else begins."""
    if piece.joiner not in LINKS or piece.hits_of("fault", "good", "drill"):
        state.listed = []


def add_to_list(state: State, hit: Hit, piece: Piece) -> None:
    """Keep a name that stands alone in its piece, until it is known what is said of the row."""
    places = set(range(piece.start, piece.end)) - set(range(hit.start, hit.end))
    if all(state.tokens[place].word in SMALL for place in places):
        state.listed.append(hit)
    else:
        state.listed = []


def praise_list(state: State) -> None:
    """What was just praised ends a row: the names before it are good as well."""
    for hit in state.listed:
        claim = Claim(state.look, hit.meaning.skill, None, hit.start, hit.end, is_carried=state.carries)
        state.found.claims.append(claim)
    state.listed = []


def is_also_good(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether a name joins what was praised right before: "grip good, stance too"."""
    after = [token.word for token in state.tokens[hit.end : piece.end]]
    last = state.found.claims[-1:]
    joins = piece.joiner in LINKS and bool(last) and last[0].is_good and last[0].look is state.look
    return joins and (after == ["as", "well"] or (len(after) == 1 and after[0] in ALSO))
