"""Each fault's history: what it comes to in words, its picture, and the numbers behind both."""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from typing import cast

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Student
from coachbook.http import Request
from coachbook.loop.progress.explore import figures
from drills.putting.lengths import unit_of
from drills.scored_tests.observations import latest_tests
from drills.scored_tests.wording import told
from lessons.history import FaultHistory, Judged, judged_histories, rules_of
from lessons.progress import sentences
from lessons.progress.held import Held
from lessons.progress.picture import ROOM, Picture, Row, lines, picture, rows
from lessons.progress.points import Stretch, by_month
from lessons.progress.states import State
from lessons.progress.words import COACH, STUDENT, Voice, on
from lessons.wording import SideWord
from lessons.wording import render as worded

BAD_DAY = "It was picked on a bad day, so some improvement was likely anyway."
Named = tuple[str, str]
TESTS = 6  # so many of the latest are told


@dataclass(frozen=True)
class Month:
    """The looks of one month: how many showed it, and how badly."""

    stretch: Stretch

    @property
    def seen(self) -> str:
        """So many of so many."""
        return sentences.share_words(self.stretch.share)

    @property
    def degrees(self) -> str:
        """How many of each degree."""
        return sentences.degrees_words(self.stretch)


@dataclass(frozen=True)
class Numbers:
    """What a coach finds one tap away."""

    trend: list[Named]
    changed: str
    months: list[Month]
    by_days: list[tuple[str, Held]]
    by_told: list[tuple[str, Held]]


@dataclass(frozen=True)
class Entry:
    """A history as its reader reads it: heading, state, sentences, picture, and the rows of its table, latest first.

    `glance` is its one line while it is folded. `facts` are a coach's sentences by what they are about; `words` are a
    student's.
    """

    history: FaultHistory
    heading: str
    state: str
    reason: str
    dates: str
    trend: str
    glance: str
    words: str
    facts: list[Named]
    picture: Picture
    rows: list[Row]
    numbers: Numbers | None

    @property
    def more(self) -> int:
        """How many arrivals its table leaves out."""
        return len(self.history.points) - len(self.rows)

    @property
    def came_back(self) -> bool:
        """Whether it came back after it was closed."""
        return not self.history.is_open and self.state == sentences.STATES["back"]


@require_GET
def progress(request: Request, key: uuid.UUID) -> HttpResponse:
    """All histories of a student: what is worked on in full, then what was, then what else was seen."""
    student = gate.student(request, Act.READ, key)
    voice, rules = voice_for(student), rules_of(request.academy)
    entries = [entry(judged, voice) for judged in judged_histories(student, rules) if is_told(judged.history, voice)]
    context = context_of(student, voice) | {
        "entries": entries,
        "now": [found for found in entries if found.history.is_open],
        "earlier": [found for found in entries if found.history.spans and not found.history.is_open],
        "others": [found for found in entries if not found.history.spans],
        "rules": sentences.rules_words(rules),
        "tests": [(test, told(test, unit_of(request.academy.units))) for test in latest_tests(student, TESTS)],
    }
    return render(request, "loop/progress/progress.html", context)


@require_GET
def progress_explore(request: Request, key: uuid.UUID, number: int) -> HttpResponse:
    """One history as a chart to zoom into, with its picture and table for those without a script."""
    student = gate.student(request, Act.READ, key)
    voice, rules = voice_for(student), rules_of(request.academy)
    judged = next((found for found in judged_histories(student, rules) if found.history.fault.pk == number), None)
    if judged is None or not is_told(judged.history, voice):
        raise Http404
    history = judged.history
    every = rows(history.points, voice)
    context = context_of(student, voice) | {
        "entry": entry(judged, voice, whole=True),
        "figures": figures(every, lines(every, history.spans, voice), voice),
    }
    return render(request, "loop/progress/explore.html", context)


def context_of(student: Student, voice: Voice) -> dict[str, object]:
    """What both pages need."""
    return {"student": student, "voice": voice, "teaches": voice is COACH}


def is_told(history: FaultHistory, voice: Voice) -> bool:
    """A student is told of what they work on or worked on; a coach of all that was ever seen."""
    return voice is COACH or bool(history.spans)


def voice_for(student: Student) -> Voice:
    """The trade's words for those who may read what coaches write; plain ones for the student and guardians."""
    return COACH if gate.may(student, Act.NOTES) else STUDENT


def entry(judged: Judged, voice: Voice, *, whole: bool = False) -> Entry:
    """A history in the reader's words; its table holds what its picture shows, or the whole of it."""
    history, found = judged.history, judged.judgement
    every = rows(history.points, voice)
    fault, teaches, state = history.fault, voice is COACH, state_word(found.state, voice)
    return Entry(
        history=history,
        heading=worded(fault.name) if teaches else worded(fault.goal, cast(SideWord, history.side)),
        state=state,
        reason=sentences.reason(found.state) if found.state and teaches else "",
        dates=dates(judged, voice),
        trend=sentences.trend_short(found.trend) if found.trend and teaches else "",
        glance=state or sentences.seen_words(found.total),
        words=voice.summary(history.points) if teaches else plain(judged),
        facts=list(facts(judged)) if teaches else [],
        picture=picture(every, history.spans, voice),
        rows=every[::-1] if whole else every[::-1][:ROOM],
        numbers=numbers(judged) if teaches else None,
    )


def state_word(state: State | None, voice: Voice) -> str:
    """The word of a state, or what a student reads in its place."""
    if state is None:
        return ""
    return sentences.STATES[state.word] if voice is COACH else sentences.plain_state(state)


def dates(judged: Judged, voice: Voice) -> str:
    """Since when it is worked on, or was; not to a coach who reads it in the reason."""
    history, state = judged.history, judged.judgement.state
    if state is None or (voice is COACH and state.word in ("new", "working")):
        return ""
    taken, closed = history.spans[-1]
    worked = "Focus" if voice is COACH else "Worked on"
    return f"{worked} from {on(taken)} until {on(closed)}." if closed else f"{worked} since {on(taken)}."


def plain(judged: Judged) -> str:
    """What a student reads: how it went lately, and whether it gets better where that is not said by its state."""
    found, lately = judged.judgement, f"{STUDENT.summary(judged.history.points)}."
    if not found.state or not found.trend or found.state.word in ("new", "holding", "done"):
        return lately
    return f"{lately} {sentences.plain_trend(found.trend)}"


def facts(judged: Judged) -> Iterable[Named]:
    """A coach's sentences, each with what it is about; none that has nothing to say."""
    history, found = judged.history, judged.judgement
    seen = [COACH.summary(history.points), sentences.ONLY_WHEN_BAD if found.only_when_bad else ""]
    trend = [sentences.trend_words(found.trend) if found.trend else "", BAD_DAY if history.picked_on_a_bad_day else ""]
    told = {
        "How often": seen,
        "Since it was taken on": trend,
        "In the lesson": [sentences.changed_words(found)],
        "Until the next arrival": [sentences.held_words(found.held)],
    }
    return ((name, " ".join(filter(None, words))) for name, words in told.items() if any(words))


def numbers(judged: Judged) -> Numbers:
    """The numbers behind a coach's sentences."""
    points, found = judged.history.points, judged.judgement
    return Numbers(
        trend=sentences.trend_numbers(found.trend) if found.trend else [],
        changed=sentences.changed_numbers(found),
        months=[Month(stretch) for stretch in by_month(points)],
        by_days=sentences.held_by_days(found.results),
        by_told=sentences.held_by_told(found.results, points),
    )
