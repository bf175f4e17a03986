"""A fault's history as one reader sees it: its words, its picture, and the numbers behind both."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import cast

from coachbook.loop.progress.for_student import LATEST, RisingPicture, rising, what_got_better
from coachbook.loop.progress.measures import MeasureEntry
from lessons.history import FaultHistory, JudgedHistory, OwnWords
from lessons.progress import held_sentences, sentences, trend_sentences
from lessons.progress.focus_states import State
from lessons.progress.held import Held
from lessons.progress.opening import is_bad_day
from lessons.progress.picture import ROOM, Picture, Row, picture, rows
from lessons.progress.points import LookCounts, by_month
from lessons.progress.words import COACH, OWN_WORDS, STUDENT, HistoryLabels, on
from lessons.wording import SideWord, render_typed

OPENED_ON_BAD_DAY = "It was opened on a bad day, so some improvement was likely anyway."
NamedWords = tuple[str, str]


@dataclass(frozen=True)
class Month:
    """The looks of one month."""

    counts: LookCounts

    @property
    def seen(self) -> str:
        """The count of looks on which it was seen, with its interval from eight looks on."""
        return sentences.share_words(self.counts.share)

    @property
    def degrees(self) -> str:
        """The count of each degree."""
        return sentences.degrees_words(self.counts)


@dataclass(frozen=True)
class Numbers:
    """A coach's numbers: counts of what became of changes, and the statistics behind "How sure is this?"."""

    trend: list[NamedWords]
    changed: str
    held: str
    anyway: str
    months: list[Month]
    by_days: list[tuple[str, Held]]
    by_practice: list[tuple[str, Held]]


@dataclass(frozen=True)
class Entry:
    """A history in its reader's words: heading, state, sentences, picture, and the rows of its table, latest first.

    `glance` is its one line while it is folded. `facts` are a coach's sentences by subject; `words` are a student's,
    and `better` is what an open focus has to show a student for it.
    """

    history: FaultHistory
    heading: str
    state: str
    reason: str
    dates: str
    trend: str
    glance: str
    words: str
    facts: list[NamedWords]
    picture: Picture
    rows: list[Row]
    numbers: Numbers | None
    measure: MeasureEntry | None = None
    better: str = ""

    @property
    def rising(self) -> RisingPicture:
        """The one picture that a student sees of it."""
        return rising(self.picture)

    @property
    def more(self) -> int:
        """How many arrivals its table leaves out."""
        return len(self.history.points) - len(self.rows)

    @property
    def has_returned(self) -> bool:
        """Whether it returned after it was closed."""
        return not self.history.is_open and self.state in (sentences.STATES["returned"], sentences.PLAIN["returned"])


def is_shown(history: FaultHistory, labels: HistoryLabels) -> bool:
    """A student sees what they work on or worked on; a coach sees all that was ever seen."""
    return labels is COACH or bool(history.spans)


def summary_words(entries: Sequence[Entry], labels: HistoryLabels) -> str:
    """One sentence for the whole page: how many focuses are open, and in which states."""
    states = Counter(entry.state for entry in entries if entry.history.is_open)
    number = states.total()
    if labels is not COACH:
        return f"You are working on {number} thing{'' if number == 1 else 's'} now." if number else ""
    if not number:
        return "No focus is open."
    counts = ", ".join(f"{count} {state}" for state, count in states.items())
    return f"{number} focus is open: {counts}." if number == 1 else f"{number} focuses are open: {counts}."


