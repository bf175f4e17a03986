"""The rows of a log: one for each skill, and within it one for each look."""

from collections.abc import Collection
from dataclasses import dataclass, field, replace

from django.http import QueryDict

from coachbook.loop.log.measures import MeasureField, stored_in
from lessons.log import NoteVisibility
from lessons.models import Fault, Focus, Observation, SeenFault, Session, Skill
from lessons.observations import Degrees, ObservationValues

MOMENTS = {"a": "arrival", "d": "departure", "c": "course", "v": "clip"}
HEADINGS = {"a": "Arrival", "d": "Departure", "c": "On the course", "v": "In the clip"}
LESSON_LOOKS = "ad"
LOOKS = {Session.Kind.COURSE: "c", Session.Kind.CLIP: "v"}  # the letters of a kind's looks; of all others LESSON_LOOKS
BLANK = ObservationValues(good=False, degrees={})


@dataclass
class LookRow:
    """One skill, or one focus in a coach's own words, at one look, as it is shown and as it is posted."""

    skill: Skill | Focus
    letter: str
    seen: ObservationValues
    is_withheld: bool = False
    error: str = ""
    measure: MeasureField = field(default_factory=MeasureField)

    @property
    def name(self) -> str:
        """The prefix of the names of its fields."""
        return f"{self.letter}.{self.skill.code}"

    @property
    def anchor(self) -> str:
        """Its id on the page; with `_error` behind, that of its error."""
        return f"{self.letter}-{self.skill.code}"

    @property
    def moment(self) -> str:
        """The kind of the look."""
        return MOMENTS[self.letter]

    @property
    def heading(self) -> str:
        """The legend above its fields."""
        return HEADINGS[self.letter]


@dataclass(frozen=True)
class FaultRow:
    """A fault with its degree at each look, empty where it was not seen; own words are drawn as a fault, too."""

    fault: Fault | Focus
    looks: list[tuple[LookRow, str]]


@dataclass
class SkillRow:
    """A skill with its looks and faults in order, and what was recorded last time; `worked_on`: faults with a focus."""

    skill: Skill
    looks: list[LookRow]
    faults: list[Fault]
    last_time: list[tuple[str, str]] = field(default_factory=list)
    worked_on: frozenset[Fault] = frozenset()

    @property
    def first(self) -> list[FaultRow]:
        """The faults in sight: those that are worked on, or else all."""
        return self.fault_rows(self.worked_on & set(self.faults) or set(self.faults))

    @property
    def rest(self) -> list[FaultRow]:
        """The faults behind those in sight."""
        first = {row.fault for row in self.first}
        return self.fault_rows({fault for fault in self.faults if fault not in first})

    @property
    def is_more_open(self) -> bool:
        """Whether anything behind those in sight was seen, measured or written."""
        written = any(look.measure.text or look.seen.words for look in self.looks)
        return written or any(degree for row in self.rest for _, degree in row.looks)

    def fault_rows(self, shown: Collection[Fault]) -> list[FaultRow]:
        """These faults in the order of the catalogue."""
        found = [fault for fault in self.faults if fault in shown]
        return [FaultRow(fault, [(look, look.seen.degrees.get(fault, "")) for look in self.looks]) for fault in found]

    @property
    def is_blank(self) -> bool:
        """Whether it looks the same in every log."""
        is_worked_on = any(fault in self.worked_on for fault in self.faults)
        return not (self.is_open or self.last_time or is_worked_on or any(look.is_withheld for look in self.looks))

    @property
    def is_open(self) -> bool:
        """Whether anything is recorded in the row, or has an error."""
        return any(not row.seen.is_blank or row.measure.text or row.error for row in self.looks)


def clean_text(words: str) -> str:
    """Text that can be stored: PostgreSQL takes no NUL."""
    return words.replace("\0", "").strip()


def faults_of(skill: Skill | Focus) -> list[Fault | Focus]:
    """The faults of a skill; a focus in a coach's own words is drawn and posted as a skill with one fault, itself."""
    return [skill] if isinstance(skill, Focus) else list(skill.faults.all())


def posted_degrees(skill: Skill | Focus, letter: str, data: QueryDict) -> Degrees:
    """The degrees that were posted, without words that are none."""
    posted = {fault: data.get(f"{letter}.{fault.code}", "") for fault in faults_of(skill)}
    return {fault: degree for fault, degree in posted.items() if degree in SeenFault.Degree}


def posted_row(skill: Skill, letter: str, data: QueryDict) -> LookRow:
    """A row as it was posted."""
    name = f"{letter}.{skill.code}"
    seen = ObservationValues(
        good=f"{name}.good" in data,
        degrees=posted_degrees(skill, letter, data),
        words=clean_text(data.get(f"{name}.words", "")),
        reader=data.get(f"{name}.reader", ""),
    )
    return LookRow(skill, letter, seen, measure=MeasureField.posted(name, data))


def stored_row(skill: Skill, letter: str, observation: Observation | None) -> LookRow:
    """A row as it is stored."""
    if observation is None:
        return LookRow(skill, letter, ObservationValues(good=False, degrees={}))
    faults = {fault.pk: fault for fault in skill.faults.all()}
    degrees: Degrees = {
        faults[row.fault_id]: row.degree for row in observation.seen_faults.all() if row.fault_id in faults
    }
    good = observation.verdict == Observation.Verdict.GOOD
    measured = stored_in(observation)
    seen = ObservationValues(good, degrees, *measured, observation.words, observation.reader)
    return LookRow(skill, letter, seen, measure=MeasureField.stored(observation))


def hide_withheld_words(row: LookRow, stored: Observation | None, visibility: NoteVisibility) -> LookRow:
    """Set who reads the words of a row, and hide those that this person may not read."""
    known = [word for word, _ in visibility.choices]
    before = stored.reader if stored and stored.words else visibility.default_reader
    row.is_withheld = not visibility.can_read(before)
    reader = next((word for word in (row.seen.reader, before) if word in known), visibility.default_reader)
    words = "" if row.is_withheld and stored and row.seen.words == stored.words else row.seen.words
    row.seen = replace(row.seen, words=words, reader=reader)
    return row


def to_store(row: LookRow, stored: Observation | None) -> ObservationValues:
    """What to store of a row: words that this person may not read stay as they are."""
    if row.is_withheld and stored:
        return replace(row.seen, words=stored.words, reader=stored.reader)
    return row.seen
