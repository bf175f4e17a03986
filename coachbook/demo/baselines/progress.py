"""What the pages on progress are measured against: the same rows, fetched by somebody who writes nothing but SQL."""

from collections import Counter, defaultdict
from collections.abc import Callable
from datetime import date
from itertools import groupby
from operator import itemgetter

from django.db import connection
from django.test.utils import CaptureQueriesContext

from coachbook.accounts.models import Academy, Student
from coachbook.caseload.findings.clusters import Clusters, combine
from coachbook.caseload.findings.faults import FaultLine, Looks
from coachbook.caseload.findings.gather import AreaLines, Findings, gather_findings
from coachbook.caseload.gather import midnight
from coachbook.demo.baselines.loop import Pair, Rows, sql
from lessons.arrivals import is_arrival
from lessons.history import JudgedHistory, judged_histories, rules_of
from lessons.models import Fault, Skill

# --- A student ----------------------------------------------------------------------------------

LESSONS = """
    select l.id, l.attendance, s.kind, s.starts_at, s.coach_id, u.name, l.practice_reported,
        l.putting_side, l.chipping_side, l.pitching_side, l.bunker_side
    from lessons_lesson l join lessons_session s on s.id = l.session_id
        join accounts_coach c on c.id = s.coach_id join accounts_user u on u.id = c.user_id
    where l.student_id = %s and l.status = 'complete' order by s.starts_at, l.id
"""
LOOKS = """
    select k.lesson_id, k.kind, o.skill_id, o.verdict, f.fault_id, f.degree
    from lessons_lesson l join lessons_look k on k.lesson_id = l.id join lessons_observation o on o.look_id = k.id
        left join lessons_seenfault f on f.observation_id = o.id
    where l.student_id = %s and k.kind in ('arrival', 'departure')
    union all select k.lesson_id, k.kind, null, f.area, null, s.degree
    from lessons_focus f join lessons_seenfocus s on s.focus_id = f.id join lessons_look k on k.id = s.look_id
        join lessons_lesson l on l.id = k.lesson_id
    where f.student_id = %s and l.student_id = f.student_id and k.kind in ('arrival', 'departure')
"""
FOCUSES = """
    select f.*, opened.*, s.*, closed.*, t.* from lessons_focus f
        join lessons_lesson opened on opened.id = f.opened_in_id join lessons_session s on s.id = opened.session_id
        left join lessons_lesson closed on closed.id = f.closed_in_id
        left join lessons_session t on t.id = closed.session_id
    where f.student_id = %s and f.decision <> 'dropped' and opened.status = 'complete'
"""
FAULTS = """
    select f.id, f.skill_id, f.*, s.* from lessons_fault f join lessons_skill s on s.id = f.skill_id where f.id in ({})
"""
History = tuple[Rows, Rows, Rows, Rows]  # lessons, looks, focuses, faults


def judged_pair(student: Student) -> Pair:
    """Gathering and judging every history of a student."""
    rules = rules_of(Academy.current())
    lessons, looks, *_ = history_rows(student)
    return Pair(
        "histories, judged",
        f"{len(lessons)} x {len(looks):,} looks",
        ours=lambda: judged_histories(student, rules),
        baseline=lambda: history_rows(student),
        same=tells_the_same,
    )


def history_rows(student: Student) -> History:
    """All that the histories are made of, in four statements."""
    lessons, focuses = (sql(words, student.pk) for words in (LESSONS, FOCUSES))
    looks = sql(LOOKS, student.pk, student.pk)
    faults = sorted({row[4] for row in looks if row[4]})
    return lessons, looks, focuses, sql(FAULTS.format(", ".join(["%s"] * len(faults))), *faults)


def tells_the_same(judged: list[JudgedHistory], rows: History) -> bool:
    """Whether both come to the same totals of every fault that an arrival showed, and to as many focuses."""
    lessons, looks, focuses, faults = rows
    visits = {pk for pk, attendance, kind, *_ in lessons if is_arrival(attendance, kind)}
    seen, looked = Counter[int](), defaultdict[int, set[int]](set)
    for lesson, moment, skill, verdict, fault, _ in looks:
        if lesson in visits and moment == "arrival" and (fault or verdict == "good"):
            seen[fault] += 1
            looked[skill].add(lesson)
    theirs = {fault: (seen[fault], len(looked[skill]), len(visits)) for fault, skill, *_ in faults if seen[fault]}
    named = [row for row in judged if isinstance(row.history.fault, Fault)]
    ours = {row.history.fault.pk: tuple(row.judgement.total) for row in named if row.judgement.total.seen}
    return ours == theirs and len(focuses) == sum(len(row.history.spans) for row in judged)


# --- The academy --------------------------------------------------------------------------------

