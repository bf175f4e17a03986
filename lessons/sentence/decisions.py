"""What is to be kept, and what to work on."""

from collections.abc import Sequence

from lessons.sentence.claims import Claim
from lessons.sentence.match import Hit
from lessons.sentence.pieces import Piece
from lessons.sentence.reading import Look
from lessons.sentence.state import State
from lessons.sentence.tokens import FILLERS, NOUN_STEMS

CONTRASTS = frozenset("not nor instead rather than".split())  # begin what an aim is set against
DENIALS = frozenset({"not", "isnt", "wasnt"})  # end what is no name alone: "leave the grip; the tempo is not"
BARE = CONTRASTS | frozenset("on of or and even yet about so much just the his her their that this any also".split())


def read_keep(state: State, piece: Piece) -> None:
    """What is to stay as it is: the skills in the piece, else the one spoken of last."""
    hits = [hit for hit in piece.hits if hit.meaning.kind in {"topic", "good", "fault"}]
    says_keep = (piece.has("keep") or is_bare_leave(piece)) and not state.focused and not names_fault(piece)
    says_keep = says_keep and not is_no_wish(state, piece)
    if says_keep and (hits or not (names_next(state, piece) or names_within(state, piece))):
        skills = list(dict.fromkeys(hit.meaning.skill for hit in hits)) or last_skill(state, piece)
    elif state.keeps_list and hits and only_named(state, piece, hits):
        skills = [hit.meaning.skill for hit in hits]
    else:
        state.keeps_list = False
        return
    state.keeps_list = True
    for skill in skills:
        state.found.keeps.append((skill, Look.ARRIVAL if state.carries else state.look, piece.start, piece.end))
        state.last = skill


def is_bare_leave(piece: Piece) -> bool:
    """Whether "leave" is all that is said of what stands before: "stance: good, leave"."""
    return piece.words == ["leave"] and not piece.starts_sentence


def names_fault(piece: Piece) -> bool:
    """Whether only a fault is named beside "keep": nobody keeps a fault."""
    return bool(piece.hits_of("fault")) and not piece.hits_of("topic", "good")


def is_no_wish(state: State, piece: Piece) -> bool:
    """Whether "keep" says something else than that a skill is to stay as it is."""
    return is_told(state, piece) or names_habit(state, piece) or was_kept(state, piece)


def is_told(state: State, piece: Piece) -> bool:
    """Whether a student is to do what is named: "keep the wrists quiet" may as well be said of a fault."""
    ends = [cue.end for cue in piece.of("keep") if cue.weight == 1]
    goods = piece.hits_of("good")
    nouns = [hit.start for hit in goods if any(state.tokens[place].stem in NOUN_STEMS for place in hit.words[:2])]
    return any(0 <= start - end <= 1 for start in nouns for end in ends)


def was_kept(state: State, piece: Piece) -> bool:
    """Whether it only tells what the student did: "she kept it good", "narrower, and stayed so"."""
    words = [{token.word for token in state.tokens[cue.start : cue.end]} for cue in piece.of("keep")]
    reported = [cue & {"kept", "stayed", "remained", "retained"} and not cue & {"be", "to", "want"} for cue in words]
    return bool(reported) and all(reported)


def names_habit(state: State, piece: Piece) -> bool:
    """Whether all that is kept up is a habit: "he will keep lifting his head"."""
    ends = [cue.end for cue in piece.of("keep") if cue.weight == 1]
    return len(ends) == len(piece.of("keep")) and any(
        token.word.endswith("ing") for end in ends for token in state.tokens[end : end + 1]
    )


def last_skill(state: State, piece: Piece) -> list[str]:
    """The skill that "it" means, unless something was named since that was not understood; of "both" the last two."""
    if not state.last or state.lost or keeps_fault(state, piece):
        return []
    last = list({claim.skill: claim for claim in reversed(state.found.claims)}.values())[: how_many(piece)]
    if len(last) > 1 and all(claim.is_good for claim in last):
        return [claim.skill for claim in reversed(last)]
    return [state.last]


def how_many(piece: Piece) -> int:
    """How many skills a piece speaks of that names none: both, all three, or one."""
    words = set(piece.words)
    return 2 if words & {"both", "either"} else 3 if {"all", "three"} <= words else 1


def keeps_fault(state: State, piece: Piece) -> bool:
    """Whether a fault was said right before "keep it", so that it means something else; "leave it" may mean that."""
    last = state.found.claims[-1:]
    return bool(last) and last[0] is state.last_fault and ("keep" in piece.words or is_bare_leave(piece))


def names_next(state: State, piece: Piece) -> bool:
    """Whether all that is said to be kept should follow, as after "leave the"."""
    ends = [state.tokens[cue.end - 1].word for cue in piece.of("keep")]
    return bool(ends) and set(ends) <= {"the", "his", "her", "their"}


def names_within(state: State, piece: Piece) -> bool:
    """Whether what is to be left alone is named and was not understood: "leave the trigger finger alone"."""
    inner = [place for cue in piece.of("keep") for place in range(cue.start, cue.end) if place not in cue.words]
    return any(state.tokens[place].stem in state.lexicon.nouns for place in inner)


