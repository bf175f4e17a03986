"""Two pictures at one scale: the similarity by which two points of one fall on the same two of the other. Pure.

A point is a complex number, pixels across plus i times pixels down, so that turning and scaling are one multiplication.
"""

from collections.abc import Sequence
from dataclasses import dataclass

LEAST_APART = 0.05  # of the long edge: nearer points, a pixel off, would turn the picture by a degree and more
MOST_SCALE = 4.0  # beyond it the two points are hardly the same
Size = tuple[int, int]


class CannotAlign(ValueError):
    """Points by which nothing can be aligned; its words are for whoever chose them."""


@dataclass(frozen=True)
class Similarity:
    """Rotation and scale in one number, then a shift: `factor * point + shift`."""

    factor: complex = 1
    shift: complex = 0

    def __call__(self, point: complex) -> complex:
        """Where a point comes to lie."""
        return self.factor * point + self.shift

    @property
    def scale(self) -> float:
        """How many times larger the picture becomes."""
        return abs(self.factor)

    @property
    def matrix(self) -> str:
        """The same as SVG writes it: matrix(a b c d e f) of SVG 1.1, 7.6."""
        factor, shift = self.factor, self.shift
        numbers = (factor.real, factor.imag, -factor.imag, factor.real, shift.real, shift.imag)
        return f"matrix({' '.join(map(written, numbers))})"


def written(number: float) -> str:
    """A number for SVG: six places, so that a point of a large picture lies within a hundredth of a pixel."""
    return f"{number + 0:.6f}".rstrip("0").rstrip(".").replace("-0", "0", number == 0)


def mirror(size: Size) -> str:
    """What shows a picture as in a mirror, as SVG writes it."""
    return f"matrix(-1 0 0 1 {size[0]} 0)"


def pixels(points: Sequence[Sequence[float]], size: Size) -> list[complex]:
    """Points in percent across and down, in pixels of a picture of this size."""
    return [complex(across / 100 * size[0], down / 100 * size[1]) for across, down in points]


def align(points: Sequence[complex], onto: Sequence[complex]) -> Similarity:
    """The one similarity, without a mirror, that brings the first two points onto the other two."""
    (first, second), (first_onto, second_onto) = points, onto
    factor = (second_onto - first_onto) / (second - first)
    return Similarity(factor, first_onto - factor * first)


def check(points: Sequence[complex], size: Size, onto: Sequence[complex], onto_size: Size) -> None:
    """Raise CannotAlign, with words, for two points that are too close, or that can hardly be the same."""
    for two, of in ((points, size), (onto, onto_size)):
        if abs(two[1] - two[0]) < LEAST_APART * max(of):
            raise CannotAlign("The two points of one picture are too close. Choose two that are further apart.")
    scale = align(points, onto).scale * max(size) / max(onto_size)
    if not 1 / MOST_SCALE <= scale <= MOST_SCALE:
        raise CannotAlign("These cannot be the same two points: one picture would be more than four times as large.")


def fit(size: Size, frame: Size) -> Similarity:
    """The whole picture in the middle of a frame, as large as it goes."""
    scale = min(frame[0] / size[0], frame[1] / size[1])
    room = complex(frame[0] - scale * size[0], frame[1] - scale * size[1])
    return Similarity(scale, room / 2)
