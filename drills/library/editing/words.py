"""Texts of the library as people type them: a word that follows the player's side stands in square brackets.

A person writes “your [lead] hand”, never a marker in braces; both are understood.
"""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from coachbook.forms import LongTextField
from lessons.wording import COACH, MARKER

MARKED = re.compile(r"\[([^\[\]{}\n]*)\]|\{([^\[\]{}\n]*)\}")
BRACKET = re.compile(r"[\[\]{}]")
BARE = re.compile(r"\b(lead|trail|left|right)\b", re.IGNORECASE)
BRACKETED_OR_BARE = re.compile(r"(\[[^\]\n]*\]|\{[^}\n]*\})|\b(lead|trail)\b", re.IGNORECASE)
SIDE_WORDS = tuple(COACH)  # what may stand in brackets
LONGEST_STEP, MOST_STEPS = 300, 20
IN_BRACKETS = ", ".join(f"[{word}]" for word in SIDE_WORDS)


def as_typed(wording: str) -> str:
    """A stored wording as a person types it, with square brackets."""
    return MARKER.sub(lambda found: f"[{found[1]}]" if is_known(found[1]) else found[0], wording)


def as_wording(typed: str) -> str:
    """What a person typed, as it is stored; whatever is no known word in brackets stays as it is."""
    return MARKED.sub(lambda found: f"{{{word_in(found)}}}" if is_known(word_in(found)) else found[0], typed)


def word_in(found: re.Match[str]) -> str:
    """The word in the brackets."""
    return (found[1] if found[1] is not None else found[2]).strip()


def is_known(word: str) -> bool:
    """Whether a word may stand in brackets."""
    return word.lower() in SIDE_WORDS


def check_brackets(typed: str) -> None:
    """Refuse words in brackets that are not known, and a bracket that stands alone."""
    for found in MARKED.finditer(typed):
        if not is_known(word_in(found)):
            raise ValidationError(f"“{found[0]}” is not known. In brackets write only {IN_BRACKETS}.")
    if BRACKET.search(MARKED.sub("", typed)):
        raise ValidationError(f"A bracket stands alone. Close it, as in {IN_BRACKETS}, or take it out.")


def bare_words(wording: str) -> list[str]:
    """Words of a side that stand without brackets: a student would read them as they are, whatever their side."""
    return list(dict.fromkeys(word.lower() for word in BARE.findall(MARKER.sub("", wording))))


def question_about(word: str) -> str:
    """What is asked about a word of a side that stands without brackets."""
    ask = f"Without brackets a student of either side reads “{word}” as it stands."
    return f"{ask} Put it in brackets, or tick below that it is meant."


def put_in_brackets(typed: str) -> str:
    """The same text with every bare lead and trail in brackets."""
    return BRACKETED_OR_BARE.sub(lambda found: found[1] or f"[{found[2]}]", typed)


class WordingField(LongTextField):
    """A text in which words that follow the player's side stand in square brackets; one that is too long is refused."""

    def to_python(self, value: Any) -> str:
        """The wording that is stored."""
        return as_wording((super().to_python(value) or "").replace("\r\n", "\n"))

    def validate(self, value: Any) -> None:
        """Only known words in brackets."""
        super().validate(value)
        check_brackets(value)

    def prepare_value(self, value: Any) -> Any:
        """What the field shows."""
        return as_typed(value) if isinstance(value, str) else value


class LineField(WordingField):
    """The same on one line."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"widget": forms.TextInput, **kwargs})

    def validate(self, value: Any) -> None:
        """No line breaks, which a program may send."""
        super().validate(value)
        if not value.isprintable():
            raise ValidationError("Write it on one line.")


class StepsField(forms.Field):
    """Steps, one on each line."""

    widget = forms.Textarea

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.line = LineField(max_length=LONGEST_STEP)

    def to_python(self, value: Any) -> list[str]:
        """The steps that are stored."""
        lines = [line for line in str(value or "").splitlines() if line.strip()]
        if len(lines) > MOST_STEPS:
            raise ValidationError(f"{len(lines)} steps are too many: {MOST_STEPS} at most.")
        return [self.clean_step(number, line) for number, line in enumerate(lines, 1)]

    def clean_step(self, number: int, line: str) -> str:
        """One step; a problem says which."""
        try:
            return str(self.line.clean(line))
        except ValidationError as error:
            raise ValidationError([f"Step {number}: {message}" for message in error.messages]) from error

    def prepare_value(self, value: Any) -> Any:
        """A line for each step."""
        return as_typed("\n".join(value)) if isinstance(value, list) else value
