"""Pieces that name nothing, and speak of what stands before: "a bit", "better by the end", "she doesn't"."""

from lessons.sentence.claims import CLEAR, NOT_GRADED, SLIGHT, Claim, Comparison, the_only
from lessons.sentence.confidence import count_strange
from lessons.sentence.denial import SUBJECTS
from lessons.sentence.lists import praise_list
from lessons.sentence.pieces import Piece
from lessons.sentence.reading import Look
from lessons.sentence.scope import SHORT, is_short_denial
from lessons.sentence.seen import claim_fault, claim_good, compares, is_negated
from lessons.sentence.state import State, names_another
from lessons.sentence.tokens import FILLERS

AT_ONCE = frozenset(
    {",", "but", "though", "although", "yet", "so", "then", "which", "-", "–", "—", "("}
)  # joiners of a remark to what was just said
MORE_OF = {  # what each of the words that may say "better" would be more of
    "wider": "wide apart", "narrower": "narrow together", "higher": "high up", "lower": "low down",
}  # fmt: skip
CALMER = frozenset({"calmer", "smoother", "slower"})  # said of the tempo
EXCUSING = frozenset({"so", "thats", "that", "which", "is", "its", "fine", "okay", "allowed"})
NOTHING = frozenset("no not never without none doesnt didnt isnt nothing".split())
ANSWERING = frozenset({"he", "she", "hes", "shes", "but", "no", "here", "today"})


def read_remark(state: State, piece: Piece) -> None:
    if names_another(state, piece):
        state.named = state.ungraded = None
        state.lost = True
    elif takes_back_praise(state, piece):
        take_back_praise(state, piece)
    elif excuses(state, piece):
        withdraw(state, state.found.claims[-1], "praised")
    elif denies_others(state, piece):
        claim_good(state, state.of_others[-1].meaning.skill, piece.start, piece.end)
        state.of_others = []
    elif state.denied and piece.has("arrival") and not piece.has("negation", "praise"):
        claim_fault(state, state.denied, piece)
    elif retracts(state, piece):
        deny_last(state, piece)
    elif comes_back(state, piece):
        remark_back(state, piece)
    elif (compares(state, piece) and state.last_fault and not was_told(piece)) or is_turned(state, piece):
        remark_comparison(state, piece)
    elif goes_on_after(state, piece):
        remark_still(state, piece)
    elif piece.has("gone", "fixed", "praise") and not piece.has("not_enough"):
        remark_good(state, piece)
    elif ends_fault(state, piece):
        assert state.last_fault
        claim_good(state, state.last_fault.skill, piece.start, piece.end)
    elif piece.has("slight", "clear"):
        remark_degree(state, piece)


def withdraw(state: State, claim: Claim, reason: str) -> None:
    """Leave out what was claimed last."""
    state.found.claims.remove(claim)
    state.found.left_out.append((reason, claim.start, claim.end))
    state.last_fault = state.ungraded = None


def take_back_praise(state: State, piece: Piece) -> None:
    """What was just praised is left out; a fault that is good after the work, but not always, is better."""
    claim = state.found.claims[-1]
    fault = the_only(state.found.faults_of(claim.skill))
    withdraw(state, claim, "not_good")
    if fault and claim.look is Look.DEPARTURE:
        state.found.comparisons.append(Comparison(claim.skill, fault, SLIGHT, claim.start, piece.end))


def takes_back_praise(state: State, piece: Piece) -> bool:
    """Whether what was just praised is not that good: "not bad, not great"."""
    near = piece.joiner in AT_ONCE and len(piece.words) <= SHORT
    return near and piece.has("not_enough") and any(claim.is_good for claim in state.found.claims[-1:])


def excuses(state: State, piece: Piece) -> bool:
    """Whether what was just seen is said to be no fault: "the arm bends, so that's fine"; a name since is praised."""
    if state.named:
        return False
    near = piece.joiner in AT_ONCE and len(piece.words) <= 4 and piece.words[0] in EXCUSING
    near = near or (len(piece.words) <= 2 and is_label_of(state, piece))
    said = piece.has("praise") and not piece.has("departure", "better", "gone", "fixed", "keep", "not_enough")
    return near and said and state.ungraded is not None and state.ungraded in state.found.claims[-1:]


