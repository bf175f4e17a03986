"""Scores the reader of sentences against the labelled sentences (labels.md says how they are labelled)."""

import json
import tomllib
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from lessons.progress.intervals import wilson
from lessons.sentence import Catalogue, Kind, Reading, build_catalogue, read_sentence
from lessons.sentence.catalogue import shipped_phrases

HERE = Path(__file__).parent
ROOT = HERE.parent.parent
FIELDS = ("arrival", "departure", "degree", "keep", "focus", "drill", "dose")
LATER = ("dictated", "spoken", "noted", "voices", "evening")  # each labelled before any rule was changed for it
READ_SINCE = ("relaxed", "brisk", "several")  # by three writers who saw no rule; their errors were looked at since
BLIND = ("orderly",)  # by a writer who saw no rule and no other sentence; nobody looks at its errors
COUNTED = ("closing", "checking", "unread", "sealed", *BLIND)
ODD, EVEN = slice(0, None, 2), slice(1, None, 2)  # lines
HALVES = {
    "tuning": ("second", ODD),
    "checking": ("second", EVEN),
    "third-tuning": ("third", ODD),
    "unread": ("third", EVEN),  # counted only: nobody looks at its errors
}
TUNED = ("open", "hurried", *LATER, "tuning", "third-tuning", *READ_SINCE)  # whose errors were looked at
PARTS = (*TUNED, *COUNTED)
READ_RIGHT = HERE / "read_right.json"  # the places that `read_right` found once, and that are to stay
Item = tuple[Any, ...]


def rows(folder: Path, name: str) -> Iterator[dict[str, Any]]:
    for path in sorted(folder.glob("*.toml")):
        content = tomllib.loads(path.read_text(encoding="utf-8"))
        yield from ({"area": content["area"], **row} for row in content[name])


@cache
def catalogue() -> Catalogue:
    """The catalogue that comes with the program."""
    skills = rows(ROOT / "lessons/catalogue", "skill")
    drills = rows(ROOT / "drills/library/catalogue", "drill")
    return build_catalogue("shipped", skills, drills, shipped_phrases())


def load(part: str) -> list[dict[str, Any]]:
    """The labelled sentences, their labels in the codes of today: rows of the catalogue were merged since."""
    name, lines = HALVES.get(part, (part, slice(None)))
    texts = (HERE / f"{name}.jsonl").read_text(encoding="utf-8").splitlines()[lines]
    return [in_codes_of_today(json.loads(text)) for text in texts]


@cache
def merged() -> tuple[dict[str, str], dict[str, str]]:
    """The codes that were merged by their codes of today, and the skill of every fault."""
    skills = list(rows(ROOT / "lessons/catalogue", "skill"))
    faults = [fault | {"skill": skill["code"]} for skill in skills for fault in skill["fault"]]
    survivors = {old: row["code"] for row in [*skills, *faults] for old in row.get("was", ())}
    return survivors, {fault["code"]: fault["skill"] for fault in faults}


def in_codes_of_today(row: dict[str, Any]) -> dict[str, Any]:
    """A labelled sentence whose skills and faults are those they were merged into."""
    survivors, _ = merged()
    looks = {look: look_of_today(row[look]) for look in ("arrival", "departure")}
    return row | looks | {name: [survivors.get(code, code) for code in row[name]] for name in ("keep", "focus")}


def look_of_today(seen: dict[str, Any]) -> dict[str, Any]:
    """What a look showed; of two merged skills or faults the worse counts."""
    survivors, skill_of = merged()
    found: dict[str, Any] = {survivors.get(skill, skill): "good" for skill, what in seen.items() if what == "good"}
    for faults in (what for what in seen.values() if what != "good"):
        for fault, degree in faults.items():
            code = survivors.get(fault, fault)
            known = found.get(skill_of[code], {})
            known = known if isinstance(known, dict) else {}
            worse = max(degree, known.get(code, ""), key=["", "not_graded", "slight", "clear"].index)
            found[skill_of[code]] = known | {code: worse}
    return found


