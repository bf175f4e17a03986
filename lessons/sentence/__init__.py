"""What a coach typed or dictated about one lesson, read into proposals for its log. Pure: no database, no clock."""

from lessons.sentence.catalogue import Catalogue, DrillWords, FaultWords, SkillWords, build_catalogue
from lessons.sentence.propose import read_sentence
from lessons.sentence.reading import Dose, Kind, LeftOut, Look, Proposal, Reading

__all__ = [
    "Catalogue",
    "Dose",
    "DrillWords",
    "FaultWords",
    "Kind",
    "LeftOut",
    "Look",
    "Proposal",
    "Reading",
    "SkillWords",
    "build_catalogue",
    "read_sentence",
]
