"""Putters drawn and estimated: the truth is to lie inside a 95 % interval in 93 to 98 of 100.

`manage.py calibrate` draws a thousand for every test; here are fewer, and a share may stray by three standard errors.
"""

from io import StringIO

import numpy as np
import pytest
from django.core.management import call_command
from scipy.stats import kstest, norm, uniform

from drills.putting import calibration
from drills.putting.calibration import (
    BIASES,
    TESTS,
    Coverage,
    draw_balls,
    draw_counted_putts,
    draw_gate_balls,
    draw_leaves,
    draw_putter,
    measure_coverage,
    pace_width_ratio,
    without_sides,
)
from drills.putting.hole import gate_error_deg
from drills.putting.observations import Counted
from drills.putting.posterior import Estimate, Posterior

PUTTERS = {"20 leaves, 20 at a gate": 400, "30 putts, all noted": 100, "120 putts, holed or short": 150}


def is_calibrated(found: Coverage) -> bool:
    known = [share for share in found.shares if share is not None]
    return all(0.93 - 3 * found.error <= share <= 0.98 + 3 * found.error for share in known)


@pytest.mark.parametrize("name", PUTTERS)
def test_the_intervals_cover_the_truth(name: str) -> None:
    assert is_calibrated(measure_coverage(TESTS[name], PUTTERS[name], seed=1))


def narrow(found: Posterior) -> list[Estimate]:
    """Intervals that are too narrow: half as wide."""
    return [
        Estimate(each.middle, (each.low + each.middle) / 2, (each.high + each.middle) / 2)
        for each in real_estimates(found)
    ]


real_estimates = calibration.interval_estimates


def test_intervals_half_as_wide_would_be_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(calibration, "interval_estimates", narrow)
    assert not is_calibrated(measure_coverage(TESTS["20 leaves, 20 at a gate"], 200, seed=1))


def test_what_is_not_noted_has_no_coverage() -> None:
    assert measure_coverage(TESTS["120 putts, holed or short"], 2, seed=1).shares[1] is None


def test_noting_the_short_ones_halves_the_pace_interval() -> None:
    """On a log scale from 60 putts on, and as it is from 240: with fewer, what is known of players narrows both."""
    assert pace_width_ratio(40, 60, seed=1).log <= 0.5
    many = pace_width_ratio(20, 240, seed=1)
    assert many.log <= 0.5 and many.plain <= 0.5


# --- What is drawn ------------------------------------------------------------------------------


def test_putters_are_of_all_levels() -> None:
    rng = np.random.default_rng(1)
    drawn = np.array([draw_putter(rng) for _ in range(2000)])
    for at, (least, most) in {0: (0.8, 4), 2: (0.05, 0.25)}.items():
        assert kstest(drawn[:, at], uniform(np.log(least), np.log(most / least)).cdf).pvalue > 0.01
    for at, spread in {1: 0.5, 3: 0.05}.items():
        assert kstest(drawn[:, at], norm(0, spread).cdf).pvalue > 0.01
    assert (draw_putter(rng, biased=False)[[1, 3]] == 0).all() and BIASES.tolist() == [0.5, 0.05]


def test_balls_become_what_was_noted() -> None:
    theta = np.array([np.log(2.0), 0.3, np.log(0.15), 0.02])
    lines, stops, dropped = draw_balls(np.random.default_rng(4), theta, 3.0, 50)
    seen = draw_counted_putts(np.random.default_rng(4), theta, 3.0, 50)
    assert (seen.tried, seen.holed, seen.short) == (50, dropped.sum(), (stops < 0).sum())
    assert (seen.push, seen.pull) == ((~dropped & (lines > 0)).sum(), (~dropped & (lines <= 0)).sum())
    assert without_sides(seen) == Counted(3.0, 50, seen.holed, seen.short)
    measured = draw_leaves(np.random.default_rng(4), theta, 3.0, 50, 0.9)
    assert measured.holed == dropped.sum()
    assert np.abs(np.array(measured.leaves_m) - np.maximum(stops[~dropped], -3)).max() <= 0.45 + 1e-9
    through = draw_gate_balls(np.random.default_rng(4), theta, 1.0, 50, 0.1)
    assert (through.passed, through.passed + through.push + through.pull) == (
        (np.abs(lines) <= gate_error_deg(1.0, 0.1)).sum(),
        50,
    )


def test_the_same_seed_draws_the_same() -> None:
    assert measure_coverage(TESTS["20 leaves, 20 at a gate"], 5, 3) == measure_coverage(
        TESTS["20 leaves, 20 at a gate"], 5, 3
    )


# --- The command --------------------------------------------------------------------------------


def test_the_command_reports_putters(monkeypatch: pytest.MonkeyPatch) -> None:
    command = "coachbook.management.commands.calibrate"
    for name in ("cover", "alarm", "fade"):
        monkeypatch.setattr(f"{command}.Command.{name}", lambda *_: None)
    monkeypatch.setattr(f"{command}.TESTS", {name: TESTS[name] for name in PUTTERS})
    out = StringIO()
    call_command("calibrate", histories=12, stdout=out)
    printed = out.getvalue()
    for words in ("93-98%", "start line", "20 leaves", "silent", "One standard error", "240 putts with short ones"):
        assert words in printed
