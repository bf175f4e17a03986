"""Which area each word of a text speaks of, and the hits that follow from it."""

from collections.abc import Sequence, Set
from dataclasses import replace

from lessons.sentence.dose import PERIODS, UNITS
from lessons.sentence.lexicon import Lexicon, find_hits
from lessons.sentence.match import Hit, best
from lessons.sentence.pieces import JOINERS, STARTERS, TIMES, cut
from lessons.sentence.tokens import FILLERS, NOUN_STEMS, Token

Unsure = list[tuple[str, Hit]]  # key of the reason, hit

FOLLOW_WITHIN = 16  # tokens
PREDICATES = frozenset(
    "mean meant sorry well isnt wasnt arent werent not never on onto in than as "
    "went going go goes get got again later with by for stays stayed looks where".split()
)
FINISH_WORDS = frozenset("finish finishes finishing ends ended falls fell falling".split())
WHAT_FOR = frozenset("on for against to with under at".split())
WHERE = frozenset("of behind over under beside past".split())
TIME_ENDS = frozenset("end afterwards later".split())  # begin what is said next, so that "it" after them is no object
OBJECTS = frozenset("it him her them he she".split())


def hits_by_area(
    tokens: Sequence[Token], cues: Sequence[Hit], areas: Sequence[str], lexicon: Lexicon
) -> tuple[list[Hit], Unsure]:
    """The hits that count, and those that are left out because their area, their side or their fault is not sure."""
    found = find_hits(tokens, lexicon)
    idiom = {place for hits in found.values() for hit in hits if hit.meaning.kind == "idiom" for place in hit.words}
    seen = {hit.start for hits in found.values() for hit in hits if hit.meaning.kind in {"fault", "good"}} - idiom
    spoken = areas_of(tokens, cues, areas, lexicon, seen)
    timed = words_of(cues, TIMES)
    said = words_of(cues, {"keep", "praise", "right", "better"})
    timeless = {*lexicon.finishes, ""}
    found = {
        area: [
            hit
            for hit in hits
            if not said & set(hit.words)
            and not says_when(hit, tokens, timed, timeless)
            and not says_something_else(hit, tokens)
            and not says_how_much(hit, tokens, cues)
        ]
        for area, hits in found.items()
    }
    own = [hit for area, hits in found.items() for hit in hits if spoken[hit.start] == area == spoken[hit.end - 1]]
    own = without_praise_of_drills(own, tokens)
    chosen, ties = best([hit for hit in own if hit.meaning.kind != "follow"])
    unsure: Unsure = [("tie", hit) for hit in ties]
    elsewhere = {area: [hit for hit in hits if may_stray(hit, area, spoken, areas)] for area, hits in found.items()}
    chosen += from_other_areas(elsewhere, [*chosen, *ties], areas, lexicon, unsure)
    chosen = with_follows(chosen, [hit for hit in own if hit.meaning.kind == "follow"], tokens)
    chosen = [hit for hit in chosen if hit.meaning.kind != "idiom"]
    named = [hit for hit in chosen if says_what_for(hit, chosen, tokens)]
    chosen = [hit for hit in chosen if hit not in named]
    unsure += [("named", hit) for hit in named]
    wrong = [hit for hit in chosen if side_differs(hit, tokens, lexicon)]
    late = [hit for hit in chosen if hit not in wrong and is_of_finish(hit, tokens, lexicon)]
    unsure += [("side", hit) for hit in wrong] + [("finish", hit) for hit in late]
    return sorted((hit for hit in chosen if hit not in wrong + late), key=lambda hit: hit.start), unsure


def says_when(hit: Hit, tokens: Sequence[Token], timed: Set[int], timeless: Set[str]) -> bool:
    """Whether its words only say when; those of a finish may say both, but not "finished" alone."""
    is_finished = hit.weight == 1 and hit.start in timed and tokens[hit.start].word == "finished"
    return is_finished or (hit.meaning.skill not in timeless and bool(timed & set(hit.words)))


