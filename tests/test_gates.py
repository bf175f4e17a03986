"""The start line by gates alone agrees with the posterior over all four parameters, which takes much longer."""

import numpy as np
import pytest

from drills.putting.gates import gate_posterior
from drills.putting.hole import gate_error_deg
from drills.putting.model import starts
from drills.putting.observations import Gated
from drills.putting.posterior import compute_posterior

GATES = [
    [Gated(1.0, 0.08, passed, push, pull, beside)]
    for passed, push, pull, beside in [(17, 2, 1, 0), (20, 0, 0, 0), (1, 10, 9, 0), (10, 9, 1, 0), (60, 10, 10, 0)]
] + [[Gated(1.0, 0.08, 12, 5, 3), Gated(2.0, 0.1, 4, 9, 7)]]


@pytest.mark.parametrize("gates", GATES)
def test_two_parameters_on_a_grid_are_as_good_as_four(gates: list[Gated]) -> None:
    quick, whole = gate_posterior(gates), compute_posterior(gates)
    for name in ("middle", "low", "high"):
        assert getattr(quick.line_deg, name) == pytest.approx(getattr(whole.line_deg, name), rel=0.04), name
        assert getattr(quick.line_bias_deg, name) == pytest.approx(getattr(whole.line_bias_deg, name), abs=0.06), name


def test_the_next_balls_pass_as_the_draws_say() -> None:
    gates = [Gated(1.0, 0.08, 12, 5, 3)]
    draws, error = compute_posterior(gates).draws, gate_error_deg(1.0, 0.06)
    share = starts(draws, np.array([-error]), np.array([error])).mean()
    assert gate_posterior(gates).share_through(error) == pytest.approx(share, abs=0.01)


@pytest.mark.parametrize("share", [0.6, 0.7, 0.8])
def test_a_gate_is_passed_so_often(share: float) -> None:
    gates = [Gated(1.0, 0.08, 5, 14, 1)]
    draws, error = compute_posterior(gates).draws, gate_error_deg(1.5, gate_posterior(gates).gate_m(1.5, share))
    assert starts(draws, np.array([-error]), np.array([error])).mean() == pytest.approx(share, abs=0.015)
