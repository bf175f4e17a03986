"""The catalogue and its phrases as plain frozen rows, and how they are put together."""

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

PHRASES = Path(__file__).parent / "phrases"
Phrases = Mapping[str, Mapping[str, list[str]]]  # code -> "names", "good", "phrases" or "follow" -> how it is said


@dataclass(frozen=True)
class FaultWords:
    """A fault, how coaches say that they see it, and how they say so once its skill was named ("too far back")."""

    code: str
    phrases: tuple[str, ...]
    follow: tuple[str, ...] = ()


@dataclass(frozen=True)
class SkillWords:
    """A skill, how it is called, how coaches say that it is good, and its faults."""

    code: str
    area: str
    names: tuple[str, ...]
    good: tuple[str, ...]
    good_follow: tuple[str, ...]
    faults: tuple[FaultWords, ...]
    phase: str = ""  # setup, motion or finish


@dataclass(frozen=True)
class DrillWords:
    """A drill and how it is called."""

    code: str
    area: str
    phrases: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Catalogue:
    """All skills and drills. `version` names what they hold: equal versions share their compiled phrases."""

    version: str
    skills: tuple[SkillWords, ...]
    drills: tuple[DrillWords, ...]

    def __hash__(self) -> int:
        return hash(self.version)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Catalogue) and self.version == other.version

    @property
    def areas(self) -> list[str]:
        """The areas in the order of the rows, each once."""
        return list(dict.fromkeys([row.area for row in self.skills] + [row.area for row in self.drills]))


@cache
def shipped_phrases() -> Phrases:
    """The phrases that come with the program, by code."""
    phrases: dict[str, Mapping[str, list[str]]] = {}
    for path in sorted(PHRASES.glob("*.toml")):
        phrases |= tomllib.loads(path.read_text(encoding="utf-8"))
    return phrases


def build_catalogue(
    version: str, skills: Iterable[Mapping[str, Any]], drills: Iterable[Mapping[str, Any]], phrases: Phrases
) -> Catalogue:
    """Rows (`code`, `area`, `name`; a skill also has `phase` and `fault`, its rows) joined with their phrases.

    What has no phrases is known by its name alone. Names may hold the markers of `lessons.wording`, in any case.
    """
    return Catalogue(
        version,
        tuple(build_skill(row, phrases) for row in skills),
        tuple(DrillWords(row["code"], row["area"], with_name(row, phrases, "phrases")) for row in drills),
    )


def build_skill(row: Mapping[str, Any], phrases: Phrases) -> SkillWords:
    """One skill with its faults."""
    faults = tuple(build_fault(fault, phrases) for fault in row["fault"])
    good = tuple(phrases.get(row["code"], {}).get("good", ()))
    follow = tuple(phrases.get(row["code"], {}).get("follow", ()))
    return SkillWords(
        row["code"], row["area"], with_name(row, phrases, "names"), good, follow, faults, row.get("phase", "")
    )


def build_fault(row: Mapping[str, Any], phrases: Phrases) -> FaultWords:
    """One fault."""
    follow = tuple(phrases.get(row["code"], {}).get("follow", ()))
    return FaultWords(row["code"], with_name(row, phrases, "phrases"), follow)


def with_name(row: Mapping[str, Any], phrases: Phrases, kind: str) -> tuple[str, ...]:
    """The name of a row, also with a pause where it has a comma, and its phrases."""
    name = row["name"].lower()
    spoken = {re.sub(r"[^\w{}\s.]", " ", variant) for variant in (name.replace(".", " "), name.replace(", ", " .. "))}
    return (*sorted(spoken), *phrases.get(row["code"], {}).get(kind, ()))
