"""The text of a file, read into plain values; what cannot be read is said with its line and column. Pure."""

import json
from typing import Any

FORMAT, VERSION = "coachbook library", 1
UNITS = {"length": "m", "drawing": "cm", "time": "min"}
LARGEST = 1_000_000  # bytes; a library of 150 drills takes about 550,000
SECTIONS = ("skills", "faults", "drills", "designs")
KEYS = ("format", "version", "units", "academy", *SECTIONS)
MOST_ROWS = 2000


class FileProblem(ValueError):
    """The file as a whole cannot be taken in; the message is for the person who chose it."""


def read_file(content: bytes) -> dict[str, Any]:
    """The document in a file. Raises FileProblem where there is none that this version can read."""
    if len(content) > LARGEST:
        raise FileProblem(f"The file is too large: {len(content):,} bytes. {LARGEST:,} bytes at most.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise FileProblem("This is not a text file. Choose the file that was saved on the page of a library.") from None
    return check_head(read_json(text))


def read_json(text: str) -> Any:
    """The values in a text of JSON. Raises FileProblem with the place where it breaks off."""
    try:
        return json.loads(text, object_pairs_hook=each_key_once)
    except json.JSONDecodeError as error:
        place = f"Line {error.lineno}, column {error.colno}"
        message = f"{place}: the file cannot be read on from here. Look for a quote, a comma or a bracket before it."
        raise FileProblem(message) from None
    except RecursionError:
        raise FileProblem("The brackets in this file are nested too deep for a library.") from None
    except FileProblem:
        raise
    except ValueError:  # a whole number with thousands of digits
        raise FileProblem("A number in this file is far too long.") from None


def each_key_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object of the file. Raises FileProblem where a key stands in it twice, since one of the two would be lost."""
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise FileProblem(f"“{shortened(twice)}” stands twice in one row. Keep one of the two.")
    return found


def check_head(document: Any) -> dict[str, Any]:
    """The document, once it says that it is a library of this version in these units. Raises FileProblem."""
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise FileProblem(f"This file holds no library: “format” is not “{FORMAT}”.")
    if document.get("version") != VERSION or isinstance(document["version"], bool):
        raise FileProblem(f"This file is of version {shortened(document.get('version'))}; only {VERSION} can be read.")
    if document.get("units", UNITS) != UNITS:
        units = ", ".join(f"{name} in {unit}" for name, unit in UNITS.items())
        raise FileProblem(f"“units” must be these: {units}.")
    check_sections(document)
    return document


def check_sections(document: dict[str, Any]) -> None:
    """Raise FileProblem for a part that a library does not have, or one that is no list of rows."""
    if unknown := [name for name in document if name not in KEYS]:
        raise FileProblem(f"“{shortened(unknown[0])}” is no part of a library. Its parts are {', '.join(KEYS)}.")
    sections = {name: document.get(name, []) for name in SECTIONS}
    if wrong := [name for name, rows in sections.items() if not isinstance(rows, list)]:
        raise FileProblem(f"“{wrong[0]}” must be a list of rows, in square brackets.")
    number = sum(map(len, sections.values()))
    if number > MOST_ROWS:
        raise FileProblem(f"The file has {number} rows; {MOST_ROWS} at most can be taken in at once.")
    if not number:
        raise FileProblem("This library has no rows: nothing can be taken in.")


def shortened(value: Any) -> str:
    """A value of the file as a message quotes it."""
    text = str(value).encode(errors="replace").decode()  # half a character could not be sent to a browser
    return text if len(text) <= 40 else f"{text[:39]}…"
