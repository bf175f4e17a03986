"""The prior of a putter: what is believed before any ball, for players of all levels. Wide, and stated on the page."""

import numpy as np

from drills.putting.model import Array

# 95 % of the prior, for players of all levels: a start-line error of 0.5 to 6.5 degrees, a pace error of 1.7 to 58 %,
# biases of up to 2 degrees and 16 %. In the order LINE, LINE_BIAS, PACE, PACE_BIAS of `normal.py`.
PRIOR_MEAN: Array = np.array([np.log(1.8), 0.0, np.log(0.1), 0.0])
PRIOR_SD: Array = np.array([0.65, 1.0, 0.9, 0.08])


def log_prior(sets: Array) -> Array:
    """The log of the prior density of parameter sets (n x 4), up to a constant."""
    logs: Array = -0.5 * (((sets - PRIOR_MEAN) / PRIOR_SD) ** 2).sum(axis=1)
    return logs
