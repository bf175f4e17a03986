"""Values derived from the lessons, stored so that pages over a whole academy need not read every look.

Only `lessons.derived` writes them.
"""

from django.db import models
from django.db.models import F, Q

from coachbook.accounts.models import Coach, Student
from lessons.models.catalogue import Fault
from lessons.models.record import Lesson


class Outcome(models.Model):
    """Whether a change made in an earlier lesson was still there at a later arrival: held, partly or lost."""

    class Verdict(models.TextChoices):
        HELD = "held"
        PARTLY = "partly"
        LOST = "lost"

    lesson = models.ForeignKey(Lesson, on_delete=models.CASCADE, related_name="outcomes")
    before = models.ForeignKey(Lesson, on_delete=models.CASCADE, related_name="+")
    student = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="outcomes")
    coach = models.ForeignKey(Coach, on_delete=models.CASCADE, related_name="+", db_index=False)  # of `before`
    fault = models.ForeignKey(Fault, on_delete=models.CASCADE, related_name="+", db_index=False)
    verdict = models.CharField(max_length=6, choices=Verdict)
    day = models.DateField("of the arrival")
    days = models.PositiveSmallIntegerField("since the change")
    anyway = models.FloatField("probability that it had looked as good anyway", null=True)  # too few looks: null
    practice_reported = models.CharField(
        "practice reported at arrival", max_length=4, choices=Lesson.PracticeReported, blank=True
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["lesson", "fault"], name="one_outcome_a_fault_a_lesson"),
            models.CheckConstraint(name="outcome_verdict_known", condition=Q(verdict__in=("held", "partly", "lost"))),
            models.CheckConstraint(name="outcome_of_another_day", condition=Q(days__gte=1)),
            models.CheckConstraint(name="outcome_anyway_a_share", condition=Q(anyway=None) | Q(anyway__range=(0, 1))),
        ]
        # Each index covers one query of the academy's page, so that the database reads no rows.
        indexes = [
            models.Index(
                fields=["day", "coach", "fault", "verdict", "student", "practice_reported", "days", "anyway"],
                name="outcome_by_day",
            ),
            models.Index(fields=["fault", "student", "verdict", "day"], name="outcome_by_fault"),
            models.Index(fields=["coach", "student", "verdict", "day"], name="outcome_by_coach"),
        ]

    def __str__(self) -> str:
        return f"{self.fault}: {self.verdict}"


class MonthCount(models.Model):
    """On how many arrivals of one coach in one month a fault was looked at, and seen, by degree."""

    coach = models.ForeignKey(Coach, on_delete=models.CASCADE, related_name="+", db_index=False)
    month = models.DateField("its first day")
    fault = models.ForeignKey(Fault, on_delete=models.CASCADE, related_name="+", db_index=False)
    looked = models.PositiveIntegerField()
    slight = models.PositiveIntegerField(default=0)
    clear = models.PositiveIntegerField(default=0)
    not_graded = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["coach", "month", "fault"], name="one_count_a_coach_a_month_a_fault"),
            models.CheckConstraint(
                name="no_more_seen_than_looked", condition=Q(looked__gte=F("slight") + F("clear") + F("not_graded"))
            ),
        ]
        indexes = [
            models.Index(fields=["fault", "month", "looked", "slight", "clear", "not_graded"], name="count_by_fault")
        ]

    def __str__(self) -> str:
        return f"{self.fault} in {self.month:%Y-%m}"