def only_named(state: State, piece: Piece, hits: Sequence[Hit]) -> bool:
    """Whether the piece goes on with a list: "nor her stance width"."""
    return (
        len(piece.words) <= 4
        and not piece.starts_sentence
        and piece.words[-1] not in DENIALS
        and not CONTRASTS & {*piece.words[:1]} - {"nor"}
        and not piece.has("focus", "departure", "arrival")
        and all(hit.meaning.kind == "topic" for hit in hits)
        and not piece.has("praise")
    )


def read_focus(state: State, piece: Piece) -> None:
    """What to work on now: what the piece names, what stands before "that's the job", or what follows."""
    hits = [hit for hit in piece.hits if hit.meaning.kind in {"topic", "good", "fault"}]
    if piece.has("focus") and not negated_focus(state, piece):
        state.awaits_focus = False
        if points_back(state, piece, hits):
            focus_on_last(state, piece)
        elif hits:
            focus_on(state, hits, piece)
        elif meant := named_again(state, piece):
            state.found.focuses.append((meant.skill, meant.fault, piece.start, piece.end))
        else:
            state.awaits_focus = True
    elif state.awaits_focus and hits:
        focus_on(state, hits, piece)
        state.awaits_focus = False
    elif state.awaits_focus and piece.joiner == ":" and (meant := named_again(state, piece)):
        state.found.focuses.append((meant.skill, meant.fault, piece.start, piece.end))
    elif piece.starts_sentence:
        state.awaits_focus = False


def mark_spared(pieces: Sequence[Piece]) -> None:
    """Mark what is said not to be worked on: "work on A, not on B", "never mind the grip"; nothing is known of it."""
    is_aim = False  # whether the piece before names what to work on
    before: Piece | None = None
    for piece, after in zip(pieces, [*pieces[1:], None], strict=False):
        runs_on = before is not None and before.is_spared and (piece.joiner in {":", "or"} or piece.words[0] == "nor")
        beside_aim = is_aim or (before is not None and before.is_spared) or (after is not None and after.has("focus"))
        piece.is_spared = declines(piece) or runs_on or (beside_aim and is_contrast(piece))
        is_aim = piece.has("focus") or (is_aim and not (before and before.hits and piece.hits))
        before = piece


def declines(piece: Piece) -> bool:
    """Whether a piece says that something is left for now: "don't bother with the grip yet"."""
    return any(not piece.hits or cue.start < piece.hits[0].start for cue in piece.of("declined"))


def is_contrast(piece: Piece) -> bool:
    """Whether a piece only names what an aim is set against: "not on the rushing", "rather than the grip"."""
    if not piece.hits or piece.joiner == ":":
        return False
    first = piece.hits[0].start - piece.start
    opening = {*piece.words[:first], *CONTRASTS.intersection(piece.words[first : first + 1])}
    return bool(opening & CONTRASTS) and opening <= BARE


def named_again(state: State, piece: Piece) -> Claim | None:
    """The one fault whose words hold the only word of a piece that tells something: "the folding is the job"."""
    covered = {place for cue in piece.cues for place in range(cue.start, cue.end)}
    free = [state.tokens[place] for place in range(piece.start, piece.end) if place not in covered]
    named = {token.stem for token in free if token.word not in FILLERS}
    faults = {claim.fault: claim for claim in state.found.claims if claim.fault and named <= stems_of(state, claim)}
    return next(iter(faults.values())) if len(named) == len(faults) == 1 else None


def stems_of(state: State, claim: Claim) -> set[str]:
    return {token.stem for token in state.tokens[claim.start : claim.end]}


def negated_focus(state: State, piece: Piece) -> bool:
    """Whether all that is said of work is denied: "no focus on peeking"."""
    denials = {cue.end for cue in piece.of("negation")}
    return all(cue.start in denials for cue in piece.of("focus"))


def points_back(state: State, piece: Piece, hits: Sequence[Hit]) -> bool:
    """Whether "that" before the focus means what was seen last."""
    if state.last_fault is None:
        return False
    pointing = [cue.start for cue in piece.of("pointing")]
    if not hits and (means_it(state, piece) or is_afterthought(state, piece)):
        return True
    if not pointing:
        return False
    return not hits or pointing[0] < min(piece.of("focus")[0].start, hits[0].start)


def means_it(state: State, piece: Piece) -> bool:
    """Whether the focus is "it": "we work on that"."""
    return any(
        token.word in {"it", "this", "that", "them", "those", "these"}
        for cue in piece.of("focus")
        for token in state.tokens[cue.end : cue.end + (2 if piece.words[-1] != "that" or piece.ends_sentence else 1)]
    )


def is_afterthought(state: State, piece: Piece) -> bool:
    """Whether the sentence ends with the focus, after what it is about: "peeks, top priority"."""
    joins = piece.joiner in {",", ":", "-", "–", ""} or (piece.starts_sentence and len(piece.words) <= 4)
    return piece.ends_sentence and joins


def focus_on(state: State, hits: Sequence[Hit], piece: Piece) -> None:
    faults = [hit for hit in hits if hit.meaning.kind == "fault"]
    for hit in faults or hits[:1]:
        code = hit.meaning.code if faults else None
        state.found.focuses.append((hit.meaning.skill, code, piece.start, piece.end))


def focus_on_last(state: State, piece: Piece) -> None:
    assert state.last_fault
    state.found.focuses.append((state.last_fault.skill, state.last_fault.fault, piece.start, piece.end))