def is_label_of(state: State, piece: Piece) -> bool:
    """Whether a colon and nothing else stands between the fault and the remark: "ball back: textbook"."""
    return piece.joiner == ":" and state.ungraded is not None and state.ungraded.end == piece.start - 1


def denies_others(state: State, piece: Piece) -> bool:
    """Whether "she doesn't" answers what was said of or by somebody else."""
    answers = piece.words[0] in ANSWERING or piece.words[:2] in (["not", "so"], ["not", "true"])
    longest = 4 if piece.words[-1] == "today" else 3
    answers = answers or longest == 4 or is_short_denial(piece)
    return bool(state.of_others) and answers and len(piece.words) <= longest and piece.has("negation", "absent")


def comes_back(state: State, piece: Piece) -> bool:
    """Whether a short remark says that what was gone was there again: "after the break it was back"."""
    return piece.has("returned") and len(piece.words) <= SHORT and bool(state.found.claims)


def remark_back(state: State, piece: Piece) -> None:
    """What came back was there before, and is there on departure."""
    last = state.found.claims[-1]
    if last.is_good:
        withdraw(state, last, "not_good")
    denied = state.denied.meaning if state.denied else None
    fault = denied.code if denied and denied.skill == last.skill else the_only(state.found.faults_of(last.skill))
    if fault:
        state.found.claims.append(Claim(Look.DEPARTURE, last.skill, fault, piece.start, piece.end))


def was_told(piece: Piece) -> bool:
    """Whether better is only what was asked for: "told him less", "I want it smoother"."""
    return piece.has("action", "wish", "future") or bool({"told", "asked", "said", "wanted"} & set(piece.words))


def is_turned(state: State, piece: Piece) -> bool:
    """Whether a fault had come nearer to its opposite: too wide, "narrower by the end"; "wider" would be worse."""
    said = {state.tokens[cue.start].word for cue in piece.of("opposite")}
    seen = state.last_fault if state.look is Look.DEPARTURE and len(piece.words) <= SHORT else None
    if not said or not seen or seen.skill != state.last or count_strange(state, piece):
        return False
    named = {state.tokens[place].word for place in range(seen.start, seen.end)}
    return not piece.has("negation", "still") and not any(named & set(MORE_OF[word].split()) for word in said)


def remark_comparison(state: State, piece: Piece) -> None:
    """Better or worse, of what was seen last."""
    assert state.last_fault
    state.ungraded = None
    if not piece.has("worse") and piece.has("praise") and not piece.has("not_enough", "worse", "still"):
        state.look = Look.DEPARTURE
        claim_good(state, state.last_fault.skill, piece.start, piece.end)
        return
    degree = CLEAR if piece.has("worse") else SLIGHT
    for claim in last_faults(state, piece):
        is_sure = piece.has("departure")
        state.found.comparisons.append(Comparison(claim.skill, claim.fault, degree, piece.start, piece.end, is_sure))


def remark_good(state: State, piece: Piece) -> None:
    """Praise after a name is praise of it; praise of a fault, after the work, says that it is gone."""
    if state.named and not piece.has("gone", "fixed"):
        claim_good(state, state.named, piece.start, piece.end)
        praise_list(state)
    elif (
        state.last_fault
        and state.last_fault.skill == state.last
        and is_after(state, piece)
        and not piece.has("negation")
    ):
        state.look = Look.DEPARTURE
        for fault in last_faults(state, piece):
            claim_good(state, fault.skill, piece.start, piece.end)


def last_faults(state: State, piece: Piece) -> list[Claim]:
    """The fault that was said last; of "both" the last two; of "calmer" that of the tempo."""
    assert state.last_fault
    faults = [claim for claim in state.found.claims if claim.fault]
    of_tempo = [claim for claim in faults if claim.skill.endswith("-tempo")]
    if of_tempo and CALMER & set(piece.words):
        return of_tempo[-1:]
    return faults[-2:] if "both" in piece.words else [state.last_fault]


