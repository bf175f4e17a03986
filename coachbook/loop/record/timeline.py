"""The timeline of a student: a line a lesson, with what it opened and closed and whether the last change had held."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count, Q, Sum

from coachbook.loop.models import valid_sheet_key
from coachbook.loop.record.gather import areas_in_words
from lessons.models import Focus, Lesson, Outcome
from lessons.models.record import FocusQuerySet, LessonQuerySet
from lessons.progress.held import Held
from lessons.progress.held_sentences import anyway_words
from lessons.wording import render, render_typed
from lessons.words_then import words_then

VERDICTS = Outcome.Verdict
HELD_WORDS = {VERDICTS.HELD: "held", VERDICTS.PARTLY: "held partly", VERDICTS.LOST: "lost"}
STUDENT_WORDS = HELD_WORDS | {VERDICTS.LOST: "not held yet"}


@dataclass(frozen=True)
class TimelineRow:
    """One lesson in a line, in the words of who reads it."""

    lesson: Lesson
    areas: str
    opened: list[str]
    closed: list[str]
    held: str


def with_outcomes(lessons: LessonQuerySet) -> LessonQuerySet:
    """Lessons with their valid sheet, and with what their arrival showed of earlier changes.

    That is how many held, held partly and were lost, and the chances that they had looked as good anyway.
    """
    counts = {f"count_{word}": Count("outcomes", filter=Q(outcomes__verdict=word)) for word in VERDICTS.values}
    anyway = {"chances_anyway": Sum("outcomes__anyway"), "count_anyway": Count("outcomes__anyway")}
    return lessons.annotate(sheet_key=valid_sheet_key(), **counts, **anyway)


def with_words_then(focuses: FocusQuerySet) -> FocusQuerySet:
    """Focuses with the words that their faults had when the lessons were finished that opened and closed them."""
    lessons, texts = ("opened_in", "closed_in"), ("name", "goal")
    return focuses.annotate(**{f"{at}_{text}": words_then("fault", at, text) for at in lessons for text in texts})


def timeline_of(lessons: Iterable[Lesson], focuses: Iterable[Focus], *, reads_notes: bool) -> list[TimelineRow]:
    """The lines of lessons read `with_outcomes` and focuses read `with_words_then`; asks for nothing more.

    A student reads what to do, never a fault.
    """
    focuses = list(focuses)
    return [
        TimelineRow(
            lesson=lesson,
            areas=areas_in_words(lesson),
            opened=[name_of(focus, lesson, reads_notes) for focus in focuses if focus.opened_in_id == lesson.pk],
            closed=[closed_words(focus, lesson, reads_notes) for focus in focuses if focus.closed_in_id == lesson.pk],
            held=held_words(lesson, reads_notes),
        )
        for lesson in lessons
    ]


def name_of(focus: Focus, lesson: Lesson, reads_notes: bool) -> str:
    """A focus as a coach calls it, or what it asks of the student."""
    side, text = (None, "name") if reads_notes else (lesson.side(focus.area), "goal")
    if focus.is_own_words:
        return render_typed(focus.what, side)
    moment = "opened_in" if focus.opened_in_id == lesson.pk else "closed_in"
    return render(getattr(focus, f"{moment}_{text}"), side)


def closed_words(focus: Focus, lesson: Lesson, reads_notes: bool) -> str:
    """A focus that was closed, and what was decided of a trial."""
    name = name_of(focus, lesson, reads_notes)
    return f"{name} ({focus.get_decision_display()})" if focus.decision else name


def held_words(lesson: Lesson, reads_notes: bool) -> str:
    """Whether the changes of earlier lessons were still there on arrival; empty where nothing could be said.

    A coach reads with it how many would have looked good anyway, where that is known.
    """
    counts = {word: getattr(lesson, f"count_{word}") for word in VERDICTS.values}
    total = sum(counts.values())
    if total == 1:
        verdict = next(VERDICTS(word) for word, count in counts.items() if count)
        return (HELD_WORDS if reads_notes else STUDENT_WORDS)[verdict] + anyway_too(lesson, counts, reads_notes)
    return f"{counts[VERDICTS.HELD]} of {total} held{anyway_too(lesson, counts, reads_notes)}" if total else ""


def anyway_too(lesson: Lesson, counts: dict[str, int], reads_notes: bool) -> str:
    """How many of them would have looked good anyway; empty for a student, and where most of them do not say."""
    held, known = Held(**counts), getattr(lesson, "count_anyway", 0)
    if not reads_notes or not known or 2 * known < held.total:
        return ""
    return anyway_words(held, held.total * getattr(lesson, "chances_anyway", 0.0) / known)
