"""The coming appointments that an act touches, and what may become of each of them."""

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from enum import StrEnum

from django.db.models import QuerySet
from django.utils import timezone

from coachbook.accounts.models import Academy, Care, Coach, Student
from coachbook.diary.models import Appointment
from coachbook.diary.scheduling import day_bounds, overlaps

SOON = timedelta(minutes=30)  # so short before the start nobody may read in time what changed


class Choice(StrEnum):
    """What may become of an appointment."""

    MOVE = "move"
    CANCEL = "cancel"
    KEEP = "keep"
    OUT = "out"  # of several students, some are taken out, and the others keep it


@dataclass(frozen=True)
class Effect:
    """What an act comes to for appointments: which it touches, whom of their students, and what may become of them.

    `new_coach` and `may_keep` are asked about an appointment and those of its students whom the act concerns.
    `preferred` begins with what is the most sensible. `beside` is every planned appointment of the new coaches in
    that time, where it was read already.
    """

    rows: Iterable[Appointment]
    preferred: Sequence[Choice]
    concerns: Callable[[Appointment, Student], bool] = field(default=lambda row, student: True)
    new_coach: Callable[[Appointment, list[Student]], Coach | None] = field(default=lambda row, students: None)
    may_keep: Callable[[Appointment, list[Student]], bool] = field(default=lambda row, students: False)
    beside: Sequence[Appointment] | None = None


@dataclass(frozen=True)
class Touched:
    """One appointment that an act touches; `to` is the coach to whom it may move."""

    appointment: Appointment
    students: list[Student]
    others: int  # how many students the act does not concern
    choices: list[Choice]
    usual: Choice
    to: Coach | None = None
    clash: str = ""
    soon: str = ""

    @property
    def seen(self) -> str:
        """What a page showed of it: if this differs later, somebody has to look again."""
        return f"{self.appointment.key.hex}:{self.to.pk if self.to else 0}:{int(bool(self.clash))}"

    def choice_for(self, everybody: str) -> Choice:
        """What a choice for all comes to here, where it is possible at all."""
        if everybody in self.choices:
            return Choice(everybody)
        return Choice.OUT if everybody == Choice.CANCEL and Choice.OUT in self.choices else self.usual


def coming(academy: Academy, at: datetime, since: date, until: date | None = None) -> "QuerySet[Appointment]":
    """The planned appointments of some days that have not begun, with everything that a page shows of them."""
    found = Appointment.objects.planned().filter(starts_at__gt=at, starts_at__gte=day_bounds(academy, since)[0])
    if until:
        found = found.filter(starts_at__lt=day_bounds(academy, until)[1])
    return found.select_related("coach__user", "series").prefetch_related("students").order_by("starts_at", "pk")


def touched_by(effect: Effect, at: datetime) -> list[Touched]:
    """The appointments that an act touches, the earliest first, with the clashes that a move would bring."""
    found = [touched for row in effect.rows if (touched := touched_row(row, effect, at))]
    return with_clashes(found, effect.beside)


def touched_row(row: Appointment, effect: Effect, at: datetime) -> Touched | None:
    """One appointment, or None where the act concerns nobody in it."""
    everybody = list(row.students.all())
    students = [student for student in everybody if effect.concerns(row, student)]
    if not students:
        return None
    to, others = effect.new_coach(row, students), len(everybody) - len(students)
    choices = [Choice.OUT] if others else [*([Choice.MOVE] if to else []), Choice.CANCEL]
    if effect.may_keep(row, students):
        choices.append(Choice.KEEP)
    usual = next((choice for choice in effect.preferred if choice in choices), choices[0])
    minutes = int((row.starts_at - at).total_seconds() // 60)
    soon = f"It begins in {minutes} minutes: tell them by telephone." if row.starts_at < at + SOON else ""
    return Touched(row, students, others, choices, usual, to if not others else None, soon=soon)


def with_clashes(found: list[Touched], beside: Sequence[Appointment] | None) -> list[Touched]:
    """The same, each with the other appointment that its new coach has at that time; one query for all at most."""
    coaches = {touched.to.pk for touched in found if touched.to}
    if not coaches:
        return found
    theirs = beside
    if theirs is None:
        times = [touched.appointment.starts_at for touched in found]
        minutes = int((times[-1] - times[0]).total_seconds() // 60) + found[-1].appointment.minutes
        theirs = list(Appointment.objects.planned().touching(times[0], minutes).filter(coach__in=coaches))
    return [replace(touched, clash=clash_words(touched, theirs)) for touched in found]


def clash_words(touched: Touched, theirs: Iterable[Appointment]) -> str:
    """That the new coach has another appointment at that time, or an empty text."""
    own = touched.appointment
    for row in theirs:
        if touched.to and row.coach_id == touched.to.pk and row != own and overlaps(row, own.starts_at, own.minutes):
            times = f"{timezone.localtime(row.starts_at):%H:%M} to {timezone.localtime(row.ends_at):%H:%M}"
            return f"{touched.to} has another appointment then, from {times}."
    return ""


def day_of(row: Appointment) -> date:
    """The day of an appointment at the academy."""
    return timezone.localdate(row.starts_at)


def is_in_force(care: Care, day: date) -> bool:
    """Whether care is in force on a day."""
    return care.since <= day and (care.until is None or day <= care.until)


def teaches(cares: Iterable[Care], coach: int, students: Collection[Student], day: date) -> bool:
    """Whether a coach has each of the students on a day, by this care."""
    taught = {care.student_id for care in cares if care.coach_id == coach and is_in_force(care, day)}
    return taught.issuperset(student.pk for student in students)
