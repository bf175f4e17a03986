"""The take-home sheet: its words are gathered once, when it is issued, and never touched again."""

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

from django.core import signing
from django.core.serializers.json import DjangoJSONEncoder
from django.db import transaction
from django.db.models import Q
from django.utils.formats import date_format

from coachbook.accounts.models import Academy, Side
from coachbook.loop.models import Sheet
from drills.models import Prescription
from drills.practice.doses import dose_in_words
from drills.putting.lengths import unit_of
from drills.putting.units import Unit
from drills.scored_tests.wording import told
from lessons.models import Focus, Lesson, Observation, Reader
from lessons.wording import as_typed

WEEKS_SHOWN = 6
SHARED_BEYOND_DOSE, SHARED_AT_MOST = 30, 120
SALT = "coachbook.loop.sheet"  # never changed: it would end every link that was handed out
REPLACED = "replaced by a newer issue"
WATCH_FOR = "Watch for "
CAUTIONS = (
    "Stop at pain, or when a hand jerks or shakes, and tell your coach{or_home}.",
    "Nobody stands in front of you or beside you when a club moves. Keep spare balls away from your feet.",
    "The rules of the place you play come first. Go inside at the first thunder; in heat, shade and water.",
)
CHILD_FOCUSES = 2
CHILD_CAUTION = "Stop if something hurts, and tell a grown-up. Nobody stands near you when a club moves."


@dataclass(frozen=True)
class SheetDrill:
    """A drill with its dose, as one player reads it."""

    name: str
    dose: str
    equipment: str
    setup: str
    steps: tuple[str, ...]
    mark: str
    mistake: str
    caution: str
    game: str
    begins: date
    days: int
    per_week: int
    purpose: str = ""  # where there is no game
    challenge: str = ""  # a mark that was set for this student

    @property
    def ends(self) -> date:
        """The first day on which it is over."""
        return self.begins + timedelta(days=self.days)


@dataclass(frozen=True)
class SheetFocus:
    """One thing to work on: what to do, how it feels, and the drill for it where one was given."""

    number: int
    heading: str
    own: str
    plain: str
    feel: str
    trial: str
    drill: SheetDrill | None


@dataclass(frozen=True)
class SheetContent:
    """All that stands on a sheet, in the words of the day it was issued."""

    student: str
    day: date
    coach: str
    academy: str
    junior: bool
    keep: str
    next_time: str
    focuses: tuple[SheetFocus, ...]
    cautions: tuple[str, ...]
    said: tuple[str, ...] = ()
    child: bool = False
    tests: tuple[str, ...] = ()

    @property
    def first_name(self) -> str:
        """What a sheet that anybody may find calls the student."""
        return self.student.split()[0]

    @property
    def practised(self) -> list[SheetFocus]:
        """The focuses that have a drill."""
        return [focus for focus in self.focuses if focus.drill]

    @property
    def drills(self) -> list[SheetDrill]:
        """The drills in the order of their focuses."""
        return [focus.drill for focus in self.focuses if focus.drill]

    @property
    def days(self) -> int:
        """The days from the lesson until the longest dose is over."""
        return max([(drill.ends - self.day).days for drill in self.drills], default=0)


@dataclass(frozen=True)
class SheetDay:
    """A day of the calendar, and the numbers of the focuses that have a box there."""

    day: date
    boxes: tuple[int, ...]


def weeks_of(content: SheetContent) -> list[list[SheetDay | None]]:
    """The calendar: weeks of seven days from the lesson's day on, as many as the longest dose needs, six at most."""
    return [
        [day_of(content, number) if number < content.days else None for number in range(first, first + 7)]
        for first in range(0, min(content.days, 7 * WEEKS_SHOWN), 7)
    ]


def day_of(content: SheetContent, number: int) -> SheetDay:
    """A day with a box for each drill that may be practised then."""
    day = content.day + timedelta(days=number)
    return SheetDay(day, tuple(f.number for f in content.focuses if f.drill and f.drill.begins <= day < f.drill.ends))


