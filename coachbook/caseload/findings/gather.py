"""What the record shows of the whole academy since a day, in a number of queries that never grows."""

import uuid
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import chain
from typing import Any

from django.db import connection
from django.db.models import Count, F, IntegerField, Q, QuerySet, Sum, Value
from django.db.models.functions import Coalesce, Least

from coachbook.accounts.models import Academy, Area, Coach, Student
from coachbook.accounts.relationships import junior_condition
from coachbook.caseload.findings.clusters import Clusters, Tally
from coachbook.caseload.findings.faults import (
    FaultLine,
    Looks,
    MonthlyTrends,
    commonest,
    monthly_trends,
    most_changed,
    never_seen,
)
from coachbook.caseload.findings.plots import Dot
from coachbook.caseload.findings.report import (
    LONGEST,
    ChangeCounts,
    ChangeGroup,
    CoachComparison,
    Counted,
    Dependence,
    compare_coach,
    count_changes,
    dependences,
    usual_gap,
)
from coachbook.caseload.findings.summary import changes_words, coaches_words, common_words
from coachbook.caseload.gather import midnight
from lessons.arrivals import KINDS_WITHOUT_ARRIVAL
from lessons.models import Fault, Focus, Lesson, MonthCount, Outcome
from lessons.wording import render

SUMS_OVER_STUDENTS = """
    select '{group}', "{group}", count(*), sum(made), sum(held), sum(made * made), sum(made * held), sum(held * held),
        sum(partly)
    from ({inner}) as one_student group by "{group}"
"""
SHOWN = 6  # faults of an area in a plot; all of them stand in the table behind it
GROUPS = ("coach_id", "fault_id")


@dataclass(frozen=True)
class AreaLines:
    """The faults of one area: those that were seen, those that never were, and those that lessons changed."""

    name: str
    common: list[FaultLine]
    unseen: list[FaultLine]
    changed: list[FaultLine]

    @property
    def seen_dots(self) -> list[Dot]:
        """The commonest faults of which a share is said."""
        return [dot for line in self.common if (dot := line.seen_dot)][:SHOWN]

    @property
    def withheld(self) -> list[FaultLine]:
        """The faults of which none is said."""
        return [line for line in self.common if line.is_withheld]

    @property
    def held_dots(self) -> list[Dot]:
        """The faults with the most changes."""
        return [line.held_dot for line in self.changed[:SHOWN]]

    @property
    def has_content(self) -> bool:
        """Whether there is anything to show."""
        return bool(self.common or self.unseen or self.changed)


@dataclass(frozen=True)
class CoachLine:
    """A coach's changes beside the academy's, and what they were made of."""

    name: str
    key: uuid.UUID
    is_open: bool
    comparison: CoachComparison
    mix: list[str]


