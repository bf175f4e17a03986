"""What a page about one student or one coach costs once the academy has ten times the data that it has now."""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import NamedTuple

from django.db import models

from coachbook.accounts.models import Coach, Student
from coachbook.demo import crowd
from coachbook.diary.models import Appointment
from drills.models import Drill, PracticeEntry, Prescription
from lessons.derived import recompute_all
from lessons.models import Focus, Lesson

TIMES = 10
MOST = 1.3  # times what the page took before
DAYS = 30  # of a dose, and of the diary before and after today
GROWING: dict[str, type[models.Model]] = {
    "coaches": Coach,
    "students": Student,
    "lessons": Lesson,
    "appointments": Appointment,
    "drills given": Prescription,
    "practice": PracticeEntry,
}


class Growth(NamedTuple):
    """A page before and after: how often it asked the database, and the least seconds that it took."""

    name: str
    queries: tuple[int, int]
    seconds: tuple[float, float]

    @property
    def ratio(self) -> float:
        """How much longer it takes."""
        return self.seconds[1] / self.seconds[0]


def rows() -> dict[str, int]:
    """How many rows there are of what grows."""
    return {name: model._default_manager.count() for name, model in GROWING.items()}


def grow(on: date, at: datetime) -> crowd.Size:
    """Add others until each kind of row is there ten times at least; returns how many coaches and students came."""
    new = {name: (TIMES - 1) * number for name, number in rows().items()}
    size = crowd.Size(new["coaches"], new["students"], -(-new["lessons"] // new["students"]), days=365)
    crowd.add_crowd(on, size)
    strangers = Focus.objects.filter(student__name__startswith="Student ").select_related("opened_in")
    prescribe(list(strangers), new["drills given"], on)
    report(list(Prescription.objects.filter(focus__in=strangers)), new["practice"], on)
    arrange(list(Student.objects.filter(name__startswith="Student ")), new["appointments"], at)
    recompute_all()
    return size


def prescribe(focuses: list[Focus], number: int, on: date) -> None:
    """Give drills, one for each focus in lesson after lesson; those of the last lessons are still going on."""
    drills = list(Drill.objects.filter(archived=False).order_by("pk"))
    lessons: dict[int, list[Lesson]] = {}
    for lesson in Lesson.objects.filter(student__in={focus.student_id for focus in focuses}).order_by("-pk"):
        lessons.setdefault(lesson.student_id, []).append(lesson)
    places = [(focus, n) for n in range(-(-number // len(focuses))) for focus in focuses]
    Prescription.objects.bulk_create(
        Prescription(
            student_id=focus.student_id, lesson=lessons[focus.student_id][n], focus=focus,
            drill=drills[k % len(drills)], amount=10,
            begins=on - timedelta(days=DAYS * n + 3), days=DAYS, review_on=on + timedelta(days=DAYS),
            ended_on=on - timedelta(days=DAYS * n) if n else None,
        )
        for k, (focus, n) in enumerate(places[:number])
    )  # fmt: skip


def report(prescriptions: list[Prescription], number: int, on: date) -> None:
    """Report practice, a day of each drill in turn."""
    PracticeEntry.objects.bulk_create(
        PracticeEntry(
            prescription=prescriptions[n % len(prescriptions)],
            day=on - timedelta(days=n // len(prescriptions) % DAYS),
            amount=10,
        )
        for n in range(number)
    )


def arrange(students: list[Student], number: int, at: datetime) -> None:
    """Fill the diaries of the others, in the days before and after this moment."""
    coaches = [student.cares.select_related("coach__user")[0].coach for student in students]
    made = Appointment.objects.bulk_create(
        Appointment(
            coach=coaches[n % len(students)],
            starts_at=at + timedelta(days=n // len(students) - DAYS // 2, hours=1),
            made_by=coaches[n % len(students)].user,
        )
        for n in range(number)
    )
    through: type[models.Model] = Appointment.students.through
    through._default_manager.bulk_create(
        through(appointment=appointment, student=students[n % len(students)]) for n, appointment in enumerate(made)
    )


def compare(names: list[str], visit: Callable[[str], tuple[int, float]], growing: Callable[[], object]) -> list[Growth]:
    """Visit each page before and after something grows; `visit` returns queries and seconds."""
    before = [visit(name) for name in names]
    growing()
    after = [visit(name) for name in names]
    return [
        Growth(name, (first[0], second[0]), (first[1], second[1]))
        for name, first, second in zip(names, before, after, strict=True)
    ]
