"""Gather the content of a lesson's sheet, once, when it is issued."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Any

from django.db.models import Q
from django.utils.formats import date_format

from coachbook.accounts.models import Academy, Side
from coachbook.loop.sheets.content import SheetClosed, SheetContent, SheetDrawing, SheetDrill, SheetFocus
from coachbook.loop.stills.beside.focuses import sheet_pairs
from drills.library.drawing import check, rendered
from drills.library.drawing.lengths import in_units
from drills.models import Drill, Prescription
from drills.practice.doses import dose_in_words, dose_until
from drills.putting.lengths import unit_of
from drills.putting.units import Unit
from drills.scored_tests.wording import summarise_test
from lessons.models import Focus, Lesson, Observation, Reader
from lessons.plain_words import plain
from lessons.progress.readings import lesson_words
from lessons.readings import readings_in
from lessons.wording import render_typed

CAUTIONS = (
    "Stop at pain, or when a hand jerks or shakes, and tell your coach{or_home}.",
    "Nobody stands in front of you or beside you when a club moves. Keep spare balls away from your feet.",
    "The rules of the place you play come first. Go inside at the first thunder; in heat, shade and water.",
)
CHILD_FOCUSES = 2
CHILD_CAUTION = "Stop if something hurts, and tell a grown-up. Nobody stands near a moving club."

# What is said of a focus that a lesson closed, by the decision on a trial: a label, and a sentence or two.
CLOSED = {
    Focus.Decision.OPEN: ("Finished", "You worked on this, and now it is finished. Well done! Just go on like this."),
    Focus.Decision.KEPT: ("You keep it", "You tried this, and it is yours now. Well done! Use it for every stroke."),
    Focus.Decision.DROPPED: ("Tried", "You gave this a fair try, and you need it no longer. Well done for trying!"),
}
CHILD_CLOSED = {"Finished": "Well done!", "You keep it": "You tried it. Keep it!", "Tried": "Well done for trying!"}


def content_of(lesson: Lesson, academy: Academy) -> SheetContent:
    """The content of a lesson's sheet, worded for the playing sides that are stored on the lesson."""
    day = academy.today(lesson.session.starts_at)
    junior = lesson.student.is_known_junior(day, academy.adult_at)
    given = drills_after(lesson, day)
    focuses = today_first(open_after(lesson), lesson, given)
    pairs = sheet_pairs(lesson, focuses)
    content = SheetContent(
        student=lesson.student.name,
        day=day,
        coach=lesson.session.coach.user.name,
        academy=academy.name,
        junior=junior,
        keep=lesson.keep.strip(),
        next_time=lesson.next_time.strip(),
        focuses=tuple(
            replace(
                focus_of(number, focus, given.get(focus.pk), lesson, junior, academy.units), pair=pairs.get(focus.pk)
            )
            for number, focus in enumerate(focuses, 1)
        ),
        cautions=tuple(words.format(or_home=" or a grown-up at home" * junior) for words in CAUTIONS),
        coach_words=tuple(words_for_student(lesson)),
        tests=tuple(test_words(lesson, unit_of(academy.units))),
        closed=tuple(closed_in(lesson)),
        measures=tuple(measure_words(lesson)),
    )
    return shorten_for_child(content) if lesson.student.is_child(day, academy.child_until) else content


def shorten_for_child(content: SheetContent) -> SheetContent:
    """The same in few words for a child: what was good, at most two focuses, each with its feel, and one game.

    The first focuses stay, and the sheet says how many more there are.
    """
    focuses = content.focuses[:CHILD_FOCUSES]
    drilled = sorted((f for f in focuses if f.drill), key=lambda f: not (f.drill and f.drill.game))
    played = drilled[:1]
    return replace(
        content,
        child=True,
        next_time="",
        tests=(),
        measures=(),
        focuses=tuple(shorten_focus(focus, focus in played) for focus in focuses),
        more=len(content.focuses) - len(focuses),
        cautions=(CHILD_CAUTION,),
        closed=tuple(replace(focus, words=CHILD_CLOSED[focus.label]) for focus in content.closed[:CHILD_FOCUSES]),
    )


def shorten_focus(focus: SheetFocus, played: bool) -> SheetFocus:
    """A focus with its heading and feel alone, and its game if that is the one to play."""
    return replace(focus, own="", plain="", trial="", drill=shorten_drill(focus.drill) if played else None)


def shorten_drill(drill: SheetDrill | None) -> SheetDrill | None:
    """A drill with its set-up, its drawing, its caution and its game; without a game its steps say what to do."""
    if drill is None:
        return None
    left_out: dict[str, Any] = {"mark": "", "steps": ()} if drill.game else {}
    return replace(drill, equipment="", tip="", **left_out)


def words_for_student(lesson: Lesson) -> Iterator[str]:
    """What the coach wrote for the student: the note, and words beside observations."""
    if lesson.note_reader == Reader.STUDENT and (note := lesson.note.strip()):
        yield note
    written = Observation.objects.filter(look__lesson=lesson, reader=Reader.STUDENT).exclude(words="")
    for row in written.select_related("skill").order_by("look", "skill__area", "skill__position"):
        yield f"{render_typed(row.skill.name, lesson.side(row.skill.area))}: {row.words}"


def test_words(lesson: Lesson, unit: Unit) -> Iterator[str]:
    """The results of the lesson's scored tests, in counts."""
    for test in lesson.scored_tests.done().order_by("pk").prefetch_related("balls"):
        name = f"{render_typed(test.design.name, Side(test.side))}, {test.get_moment_display().lower()}"
        yield f"{plain(name)}: {summarise_test(test, unit)}."


