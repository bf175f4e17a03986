"""What the record shows of the students to whom a drill was given, in a number of queries that never grows."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Q, QuerySet

from coachbook.accounts.models import StudentQuerySet
from drills.library.holding.report import Case, FaultReport, compare
from drills.models import Drill, Prescription
from drills.practice.reports import days_reported, practice_of
from lessons.models import Fault, Lesson, Outcome
from lessons.progress.held import Verdict
from lessons.wording import render_typed

Verdicts = Mapping[tuple[int, int], Verdict]  # by the lesson that gave it and the fault


@dataclass(frozen=True)
class Holding:
    """A drill for each fault that it was given for, and with how many students for something in a coach's own words."""

    given: int
    reports: list[FaultReport]
    own_words: int


class Survivors:
    """The rows of one kind, and which of them counts for each: the one that it was merged into, if any."""

    def __init__(self, model: type[Drill] | type[Fault]) -> None:
        rows = model._default_manager.values_list("pk", "name", "code", "merged_into")
        self.names = {pk: (render_typed(name), code) for pk, name, code, _ in rows}
        self.into = {pk: merged for pk, _, _, merged in rows if merged}

    def of(self, pk: int) -> int:
        """The row that counts for this one."""
        seen = {pk}
        while (after := self.into.get(pk)) and after not in seen:
            seen.add(after)
            pk = after
        return pk

    def family(self, pks: set[int]) -> list[int]:
        """All rows that count as one of these."""
        return [each for each in self.names if self.of(each) in pks]


def gather_holding(drill: Drill, students: StudentQuerySet, on: date) -> Holding:
    """What became of the changes of these students for which a drill was given, beside the other drills for them."""
    drills, faults = Survivors(Drill), Survivors(Fault)
    this = drills.of(drill.pk)
    given = prescriptions(students).filter(drill__in=drills.family({this}))
    own = list(given.annotate(days_reported=days_reported(on)))
    about = {faults.of(each.focus.fault_id) for each in own if each.focus.fault_id}
    cases = cases_of(students, drills, faults, about)
    reports = []
    for fault in sorted(about, key=lambda pk: faults.names[pk]):
        lines, pooled = compare(cases[fault], drills.names, this)
        mine = [each for each in own if each.focus.fault_id and faults.of(each.focus.fault_id) == fault]
        practice = practice_of(mine, on)
        reports.append(FaultReport(faults.names[fault][0], lines, pooled, practice.asked, practice.reported))
    others = {each.student_id for each in own if not each.focus.fault_id}
    return Holding(len({each.student_id for each in own}), reports, len(others))


def prescriptions(students: StudentQuerySet) -> QuerySet[Prescription]:
    """The drills given to these students in finished lessons, the oldest first."""
    finished = Prescription.objects.filter(student__in=students.values("pk"), lesson__status=Lesson.Status.COMPLETE)
    return finished.select_related("focus").order_by("begins", "pk")


def cases_of(
    students: StudentQuerySet, drills: Survivors, faults: Survivors, about: set[int]
) -> Mapping[int, list[Case]]:
    """All times that a drill was given for each of these faults, with what a later arrival showed, oldest first."""
    known = verdicts(students, faults, about)
    found: dict[int, list[Case]] = defaultdict(list)
    rows = prescriptions(students).filter(focus__fault__in=faults.family(about)).select_related(None)
    for drill, student, lesson, fault in rows.values_list("drill", "student", "lesson", "focus__fault"):
        fault = faults.of(fault)
        found[fault].append(Case(drills.of(drill), student, known.get((lesson, fault))))
    return found


def verdicts(students: StudentQuerySet, faults: Survivors, about: set[int]) -> Verdicts:
    """What the next arrival showed of each change in these faults."""
    shown = Outcome.objects.filter(Q(fault__in=faults.family(about)), student__in=students.values("pk"))
    rows: Any = shown.values_list("before", "fault", "verdict")
    return {(lesson, faults.of(fault)): verdict for lesson, fault, verdict in rows}
