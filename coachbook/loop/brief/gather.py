"""What a coach reads in the two minutes before a lesson, gathered in a constant number of queries.

What was agreed comes first, in the order in which to look at it, each with why; then what was meant for this time.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.utils import timezone

from coachbook.accounts.models import Academy, Pause, Student, User
from coachbook.diary.models import Appointment
from coachbook.loop.brief.wording import (
    YOU,
    absent_words,
    ago,
    day_words,
    event_words,
    name_of,
    practice_words,
    told_words,
)
from drills.models import PracticeEntry, Prescription, ScoredTest
from drills.practice import doses
from drills.practice.reports import practice_by_student
from drills.putting.lengths import unit_of
from drills.scored_tests.observations import latest_tests
from drills.scored_tests.wording import told
from lessons.arrivals import is_arrival
from lessons.history import Judged, day_of, judged_histories, rules_of
from lessons.log import Eyes
from lessons.models import Focus, Lesson, Session
from lessons.progress.points import Level, LookPoint
from lessons.progress.sentences import STATES, held_words, reason, rules_words, trend_words
from lessons.progress.states import State, Word
from lessons.progress.words import counted, on
from lessons.wording import as_typed, render

BACK = 40  # so many of the latest lessons are read
SINCE = 3  # so many things that happened since the last visit are told
URGENT: tuple[Word, ...] = ("back", "slips", "new", "working", "holding", "done")
LEVELS: dict[Level, str] = {
    "none": "not looked at",
    "0": "sound",
    "1": "slight",
    "2": "marked",
    "any": "seen (degree not said)",
}
LAST = {"held": "held", "partly": "held partly", "lost": "was lost"}


# --- What is gathered ---------------------------------------------------------------------------


@dataclass(frozen=True)
class Agreed:
    """An open focus in the coach's words: its state with the reason, the last look, and what it is practised with.

    `rank` is small where it is to be looked at early. Of a focus in own words no look is counted, so it has no state;
    `last_day` is empty where the last look was on the last visit.
    """

    name: str
    more: str
    rank: tuple[int, ...]
    word: str
    reason: str
    last: str
    last_day: str
    trial: str
    is_due: bool
    feel: str
    drill: str
    dose: str
    trend: str
    held: str


@dataclass(frozen=True)
class Meant:
    """What a coach wrote for the time after a lesson."""

    who: str
    day: date
    next_time: str
    note: str


@dataclass(frozen=True)
class Told:
    """Something that was reported from home: a score, or a word."""

    words: str
    day: date
    drill: str


@dataclass(frozen=True)
class Brief:
    """The whole page."""

    visited: bool
    seen: str
    since: Sequence[str]
    drafts: Sequence[Lesson]
    pauses: Sequence[Pause]
    practice: str
    told: str
    agreed: Sequence[Agreed]
    meant: Sequence[Meant]
    score: Told | None
    note: Told | None
    test: ScoredTest | None
    test_words: str
    rules: Sequence[tuple[str, str]]

    @property
    def goes(self) -> list[Agreed]:
        """The focuses of which there is more to say than their state."""
        return [focus for focus in self.agreed if focus.trend or focus.held]


def brief_of(student: Student, *, academy: Academy, reader: User, at: datetime) -> Brief:
    """Gather the page for one who reads notes."""
    today, rules = academy.today(at), rules_of(academy)
    lessons = list(student.lessons.latest_first()[:BACK])
    done = [lesson for lesson in lessons if lesson.status == Lesson.Status.COMPLETE]
    visit = next((lesson for lesson in done if has_come(lesson)), None)
    later = done[: done.index(visit)] if visit else done
    given = list(student.prescriptions.in_force(today))
    test = next(iter(latest_tests(student, 1)), None)
    return Brief(
        visited=visit is not None,
        seen=seen_words(visit, reader, today),
        since=since_words(missed_days(student, visit, at), later, reader, today),
        drafts=[lesson for lesson in lessons if lesson.status == Lesson.Status.DRAFT],
        pauses=list(student.pauses.in_force(today)),
        practice=practice_words(practice_by_student([student], today)[student.pk], bool(given)),
        told=told_words(visit, today),
        agreed=agreed_of(student, judged_histories(student, rules), given, today),
        meant=meant_in([*later, *([visit] if visit else [])], reader),
        score=reported(student, today, "score"),
        note=reported(student, today, "note", since=day_of(visit) if visit else None),
        test=test,
        test_words=told(test, unit_of(academy.units)) if test else "",
        rules=rules_words(rules),
    )


def has_come(lesson: Lesson) -> bool:
    """Whether the student walked in for it."""
    return is_arrival(lesson.attendance, lesson.session.kind)


# --- What was agreed ----------------------------------------------------------------------------


def agreed_of(student: Student, judged: Iterable[Judged], given: Iterable[Prescription], today: date) -> list[Agreed]:
    """The open focuses, what to look at first at the top."""
    by_fault = {found.history.fault.pk: found for found in judged}
    by_focus = {row.focus_id: row for row in given}
    found = [
        agreed(focus, by_fault.get(focus.fault_id or 0), by_focus.get(focus.pk), today)
        for focus in student.focuses.standing()
    ]
    return sorted(found, key=lambda focus: focus.rank)


def agreed(focus: Focus, found: Judged | None, given: Prescription | None, today: date) -> Agreed:
    """One focus with its history, if it has one, and its drill, if one is in force."""
    state = found.judgement.state if found else None
    points = found.history.points if found else []
    last = last_look(points)
    word, why = state_words(focus, state)
    is_due = focus.decide_on is not None and focus.decide_on <= today
    return Agreed(
        name=render(focus.fault.name) if focus.fault else as_typed(focus.what),
        more=as_typed(focus.what) if focus.fault else "",
        rank=rank_of(focus, state, is_due),
        word=word,
        reason=why,
        last=shown_words(last) if last else "",
        last_day=day_words(last.day, today) if last and last is not points[-1] else "",
        trial=trial_words(focus.decide_on, today) if focus.decide_on else "",
        is_due=is_due,
        feel=feel_of(focus, given),
        drill=str(given.drill) if given else "",
        dose=doses.dose_in_words(given.amount, given.unit, given.per_week, given.days) if given else "",
        trend=trend_words(found.judgement.trend) if found and found.judgement.trend else "",
        held=held_so_far(found) if found else "",
    )


def state_words(focus: Focus, state: State | None) -> tuple[str, str]:
    """The word of a state and its reason; a trial that a draft drops has none, nor has a focus in own words."""
    taken = f"taken on {on(day_of(focus.opened_in))}"
    if state:
        return STATES[state.word], reason(state)
    return (
        ("dropped in a log that is not finished", taken)
        if focus.fault
        else ("own words", f"{taken}, no look is counted")
    )


def rank_of(focus: Focus, state: State | None, is_due: bool) -> tuple[int, ...]:
    """Where a focus comes: a trial to be decided, then by state, what nobody looked at since before the rest."""
    place = URGENT.index(state.word if state else "new")
    return (not is_due, place, state.looks if state and state.word == "new" else 0, focus.slot)


def feel_of(focus: Focus, given: Prescription | None) -> str:
    """The feel as it was agreed last, or the catalogue's."""
    return as_typed((given.feel if given else "") or focus.feel or (focus.fault.feel if focus.fault else ""))


