"""What a piece says of the skills and faults that it names."""

from collections.abc import Sequence
from itertools import pairwise

from lessons.sentence.claims import CLEAR, NOT_GRADED, SLIGHT, Claim, Comparison
from lessons.sentence.confidence import PREPOSITIONS, is_bare_denial, is_crowded, is_loose, is_lost, is_strange
from lessons.sentence.denial import SUBJECTS, is_denial, is_denied, is_done_badly, negated, said_absent
from lessons.sentence.lists import add_to_list, is_also_good, praise_list
from lessons.sentence.match import Hit
from lessons.sentence.pieces import Piece
from lessons.sentence.reading import Look
from lessons.sentence.state import State, distance
from lessons.sentence.tokens import FILLERS, NOUN_STEMS

COACH = frozenset({"i", "we"})  # who did what follows
FAR = 1  # words that say nothing here, between a name and its praise
PLACES = frozenset("down on off into over under from through at".split())
WEAK_DEGREES = frozenset(
    "hard big bad strong huge serious massive little definite clear lot lots heavily really".split()
)
LIMITS = frozenset("unless uphill downhill whenever if mostly sometimes usually apart".split())
SHORT_OF = frozenset("almost nearly barely hardly half".split())
TIMES_OF = frozenset("on when for if under with at in".split())
SELDOM = frozenset({"hardly", "scarcely"})
ORDERS = frozenset("keep hold stay let listen put choose pick have move".split())
VERBS = frozenset("peek peep rush hurry snatch squeeze flick scoop lift decelerate brake jab".split())  # "never peek"

OTHERS = frozenset("i we you where who want wanted he she they".split())
SMALL = FILLERS | PREPOSITIONS | PLACES | SUBJECTS


def read_hits(state: State, piece: Piece, hits: Sequence[Hit]) -> None:
    """The phrases that were found in a piece: better or worse, gone, or seen as they are."""
    state.lost = False
    if compares(state, piece):
        compare(state, piece, hits)
    elif (piece.has("gone", "fixed") or goes(state, piece)) and piece.hits_of("fault"):
        read_gone(state, piece)
    elif goes_on_mending(state, piece):
        leave_out_all(state, hits, "since")
    else:
        for hit in hits:
            left_out = len(state.found.left_out)
            read_hit(state, hit, piece)
            if hit.meaning.kind == "fault" and len(state.found.left_out) > left_out:
                state.forget_fault()
    state.mends = any(cue.start < hits[0].start for cue in piece.of("fixed"))
    state.last = (piece.hits_of("fault", "good") or hits)[-1].meaning.skill


def goes_on_mending(state: State, piece: Piece) -> bool:
    """Whether a fault is named, and no more, after another that was mended: "fixed the rushing and the peeking"."""
    named = piece.words[0] in {"the", "his", "her"} or piece.words[0].endswith("ing")
    return state.mends and piece.joiner == "and" and named and not piece.cues


def leave_out_all(state: State, hits: Sequence[Hit], reason: str) -> None:
    for hit in hits:
        state.found.leave_out(reason, hit)
    state.forget_fault()


def read_hit(state: State, hit: Hit, piece: Piece) -> None:
    """One phrase that was found. What is good in a piece about the work is an aim, and was not seen."""
    kind = hit.meaning.kind
    if kind == "topic":
        read_topic(state, hit, piece)
    elif state.tokens[hit.start - 1].word in COACH and hit.start > piece.start:
        state.found.leave_out("action", hit)
    elif is_loose(state, hit, piece) or has_other_subject(state, hit, piece):
        state.found.leave_out("loose", hit)
    elif is_crowded(state, hit, piece) or is_strange(state, hit, piece) or is_lost(state, hit, piece):
        state.found.leave_out("crowded", hit)
    elif kind == "fault":
        read_fault(state, hit, piece)
    elif {state.tokens[place].word for place in hit.words} & SELDOM:
        state.found.leave_out("seldom", hit)
        state.scope.reason = "seldom"
    elif is_denied(state, hit, piece):
        state.found.leave_out("not_good", hit)
    elif is_order(state, piece) or (is_denial(state, hit) and hit.weight > 1 and is_forbidden(state, hit, piece)):
        state.found.leave_out("action", hit)
    elif not state.focused:
        claim_good(state, hit.meaning.skill, hit.start, hit.end)
        state.denies = is_denial(state, hit)


