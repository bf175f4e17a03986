"""What is measured at the looks of the invented year. Pure; all numbers are invented for the demo."""

from collections.abc import Mapping
from random import Random

from coachbook.demo.simulation import Degree

# What a tape, a count or a guess gives where a skill is good, and where a fault of it is slight and clear.
GOOD_MEASURES: dict[str, int] = {
    "chipping-stance-width": 22,
    "putting-stance-width": 34,
    "chipping-weight": 70,
    "putting-finish-hold": 3,
    "chipping-finish-hold": 3,
    "chipping-low-point": 4,
    "putting-length": 30,
    "putting-eye-line": 2,
}
FAULT_MEASURES: dict[str, tuple[int, int]] = {
    "chipping-stance-width-wide": (32, 44),
    "putting-stance-width-wide": (44, 54),
    "chipping-weight-trail": (55, 40),
    "putting-finish-hold-recoils": (1, 0),
    "chipping-finish-hold-lost": (2, 0),
    "chipping-low-point-fat": (0, -4),
    "putting-length-braked": (45, 60),
    "putting-length-hit": (22, 15),
    "putting-eye-line-inside": (5, 8),
}
OFTEN_MEASURED = 0.7


def measure(skill: str, faults: Mapping[str, Degree], step: float, low: float, rng: Random) -> float | None:
    """What is measured of a skill at one look: about what the look shows, and not below `low`; None if nobody does."""
    is_measured = rng.random() < OFTEN_MEASURED
    fault, degree = next(iter(faults.items()), ("", None))
    middle = FAULT_MEASURES[fault][degree == "clear"] if fault in FAULT_MEASURES else GOOD_MEASURES.get(skill)
    if not is_measured or middle is None or (fault and fault not in FAULT_MEASURES):
        return None
    return max(low, middle + step * rng.choice((-1, -0.5, 0, 0, 0.5, 1)) // 1)
