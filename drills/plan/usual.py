"""Days that suit the doses, for a student who picked none."""

from collections.abc import Sequence

from drills.plan.search import WEEK, Ask

LIGHT = 30  # minutes that a day of practice hardly exceeds while there are other days; common practice, no source


def usual_days(asks: Sequence[Ask], number: int | None = None) -> list[int]:
    """So many days of a week, spread evenly from its first day on.

    Unless `number` says how many: as many as the drill that is asked for most often needs, and more where a day would
    hold more than half an hour.
    """
    if number is None:
        minutes = sum(ask.minutes * ask.sessions for ask in asks)
        number = min(WEEK, max([-(-minutes // LIGHT), *(ask.sessions for ask in asks)]))
    return sorted({WEEK * day // number for day in range(number)}) if number else []
