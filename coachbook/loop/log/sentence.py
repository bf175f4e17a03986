"""What the note of a log may say: read into proposals, each to enter, to change or to leave out by one tap."""

import re
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from django.http import QueryDict

from coachbook.accounts.models import Area
from coachbook.loop.log.lesson_form import LessonForm
from coachbook.loop.log.rows import LESSON_LOOKS, MOMENTS
from coachbook.loop.phrases.meant import read_phrases
from lessons.models import SeenFault
from lessons.sentence import Catalogue, Dose, Kind, Proposal, Reading, build_catalogue, read_sentence
from lessons.sentence.catalogue import shipped_phrases
from lessons.wording import render

DEGREES = [("not_graded", "seen"), ("slight", "slight"), ("clear", "clear")]
Row = tuple[str, str, str]  # code, area, name


@dataclass(frozen=True)
class Choice:
    """A button of a proposal: what it enters, its word, and whether it is what the sentence says."""

    value: str
    label: str
    is_said: bool = True


@dataclass(frozen=True)
class ProposalRow:
    """A proposal as the page shows it: the coach's words, what they may mean, and the buttons to enter it."""

    quote: str
    meaning: str
    choices: list[Choice]
    is_entered: bool = False

    @property
    def said(self) -> str:
        """What the sentence says, as the value of its button."""
        return next(choice.value for choice in self.choices if choice.is_said)


@dataclass(frozen=True)
class NoteReading:
    """All that was found in a note, and the words that were left out with the reason of each."""

    rows: list[ProposalRow]
    left_out: list[tuple[str, str]]
    others: list[str]  # students whom it names beside the one of the log

    @property
    def waiting(self) -> list[ProposalRow]:
        """What is not entered yet."""
        return [row for row in self.rows if not row.is_entered]


def read_note(lesson_form: LessonForm, data: QueryDict, students: Iterable[str]) -> NoteReading:
    """Read the note that was typed, for the student's sides and the areas of the lesson; `students` by name."""
    text, lesson = data.get("note", ""), lesson_form.lesson
    sides = {area: str(lesson.side(area)) for area in Area.values}
    ticked = [area for area in Area.values if data.get(area)] or [Area.PUTTING]
    reading = read_sentence(text, ticked, sides, catalogue_of(lesson_form))
    lesson_form.left = data.getlist("left")
    rows = [row for row in rows_of(lesson_form, reading, text) if row.said not in lesson_form.left]
    worked_on = {f"work={fault.code}" for fault in lesson_form.worked_on}
    found = [mark_entered(row, data, worked_on) for row in rows]
    left_out = [(text[part.start : part.end], part.reason) for part in reading.left_out]
    return NoteReading(found, left_out, named_in(text, students, lesson_form.student.name))


def named_in(text: str, students: Iterable[str], own: str) -> list[str]:
    """The other students whose first name stands in a text, written as it is."""
    words = set(re.findall(r"[\w'’-]+", text)) - {own.split()[0]}
    return [name for name in students if name.split()[0] in words]


def catalogue_of(lesson_form: LessonForm) -> Catalogue:
    """The academy's catalogue with its phrases."""
    skills = tuple(
        ((skill.code, skill.area, skill.name), tuple((fault.code, fault.name) for fault in skill.faults.all()))
        for skill in lesson_form.catalogue.skills
    )
    drills = tuple((drill.code, drill.area, drill.name) for drill in lesson_form.catalogue.drills.values())
    return build(skills, drills, read_phrases())


@lru_cache(maxsize=4)
def build(
    skills: tuple[tuple[Row, tuple[tuple[str, str], ...]], ...],
    drills: tuple[Row, ...],
    own: tuple[tuple[str, str], ...],
) -> Catalogue:
    """Put a catalogue together; the last ones are kept, since putting one together takes longer than reading."""
    skill_rows = [
        {**named(row), "fault": [{"code": code, "name": name} for code, name in faults]} for row, faults in skills
    ]
    version = str(hash((skills, drills, own)))
    good = {code for (code, *_), _ in skills}
    phrases = {code: {kind: [*words] for kind, words in kinds.items()} for code, kinds in shipped_phrases().items()}
    for code, words in own:
        phrases.setdefault(code, {}).setdefault("good" if code in good else "phrases", []).append(words)
    return build_catalogue(version, skill_rows, [named(row) for row in drills], phrases)


