"""What a drawing is made of: the views, the pieces and the numbers that each piece needs, all lengths in cm."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

TOP, FACE_ON, DOWN_THE_LINE = "top", "face_on", "down_the_line"
VIEWS = {
    TOP: "from above",
    FACE_ON: "from in front of the player",
    DOWN_THE_LINE: "from behind the ball, towards the target",
}
SIDE_VIEWS = (FACE_ON, DOWN_THE_LINE)

POINT, TWO_POINTS = ("x", "y"), ("x", "y", "to_x", "to_y")
PLAYER = ("x", "size", "lean", "hands_x", "hands_y", "club_x", "club_y")


@dataclass(frozen=True)
class Kind:
    """One kind of piece: its name on a screen, the numbers it needs and may have, and the views that show it."""

    label: str
    needs: tuple[str, ...] = POINT
    may_have: tuple[str, ...] = ()
    views: tuple[str, ...] = tuple(VIEWS)
    has_words: bool = False


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "zone": Kind("area to land or stop in", TWO_POINTS),
        "towel": Kind("towel", TWO_POINTS),
        "wall": Kind("wall or board", TWO_POINTS),
        "line": Kind("line of aim", TWO_POINTS),
        "string": Kind("string", TWO_POINTS),
        "rod": Kind("rod", TWO_POINTS),
        "length": Kind("length", TWO_POINTS),
        "feet": Kind("feet", (*POINT, "size"), ("turn",), (TOP,)),
        "hole": Kind("hole"),
        "flag": Kind("flag"),
        "club": Kind("club head", POINT, ("turn",)),
        "player": Kind("player", PLAYER, ("knee", "head_x"), SIDE_VIEWS),
        "cup": Kind("cup or toy brick"),
        "ball": Kind("ball"),
        "coin": Kind("coin"),
        "tee": Kind("tee"),
        "spot": Kind("spot"),
        "roll": Kind("way of a rolling ball", TWO_POINTS, ("bend",)),
        "flight": Kind("way of a flying ball", TWO_POINTS),
        "text": Kind("words", has_words=True),
    }
)
"""The kinds of pieces, in the order in which they are drawn, the later ones above."""
LAYERS = {name: layer for layer, name in enumerate(KINDS)}


@dataclass(frozen=True)
class Piece:
    """A piece with its numbers; those that it may have and has not are 0."""

    name: str
    numbers: Mapping[str, float]
    words: str = ""

    @property
    def start(self) -> tuple[float, float]:
        """Where the piece is, or begins."""
        return self.numbers["x"], self.numbers.get("y", 0.0)

    @property
    def end(self) -> tuple[float, float]:
        """Where a piece of two points ends."""
        return self.numbers["to_x"], self.numbers["to_y"]

    def number(self, name: str, default: float = 0.0) -> float:
        """One of its numbers."""
        return self.numbers.get(name, default)


def piece_from(row: Mapping[str, Any]) -> Piece:
    """The piece of a description that was checked."""
    numbers = {name: float(value) for name, value in row.items() if name not in ("piece", "words")}
    return Piece(row["piece"], numbers, row.get("words", ""))
