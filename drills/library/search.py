"""The drills that a search of the library finds, by words and by what they need; all of it is computed here.

The texts are compared here and not by the database: SQLite knows no capitals beyond the English ones.
"""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from drills.models import Drill
from lessons.matching import contains_all, words_of
from lessons.wording import SideWord, render_typed

WORDINGS = ("name", "purpose", "equipment", "setup", "feel", "mark", "tip", "caution", "game")


class Search(NamedTuple):
    """What somebody looks for; what is empty does not matter."""

    words: str = ""
    area: str = ""
    fault: int | None = None
    item: str = ""
    place: str = ""
    minutes: int | None = None
    is_for_child: bool = False

    def finds(self, drill: Drill, side: SideWord | None) -> bool:
        """Whether a drill, as its reader reads it, is one of those looked for; its fits were read before."""
        return (
            self.area in ("", drill.area)
            and (self.fault is None or any(fit.fault_id == self.fault and not fit.is_wrong for fit in drill.fits.all()))
            and (not self.item or self.item in drill.items)
            and (not self.place or self.place in drill.places)
            and (self.minutes is None or self.time_of(drill) <= self.minutes)
            and (bool(drill.game) or not self.is_for_child)
            and contains_all(list(texts_of(drill, side)), words_of(self.words))
        )

    def time_of(self, drill: Drill) -> int:
        """How many minutes a drill takes, for a child or for anybody."""
        return drill.child_minutes or drill.minutes if self.is_for_child else drill.minutes


def texts_of(drill: Drill, side: SideWord | None) -> Iterator[str]:
    """All words of a drill, as its reader reads them."""
    yield from (render_typed(getattr(drill, name), side) for name in WORDINGS)
    yield from (render_typed(step, side) for step in drill.steps)
    yield from drill.items


def items_in(drills: Iterable[Drill]) -> list[str]:
    """What any of the drills needs besides a club and balls."""
    return sorted({item for drill in drills for item in drill.items})
