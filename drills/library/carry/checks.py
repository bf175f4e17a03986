"""Checks of single values of a file. Each takes what stands there and returns what is stored. Pure."""

import re
from collections.abc import Callable, Iterable
from math import isfinite
from typing import Any

from drills.library.carry.reading import shortened
from lessons.wording import COACH, MARKER

Check = Callable[[Any], Any]
CODE = re.compile(r"[A-Za-z0-9_-]{1,60}")
# Control characters but a new line, and halves of characters, which no database can store.
NOT_TEXT = re.compile(r"[\x00-\x09\x0b-\x1f\x7f\ud800-\udfff]")


class InvalidValue(ValueError):
    """A value that cannot be stored; the message says what to put in its place."""


def words(longest: int, *, optional: bool = False) -> Check:
    """A wording: text with known markers only."""

    def check(value: Any) -> str:
        if not isinstance(value, str):
            raise InvalidValue("Write words in quotes here.")
        text = value.replace("\r\n", "\n").strip()
        if not text and not optional:
            raise InvalidValue("Write something here.")
        if len(text) > longest:
            raise InvalidValue(f"{len(text)} letters are too many: {longest} at most.")
        if NOT_TEXT.search(text):
            raise InvalidValue("A character in it cannot be shown. Type this text again.")
        check_markers(text)
        return text

    return check


def check_markers(text: str) -> None:
    """Allow only markers that can be rendered for a side."""
    for marker in MARKER.findall(text):
        if marker.lower() not in COACH:
            known = ", ".join(f"{{{word}}}" for word in COACH)
            raise InvalidValue(f"{{{shortened(marker)}}} is not known. Use only {known} in braces.")


def whole(low: int, high: int) -> Check:
    """A whole number within limits."""

    def check(value: Any) -> int:
        if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
            raise InvalidValue(f"Write a whole number from {low} to {high}.")
        return value

    return check


def number(low: float, high: float) -> Check:
    """A number within limits."""

    def check(value: Any) -> float:
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        if not is_number or not isfinite_number(value) or not low <= value <= high:
            raise InvalidValue(f"Write a number from {low:g} to {high:g}.")
        return float(value)

    return check


def isfinite_number(value: float) -> bool:
    """Whether it is a number that a column can hold; a whole number may be too large to be one."""
    try:
        return isfinite(value)
    except OverflowError:
        return False


def nothing_or(check: Check) -> Check:
    """What another check allows, or null."""
    return lambda value: None if value is None else check(value)


def yes_no(value: Any) -> bool:
    """True or false."""
    if not isinstance(value, bool):
        raise InvalidValue("Write true or false.")
    return value


def code(value: Any) -> str:
    """The code of a row."""
    if not isinstance(value, str) or not CODE.fullmatch(value):
        raise InvalidValue("A code has 1 to 60 letters (a to z), digits and hyphens.")
    return value


def code_or_none(value: Any) -> str:
    """The code of a row, or no letters where there is none."""
    return "" if value == "" else str(code(value))


def one_of(choices: Iterable[str]) -> Check:
    """One of some words."""
    known = list(choices)

    def check(value: Any) -> str:
        if value not in known or not isinstance(value, str):
            raise InvalidValue(f"“{shortened(value)}” is not known. Write one of: {', '.join(known)}.")
        return value

    return check


def list_of(check: Check, *, least: int = 0, most: int, in_order: bool = True) -> Check:
    """A list whose values each pass a check; none stands twice in one whose order says nothing."""

    def check_list(value: Any) -> list[Any]:
        if not isinstance(value, list):
            raise InvalidValue("Write a list in square brackets.")
        if not least <= len(value) <= most:
            raise InvalidValue(f"It has {len(value)}; {least} to {most} can be stored.")
        found = [numbered(place, check, each) for place, each in enumerate(value, start=1)]
        if in_order:
            return found
        if len(set(found)) < len(found):
            raise InvalidValue("One stands here twice.")
        return sorted(found)

    return check_list


def numbered(place: int, check: Check, value: Any) -> Any:
    """One value of a list, with its place in the message."""
    try:
        return check(value)
    except InvalidValue as problem:
        raise InvalidValue(f"number {place}: {problem}") from None
