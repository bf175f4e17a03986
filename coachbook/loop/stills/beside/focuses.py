"""Which pair of a lesson belongs to a focus, kept on its sheet by the keys of its stills, and drawn from them later."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from coachbook.accounts.models import Academy, Student
from coachbook.loop.sheets.content import SheetContent, SheetPair
from coachbook.loop.stills.beside.gather import Pair, Panel, Source, completed, pairs_of, with_sources
from lessons.models import Focus, FocusView, Lesson, Still, View
from lessons.models.stills import seen_words
from lessons.stills.rows import shown_stills


@dataclass(frozen=True)
class DrawnPair:
    """The pair of a focus as a sheet shows it; no panels where one of its stills is no longer shown."""

    name: str
    panels: list[Panel]


def sheet_pairs(lesson: Lesson, focuses: Iterable[Focus]) -> dict[int, SheetPair]:
    """The pair of each focus, by its number: that in which the coach sees it, or the one looked at last.

    A pair stands beside one focus only, but where a coach chose it for several.
    """
    stills = Still.objects.shown().filter(lesson=lesson)
    whole = [pair for pair in pairs_of(stills) if pair.is_whole]
    if not whole:
        return {}
    focuses = list(focuses)
    chosen = {row.focus_id: (row.checkpoint_id, row.view) for row in FocusView.objects.filter(focus__in=focuses)}
    left = sorted((pair for pair in whole if place_of(pair) not in chosen.values()), key=last_looked_at, reverse=True)
    found: dict[int, SheetPair] = {}
    for focus in focuses:
        if focus.pk in chosen:
            pair = next((pair for pair in whole if place_of(pair) == chosen[focus.pk]), None)
        else:
            pair = next((pair for pair in left if pair.checkpoint.area == focus.area), None)
            left = [each for each in left if each is not pair]
        if pair:
            found[focus.pk] = stored_pair(pair)
    return found


def place_of(pair: Pair) -> tuple[int, str]:
    """The checkpoint and view of a pair."""
    return pair.checkpoint.pk, pair.view


def last_looked_at(pair: Pair) -> tuple[bool, datetime]:
    """Pairs that somebody aligned before others, and the later ones before earlier ones."""
    return pair.alignment is not None, pair.alignment.aligned_at if pair.alignment else pair.latest.taken_at


def stored_pair(pair: Pair) -> SheetPair:
    """What a sheet keeps of a pair: keys, and the words for a student."""
    assert pair.arrival and pair.departure
    name = seen_words(pair.checkpoint, pair.view, plain=True)
    return SheetPair(str(pair.arrival.key), str(pair.departure.key), name)


def drawn_pairs(
    content: SheetContent, student: Student, academy: Academy, on: date, source: Source
) -> Mapping[int, DrawnPair]:
    """The pairs of a sheet as they may be shown on a day, by the number of the focus."""
    kept = {focus.number: focus.pair for focus in content.focuses if focus.pair}
    if not kept:
        return {}
    keys = [key for pair in kept.values() for key in (pair.arrival, pair.departure)]
    stills = {str(still.key): still for still in shown_stills(student, academy, on).filter(key__in=keys)}
    for still in stills.values():
        still.lesson.student = student
    pairs = {number: pair_of(pair, stills) for number, pair in kept.items()}
    whole = {number: pair for number, pair in pairs.items() if pair}
    drawn = dict(zip(whole, completed(list(whole.values())), strict=True))
    return {number: drawn_pair(pair.name, drawn.get(number), source) for number, pair in kept.items()}


def pair_of(kept: SheetPair, stills: Mapping[str, Still]) -> Pair | None:
    """The pair that a sheet keeps, if both of its stills may be shown."""
    arrival, departure = stills.get(kept.arrival), stills.get(kept.departure)
    if arrival is None or departure is None:
        return None
    return Pair(departure.checkpoint, View(departure.view), arrival, departure, plain=True)


def drawn_pair(name: str, pair: Pair | None, source: Source) -> DrawnPair:
    """One pair with the addresses of its pictures; none of them where a file of the two is gone."""
    panels = with_sources(pair, source) if pair else []
    has_both = sum(isinstance(panel.picture, Still) for panel in panels) == 2
    return DrawnPair(name, panels if has_both else [])
