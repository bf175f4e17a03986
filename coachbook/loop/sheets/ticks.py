"""The boxes of a sheet that were ticked: the days on which its drills were reported, under the sheet's own numbers."""

from collections import defaultdict
from datetime import date

from coachbook.loop.sheets.content import SheetContent, Ticks
from drills.library.drawing.lengths import in_units
from drills.models import PracticeEntry
from lessons.models import Lesson
from lessons.wording import render_typed


def ticks_of(content: SheetContent, lesson: Lesson, units: str) -> Ticks:
    """What was reported of the drills of a sheet, in one query.

    A sheet holds words and no keys, and never changes: its drill is the one of that name that began on that day.
    """
    numbers = {(drill.name, drill.begins): focus.number for focus in content.focuses if (drill := focus.drill)}
    found: dict[date, set[int]] = defaultdict(set)
    entries = PracticeEntry.objects.filter(prescription__student=lesson.student_id, is_void=False).order_by("day", "pk")
    begun = entries.filter(prescription__begins__in={begins for _, begins in numbers})
    for day, begins, name, area in begun.values_list(
        "day", "prescription__begins", "prescription__drill__name", "prescription__drill__area"
    ):
        if number := numbers.get((in_units(render_typed(name, lesson.side(area)), units), begins)):
            found[day].add(number)
    return found
