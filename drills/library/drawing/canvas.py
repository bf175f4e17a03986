"""The ground of a drawing: from cm to units of the picture, the look of what is drawn, and what labels must not hide.

One unit of the picture is about a pixel on the narrowest phone.
"""

from collections.abc import Iterable, Mapping
from itertools import pairwise
from math import atan2, cos, degrees, hypot, radians, sin
from typing import NamedTuple
from xml.etree import ElementTree as ET

from drills.library.drawing.pieces import TOP

WIDTH, HIGHEST, LOWEST = 320.0, 220.0, 90.0
EDGE = 18.0  # round the frame, so that a symbol on its edge is whole
TEXT = 14.0  # the size of the letters
LETTER = 0.57 * TEXT  # how wide a letter is at most on average
INK, SOFT, ACCENT, PAPER, GREY = "#1d1a15", "#484136", "#57296b", "#fffdf6", "#cfc5ae"

# How each class looks on paper; on a screen static/css/drawing.css gives the same classes the colours of the page.
LOOKS: Mapping[str, Mapping[str, str]] = {
    "solid": {"fill": INK},
    "shape": {"fill": PAPER, "stroke": INK, "stroke-width": "1.6"},
    "cloth": {"fill": GREY, "stroke": SOFT, "stroke-width": "1"},
    "zone": {"fill": ACCENT, "fill-opacity": "0.14", "stroke": ACCENT, "stroke-width": "1"},
    "ink": {
        "fill": "none",
        "stroke": INK,
        "stroke-width": "1.6",
        "stroke-linecap": "round",
        "stroke-linejoin": "round",
    },
    "thick": {
        "fill": "none",
        "stroke": INK,
        "stroke-width": "4",
        "stroke-linecap": "round",
        "stroke-linejoin": "round",
    },
    "soft": {"fill": "none", "stroke": SOFT, "stroke-width": "1"},
    "way": {"fill": "none", "stroke": ACCENT, "stroke-width": "2", "stroke-linecap": "round"},
    "accent": {"fill": ACCENT},
    "behind": {"fill": PAPER, "fill-opacity": "0.8"},
    "label": {
        "fill": INK,
        "font-size": f"{TEXT:g}",
        "font-family": "Noto Sans, Helvetica, Arial, sans-serif",
        "text-anchor": "middle",
    },
}

Point = tuple[float, float]


class Box(NamedTuple):
    """A rectangle of the picture."""

    left: float
    top: float
    right: float
    bottom: float

    def overlap(self, other: "Box") -> float:
        """The area that both cover."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return max(0.0, across) * max(0.0, down)


def box_around(at: Point, across: float, down: float | None = None) -> Box:
    """A rectangle round a point, so far to each side."""
    down = across if down is None else down
    return Box(at[0] - across, at[1] - down, at[0] + across, at[1] + down)


class Canvas:
    """A picture of a frame in cm; `mirrored` has x grow to the left."""

    def __init__(self, frame: Iterable[float], view: str, side: str | None) -> None:
        self.left, self.low, self.right, self.high = frame
        self.view = view
        self.is_mirrored = (side == "left") != (view == TOP)
        wide, high = self.right - self.left, self.high - self.low
        self.scale = min((WIDTH - 2 * EDGE) / wide, (HIGHEST - 2 * EDGE) / high)
        self.height = max(LOWEST, high * self.scale + 2 * EDGE)
        self.taken: list[Box] = []
        self.root = ET.Element("svg", self.root_attributes())

    def root_attributes(self) -> dict[str, str]:
        """The attributes of the picture itself."""
        size = {
            "viewBox": f"0 0 {number(WIDTH)} {number(self.height)}",
            "width": number(WIDTH),
            "height": number(self.height),
        }
        return {"class": "drawing", "xmlns": "http://www.w3.org/2000/svg", "role": "img"} | size

    def at(self, point: Point) -> Point:
        """The place of a point in cm."""
        across = (point[0] - (self.left + self.right) / 2) * self.scale
        up = (point[1] - (self.low + self.high) / 2) * self.scale
        return WIDTH / 2 + (-across if self.is_mirrored else across), self.height / 2 - up

    def size(self, length_cm: float, least: float) -> float:
        """A length in units of the picture, or the least drawn one."""
        return max(length_cm * self.scale, least)

    def turned(self, direction: Point, by_degrees: float = 0.0) -> float:
        """The angle of the picture, clockwise from its right, of a direction in cm turned against the clock."""
        angle = atan2(direction[1], direction[0]) + radians(by_degrees)
        across = -cos(angle) if self.is_mirrored else cos(angle)
        return degrees(atan2(-sin(angle), across))

    def add(self, look: str, tag: str, **attributes: float | str) -> ET.Element:
        """An element with the look of its class."""
        values = {
            name.replace("_", "-"): value if isinstance(value, str) else number(value)
            for name, value in attributes.items()
        }
        return ET.SubElement(self.root, tag, {"class": look, **LOOKS[look], **values})

    def take(self, box: Box) -> None:
        """Keep labels away from a rectangle."""
        self.taken.append(box)

    def take_line(self, points: Iterable[Point]) -> None:
        """Keep labels away from a line through places of the picture."""
        for start, end in pairwise(points):
            steps = max(1, round(hypot(end[0] - start[0], end[1] - start[1]) / 8))
            for step in range(steps + 1):
                self.take(box_around(between(start, end, step / steps), 2))


def between(start: Point, end: Point, share: float) -> Point:
    """A point of a line, 0 its start and 1 its end."""
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])


def number(value: float) -> str:
    """A coordinate as SVG writes it."""
    return f"{round(value, 1) + 0.0:g}"


def path(points: Iterable[Point]) -> str:
    """A way through places of the picture."""
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)
