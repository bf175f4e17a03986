"""Reads the pieces of a text one after another."""

from collections.abc import Sequence
from itertools import pairwise

from lessons.sentence.claims import Claim, Found
from lessons.sentence.decisions import mark_spared, points_back, read_focus, read_keep
from lessons.sentence.denial import negated, said_absent
from lessons.sentence.dose import Given
from lessons.sentence.lexicon import Lexicon
from lessons.sentence.lists import ends_list
from lessons.sentence.match import Hit
from lessons.sentence.pieces import Piece
from lessons.sentence.remarks import read_remark
from lessons.sentence.scope import looks_back
from lessons.sentence.seen import COACH, read_hits
from lessons.sentence.state import State, names_another
from lessons.sentence.timing import mark_after_drills, only_now, set_look
from lessons.sentence.tokens import TELLING, Token, same_sentence

USED = frozenset("after since during did got took counted used tried demonstrated practised played".split())
TRADED = frozenset("swap swapped replace replaced".split())
REFUSED = TRADED | frozenset("stop drop skip forget than".split())
DONE_FIRST = frozenset({"after", "once"})  # begin what was done before something was seen
WAS = frozenset({"was", "were"})  # tell of a drill that was done, unless it "was given"
GIVEN = frozenset("given set agreed".split())
SET_UP = frozenset("put laid placed stuck had made let".split())
GAVE = frozenset({"gave", "give"})
GOES_ON = frozenset("carry carries continue continues stay stays stick sticks gets takes".split())
BESIDE = frozenset(  # beside a drill that is only spoken of: "with the towel", "she likes the ladder"
    "with without from by using in for of about at i he she made likes liked loves loved hates hated knows enjoys "
    "enjoyed not good better bad".split()
)
MENDED = frozenset("sorted cured fixed".split())
DRILLS = frozenset("drill drills game exercise".split())
LOOKING_BACK = ("doubt", "hedge", "unseen", "past", "future")


def read_pieces(tokens: Sequence[Token], pieces: Sequence[Piece], lexicon: Lexicon, unsure: Sequence[Hit]) -> Found:
    """Everything that the pieces of a text say; `unsure` are hits that are in none of them."""
    state = State(tokens, lexicon, unsure=[hit.start for hit in unsure if hit.meaning.kind == "fault"])
    state.spoke_of_time = any(
        piece.has("arrival") or (piece.has("departure") and not only_now(state, piece)) for piece in pieces
    )
    mark_spared(pieces)
    mark_after_drills(pieces)
    for number, piece in enumerate(pieces):
        read_piece(state, piece, pieces[:number])
    return state.found


def read_piece(state: State, piece: Piece, before: Sequence[Piece]) -> None:
    if state.last_fault and any(state.last_fault.end <= place < piece.start for place in state.unsure):
        state.forget_fault()
    if piece.has("correct"):
        take_back(state, piece, before)
    put_right(state, piece)
    if looks_back(piece):
        withdraw_last(state, piece, before)
    reason = state.scope.enter(piece) or ("spared" if piece.is_spared else undecided(state, piece, before))
    if reason:
        leave_out(state, piece, reason)
        return
    state.focused = (piece.has("focus") and not points_back(state, piece, piece.hits)) or state.awaits_focus
    set_look(state, piece)
    read_drills(state, piece)
    read_focus(state, piece)
    read_seen(state, piece)
    read_keep(state, piece)


def undecided(state: State, piece: Piece, before: Sequence[Piece]) -> str | None:
    """Leaves out the last fault and this one where it is one or the other: "it's the rushing or the brake"."""
    last = state.found.claims[-1:]
    either = "or" in {state.tokens[piece.start].word, state.tokens[piece.start - 1].word} and bool(before)
    if not either or state.denies or not piece.hits_of("fault") or not last or last[0].is_good or piece.starts_sentence:
        return None
    drop(state, last, "doubt")
    return "doubt"


def leave_out(state: State, piece: Piece, reason: str) -> None:
    """Note each hit of a piece that speaks of something else."""
    for hit in piece.hits:
        state.found.leave_out(reason, hit)
    if piece.hits_of("fault"):
        state.forget_fault()
    if reason in {"person", "past"} or piece.has("hedge"):
        state.of_others = piece.hits_of("fault") or state.of_others


def take_back(state: State, piece: Piece, before: Sequence[Piece]) -> None:
    """ "No wait": what was said just before does not count, in the piece itself or else in the last one."""
    cue = piece.of("correct")[0]
    if is_of_dose(state, cue):
        return
    if piece.hits and piece.hits[0].start < cue.start:
        if "make" not in piece.words[cue.start - piece.start : cue.end - piece.start]:
            strike_out(state, piece, cue.start)
        return
    last = next((piece for piece in reversed(before) if piece.hits), None)
    if last is not None:
        drop(state, [claim for claim in state.found.claims if claim.start >= last.start], "correct")


def is_of_dose(state: State, cue: Hit) -> bool:
    """Whether a number follows, so that only a dose is put right: "make it ten minutes"."""
    return any(token.number is not None for token in state.tokens[cue.end : cue.end + 1])


def strike_out(state: State, piece: Piece, place: int) -> None:
    """The hits of a piece that stand before a place do not count."""
    for hit in piece.hits:
        if hit.start < place:
            state.found.leave_out("correct", hit)
    piece.hits = [hit for hit in piece.hits if hit.start > place]


