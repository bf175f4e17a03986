"""The one call: a text, the areas ticked, the student's sides and the catalogue in, proposals out."""

import itertools
from collections.abc import Iterator, Mapping, Sequence

from lessons.sentence.areas import hits_by_area
from lessons.sentence.catalogue import Catalogue
from lessons.sentence.claims import Claim, Found, joined, leave_out_unseen, settle_comparisons, settle_focuses
from lessons.sentence.confidence import is_strange_word
from lessons.sentence.cues import find_cues
from lessons.sentence.dose import find_amounts, share_out, without_corrected
from lessons.sentence.lexicon import Lexicon, compile_lexicon, correct_slips, without_names
from lessons.sentence.match import Hit, Meaning
from lessons.sentence.pieces import cut
from lessons.sentence.reader import read_pieces
from lessons.sentence.reading import Dose, Kind, LeftOut, Look, Proposal, Reading
from lessons.sentence.scope import REASONS
from lessons.sentence.seen import WEAK_DEGREES
from lessons.sentence.tokens import Token, tokenise

NEGATION = Meaning("negation", "negation")
DENIALS = frozenset("no not never dont doesnt didnt".split())


def read_sentence(text: str, areas: Sequence[str], sides: Mapping[str, str], catalogue: Catalogue) -> Reading:
    """Read what a coach wrote about one lesson of one student.

    `areas`: those ticked in the log, the main one first. `sides`: area -> "left" or "right", right where it is missing.
    At most `tokens.LONGEST` characters are read.
    """
    lexicon = compile_lexicon(catalogue, tuple(sorted((area, side) for area, side in sides.items() if side == "left")))
    tokens = correct_slips(without_names(text, tokenise(text), lexicon), lexicon)
    cues = find_cues(tokens)
    hits, unsure = hits_by_area(tokens, cues, areas, lexicon)
    pieces = cut(tokens, hits, outside(cues, hits, tokens))
    found = read_pieces(tokens, pieces, lexicon, [hit for _, hit in unsure])
    found.left_out += [(reason, hit.start, hit.end) for reason, hit in unsure]
    return Reading(tuple(proposals(found, tokens, hits, cues, lexicon)), tuple(left_out(found, tokens)))


def outside(cues: Sequence[Hit], hits: Sequence[Hit], tokens: Sequence[Token]) -> list[Hit]:
    """The cues whose words are not those of a hit; a degree may be both: "way too wide".

    A "no" stays, whatever becomes of the cue that holds it: "did not look at all early".
    """
    taken = {place for hit in hits for place in hit.words}
    kept = [cue for cue in cues if not taken & set(cue.words) or is_degree(cue, tokens)]
    lost = {place for cue in cues if cue not in kept for place in cue.words} - taken
    denials = [Hit(NEGATION, (place,)) for place in lost if tokens[place].word in DENIALS]
    return sorted([*kept, *denials], key=lambda cue: cue.start)


def is_degree(cue: Hit, tokens: Sequence[Token]) -> bool:
    """Whether a cue says how much and no more: "big" may be how long a swing is."""
    return cue.meaning.kind in {"slight", "clear"} and tokens[cue.start].word not in WEAK_DEGREES


def proposals(
    found: Found, tokens: Sequence[Token], hits: Sequence[Hit], cues: Sequence[Hit], lexicon: Lexicon
) -> Iterator[Proposal]:
    """All that was found, as proposals, in the order look, keep, focus, drill."""
    skills = dict(lexicon.skills)
    settle_comparisons(found, skills)
    leave_out_unseen(found)
    focuses = settle_focuses(found, skills)
    add_kept(found)
    for claim in joined(found.claims):
        kind = Kind.GOOD if claim.is_good else Kind.FAULT
        degree = None if claim.is_good else claim.degree
        yield Proposal(kind, *span(tokens, claim.start, claim.end), claim.look, claim.skill, claim.fault, degree)
    for skill, (start, end) in {skill: (start, end) for skill, _, start, end in found.keeps}.items():
        yield Proposal(Kind.KEEP, *span(tokens, start, end), skill=skill)
    for skill, fault, start, end in focuses:
        yield Proposal(Kind.FOCUS, *span(tokens, start, end), skill=skill, fault=fault)
    yield from drill_proposals(found, tokens, hits, cues)


def add_kept(found: Found) -> None:
    """What is to be kept was good: at the look of the piece, unless more is known of the skill.

    A departure that was said of something before it ("now it's spot on, and keep the posture") is none of its own.
    """
    for skill, look, start, end in found.keeps:
        known = [claim for claim in found.claims if claim.skill == skill]
        if not known:
            found.claims.append(Claim(look, skill, None, start, end))
        for claim in known:
            if all(other.is_good and other.is_carried for other in known):
                claim.look = Look.ARRIVAL


def drill_proposals(
    found: Found, tokens: Sequence[Token], hits: Sequence[Hit], cues: Sequence[Hit]
) -> Iterator[Proposal]:
    """The drills with their doses; a drill named twice counts once."""
    taken = {place for hit in hits for place in hit.words}
    given = {row.drill: row for row in reversed(found.given)}
    amounts = without_corrected(
        find_amounts(tokens, taken), [cue.start for cue in cues if cue.meaning.kind == "correct"]
    )
    refused = {hit.start for hit in hits if hit.meaning.kind == "drill"} - {row.start for row in found.given}
    for row in share_out(list(given.values()), amounts, tokens):
        if row.drill is None and (refused or follows_unread(tokens, row.start)):
            found.left_out.append(("no_drill", row.start, row.end))
            continue
        if row.dose == Dose() and not row.is_sure:
            found.left_out.append(("unsure_drill", row.start, row.end))
            continue
        yield Proposal(Kind.DRILL, *span(tokens, row.start, row.end), drill=row.drill, dose=row.dose)


def follows_unread(tokens: Sequence[Token], start: int) -> bool:
    """Whether words that mean nothing here lead to a dose, and so may name its drill: "tape on thumbs 15 putts"."""
    before = itertools.takewhile(lambda token: not token.is_sign, reversed(tokens[:start]))
    return any(is_strange_word(token) for token in before)


def span(tokens: Sequence[Token], start: int, end: int) -> tuple[int, int]:
    """Characters from the first to the last of some tokens."""
    return tokens[start].start, tokens[end - 1].end


def left_out(found: Found, tokens: Sequence[Token]) -> Iterator[LeftOut]:
    """What was left out, in the order of the text, each place once."""
    for (start, end), reason in sorted({(start, end): reason for reason, start, end in found.left_out}.items()):
        yield LeftOut(REASONS[reason], *span(tokens, start, end))