def named(row: Row) -> dict[str, str]:
    """A row with names for its values."""
    return dict(zip(("code", "area", "name"), row, strict=True))


def rows_of(lesson_form: LessonForm, reading: Reading, text: str) -> Iterator[ProposalRow]:
    """Every proposal that this kind of log can take."""
    for proposal in reading.proposals:
        quote = text[proposal.start : proposal.end]
        if proposal.kind in (Kind.GOOD, Kind.FAULT):
            yield from look_rows(lesson_form, proposal, quote)
        elif proposal.kind == Kind.KEEP:
            skill = next(row.skill for row in lesson_form.skills if row.skill.code == proposal.skill)
            words = render(skill.name, lesson_form.lesson.side(skill.area))  # the student reads it
            yield ProposalRow(quote, f"Keep: {words}", [Choice(f"keep={words}", "Enter")])
        elif proposal.kind == Kind.FOCUS:
            fault = lesson_form.catalogue.faults[proposal.fault or ""]
            yield ProposalRow(quote, f"Work on: {fault}", [Choice(f"work={fault.code}", "Enter")])
        elif proposal.drill:
            yield drill_row(lesson_form, proposal, quote)


def look_rows(lesson_form: LessonForm, proposal: Proposal, quote: str) -> Iterator[ProposalRow]:
    """What was seen: of a fault each degree is offered, the one that was said first among equals."""
    letters = {MOMENTS[letter]: letter for letter in LESSON_LOOKS}
    letter = letters[str(proposal.look)] if lesson_form.looks == LESSON_LOOKS else lesson_form.looks
    if lesson_form.looks != LESSON_LOOKS and proposal.look == "departure":
        return
    moment = MOMENTS[letter].capitalize()
    if proposal.kind == Kind.GOOD:
        skill = next(row.skill for row in lesson_form.skills if row.skill.code == proposal.skill)
        yield ProposalRow(quote, f"{moment}: {skill}, good", [Choice(f"{letter}.{skill.code}.good=on", "Enter")])
    else:
        fault = lesson_form.catalogue.faults[proposal.fault or ""]
        degree = proposal.degree or SeenFault.Degree.NOT_GRADED
        choices = [Choice(f"{letter}.{fault.code}={code}", label, code == degree) for code, label in DEGREES]
        yield ProposalRow(quote, f"{moment}: {fault}", choices)


def drill_row(lesson_form: LessonForm, proposal: Proposal, quote: str) -> ProposalRow:
    """A drill with what was said of its dose; the rest of the dose is the usual one."""
    drill, dose = lesson_form.catalogue.drills[proposal.drill or ""], proposal.dose or Dose()
    said = [
        f"{dose.amount} {dose.unit}" if dose.amount and dose.unit else "",
        f"{dose.per_week} times a week" if dose.per_week else "",
        f"for {dose.days} days" if dose.days else "",
    ]
    words = ", ".join([str(drill), *filter(None, said)])
    amounts = ";".join(str(word or "") for word in (dose.amount, dose.unit, dose.per_week, dose.days))
    return ProposalRow(quote, f"Drill: {words}", [Choice(f"drill={drill.code};{amounts}", "Enter")])


def mark_entered(row: ProposalRow, data: QueryDict, known: Collection[str]) -> ProposalRow:
    """The row, and whether one of its values is known or stands in the form already."""
    return replace(row, is_entered=any(choice.value in known or is_in(choice.value, data) for choice in row.choices))


def is_in(value: str, data: QueryDict) -> bool:
    """Whether a value stands in the form."""
    name, _, word = value.partition("=")
    if name == "keep":
        return word in data.get("keep", "")
    if name in ("work", "drill"):
        end = "-fault" if name == "work" else "-drill"
        code = word.split(";")[0]
        return any(data.get(field) == code for field in data if field.startswith("focus-") and field.endswith(end))
    return data.get(name) == word
