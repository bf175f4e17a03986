"""The field of a measure in a log: what was typed is read as a number, and asked about outside the limits."""

from dataclasses import dataclass
from decimal import Decimal

from django.http import QueryDict

from lessons.measures import Measure, MeasureError, format_decimal, limit_question, read_number
from lessons.models import Observation, Skill

LONGEST_WORDS = 40
TOO_LONG = f"Write at most {LONGEST_WORDS} letters here, and the rest in a few words below."
Measured = tuple[Decimal | None, str]  # a number, or words where there is none


@dataclass
class MeasureField:
    """What stands in the field of a measure; `kept` is the number that was ticked to be kept outside the limits.

    After `read`, `error` says what is wrong with it, and `asked` is the number that a tick would keep.
    """

    text: str = ""
    kept: str = ""
    error: str = ""
    asked: str = ""
    from_still: bool = False  # whether the number is one that was read from a still

    @classmethod
    def posted(cls, name: str, data: QueryDict) -> "MeasureField":
        """The field of a row as it was posted."""
        text, kept = (
            data.get(f"{name}.{field}", "").replace("\0", "").strip() for field in ("measure", "measure-keep")
        )
        return cls(text, kept)

    @classmethod
    def stored(cls, observation: Observation) -> "MeasureField":
        """The field of a row as it is stored."""
        return cls(text_of(stored_in(observation)), from_still=observation.read_from_id is not None)

    def read(self, skill: Skill, before: Observation | None) -> Measured:
        """What to store. Where the text cannot be stored, `error` is set and this is what is stored already."""
        stored, measure = stored_in(before), skill.measured
        self.from_still = before is not None and before.read_from_id is not None and self.text == text_of(stored)
        if self.text in ("", text_of(stored)):
            return stored if self.text else (None, "")
        if measure is None:
            self.error = TOO_LONG if len(self.text) > LONGEST_WORDS else ""
            return stored if self.error else (None, self.text)
        try:
            number = read_number(self.text, measure)
        except MeasureError as refusal:
            self.error = str(refusal)
            return stored
        question = limit_question(number, measure)
        if question and number != stored[0] and not self.is_kept(number, measure):
            self.error, self.asked = question, measure.value(number)
            return stored
        return number, ""

    def is_kept(self, number: Decimal, measure: Measure) -> bool:
        """Whether the tick to keep it was set for this very number."""
        try:
            return read_number(self.kept, measure) == number
        except MeasureError:
            return False


def stored_in(observation: Observation | None) -> Measured:
    """What an observation holds of its measure."""
    return (observation.measure, observation.measure_words) if observation else (None, "")


def text_of(measured: Measured) -> str:
    """What is stored, as it stands in the field."""
    number, words = measured
    return words if number is None else format_decimal(number)
