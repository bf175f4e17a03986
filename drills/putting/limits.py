"""What the sentences of a putter rest on and what they assume, which a page writes as large as its results."""

from collections.abc import Sequence

import numpy as np

from drills.putting.coach_text import degrees
from drills.putting.green import CAPTURE_MPS, speed_at_hole_mps
from drills.putting.normal import LINE, PACE
from drills.putting.observations import TOLERANCE_M
from drills.putting.posterior import PRIOR, PRIOR_SD
from lessons.progress.sentences import percent
from lessons.progress.words import counted

ASSUMES = (
    "A flat green, and one player from one side.",
    "Every ball is on its own: no tiring, no learning within a test.",
    "Read and aim were as intended: a misread counts as start line.",
    "A ball drops if it starts on a line to the hole and would stop 0 to 3 ft past it (Broadie 2018; Gelman 2019).",
    "An estimate from few balls, not a verdict: what you see in the student goes first.",
)


def assumed() -> list[str]:
    """What it all assumes, with what is thought of a player before any ball."""
    low, high = np.exp(PRIOR - 1.96 * PRIOR_SD), np.exp(PRIOR + 1.96 * PRIOR_SD)
    line, share = f"{degrees(low[LINE])} to {degrees(high[LINE])}", f"{percent(low[PACE])} to {percent(high[PACE])}"
    before = f"Before any ball, errors of {line} and of {share} are thought likely; few balls lean on that."
    return [*ASSUMES[:-1], convention(), before, ASSUMES[-1]]


def convention() -> str:
    """How far the 3 ft are from what physics allows, on slow and fast greens."""
    slow, fast = (speed_at_hole_mps(TOLERANCE_M, stimp_ft) for stimp_ft in (8.0, 12.0))
    return (
        f"The 3 ft are a convention: such a ball meets the hole at {slow:.1f} m/s on a green of 8 ft, at {fast:.1f} m/s"
        f" on one of 12 ft, and up to {CAPTURE_MPS} m/s may drop in the middle (Holmes 1991; Penner 2002)."
    )


def greens(speeds: Sequence[float | None]) -> str:
    """Green speeds of the days, as far as they were noted."""
    noted = sorted({speed for speed in speeds if speed is not None})
    missing = sum(speed is None for speed in speeds)
    if not noted:
        return "Green speed not noted."
    said = f"Green speed {noted[0]:g} ft" if len(noted) == 1 else f"Green speeds {noted[0]:g} to {noted[-1]:g} ft"
    return f"{said}; not noted for {counted(missing, 'test')}." if missing else f"{said}."


def rests(tests: int, putts: int, chips: int) -> str:
    """On how many balls it all rests."""
    balls = [counted(number, word) for number, word in ((putts, "putt"), (chips, "chip")) if number]
    return f"{counted(tests, 'test')}{': ' if balls else ''}{' and '.join(balls)}."
