"""Split the text of what may be measured into fields, and read the values typed so far as numbers.

What cannot be read without doubt stays in words, in a field of its own: whoever reads the log reads it, as before.
"""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from django.db import migrations, models
from django.db.models import F, Q

from lessons.measures import Measure, MeasureError, has_unit, limit_question, read_number

FIELDS = (
    "measure",
    "measure_unit",
    "measure_low",
    "measure_high",
    "measure_step",
    "measure_by_eye",
    "measure_usual_low",
    "measure_usual_high",
)
# What the catalogue shipped for each skill: the text of before, and the fields of now.
SHIPPED: dict[str, tuple[Any, ...]] = {
    "putting-stance-width": ("stance width, cm", "stance width", "cm", 5, 80, 2, False, None, None),
    "putting-ball-position": (
        "ball ahead of the middle of the stance, cm",
        "ball ahead of the middle of the stance",
        "cm",
        -15,
        25,
        2,
        False,
        None,
        None,
    ),
    "putting-eye-line": (
        "eye line inside the ball, cm",
        "eye line inside the ball",
        "cm",
        -8,
        15,
        1,
        False,
        None,
        None,
    ),
    "putting-hand-height": (
        "hands above the ground, cm",
        "hands above the ground",
        "cm",
        40,
        100,
        2,
        False,
        None,
        None,
    ),
    "putting-posture": ("toes to ball, cm", "toes to ball", "cm", 10, 70, 2, False, None, None),
    "putting-aim": (
        "face angle to the chosen line, degrees",
        "face angle to the chosen line, plus is {open}",
        "°",
        -10,
        10,
        1,
        False,
        None,
        None,
    ),
    "putting-lead-wrist": (
        "wrist angle change through the ball, degrees",
        "wrist angle change through the ball",
        "°",
        -40,
        40,
        5,
        False,
        None,
        None,
    ),
    "putting-angle": (
        "arm-to-shaft angle change, degrees",
        "arm-to-shaft angle change",
        "°",
        -40,
        40,
        5,
        False,
        None,
        None,
    ),
    "putting-tempo": (
        "time back to time through, ratio",
        "time back to time through",
        "to 1",
        1,
        4,
        0.2,
        False,
        1.8,
        2.2,
    ),
    "putting-length": ("putter head travel back, cm", "putter head travel back", "cm", 5, 100, 5, False, None, None),
    "putting-path": (
        "path to the start line, degrees",
        "path to the start line, plus is {open}",
        "°",
        -15,
        15,
        2,
        True,
        None,
        None,
    ),
    "putting-face": (
        "face angle at impact, degrees",
        "face angle at impact, plus is {open}",
        "°",
        -10,
        10,
        2,
        True,
        None,
        None,
    ),
    "putting-contact": (
        "strike from the middle of the face, mm",
        "strike from the middle of the face, plus is towards the toe",
        "mm",
        -40,
        40,
        5,
        False,
        None,
        None,
    ),
    "putting-finish-hold": ("finish held, seconds", "finish held", "s", 0, 10, 1, False, None, None),
    "putting-routine": ("last look to stroke, seconds", "last look to stroke", "s", 0, 30, 1, False, None, None),
    "chipping-stance-width": ("stance width, cm", "stance width", "cm", 0, 70, 2, False, None, None),
    "chipping-weight": (
        "weight on the foot nearer the target, %",
        "weight on the {lead} foot",
        "%",
        20,
        95,
        10,
        True,
        60,
        70,
    ),
    "chipping-ball-position": (
        "ball ahead of the middle of the stance, cm",
        "ball ahead of the middle of the stance",
        "cm",
        -25,
        20,
        2,
        False,
        None,
        None,
    ),
    "chipping-grip-down": (
        "handle above the top hand, cm",
        "handle above the top hand",
        "cm",
        0,
        20,
        1,
        False,
        None,
        None,
    ),
    "chipping-handle": (
        "shaft lean before the shot, degrees",
        "shaft lean before the shot",
        "°",
        -20,
        30,
        5,
        False,
        None,
        None,
    ),
    "chipping-low-point": (
        "low point ahead of the ball, cm",
        "low point ahead of the ball",
        "cm",
        -15,
        15,
        2,
        False,
        None,
        None,
    ),
    "chipping-landing": (
        "landing beyond the chosen spot, steps",
        "landing beyond the chosen spot",
        "steps",
        -10,
        10,
        1,
        False,
        None,
        None,
    ),
    "chipping-finish-hold": ("finish held, seconds", "finish held", "s", 0, 10, 1, False, None, None),
    "pitching-stance": ("stance width, cm", "stance width", "cm", 5, 90, 2, False, None, None),
    "pitching-ball-position": (
        "ball ahead of the middle of the stance, cm",
        "ball ahead of the middle of the stance",
        "cm",
        -25,
        25,
        2,
        False,
        None,
        None,
    ),
    "pitching-low-point": (
        "low point ahead of the ball, cm",
        "low point ahead of the ball",
        "cm",
        -20,
        20,
        2,
        False,
        None,
        None,
    ),
    "pitching-finish": ("finish held, seconds", "finish held", "s", 0, 10, 1, False, None, None),
    "pitching-plan": (
        "landing beyond the chosen spot, steps",
        "landing beyond the chosen spot",
        "steps",
        -20,
        20,
        1,
        False,
        None,
        None,
    ),
    "bunker-ball-position": (
        "ball ahead of the middle of the stance, cm",
        "ball ahead of the middle of the stance",
        "cm",
        -15,
        35,
        2,
        False,
        None,
        None,
    ),
    "bunker-entry": ("entry behind the ball, cm", "entry behind the ball", "cm", 0, 25, 2, False, None, None),
}
UNIT_WORDS = {"s": "seconds", "°": "degrees", "to 1": "ratio"}  # as the texts of before called them
BATCH = 500