def is_order(state: State, piece: Piece) -> bool:
    """Whether the piece begins with a verb alone, as what a student is to do does: "hold the finish"."""
    return state.tokens[piece.start].word in ORDERS


def has_other_subject(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether a noun of which the skill never speaks stands right before: "elbows run away" is no walking off."""
    before = {token.stem for token in state.tokens[max(piece.start, hit.start - 1) : hit.start]}
    named = {state.tokens[place].stem for place in hit.words} & NOUN_STEMS
    return not named and bool(before & NOUN_STEMS - state.lexicon.spoken_of[hit.meaning.skill])


def read_fault(state: State, hit: Hit, piece: Piece) -> None:
    """A fault: seen, denied, or praised."""
    if is_forbidden(state, hit, piece) or is_ordered(state, hit) or follows_label(state, piece):
        state.found.leave_out("action", hit)
    elif negated(state, hit, piece):
        if not is_bare_denial(state, hit, piece) and not said_absent(state, hit, piece):
            state.found.leave_out("crowded", hit)
        elif not state.focused:
            claim_good(state, hit.meaning.skill, hit.start, hit.end)
        state.denied, state.denies = hit, True
    elif is_praised(state, hit, piece):
        state.found.leave_out("praised", hit)
    else:
        claim_fault(state, hit, piece)


def follows_label(state: State, piece: Piece) -> bool:
    """Whether what to work on was announced, and this is it: "to work on: fat shots"."""
    return state.focused and piece.joiner == ":" and not piece.has("focus")


def is_ordered(state: State, hit: Hit) -> bool:
    """Whether a sign and an order stand within a phrase: "ball position: have it forward"."""
    tokens = state.tokens[hit.start : hit.end]
    return any(sign.is_sign and after.word in ORDERS for sign, after in pairwise(tokens))


def is_forbidden(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether a student is told not to: "don't rush", "do not peek", "never peek", "stop rushing"."""
    verb = hit.start if hit.meaning.kind == "fault" else hit.words[1]
    before = [token.word for token in state.tokens[piece.start : verb] if token.word not in {"please", "just"}]
    return before in (["dont"], ["do", "not"], ["stop"]) or (before == ["never"] and state.tokens[verb].word in VERBS)


def is_praised(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether praise stands right beside a fault, or it is meant: "handle nicely forward", "ball back on purpose"."""
    if piece.has("meant") and not piece.has("negation"):
        return True
    excused = [cue for cue in piece.of("praise") if cue.weight > 1 and distance(cue, hit) <= 2]
    if any(state.tokens[cue.start].word in {"no", "nothing", "not"} for cue in excused):
        return True
    near = [cue for cue in piece.of("praise") if cue.weight == 1 and distance(cue, hit) == 0]
    near = [cue for cue in near if not is_stress(state, cue, hit)]
    return bool(near) and len(piece.hits) == 1 and not piece.has("negation", "not_enough", "better", "worse")


def is_stress(state: State, cue: Hit, hit: Hit) -> bool:
    """Whether what may praise only stresses the fault after it: "super wide"."""
    return state.tokens[cue.start].word in {"super", "properly"} and cue.start < hit.words[-1]


def read_topic(state: State, hit: Hit, piece: Piece) -> None:
    """The name of a skill: good where it is praised."""
    skill = hit.meaning.skill
    if any(other.meaning.skill == skill and other.meaning.kind != "topic" for other in piece.hits):
        return
    if is_part_of_another(state, hit):
        return
    state.named = skill
    if is_detracted(state, hit, piece):
        state.found.leave_out("not_good", hit)
    elif (
        praises(state, skill, piece)
        and not state.focused
        and not negated_praise(state, piece)
        and speaks_of(state, hit, piece)
    ):
        cue = piece.of("praise", "right")[0]
        claim_good(state, skill, min(hit.start, cue.start), max(hit.end, cue.end))
        praise_list(state)
    elif is_also_good(state, hit, piece):
        claim_good(state, skill, hit.start, piece.end)
    elif not state.focused:
        add_to_list(state, hit, piece)


def is_detracted(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether a name is not praised without reserve: too little, done badly, at times only, or nearly."""
    is_bad = piece.has("not_enough") or is_done_badly(state, piece)
    return is_bad or is_limited(state, hit, piece) or falls_short(state, piece)


def falls_short(state: State, piece: Piece) -> bool:
    """Whether a word right before praise takes from it: "tempo almost good", but not "first half good"."""
    timed = {place for cue in piece.of("arrival", "departure") for place in range(cue.start, cue.end)}
    before = {max(0, cue.start - 1) for cue in piece.of("praise")} - timed
    return any(state.tokens[place].word in SHORT_OF for place in before)


def is_limited(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether praise of a name holds only at times: "tempo fine unless it's for a win", "pace good uphill"."""
    said = {token.word for token in state.tokens[hit.end : piece.end]}
    follows = [token.word for token in state.tokens[piece.end : piece.end + 3] if not token.is_sign]
    return bool(LIMITS & said) or (follows[:1] == ["except"] and bool(TIMES_OF & set(follows[1:2])))


def is_part_of_another(state: State, hit: Hit) -> bool:
    """Whether the name belongs to other words: "stroke length" is no stroke, "hands down the handle" no handle."""
    after = state.tokens[hit.end : hit.end + 1]
    before = [token.word for token in state.tokens[max(0, hit.start - 2) : hit.start]]
    place = before[:1] if before[1:] in (["the"], ["his"], ["her"]) else before[1:]
    return any(token.stem in state.lexicon.nouns for token in after) or bool(set(place) & PLACES)


def speaks_of(state: State, hit: Hit, piece: Piece) -> bool:
    """Whether praise is said of a name: no more than a word or two that mean nothing here stand between."""
    covered = {place for cue in piece.cues for place in range(cue.start, cue.end)}
    for cue in piece.of("praise", "right"):
        between = set(range(min(cue.end, hit.end), max(cue.start, hit.start))) - covered
        unknown = [place for place in between if state.tokens[place].word not in SMALL]
        if len(unknown) <= FAR:
            return True
    return False


def praises(state: State, skill: str, piece: Piece) -> bool:
    """Whether the piece says good; "was right" says it only where right is no side."""
    return piece.has("praise") or (piece.has("right") and skill not in state.lexicon.sided_skills)


def negated_praise(state: State, piece: Piece) -> bool:
    praise = piece.of("praise", "right")[0]
    return any(praise.start - 3 <= cue.start < praise.start for cue in piece.of("negation"))


def claim_fault(state: State, hit: Hit, piece: Piece) -> None:
    claim = Claim(state.look, hit.meaning.skill, hit.meaning.code, hit.start, hit.end, degree(state, hit, piece))
    claim.is_sure = state.end_said or piece.has("still")
    state.found.claims.append(claim)
    state.last_fault, state.ungraded, state.named = claim, claim, None
    state.denied, state.denies = None, False


def claim_good(state: State, skill: str, start: int, end: int) -> None:
    state.found.claims.append(Claim(state.look, skill, None, start, end, is_carried=state.carries))
    state.last, state.named, state.ungraded, state.denies = skill, None, None, False


def degree(state: State, hit: Hit, piece: Piece) -> str:
    """The degree whose word stands nearest to a fault, and nearer to it than to any other fault."""
    if any(is_stress(state, cue, hit) and distance(cue, hit) == 0 for cue in piece.of("praise")):
        return CLEAR
    others = [other for other in piece.hits_of("fault") if other is not hit]
    mine = [
        cue
        for cue in piece.of("slight", "clear")
        if (hit not in piece.hits or distance(cue, hit) <= reach(state, cue))
        and all(distance(cue, hit) <= distance(cue, other) for other in others)
        and not is_of_another(state, cue, hit)
        and not is_negated(state, cue)
    ]
    if not mine:
        return SLIGHT if piece.has("few") and was_more(state, hit) else NOT_GRADED
    nearest = min(mine, key=lambda cue: distance(cue, hit))
    return SLIGHT if nearest.meaning.kind == "slight" else CLEAR


def was_more(state: State, hit: Hit) -> bool:
    """Whether a fault was seen on arrival, so that the few that are left at the end are better."""
    return state.look is Look.DEPARTURE and hit.meaning.code in state.found.faults_of(hit.meaning.skill)


def is_negated(state: State, cue: Hit) -> bool:
    """Whether a "not" right before says that it is not that much: "not horribly"."""
    return cue.meaning.kind == "clear" and state.tokens[max(0, cue.start - 1)].word in {"not", "never"}


def is_of_another(state: State, cue: Hit, hit: Hit) -> bool:
    """Whether somebody or something else comes between a fault and how much: "square where I want it back a touch"."""
    between = state.tokens[min(cue.end, hit.end) : max(cue.start, hit.start)]
    return any(token.word in OTHERS for token in between)


def reach(state: State, cue: Hit) -> int:
    """How far from its fault a degree may stand: "hard" or "big" beside it only."""
    return 1 if cue.weight == 1 and state.tokens[cue.start].word in WEAK_DEGREES else 6


def compares(state: State, piece: Piece) -> bool:
    if piece.has("still") and not piece.has("better", "worse"):
        return False
    eased = piece.has("comparative") and state.look is Look.DEPARTURE
    said = piece.has("worse", "better") or eased or grew(piece)
    return said and not piece.has("comparison") and not negated_comparison(state, piece)


def grew(piece: Piece) -> bool:
    """Whether there is more of a fault than on arrival: "peeking more than at the beginning"."""
    return piece.has("since_arrival") and "more" in piece.words and bool(piece.hits_of("fault"))


def negated_comparison(state: State, piece: Piece) -> bool:
    """Whether every better or worse in a piece is denied: "no better"; "not better, just worse" is worse."""
    denials = {cue.start for cue in piece.of("negation")}
    compared = piece.of("worse", "better", "comparative", "since_arrival")
    return all(denials & {cue.start - 1, cue.start - 2} for cue in compared)


def compare(state: State, piece: Piece, hits: Sequence[Hit]) -> None:
    """Better or worse, of the skills in the piece."""
    state.ungraded = None
    degree = CLEAR if piece.has("worse") or grew(piece) else SLIGHT
    eased = bool({"less", "fewer"} & set(piece.words)) and bool(piece.hits_of("fault"))
    if piece.has("praise") and not eased and not piece.has("not_enough", "worse", "still"):
        for hit in hits:
            state.look = Look.DEPARTURE
            claim_good(state, hit.meaning.skill, hit.start, hit.end)
        return
    for skill in dict.fromkeys(hit.meaning.skill for hit in hits):
        of_skill = [hit for hit in hits if hit.meaning.skill == skill]
        fault = next((hit.meaning.code for hit in of_skill if hit.meaning.kind == "fault"), None)
        span = [place for hit in of_skill for place in (hit.start, hit.end)]
        is_sure = piece.has("departure", "since_arrival")
        state.found.comparisons.append(Comparison(skill, fault, degree, min(span), max(span), is_sure))
        if fault and piece.has("since_arrival"):
            state.found.claims.append(Claim(Look.ARRIVAL, skill, fault, min(span), max(span)))


def goes(state: State, piece: Piece) -> bool:
    """Whether a fault is said to have gone, with the time and no word between: "the rushing went in the end"."""
    after = [token.word for hit in piece.hits for token in state.tokens[hit.end : hit.end + 1]]
    return "went" in after and piece.has("departure")


def read_gone(state: State, piece: Piece) -> None:
    """A fault that is said to be gone is good: on departure where it was seen before, or where that is said."""
    for hit in piece.hits_of("fault"):
        if piece.has("fixed") and state.look is Look.ARRIVAL:
            claim_fault(state, hit, piece)
        seen = hit.meaning.code in state.found.faults_of(hit.meaning.skill)
        if not seen and state.look is Look.ARRIVAL and not piece.has("today", "arrival", "negation"):
            state.found.leave_out("since", hit)
            continue
        state.look = Look.DEPARTURE if seen or piece.has("departure") else state.look
        claim_good(state, hit.meaning.skill, hit.start, hit.end)
        state.denied, state.denies = hit, True