def is_after(state: State, piece: Piece) -> bool:
    return state.look is Look.DEPARTURE or piece.has("gone", "fixed")


def remark_degree(state: State, piece: Piece) -> None:
    """A degree that follows its fault: "on the heels, a bit"."""
    cues = [cue for cue in piece.of("slight", "clear") if not is_negated(state, cue)]
    names_more = count_strange(state, piece) > 2  # "a clear toe-heel problem"
    if (
        cues
        and not names_more
        and state.ungraded
        and state.ungraded.degree == NOT_GRADED
        and is_about(state, state.ungraded, piece)
    ):
        state.ungraded.degree = SLIGHT if piece.has("slight") else CLEAR


def retracts(state: State, piece: Piece) -> bool:
    """Whether a short remark says that what was just named was not there: "recoil: none"."""
    near = piece.joiner in {":", ",", "", "-", "–"} and len(piece.words) <= SHORT and not piece.has("departure")
    return (
        near
        and (piece.has("absent") or piece.words == ["no"])
        and state.ungraded is not None
        and state.ungraded in state.found.claims[-1:]
        and not says_lack(state, state.ungraded)
    )


def says_lack(state: State, claim: Claim) -> bool:
    """Whether the words of a fault say that something is not done, so that "none" says it again: "no read, none"."""
    return any(token.word in NOTHING for token in state.tokens[claim.start : claim.end])


def deny_last(state: State, piece: Piece) -> None:
    """The fault named last was only named: it is good."""
    assert state.ungraded
    named = state.ungraded
    if state.look is named.look:
        state.found.claims.remove(named)
    claim_good(state, named.skill, named.start, piece.end)


def ends_fault(state: State, piece: Piece) -> bool:
    """Whether a short "later not" or "then never again" says that the fault seen last was gone."""
    drills = sum(hit.end - hit.start for hit in piece.hits_of("drill"))
    short = len(piece.words) - drills <= SHORT and piece.has("negation", "absent")
    short = short and not piece.has("neutral", "not_enough", "comparative") and not says_more(state, piece)
    return short and state.look is Look.DEPARTURE and state.last_fault is not None


def says_more(state: State, piece: Piece) -> bool:
    """Whether something is denied that has no name here: "not shallow"."""
    covered = {place for other in [*piece.cues, *piece.hits] for place in range(other.start, other.end)}
    free = {state.tokens[place].word for place in range(piece.start, piece.end) if place not in covered}
    return bool(free - FILLERS - SUBJECTS - {"at", "on", "in", "once", "after"})


def goes_on_after(state: State, piece: Piece) -> bool:
    """Whether a remark gives the fault seen last for the departure: "a lot by the end", "same at the end"."""
    said = (piece.has("still", "slight", "clear") or is_unchanged(state, piece)) and not piece.has(
        "praise", "gone", "fixed", "negation"
    )
    return bool(said) and piece.has("departure") and state.look is Look.DEPARTURE and state.last_fault is not None


def is_unchanged(state: State, piece: Piece) -> bool:
    """Whether it was the same, or so "even at the end"; neither "same every time" nor "even on both" says that."""
    repeats = {"every", "each"} & set(piece.words)
    continues = any(state.tokens[cue.start - 1].word == "even" for cue in piece.of("departure"))
    return continues or ("same" in piece.words[:3] and not repeats)


def remark_still(state: State, piece: Piece) -> None:
    assert state.last_fault and state.last_fault.fault
    degree = CLEAR if piece.has("clear") else SLIGHT if piece.has("slight", "few") else NOT_GRADED
    fault = state.last_fault
    state.ungraded = Claim(Look.DEPARTURE, fault.skill, fault.fault, piece.start, piece.end, degree)
    state.found.claims.append(state.ungraded)


def is_about(state: State, claim: Claim, piece: Piece) -> bool:
    """Whether a remark may grade a claim: it is short and speaks of the same look."""
    return len(piece.words) <= (3 if piece.starts_sentence else 6) and claim.look is state.look
