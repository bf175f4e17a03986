"""The texts of a drill are read in the academy's unit, wherever a student or a coach reads them."""

from collections.abc import Callable, Iterable

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Student
from coachbook.loop.sheets.gather import content_of
from drills.library.drawing.lengths import METRIC, in_units
from drills.models import Drill
from lessons.models import Focus, Lesson
from tests.conftest import Cast
from tests.library import load_library
from tests.make import make_drill, make_lesson, make_prescription

TEXTS = {
    "purpose": "From 3 m.",
    "equipment": "a string of 4 m",
    "setup": "Two tees 8 cm apart.",
    "steps": ["From 1.5 m."],
    "mark": "8 of 10 within 2 m",
    "tip": "Wait 2 m behind.",
    "caution": "Keep 5 m away.",
    "game": "One point within 6 m.",
}


def test_metric_lengths_become_feet_and_inches() -> None:
    """By the foot of 0.3048 m and the inch of 2.54 cm; numbers that are no lengths stay."""
    for metric, feet in {
        "Tees at 2 m, 3 m and 4 m (about two, three, four steps).": (
            "Tees at 6.5 ft, 10 ft and 13 ft (about two, three, four steps)."
        ),
        "Past the hole by 30 to 60 cm, with 10 balls": "Past the hole by 12 to 24 in, with 10 balls",
        "A towel 5, 8 or 12 m away": "A towel 16, 26 or 39 ft away",
        "between 5 and 8 m. 3 minutes": "between 16 and 26 ft. 3 minutes",
        "a hole of 11 cm": "a hole of 4.5 in",
        "12 of 20; 2 mm; 3 men": "12 of 20; 2 mm; 3 men",
    }.items():
        assert (in_units(metric, "m"), in_units(metric, "ft")) == (metric, feet)


@pytest.mark.django_db
def test_no_text_of_the_library_keeps_a_metric_length() -> None:
    """Every way in which a drill of the library writes a length is one of those that are known."""
    load_library()
    for drill in Drill.objects.all():
        texts = (drill.purpose, drill.equipment, drill.setup, *drill.steps, drill.mark, drill.tip, drill.game)
        for text in (*texts, drill.caution, drill.feel):
            read = in_units(text, "ft").split()
            assert not {"m", "cm", "metre", "metres", "centimetres"} & {word.strip(".,;:()") for word in read}, text


@pytest.mark.one_database
def test_drill_day_and_sheet_are_read_in_feet(cast: Cast, as_: Callable[[str], Client]) -> None:
    """On the drill's page, on the student's day, on the sheet, and on a child's."""
    drill = make_drill("ladder", **TEXTS)
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())
    focus = Focus.objects.create(student=cast.student, opened_in=lesson, slot=1, area="putting", what="A steady head")
    make_prescription(lesson, focus, drill=drill)
    Academy.objects.update(units="ft")
    all_of_it = ("13 ft", "3 in apart", "From 5 ft", "within 6.5 ft", "16 ft away")
    assert_in_feet(as_("coach").get(reverse("drill", args=["ladder"])).content.decode(), (*all_of_it, "within 20 ft"))
    assert_in_feet(as_("student").get(reverse("today", args=[cast.student.key])).content.decode(), all_of_it)
    assert_in_feet(str(content_of(lesson, Academy.current())), all_of_it)
    Student.objects.filter(pk=cast.student.pk).update(birth_year=2015)
    child = content_of(Lesson.objects.get(pk=lesson.pk), Academy.current())
    assert_in_feet(str(child), ("3 in apart", "16 ft away", "within 20 ft"))


def assert_in_feet(page: str, lengths: Iterable[str]) -> None:
    """Check that a page holds these lengths and none in metres."""
    words = page.split("<main")[-1]
    assert [length for length in lengths if length not in words] == []
    assert not METRIC.search(words)
