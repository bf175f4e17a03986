"""What a coach's phone keeps: who comes in these days, what each works on, and the catalogue for a log."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any, NamedTuple

from django.db.models import Prefetch
from django.utils import timezone

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Area, Coach, Student, StudentQuerySet
from coachbook.diary.models import Appointment
from coachbook.diary.scheduling import day_bounds
from coachbook.http import Request
from coachbook.loop.log.catalogue import CatalogueChoices
from coachbook.offline.blanks import blank_forms
from coachbook.offline.designs import designs_for
from coachbook.offline.names import short_names
from drills.library.fitting import DOSE
from drills.models import Drill, Prescription
from drills.practice.prescribe import given_last, usual_prescription
from lessons.models import Fault, Focus, Lesson
from lessons.wording import render

DAYS = 3  # today and the next ones: what is kept is forgotten after so many


class Visit(NamedTuple):
    """One student who is expected, and whether a lesson of that day was begun."""

    at: datetime
    student: Student
    is_begun: bool


def coach_day(request: Request, at: datetime) -> tuple[dict[str, Any], dict[str, str]]:
    """The days, the students that come on them, and what a log offers; and the blank forms as HTML."""
    coach = request.user.coach
    mine = gate.get_students(request, Permission.LOG_LESSONS)
    visits = visits_from(coach, mine, *day_bounds(request.academy, request.academy.today(at), DAYS))
    students = list({visit.student.pk: visit.student for visit in visits}.values())
    focuses = open_focuses(students)
    drills = [row.drill_id for focus in focuses for row in focus.prescriptions.all()]
    catalogue = CatalogueChoices.read(coach, students, None, drills)
    names = short_names(students)
    day = {
        "kind": "coach",
        "visits": [visit_words(visit) for visit in visits],
        "students": {str(student.key): student_words(student, names[student.pk], focuses) for student in students},
        "faults": fault_words(request, catalogue),
        "drills": catalogue.drill_names,
        "doses": {code: [getattr(drill, name) for name in DOSE] for code, drill in catalogue.drills.items()},
        "units": request.academy.units,
        "designs": designs_for(request.academy, coach),
    }
    return day, blank_forms(request.user, catalogue, request.academy)


def visits_from(coach: Coach, students: StudentQuerySet, begins: datetime, before: datetime) -> list[Visit]:
    """Who of these students comes when, in order; in three queries."""
    expected = (Appointment.Status.PLANNED, Appointment.Status.KEPT)
    planned = Appointment.objects.filter(coach=coach, status__in=expected).between(begins, before)
    lessons = Lesson.objects.filter(session__coach=coach, session__starts_at__range=(begins, before))
    logged = {(pk, timezone.localdate(at)) for pk, at in lessons.values_list("student", "session__starts_at")}
    return [
        Visit(row.starts_at, student, (student.pk, timezone.localdate(row.starts_at)) in logged)
        for row in planned.order_by("starts_at", "pk")
        .prefetch_related(None)
        .prefetch_related(Prefetch("students", students))
        for student in row.students.all()
    ]


def open_focuses(students: Iterable[Student]) -> list[Focus]:
    """Their open focuses with what was given for each, in two queries."""
    found = Focus.objects.filter(student__in=list(students), closed_in=None).order_by("student_id", "slot")
    found = found.select_related("fault__skill", "fault__merged_into__skill", "opened_in__session")
    return list(found.prefetch_related(Prefetch("prescriptions", Prescription.objects.select_related("drill"))))


def visit_words(visit: Visit) -> dict[str, Any]:
    """A visit by its student's key; `begun` where a log of that day is on the server already."""
    at = timezone.localtime(visit.at)
    return {"on": f"{at:%Y-%m-%d}", "time": f"{at:%H:%M}", "student": str(visit.student.key), "begun": visit.is_begun}


def student_words(student: Student, name: str, focuses: Iterable[Focus]) -> dict[str, Any]:
    """A student by a short name, with what they work on."""
    theirs = [focus for focus in focuses if focus.student_id == student.pk]
    return {
        "name": name,
        "sides": student.sides,
        "areas": [area for area in Area.values if area in {focus.area for focus in theirs}] or [Area.PUTTING],
        "focuses": [focus_words(focus) for focus in theirs],
    }


def focus_words(focus: Focus) -> dict[str, Any]:
    """An open focus, as the log needs it."""
    fault = focus.fault and focus.fault.counted
    given = max(focus.prescriptions.all(), key=lambda row: (row.begins, row.pk), default=None)
    return {
        "key": str(focus.key),
        "kind": focus.kind,
        "area": focus.area,
        "title": str(focus),
        "fault": fault.code if fault else "",
        "skill": fault.counted_skill.code if fault else "",
        "feel": focus.feel or (render(fault.feel) if fault else ""),
        "since": timezone.localdate(focus.opened_in.session.starts_at).isoformat(),
        "decide_on": focus.decide_on and focus.decide_on.isoformat(),
        "given": given and given_words(given),
    }


def given_words(row: Prescription) -> dict[str, Any]:
    """The drill and dose that were given for a focus."""
    return {
        "drill": row.drill.code,
        "amount": row.amount,
        "unit": row.unit,
        "per_week": row.per_week,
        "days": row.days,
        "mark": row.mark,
    }


def fault_words(request: Request, catalogue: CatalogueChoices) -> dict[str, Any]:
    """What *Work on this* fills in for each fault: its name and feel, the drills that fit, and the usual one."""
    given = given_last(request.user.coach)
    return {code: one_fault(fault, catalogue, given) for code, fault in catalogue.faults.items()}


def one_fault(fault: Fault, catalogue: CatalogueChoices, given: dict[int, Prescription]) -> dict[str, Any]:
    """One fault; `usual` is empty where no drill fits it."""
    usual = usual_prescription(fault, catalogue.offered, given)
    fitting: list[Drill] = catalogue.drills_for(fault)
    return {
        "name": str(fault),
        "feel": render(fault.feel),
        "drills": [drill.code for drill in fitting],
        "usual": usual
        and {
            "drill": usual.drill.code,
            "amount": usual.dose.amount,
            "unit": usual.dose.unit,
            "per_week": usual.dose.per_week,
            "days": usual.dose.days,
        },
    }