SUMS = """
    select k, count(*), sum(n), sum(h), sum(n * n), sum(n * h), sum(h * h), sum(p) from (
        select {0} as k, student_id, count(*) as n, sum(case when verdict = 'held' then 1 else 0 end) as h,
            sum(case when verdict = 'partly' then 1 else 0 end) as p
        from lessons_outcome where day >= %s group by {0}, student_id
    ) as each_student group by k
"""
MIXES = "select coach_id, fault_id, count(*) from lessons_outcome where day >= %s group by coach_id, fault_id"
SPELLS = """
    select coach_id, case when days > 182 then 26 else (days - 1) / 7 end as week, practice_reported, count(*),
        sum(case when verdict = 'held' then 1 else 0 end)
    from lessons_outcome where day >= %s group by coach_id, week, practice_reported
"""
COUNTS = """
    select fault_id, month, sum(looked), sum(slight), sum(clear), sum(not_graded)
    from lessons_monthcount where month >= %s and looked > 0 group by fault_id, month order by fault_id, month
"""
AREAS = """
    select sum(case when l.putting then 1 else 0 end), sum(case when l.chipping then 1 else 0 end),
        sum(case when l.pitching then 1 else 0 end), sum(case when l.bunker then 1 else 0 end)
    from lessons_lesson l join lessons_session s on s.id = l.session_id
    where l.status = 'complete' and l.attendance = 'kept' and s.kind not in ('clip', 'course') and s.starts_at >= %s
"""
WORKING = """
    select f.fault_id, count(distinct f.student_id) from lessons_focus f
        join lessons_lesson opened on opened.id = f.opened_in_id join accounts_student p on p.id = f.student_id
        left join lessons_lesson closed on closed.id = f.closed_in_id
    where opened.status = 'complete' and (closed.id is null or closed.status = 'draft') and p.status <> 'left'
    group by f.fault_id
"""
JUNIORS = """
    select coach_id, count(distinct student_id) from lessons_outcome where day >= %s and student_id in (
        select p.id from accounts_student p
        where p.birth_year >= %s or (p.birth_year is null and p.age_group <> 'adult')
    ) group by coach_id
"""
CATALOGUE = "select f.*, s.* from lessons_fault f join lessons_skill s on s.id = f.skill_id"
COACHES = "select c.*, u.* from accounts_coach c join accounts_user u on u.id = c.user_id order by u.name"


def academy_pair(on: date, since: date | None) -> Pair:
    """Gathering and judging the academy's progress since a day, or since the first one."""
    academy = Academy.current()
    return Pair(
        f"academy {'since the start' if since is None else 'in twelve months'}",
        f"{sum(row[-1] for row in academy_rows(academy, on, since)['mixes']):,} changes",
        ours=lambda: gather_findings(academy, on, since),
        baseline=lambda: academy_rows(academy, on, since),
        same=finds_the_same,
    )


def academy_rows(academy: Academy, on: date, since: date | None) -> dict[str, Rows]:
    """All that the academy's page is made of, grouped by the database."""
    first = since or date(1900, 1, 1)
    begins = connection.ops.adapt_datetimefield_value(midnight(academy, first))
    return {
        "coaches": sql(SUMS.format("coach_id"), first),
        "faults": sql(SUMS.format("fault_id"), first),
        "mixes": sql(MIXES, first),
        "change_groups": sql(SPELLS, first),
        "counts": sql(COUNTS, first),
        "areas": sql(AREAS, begins),
        "working": sql(WORKING),
        "juniors": sql(JUNIORS, first, on.year - academy.adult_at),
        "catalogue": sql(CATALOGUE),
        "people": sql(COACHES),
    }


def finds_the_same(findings: Findings, rows: dict[str, Rows]) -> bool:
    """Whether both come to the same changes, by fault and in all, the same looks, and the same numbers at work."""
    lines = [line for area in findings.areas for line in shown_lines(area)]
    months = [tuple(Looks(*sums) for _, _, *sums in of_one) for _, of_one in groupby(rows["counts"], itemgetter(0))]
    of_faults, of_coaches = ([Clusters(*sums) for _, *sums, _ in rows[name]] for name in ("faults", "coaches"))
    return (
        sorted(line.months for line in lines if line.months) == sorted(months)
        and sorted(line.changes.clusters for line in lines if line.changes.share.of) == sorted(of_faults)
        and findings.every.clusters == combine(of_coaches)
        and sum(line.working for line in lines) == sum(number for fault, number in rows["working"] if fault)
    )


def shown_lines(area: AreaLines) -> list[FaultLine]:
    """Each fault of an area once."""
    looked = [*area.common, *area.unseen]
    return looked + [line for line in area.changed if line not in looked]


# --- Plans --------------------------------------------------------------------------------------


READ_WHOLE = tuple(f"SCAN {model._meta.db_table}" for model in (Skill, Fault))


def scans(work: Callable[[], object]) -> list[str]:
    """The steps in which some work goes through a table or an index from end to end.

    SQLite tells by its plan, which follows the indexes alone, however few rows there are; of others nothing is told.
    The catalogue is read whole, since it does not grow with the academy.
    """
    if connection.vendor != "sqlite":
        return []
    with CaptureQueriesContext(connection) as asked:
        work()
    steps = [row[3] for query in asked for row in sql(f"explain query plan {query['sql'].replace('%', '%%')}")]
    return [step for step in steps if step.startswith("SCAN") and step not in READ_WHOLE]
