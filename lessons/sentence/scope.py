"""What a piece of a text speaks of: this student today, or somebody else, another time, a guess, a question."""

from lessons.sentence.pieces import Piece
from lessons.sentence.tokens import DENYING_VERBS

REASONS = {
    "person": "This seems to speak of somebody else.",
    "past": "This seems to speak of another time.",
    "future": "This seems to be a plan for later.",
    "action": "This seems to be what was asked for or done, not what was seen.",
    "rare": "Said to be rare.",
    "seldom": "Said to be rare.",
    "hedge": "This is put as a guess.",
    "doubt": "This is put as a guess.",
    "elsewhere": "This seems to speak of another time or place.",
    "unseen": "This was not looked at.",
    "question": "This is a question.",
    "wish": "This is a wish.",
    "modal": "This is a wish.",
    "correct": "This was taken back.",
    "not_good": "Said not to be good, but not how.",
    "since": "Said to be gone, but not since when.",
    "unseen_before": "This may be of the arrival or of the departure.",
    "praised": "This names a fault, and yet praises.",
    "tie": "Two faults fit these words equally well.",
    "loose": "These words stand too far apart.",
    "crowded": "The words beside it may mean something else.",
    "finish": "This may speak of the finish.",
    "side": "The side does not fit this fault.",
    "spared": "This seems to be what is not worked on.",
    "named": "This seems to say what a drill is for.",
    "no_drill": "This is a dose, but the drill was not understood.",
    "unsure_drill": "This may be a drill, but nothing says that it is given.",
    "area": "This belongs to an area that is not ticked.",
}
SCOPES = "person past future elsewhere unseen wish hedge rare seldom doubt action modal".split()  # in order
PERSON_ENDS = frozenset({"but", "while", "whereas", "though", "although", ",", "however", "yet", "and"})
CARRIED = frozenset({"and", "", "or"})  # joiners over which a guess or another time goes on
OWN_STARTS = frozenset("he she hes shes his her the this my i we".split())
REACH = 6  # words from what was asked for to what it was about
NEVER = {"her": {"he", "hes", "his"}, "his": {"she", "shes", "her"}}  # after "her brother" no "he" is the student
SEASONS = frozenset(  # "March: toe strikes" tells of another time
    "january february march april may june july august september october november december spring summer autumn "
    "winter".split()
)
SHORT = 6  # words: a remark this short speaks of what stands before it
BACKWARD = frozenset({",", ":", "but", "though", "although", "", "-", "–", "—", "(", "."})


class Scope:
    """Walks over the pieces and says of each why it is not about this student today, or None."""

    def __init__(self) -> None:
        self.reason: str | None = None
        self.others: set[str] = set()  # words that begin what is said of the other person, and never of the student

    def enter(self, piece: Piece) -> str | None:
        """The reason to leave this piece out."""
        if self.ends(piece):
            self.reason = None
        found = own_reason(piece)
        if found:
            self.reason = found
        if found == "person":
            self.others = {word for whose in owners(piece) for word in NEVER[whose]}
        return self.reason

    def ends(self, piece: Piece) -> bool:
        """Whether what was left out so far ends before this piece."""
        if self.reason == "person" and piece.words[0] in self.others:
            return False
        if piece.starts_sentence:
            return True
        if self.reason == "person":
            return ends_person(piece)
        if self.reason in {"past", "future"}:
            return piece.has("today", "own") or piece.joiner == "but" or (piece.joiner == "," and not is_bare(piece))
        if self.reason == "action":
            return True
        if self.reason in {"hedge", "rare", "seldom", "doubt", "unseen"}:
            return piece.joiner not in CARRIED or bool(piece.hits and piece.joiner == "and" and piece.has("praise"))
        return piece.joiner in {"but", "because", "so"} or piece.has("own") or (piece.has("focus") and not piece.hits)


def ends_person(piece: Piece) -> bool:
    """Whether the sentence comes back to the student."""
    if piece.has("own", "focus") or (piece.joiner == "but" and not piece.has("person")):
        return True
    if is_short_denial(piece):
        return True
    starts_own = bool(piece.words) and piece.words[0] in OWN_STARTS and not piece.has("person")
    return piece.joiner in PERSON_ENDS - {"and"} and starts_own


def is_short_denial(piece: Piece) -> bool:
    """Whether it says no more than that somebody does not: "Olly doesn't", but not "I don't"."""
    return len(piece.words) == 2 and piece.words[1] in DENYING_VERBS and piece.words[0] not in {"i", "we"}


def owners(piece: Piece) -> set[str]:
    """Whose brother, mother or friend is spoken of, where that tells a girl from a boy: "her", "his"."""
    words = {word for cue in piece.of("person") for word in piece.words[max(0, cue.start - piece.start - 1) :][:2]}
    return words & set(NEVER) if len(words & set(NEVER)) == 1 else set()


def is_bare(piece: Piece) -> bool:
    """Whether the piece only goes on with a list."""
    return len(piece.words) <= 2


def own_reason(piece: Piece) -> str | None:
    """The reason that stands in the piece itself."""
    if piece.asks or starts_question(piece):
        return "question"
    if piece.starts_sentence and len(piece.words) == 1 and piece.words[0] in SEASONS:
        return "past"
    for kind in SCOPES:
        if any(applies(kind, cue.start, piece) for cue in piece.of(kind)):
            return kind
    return None


def governs(place: int, piece: Piece) -> bool:
    """Whether what was asked for or done stands shortly before what was found, with no new subject between."""
    between = piece.words[place - piece.start + 2 : piece.hits[0].start - piece.start]
    return place < piece.hits[0].start and len(between) <= REACH and not {"it", "he", "she"} & set(between)


def starts_question(piece: Piece) -> bool:
    """Whether a question begins the piece, as it does in speech that was written down without its mark."""
    at = piece.start
    return any(cue.start <= at + 1 and cue.start >= at for cue in piece.of("question")) and (
        piece.joiner in {".", "but", "so", "and", "because", ","} or piece.start == 0
    )


def applies(kind: str, place: int, piece: Piece) -> bool:
    """Whether a cue governs the piece: a person only as its subject, before what was seen."""
    if kind == "future":
        return not piece.has("focus") and not is_homework(place, piece)
    if kind == "elsewhere":
        return bool(piece.hits) and not piece.hits_of("drill")
    if kind in {"action", "modal", "seldom"}:
        looked = bool(piece.hits) and piece.hits[0].meaning.kind != "drill"
        return looked and not piece.has("focus", "keep") and governs(place, piece)
    if kind == "person":
        return not piece.hits or place < piece.hits[0].start
    return True


def is_homework(place: int, piece: Piece) -> bool:
    """Whether a drill is what is "to do": "he is to do the ladder", "he has the high stool to do"."""
    return bool(piece.hits_of("drill")) and piece.words[place - piece.start :][:2] == ["to", "do"]


def looks_back(piece: Piece) -> bool:
    """Whether a piece without a hit takes back what stands before it, such as "but not sure" and "last month"."""
    if piece.hits or piece.joiner not in BACKWARD or {"too", "also"} & set(piece.words):
        return False
    if piece.has("doubt"):
        return len(piece.words) <= SHORT or not piece.starts_sentence
    if piece.has("unseen"):
        return piece.of("unseen")[0].start <= piece.start + 1
    if not piece.has("hedge") and (piece.joiner == "but" or piece.has("putting", "chipping", "pitching", "bunker")):
        return False
    return piece.has("hedge", "past", "future") and len(piece.words) <= (3 if piece.starts_sentence else SHORT)
