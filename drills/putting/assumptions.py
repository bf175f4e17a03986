"""The assumptions of the model in sentences, and what a page of results rests on: tests, balls, green speeds."""

from collections.abc import Sequence

import numpy as np

from drills.putting.green import CAPTURE_MPS, speed_at_hole_mps
from drills.putting.model import holed
from drills.putting.normal import LINE, PACE
from drills.putting.observations import TOLERANCE_M
from drills.putting.prior import PRIOR_MEAN, PRIOR_SD
from drills.putting.published import Errors, Published
from drills.putting.unit_formatter import UnitFormatter, degrees
from drills.putting.units import METRES
from lessons.progress.sentences import percent
from lessons.progress.words import counted

TOLD_FROM_FT = 8  # where two published figures are set side by side
SLOW_FT, FAST_FT = 8.0, 12.0  # stimp readings of a slow and a fast green; common practice, no source
OF_ALL_TESTS = (
    "A flat green, and one player from one side.",
    "Every ball is on its own: no tiring, no learning within a test.",
    "A gate shows the stroke alone; at a hole read and aim come on top. Without a gate they count as start line.",
    "Gate and hole are read together where they agree; else putts holed are estimated from putts at the hole.",
    "Each test says where a putt is meant to stop: past a hole, at a line, in the middle of a zone.",
    "Where a few balls ran much further or shorter than the rest, one ball in ten is taken as three times as wild.",
)


def assumptions(units: UnitFormatter) -> list[str]:
    """What the model assumes, one sentence each, the prior among them."""
    return [*OF_ALL_TESTS, *drop_convention(units), prior_words()]


def drop_convention(units: UnitFormatter) -> list[str]:
    """How far past the hole a ball may run in the model, and what physics allows on slow and fast greens."""
    slow, fast = (units.speed(speed_at_hole_mps(TOLERANCE_M, stimp_ft)) for stimp_ft in (SLOW_FT, FAST_FT))
    length, fastest = units.length(TOLERANCE_M), units.speed(CAPTURE_MPS)
    physics = f"at {slow} with a stimp of {SLOW_FT:g} and at {fast} with a stimp of {FAST_FT:g}"
    return [
        f"A ball drops if its line meets the hole and it would stop no more than {length} past it.",
        f"Those {length} are a convention of coaches. Such a ball meets the hole {physics}.",
        f"In the middle of the hole a ball of up to {fastest} can drop.",
    ]


def prior_words() -> str:
    """The prior in one sentence: nobody should have to guess it."""
    low, high = np.exp(PRIOR_MEAN - 1.96 * PRIOR_SD), np.exp(PRIOR_MEAN + 1.96 * PRIOR_SD)
    line, share = f"{degrees(low[LINE])} to {degrees(high[LINE])}", f"{percent(low[PACE])} to {percent(high[PACE])}"
    return (
        f"Before any ball, a start-line error of {line} and a pace error of {share} are taken as likely; the fewer the"
        " balls, the more the result leans on that."
    )


def published_curve(errors: Errors, published: Published, units: UnitFormatter) -> str:
    """That published errors do not give the published putts holed, and how many of both from one distance."""
    theta = np.array([[np.log(errors.line_deg), 0.0, np.log(errors.pace), 0.0]])
    made = holed(theta, np.array([TOLD_FROM_FT * METRES["ft"]])).item()
    printed = published.percent_by_feet[TOLD_FROM_FT]
    where = units.length(TOLD_FROM_FT * METRES["ft"])
    return (
        f"The picture shows the printed putts of {published.whose}, {printed}% holed from {where};"
        f" from their printed errors the model would make it {percent(made)}."
    )


def green_speeds(stimps_ft: Sequence[float | None]) -> str:
    """The green speeds of the days, as far as they were noted."""
    noted = sorted({stimp for stimp in stimps_ft if stimp is not None})
    missing = sum(stimp is None for stimp in stimps_ft)
    if not noted:
        return "Green speed not noted."
    words = f"Stimp {noted[0]:g}" if len(noted) == 1 else f"Stimp {noted[0]:g} to {noted[-1]:g}"
    return f"{words}; not noted for {counted(missing, 'test')}." if missing else f"{words}."


def tests_used(tests: int, putts: int, chips: int) -> str:
    """How many tests and balls a page of results uses."""
    balls = [counted(number, word) for number, word in ((putts, "putt"), (chips, "chip")) if number]
    return f"{counted(tests, 'test')}{': ' if balls else ''}{' and '.join(balls)}."