def measure_words(lesson: Lesson) -> Iterator[str]:
    """What was measured in the lesson, for the side that is stored on it."""
    for skill, reading in readings_in(lesson).items():
        if measure := skill.measured:
            yield f"{plain(measure.heading(lesson.side(skill.area)))}: {lesson_words(reading, measure)}."


def open_after(lesson: Lesson) -> list[Focus]:
    """The focuses open at the end of a finished lesson; drafts do not count."""
    done = {"status": Lesson.Status.COMPLETE, "session__starts_at__lte": lesson.session.starts_at}
    opened, closed = (
        Q(**{f"{by}__{name}": value for name, value in done.items()}) for by in ("opened_in", "closed_in")
    )
    found = lesson.student.focuses.filter(opened).exclude(closed)
    return list(found.select_related("fault").order_by("opened_in__session__starts_at", "slot"))


def closed_in(lesson: Lesson) -> Iterator[SheetClosed]:
    """The focuses of earlier lessons that this one closed, each as the success it is."""
    found = lesson.focuses_closed.filter(student=lesson.student).exclude(opened_in=lesson).select_related("fault")
    for focus in found.order_by("opened_in__session__starts_at", "slot"):
        label, words = CLOSED[Focus.Decision(focus.decision)]
        yield SheetClosed(label, heading_of(focus, lesson.side(focus.area)), words)


def heading_of(focus: Focus, side: Side) -> str:
    """What a focus is about in the student's words: a trial in the coach's own, all others by their goal."""
    goal, what = render_typed(focus.fault.goal, side) if focus.fault else "", render_typed(focus.what, side)
    heads = [what, goal] if focus.kind == Focus.Kind.TRIAL else [goal, what]
    return next(filter(None, heads))


def drills_after(lesson: Lesson, day: date) -> dict[int, Prescription]:
    """The drills to practise after the lesson, by focus: those that it gave, and earlier ones that go on."""
    earlier = {"lesson__session__starts_at__lt": lesson.session.starts_at, "review_on__gt": day}
    going_on = lesson.student.prescriptions.in_force(day).filter(**earlier).order_by("begins", "pk")
    return {row.focus_id: row for row in (*going_on, *lesson.prescriptions.select_related("drill"))}


def today_first(focuses: list[Focus], lesson: Lesson, given: dict[int, Prescription]) -> list[Focus]:
    """The focuses of this lesson before older ones: the one for everyone, those it opened, those with its drills."""
    drilled = {focus for focus, row in given.items() if row.lesson_id == lesson.pk}
    return sorted(
        focuses,
        key=lambda focus: (
            focus.pk != lesson.shared_focus_id,
            focus.opened_in_id != lesson.pk,
            focus.pk not in drilled,
        ),
    )


def focus_of(
    number: int, focus: Focus, given: Prescription | None, lesson: Lesson, junior: bool, units: str
) -> SheetFocus:
    """A focus in the student's words: for a fault its goal, never its name."""
    side, fault = lesson.side(focus.area), focus.fault
    plain, feel = (render_typed(fault.plain, side), fault.feel) if fault else ("", "")
    what, heading = render_typed(focus.what, side), heading_of(focus, side)
    return SheetFocus(
        number=number,
        heading=heading,
        own=what if what != heading else "",
        plain=plain,
        feel=render_typed(focus.feel or feel or (given.drill.feel if given else ""), side),
        trial=trial_words(focus),
        drill=drill_of(given, lesson, junior, units) if given else None,
    )


def drill_of(given: Prescription, lesson: Lesson, junior: bool, units: str) -> SheetDrill:
    """A prescribed drill in the student's words."""
    drill, side = given.drill, lesson.side(given.drill.area)

    def text(wording: str) -> str:
        return in_units(render_typed(wording, side), units)

    texts = {name: text(getattr(drill, name)) for name in ("name", "equipment", "setup", "caution", "tip")}
    return SheetDrill(
        **texts,
        dose=dose_words(given, lesson),
        mark=text(given.done_well),
        challenge=text(given.mark),
        steps=tuple(map(text, drill.steps)),
        game=text(drill.game) if junior else "",
        purpose=text(drill.purpose) if junior and not drill.game else "",
        begins=given.begins,
        days=given.days,
        per_week=given.per_week,
        drawing=drawing_of(drill, side, units),
    )


def drawing_of(drill: Drill, side: Side, units: str) -> SheetDrawing | None:
    """The drawing of a drill in the words of the side, or None if it has none."""
    return None if check(drill.drawing) else SheetDrawing(rendered(drill.drawing, side), side, units)


def dose_words(given: Prescription, lesson: Lesson) -> str:
    """A dose in words; one that began in an earlier lesson says until when it goes on."""
    if given.lesson_id == lesson.pk:
        return dose_in_words(given.amount, given.unit, given.per_week, given.days)
    return dose_until(given.amount, given.unit, given.per_week, given.last_day)


def trial_words(focus: Focus) -> str:
    """What to do in a trial, and the day on which it is decided."""
    if focus.kind != Focus.Kind.TRIAL or focus.decision or focus.decide_on is None:
        return ""
    day = date_format(focus.decide_on, "l j F Y")
    return f"until {day}. Use it for every stroke, on the course too. On that day we decide: keep it or drop it."
