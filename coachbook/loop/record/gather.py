"""The record of a finished lesson: what was seen and changed, agreed and given, in a constant number of queries."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import cast

from django.db.models import OuterRef, Prefetch, Q, Subquery

from coachbook.accounts.models import Academy, User
from coachbook.loop.sheets.gather import test_words
from drills.models import Prescription
from drills.practice.doses import dose_in_words
from drills.putting.lengths import unit_of
from lessons.log import NoteVisibility
from lessons.models import Fault, Focus, Lesson, Look, Observation, Reader, SeenFault, SeenFocus, Skill
from lessons.progress.points import LEVELS, Degree, Level, is_better
from lessons.progress.words import COACH
from lessons.wording import render_typed
from lessons.words_then import NAME, name_then, words_then

LABELS = {
    None: "Seen",
    Look.Kind.ARRIVAL: "On arrival",
    Look.Kind.COURSE: "On the course",
    Look.Kind.CLIP: "In the clip",
    Look.Kind.DEPARTURE: "On departure",
}
ACTS = ("closed", "continued", "opened")
FAULT_THEN = {NAME: words_then("fault", "observation__look__lesson")}
IN_ORDER = SeenFault.objects.select_related("fault").order_by("fault__position", "fault_id")
SEEN_FAULTS = Prefetch("seen_faults", IN_ORDER.annotate(**FAULT_THEN))
SKILL_THEN = {NAME: words_then("skill", "look__lesson")}
FIRST, DEPARTURE = "seen_first", "seen_on_departure"  # the names of annotations
LEVEL_WORDS = {**COACH.levels, "any": "seen", "none": ""}


@dataclass(frozen=True)
class SeenRow:
    """A fault or a measure: what the first look and the departure showed; empty is not looked at.

    `change` is better or worse, or empty where it stayed the same or the two cannot be compared.
    """

    name: str
    first: str
    departure: str
    change: str = ""


@dataclass(frozen=True)
class SeenGroup:
    """What was seen at the same looks: the rows, and the skills that were good."""

    label: str
    rows: list[SeenRow]
    good: list[str]


@dataclass(frozen=True)
class Note:
    """Words of a coach with what they are about and who reads them; no words where this person may not read them."""

    about: str
    words: str
    reader: str


@dataclass(frozen=True)
class FocusRow:
    """A focus that the lesson opened, continued or closed, with the drill that it was given."""

    act: str
    name: str
    own: str
    target: str
    feel: str
    drill: str


@dataclass(frozen=True)
class Record:
    """All that the page of a finished lesson shows to somebody who reads notes."""

    lesson: Lesson
    areas: str
    seen: list[SeenGroup]
    focuses: list[FocusRow]
    notes: list[Note]
    tests: list[str]
    withheld: str  # the coach whose notes this person may not read


def record_of(lesson: Lesson, *, academy: Academy, reader: User) -> Record:
    """The record as this person may read it."""
    visibility, observed = NoteVisibility.of(reader, lesson), observations_of(lesson)
    focuses = focuses_of(lesson)
    return Record(
        lesson=lesson,
        areas=areas_in_words(lesson),
        seen=seen_groups(observed, own_words_rows(focuses)),
        focuses=focus_rows(lesson, focuses),
        notes=list(notes_of(lesson, observed, visibility)),
        tests=list(test_words(lesson, unit_of(academy.units))),
        withheld=visibility.coach,
    )


def areas_in_words(lesson: Lesson) -> str:
    """The areas of a lesson: Putting, chipping."""
    return ", ".join(area.label.lower() for area in lesson.areas).capitalize()


# --- What was seen --------------------------------------------------------------------------------


def observations_of(lesson: Lesson) -> list[Observation]:
    """What the looks of the lesson showed, in the order of the catalogue and in the words of that time."""
    kinds = [kind for kind in LABELS if kind]
    rows = Observation.objects.filter(look__lesson=lesson, look__kind__in=kinds).select_related("look", "skill")
    return list(
        rows.annotate(**SKILL_THEN)
        .prefetch_related(SEEN_FAULTS)
        .order_by("skill__area", "skill__position", "skill_id", "pk")
    )


def seen_groups(observed: list[Observation], own_words: Iterable[SeenRow]) -> list[SeenGroup]:
    """What was seen at both looks, so that it can be compared, then at the first alone, then on departure alone."""
    rows, good = defaultdict[str, list[SeenRow]](list), defaultdict[str, list[str]](list)
    looks: dict[Skill, dict[str, Observation]] = defaultdict(dict)
    for row in observed:
        looks[row.skill][row.look.kind] = row
    for skill, by_kind in looks.items():
        departure = by_kind.pop(Look.Kind.DEPARTURE, None)
        first = next(iter(by_kind.values()), None)
        first_kind = first.look.kind if first else Look.Kind.ARRIVAL
        for found in rows_of(skill, first, departure):
            rows[label_of_row(found, first_kind)].append(found)
        if label := good_label(first, departure):
            good[label].append(name_then(cast(Observation, first or departure)))
    for found in own_words:
        rows[label_of_row(found, Look.Kind.ARRIVAL)].append(found)
    return [SeenGroup(label, rows[label], good[label]) for label in LABELS.values() if rows[label] or good[label]]


def label_of_row(row: SeenRow, first: str) -> str:
    """What the page calls the looks that a row holds; `first` is the kind of the first one."""
    if row.first and row.departure:
        return LABELS[None]
    return LABELS[Look.Kind(first) if row.first else Look.Kind.DEPARTURE]


def own_words_rows(focuses: Iterable[Focus]) -> Iterator[SeenRow]:
    """What the looks showed of the focuses in own words."""
    for focus in focuses:
        degrees = getattr(focus, FIRST), getattr(focus, DEPARTURE)
        if focus.is_own_words and any(degrees):
            yield level_row(render_typed(focus.what), *map(level_of_own_words, degrees))


def level_of_own_words(degree: str | None) -> Level:
    """The level of what one look showed of own words; None is not looked at."""
    if degree is None:
        return "none"
    return "0" if degree == SeenFocus.Degree.GOOD else LEVELS[cast(Degree, degree)]


def good_label(first: Observation | None, departure: Observation | None) -> str:
    """The looks at which a skill without a fault was good, as the page calls them; empty if it was not."""
    both = [row for row in (first, departure) if row]
    if any(row.seen_faults.all() for row in both):
        return ""
    found = [row if row and row.verdict == Observation.Verdict.GOOD else None for row in (first, departure)]
    return label_of(*found) if any(found) else ""


def label_of(first: Observation | None, departure: Observation | None) -> str:
    """What the page calls the looks that showed something."""
    if first and departure:
        return LABELS[None]
    return LABELS[Look.Kind((first or departure).look.kind)]  # type: ignore[union-attr]  # one of the two is there


def rows_of(skill: Skill, first: Observation | None, departure: Observation | None) -> Iterator[SeenRow]:
    """The rows of the faults of one skill, and of its measure."""
    both = [row for row in (first, departure) if row]
    names = {seen.fault: name_then(seen) for row in both for seen in row.seen_faults.all()}
    for fault, name in names.items():
        yield level_row(name, level_of(first, fault), level_of(departure, fault))
    if any(row.measured for row in both):
        name = skill.measured.heading() if skill.measured else f"{name_then(both[0])}, measured"
        yield SeenRow(name, *(row.measured_and_how if row else "" for row in (first, departure)))


def level_of(row: Observation | None, fault: Fault) -> Level:
    """The level of a fault at one look: of a look that was graded and does not name it, good."""
    seen = {each.fault: cast(Degree, each.degree) for each in row.seen_faults.all()} if row else {}
    if fault in seen:
        return LEVELS[seen[fault]]
    is_graded = row is not None and (row.verdict == Observation.Verdict.GOOD or bool(seen))
    return "0" if is_graded else "none"


def level_row(name: str, first: Level, departure: Level) -> SeenRow:
    """Two levels in words, and what became of the first."""
    return SeenRow(name, LEVEL_WORDS[first], LEVEL_WORDS[departure], change_word(first, departure))


def change_word(first: Level, departure: Level) -> str:
    """What became of a level by the departure."""
    if "none" in (first, departure):
        return ""
    if is_better(departure, first):
        return "better"
    return "worse" if is_better(first, departure) else ""


# --- What was written -----------------------------------------------------------------------------


def notes_of(lesson: Lesson, observed: list[Observation], visibility: NoteVisibility) -> Iterator[Note]:
    """The note of the lesson, and the words beside what was seen."""
    words = [("", lesson.note, lesson.note_reader)]
    for row in observed:
        moment = row.look.get_kind_display().lower()
        words.append((f"{name_then(row)}, {moment}", row.words, row.reader))
    for about, text, reader in words:
        if text:
            is_read = visibility.can_read(reader)
            yield Note(about, render_typed(text) if is_read else "", Reader(reader).label if is_read else "")


# --- What was agreed ------------------------------------------------------------------------------


def focus_rows(lesson: Lesson, focuses: Iterable[Focus]) -> list[FocusRow]:
    """The focuses that the lesson closed, continued and opened, in this order, with the drills that it gave."""
    given = {row.focus_id: row for row in lesson.prescriptions.select_related("drill")}
    rows = [focus_row(focus, lesson, given.get(focus.pk)) for focus in focuses]
    return sorted(rows, key=lambda row: ACTS.index(row.act.split(",")[0]))


def focuses_of(lesson: Lesson) -> list[Focus]:
    """The focuses that were open in the lesson, not closed before it, and what its looks showed of them."""
    finished, starts_at = Lesson.Status.COMPLETE, lesson.session.starts_at
    by_then = Q(opened_in=lesson) | Q(opened_in__status=finished, opened_in__session__starts_at__lt=starts_at)
    before = Q(closed_in__status=finished, closed_in__session__starts_at__lt=starts_at)
    found = lesson.student.focuses.filter(by_then).exclude(before & ~Q(opened_in=lesson))
    seen = SeenFocus.objects.filter(look__lesson=lesson, focus=OuterRef("pk"))
    departure = seen.filter(look__kind=Look.Kind.DEPARTURE).values("degree")[:1]
    first = seen.exclude(look__kind=Look.Kind.DEPARTURE).values("degree")[:1]
    found = found.annotate(**{FIRST: Subquery(first), DEPARTURE: Subquery(departure)})
    found = found.annotate(**{NAME: words_then("fault", lesson.completed_at)})
    return list(found.select_related("fault").order_by("opened_in__session__starts_at", "slot"))


def focus_row(focus: Focus, lesson: Lesson, given: Prescription | None) -> FocusRow:
    """One focus, and what became of it in the lesson."""
    drill = f"{given.drill}, {dose_in_words(given.amount, given.unit, given.per_week, given.days)}" if given else ""
    return FocusRow(
        act=act_of(focus, lesson),
        name=name_then(focus) if focus.fault else render_typed(focus.what),
        own=render_typed(focus.what) if focus.fault else "",
        target=render_typed(given.mark) if given else "",
        feel=render_typed((given.feel if given else "") or focus.feel),
        drill=drill,
    )


def act_of(focus: Focus, lesson: Lesson) -> str:
    """What the lesson did with a focus."""
    if focus.closed_in_id == lesson.pk:
        return f"closed, {focus.get_decision_display()}" if focus.decision else "closed"
    return "opened" if focus.opened_in_id == lesson.pk else "continued"