def fields_of(code: str, text: str) -> dict[str, Any]:
    """The fields for a text; one that an academy reworded keeps its own name, and its numbers if the unit is the same."""
    if code not in SHIPPED:
        return {}
    before, name, unit, *numbers = SHIPPED[code]
    own_name, _, own_unit = text.rpartition(", ")
    if text == before:
        own_name = name
    elif own_unit != UNIT_WORDS.get(unit, unit):
        return {}
    return dict(zip(FIELDS, (own_name, unit, *numbers), strict=True))


def split_measures(apps: Any, schema_editor: Any) -> None:
    """Fill the new fields, and those of what was shipped, so that a skill that nobody changed does not look changed."""
    for name in ("Skill", "HistoricalSkill"):
        model = apps.get_model("lessons", name)
        for row in model.objects.exclude(measure=""):
            shipped = row.shipped
            if "measure" in shipped:
                shipped = shipped | fields_of(row.code, shipped["measure"])
            model.objects.filter(pk=row.pk).update(shipped=shipped, **fields_of(row.code, row.measure))


def join_measures(apps: Any, schema_editor: Any) -> None:
    """Write name and unit as one text again."""
    for name in ("Skill", "HistoricalSkill"):
        model = apps.get_model("lessons", name)
        for row in model.objects.exclude(measure_unit=""):
            shipped = {key: value for key, value in row.shipped.items() if key not in FIELDS[1:]}
            if "measure" in shipped:
                shipped["measure"] = text_of(row.code, row.shipped["measure"], row.measure_unit)
            model.objects.filter(pk=row.pk).update(
                shipped=shipped, measure=text_of(row.code, row.measure, row.measure_unit)
            )


def text_of(code: str, name: str, unit: str) -> str:
    """Name and unit as one text."""
    before, shipped_name, *_ = SHIPPED.get(code, ("", ""))
    return before if name == shipped_name else f"{name}, {UNIT_WORDS.get(unit, unit)}"


def read_values(apps: Any, schema_editor: Any) -> None:
    """Read each value as a number where it can be; the history, too."""
    measures = measures_by_skill(apps)
    for model, rows in measured_rows(apps, ~Q(measure_words="")):
        for row in rows:
            row.measure = number_in(row.measure_words, measures.get(row.skill_id))
            row.measure_words = row.measure_words if row.measure is None else ""
        model.objects.bulk_update(rows, ["measure", "measure_words"])


def write_values(apps: Any, schema_editor: Any) -> None:
    """Write each number as a text with its unit again."""
    measures = measures_by_skill(apps)
    for model, rows in measured_rows(apps, Q(measure__isnull=False)):
        for row in rows:
            measure = measures.get(row.skill_id)
            row.measure_words = measure.value(row.measure) if measure else str(row.measure)
            row.measure = None
        model.objects.bulk_update(rows, ["measure", "measure_words"])


