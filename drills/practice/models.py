"""Drills that are given to students, and the practice that is reported."""

from datetime import date, timedelta
from typing import Self

from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import KeyedModel, Side, Student
from drills.library.models import Drill
from drills.practice.marks import Mark, read_mark, score_in_words
from lessons.models import Focus, Lesson
from lessons.models.reasoned_history import ReasonedHistory


class PrescriptionQuerySet(models.QuerySet["Prescription"]):
    """Prescriptions on a day."""

    def in_force(self, on: date) -> Self:
        """Prescriptions to practise on a day: given in a finished lesson, and neither replaced nor ended by then."""
        started = self.filter(lesson__status=Lesson.Status.COMPLETE, begins__lte=on)
        return started.filter(Q(ended_on=None) | Q(ended_on__gt=on)).select_related("drill", "focus__fault", "lesson")


class Prescription(KeyedModel):
    """A drill with its dose, given to a student in a lesson, for a focus."""

    student = models.ForeignKey(Student, on_delete=models.PROTECT, related_name="prescriptions")
    lesson = models.ForeignKey(Lesson, on_delete=models.PROTECT, related_name="prescriptions")
    focus = models.ForeignKey(Focus, on_delete=models.PROTECT, related_name="prescriptions")
    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="prescriptions")
    feel = models.CharField("as agreed in the lesson", max_length=300, blank=True)
    amount = models.PositiveSmallIntegerField("a session")
    unit = models.CharField(max_length=9, choices=Drill.Unit, default=Drill.Unit.MINUTES)
    per_week = models.PositiveSmallIntegerField("sessions a week", default=3)
    days = models.PositiveSmallIntegerField(default=30)
    mark = models.CharField("what counts as done well, for this student", max_length=200, blank=True)
    begins = models.DateField()
    review_on = models.DateField()
    ended_on = models.DateField(null=True, blank=True)
    history = ReasonedHistory()

    objects = PrescriptionQuerySet.as_manager()

    class Meta:
        ordering = ["begins", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["lesson", "focus"], name="one_drill_a_focus_a_lesson"),
            models.CheckConstraint(
                name="dose_possible", condition=Q(amount__range=(1, 300), per_week__range=(1, 7), days__range=(1, 365))
            ),
            models.CheckConstraint(name="review_after_it_begins", condition=Q(review_on__gte=F("begins"))),
        ]

    def __str__(self) -> str:
        return f"{self.drill} for {self.student}"

    @property
    def done_well(self) -> str:
        """What counts as done well: the target set for the student, or else the drill's own."""
        return self.mark or self.drill.mark

    @property
    def mark_to_reach(self) -> Mark | None:
        """The same as a number, where its words hold one."""
        return read_mark(self.done_well)

    @property
    def last_day(self) -> date:
        """The last day of the dose."""
        return self.begins + timedelta(days=self.days - 1)

    @property
    def side(self) -> Side:
        """The side for which the drill is worded: the one stored with the lesson, in the drill's area."""
        return self.lesson.side(self.drill.area)


class PracticeEntry(KeyedModel):
    """Practice that was reported. No entry means not reported, never not practised."""

    class Source(models.TextChoices):
        STUDENT = "student"
        GUARDIAN = "guardian"

    class Felt(models.TextChoices):
        EASY = "easy"
        RIGHT = "right", "Just right"
        HARD = "hard"

    prescription = models.ForeignKey(Prescription, on_delete=models.PROTECT, related_name="entries")
    day = models.DateField()
    amount = models.PositiveSmallIntegerField("how much")
    score = models.PositiveSmallIntegerField(null=True, blank=True)
    score_of = models.PositiveSmallIntegerField("out of", null=True, blank=True)
    score_words = models.CharField("score, where it is no number", max_length=40, blank=True)
    felt = models.CharField("how it felt", max_length=5, choices=Felt, blank=True)
    note = models.CharField(max_length=300, blank=True)
    source = models.CharField(max_length=8, choices=Source, default=Source.STUDENT)
    reported_on = models.DateField("reported on", null=True, blank=True)
    is_void = models.BooleanField("undone", default=False)
    history = HistoricalRecords()

    class Meta:
        ordering = ["-day", "-pk"]
        constraints = [
            models.CheckConstraint(name="practised_possible", condition=Q(amount__range=(1, 600))),
            models.CheckConstraint(
                name="score_possible",
                condition=Q(score_of=None) | Q(score__isnull=False, score_of__gte=F("score"), score_of__gt=0),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount} {self.prescription.unit} on {self.day}"

    @property
    def score_in_words(self) -> str:
        """The score in words; empty where none was reported."""
        return self.score_words if self.score is None else score_in_words(self.score, self.score_of)

    @property
    def is_filled_in(self) -> bool:
        """Whether it was reported on a later day; what was reported before this was kept counts as of its own day."""
        return self.reported_on is not None and self.reported_on > self.day
