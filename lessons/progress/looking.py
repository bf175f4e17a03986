"""Looking that changes looks like a change: what the arrivals that nobody looked at might have shown.

Whoever notes only the bad days, or only the good ones, from some day on sees any fault change. So what is said has to
stand if the arrivals on which it was looked at less often than before had shown the opposite: bounds as in Manski
(1990), Am. Econ. Rev. 80, 319-323, named from memory, for those beyond what comes by chance.
"""

from collections.abc import Sequence
from datetime import date

from lessons.progress.intervals import Share
from lessons.progress.points import LOOKED, Level, LookPoint

BY_CHANCE = 0.1  # so much less often it may be looked at without meaning anything. Common practice, no source


def share_looked(points: Sequence[LookPoint]) -> Share:
    """On how many of some arrivals anybody looked."""
    return Share(sum(map(LOOKED, points)), len(points))


def missed(usual: Share, now: Share) -> int:
    """On how many more of `now`'s arrivals it had been looked at, had that been as usual, less what comes by chance."""
    if not usual.of or not now.of:
        return 0
    return max(0, round((usual.rate - now.rate - BY_CHANCE) * now.of))


def missed_since(points: Sequence[LookPoint], begins: date, ends: date) -> int:
    """How many looks the arrivals between two days miss, beside all before that since it was first looked at."""
    first = next((place for place, point in enumerate(points) if point.looked), len(points))
    before = [point for point in points[first:] if point.day < begins]
    return missed(share_looked(before), share_looked([point for point in points if begins <= point.day <= ends]))


def at_worst(points: Sequence[LookPoint], is_fall: bool) -> tuple[list[Level], list[str]]:
    """Levels and coaches of the looks, oldest first, with those missed in one half as they would speak against.

    Takes all arrivals. Against a fall speak good looks missed in the first half and bad ones missed in the later.
    """
    middle = (len(points) + 1) // 2
    halves = points[:middle], points[middle:]
    first, later = map(share_looked, halves)
    number = missed(first, later) or missed(later, first)
    is_later = later.rate < first.rate if number else False
    gaps = [place for place, point in enumerate(points) if not point.looked and (place >= middle) is is_later]
    filled = {gaps[step * len(gaps) // number] for step in range(number)}
    level: Level = "any" if is_fall is is_later else "0"
    kept = [(place, point) for place, point in enumerate(points) if point.looked or place in filled]
    return [level if place in filled else point.level for place, point in kept], [point.coach for _, point in kept]
