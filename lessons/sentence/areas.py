"""Which area each word of a text speaks of, and the hits that follow from it."""

from collections.abc import Sequence

from lessons.sentence.lexicon import Lexicon, find_hits
from lessons.sentence.match import Hit, best
from lessons.sentence.pieces import cut
from lessons.sentence.tokens import Token

Unsure = list[tuple[str, Hit]]  # key of the reason, hit


def hits_by_area(
    tokens: Sequence[Token], cues: Sequence[Hit], areas: Sequence[str], lexicon: Lexicon
) -> tuple[list[Hit], Unsure]:
    """The hits that count, and those that are left out because their area, their side or their fault is not sure."""
    found = find_hits(tokens, lexicon)
    spoken = areas_of(tokens, cues, areas, lexicon)
    own = [hit for area, hits in found.items() for hit in hits if spoken[hit.start] == area == spoken[hit.end - 1]]
    chosen, ties = best(own)
    unsure: Unsure = [("tie", hit) for hit in ties]
    chosen += from_other_areas(found, [*chosen, *ties], areas, lexicon, unsure)
    wrong = [hit for hit in chosen if side_differs(hit, tokens, lexicon)]
    unsure += [("side", hit) for hit in wrong]
    return sorted((hit for hit in chosen if hit not in wrong), key=lambda hit: hit.start), unsure


def areas_of(tokens: Sequence[Token], cues: Sequence[Hit], areas: Sequence[str], lexicon: Lexicon) -> list[str]:
    """The area of each token: the one named in its piece, else the one named at the beginning of a piece before."""
    main = areas[0] if areas else next(iter(lexicon.trees), "")
    spoken = [main] * len(tokens)
    current = main
    for piece in cut(tokens, [], cues):
        named = [cue for cue in piece.cues if cue.meaning.kind in lexicon.trees]
        for place in range(piece.start, piece.end):
            spoken[place] = area_at(place, named, current)
        if named and (named[0].start - piece.start <= 5 or len(named) > 1):
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
    """Hits where the words' own area has none: of the ticked areas, and drills of any, where only one area fits."""
    free = [
        hit
        for hits in found.values()
        for hit in hits
        if not any(hit.start < other.end and other.start < hit.end for other in chosen)
    ]
    added: list[Hit] = []
    for hit in best([hit for hit in free if hit.weight >= 2 and hit.meaning.kind in {"drill", "fault", "good"}])[0]:
        area = lexicon.areas[hit.meaning.skill or hit.meaning.code]
        rivals = {
            lexicon.areas[other.meaning.skill or other.meaning.code]
            for other in free
            if other.start < hit.end and hit.start < other.end and other.weight >= hit.weight
        }
        if len(rivals) == 1 and (area in areas or hit.meaning.kind == "drill"):
            added.append(hit)
        elif len(rivals) == 1 and hit.meaning.kind == "fault":
            unsure.append(("area", hit))
    return added


def side_differs(hit: Hit, tokens: Sequence[Token], lexicon: Lexicon) -> bool:
    """Whether the words name the other side than the fault's own, as "left forefinger" of a right-side player."""
    side = lexicon.sided.get(hit.meaning.code)
    if hit.meaning.kind != "fault" or side not in {"lead", "trail"}:
        return False
    lead, trail = lexicon.words_of_side(lexicon.areas[hit.meaning.skill])
    own, other = (lead, trail) if side == "lead" else (trail, lead)
    words = {token.word for token in tokens[max(0, hit.start - 2) : hit.end]}
    return other in words and own not in words
