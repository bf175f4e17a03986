"""What the page of results says of simulated players, beside its marks: biases, lines, reads, tails, good putters."""

from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np
from scipy.stats import norm, t

from drills.putting.coach_text import NAMES, READ, line_at_hole, pace_bias, worth_most
from drills.putting.normal import Array
from drills.putting.observations import Observation
from drills.putting.predictions import ERROR_KINDS, ErrorKind, PutterEstimate, compare_gains
from drills.putting.putts import gains_near
from drills.putting.scenarios import Draw, Player, normal, one_wild_in_ten, t3
from drills.putting.unit_formatter import UnitFormatter
from drills.scored_tests.results.estimates import PuttingResult, result_of
from lessons.progress.scenarios import Row

METRES = UnitFormatter("m", "right")
WILD_WIDTH = 1.0959  # two of three of `one_wild_in_ten` lie within so many standard deviations of the tame ones
WIDTHS: dict[str, tuple[Draw, float]] = {
    "normal": (normal, 1.0),
    "t with 3": (t3, float(t(3).ppf(norm.cdf(1)))),
    "one wild in ten": (one_wild_in_ten, WILD_WIDTH),
}


def putter_rows(tries: int, seed: int = 14) -> Iterator[Row]:
    """Every scenario with half as many players, since each takes about half a second in all."""
    players = max(1, tries // 2)
    yield from bias_rows(players, seed)
    yield from line_rows(4 * players, seed)  # a ladder alone takes a quarter of the time
    yield from read_rows(players, seed)
    yield from tail_rows(players, seed)
    yield from fit_rows(players, seed)


def results(test: Callable[[Player], list[Observation]], players: int, seed: int, **life: Any) -> list[PuttingResult]:
    """What so many players of one kind are told after a test."""
    rng = np.random.default_rng(seed)
    return [result_of(test(Player(rng, **life))) for _ in range(players)]


def estimates(found: Sequence[PuttingResult]) -> list[PutterEstimate]:
    """The estimates of those with balls enough."""
    return [each.estimate for each in found if each.estimate]


def share_row(name: str, said: Sequence[bool], mark: str) -> Row:
    """How many of those asked were told so."""
    return Row(name, sum(said) / len(said), mark)


# --- Scenarios ----------------------------------------------------------------------------------


def leads_near(result: PuttingResult) -> str:
    """What the page says is worth most near the hole."""
    draws: Array = result.posterior.draws if result.posterior else np.zeros((1, 4))
    return worth_most(compare_gains(dict(zip(ERROR_KINDS, gains_near(draws), strict=True))))


def leads(said: Sequence[str], kind: ErrorKind) -> list[bool]:
    """Whether this error alone is named."""
    return [not words.startswith("Cannot") and NAMES[kind] in words.lower() for words in said]


def bias_rows(players: int, seed: int) -> Iterator[Row]:
    """A putter of 1.5 degrees and 8 %: 10 % short, steady, and one of a degree who pulls."""
    few = [leads_near(each) for each in results(Player.all_three, players, seed, line=1.5, pace=0.08, long=-0.1)]
    many = [leads_near(each) for each in results(Player.all_twice, players, seed, line=1.5, pace=0.08, long=-0.1)]
    yield share_row("10% short, 80 balls: start line leads", leads(few, "line"), "<= 5%")
    yield share_row("10% short, 80 balls: length leads", leads(few, "pace_bias"), "printed")
    yield share_row("10% short, 140 balls: start line leads", leads(many, "line"), "<= 5%")
    yield share_row("10% short, 140 balls: length leads", leads(many, "pace_bias"), ">= 50%")
    steady = [leads_near(each) for each in results(Player.all_three, players, seed, line=1.5, pace=0.08)]
    yield share_row("steady, wild line: start line leads", leads(steady, "line"), ">= 80%")
    pulls = [leads_near(each) for each in results(Player.all_three, players, seed, line=1.0, pace=0.08, push=-1.2)]
    yield share_row("pulls by 1.2 degrees: side leads", leads(pulls, "line_bias"), ">= 80%")


def line_rows(players: int, seed: int) -> Iterator[Row]:
    """Ladders without a bias, to a line and to zones, and one that is short."""
    yield share_row("ladder to a line: short or long", are_biased(Player.ladder, players, seed), "<= 7%")
    yield share_row("ladder to a zone: short or long", are_biased(Player.zones, players, seed), "<= 7%")
    yield share_row("ladder 8% short: short or long", are_biased(Player.ladder, players, seed, long=-0.08), ">= 90%")


def are_biased(test: Callable[[Player], list[Observation]], players: int, seed: int, long: float = 0.0) -> list[bool]:
    """Whether the page calls each of them short or long."""
    found = estimates(results(test, players, seed, line=1.5, pace=0.06, long=long))
    said = [pace_bias(each.pace_bias, METRES).text for each in found if each.pace_bias]
    return [not words.startswith("Neither") for words in said]


def read_rows(players: int, seed: int) -> Iterator[Row]:
    """A stroke of 0.8 degrees with reads off by 1.5, and with none."""
    found = estimates(results(Player.all_three, players, seed, line=0.8, pace=0.08, read=1.5))
    covered = [bool(each.line and each.line.low <= 0.8 <= each.line.high) for each in found]
    yield share_row("misreads by 1.5: stroke of 0.8 covered", covered, ">= 93%")
    yield share_row("misreads by 1.5: read or aim named", [is_read_named(each) for each in found], ">= 65%")
    found = estimates(results(Player.all_three, players, seed, line=1.5, pace=0.08))
    yield share_row("no misreads: read or aim named", [is_read_named(each) for each in found], "<= 7%")


def is_read_named(estimate: PutterEstimate) -> bool:
    """Whether the page says that the line at the hole is off by read or aim."""
    note = line_at_hole(estimate.at_hole, METRES).note if estimate.at_hole else ""
    return READ in note or "aim or read" in note


def tail_rows(players: int, seed: int) -> Iterator[Row]:
    """The width that holds two of three balls, whatever the tails."""
    for name, (draw, width) in WIDTHS.items():
        found = estimates(results(Player.all_three, players, seed, line=1.5, pace=0.1, draw=draw))
        paces = [each.pace for each in found if each.pace]
        ratio = np.median([each.middle for each in paces]) / (0.1 * width)
        yield Row(f"{name}: width of two thirds, said over true", float(ratio), "93-107%")
        covered = [each.low <= 0.1 * width <= each.high for each in paces]
        yield share_row(f"{name}: width covered", covered, ">= 93%" if draw is normal else "printed")


def fit_rows(players: int, seed: int) -> Iterator[Row]:
    """Good putters who are told that the model describes them poorly."""
    for name, test in (("all three tests", Player.all_three), ("ladder", Player.ladder), ("leaves", Player.leaves)):
        found = estimates(results(test, players, seed, line=0.7, pace=0.05))
        yield share_row(f"good putter, {name}: poorly described", [not each.fits_model for each in found], "<= 7%")
