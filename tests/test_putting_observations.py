"""Records of putts: what cannot be is refused, nothing changes nothing, and two tests from one distance are one."""

from collections.abc import Callable
from math import inf, log, nan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drills.putting.model import Likelihood
from drills.putting.observations import Counted, Gated, Leaves, Observation, pool
from tests.test_putting_model import MODEL_3, anyone, distances

# --- Bad input ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "observation",
    [
        lambda: Counted(2, 5, 6),
        lambda: Counted(2, 5, -1),
        lambda: Counted(2, -1, 0),
        lambda: Counted(2, 5, 3, short=3),
        lambda: Counted(2, 5, 3, push=2, pull=1),
        lambda: Counted(2, 5, 3, push=-1),
        lambda: Counted(2, nan, 0),
        lambda: Counted(2, inf, 0),
        lambda: Counted(2, 5, nan),
        lambda: Counted(2, 5, 3, push=nan),
        lambda: Leaves(2, (nan,), 0.9),
        lambda: Leaves(2, (inf,), 0.9),
        lambda: Leaves(2, (-3.5,), 0.9),
        lambda: Leaves(2, (0.5,), 0.0),
        lambda: Leaves(2, (0.5,), nan),
        lambda: Leaves(2, (0.5,), 0.9, holed=-1),
        lambda: Leaves(2, (0.5,), 0.9, holed=1, hole=False),
        lambda: Gated(1, 0.04, 5),
        lambda: Gated(1, nan, 5),
        lambda: Gated(1, 0.1, -5),
        lambda: Gated(1, 0.1, 5, push=nan),
    ],
)
def test_what_cannot_be_is_refused(observation: Callable[[], Observation]) -> None:
    with pytest.raises(ValueError):
        observation()


@pytest.mark.parametrize("distance", [0, -1, 61, nan, inf])
def test_a_putt_that_cannot_be_is_refused(distance: float) -> None:
    for observation in (
        lambda: Counted(distance, 5, 3),
        lambda: Leaves(distance, (0.5,), 0.9),
        lambda: Gated(distance, 0.1, 5),
    ):
        with pytest.raises(ValueError):
            observation()


def test_no_balls_say_nothing() -> None:
    for nothing in ([], [Counted(2, 0, 0)], [Gated(1, 0.1, 0), Leaves(3, (), 0.9)]):
        with pytest.raises(ValueError, match="no balls"):
            Likelihood(nothing)


def test_an_empty_record_changes_nothing() -> None:
    some = [Counted(2, 8, 5, short=1, push=1), Gated(1, 0.1, 5, 2)]
    theta = MODEL_3 + 0.1
    more = [*some, Counted(4, 0, 0, 0, 0, 0), Gated(2, 0.1, 0), Leaves(3, (), 0.9)]
    assert Likelihood(more).log_likelihood(theta) == pytest.approx(Likelihood(some).log_likelihood(theta))


def test_two_tests_from_one_distance_are_one() -> None:
    two = [Counted(2, 8, 5, 1, 1, None), Counted(2, 4, 1, 2, None, 1), Gated(1, 0.1, 3, 1), Gated(1, 0.1, 4, 0, 2)]
    assert pool(two) == [Counted(2, 12, 6, 3, 1, 1), Gated(1, 0.1, 7, 1, 2)]
    apart = [Counted(2, 8, 5), Counted(2, 8, 5, 1), Leaves(2, (0.5,), 0.5), Leaves(2, (0.9,), 0.9)]
    assert pool(apart) == apart
    assert pool([Leaves(2, (0.5,), 0.5, 1), Leaves(2, (1.0,), 0.5, 2)]) == [Leaves(2, (0.5, 1.0), 0.5, 3)]
    assert pool([Counted(2, 8, 5), Counted(2, 4, 1)])[0].push is None


@given(
    anyone, st.lists(st.tuples(distances, st.integers(0, 30), st.floats(0, 1), st.floats(0, 1)), min_size=1, max_size=4)
)
@settings(max_examples=300, deadline=None)
def test_no_putter_and_no_test_come_to_no_number(
    theta: np.ndarray, rows: list[tuple[float, int, float, float]]
) -> None:
    """However unlikely, also of a robot that never errs and of someone who sprays them."""
    observations = []
    for distance, tried, hit, part in rows:
        missed = tried - round(hit * tried)
        observations.append(
            Counted(distance, tried, tried - missed, round(part * missed), round((1 - part) * missed), 0)
        )
    if not any(observation.tried for observation in observations):
        return
    wild = np.vstack([theta, [[log(0.1), 8, log(0.005), 0.6]], [[log(15), -8, 0, -0.6]]])
    assert np.isfinite(Likelihood(observations).log_likelihood(wild)).all()
    assert np.isfinite(Likelihood(observations).grid_log_likelihood(wild, wild)).all()


@pytest.mark.parametrize("past", [-6.0, -7.0, float("inf"), float("nan")])
def test_a_putt_is_meant_to_roll(past: float) -> None:
    with pytest.raises(ValueError):
        Leaves(6.0, (0.5,), 0.5, past_m=past)
    with pytest.raises(ValueError):
        Counted(6.0, 10, 5, past_m=past)


def test_putts_with_different_aims_are_not_pooled() -> None:
    assert len(pool([Leaves(6.0, (0.5,), 0.5, past_m=0.0), Leaves(6.0, (0.5,), 0.5)])) == 2
    assert len(pool([Leaves(6.0, (0.5,), 0.5, past_m=0.3048), Leaves(6.0, (0.5,), 0.5)])) == 1
