"""The curve of putts holed in numbers: estimated, counted, and the published averages where they are printed."""

from dataclasses import dataclass

import numpy as np

from drills.putting import predictions
from drills.putting.posterior import Estimate
from drills.putting.published import CLUB_PLAYERS, PROFESSIONALS, Published, published_share
from drills.putting.unit_formatter import UnitFormatter, interval
from drills.putting.units import from_metres
from drills.scored_tests.results.estimates import PuttingResult
from lessons.progress.intervals import Share
from lessons.progress.sentences import percent

# The distances of every table, in metres; common practice, no source.
TABLE_M = {"m": (1.0, 2.0, 3.0, 6.0), "ft": (0.9144, 1.524, 3.048, 6.096)}


@dataclass(frozen=True)
class CurveRow:
    """The share holed from one distance; `interval` is that of the estimate."""

    distance: str
    estimated: str
    interval: str
    counted: str
    professionals: str
    club_players: str


def curve_rows(putting: PuttingResult, units: UnitFormatter) -> list[CurveRow]:
    """A row for each distance that was counted, and for those of every table; none if nothing can be predicted."""
    if putting.posterior is None or not putting.predicts_holed:
        return []
    counts = {round(distance, 4): share for distance, share in putting.holed_by_distance.items()}
    distances = sorted({*counts, *TABLE_M[units.unit]})
    curve = predictions.make_curve(putting.posterior.draws, distances)
    return [curve_row(m, estimate, counts.get(m), units) for m, estimate in zip(distances, curve, strict=True)]


def curve_row(distance_m: float, estimate: Estimate, share: Share | None, units: UnitFormatter) -> CurveRow:
    """One distance."""
    return CurveRow(
        distance=units.length(distance_m),
        estimated=percent(estimate.middle),
        interval=interval(estimate),
        counted=f"{share.seen} of {share.of}" if share else "",
        professionals=published_words(PROFESSIONALS, distance_m),
        club_players=published_words(CLUB_PLAYERS, distance_m),
    )


def published_words(published: Published, distance_m: float) -> str:
    """A published share, only between the printed distances."""
    feet = list(published.percent_by_feet)
    is_printed = feet[0] - 0.01 <= from_metres(distance_m, "ft") <= feet[-1] + 0.01
    return percent(float(published_share(published, np.array([distance_m]))[0])) if is_printed else ""
