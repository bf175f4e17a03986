"""What a camera sees of the figure, as plain lines and surfaces. Pure; `lessons.stills.picture.drawn` draws them.

The camera is level and far away, so that a centimetre is as long everywhere in the picture, as nearly as a zoom allows.
Each part of the figure is drawn over those behind it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from coachbook.demo.figure.body import HEAD, Body, Point, add, unit

Spot = tuple[float, float]  # pixels from the upper left corner

BALL = 42.67 / 20  # radius; the least diameter that the Rules of Golf allow (Equipment Rules, part 4)
WIDE = {"face_on": 218.0, "down_line": 145.0}  # centimetres across a picture
TALL, BELOW = 182.0, 14.0  # from its lower edge, and of these below the feet
PIXELS = 3.3  # for a centimetre
LEFT_OF_HEELS = {"face_on": 0.5, "down_line": 0.38}  # where the heels are, as a share of the width

SKY, GROUND, EDGE = "#e8ebe0", "#cdd5bb", "#8f9b7b"
SKIN, TROUSERS, SHOES, SHAFT, WHITE = "#d3b08d", "#3b434e", "#23272d", "#2a2a2a", "#fffef8"
JOINT = "#5a5148"
SHIRTS = ("#7d6a8c", "#5d7d89", "#98744f", "#6f7f58")


class Shape(NamedTuple):
    """A line with round ends through some spots, a disc where there is one; a surface where the width is 0."""

    spots: tuple[Spot, ...]
    width: float
    colour: str


@dataclass(frozen=True)
class Camera:
    """From where a picture is taken, and how it was held: zoom, and centimetres aside and up."""

    view: str
    zoom: float = 1.0
    aside: float = 0.0
    up: float = 0.0

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of its pictures in pixels."""
        return round(WIDE[self.view] * PIXELS), round(TALL * PIXELS)

    @property
    def scale(self) -> float:
        """Pixels for a centimetre."""
        return PIXELS * self.zoom

    def spot(self, point: Point, *, is_left: bool) -> Spot:
        """Where a point is seen; a player of the left side stands the other way round."""
        across = point[0] if self.view == "face_on" else point[1]
        width, height = self.size
        x = width * LEFT_OF_HEELS[self.view] + (across + self.aside) * self.scale
        return (width - x if is_left else x, height - BELOW * PIXELS - (point[2] + self.up) * self.scale)

    def nearness(self, points: Iterable[Point]) -> float:
        """The nearer, the larger: face-on what is further out, down the line what is further from the target."""
        values = [point[1] if self.view == "face_on" else -point[0] for point in points]
        return sum(values) / len(values)


class Part(NamedTuple):
    """A piece of the body between two joints or more; `width` in centimetres, 0 for a surface."""

    points: tuple[Point, ...]
    width: float
    colour: str
    lifted: float = 0.0  # how much nearer than its joints it lies


def draw_figure(body: Body, camera: Camera, *, is_left: bool = False, shirt: str = SHIRTS[0]) -> Iterator[Shape]:
    """The whole picture from back to front: sky, ground, figure, ball."""
    yield from scenery(camera, is_left)
    parts = sorted(parts_of(body, shirt), key=lambda part: camera.nearness(part.points) + part.lifted)
    for part in parts:
        spots = tuple(camera.spot(point, is_left=is_left) for point in part.points)
        yield Shape(spots, part.width * camera.scale, part.colour)


def scenery(camera: Camera, is_left: bool) -> Iterator[Shape]:
    """The sky, and the ground from the line on which the figure stands."""
    width, height = camera.size
    level = camera.spot((0.0, 0.0, 0.0), is_left=is_left)[1]
    yield Shape(((0, 0), (width, 0), (width, height), (0, height)), 0, SKY)
    yield Shape(((0, level), (width, level), (width, height), (0, height)), 0, GROUND)
    yield Shape(((0, level), (width, level)), 2, EDGE)


def parts_of(body: Body, shirt: str) -> Iterator[Part]:
    """The pieces of the body in no order."""
    size = body.size
    for side in ("lead", "trail"):
        yield from leg_parts(body, side)
        yield from arm_parts(body, side, shirt)
    yield Part((body.lead_hip, body.trail_hip), 20 * size, TROUSERS)
    corners = (body.lead_shoulder, body.trail_shoulder, body.trail_hip, body.lead_hip)
    yield Part(corners, 0, shirt, 1)
    yield Part((body.lead_shoulder, body.trail_shoulder), 13 * size, shirt, 1)
    yield Part((body.hips, body.neck), 22 * size, shirt, 1)
    yield Part((body.neck, body.head), 9 * size, SKIN)
    yield Part((body.head,), 2 * HEAD * size, SKIN, 2)
    crown = add(body.head, unit(add(body.head, body.neck, -1)), HEAD * size / 3)
    yield Part((crown,), 1.85 * HEAD * size, TROUSERS, 3)
    yield Part((crown, body.peak), 4 * size, TROUSERS, 4)
    yield from club_parts(body)


def leg_parts(body: Body, side: str) -> Iterator[Part]:
    """Thigh, shin and shoe, with the joints."""
    size = body.size
    heel, toe, ankle, knee, hip = (getattr(body, f"{side}_{name}") for name in ("heel", "toe", "ankle", "knee", "hip"))
    sole = 3.5 * size
    yield Part((hip, knee), 15 * size, TROUSERS)
    yield Part((knee, ankle), 12 * size, TROUSERS, 0.1)
    yield Part((knee,), 8 * size, JOINT, 0.2)
    yield Part((raised(heel, sole), raised(toe, sole)), 2 * sole, SHOES)


def arm_parts(body: Body, side: str, shirt: str) -> Iterator[Part]:
    """Upper arm in its sleeve, forearm and hand, with the joints."""
    size = body.size
    shoulder, elbow = getattr(body, f"{side}_shoulder"), getattr(body, f"{side}_elbow")
    yield Part((elbow, body.hands), 7 * size, SKIN)
    yield Part((shoulder, elbow), 10 * size, shirt, 2)
    yield Part((shoulder, elbow), 2 * size, JOINT, 2.1)
    yield Part((elbow,), 6 * size, JOINT, 2.2)
    yield Part((body.hands,), 9 * size, SKIN, 3)


def club_parts(body: Body) -> Iterator[Part]:
    """Shaft and head of the club, and the ball with its edge."""
    yield Part((body.handle, body.hands), 3, SHAFT)
    yield Part((body.hands, body.club_head), 1.5, SHAFT, 2)
    yield Part((raised(body.club_head, 1.4), raised(body.toe, 1.4)), 2.8, SHAFT, 1)
    middle = raised(body.ball, BALL)
    yield Part((middle,), 2 * BALL, SHOES, 4)
    yield Part((middle,), 2 * BALL - 0.7, WHITE, 5)


def raised(point: Point, up: float) -> Point:
    """The point so much higher."""
    return (point[0], point[1], point[2] + up)