def last_look(points: Sequence[LookPoint]) -> LookPoint | None:
    """The last visit on which somebody looked, on arrival or departure."""
    return next((point for point in reversed(points) if point.looked or point.left != "none"), None)


def shown_words(point: LookPoint) -> str:
    """What a visit showed, of the looks that it had."""
    moments = {"arrival": point.level, "departure": point.left}
    return ", ".join(f"{moment} {LEVELS[level]}" for moment, level in moments.items() if level != "none")


def trial_words(decide_on: date, today: date) -> str:
    """When a trial is to be decided, louder the later it is."""
    days, day = (decide_on - today).days, day_words(decide_on, today)
    if days < 0:
        return f"Trial overdue: keep it or drop it? To decide on {day}, {ago(decide_on, today)}."
    if days == 0:
        return "Trial to decide today: keep it or drop it?"
    return f"Trial, to decide on {day}, in {counted(days, 'day')}."


def held_so_far(found: Judged) -> str:
    """What became of the changes, and of the last one."""
    results = found.judgement.results
    if not results:
        return ""
    last = f" The last one {LAST[results[-1].verdict]}." if len(results) > 1 else ""
    return held_words(found.judgement.held) + last


# --- When they came, and what was practised -----------------------------------------------------


def seen_words(visit: Lesson | None, reader: User, today: date) -> str:
    """When they came last, and who taught them."""
    if visit is None:
        return "No lesson yet: the first one starts the book."
    day, who = day_of(visit), name_of(visit, reader)
    by = "" if who == YOU else f", by {who}"
    group = ", in a group" if visit.session.kind == Session.Kind.GROUP else ""
    return f"Last seen {ago(day, today)}, {day_words(day, today)}{by}{group}."


def since_words(missed: Iterable[date], later: Iterable[Lesson], reader: User, today: date) -> list[str]:
    """What happened after they came last, in a sentence each: the latest three, the latest first."""
    told = {(day, absent_words(day, today)) for day in missed}
    told |= {(day_of(lesson), event_words(lesson, reader, today)) for lesson in later}
    return [words for _, words in sorted(told, reverse=True)[:SINCE]]


def missed_days(student: Student, visit: Lesson | None, at: datetime) -> list[date]:
    """The days of the appointments to which they did not come since a visit."""
    missed = student.appointments.filter(status=Appointment.Status.MISSED, starts_at__lte=at)
    since = missed.filter(starts_at__gt=visit.session.starts_at) if visit else missed
    return [timezone.localdate(moment) for moment in since.values_list("starts_at", flat=True)]


def reported(student: Student, today: date, name: str, since: date | None = None) -> Told | None:
    """The latest score or note from home, from a day on."""
    rows = PracticeEntry.objects.filter(prescription__student=student, struck=False, day__lte=today)
    rows = rows.filter(day__gte=since) if since else rows
    row = rows.exclude(**{name: ""}).select_related("prescription__drill").first()
    return Told(getattr(row, name), row.day, str(row.prescription.drill)) if row else None


# --- What was meant for this time ---------------------------------------------------------------


def meant_in(lessons: Iterable[Lesson], reader: User) -> list[Meant]:
    """What was written in some lessons for the next time, as far as this reader may read it."""
    found = [
        Meant(
            name_of(lesson, reader),
            day_of(lesson),
            as_typed(lesson.next_time),
            as_typed(lesson.note) if Eyes.of(reader, lesson).see(lesson.note_reader) else "",
        )
        for lesson in lessons
    ]
    return [meant for meant in found if meant.next_time or meant.note]
