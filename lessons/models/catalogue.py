"""Skills and faults: what a coach looks at, and the named ways in which each can go wrong."""

from decimal import Decimal
from typing import Any

from django.db import models
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import Area, KeyedModel
from lessons.measures import Measure
from lessons.shipped import Shipped, ShippedRow, merges_of, without
from lessons.wording import render


class Skill(ShippedRow):
    """One thing to look at. All its texts are wordings."""

    class Phase(models.TextChoices):
        SETUP = "setup"
        MOTION = "motion"
        FINISH = "finish"
        MIND = "mind"

    area = models.CharField(max_length=8, choices=Area)
    phase = models.CharField(max_length=6, choices=Phase)
    name = models.CharField(max_length=60)
    look = models.CharField("what to look at", max_length=300)
    goal = models.CharField("what it should be", max_length=300)
    measure = models.CharField("what may be measured", max_length=120, blank=True)
    measure_unit = models.CharField("its unit; without one it is kept in words", max_length=8, blank=True)
    measure_low = models.FloatField("below this it is asked about", null=True, blank=True)
    measure_high = models.FloatField("above this it is asked about", null=True, blank=True)
    measure_step = models.FloatField("how finely it can honestly be read", null=True, blank=True)
    measure_by_eye = models.BooleanField("a guess by eye", default=False)
    measure_usual_low = models.FloatField("the least that is usual", null=True, blank=True)
    measure_usual_high = models.FloatField("the most that is usual", null=True, blank=True)
    house_wish = models.BooleanField("a preference, with no cost", default=False)
    child = models.BooleanField("a child needs to hear of it", default=True)
    history = HistoricalRecords()

    class Meta:
        ordering = ["area", "position", "pk"]
        constraints = [
            models.CheckConstraint(name="skill_area_known", condition=models.Q(area__in=Area.values)),
            models.CheckConstraint(
                name="measure_in_a_unit_is_whole",
                condition=models.Q(measure_unit="")
                | models.Q(measure_low__lt=models.F("measure_high"), measure_step__gt=0)
                & models.Q(measure_low__isnull=False, measure_high__isnull=False, measure_step__isnull=False)
                & ~models.Q(measure=""),
            ),
            models.CheckConstraint(
                name="measure_usual_has_two_ends",
                condition=models.Q(measure_usual_low=None, measure_usual_high=None)
                | models.Q(measure_usual_low__isnull=False, measure_usual_high__isnull=False)
                & models.Q(measure_usual_low__lt=models.F("measure_usual_high")),
            ),
        ]

    def __str__(self) -> str:
        return render(self.name)

    @property
    def measured(self) -> Measure | None:
        """What is measured of it in a unit; None where nothing is, or where it is kept in words."""
        if not self.measure_unit:
            return None
        low, high, step = map(decimal, (self.measure_low, self.measure_high, self.measure_step))
        ends = (self.measure_usual_low, self.measure_usual_high)
        usual = None if None in ends else (decimal(ends[0]), decimal(ends[1]))
        return Measure(self.measure, self.measure_unit, low, high, step, self.measure_by_eye, usual)


def decimal(number: float | None) -> Decimal:
    """A number of the catalogue as it stands in its file."""
    return Decimal(f"{number:g}")


class Fault(ShippedRow):
    """One named way in which a skill goes wrong. A student reads `goal`, `plain` and `feel`, never the name."""

    class Cost(models.TextChoices):
        READ = "read"
        DIRECTION = "direction"
        PACE = "pace"
        CONTACT = "contact"
        CHOICE = "choice"

    skill = models.ForeignKey(Skill, on_delete=models.PROTECT, related_name="faults")
    name = models.CharField("coach's wording", max_length=80)
    goal = models.CharField("student's heading", max_length=80)
    plain = models.CharField("what the student does", max_length=300)
    feel = models.CharField("suggested feel", max_length=300)
    costs: "models.JSONField[list[str], list[str]]" = models.JSONField(default=list)
    house_wish = models.BooleanField("a preference, with no cost", default=False)
    history = HistoricalRecords()

    class Meta:
        ordering = ["skill__area", "skill__position", "position", "pk"]

    def __str__(self) -> str:
        return render(self.name)

    @property
    def counted_skill(self) -> Skill:
        """The skill as which its looks are counted."""
        return self.counted.skill.counted


class Phrase(KeyedModel):
    """Words of the academy's own by which a note names a skill, a fault or a drill, beside those that are shipped."""

    code = models.SlugField("code of the skill, fault or drill", max_length=60)
    words = models.CharField(max_length=60)
    history = HistoricalRecords()

    class Meta:
        ordering = ["words", "pk"]
        constraints = [models.UniqueConstraint(fields=["code", "words"], name="a_phrase_once_a_row")]

    def __str__(self) -> str:
        return self.words


def load_skills(rows: list[dict[str, Any]]) -> None:
    """Create or update the shipped skills and the faults of each."""
    skills = Skill.ship_all([(row["code"], skill_values(row), {}) for row in rows])
    faults: list[Shipped] = [
        (fault["code"], {"position": position, **without(fault, "code", "was")}, {"skill": skill})
        for skill, row in zip(skills, rows, strict=True)
        for position, fault in enumerate(row["fault"])
    ]
    Fault.ship_all(faults)
    Skill.take_over(merges_of(rows))
    Fault.take_over(merges_of(fault for row in rows for fault in row["fault"]))


def skill_values(row: dict[str, Any]) -> dict[str, Any]:
    """The fields of a skill from its table; those of its measure are all given, so that none of an older one stays."""
    return without(row, "code", "was", "fault", "measure") | measure_values(row.get("measure", {}))


def measure_values(table: dict[str, Any]) -> dict[str, Any]:
    """The fields of a measure from its table, which is empty where nothing is measured."""
    usual = table.get("usual", (None, None))
    return {
        "measure": table.get("name", ""),
        "measure_unit": table.get("unit", ""),
        "measure_low": table.get("low"),
        "measure_high": table.get("high"),
        "measure_step": table.get("step"),
        "measure_by_eye": table.get("by_eye", False),
        "measure_usual_low": usual[0],
        "measure_usual_high": usual[1],
    }
