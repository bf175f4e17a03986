"""Pure: what is measured in a still, from points in its pixels, with how sure each value is.

`kinds` says what can be measured and which points it needs, `plane` turns pixels into the plane of the ball, `circle`
fits the ball's edge, `estimate` computes a value with its uncertainty, `shown` writes both no finer than they are,
and `marks` says what is drawn over the picture.
"""

from lessons.measuring.estimate import Estimate, estimate
from lessons.measuring.kinds import Kind
from lessons.measuring.marks import Marks, marks_for
from lessons.measuring.plane import Frame, MeasuringError, Point
from lessons.measuring.shown import ONE_CAMERA, Shown, shown

__all__ = [
    "ONE_CAMERA",
    "Estimate",
    "Frame",
    "Kind",
    "Marks",
    "MeasuringError",
    "Point",
    "Shown",
    "estimate",
    "marks_for",
    "shown",
]
