"""The record: what is looked at (catalogue) and what was seen (record)."""

from lessons.models.catalogue import Fault, Skill
from lessons.models.record import Focus, Lesson, Look, Observation, Reader, SeenFault, Session

__all__ = ["Fault", "Focus", "Lesson", "Look", "Observation", "Reader", "SeenFault", "Session", "Skill"]
