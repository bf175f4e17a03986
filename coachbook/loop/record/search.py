"""Search the lessons of one student in words, over everything that the reader may read and nothing else.

The texts are compared here and not by the database: SQLite knows no capitals beyond the English ones.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from coachbook.accounts.models import Student, User
from coachbook.loop.models import Sheet, valid_sheet_key
from coachbook.loop.record.gather import SEEN_FAULTS, SKILL_THEN
from coachbook.loop.record.timeline import closed_words, name_of, with_words_then
from coachbook.loop.sheets.content import SheetContent, content_from
from drills.practice.doses import dose_in_words
from lessons.log import NoteVisibility
from lessons.matching import Part, contains_all, excerpt, hits_in
from lessons.models import Focus, Lesson, Observation, Reader
from lessons.wording import render_typed
from lessons.words_then import name_then

LONGEST = 100  # letters of a query
SHOWN = 40  # lessons
HITS_SHOWN = 4  # of each lesson


@dataclass(frozen=True)
class Passage:
    """One text of a lesson, and what it is."""

    about: str
    text: str


@dataclass(frozen=True)
class Hit:
    """What stands around the words that were found."""

    about: str
    parts: list[Part]


@dataclass(frozen=True)
class Found:
    """A lesson in which all of the words stand."""

    lesson: Lesson
    hits: list[Hit]
    more: int  # places that are not shown


def search(student: Student, words: list[str], *, reader: User, reads_notes: bool) -> list[Found]:
    """The lessons in which each of the words stands somewhere, the newest first, in a constant number of queries."""
    lessons = student.lessons.latest_first().annotate(sheet_key=valid_sheet_key())
    shown = list(lessons if reads_notes else lessons.complete())
    passages = passages_of(student, shown, reader, reads_notes)
    return [
        found_in(lesson, hits_of(passages[lesson.pk], words))
        for lesson in shown
        if contains_all([passage.text for passage in passages[lesson.pk]], words)
    ]


def found_in(lesson: Lesson, hits: list[Hit]) -> Found:
    """A lesson with the first of its hits."""
    return Found(lesson, hits[:HITS_SHOWN], len(hits[HITS_SHOWN:]))


def hits_of(passages: list[Passage], words: list[str]) -> list[Hit]:
    """An excerpt of each text in which one of the words stands, every text once, those with most of them first."""
    texts = {passage.text: passage for passage in reversed(passages)}
    once = [passage for passage in passages if texts[passage.text] is passage]
    once.sort(key=lambda passage: -sum(contains_all([passage.text], [word]) for word in words))
    found = [(passage, hits_in(passage.text, words)) for passage in once]
    return [Hit(passage.about, excerpt(passage.text, hits)) for passage, hits in found if hits]


def passages_of(student: Student, lessons: list[Lesson], reader: User, reads_notes: bool) -> dict[int, list[Passage]]:
    """All texts that the reader may read, by lesson."""
    found: dict[int, list[Passage]] = defaultdict(list)
    for lesson in lessons:
        visibility = NoteVisibility.of(reader, lesson) if reads_notes else None
        found[lesson.pk] += lesson_passages(lesson, visibility)
    by_pk = {lesson.pk: lesson for lesson in lessons}
    if reads_notes:
        add_observations(found, student, by_pk, reader)
    add_focuses(found, student, by_pk, reads_notes)
    add_drills(found, student, by_pk, reads_notes)
    for sheet in Sheet.objects.of(student).valid():
        found[sheet.lesson_id] += [Passage("Sheet", words) for words in sheet_words(content_from(sheet.content))]
    return {pk: [passage for passage in found[pk] if passage.text.strip()] for pk in by_pk}


def lesson_passages(lesson: Lesson, visibility: NoteVisibility | None) -> Iterator[Passage]:
    """The words of the lesson itself; without `visibility` for the student and the family."""
    yield Passage("Keep", render_typed(lesson.keep))
    yield Passage("Next time", render_typed(lesson.next_time))
    if visibility.can_read(lesson.note_reader) if visibility else lesson.note_reader == Reader.STUDENT:
        yield Passage("Note" if visibility else "From your coach", render_typed(lesson.note))
    if visibility:
        yield Passage("Place", lesson.session.place)


def add_observations(
    found: dict[int, list[Passage]], student: Student, lessons: dict[int, Lesson], reader: User
) -> None:
    """What was seen, and the words beside it as far as this coach or manager may read them; two queries."""
    rows = Observation.objects.filter(look__lesson__student=student).select_related("look", "skill")
    for row in (
        rows.annotate(**SKILL_THEN)
        .prefetch_related(SEEN_FAULTS)
        .order_by("look_id", "skill__area", "skill__position", "pk")
    ):
        lesson = lessons[row.look.lesson_id]
        seen = [f"{name_then(each)} ({each.get_degree_display().lower()})" for each in row.seen_faults.all()]
        seen += ["good"] if row.verdict == Observation.Verdict.GOOD else []
        words = row.words if NoteVisibility.of(reader, lesson).can_read(row.reader) else ""
        texts = [text for text in (", ".join(seen), row.measured, render_typed(words)) if text]
        if texts:
            text = f"{name_then(row)}: {'; '.join(texts)}"
            found[lesson.pk].append(Passage(row.look.get_kind_display().capitalize(), text))


def add_focuses(
    found: dict[int, list[Passage]], student: Student, lessons: dict[int, Lesson], reads_notes: bool
) -> None:
    """The focuses with the lessons that opened and closed them."""
    for focus in with_words_then(student.focuses.select_related("fault")):
        if opened := lessons.get(focus.opened_in_id):
            found[opened.pk] += opened_passages(focus, opened, reads_notes)
        if closed := lessons.get(focus.closed_in_id or 0):
            found[closed.pk].append(Passage("Closed", closed_words(focus, closed, reads_notes)))


def opened_passages(focus: Focus, lesson: Lesson, reads_notes: bool) -> Iterator[Passage]:
    """The words of a focus; its reason and the name of its fault are for coaches."""
    side = None if reads_notes else lesson.side(focus.area)
    yield Passage("Opened", name_of(focus, lesson, reads_notes))
    yield Passage("In own words", render_typed(focus.what, side))
    yield Passage("Feel", render_typed(focus.feel, side))
    if reads_notes:
        yield Passage("Reason", focus.reason)


def add_drills(
    found: dict[int, list[Passage]], student: Student, lessons: dict[int, Lesson], reads_notes: bool
) -> None:
    """The drills that each lesson gave, with their dose and target."""
    for row in student.prescriptions.select_related("drill"):
        if lesson := lessons.get(row.lesson_id):
            side = None if reads_notes else lesson.side(row.drill.area)
            dose = dose_in_words(row.amount, row.unit, row.per_week, row.days)
            found[lesson.pk].append(Passage("Drill", f"{render_typed(row.drill.name, side)}, {dose}"))
            found[lesson.pk].append(Passage("Target", render_typed(row.mark, side)))


def sheet_words(content: SheetContent) -> Iterator[str]:
    """The words of a sheet that were written for this student."""
    yield from (content.keep, content.next_time, *content.coach_words, *content.tests)
    for focus in content.focuses:
        yield from (focus.heading, focus.own, focus.plain, focus.feel, focus.trial)
        if drill := focus.drill:
            yield from (drill.name, drill.mark, drill.challenge, *drill.steps, drill.tip or drill.watch_for, drill.game)