def says_something_else(hit: Hit, tokens: Sequence[Token]) -> bool:
    """Whether the words around a phrase, or between its words, make something else of it."""
    misread = (counts_balls, says_not_too, begins_with_object, runs_into_time)
    return any(says(hit, tokens) for says in misread)


def counts_balls(hit: Hit, tokens: Sequence[Token]) -> bool:
    """Whether a drill's name is a dose, or a word of it a unit: "one for two weeks", "gate for the heads, 50 balls"."""
    if hit.meaning.kind != "drill":
        return False
    inner = [place for place in hit.words[1:] if tokens[place].stem in UNITS]
    ends = tokens[hit.end - 1].number is not None and any(is_unit(token) for token in tokens[hit.end : hit.end + 1])
    return ends or any(tokens[place - 1].number and place - 1 not in hit.words for place in inner)


def is_unit(token: Token) -> bool:
    """Whether a word is counted in doses: balls, minutes, weeks."""
    return token.stem in UNITS or token.stem in PERIODS


def says_not_too(hit: Hit, tokens: Sequence[Token]) -> bool:
    """Whether a fault by a "not" is read from "not too": "stance not too wide" is not narrow."""
    nots = [place for place in hit.words if hit.meaning.kind == "fault" and tokens[place].word == "not"]
    after = {place + 1 for place in nots} - set(hit.words)
    return any(token.word == "too" for place in after for token in tokens[place : place + 1])


def begins_with_object(hit: Hit, tokens: Sequence[Token]) -> bool:
    """Whether a comma parts the first word from the rest, and it only says where: "ahead of the ball, way ahead"."""
    before = [token.word for token in tokens[max(0, hit.start - 2) : hit.start]]
    parted = any(token.word == "," for token in tokens[hit.start + 1 : hit.start + 2])
    return parted and before[-1:] == ["the"] and before[0] in WHERE and hit.end > hit.start + 2


def runs_into_time(hit: Hit, tokens: Sequence[Token]) -> bool:
    """Whether a phrase ends with the "end" of a time that an "and" begins: "let it turn, and at the end"."""
    inside = [token.word for token in tokens[hit.start : hit.end]]
    return inside[-4:] in (["and", "at", "the", "end"], ["and", "by", "the", "end"])


def says_how_much(hit: Hit, tokens: Sequence[Token], cues: Sequence[Hit]) -> bool:
    """Whether the words only say how much, as "a touch" does, or end with a "still" before such words."""
    grades = [cue for cue in cues if cue.meaning.kind in {"slight", "clear"}]
    within = any(cue.meaning.kind == "slight" and set(hit.words) <= set(cue.words) for cue in grades)
    return within or (tokens[hit.words[-1]].word == "still" and any(cue.start == hit.end for cue in grades))


def without_praise_of_drills(hits: Sequence[Hit], tokens: Sequence[Token]) -> list[Hit]:
    """The hits without what is good by the very words of a drill that has a dose: "ball, then grass, 15 balls"."""
    dosed = [hit.words for hit in hits if hit.meaning.kind == "drill" and precedes_number(hit, tokens)]
    return [hit for hit in hits if hit.meaning.kind != "good" or hit.words not in dosed]


def precedes_number(hit: Hit, tokens: Sequence[Token]) -> bool:
    """Whether a number follows within three words."""
    return any(token.number is not None for token in tokens[hit.end : hit.end + 3])


def may_stray(hit: Hit, area: str, spoken: Sequence[str], areas: Sequence[str]) -> bool:
    """Whether words may belong to another area than that around them: not to the main one, once another was named."""
    return hit.meaning.kind == "drill" or area not in areas[:1] or spoken[hit.start] == area


