"""Reads the pieces of a text one after another into claims, keeps, focuses and drills."""

from collections.abc import Sequence

from lessons.sentence.claims import CLEAR, NOT_GRADED, SLIGHT, Claim, Comparison, Found
from lessons.sentence.dose import Given
from lessons.sentence.lexicon import Lexicon
from lessons.sentence.match import Hit
from lessons.sentence.pieces import Piece
from lessons.sentence.reading import Look
from lessons.sentence.scope import SHORT, Scope, looks_back
from lessons.sentence.tokens import Token

LOOKING_BACK = ("doubt", "hedge", "unseen", "past", "future")
DENYING_VERBS = frozenset("doesnt didnt isnt hasnt dont wasnt".split())
SUBJECTS = frozenset("he she his her hes shes its theres they i".split())


class Reader:
    """One walk over a text. `last` is the skill that was spoken of last, `named` one of which only the name was said."""

    def __init__(self, tokens: Sequence[Token], lexicon: Lexicon) -> None:
        self.tokens = tokens
        self.lexicon = lexicon
        self.found = Found()
        self.scope = Scope()
        self.look = Look.ARRIVAL
        self.last: str | None = None
        self.last_fault: Claim | None = None
        self.named: str | None = None
        self.of_others: list[Hit] = []
        self.ungraded: Claim | None = None
        self.denied: Hit | None = None
        self.focused = False
        self.spoke_of_time = self.arrival_said = False
        self.fronted = False
        self.awaits_focus = False
        self.keeps_list = False

    def read(self, pieces: Sequence[Piece]) -> Found:
        """Everything that the pieces say."""
        self.spoke_of_time = any(piece.has("arrival") or piece.has("departure") and not self.only_now(piece) for piece in pieces)
        for number, piece in enumerate(pieces):
            self.read_piece(piece, pieces[:number])
        return self.found

    def read_piece(self, piece: Piece, before: Sequence[Piece]) -> None:
        if piece.has("correct"):
            self.take_back(piece, before)
        if looks_back(piece):
            self.withdraw_last(piece, before)
        reason = self.scope.enter(piece, before)
        if reason:
            self.leave_out(piece, reason)
            return
        self.focused = (piece.has("focus") and not self.points_back(piece, piece.hits)) or self.awaits_focus
        self.set_look(piece)
        self.read_drills(piece)
        self.read_focus(piece)
        self.read_state(piece)
        self.read_keep(piece)

    # ---- what is left out

    def leave_out(self, piece: Piece, reason: str) -> None:
        """Note each hit of a piece that speaks of something else."""
        for hit in piece.hits:
            self.found.leave_out(reason, hit)
        if reason == "person" or piece.has("hedge"):
            self.of_others = piece.hits_of("fault") or self.of_others

    def take_back(self, piece: Piece, before: Sequence[Piece]) -> None:
        """"No wait": what was said just before does not count."""
        if piece.hits and piece.hits[0].start < piece.of("correct")[0].start:
            return
        last = next((piece for piece in reversed(before) if piece.hits), None)
        if last is not None:
            self.drop(lambda claim: claim.start >= last.start, "correct")

    def withdraw_last(self, piece: Piece, before: Sequence[Piece]) -> None:
        """A guess or another time, said after the fact: the last claim is left out."""
        spoken = next((other for other in reversed(before[-2:]) if other.hits or other.asks), None)
        if spoken and spoken.hits and self.found.claims and self.found.claims[-1].start >= spoken.start:
            last = self.found.claims[-1]
            self.drop(lambda claim: claim is last, next(kind for kind in LOOKING_BACK if piece.has(kind)))

    def drop(self, wanted: "object", reason: str) -> None:
        """Leave out the claims that a test picks."""
        assert callable(wanted)
        dropped = [claim for claim in self.found.claims if wanted(claim)]
        self.found.claims = [claim for claim in self.found.claims if claim not in dropped]
        self.found.left_out += [(reason, claim.start, claim.end) for claim in dropped]

    # ---- when

    def set_look(self, piece: Piece) -> None:
        """Whether the piece speaks of arrival or departure."""
        label = len(piece.words) <= 3
        if piece.hits or piece.starts_sentence:
            self.fronted = self.fronted and not piece.starts_sentence or self.is_fronted(piece)
        if self.departs(piece) or self.then_after_arrival(piece) or label and piece.has("departure_label"):
            self.look = Look.DEPARTURE
        elif piece.has("arrival") or label and piece.has("arrival_label"):
            self.look = Look.ARRIVAL
            self.arrival_said = True
        elif not self.goes_on(piece):
            self.look = Look.ARRIVAL

    def is_fronted(self, piece: Piece) -> bool:
        """Whether the departure opens a list: "by the end his finish was held, his weight left"."""
        cues = piece.of("departure")
        return bool(cues and piece.hits) and cues[0].start - piece.start <= 1 and cues[0].start < piece.hits[0].start

    def departs(self, piece: Piece) -> bool:
        """Whether the piece speaks of the end; "now" alone does so only where a before was spoken of."""
        if not piece.has("departure") or self.is_end_of_stroke(piece):
            return False
        if not self.only_now(piece):
            return True
        changed = piece.has("better", "worse", "gone", "fixed", "comparative", "still")
        return not piece.has("focus") and (changed or self.spoke_of_time or self.was_faulty(piece))

    def then_after_arrival(self, piece: Piece) -> bool:
        """Whether "then" follows what was seen at first: "rushed at first, then calm"."""
        good = all(hit.meaning.kind != "fault" for hit in piece.hits)
        return piece.joiner == "then" and self.arrival_said and good and not piece.has("arrival")

    def is_end_of_stroke(self, piece: Piece) -> bool:
        """Whether "at the end" means the finish: it is said of a finish, and of nothing that changed."""
        words = [" ".join(token.word for token in self.tokens[cue.start : cue.end]) for cue in piece.of("departure")]
        if not set(words) <= {"at the end", "at end", "in the end"} or not piece.hits:
            return False
        changed = piece.has("better", "worse", "gone", "fixed", "comparative", "still") or self.was_faulty(piece)
        return not changed and all(hit.meaning.skill in self.lexicon.finishes for hit in piece.hits)

    def was_faulty(self, piece: Piece) -> bool:
        """Whether a fault of a skill in the piece, or of the skill before, was seen on arrival."""
        skills = {hit.meaning.skill for hit in piece.hits} or {self.last}
        return any(claim.skill in skills and claim.fault and claim.look is Look.ARRIVAL for claim in self.found.claims)

    def only_now(self, piece: Piece) -> bool:
        return all(self.tokens[cue.start].word == "now" for cue in piece.of("departure"))

    def goes_on(self, piece: Piece) -> bool:
        """Whether the look of the piece before still holds."""
        if piece.joiner == "," and self.fronted:
            return True
        if piece.joiner in {"and", "", "then", ":"} or not piece.hits:
            return piece.joiner != "." or not piece.hits and not piece.starts_sentence
        spoken = {claim.skill for claim in self.found.claims}
        return not piece.starts_sentence and any(hit.meaning.skill in spoken for hit in piece.hits)

    # ---- drills

    def read_drills(self, piece: Piece) -> None:
        for hit in piece.hits_of("drill"):
            if not self.negated(hit, piece) and not self.was_used(hit) and not self.said_absent(hit, piece):
                self.found.given.append(Given(hit.meaning.code, hit.start, hit.end))

    def was_used(self, hit: Hit) -> bool:
        """Whether the drill was only done: "after the wall drill", "did her ladder", "the ladder went well"."""
        before = {token.word for token in self.tokens[max(0, hit.start - 2) : hit.start]}
        after = {token.word for token in self.tokens[hit.end : hit.end + 1]}
        return bool(before & {"after", "since", "during", "did"} or after & {"went", "showed", "helped", "worked"})

    # ---- what was seen

    def read_state(self, piece: Piece) -> None:
        """Faults, what is good, better or worse."""
        hits = piece.hits_of("fault", "good", "topic")
        if not hits:
            self.read_remark(piece)
            return
        if self.compares(piece):
            self.compare(piece, hits)
        elif piece.has("gone", "fixed") and piece.hits_of("fault"):
            self.read_gone(piece)
        else:
            for hit in hits:
                self.read_hit(hit, piece)
        self.last = (piece.hits_of("fault", "good") or hits)[-1].meaning.skill

    def read_hit(self, hit: Hit, piece: Piece) -> None:
        """One phrase that was found."""
        negated = self.negated(hit, piece)
        kind = hit.meaning.kind
        if kind == "topic":
            self.read_topic(hit, piece)
        elif kind == "fault" and not negated and self.is_praised(hit, piece):
            self.found.leave_out("praised", hit)
        elif kind == "fault" and not negated:
            self.claim_fault(hit, piece)
        elif kind == "fault":
            self.claim_good(hit.meaning.skill, hit.start, hit.end)
            self.denied = hit
        elif kind == "good" and (negated or piece.has("not_enough")):
            self.found.leave_out("not_good", hit)
        elif not self.focused:
            self.claim_good(hit.meaning.skill, hit.start, hit.end)

    def is_praised(self, hit: Hit, piece: Piece) -> bool:
        """Whether praise stands right beside a fault: "handle nicely forward"."""
        near = [cue for cue in piece.of("praise") if cue.weight == 1 and distance(cue, hit) == 0]
        return bool(near) and len(piece.hits) == 1 and not piece.has("negation", "not_enough", "better", "worse")

    def read_topic(self, hit: Hit, piece: Piece) -> None:
        """The name of a skill: good where it is praised."""
        skill = hit.meaning.skill
        if any(other.meaning.skill == skill and other.meaning.kind != "topic" for other in piece.hits):
            return
        self.named = skill
        if piece.has("not_enough"):
            self.found.leave_out("not_good", hit)
        elif self.praises(skill, piece) and not self.focused and not self.negated_praise(piece):
            cue = piece.of("praise", "right")[0]
            self.claim_good(skill, min(hit.start, cue.start), max(hit.end, cue.end))

    def praises(self, skill: str, piece: Piece) -> bool:
        """Whether the piece says good; "was right" says it only where right is no side."""
        return piece.has("praise") or piece.has("right") and skill not in self.lexicon.sided_skills

    def negated_praise(self, piece: Piece) -> bool:
        praise = piece.of("praise", "right")[0]
        return any(praise.start - 3 <= cue.start < praise.start for cue in piece.of("negation"))

    def claim_fault(self, hit: Hit, piece: Piece) -> None:
        claim = Claim(self.look, hit.meaning.skill, hit.meaning.code, hit.start, hit.end, self.degree(hit, piece))
        self.found.claims.append(claim)
        self.last_fault, self.ungraded, self.named, self.denied = claim, claim, None, None

    def claim_good(self, skill: str, start: int, end: int) -> None:
        self.found.claims.append(Claim(self.look, skill, None, start, end))
        self.last, self.named, self.ungraded = skill, None, None

    def degree(self, hit: Hit, piece: Piece) -> str:
        """The degree whose word stands nearest to a fault."""
        cues = piece.of("slight", "clear")
        others = [other for other in piece.hits_of("fault") if other is not hit]
        mine = [cue for cue in cues if all(distance(cue, hit) <= distance(cue, other) for other in others)]
        if not mine:
            return NOT_GRADED
        slight = any(cue.meaning.kind == "slight" for cue in mine)
        nearest = min(mine, key=lambda cue: distance(cue, hit))
        return SLIGHT if slight and nearest.meaning.kind == "slight" else CLEAR if nearest.meaning.kind == "clear" else SLIGHT

    def negated(self, hit: Hit, piece: Piece) -> bool:
        """Whether a "no" before the hit, or within it, denies it."""
        if hit.meaning.kind == "fault" and self.said_absent(hit, piece):
            return True
        for cue in piece.of("negation", "absent"):
            if self.stands_alone(cue):
                continue
            inside = hit.start < cue.start < hit.end and cue.start not in hit.words
            before = cue.end <= hit.start and not self.parted(cue, hit, piece)
            if inside or before:
                return True
        return False

    def said_absent(self, hit: Hit, piece: Piece) -> bool:
        """Whether the piece says afterwards that the fault was not there: "recoil not seen today"."""
        later = [cue for cue in piece.of("absent", "negation") if cue.start >= hit.end]
        said = any(cue.meaning.kind == "absent" or self.tokens[cue.end - 1].word in {"longer", "stopped"} for cue in later)
        return said and not piece.has("not_enough")

    def stands_alone(self, cue: Hit) -> bool:
        """Whether the sentence goes on with a new subject after it: "but she doesn't, her wrists are quiet"."""
        words = [token.word for token in self.tokens[cue.start : cue.end + 1]]
        return words[0] in DENYING_VERBS and words[-1] in SUBJECTS

    def parted(self, cue: Hit, hit: Hit, piece: Piece) -> bool:
        """Whether something else that was seen stands between a "no" and the hit."""
        between = [other for other in piece.hits if cue.end <= other.start < hit.start]
        words = {token.word for token in self.tokens[cue.end : hit.start]}
        return bool(between) and not words & {"or", "nor"}

    # ---- better, worse, gone

    def compares(self, piece: Piece) -> bool:
        if piece.has("still") and not piece.has("better", "worse"):
            return False
        eased = piece.has("comparative") and self.look is Look.DEPARTURE
        return (piece.has("worse", "better") or eased) and not piece.has("comparison") and not self.negated_comparison(piece)

    def negated_comparison(self, piece: Piece) -> bool:
        first = piece.of("worse", "better", "comparative")[0]
        return any(first.start - 2 <= cue.start < first.start for cue in piece.of("negation"))

    def compare(self, piece: Piece, hits: Sequence[Hit]) -> None:
        """Better or worse, of the skills in the piece."""
        self.ungraded = None
        degree = CLEAR if piece.has("worse") else SLIGHT
        if not piece.has("worse") and piece.has("praise") and not piece.has("not_enough", "worse", "still"):
            for hit in hits:
                self.look = Look.DEPARTURE
                self.claim_good(hit.meaning.skill, hit.start, hit.end)
            return
        for skill in dict.fromkeys(hit.meaning.skill for hit in hits):
            of_skill = [hit for hit in hits if hit.meaning.skill == skill]
            fault = next((hit.meaning.code for hit in of_skill if hit.meaning.kind == "fault"), None)
            span = [place for hit in of_skill for place in (hit.start, hit.end)]
            self.found.comparisons.append(Comparison(skill, fault, degree, min(span), max(span)))
            if fault and piece.has("since_arrival"):
                self.found.claims.append(Claim(Look.ARRIVAL, skill, fault, min(span), max(span)))

    def read_gone(self, piece: Piece) -> None:
        """A fault that is said to be gone is good: on departure where it was seen before, or where that is said."""
        for hit in piece.hits_of("fault"):
            if piece.has("fixed") and self.look is Look.ARRIVAL:
                self.claim_fault(hit, piece)
            seen = hit.meaning.code in self.found.faults_of(hit.meaning.skill)
            self.look = Look.DEPARTURE if seen or piece.has("departure") else self.look
            self.claim_good(hit.meaning.skill, hit.start, hit.end)
            self.denied = hit

    # ---- remarks: pieces that name nothing, and speak of what stands before

    def read_remark(self, piece: Piece) -> None:
        if self.denies_others(piece):
            self.claim_good(self.of_others[-1].meaning.skill, piece.start, piece.end)
            self.of_others = []
        elif self.denied and piece.has("arrival") and not piece.has("negation", "praise"):
            self.claim_fault(self.denied, piece)
        elif self.retracts(piece):
            self.deny_last(piece)
        elif self.compares(piece) and self.last_fault:
            self.remark_comparison(piece)
        elif self.goes_on_after(piece):
            self.remark_still(piece)
        elif piece.has("gone", "fixed", "praise") and not piece.has("not_enough"):
            self.remark_good(piece)
        elif self.ends_fault(piece):
            assert self.last_fault
            self.claim_good(self.last_fault.skill, piece.start, piece.end)
        elif piece.has("slight", "clear"):
            self.remark_degree(piece)

    def denies_others(self, piece: Piece) -> bool:
        """Whether "she doesn't" answers what was said of or by somebody else."""
        return bool(self.of_others) and len(piece.words) <= 3 and piece.has("negation")

    def remark_comparison(self, piece: Piece) -> None:
        """Better or worse, of what was seen last."""
        assert self.last_fault
        self.ungraded = None
        if not piece.has("worse") and piece.has("praise") and not piece.has("not_enough", "worse", "still"):
            self.look = Look.DEPARTURE
            self.claim_good(self.last_fault.skill, piece.start, piece.end)
            return
        degree = CLEAR if piece.has("worse") else SLIGHT
        faults = [claim for claim in self.found.claims if claim.fault]
        for claim in faults[-2:] if "both" in piece.words else [self.last_fault]:
            self.found.comparisons.append(Comparison(claim.skill, claim.fault, degree, piece.start, piece.end))

    def remark_good(self, piece: Piece) -> None:
        """Praise after a name is praise of it; praise of a fault, after the work, says that it is gone."""
        if self.named and not piece.has("gone", "fixed"):
            self.claim_good(self.named, piece.start, piece.end)
        elif self.last_fault and self.last_fault.skill == self.last and self.is_after(piece) and not piece.has("negation"):
            self.look = Look.DEPARTURE
            self.claim_good(self.last_fault.skill, piece.start, piece.end)

    def is_after(self, piece: Piece) -> bool:
        return self.look is Look.DEPARTURE or piece.has("gone", "fixed")

    def remark_degree(self, piece: Piece) -> None:
        """A degree that follows its fault: "on the heels, a bit"."""
        if self.ungraded and self.ungraded.degree == NOT_GRADED and self.is_about(self.ungraded, piece):
            self.ungraded.degree = SLIGHT if piece.has("slight") else CLEAR

    def retracts(self, piece: Piece) -> bool:
        """Whether a short remark says that what was just named was not there: "recoil: none"."""
        near = piece.joiner in {":", ",", "", "-", "–"} and len(piece.words) <= SHORT
        return near and piece.has("absent") and self.ungraded is not None and self.ungraded in self.found.claims[-1:]

    def deny_last(self, piece: Piece) -> None:
        """The fault named last was only named: it is good."""
        assert self.ungraded
        named = self.ungraded
        if self.look is named.look:
            self.found.claims.remove(named)
        self.claim_good(named.skill, named.start, piece.end)

    def ends_fault(self, piece: Piece) -> bool:
        """Whether a short "later not" or "then never again" says that the fault seen last was gone."""
        short = len(piece.words) <= SHORT and piece.has("negation", "absent") and not piece.has("neutral", "not_enough")
        return short and self.look is Look.DEPARTURE and self.last_fault is not None

    def goes_on_after(self, piece: Piece) -> bool:
        """Whether a remark gives the fault seen last for the departure: "a lot by the end", "same at the end"."""
        said = piece.has("still", "slight", "clear") and not piece.has("praise", "gone", "fixed", "negation")
        return said and piece.has("departure") and self.look is Look.DEPARTURE and self.last_fault is not None

    def remark_still(self, piece: Piece) -> None:
        assert self.last_fault and self.last_fault.fault
        degree = CLEAR if piece.has("clear") else SLIGHT if piece.has("slight") else NOT_GRADED
        fault = self.last_fault
        self.found.claims.append(Claim(Look.DEPARTURE, fault.skill, fault.fault, piece.start, piece.end, degree))

    def is_about(self, claim: Claim, piece: Piece) -> bool:
        """Whether a remark may grade a claim: it is short and speaks of the same look."""
        return len(piece.words) <= (2 if piece.starts_sentence else 8) and claim.look is self.look

    # ---- keep and focus

    def read_keep(self, piece: Piece) -> None:
        """What is to stay as it is: the skills in the piece, else the one spoken of last."""
        hits = [hit for hit in piece.hits if hit.meaning.kind in {"topic", "good", "fault"}]
        if piece.has("keep") and not self.focused:
            skills = list(dict.fromkeys(hit.meaning.skill for hit in hits)) or ([self.last] if self.last else [])
        elif self.keeps_list and hits and self.only_named(piece, hits):
            skills = [hit.meaning.skill for hit in hits]
        else:
            self.keeps_list = False
            return
        self.keeps_list = True
        for skill in skills:
            self.found.keeps.append((skill, self.look, piece.start, piece.end))
            self.last = skill

    def only_named(self, piece: Piece, hits: Sequence[Hit]) -> bool:
        """Whether the piece goes on with a list: "nor her stance width"."""
        return len(piece.words) <= 4 and not piece.has("focus", "departure", "arrival") and all(hit.meaning.kind == "topic" for hit in hits) and not piece.has("praise")

    def read_focus(self, piece: Piece) -> None:
        """What to work on now: the faults or the skill in the piece, what stands before "that's the job", or what follows."""
        hits = [hit for hit in piece.hits if hit.meaning.kind in {"topic", "good", "fault"}]
        if piece.has("focus") and not self.negated_focus(piece):
            self.awaits_focus = False
            if self.points_back(piece, hits):
                self.focus_on_last(piece)
            elif hits:
                self.focus_on(hits, piece)
            else:
                self.awaits_focus = True
        elif self.awaits_focus and hits:
            self.focus_on(hits, piece)
            self.awaits_focus = False
        elif piece.starts_sentence:
            self.awaits_focus = False

    def negated_focus(self, piece: Piece) -> bool:
        cue = piece.of("focus")[0]
        return any(other.end == cue.start for other in piece.of("negation"))

    def points_back(self, piece: Piece, hits: Sequence[Hit]) -> bool:
        """Whether "that" before the focus means what was seen last."""
        if self.last_fault is None:
            return False
        pointing = [cue.start for cue in piece.of("pointing")]
        if not hits and (self.means_it(piece) or self.is_afterthought(piece)):
            return True
        if not pointing:
            return False
        return not hits or pointing[0] < min(piece.of("focus")[0].start, hits[0].start)

    def means_it(self, piece: Piece) -> bool:
        """Whether the focus is "it": "we work on that"."""
        return any(token.word in {"it", "this", "that", "them"} for cue in piece.of("focus") for token in self.tokens[cue.end : cue.end + 1])

    def is_afterthought(self, piece: Piece) -> bool:
        """Whether the sentence ends with the focus, after what it is about: "peeks, top priority"."""
        return piece.ends_sentence and piece.joiner in {",", ":", "-", "–", ""} and piece.has("focus")

    def focus_on(self, hits: Sequence[Hit], piece: Piece) -> None:
        faults = [hit for hit in hits if hit.meaning.kind == "fault"]
        for hit in faults or hits[:1]:
            code = hit.meaning.code if faults else None
            self.found.focuses.append((hit.meaning.skill, code, piece.start, piece.end))

    def focus_on_last(self, piece: Piece) -> None:
        assert self.last_fault
        self.found.focuses.append((self.last_fault.skill, self.last_fault.fault, piece.start, piece.end))


def distance(cue: Hit, hit: Hit) -> int:
    """How many tokens lie between two spans; 0 where they overlap or touch."""
    return max(0, cue.start - hit.end, hit.start - cue.end)
