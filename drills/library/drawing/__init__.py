"""Drawings of drills: a small description in cm, checked and drawn as SVG for a player's side."""

from drills.library.drawing.checks import Problem, check
from drills.library.drawing.draw import Svg, draw, rendered

__all__ = ["Problem", "Svg", "check", "draw", "rendered"]
