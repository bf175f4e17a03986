"""All models of this app, where Django looks for them."""

from drills.library.models import Drill, Fit, UsualDrill
from drills.practice.models import PracticeEntry, Prescription, PrescriptionQuerySet
from drills.practice.week.models import PracticeDays
from drills.scored_tests.models import Ball, Design, Round, ScoredTest, ScoredTestQuerySet

__all__ = [
    "Ball",
    "Design",
    "Drill",
    "Fit",
    "PracticeDays",
    "PracticeEntry",
    "Prescription",
    "PrescriptionQuerySet",
    "Round",
    "ScoredTest",
    "ScoredTestQuerySet",
    "UsualDrill",
]