def measured_rows(apps: Any, condition: Q) -> Iterator[tuple[Any, list[Any]]]:
    """The rows that meet a condition, and those of the history, in batches."""
    for name in ("Observation", "HistoricalObservation"):
        model = apps.get_model("lessons", name)
        keys = list(model.objects.filter(condition).order_by("pk").values_list("pk", flat=True))
        for begin in range(0, len(keys), BATCH):
            yield model, list(model.objects.filter(pk__in=keys[begin : begin + BATCH]))


def measures_by_skill(apps: Any) -> dict[int, Measure]:
    """What is measured of each skill in a unit."""
    rows = apps.get_model("lessons", "Skill").objects.exclude(measure_unit="")
    return {row.pk: measure_of(*(getattr(row, name) for name in FIELDS[:5])) for row in rows}


def measure_of(name: str, unit: str, *numbers: float) -> Measure:
    """The measure of a skill, as far as reading a number needs it."""
    return Measure(name, unit, *(Decimal(f"{number:g}") for number in numbers))


def number_in(text: str, measure: Measure | None) -> Decimal | None:
    """The number in a text; None where it cannot be read without doubt: outside the limits its unit must stand behind."""
    if measure is None:
        return None
    try:
        number = read_number(text, measure)
    except MeasureError:
        return None
    return number if has_unit(text) or not limit_question(number, measure) else None


OBSERVATIONS = ("observation", "historicalobservation")
SKILLS = ("skill", "historicalskill")
NUMBERS = {
    "measure_low": "below this it is asked about",
    "measure_high": "above this it is asked about",
    "measure_step": "how finely it can honestly be read",
    "measure_usual_low": "the least that is usual",
    "measure_usual_high": "the most that is usual",
}


class Migration(migrations.Migration):
    """Measures become numbers."""

    dependencies = [("lessons", "0009_shared_focus")]
    operations = [
        *(migrations.RenameField(name, "measure", "measure_words") for name in OBSERVATIONS),
        *(
            migrations.AlterField(
                name,
                "measure_words",
                models.CharField(blank=True, max_length=40, verbose_name="what was measured, in words"),
            )
            for name in OBSERVATIONS
        ),
        *(
            migrations.AddField(
                name,
                "measure",
                models.DecimalField(
                    blank=True,
                    decimal_places=2,
                    max_digits=6,
                    null=True,
                    verbose_name="what was measured, in the unit of the skill",
                ),
            )
            for name in OBSERVATIONS
        ),
        *(
            migrations.AlterField(
                name, "measure", models.CharField(blank=True, max_length=120, verbose_name="what may be measured")
            )
            for name in SKILLS
        ),
        *(
            migrations.AddField(
                name,
                "measure_unit",
                models.CharField(blank=True, max_length=8, verbose_name="its unit; without one it is kept in words"),
            )
            for name in SKILLS
        ),
        *(
            migrations.AddField(name, field, models.FloatField(blank=True, null=True, verbose_name=label))
            for name in SKILLS
            for field, label in NUMBERS.items()
        ),
        *(
            migrations.AddField(
                name, "measure_by_eye", models.BooleanField(default=False, verbose_name="a guess by eye")
            )
            for name in SKILLS
        ),
        migrations.AddConstraint(
            "observation",
            models.CheckConstraint(name="measure_in_number_or_words", condition=Q(measure=None) | Q(measure_words="")),
        ),
        migrations.AddConstraint(
            "skill",
            models.CheckConstraint(
                name="measure_in_a_unit_is_whole",
                condition=Q(measure_unit="")
                | Q(measure_low__lt=F("measure_high"), measure_step__gt=0)
                & Q(measure_low__isnull=False, measure_high__isnull=False, measure_step__isnull=False)
                & ~Q(measure=""),
            ),
        ),
        migrations.AddConstraint(
            "skill",
            models.CheckConstraint(
                name="measure_usual_has_two_ends",
                condition=Q(measure_usual_low=None, measure_usual_high=None)
                | Q(measure_usual_low__isnull=False, measure_usual_high__isnull=False)
                & Q(measure_usual_low__lt=F("measure_usual_high")),
            ),
        ),
        migrations.RunPython(split_measures, join_measures),
        migrations.RunPython(read_values, write_values),
    ]
