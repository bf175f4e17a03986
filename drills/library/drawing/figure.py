"""Where the joints of a player are in a view from the side, in cm: enough of a body to show how one stands.

The proportions are those of a grown-up of about 170 cm who bends over the ball: common practice, no source.
"""

from math import sqrt
from typing import NamedTuple

from drills.library.drawing.pieces import FACE_ON, Piece

LEG, TRUNK, NECK, HEAD = 84.0, 52.0, 17.0, 10.0  # the head is a circle of this radius
UPRIGHT_TRUNK = 44.0  # as high as the trunk of somebody who bends over looks from the front
HIP_WIDTH, SHOULDER_WIDTH = 24.0, 36.0
HIPS_BACK = 0.4  # of the lean: who bends forward moves the hips back

Point = tuple[float, float]


class Figure(NamedTuple):
    """The lines of the body, its head, the way of the arms, and the club from the hands to its head."""

    lines: tuple[tuple[Point, ...], ...]
    head: Point
    arms: tuple[tuple[Point, ...], ...]
    club: tuple[Point, Point]

    @property
    def points(self) -> list[Point]:
        """Every joint, and the edge of the head all round."""
        x, y = self.head
        around = [(x - HEAD, y), (x + HEAD, y), (x, y + HEAD)]
        return [*around, *(point for line in (*self.lines, *self.arms, self.club) for point in line)]


def figure_of(player: Piece, view: str) -> Figure:
    """The figure as the view shows it."""
    return from_the_front(player) if view == FACE_ON else from_behind(player)


def from_the_front(player: Piece) -> Figure:
    """Two legs, hips, trunk, shoulders and two arms; bent knees lower all of it and point outwards."""
    x, lean, knee = player.number("x"), player.number("lean"), player.number("knee")
    hip = (x + lean / 2, LEG - knee / 2)
    shoulder = (x + lean, hip[1] + UPRIGHT_TRUNK)
    legs = tuple(
        leg(x + side * player.number("size") / 2, beside(hip, side * HIP_WIDTH / 2), side * knee / 2)
        for side in (-1, 1)
    )
    shoulders = [beside(shoulder, side * SHOULDER_WIDTH / 2) for side in (-1, 1)]
    head = (player.number("head_x", shoulder[0] + lean * NECK / 2 / UPRIGHT_TRUNK), shoulder[1] + NECK)
    trunk = ((hip, shoulder), (beside(hip, -HIP_WIDTH / 2), beside(hip, HIP_WIDTH / 2)), tuple(shoulders))
    return Figure((*legs, *trunk), head, tuple((end, hands_of(player)) for end in shoulders), club_of(player))


def from_behind(player: Piece) -> Figure:
    """One leg, trunk and arm: from behind the ball the one hides the other. The toes point away from the player."""
    x, lean, size, knee = player.number("x"), player.number("lean"), player.number("size"), player.number("knee")
    hip = (x - HIPS_BACK * lean, LEG - knee / 2)
    across = min(abs(lean) * (1 + HIPS_BACK), TRUNK)
    shoulder = (x + lean, hip[1] + sqrt(TRUNK**2 - across**2))
    forward = (shoulder[0] - hip[0]) / TRUNK
    head = (player.number("head_x", shoulder[0] + forward * NECK), shoulder[1] + NECK * (1 - abs(forward) / 2))
    shoe = ((x - size / 2, 0.0), (x + size / 2, 0.0))
    lines = (shoe, leg(x - size / 4, hip, knee), (hip, shoulder))
    return Figure(lines, head, ((shoulder, hands_of(player)),), club_of(player))


def leg(foot_x: float, hip: Point, knee: float) -> tuple[Point, ...]:
    """A leg from the ground to the hip, the knee so far to one side."""
    return (foot_x, 0.0), ((foot_x + hip[0]) / 2 + knee, hip[1] / 2), hip


def beside(point: Point, by: float) -> Point:
    """The point so far beside another."""
    return point[0] + by, point[1]


def hands_of(player: Piece) -> Point:
    """Where the hands are."""
    return player.number("hands_x"), player.number("hands_y")


def club_of(player: Piece) -> tuple[Point, Point]:
    """The club from the hands to its head."""
    return hands_of(player), (player.number("club_x"), player.number("club_y"))