@dataclass(frozen=True)
class Findings:
    """The academy since a day."""

    areas: list[AreaLines]
    monthly_trends: MonthlyTrends
    own_words: int  # students who work on something that no fault names
    every: Tally
    anyway: float | None  # how many of these changes would have looked good anyway
    depends: tuple[Dependence, Dependence]
    coaches: list[CoachLine]
    silent: list[str]  # coaches with open accounts of whose changes nothing is known

    @property
    def sentences(self) -> list[str]:
        """What the page comes to, in three sentences."""
        comparisons = [(line.name, line.comparison) for line in self.coaches]
        return [
            common_words(line for area in self.areas for line in area.common),
            changes_words(self.every, self.anyway),
            coaches_words(comparisons),
        ]

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing at all to show."""
        return not (self.areas or self.own_words)


def gather_findings(academy: Academy, on: date, since: date | None) -> Findings:
    """Everything since a day, or since the first one."""
    found = counted(since)
    change_counts = count_changes(found["coach_id"], found["fault_id"], *mixes_and_anyway(since))
    change_groups = [ChangeGroup(*row) for row in change_groups_since(since)]
    # Merged ones, too: what follows from a merge is counted after it.
    every = Fault.objects.select_related("skill__merged_into", "merged_into__skill__merged_into")
    faults = list(every.order_by("skill__area", "skill__position", "position"))
    working = students_working()
    teachers = list(Coach.objects.named())
    lines = fault_lines(faults, working, months(since), arrivals(academy, since), change_counts)
    return Findings(
        areas=area_lines(lines),
        monthly_trends=monthly_trends(chain(*lines.values())),
        own_words=working.get(None, 0),
        every=change_counts.every,
        anyway=change_counts.expected_anyway(list(change_counts.faults)) if change_counts.faults else None,
        depends=dependences(change_groups, change_counts.every.effect),
        coaches=coach_lines(teachers, faults, change_groups, change_counts, juniors(academy, on, since)),
        silent=[str(coach) for coach in teachers if coach.user.is_active and coach.pk not in change_counts.coaches],
    )


# --- Queries ------------------------------------------------------------------------------------


def outcomes_since(since: date | None) -> QuerySet[Outcome]:
    """What arrivals showed since a day."""
    return Outcome.objects.filter(day__gte=since) if since else Outcome.objects.all()


def tallied(since: date | None) -> list[tuple[str, tuple[int, ...]]]:
    """For each coach and fault: the sums over clusters of one student's changes, as `Clusters` has them, and partly.

    Sums of grouped sums are beyond the ORM, and a row for each student would be far too many.
    """
    parts = [outcomes_by_student(group, since).query.sql_with_params() for group in GROUPS]
    named = zip(GROUPS, parts, strict=True)
    sql = " union all ".join(SUMS_OVER_STUDENTS.format(group=group, inner=inner) for group, (inner, _) in named)
    with connection.cursor() as cursor:
        cursor.execute(sql, [value for _, values in parts for value in values])
        return [(group, tuple(map(int, row))) for group, *row in cursor.fetchall()]


def outcomes_by_student(group: str, since: date | None) -> QuerySet[Any, Any]:
    """How many changes each student made with each coach or in each fault, and how many held."""
    held, partly = (Count("pk", filter=Q(verdict=one)) for one in (Outcome.Verdict.HELD, Outcome.Verdict.PARTLY))
    rows = outcomes_since(since).values(group, "student")
    found: QuerySet[Any, Any] = rows.annotate(made=Count("pk"), held=held, partly=partly)
    return found


def counted(since: date | None) -> dict[str, dict[int, Counted]]:
    """The same as `count_changes` takes them, by coach and by fault."""
    found: dict[str, dict[int, Counted]] = {group: {} for group in GROUPS}
    for group, (key, *sums, partly) in tallied(since):
        found[group][key] = (Clusters(*sums), partly)
    return found


def mixes(since: date | None) -> Iterable[tuple[int, int, int, float | None, int]]:
    """How many changes each coach made in each fault, the sum of their chances anyway, and how many have one."""
    rows = outcomes_since(since).values_list("coach", "fault")
    return rows.annotate(made=Count("pk"), chances=Sum("anyway"), known=Count("anyway"))


def mixes_and_anyway(since: date | None) -> tuple[list[tuple[int, int, int]], dict[int, tuple[float, int]]]:
    """The same in two parts, the chances by fault."""
    rows = list(mixes(since))
    chances: dict[int, tuple[float, int]] = defaultdict(lambda: (0.0, 0))
    for _, fault, _, chance, known in rows:
        chances[fault] = chances[fault][0] + (chance or 0.0), chances[fault][1] + known
    return [row[:3] for row in rows], dict(chances)


def change_groups_since(since: date | None) -> Iterable[tuple[int, int, str, int, int, float | None, int]]:
    """The changes since a day by coach, week and practice reported, as `ChangeGroup` has them."""
    week = Least((F("days") - 1) / 7, Value(LONGEST), output_field=IntegerField())
    rows = outcomes_since(since).annotate(week=week).values_list("coach", "week", "practice_reported")
    held = Count("pk", filter=Q(verdict=Outcome.Verdict.HELD))
    return rows.annotate(held=held, total=Count("pk"), chances=Sum("anyway"), known=Count("anyway"))


def months(since: date | None) -> dict[int, tuple[Looks, ...]]:
    """On how many arrivals each fault was looked at and seen, month by month, oldest first."""
    counts = MonthCount.objects.filter(month__gte=since) if since else MonthCount.objects.all()
    rows = counts.order_by("fault", "month").values_list("fault", "month")
    found: dict[int, list[Looks]] = defaultdict(list)
    for fault, _, *sums in rows.annotate(Sum("looked"), Sum("slight"), Sum("clear"), Sum("not_graded")):
        found[fault].append(Looks(*sums))
    return {fault: tuple(looks) for fault, looks in found.items()}


def arrivals(academy: Academy, since: date | None) -> dict[str, int]:
    """On how many arrivals the lesson was about each area."""
    visits = Lesson.objects.complete().filter(attendance=Lesson.Attendance.KEPT)
    if since:
        visits = visits.filter(session__starts_at__gte=midnight(academy, since))
    areas = {area.value: Count("pk", filter=Q(**{area.value: True})) for area in Area}
    return visits.exclude(session__kind__in=KINDS_WITHOUT_ARRIVAL).aggregate(**areas)


def students_working() -> dict[int | None, int]:
    """How many students work on each fault now, and, under no fault, on something in a coach's own words."""
    here = Focus.objects.agreed().exclude(student__status=Student.Status.LEFT)
    rows = here.select_related(None).order_by().values_list(Coalesce("fault__merged_into", "fault"))
    return dict(rows.annotate(Count("student", distinct=True)))


