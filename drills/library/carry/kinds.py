"""The four kinds of rows in a file: their fields, how a stored row is written, and what a written one says."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db import models

from coachbook.accounts.models import Area
from coachbook.forms import LONGEST_TEXT
from drills.library.carry import checks
from drills.library.carry.checks import Check, InvalidValue
from drills.library.carry.reading import shortened
from drills.library.drawing import check as drawing_problems
from drills.library.editing.forms import LONGEST_ITEM, MOST_ITEMS
from drills.models import Design, Drill
from drills.putting.observations import FURTHEST_M
from drills.scored_tests.models import FURTHEST_PAST_M
from lessons.measures import TOO_GREAT, UNITS
from lessons.models import Fault, Skill
from lessons.models.catalogue import measure_values
from lessons.shipped import ShippedRow

MOST_FAULTS, MOST_STEPS = 60, 20  # of one drill
REQUIRED = object()
WORDINGS = (models.CharField, models.TextField)


@dataclass(frozen=True)
class Field:
    """One key of a row: how its value is checked, and what it is where it is left out."""

    check: Check
    default: Any = REQUIRED


@dataclass(frozen=True)
class Kind:
    """One kind of rows: `columns` stand in the file as they stand in the table; `links` hold codes of other rows."""

    name: str  # of one row, in messages
    model: type[ShippedRow]
    columns: tuple[str, ...]
    fields: Mapping[str, Field]
    links: Mapping[str, str]  # the kind of rows whose codes stand under a key
    checks_together: Callable[[Mapping[str, Any]], Iterable[tuple[str, str]]]


# --- Checks of values that belong together ------------------------------------------------------


def drawing(value: Any) -> dict[str, Any]:
    """A drawing that can be drawn, or an empty one."""
    if value == {} and isinstance(value, dict):
        return {}
    for problem in drawing_problems(value):
        place = f"piece {problem.piece + 1}, " if problem.piece is not None else ""
        raise InvalidValue(f"{place}{shortened(problem.field)}: {problem.message}")
    return dict(value)


MEASURE = {
    "name": Field(checks.words(120)),
    "unit": Field(checks.one_of(["", *UNITS]), ""),
    "low": Field(checks.nothing_or(checks.number(-TOO_GREAT, TOO_GREAT)), None),
    "high": Field(checks.nothing_or(checks.number(-TOO_GREAT, TOO_GREAT)), None),
    "step": Field(checks.nothing_or(checks.number(0.001, TOO_GREAT)), None),
    "by_eye": Field(checks.yes_no, False),
    "usual": Field(
        checks.nothing_or(checks.list_of(checks.number(-TOO_GREAT, TOO_GREAT), least=2, most=2)),
        None,
    ),
}


def measure(value: Any) -> dict[str, Any] | None:
    """What is measured of a skill, or nothing."""
    if value is None:
        return None
    problems: list[tuple[str, str]] = []
    found = check_fields(MEASURE, value, problems)
    for field, message in problems:
        raise InvalidValue(f"{field}: {message}")
    limits = (found["low"], found["high"], found["step"])
    if found["unit"] and (None in limits or found["low"] >= found["high"]):
        raise InvalidValue("With a unit it needs low, high and step, and low is less than high.")
    if found["usual"] and found["usual"][0] >= found["usual"][1]:
        raise InvalidValue("usual: the first number is less than the second.")
    return found


def drill_problems(row: Mapping[str, Any]) -> Iterable[tuple[str, str]]:
    """Faults that a drill cannot both mend and be wrong for."""
    if both := set(row["mends"]) & set(row["wrong_for"]):
        yield "wrong_for", f"{min(both)} stands under mends, too: choose one of the two."
    if other := set(row["first_for"]) - set(row["mends"]):
        yield "first_for", f"{min(other)} does not stand under mends."


def design_problems(row: Mapping[str, Any]) -> Iterable[tuple[str, str]]:
    """A gate has a width, and proximity is for shots from off the green."""
    if (row["kind"] == Design.Kind.GATE) != (row["width_m"] is not None):
        yield "width_m", "A gate has a width, and no other kind of test has one."
    if row["past_m"] is not None and not Design(kind=row["kind"]).has_aim:
        yield "past_m", "Only putts to a hole, a line or a zone have an aim."
    if (row["kind"] == Design.Kind.CHIPS) == (row["area"] == Area.PUTTING):
        yield "kind", "Proximity is for shots from off the green, and every other kind is for putts."
    if len(set(row["distances_m"])) < len(row["distances_m"]):
        yield "distances_m", "One distance stands here twice."


def none_together(row: Mapping[str, Any]) -> Iterable[tuple[str, str]]:
    """Nothing to check."""
    return ()


# --- The kinds ----------------------------------------------------------------------------------


def column(model: type[models.Model], name: str) -> Field:
    """The field for a column, as the model describes it."""
    field: Any = model._meta.get_field(name)
    default = field.default if field.has_default() and not callable(field.default) else REQUIRED
    if field.choices:
        return Field(checks.one_of([value for value, _ in field.choices]), default)
    if isinstance(field, models.BooleanField):
        return Field(checks.yes_no, default)
    if isinstance(field, WORDINGS):
        return Field(
            checks.words(field.max_length or LONGEST_TEXT, optional=field.blank), "" if field.blank else default
        )
    return Field(checks.whole(0, 32767), default)


COMMON = {
    "code": Field(checks.code),
    "position": Field(checks.whole(0, 32767), 0),
    "archived": Field(checks.yes_no, False),
    "merged_into": Field(checks.code_or_none, ""),
    "edited": Field(checks.yes_no, False),
}
COMMON_COLUMNS = ("code", "position", "archived")
FAULT_CODES = checks.list_of(checks.code, most=MOST_FAULTS, in_order=False)
SPECIAL: dict[str, Field] = {
    "measure": Field(measure, None),
    "skill": Field(checks.code),
    "costs": Field(checks.list_of(checks.one_of(Fault.Cost.values), most=9), ()),
    "places": Field(checks.list_of(checks.one_of(Drill.Place.values), most=9), ()),
    "items": Field(checks.list_of(checks.words(LONGEST_ITEM), most=MOST_ITEMS), ()),
    "steps": Field(checks.list_of(checks.words(500), least=1, most=MOST_STEPS)),
    "minutes": Field(checks.whole(1, 120)),
    "drawing": Field(drawing, {}),
    "dose_amount": Field(checks.whole(1, 200)),
    "dose_per_week": Field(checks.whole(1, 7)),
    "dose_days": Field(checks.whole(1, 365)),
    "child_minutes": Field(checks.whole(0, 60), 0),
    "mends": Field(FAULT_CODES, ()),
    "first_for": Field(FAULT_CODES, ()),
    "wrong_for": Field(FAULT_CODES, ()),
    "distances_m": Field(checks.list_of(checks.number(0.1, FURTHEST_M), least=1, most=10)),
    "balls": Field(checks.whole(1, 100)),
    "width_m": Field(checks.nothing_or(checks.number(0.0428, 1.0)), None),
    "past_m": Field(checks.nothing_or(checks.number(0, FURTHEST_PAST_M)), None),
}
SKILL = ("area", "phase", "name", "look", "goal", "house_wish", "child")
FAULT = ("name", "goal", "plain", "feel", "costs", "house_wish")
DRILL = (
    *("area", "name", "kind", "schedule", "places", "items", "minutes", "purpose", "equipment", "setup", "steps"),
    *("feel", "mark", "tip", "dose_amount", "dose_unit", "dose_per_week", "dose_days", "caution", "game"),
    *("child_minutes", "drawing"),
)
DESIGN = ("area", "kind", "name", "purpose", "setup", "note", "distances_m", "balls", "width_m", "past_m", "caution")
FITS = {"mends": "faults", "first_for": "faults", "wrong_for": "faults"}


def make_kind(
    plural: str,
    model: type[ShippedRow],
    columns: tuple[str, ...],
    links: Mapping[str, str],
    *more: str,
    together: Callable[[Mapping[str, Any]], Iterable[tuple[str, str]]] = none_together,
) -> Kind:
    """A kind whose fields are the common ones, its columns, and some more that are no columns."""
    names = (*columns, *more)
    own = {name: SPECIAL[name] if name in SPECIAL else column(model, name) for name in names}
    name = plural.removesuffix("s")
    return Kind(name, model, (*COMMON_COLUMNS, *columns), COMMON | own, {"merged_into": plural, **links}, together)


KINDS = {
    "skills": make_kind("skills", Skill, SKILL, {}, "measure"),
    "faults": make_kind("faults", Fault, FAULT, {"skill": "skills"}, "skill"),
    "drills": make_kind("drills", Drill, DRILL, FITS, *FITS, together=drill_problems),
    "designs": make_kind("designs", Design, DESIGN, {}, together=design_problems),
}
NOT_COMPARED = ("position", "edited")  # the order is each academy's own


def check_fields(fields: Mapping[str, Field], row: Any, problems: list[tuple[str, str]]) -> dict[str, Any]:
    """The values of a row by their fields; what is wrong is added to the problems with the name of its key."""
    if not isinstance(row, dict):
        problems.append(("", "Write a row in braces here."))
        return {}
    problems += [(shortened(name), "There is no such key.") for name in row if name not in fields]
    found: dict[str, Any] = {}
    for name, field in fields.items():
        if name not in row and field.default is REQUIRED:
            problems.append((name, "This is missing."))
            continue
        try:
            found[name] = field.check(row[name]) if name in row else as_default(field.default)
        except InvalidValue as problem:
            problems.append((name, str(problem)))
    return found


def as_default(value: Any) -> Any:
    """A value that is left out; lists are made afresh."""
    return list(value) if isinstance(value, tuple) else value


# --- Stored rows --------------------------------------------------------------------------------


def written(plural: str, row: Any) -> dict[str, Any]:
    """A stored row as it stands in a file."""
    found = {name: getattr(row, name) for name in KINDS[plural].columns}
    found |= {"merged_into": row.merged_into.code if row.merged_into else "", "edited": row.is_changed}
    if plural == "skills":
        found["measure"] = written_measure(row)
    if plural == "faults":
        found["skill"] = row.skill.code
    if plural == "drills":
        found |= written_fits(row)
    return found


def written_measure(skill: Skill) -> dict[str, Any] | None:
    """What is measured of a skill; nothing where nothing is."""
    if not skill.measure:
        return None
    ends = [skill.measure_usual_low, skill.measure_usual_high]
    names = ("unit", "low", "high", "step", "by_eye")
    values = {name: getattr(skill, f"measure_{name}") for name in names}
    return {"name": skill.measure, **values, "usual": None if None in ends else ends}


def written_fits(drill: Drill) -> dict[str, list[str]]:
    """The codes of the faults that a drill mends, comes first for, and is wrong for."""
    fits = sorted((fit.fault.code, fit.is_first, fit.is_wrong) for fit in drill.fits.all())
    return {
        "mends": [code for code, _, is_wrong in fits if not is_wrong],
        "first_for": [code for code, is_first, _ in fits if is_first],
        "wrong_for": [code for code, _, is_wrong in fits if is_wrong],
    }


def column_values(plural: str, row: Mapping[str, Any]) -> dict[str, Any]:
    """The columns that a row of a file gives, without those that belong to the academy."""
    found = {name: row[name] for name in KINDS[plural].columns if name not in ("code", "position")}
    if plural == "skills":
        found |= measure_values({name: value for name, value in (row["measure"] or {}).items() if value is not None})
    return found