def read(row: dict[str, Any]) -> Reading:
    return read_sentence(row["text"], [row["area"]], row["sides"], catalogue())


def labelled(row: dict[str, Any]) -> dict[str, set[Item]]:
    """The items of the labels, by field."""
    items: dict[str, set[Item]] = {field: set() for field in FIELDS}
    for look in ("arrival", "departure"):
        for skill, seen in row[look].items():
            if seen == "good":
                items[look].add((skill, "good"))
                continue
            for fault, degree in seen.items():
                items[look].add((skill, fault))
                items["degree"].add((look, fault, degree))
    items["keep"] = {(skill,) for skill in row["keep"]}
    items["focus"] = {(fault,) for fault in row["focus"]}
    for drill in row["drills"]:
        add_drill(items, drill["drill"], drill)
    return items


def add_drill(items: dict[str, set[Item]], code: str | None, dose: dict[str, Any]) -> None:
    if code:
        items["drill"].add((code,))
    if dose.get("amount"):
        items["dose"].add((code, dose["amount"], dose["unit"]))
    items["dose"] |= {(code, part, dose[part]) for part in ("per_week", "days") if dose.get(part)}


def proposed(reading: Reading) -> dict[str, set[Item]]:
    """The items of the proposals, by field."""
    items: dict[str, set[Item]] = {field: set() for field in FIELDS}
    for row in reading.proposals:
        if row.kind in (Kind.GOOD, Kind.FAULT):
            items[row.look].add((row.skill, row.fault or "good"))
        if row.kind is Kind.FAULT:
            items["degree"].add((row.look, row.fault, row.degree))
        if row.kind in (Kind.KEEP, Kind.FOCUS):
            items[row.kind].add((row.skill if row.kind is Kind.KEEP else row.fault,))
        if row.kind is Kind.DRILL:
            add_drill(items, row.drill, vars(row.dose))
    return items


def read_right(part: str) -> list[int]:
    """The places in a part of the sentences from which just what is labelled is proposed."""
    return [place for place, row in enumerate(load(part)) if labelled(row) == proposed(read(row))]


def false_weight(item: Item, wrong: set[Item], row: dict[str, Any]) -> int:
    """Two for a wrong side or a missed "not": the label holds the opposite of what was proposed."""
    text = str(item)
    opposites = [("-back", "-forward"), ("-open", "-closed"), ("-inside", "-outside"), ("-low", "-high")]
    swapped = {text.replace(one, other) for pair in opposites for one, other in (pair, pair[::-1]) if one in text}
    missed = {str(label) for label in wrong}
    is_side = "side" in row["shows"] and bool(swapped & missed)
    is_not = len(item) == 2 and item[1] != "good" and (item[0], "good") in wrong
    return 2 if is_side or is_not else 1


def count(part: str) -> dict[str, Counter[str]]:
    """True, false and missed items of each field, over all sentences of a part."""
    totals = {field: Counter[str]() for field in (*FIELDS, "all")}
    for row in load(part):
        labels, found = labelled(row), proposed(read(row))
        for field in FIELDS:
            missed, false = labels[field] - found[field], found[field] - labels[field]
            counted = {
                "true": len(labels[field] & found[field]),
                "false": sum(false_weight(item, missed, row) for item in false),
                "missed": len(missed),
            }
            totals[field].update(counted)
            totals["all"].update(counted)
    return totals


def report(part: str) -> str:
    """A table of precision and recall for one part, each with n and its interval."""
    lines = [f"{part}: {len(load(part))} sentences"]
    for field, total in count(part).items():
        precision = share(total["true"], total["true"] + total["false"])
        recall = share(total["true"], total["true"] + total["missed"])
        lines.append(f"  {field:10}  precision {precision}   recall {recall}")
    return "\n".join(lines)


def share(true: int, of: int) -> str:
    interval = wilson((true, of))
    value = f"{true / of:.3f}" if of else "  –  "
    return f"{value} ({interval.low:.2f}-{interval.high:.2f}, n={of})"