def juniors(academy: Academy, on: date, since: date | None) -> dict[int, int]:
    """With how many juniors each coach made changes."""
    young = outcomes_since(since).filter(student__in=Student.objects.filter(junior_condition(academy, on)))
    return dict(young.values_list("coach").annotate(Count("student", distinct=True)))


# --- Lines --------------------------------------------------------------------------------------


def fault_lines(
    faults: Iterable[Fault],
    working: dict[int | None, int],
    looks: dict[int, tuple[Looks, ...]],
    arrivals: dict[str, int],
    change_counts: ChangeCounts,
) -> dict[str, list[FaultLine]]:
    """A line for each fault, by area."""
    found: dict[str, list[FaultLine]] = defaultdict(list)
    for fault in faults:
        area = fault.skill.area
        line = FaultLine(
            skill=render(fault.counted_skill.name),
            name=render(fault.name),
            working=working.get(fault.pk, 0),
            months=looks.get(fault.pk, ()),
            arrivals=arrivals[area],
            changes=change_counts.faults.get(fault.pk, Tally()),
            anyway=change_counts.expected_anyway([fault.pk]) if fault.pk in change_counts.faults else None,
        )
        found[area].append(line)
    return found


def area_lines(found: dict[str, list[FaultLine]]) -> list[AreaLines]:
    """The areas of which anything is known."""
    areas = [(area.label, found[area.value]) for area in Area]
    every = [AreaLines(name, commonest(lines), never_seen(lines), most_changed(lines)) for name, lines in areas]
    return [area for area in every if area.has_content]


def coach_lines(
    teachers: Iterable[Coach],
    faults: Iterable[Fault],
    change_groups: Iterable[ChangeGroup],
    change_counts: ChangeCounts,
    young: dict[int, int],
) -> list[CoachLine]:
    """A line for each coach with changes that met an arrival, by name; closed accounts, too."""
    areas = {fault.pk: fault.skill.area for fault in faults}
    gaps: dict[int, list[ChangeGroup]] = defaultdict(list)
    for change_group in change_groups:
        gaps[change_group.coach].append(change_group)
    return [
        CoachLine(
            name=str(coach),
            key=coach.user.key,
            is_open=coach.user.is_active,
            comparison=compare_coach(tally, change_counts.expected(coach.pk), alone=len(change_counts.coaches) == 1),
            mix=[
                juniors_words(young.get(coach.pk, 0), tally),
                areas_words(change_counts.mixes[coach.pk], areas),
                usual_gap(gaps[coach.pk]),
            ],
        )
        for coach in teachers
        if (tally := change_counts.coaches.get(coach.pk))
    ]


def juniors_words(number: int, tally: Tally) -> str:
    """How many of the students are juniors."""
    return f"{number} of {tally.clusters.number} students {'is a junior' if number == 1 else 'are juniors'}"


def areas_words(mix: Mapping[int, int], areas: dict[int, str]) -> str:
    """How many of the changes were made in each area."""
    counts = Counter[str]()
    for fault, number in mix.items():
        counts[areas[fault]] += number
    return ", ".join(f"{area.label.lower()} {counts[area.value]}" for area in Area if counts[area.value])