def says_what_for(hit: Hit, hits: Sequence[Hit], tokens: Sequence[Token]) -> bool:
    """Whether words right after a drill say where or what for it is: "rods on the toes", "towel for the fat ones"."""
    drills = [other.end for other in hits if other.meaning.kind == "drill" and other.end <= hit.start]
    between = [token.word for token in tokens[max(drills) : hit.start + 1]] if drills else []
    runs_on = any(token.is_sign for token in tokens[hit.start : hit.end])
    said = bool(set(between[:2]) & WHAT_FOR) and len(between) <= 4 and not runs_on
    return said and hit.meaning.kind in {"fault", "good"}


def words_of(cues: Sequence[Hit], kinds: set[str]) -> set[int]:
    """The places of cues of two words or more, which belong to no phrase: "don't touch", "by the end"."""
    return {place for cue in cues if cue.meaning.kind in kinds and cue.weight > 1 for place in cue.words}


def with_follows(chosen: Sequence[Hit], follows: Sequence[Hit], tokens: Sequence[Token]) -> list[Hit]:
    """The hits, and those that go on with the skill of the hit before them: "ball position: too far back"."""
    added: list[Hit] = []
    for hit in sorted(follows, key=lambda hit: -hit.weight):
        all_hits = [*chosen, *added]
        if any(hit.start < other.end and other.start < hit.end for other in all_hits) or not is_predicate(hit, tokens):
            continue
        before = max((other for other in all_hits if other.end <= hit.start), key=lambda other: other.end, default=None)
        if before and before.meaning.skill == hit.meaning.skill and continues(before, hit, tokens):
            kind = "good" if hit.meaning.code == hit.meaning.skill else "fault"
            added.append(replace(hit, meaning=replace(hit.meaning, kind=kind)))
    return sorted([*chosen, *added], key=lambda hit: hit.start)


def continues(before: Hit, hit: Hit, tokens: Sequence[Token]) -> bool:
    """Whether the words stand near enough, behind a fault only after a break, and without another subject."""
    between = tokens[before.end : hit.start]
    breaks = before.meaning.kind == "topic" or any(token.is_sign or token.word in JOINERS for token in between)
    own_subject = bool({token.stem for token in between[-2:]} & NOUN_STEMS)
    return breaks and len(between) <= FOLLOW_WITHIN and not own_subject


def is_predicate(hit: Hit, tokens: Sequence[Token]) -> bool:
    """Whether the words say how something is, and are no part of another name such as "back foot"."""
    before, after = tokens[max(0, hit.start - 1) : hit.start], tokens[hit.end : hit.end + 1]
    subject = [token for token in tokens[max(0, hit.start - 2) : hit.start - 1] if not token.is_sign]
    subject = [token for token in subject if token.word not in TIME_ENDS | JOINERS]
    passes = FILLERS | PREDICATES | JOINERS if not subject else (FILLERS | PREDICATES | JOINERS) - OBJECTS
    opens = all(token.is_sign or token.word in passes | TIME_ENDS for token in before)
    closes = all(token.is_sign or token.word in STARTERS | JOINERS | FILLERS | PREDICATES for token in after)
    return opens and closes


def areas_of(
    tokens: Sequence[Token], cues: Sequence[Hit], areas: Sequence[str], lexicon: Lexicon, seen: set[int]
) -> list[str]:
    """The area of each token: the one named in its piece, else the one named before; `seen` are the places of hits.

    An area that is named after what was seen ("on the heels with the putter") holds for its own piece only.
    """
    main = areas[0] if areas else next(iter(lexicon.trees), "")
    spoken = [main] * len(tokens)
    current = main
    for piece in cut(tokens, [], cues):
        named = [cue for cue in piece.cues if cue.meaning.kind in lexicon.trees]
        for place in range(piece.start, piece.end):
            spoken[place] = area_at(place, named, current)
        if named and (len(named) > 1 or not seen & set(range(piece.start, named[0].start))):
            current = named[-1].meaning.kind
    return spoken


def area_at(place: int, named: Sequence[Hit], current: str) -> str:
    """The last area named before a place of a piece, else the first one after it."""
    before = [cue for cue in named if cue.start <= place]
    after = [cue for cue in named if cue.start > place]
    return (before[-1:] or after[:1])[0].meaning.kind if named else current


