"""The open focuses of a brief: for each its state with the reason, the last look, and what it is practised with."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from coachbook.accounts.models import Area
from coachbook.loop.brief.wording import day_words, time_ago
from drills.models import Prescription
from drills.practice import doses
from lessons.arrivals import subject_of
from lessons.history import JudgedHistory, day_of
from lessons.models import Focus, Skill
from lessons.progress.focus_states import State, Word
from lessons.progress.held_sentences import whether_held
from lessons.progress.points import LookPoint
from lessons.progress.readings import Reading, change_words, latest_words
from lessons.progress.sentences import STATES, reason, whether_changed
from lessons.progress.words import COACH, OWN_WORDS, counted, on
from lessons.wording import render, render_typed

Readings = Callable[[int], Sequence[Reading]]  # of a skill, by its number
# What to look at first comes first.
ORDER: tuple[Word, ...] = (
    "returned",
    "does_not_hold",
    "new",
    "in_progress",
    "holding",
    "ready_to_close",
    "closed",
)
LEVELS = {**COACH.levels, "any": "seen (not graded)"}
VERDICTS = {"held": "held", "partly": "held partly", "lost": "was lost"}


@dataclass(frozen=True)
class FocusBrief:
    """An open focus in the coach's words.

    `rank` is small where it is to be looked at early; `last_day` is empty where the last look was on the last visit.
    """

    area: str
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
    measured: str
    measured_change: str


def brief_focuses(
    focuses: Iterable[Focus],
    judged: Iterable[JudgedHistory],
    given: Iterable[Prescription],
    readings: Readings,
    today: date,
) -> list[FocusBrief]:
    """The open focuses, what to look at first at the top."""
    by_subject = {found.history.subject: found for found in judged}
    by_focus = {row.focus_id: row for row in given}
    found = [
        brief_focus(focus, by_subject.get(subject_of(focus)), by_focus.get(focus.pk), readings, today)
        for focus in focuses
    ]
    return sorted(found, key=lambda focus: focus.rank)


def brief_focus(
    focus: Focus, found: JudgedHistory | None, given: Prescription | None, readings: Readings, today: date
) -> FocusBrief:
    """One focus with its history, if it has one, and its drill, if one is in force."""
    state = found.judgement.state if found else None
    points = found.history.points if found else []
    last = last_look(points)
    word, why = state_words(focus, state)
    measured, measured_change = measured_words(focus.fault.counted_skill if focus.fault else None, readings)
    is_due = focus.decide_on is not None and focus.decide_on <= today
    return FocusBrief(
        area=Area(focus.area).label,
        name=render(focus.fault.counted.name) if focus.fault else render_typed(focus.what),
        more=render_typed(focus.what) if focus.fault else "",
        rank=rank_of(focus, state, is_due),
        word=word,
        reason=why,
        last=look_words(last) if last else "",
        last_day=day_words(last.day, today) if last and last is not points[-1] else "",
        trial=trial_words(focus.decide_on, today) if focus.decide_on else "",
        is_due=is_due,
        feel=feel_of(focus, given),
        drill=str(given.drill) if given else "",
        dose=doses.dose_in_words(given.amount, given.unit, given.per_week, given.days) if given else "",
        trend=how_it_goes(focus, found) if found else "",
        held=changes_words(found) if found else "",
        measured=measured,
        measured_change=measured_change,
    )


def measured_words(skill: Skill | None, readings: Readings) -> tuple[str, str]:
    """What was measured of a skill at last, and whether that is a change; both empty where nothing was."""
    measure = skill.measured if skill else None
    if skill is None or measure is None or not (latest := latest_words(found := readings(skill.pk), measure)):
        return "", ""
    change = change_words(found, measure)
    return f"{measure.heading()}: {latest}", f"{measure.heading()}: {change[0].lower()}{change[1:]}" if change else ""


def state_words(focus: Focus, state: State | None) -> tuple[str, str]:
    """The word of a state and its reason; other words for a trial that a draft drops."""
    if state:
        return STATES[state.word], reason(state)
    return "dropped in a log that is not finished", f"opened {on(day_of(focus.opened_in))}"


def rank_of(focus: Focus, state: State | None, is_due: bool) -> tuple[int, ...]:
    """The order: a trial to be decided first, then by state; among new ones, what nobody looked at since first."""
    place = ORDER.index(state.word if state else "new")
    return (not is_due, place, state.looks if state and state.word == "new" else 0, focus.slot)


def feel_of(focus: Focus, given: Prescription | None) -> str:
    """The feel as it was agreed last, or the catalogue's."""
    return render_typed((given.feel if given else "") or focus.feel or (focus.fault.feel if focus.fault else ""))


def last_look(points: Sequence[LookPoint]) -> LookPoint | None:
    """The last visit with a look, on arrival or departure."""
    return next((point for point in reversed(points) if point.looked or point.departure != "none"), None)


def look_words(point: LookPoint) -> str:
    """What a visit showed, of the looks that it had."""
    moments = {"arrival": point.level, "departure": point.departure}
    return ", ".join(f"{moment} {LEVELS[level]}" for moment, level in moments.items() if level != "none")


def trial_words(decide_on: date, today: date) -> str:
    """When a trial is to be decided."""
    days, day = (decide_on - today).days, day_words(decide_on, today)
    if days < 0:
        return f"Trial overdue: keep it or drop it? To decide on {day}, {time_ago(decide_on, today)}."
    if days == 0:
        return "Trial to decide today: keep it or drop it?"
    return f"Trial, to decide on {day}, in {counted(days, 'day')}."


def how_it_goes(focus: Focus, found: JudgedHistory) -> str:
    """Whether it has changed since it was opened, and what that counts of own words."""
    words = whether_changed(found.judgement)
    return f"{words} {OWN_WORDS}" if focus.is_own_words and "seen" in words else words


def changes_words(found: JudgedHistory) -> str:
    """How many changes held, and whether the last one did."""
    results = found.judgement.results
    if not results or found.judgement.has_selective_looks:
        return whether_held(found.judgement)
    last = f" The last one {VERDICTS[results[-1].verdict]}." if len(results) > 1 else ""
    return whether_held(found.judgement) + last
