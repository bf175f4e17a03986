"""Skills and faults: what a coach looks at, and the named ways in which each can go wrong."""

from typing import Any

from django.db import models
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import Area, KeyedModel
from lessons.shipped import Shipped, ShippedRow, without
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
    measure = models.CharField("what may be measured, with its unit", max_length=120, blank=True)
    house_wish = models.BooleanField("a preference, with no cost", default=False)
    child = models.BooleanField("a child needs to hear of it", default=True)
    history = HistoricalRecords()

    class Meta:
        ordering = ["area", "position"]
        constraints = [
            models.CheckConstraint(name="skill_area_known", condition=models.Q(area__in=Area.values)),
        ]

    def __str__(self) -> str:
        return render(self.name)


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
        ordering = ["skill__area", "skill__position", "position"]

    def __str__(self) -> str:
        return render(self.name)


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
    skills = Skill.ship_all([(row["code"], without(row, "code", "fault"), {}) for row in rows])
    faults: list[Shipped] = [
        (fault["code"], {"position": position, **without(fault, "code")}, {"skill": skill})
        for skill, row in zip(skills, rows, strict=True)
        for position, fault in enumerate(row["fault"])
    ]
    Fault.ship_all(faults)
