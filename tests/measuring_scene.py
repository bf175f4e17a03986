"""A scene of known geometry, drawn by a pinhole camera, in which a test finds its points again by their grey.

Lengths are centimetres in an upright plane through the ball: right and up from the ball. The camera stands before the
plane, turned a little from level and straight.
"""

import math
from dataclasses import dataclass, field

import numpy as np
from PIL import Image, ImageDraw

from lessons.measuring import Frame, Point

FRAME = Frame(1200, 1600)
BALL_CM = 4.267
MARK_CM = 1.0
BALL_GREY = 250
BALL_REACH = 40  # no ball is seen larger, in pixels from its middle


@dataclass
class Scene:
    """Where the camera stands (cm from the plane, right and up in it), its lens, and how it is turned, in degrees."""

    away: float = 210.0
    right: float = 0.0
    up: float = 90.0
    focal: float = 0.75  # in lengths of the long side of the picture
    pitch: float = 0.0
    yaw: float = 0.0
    roll: float = 0.0
    marks: list[tuple[float, float]] = field(default_factory=list)

    def drawn(self) -> np.ndarray:
        """The picture: each mark is a disc of its own grey, the ball a sphere of another."""
        image = Image.new("L", (FRAME.width, FRAME.height), 200)
        pen = ImageDraw.Draw(image)
        for grey, (x, y) in enumerate(self.marks, start=1):
            disc = [(x + MARK_CM * math.cos(angle), y + MARK_CM * math.sin(angle), 0.0) for angle in around(48)]
            pen.polygon([self.seen(spot) for spot in disc], fill=grey)
        picture = np.array(image)
        right, down = map(int, self.seen((0.0, 0.0, 0.0)))
        near = np.s_[down - BALL_REACH : down + BALL_REACH, right - BALL_REACH : right + BALL_REACH]
        rows, columns = np.mgrid[near]
        picture[near][self.hits_ball(rows, columns)] = BALL_GREY
        return picture

    def hits_ball(self, down: np.ndarray, right: np.ndarray) -> np.ndarray:
        """Whether the ray through the middle of each pixel meets a ball whose middle is the origin of the plane."""
        focal = self.focal * FRAME.height
        rays = np.stack([right + 0.5 - FRAME.width / 2, down + 0.5 - FRAME.height / 2, np.full(down.shape, focal)])
        ball = turn_matrix(self.pitch, self.yaw, self.roll) @ np.array([-self.right, self.up, self.away])
        along = np.tensordot(ball, rays, 1)
        missed = ball @ ball - along**2 / (rays**2).sum(axis=0)
        return missed <= (BALL_CM / 2) ** 2

    def seen(self, spot: tuple[float, float, float]) -> tuple[float, float]:
        """Where the camera shows a place: pixels from the left and from the upper edge."""
        ray = turn_matrix(self.pitch, self.yaw, self.roll) @ np.array(
            [spot[0] - self.right, self.up - spot[1], spot[2] + self.away]
        )
        focal = self.focal * FRAME.height
        return FRAME.width / 2 + focal * ray[0] / ray[2], FRAME.height / 2 + focal * ray[1] / ray[2]


def turn_matrix(pitch: float, yaw: float, roll: float) -> np.ndarray:
    """The rotation from the level camera's axes (right, down, ahead) to those of a turned one."""
    a, b, c = np.radians([pitch, yaw, roll])
    about_x = np.array([[1, 0, 0], [0, math.cos(a), -math.sin(a)], [0, math.sin(a), math.cos(a)]])
    about_y = np.array([[math.cos(b), 0, math.sin(b)], [0, 1, 0], [-math.sin(b), 0, math.cos(b)]])
    about_z = np.array([[math.cos(c), -math.sin(c), 0], [math.sin(c), math.cos(c), 0], [0, 0, 1]])
    return about_z @ about_x @ about_y


def around(count: int) -> list[float]:
    """Angles all round, in radians."""
    return [2 * math.pi * index / count for index in range(count)]


def find_marks(picture: np.ndarray, count: int) -> list[Point]:
    """The middle of each mark, as somebody would place a point who sees perfectly."""
    found = []
    rows, columns = np.nonzero(picture <= count)
    greys = picture[rows, columns]
    for grey in range(1, count + 1):
        down, right = rows[greys == grey], columns[greys == grey]
        found.append(Point(float(right.mean()) + 0.5, float(down.mean()) + 0.5))
    return found


def find_edge(picture: np.ndarray, count: int) -> list[Point]:
    """Points all round the edge of the ball."""
    down, right = np.nonzero(picture == BALL_GREY)
    middle = Point(float(right.mean()), float(down.mean()))
    angles = np.arctan2(down - middle.y, right - middle.x)
    distances = np.hypot(right - middle.x, down - middle.y)
    edge = []
    for angle in around(count):
        near = np.abs(np.angle(np.exp(1j * (angles - angle)))) < 0.2
        reach = float(distances[near].max()) + 0.2
        edge.append(Point(middle.x + 0.5 + reach * math.cos(angle), middle.y + 0.5 + reach * math.sin(angle)))
    return edge


def tapped(points: list[Point], random: np.random.Generator, sigma: float = 2.0) -> list[Point]:
    """The points as a finger places them."""
    return [Point(point.x + random.normal(0, sigma), point.y + random.normal(0, sigma)) for point in points]
