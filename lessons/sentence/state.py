"""What is known at a place of a text: the look that is spoken of, what was said last, and all that was found."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from lessons.sentence.claims import Claim, Found
from lessons.sentence.lexicon import Lexicon
from lessons.sentence.match import Hit
from lessons.sentence.pieces import Piece
from lessons.sentence.reading import Look
from lessons.sentence.scope import Scope
from lessons.sentence.tokens import Token


@dataclass
class State:
    """One walk over a text, from its first piece to its last."""

    tokens: Sequence[Token]
    lexicon: Lexicon
    unsure: list[int] = field(default_factory=list)  # where faults stand that are not sure, and in no piece
    found: Found = field(default_factory=Found)
    scope: Scope = field(default_factory=Scope)
    look: Look = Look.ARRIVAL
    last: str | None = None  # the skill that was spoken of last
    last_fault: Claim | None = None
    ungraded: Claim | None = None  # the last fault, while a remark may still grade it
    listed: list[Hit] = field(default_factory=list)  # names in a row, of which nothing was said yet
    named: str | None = None  # a skill of which only the name was said
    denied: Hit | None = None  # the last fault that was said to be absent
    denies: bool = False  # whether what was seen last was said by a "no", which an "or" goes on with
    of_others: list[Hit] = field(default_factory=list)  # faults said of somebody else, or as a guess
    focused: bool = False  # whether the piece names an aim and not what was seen
    awaits_focus: bool = False  # whether "priority:" was said, and what it is follows
    mends: bool = False  # whether "fixed" was said before a fault, and may be said of the next one as well
    puts_right: bool = False  # whether "sorry" was said, and what is put right follows
    lost: bool = False  # whether something was named that was not understood, so that "it" may mean that
    keeps_list: bool = False  # whether a list of what to keep may go on
    spoke_of_time: bool = False  # whether the text tells before from after anywhere
    carries: bool = False  # whether the look that is spoken of was said before, and of no list
    end_said: bool = False  # whether the departure that is spoken of was said outright
    arrival_said: bool = False
    fronted: bool = False  # whether a departure opened the sentence, and so holds for its whole list

    def forget_fault(self) -> None:
        """A fault was left out: "a bit" or "better" after it would be said of that one, not of the one before."""
        self.ungraded = self.last_fault = None


def names_another(state: State, piece: Piece) -> bool:
    """Whether a piece without a hit has a noun of the trade, so that it speaks of something that was not understood."""
    covered = {place for cue in piece.cues for place in range(cue.start, cue.end)}
    free = [place for place in range(piece.start, piece.end) if place not in covered]
    nouns = [place for place in free if state.tokens[place].stem in state.lexicon.nouns]
    return not piece.hits and any(not place or state.tokens[place - 1].number is None for place in nouns)


def distance(cue: Hit, hit: Hit) -> int:
    """How many tokens lie between two spans; 0 where they overlap or touch."""
    return max(0, cue.start - hit.end, hit.start - cue.end)
