"""The looks of a log as they are typed: a row for each skill, and in it one for each look."""

from dataclasses import dataclass, field, replace

from django.http import QueryDict

from lessons.log import Eyes, Seen
from lessons.models import Fault, Observation, SeenFault, Session, Skill

MOMENTS = {"a": "arrival", "d": "departure", "c": "course", "v": "clip"}
HEADS = {"a": "Arrival", "d": "Departure", "c": "On the course", "v": "In the clip"}
LESSON_LOOKS = "ad"
LOOKS = {Session.Kind.COURSE: "c", Session.Kind.CLIP: "v"}  # the letters of a kind's looks; of all others LESSON_LOOKS
BLANK = Seen(sound=False, degrees={})


@dataclass
class LookRow:
    """One skill at one look, as the page shows it and as it comes back."""

    skill: Skill
    letter: str
    seen: Seen
    kept: bool = False
    error: str = ""

    @property
    def name(self) -> str:
        """How its fields begin."""
        return f"{self.letter}.{self.skill.code}"

    @property
    def slot(self) -> str:
        """The id of its place on the page, and of what is said beside it with `_error` behind."""
        return f"{self.letter}-{self.skill.code}"

    @property
    def moment(self) -> str:
        """The kind of the look."""
        return MOMENTS[self.letter]

    @property
    def head(self) -> str:
        """What stands over it."""
        return HEADS[self.letter]

    @property
    def degrees(self) -> list[tuple[Fault, str]]:
        """Each fault of the skill with its degree, empty where it was not seen."""
        return [(fault, self.seen.degrees.get(fault, "")) for fault in self.skill.faults.all()]


@dataclass
class SkillRow:
    """A skill with its looks in order, and what was seen of it last time."""

    skill: Skill
    looks: list[LookRow]
    last_time: list[tuple[str, str]] = field(default_factory=list)

    @property
    def is_open(self) -> bool:
        """Whether the row has something to show before it is touched."""
        return any(not row.seen.is_blank or row.error for row in self.looks)


def clean_text(words: str) -> str:
    """Words as they can be stored: PostgreSQL takes no NUL."""
    return words.replace("\0", "").strip()


def posted_row(skill: Skill, letter: str, data: QueryDict) -> LookRow:
    """A row as it was posted."""
    name = f"{letter}.{skill.code}"
    known = set(SeenFault.Degree.values)
    posted = {fault: data.get(f"{letter}.{fault.code}", "") for fault in skill.faults.all()}
    seen = Seen(
        sound=f"{name}.sound" in data,
        degrees={fault: degree for fault, degree in posted.items() if degree in known},
        measure=clean_text(data.get(f"{name}.measure", ""))[:40],
        words=clean_text(data.get(f"{name}.words", "")),
        reader=data.get(f"{name}.reader", ""),
    )
    return LookRow(skill, letter, seen)


def stored_row(skill: Skill, letter: str, observation: Observation | None) -> LookRow:
    """A row as it is stored."""
    if observation is None:
        return LookRow(skill, letter, Seen(sound=False, degrees={}))
    faults = {fault.pk: fault for fault in skill.faults.all()}
    degrees = {faults[row.fault_id]: row.degree for row in observation.seen_faults.all() if row.fault_id in faults}
    sound = observation.verdict == Observation.Verdict.SOUND
    seen = Seen(sound, degrees, observation.measure, observation.words, observation.reader)
    return LookRow(skill, letter, seen)


def with_readers(row: LookRow, stored: Observation | None, eyes: Eyes) -> LookRow:
    """The row with the reader of its words, and without words that are kept from this person."""
    known = [word for word, _ in eyes.choices]
    before = stored.reader if stored and stored.words else eyes.usual
    row.kept = not eyes.see(before)
    reader = next((word for word in (row.seen.reader, before) if word in known), eyes.usual)
    words = "" if row.kept and stored and row.seen.words == stored.words else row.seen.words
    row.seen = replace(row.seen, words=words, reader=reader)
    return row


def to_store(row: LookRow, stored: Observation | None) -> Seen:
    """What is stored of a row: words that are kept from this person stay as they are."""
    if row.kept and stored:
        return replace(row.seen, words=stored.words, reader=stored.reader)
    return row.seen