def put_right(state: State, piece: Piece) -> None:
    """ "Too wide, sorry, too narrow": of two faults of one skill, and of two drills, the second one counts."""
    cues = piece.of("amend", "correct")
    said_now = any(cue.start < piece.hits[0].start if piece.hits else cue.end == piece.end for cue in cues)
    state.puts_right = said_now or (state.puts_right and not cues and not piece.starts_sentence)
    if not state.puts_right or not piece.hits:
        return
    state.puts_right = False
    last, said = state.found.claims[-1:], piece.hits[0].meaning
    if said.kind == "drill":
        state.found.given = [
            given for given in state.found.given if given is not state.found.given[-1] or given.drill == said.code
        ]
    elif last and last[0].skill == said.skill and said.code != (last[0].fault or last[0].skill):
        drop(state, last, "correct")


def withdraw_last(state: State, piece: Piece, before: Sequence[Piece]) -> None:
    """A guess or another time, said after the fact: the last claim is left out, unless it is of something else."""
    if before and before[-1].has("doubt", "unseen") and is_of_another(state, before[-1]):
        return
    spoken = next((other for other in reversed(before[-2:]) if other.hits or other.asks), None)
    if (spoken and spoken.has("today") and piece.has("past")) or (piece.has("doubt") and names_another(state, piece)):
        return
    if spoken and spoken.hits and state.found.claims and state.found.claims[-1].start >= spoken.start:
        drop(state, state.found.claims[-1:], next(kind for kind in LOOKING_BACK if piece.has(kind)))


def is_of_another(state: State, piece: Piece) -> bool:
    """Whether a piece names something else, or a part of the body: "the shoulders I couldn't tell you"."""
    return names_another(state, piece) or any(token.stem in TELLING for token in state.tokens[piece.start : piece.end])


def drop(state: State, claims: Sequence[Claim], reason: str) -> None:
    """Leave out some of the claims."""
    state.found.claims = [claim for claim in state.found.claims if claim not in claims]
    state.found.left_out += [(reason, claim.start, claim.end) for claim in claims]


def read_drills(state: State, piece: Piece) -> None:
    """The drills that are given. What stays after one was named ("we did the ladder, that stays") is the drill."""
    state.lost = state.lost or bool(piece.hits_of("drill"))
    for hit in piece.hits_of("drill"):
        if not is_refused(state, hit, piece) and not was_used(state, hit):
            only_done = is_beside(state, hit) or is_done_first(state, hit, piece) or was_set_up(hit, piece)
            is_sure = is_whole_name(state, hit, piece) and not only_done
            state.found.given.append(Given(hit.meaning.code, hit.start, hit.end, is_sure=is_sure))


def is_whole_name(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether the words are the whole name of a drill, or say that they name one: "long putts" does not."""
    return hit.weight >= state.lexicon.name_lengths[hit.meaning.code] or bool(DRILLS & set(piece.words))


def is_refused(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether a drill is not given: "no ladder", "stop the coin drill"."""
    near = same_sentence(state.tokens[max(0, hit.start - 2) : hit.start][::-1])
    refused = any(token.word in REFUSED for token in near) or is_declined_after(state, hit)
    return refused or negated(state, hit, piece) or said_absent(state, hit, piece)


def is_declined_after(state: State, hit: Hit) -> bool:
    """Whether a drill is said not to be the one: "the towel is not what she needs"."""
    after = [token.word for token in same_sentence(state.tokens[hit.end : hit.end + 3]) if token.word not in DRILLS]
    return after[:1] in (["isnt"], ["wasnt"]) or after[:2] in (["is", "not"], ["was", "not"])


def is_beside(state: State, hit: Hit) -> bool:
    """Whether a drill is only spoken of ("the ladder sorted it"); "carry on with the ladder" gives it."""
    continued = {token.word for token in state.tokens[max(0, hit.start - 4) : hit.start]} & GOES_ON
    mended = {token.word for token in state.tokens[hit.end : hit.end + 1]} & MENDED
    takes_place = is_traded_for(state, hit) or words_before(state, hit) & {"mean", "meant"}
    return bool(words_before(state, hit) & BESIDE or mended) and not continued and not takes_place


def is_done_first(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether it was done before something was seen: "once we had the string out", not "after that I gave him"."""
    near = {token.word for token in state.tokens[max(0, hit.start - 3) : hit.start]}
    return (piece.words[0] in DONE_FIRST or "after" in near) and not GAVE & set(piece.words)


def was_set_up(hit: Hit, piece: Piece) -> bool:
    """Whether the coach only had it done in the lesson: "I put a coin under the ball", not "I put her on the coin"."""
    before = piece.words[: hit.start - piece.start]
    return any(one in COACH and other in SET_UP for one, other in pairwise(before)) and before[-1:] != ["on"]


def is_traded_for(state: State, hit: Hit) -> bool:
    """Whether a drill takes the place of another: "swap the ladder for the clock"."""
    return bool({token.word for token in state.tokens[max(0, hit.start - 6) : hit.start]} & TRADED)


def words_before(state: State, hit: Hit) -> set[str]:
    return {token.word for token in state.tokens[max(0, hit.start - 2) : hit.start]}


def was_used(state: State, hit: Hit) -> bool:
    """Whether the drill was only done: "after the wall drill", "did her ladder", "the ladder went well"."""
    following = [token.word for token in state.tokens[hit.end : hit.end + 4] if token.word not in DRILLS | {"the"}]
    after = set(following[:1])
    if after & WAS:
        return not GIVEN & set(following)
    used = words_before(state, hit) & USED or after & {"went", "showed", "helped", "worked", "stopped"}
    return bool(used) or following[:2] in (["in", "lesson"], ["in", "session"])


def read_seen(state: State, piece: Piece) -> None:
    """Faults, what is good, better or worse; a piece that names nothing speaks of what stands before."""
    hits = piece.hits_of("fault", "good", "topic")
    ends_list(state, piece)
    if hits:
        read_hits(state, piece, hits)
    else:
        read_remark(state, piece)
