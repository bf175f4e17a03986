"""The academy's tests as a phone keeps them: the usual plan, the pad of every station, and texts for either side."""

from collections.abc import Callable
from dataclasses import asdict
from typing import Any

from coachbook.accounts.models import Academy, Coach, Side
from drills.models import Design, ScoredTest
from drills.putting.lengths import format_length, format_lengths, format_steps, unit_of
from drills.putting.units import METRES, Unit
from drills.scored_tests.recording.pad import pad_for
from drills.scored_tests.stations import Station, even_plan
from drills.scored_tests.wording import aim_words
from lessons.wording import render

TEXTS = ("name", "purpose", "setup", "note", "caution")


def designs_for(academy: Academy, coach: Coach | None, reads: Callable[[str], str] = str) -> list[dict[str, Any]]:
    """Those that are offered; `reads` puts their words as the reader knows them. One query."""
    unit = unit_of(academy.units)
    return [design_words(row, unit, reads) for row in Design.offered_to(coach).order_by("-area", "position")]


def design_words(design: Design, unit: Unit, reads: Callable[[str], str]) -> dict[str, Any]:
    """A test, played as it usually is."""
    plan = even_plan(design.distances_m, design.balls)
    place = "from each of" if len(design.distances_m) > 1 else "from"
    return {
        "id": design.pk,
        "area": design.area,
        "texts": {side: {name: reads(render(getattr(design, name), side)) for name in TEXTS} for side in Side.values},
        "usual": f"{design.balls} balls {place} {format_lengths(design.distances_m, unit)}",
        "aim": reads(aim_words(design, unit)),
        "plan": plan.word,
        "stations": [station_words(design, station, unit) for station in plan.stations],
    }


def station_words(design: Design, station: Station, unit: Unit) -> dict[str, Any]:
    """How many balls from where, and the buttons for each; leaves are counted in steps."""
    test = ScoredTest(design=design, step_m=METRES["step"], side=Side.RIGHT)
    where = f"{format_length(station.distance_m, unit)} ({format_steps(station.distance_m)})"
    return {"balls": station.balls, "where": where, **asdict(pad_for(test, station.distance_m))}
