"""What the words for the note mean: those of a row that was merged count for the one that it was merged into."""

from typing import NamedTuple

from django.db.models import CharField, F, Model, QuerySet, Value
from django.db.models.functions import Cast

from drills.models import Drill
from lessons.models import Fault, Phrase, Skill
from lessons.sentence.catalogue import shipped_phrases

MODELS: tuple[type[Skill] | type[Fault] | type[Drill], ...] = (Skill, Fault, Drill)
KINDS = ("phrases", "good")  # how a fault or drill is said, and how it is said that a skill was good


class Meanings(NamedTuple):
    """The phrases of the academy's own, and by code what merged rows are counted as."""

    phrases: list[tuple[str, str]]
    merged: dict[str, str]

    def code_for(self, code: str) -> str:
        """The code of the row as which one is counted."""
        return self.merged.get(code, code)


def read_meanings() -> Meanings:
    """Every phrase with its code, and every merge; in one query."""
    columns = (Cast("code", CharField()), Cast("words", CharField()), Value(True))
    rows = Phrase.objects.order_by().values_list(*columns).union(*map(merges, MODELS), all=True)
    found = list(rows)
    phrases = [(code, words) for code, words, is_phrase in found if is_phrase]
    return Meanings(phrases, {code: into for code, into, is_phrase in found if not is_phrase})


def merges(model: type[Model]) -> "QuerySet[Model, tuple[str, str, bool]]":
    """The codes of merged rows with those of what they were merged into."""
    rows = model._default_manager.filter(merged_into__isnull=False).order_by()
    return rows.values_list(Cast("code", CharField()), Cast(F("merged_into__code"), CharField()), Value(False))


def read_phrases() -> tuple[tuple[str, str], ...]:
    """The words by which a note is read beside those that ship for offered rows: code and words; in one query."""
    meanings, shipped = read_meanings(), shipped_phrases()
    own = [(meanings.code_for(code), words) for code, words in meanings.phrases]
    taken_over = [
        (into, words)
        for code, into in meanings.merged.items()
        for kind in KINDS
        for words in shipped.get(code, {}).get(kind, ())
    ]
    return (*own, *taken_over)