def from_other_areas(
    found: dict[str, list[Hit]], chosen: Sequence[Hit], areas: Sequence[str], lexicon: Lexicon, unsure: Unsure
) -> list[Hit]:
    """Hits where the words' own area has none: of the ticked areas, and drills of any, where only one area fits.

    What two areas that are not ticked share is no rival of what a ticked one says.
    """
    free = without(chosen, [hit for hits in found.values() for hit in hits if hit.meaning.kind != "idiom"])
    added: list[Hit] = []
    for hit in strongest([hit for hit in free if area_of(hit, lexicon) in areas])[0]:
        if is_alone(hit, [other for other in free if area_of(other, lexicon) in areas], lexicon):
            added.append(hit)
    rest = without(added, free)
    sure, ties = strongest(rest)
    for hit in sure + ties[:1]:
        whole = hit.weight >= lexicon.name_lengths.get(hit.meaning.code, 0)
        if hit.meaning.kind == "drill" and whole and is_alone(hit, rest, lexicon):
            added.append(hit)
        elif hit.meaning.kind == "fault" and area_of(hit, lexicon) not in areas:
            unsure.append(("area", hit))
    return added


def without(taken: Sequence[Hit], hits: Sequence[Hit]) -> list[Hit]:
    """The hits that share no word with one that is taken."""
    return [hit for hit in hits if not any(hit.start < other.end and other.start < hit.end for other in taken)]


def strongest(hits: Sequence[Hit]) -> tuple[list[Hit], list[Hit]]:
    """Of the hits that may stand in another area than the words around them, the best, and those that fit equally."""
    return best([hit for hit in hits if hit.weight >= 2 and hit.meaning.kind in {"drill", "fault", "good"}])


def is_alone(hit: Hit, hits: Sequence[Hit], lexicon: Lexicon) -> bool:
    """Whether no hit of another area is as strong at its place."""
    rivals = [other for other in hits if other.start < hit.end and hit.start < other.end and other.weight >= hit.weight]
    return {area_of(other, lexicon) for other in rivals} == {area_of(hit, lexicon)}


def area_of(hit: Hit, lexicon: Lexicon) -> str:
    """The area of what a hit names."""
    return lexicon.areas[hit.meaning.skill or hit.meaning.code]


def side_differs(hit: Hit, tokens: Sequence[Token], lexicon: Lexicon) -> bool:
    """Whether the words name the other side than the fault's own, as "left forefinger" of a right-side player."""
    side = lexicon.sided.get(hit.meaning.code)
    if hit.meaning.kind != "fault" or side not in {"lead", "trail"}:
        return False
    lead, trail = lexicon.words_of_side(lexicon.areas[hit.meaning.skill])
    own, other = (lead, trail) if side == "lead" else (trail, lead)
    words = {token.word for token in tokens[max(0, hit.start - 2) : end_with_side(hit, tokens)]}
    return other in words and own not in words


def is_of_finish(hit: Hit, tokens: Sequence[Token], lexicon: Lexicon) -> bool:
    """Whether what belongs to the setup is said of the finish: "in the finish he is on the back foot"."""
    if hit.meaning.kind not in {"fault", "good"} or lexicon.phases.get(hit.meaning.skill) != "setup":
        return False
    before = tokens[max(0, hit.start - 5) : hit.start]
    last_sign = max((place for place, token in enumerate(before) if token.is_sign), default=-1)
    after = [token.word for token in tokens[hit.end : hit.end + 3]]
    ends = after[:1] in (["in"], ["at"]) and after[2:] == ["finish"]
    return ends or any(token.word in FINISH_WORDS for token in before[last_sign + 1 :])


def end_with_side(hit: Hit, tokens: Sequence[Token]) -> int:
    """Where a hit ends, with "onto the left" that may follow it."""
    follows = hit.end < len(tokens) and tokens[hit.end].word in {"on", "onto", "over", "to", "towards", "toward"}
    return hit.end + 3 * follows