def weeks_left(content: SheetContent) -> int:
    """For how many weeks practice goes on after the last one that has boxes."""
    return max(0, -(-content.days // 7) - WEEKS_SHOWN)


# --- Gathering ----------------------------------------------------------------------------------


def content_of(lesson: Lesson, academy: Academy) -> SheetContent:
    """What a lesson's sheet says, from the sides that are frozen on the lesson."""
    day = academy.today(lesson.session.starts_at)
    junior = lesson.student.is_junior(day, academy.adult_at)
    given = {row.focus_id: row for row in lesson.prescriptions.select_related("drill")}
    content = SheetContent(
        student=lesson.student.name,
        day=day,
        coach=lesson.session.coach.user.name,
        academy=academy.name,
        junior=junior,
        keep=lesson.keep.strip(),
        next_time=lesson.next_time.strip(),
        focuses=tuple(
            focus_of(number, focus, given.get(focus.pk), lesson, junior)
            for number, focus in enumerate(open_after(lesson), 1)
        ),
        cautions=tuple(words.format(or_home=" or a grown-up at home" * junior) for words in CAUTIONS),
        said=tuple(said_to_the_student(lesson)),
        tests=tuple(test_words(lesson, unit_of(academy.units))),
    )
    return for_a_child(content) if lesson.student.is_child(day, academy.child_until) else content


def for_a_child(content: SheetContent) -> SheetContent:
    """The same in few words: one thing to do or two, how it feels, and one game."""
    focuses = content.focuses[:CHILD_FOCUSES]
    drilled = sorted((f for f in focuses if f.drill), key=lambda f: not (f.drill and f.drill.game))
    played = drilled[:1]
    return replace(
        content,
        child=True,
        keep="" if focuses else content.keep,
        next_time="",
        tests=(),
        focuses=tuple(few_words(focus, focus in played) for focus in focuses),
        cautions=(CHILD_CAUTION,),
    )


def few_words(focus: SheetFocus, played: bool) -> SheetFocus:
    """A focus with its heading and feel alone, and its game where that is the one to play."""
    bare: dict[str, Any] = dict.fromkeys(("equipment", "setup", "mark", "mistake", "caution", "purpose"), "")
    drill = focus.drill if played else None
    drill = drill and replace(drill, steps=(), game=drill.game or drill.purpose, **bare)
    return replace(focus, own="", plain="", trial="", drill=drill)


def said_to_the_student(lesson: Lesson) -> Iterator[str]:
    """What the coach wrote for the student: the note, and a few words beside what was seen."""
    if lesson.note_reader == Reader.STUDENT and (note := lesson.note.strip()):
        yield note
    written = Observation.objects.filter(look__lesson=lesson, reader=Reader.STUDENT).exclude(words="")
    for row in written.select_related("skill").order_by("look", "skill__area", "skill__position"):
        yield f"{as_typed(row.skill.name, lesson.side(row.skill.area))}: {row.words}"


def test_words(lesson: Lesson, unit: Unit) -> Iterator[str]:
    """What the lesson's scored tests came to, in counts."""
    for test in lesson.scored_tests.done().order_by("pk").prefetch_related("hit"):
        yield f"{as_typed(test.design.name, Side(test.side))}, {test.get_moment_display().lower()}: {told(test, unit)}."


def open_after(lesson: Lesson) -> list[Focus]:
    """The focuses still worked on when the lesson was over; a draft of another lesson opens and closes nothing."""
    done = {"status": Lesson.Status.COMPLETE, "session__starts_at__lte": lesson.session.starts_at}
    opened, closed = (
        Q(**{by: lesson}) | Q(**{f"{by}__{name}": value for name, value in done.items()})
        for by in ("opened_in", "closed_in")
    )
    found = lesson.student.focuses.filter(opened).exclude(closed)
    return list(found.select_related("fault").order_by("opened_in__session__starts_at", "slot"))


def focus_of(number: int, focus: Focus, given: Prescription | None, lesson: Lesson, junior: bool) -> SheetFocus:
    """A focus in its player's words: for a fault its goal, never its name."""
    side, fault = lesson.side(focus.area), focus.fault
    goal, plain, feel = (as_typed(fault.goal, side), as_typed(fault.plain, side), fault.feel) if fault else ("", "", "")
    what = as_typed(focus.what, side)
    heads = [what, goal] if focus.kind == Focus.Kind.TRIAL else [goal, what]
    heading = next(filter(None, heads))
    return SheetFocus(
        number=number,
        heading=heading,
        own=what if what != heading else "",
        plain=plain,
        feel=as_typed(focus.feel or feel or (given.drill.feel if given else ""), side),
        trial=trial_words(focus),
        drill=drill_of(given, lesson.side(given.drill.area), junior) if given else None,
    )


def drill_of(given: Prescription, side: Side, junior: bool) -> SheetDrill:
    """A prescribed drill in its player's words."""
    drill = given.drill
    texts = {
        name: as_typed(getattr(drill, name), side) for name in ("name", "equipment", "setup", "mistake", "caution")
    }
    texts |= {"mark": as_typed(given.done_well, side), "challenge": as_typed(given.mark, side)}
    texts["mistake"] = texts["mistake"].removeprefix(WATCH_FOR)
    return SheetDrill(
        **texts,
        dose=dose_in_words(given.amount, given.unit, given.per_week, given.days),
        steps=tuple(as_typed(step, side) for step in drill.steps),
        game=as_typed(drill.game, side) if junior else "",
        purpose=as_typed(drill.purpose, side) if junior and not drill.game else "",
        begins=given.begins,
        days=given.days,
        per_week=given.per_week,
    )


def trial_words(focus: Focus) -> str:
    """What a trial asks, and the day on which it is decided."""
    if focus.kind != Focus.Kind.TRIAL or focus.decision or focus.decide_on is None:
        return ""
    day = date_format(focus.decide_on, "l j F Y")
    return f"until {day}. Use it for every stroke, on the course too. On that day we decide: keep it or drop it."


# --- Keeping ------------------------------------------------------------------------------------


def as_stored(content: SheetContent) -> dict[str, Any]:
    """The content as it lies in the row."""
    stored: dict[str, Any] = json.loads(DjangoJSONEncoder().encode(asdict(content)))
    return stored


def content_from(stored: dict[str, Any]) -> SheetContent:
    """The content as it was issued."""
    focuses = tuple(focus_from(focus) for focus in stored["focuses"])
    dated = {"day": date.fromisoformat(stored["day"]), "cautions": tuple(stored["cautions"])}
    dated |= {name: tuple(stored.get(name, ())) for name in ("said", "tests")}  # unknown to sheets of earlier days
    return SheetContent(**{**stored, **dated, "focuses": focuses})


def focus_from(stored: dict[str, Any]) -> SheetFocus:
    """A focus out of the row."""
    drill = stored["drill"]
    if drill:
        drill = SheetDrill(**{**drill, "steps": tuple(drill["steps"]), "begins": date.fromisoformat(drill["begins"])})
    return SheetFocus(**{**stored, "drill": drill})


@transaction.atomic
def issue_sheet(*, lesson: Lesson, at: datetime) -> Sheet:
    """Issue a finished lesson's sheet as it reads now; one that stood until now is void."""
    if lesson.status != Lesson.Status.COMPLETE:
        raise ValueError("A lesson that is not done has no sheet.")
    Lesson.objects.select_for_update().get(pk=lesson.pk)  # two issues at once: the second waits, and replaces
    for standing in lesson.sheets.standing():
        void_sheet(sheet=standing, reason=REPLACED, at=at)
    content = as_stored(content_of(lesson, Academy.current()))
    return Sheet.objects.create(lesson=lesson, content=content, issued_at=at)


def void_sheet(*, sheet: Sheet, reason: str, at: datetime) -> None:
    """Take a sheet back, with its shared link; one that is void already keeps its first reason."""
    if sheet.voided_at is None:
        sheet.voided_at, sheet.void_reason = at, reason
        sheet.save(update_fields=["voided_at", "void_reason"])


# --- Sharing ------------------------------------------------------------------------------------


def shared_until(sheet: Sheet) -> date:
    """The academy's last day on which a shared link opens the sheet: a month after the dose, four months at most."""
    days = max([drill.days for drill in content_from(sheet.content).drills], default=0)
    return Academy.current().today(sheet.issued_at) + timedelta(days=min(days + SHARED_BEYOND_DOSE, SHARED_AT_MOST))


def share_token(sheet: Sheet) -> str:
    """A token that opens this one sheet, to be read only, until its last day."""
    return signing.Signer(salt=SALT).sign(f"{sheet.key.hex}.{shared_until(sheet):%Y%m%d}")


def shared(token: str, at: datetime) -> tuple[Sheet | None, bool]:
    """The sheet that a token was made for, and whether it still opens it."""
    try:
        key, until = signing.Signer(salt=SALT).unsign(token).split(".")
    except signing.BadSignature:
        return None, False
    done = Sheet.objects.filter(lesson__status=Lesson.Status.COMPLETE)
    sheet = done.filter(key=key).first()
    return sheet, sheet is not None and sheet.voided_at is None and f"{Academy.current().today(at):%Y%m%d}" <= until
