"""When an academy should change from SQLite to PostgreSQL: pure rules over the figures of its own site.

SQLite lets one write at a time, and is asked by one machine only (sqlite.org/whentouse.html). The two limits are our
own: `manage.py bench` measures what as many writers wait, and every backup copies the whole file.
"""

from typing import NamedTuple

WRITERS = 16  # people who save in one minute; the bench lets as many save at once
SIZE = 1024**3  # bytes


class Figures(NamedTuple):
    """What was measured of a site."""

    is_postgresql: bool
    size: int  # bytes of the database
    students: int
    coaches: int
    lessons: int
    saves: int  # lessons and practice that were written in the last 30 days, each save counted
    busiest: int  # people who saved in the same minute, at most


def reasons_to_change(figures: Figures) -> list[str]:
    """Why it is time to change, as plain sentences; none where SQLite is enough, or was left already."""
    if figures.is_postgresql:
        return []
    found = []
    if figures.busiest >= WRITERS:
        found.append(
            f"{figures.busiest} people saved within one minute. SQLite lets one save at a time, so the others wait."
        )
    if figures.size >= SIZE:
        found.append("The file is larger than 1 GB. Every backup copies the whole file.")
    return found
