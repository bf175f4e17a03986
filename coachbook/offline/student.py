"""What a student's phone keeps: the drills of today with their doses, the tests, and the sheet that they were given."""

import uuid
from collections.abc import Collection
from datetime import date, datetime
from typing import Any

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.http import Request
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.content import as_stored, content_from
from coachbook.offline.designs import designs_for
from coachbook.offline.names import short_name
from drills.library.drawing.lengths import in_units
from drills.models import PracticeEntry, Prescription
from drills.practice.reports import DrillDay, drill_days
from drills.practice.week.gather import StudentWeek, lay_out, with_days_picked
from lessons.plain_words import plain
from lessons.wording import render


def student_day(request: Request, key: uuid.UUID, at: datetime) -> dict[str, Any]:
    """Their drills in the order of today, and the rest; in a student's words."""
    student = gate.get_student(request, Permission.REPORT_PRACTICE, key)
    on = request.academy.today(at)
    return {
        "kind": "student",
        "student": str(student.key),
        "students": {str(student.key): {"name": short_name(student.name), "sides": student.sides, "focuses": []}},
        "on": on.isoformat(),
        "drills": [drill_words(day, request.academy.units) for day in drills_today([student], on)[student.pk]],
        "felt": PracticeEntry.Felt.choices,
        "units": request.academy.units,
        "designs": designs_for(request.academy, None, plain),
        "sheet": sheet_words(student),
    }


def drills_today(students: Collection[Student], on: date) -> dict[int, list[DrillDay]]:
    """Each student's drills in force, by their id: those still to do today first."""
    given: dict[int, list[Prescription]] = {student.pk: [] for student in students}
    rows = list(with_days_picked(Prescription.objects.in_force(on).filter(student__in=given)))
    days = {day.prescription: day for day in drill_days(rows, on, are_all=True)}
    for row in rows:
        given[row.student_id].append(row)
    return {pk: [days[row] for row in week_of(own, days, on).today_first] for pk, own in given.items()}


def week_of(given: list[Prescription], days: dict[Prescription, DrillDay], on: date) -> StudentWeek:
    """The week of one student, by what was reported."""
    return lay_out(given, {row.pk: [report.day for report in days[row].reports] for row in given}, on)


def drill_words(day: DrillDay, units: str) -> dict[str, Any]:
    """A drill as its card shows it, without its drawing; `most` is the most that a score can be."""
    given, drill = day.prescription, day.prescription.drill
    mark = given.mark_to_reach
    texts = {name: getattr(drill, name) for name in ("equipment", "setup", "tip", "caution")} | {
        "mark": given.done_well
    }
    return {
        "key": str(given.key),
        "name": render(drill.name, day.side),
        "feel": day.feel,
        "dose": day.dose_today,
        "week": day.week,
        "amount": given.amount,
        "unit": given.unit,
        "steps": [in_units(render(step, day.side), units) for step in drill.steps],
        **{name: in_units(render(words, day.side), units) for name, words in texts.items()},
        "score": mark and {"of": mark.of, "most": mark.most},
        "today": [report.words for report in day.today],
    }


def sheet_words(student: Student) -> dict[str, Any] | None:
    """The words of the last sheet that stands, with the first name, without drawings; none before the first lesson."""
    sheet = Sheet.objects.of(student).valid().order_by("-lesson__session__starts_at", "-pk").first()
    if sheet is None:
        return None
    content = content_from(sheet.content)
    stored = as_stored(content)
    for focus in stored["focuses"]:
        if focus["drill"]:
            focus["drill"].pop("drawing")
    stored.pop("student")
    return {"key": str(sheet.key), "name": content.first_name, **stored}