def make_entry(
    judged: JudgedHistory, labels: HistoryLabels, *, whole: bool = False, measure: MeasureEntry | None = None
) -> Entry:
    """A history in the reader's words; its table holds the arrivals of its picture, or all of them."""
    history, found = judged.history, judged.judgement
    every = rows(history.points, labels)
    fault, teaches, state = history.fault, labels is COACH, state_word(found.state, labels)
    return Entry(
        history=history,
        heading=render_typed(fault.name) if teaches else render_typed(fault.goal, cast(SideWord, history.side)),
        state=state,
        reason=sentences.reason(found.state) if found.state and teaches else "",
        dates=date_words(judged, labels),
        trend=trend_sentences.whether_changed_short(found) if teaches else "",
        glance=state or sentences.seen_words(found),
        words=labels.summary(history.points) if teaches else student_words(judged),
        facts=list(facts(judged)) if teaches else [],
        picture=picture(every, history.spans, labels)
        if teaches
        else picture(every[-LATEST:], history.spans[-1:], labels),
        rows=every[::-1] if whole else every[::-1][:ROOM],
        numbers=numbers(judged) if teaches else None,
        measure=measure,
        better="" if teaches else what_got_better(judged),
    )


def state_word(state: State | None, labels: HistoryLabels) -> str:
    """The word of a state, or the plain sentence that a student reads instead."""
    if state is None:
        return ""
    return sentences.STATES[state.word] if labels is COACH else sentences.plain_state(state)


def date_words(judged: JudgedHistory, labels: HistoryLabels) -> str:
    """The days of the latest focus; empty for a coach who reads them in the reason."""
    history, state = judged.history, judged.judgement.state
    if state is None or (labels is COACH and state.word in ("new", "in_progress")):
        return ""
    opened, closed = history.spans[-1]
    worked = "Focus" if labels is COACH else "Worked on"
    return f"{worked} from {on(opened)} until {on(closed)}." if closed else f"{worked} since {on(opened)}."


def student_words(judged: JudgedHistory) -> str:
    """The latest counts for a student, and whether it gets better where its state does not say so."""
    found, latest = judged.judgement, f"{STUDENT.summary(judged.history.points)}."
    if not found.state or not found.trend or found.state.word not in ("in_progress", "does_not_hold"):
        return latest
    change = trend_sentences.plain_change(found.trend, has_selective_looks=found.has_selective_looks)
    return f"{latest} {change}"


def facts(judged: JudgedHistory) -> Iterable[NamedWords]:
    """A coach's sentences, each with its subject, without empty ones."""
    history, found = judged.history, judged.judgement
    seen = [COACH.summary(history.points)]
    seen += [OWN_WORDS] if isinstance(history.fault, OwnWords) and found.total.looked else []
    picked = OPENED_ON_BAD_DAY if was_picked(judged) else ""
    subjects = {
        "Until the next arrival": [held_sentences.whether_held(found)],
        "Since it was opened": [trend_sentences.whether_changed(found), picked],
        "How often": seen,
        "In the lesson": [sentences.changed_words(found)],
    }
    return ((name, " ".join(filter(None, words))) for name, words in subjects.items() if any(words))


def was_picked(judged: JudgedHistory) -> bool:
    """Whether it seems to get better since the bad day on which it was opened."""
    history, trend = judged.history, judged.judgement.trend
    if not history.opened_on or trend is None or trend.halves is None:
        return False
    first, second = (half.share.rate for half in trend.halves)
    return (second < first or first == 0) and is_bad_day(history.points, history.opened_on)


def numbers(judged: JudgedHistory) -> Numbers:
    """The numbers behind a coach's sentences, without those that selective looks would make misleading."""
    points, found = judged.history.points, judged.judgement
    return Numbers(
        trend=trend_sentences.trend_numbers(found.trend) if found.trend and not found.has_selective_looks else [],
        changed=sentences.changed_numbers(found),
        held=held_sentences.held_numbers(found.held) if not found.has_selective_looks else "",
        anyway=held_sentences.anyway_numbers(found),
        months=[] if found.has_selective_looks else [Month(counts) for counts in by_month(points)],
        by_days=[] if found.has_selective_looks else held_sentences.held_by_days(found.results),
        by_practice=held_sentences.held_by_practice(found.results, points),
    )
