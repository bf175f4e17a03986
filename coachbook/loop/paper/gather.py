"""What is printed on a paper log, on which a coach writes a lesson by hand: gathered in a few queries."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from django.utils import timezone
from django.utils.text import Truncator

from coachbook.accounts.models import Academy, Area, Student
from coachbook.diary.scheduling import day_bounds
from lessons.history import focuses_of, is_open
from lessons.models import Focus, Lesson, Skill
from lessons.wording import render, render_typed

FEEL_LENGTH = 120  # letters of a feel: a reminder, not the whole of it
USUAL_LETTERS, LETTERS_A_SKILL = 300, 17  # of the focuses together; a line of 50 letters is as high as three skills


@dataclass(frozen=True)
class PaperFocus:
    """An open focus in the coach's words."""

    area: str
    name: str
    feel: str


@dataclass(frozen=True)
class PaperLog:
    """The words of the page; a name or a day that is empty is written by hand.

    `areas` says of each area whether it is ticked; `skills` holds the names of an area's skills beside its own.
    """

    name: str
    coach: str
    day: date | None
    areas: Sequence[tuple[Area, bool]]
    focuses: Sequence[PaperFocus]
    skills: Sequence[tuple[str, Sequence[str]]]
    left_out: int = 0

    @property
    def skill_count(self) -> int:
        """How many skills are printed."""
        return sum(len(names) for _, names in self.skills)

    @property
    def extra(self) -> int:
        """For how many skills there would be room in place of focuses of many words; most have few."""
        letters = sum(len(focus.name) + len(focus.feel) for focus in self.focuses)
        return max(0, letters - USUAL_LETTERS) // LETTERS_A_SKILL

    def with_at_most(self, most: int) -> "PaperLog":
        """The same with the first so many skills, and how many there are more."""
        left, shown = most, []
        for area, names in self.skills:
            if kept := names[:left]:
                shown.append((area, kept))
            left -= len(kept)
        return replace(self, skills=shown, left_out=max(0, self.skill_count - most))


def paper_log_of(student: Student, *, coach: str, areas: Collection[Area], academy: Academy, at: datetime) -> PaperLog:
    """For a student's next lesson; without areas those of the last one, and in a first lesson all of them."""
    focuses = [paper_focus(focus) for focus in focuses_of(student) if is_open(focus)]
    ticked = areas or last_areas(student)
    return PaperLog(student.name, coach, next_day(student, academy, at), ticks(ticked), focuses, skills_of(ticked))


def blank_paper_log(*, coach: str, areas: Collection[Area]) -> PaperLog:
    """For anybody, with the skills of some areas, or of all."""
    return PaperLog("", coach, None, ticks(areas), [], skills_of(areas))


def paper_focus(focus: Focus) -> PaperFocus:
    """A focus with what the coach calls it, and the feel that was agreed."""
    name = render(focus.fault.name) if focus.fault else render_typed(focus.what)
    feel = focus.feel or (focus.fault.feel if focus.fault else "")
    return PaperFocus(Area(focus.area).label, name, Truncator(render_typed(feel)).chars(FEEL_LENGTH))


def last_areas(student: Student) -> list[Area]:
    """The areas of the last lesson that the student came to."""
    came = student.lessons.complete().exclude(attendance=Lesson.Attendance.ABSENT)
    last = came.latest_first().first()
    return last.areas if last else []


def next_day(student: Student, academy: Academy, at: datetime) -> date | None:
    """The day of the next planned appointment, from today on."""
    begins, _ = day_bounds(academy, academy.today(at))
    row = student.appointments.planned().filter(starts_at__gte=begins).order_by("starts_at").first()
    return timezone.localdate(row.starts_at) if row else None


def ticks(areas: Collection[Area]) -> list[tuple[Area, bool]]:
    """Every area with whether it is one of these."""
    return [(area, area in areas) for area in Area]


def skills_of(areas: Iterable[Area]) -> list[tuple[str, Sequence[str]]]:
    """The skills of these areas, or of all; an area without one is left out."""
    chosen, names = list(areas) or list(Area), dict[str, list[str]]()
    for skill in Skill.objects.filter(area__in=chosen):
        names.setdefault(skill.area, []).append(str(skill))
    return [(area.label, names[area]) for area in Area if area in names]
