"""The drill library and what is practised of it (library), and scored tests (scores)."""

from drills.models.library import Drill, PracticeEntry, Prescription, PrescriptionQuerySet
from drills.models.scores import Ball, Design, Round, ScoredTest, ScoredTestQuerySet

__all__ = [
    "Ball",
    "Design",
    "Drill",
    "PracticeEntry",
    "Prescription",
    "PrescriptionQuerySet",
    "Round",
    "ScoredTest",
    "ScoredTestQuerySet",
]
