"""A value of a row in words, to be compared by a person. Pure."""

from typing import Any

from lessons.wording import render_typed

WORDS = {True: "yes", False: "no", None: "none", "": "none"}


def shown(value: Any) -> str:
    """A value as a person reads it, wordings with the words of the trade."""
    if isinstance(value, bool | None) or value == "":
        return WORDS[value]
    if isinstance(value, dict):
        return "; ".join(f"{name.replace('_', ' ')}: {shown(each)}" for name, each in value.items()) or "none"
    if isinstance(value, list):
        return "; ".join(map(shown, value)) or "none"
    if isinstance(value, float):
        return f"{value:g}"
    return render_typed(str(value))
