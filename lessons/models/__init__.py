"""The record: what is looked at (catalogue), what was seen (record), and what is computed from it (derived)."""

from lessons.models.catalogue import Fault, Phrase, Skill
from lessons.models.derived import MonthCount, Outcome
from lessons.models.own_words import SeenFocus
from lessons.models.pairs import Alignment, FocusView
from lessons.models.record import Focus, Lesson, Look, Observation, Reader, SeenFault, Session
from lessons.models.still_measures import StillMeasure
from lessons.models.stills import Checkpoint, ReferenceStill, Still, View

__all__ = [
    "Alignment",
    "Checkpoint",
    "Fault",
    "Focus",
    "FocusView",
    "Lesson",
    "Look",
    "MonthCount",
    "Observation",
    "Outcome",
    "Phrase",
    "Reader",
    "ReferenceStill",
    "SeenFault",
    "SeenFocus",
    "Session",
    "Skill",
    "Still",
    "StillMeasure",
    "View",
]
