"""What the program is measured against: the same rows fetched by hand-written SQL, and WeasyPrint alone.

Each pair gives the seconds of ours and of the baseline, taken in turn in one run, and fails where the two do not
return the same rows.
"""

import gzip
import re
import statistics
import time
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.contrib.staticfiles import finders
from django.db import connection
from django.utils import timezone

from coachbook import pdf
from coachbook.accounts.models import Academy, Student
from coachbook.loop.log.lesson_form import LessonForm, load_lesson_form
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.content import content_from
from coachbook.loop.sheets.views import layouts, pdf_of
from lessons.history import fault_histories
from lessons.models import Fault

Rows = list[tuple[Any, ...]]


@dataclass(frozen=True)
class Pair:
    """One thing measured: its name, its size, and two ways to the same result."""

    name: str
    size: str
    ours: Callable[[], Any]
    baseline: Callable[[], Any]
    same: Callable[[Any, Any], bool] = lambda one, other: one == other

    def measure(self, rounds: int) -> tuple[float, float]:
        """The median seconds of both, in turn."""
        if not self.same(self.ours(), self.baseline()):
            raise AssertionError(f"{self.name}: the baseline returns something else.")
        seconds: list[list[float]] = [[], []]
        for _ in range(rounds):
            for taken, run in zip(seconds, (self.ours, self.baseline), strict=True):
                begin = time.perf_counter()
                run()
                taken.append(time.perf_counter() - begin)
        return statistics.median(seconds[0]), statistics.median(seconds[1])


def sql(words: str, *values: Any) -> Rows:
    """The rows of a statement."""
    with connection.cursor() as cursor:
        cursor.execute(words, values)
        return [tuple(row) for row in cursor.fetchall()]


# --- The log ------------------------------------------------------------------------------------


def log_rows(lesson_form: LessonForm) -> tuple[set[Any], ...]:
    """What a log page was gathered from, as plain rows."""
    faults = {
        (fault.pk, skill.pk, fault.name) for skill in lesson_form.catalogue.skills for fault in skill.faults.all()
    }
    seen = {
        (o.pk, o.verdict, row.fault_id, row.degree)
        for o in lesson_form.observed.values()
        for row in o.seen_faults.all()
    }
    return (
        faults,
        {(drill.pk, drill.name) for drill in lesson_form.catalogue.drills.values()},
        {(o.pk, o.look.kind, o.skill_id, o.verdict) for o in lesson_form.observed.values()},
        seen,
        {(focus.pk, focus.slot) for focus in lesson_form.stored_focuses},
        {(row.pk, row.drill.name) for row in lesson_form.given.values()},
    )


def log_by_hand(student: Student) -> tuple[set[Any], ...]:
    """The same rows, as somebody would fetch them who writes nothing but SQL."""
    last = sql(
        "select l.id from lessons_lesson l join lessons_session s on s.id = l.session_id"
        " where l.student_id = %s and l.status = 'complete' order by s.starts_at desc, l.id desc limit 1",
        student.pk,
    )[0][0]
    seen = sql(
        "select o.id, k.kind, o.skill_id, o.verdict, f.fault_id, f.degree from lessons_observation o"
        " join lessons_look k on k.id = o.look_id left join lessons_seenfault f on f.observation_id = o.id"
        " where k.lesson_id = %s and k.kind in ('arrival', 'departure')",
        last,
    )
    focuses = sql("select id, slot from lessons_focus where student_id = %s and closed_in_id is null", student.pk)
    given = sql(
        "select p.id, d.name, p.focus_id from drills_prescription p join drills_drill d on d.id = p.drill_id"
        " join lessons_focus f on f.id = p.focus_id where f.student_id = %s and f.closed_in_id is null"
        " order by p.begins, p.id",
        student.pk,
    )
    return (
        set(sql("select id, skill_id, name from lessons_fault where not archived")),
        set(sql("select id, name from drills_drill where not archived")),
        {row[:4] for row in seen},
        {(row[0], *row[3:]) for row in seen if row[4]},
        set(focuses),
        set({row[2]: row[:2] for row in given}.values()),
    )


def log_pair(student: Student) -> Pair:
    """Gathering a fresh log page."""
    academy, now = Academy.current(), timezone.now()
    coach = student.cares.select_related("coach")[0].coach

    def ours() -> tuple[set[Any], ...]:
        return log_rows(
            load_lesson_form(student, uuid.uuid4(), academy=academy, coach=coach, reader=coach.user, at=now)
        )

    size = f"{student.lessons.count()} lessons"
    return Pair("log page, gathered", size, ours, lambda: log_by_hand(student))


# --- The histories ------------------------------------------------------------------------------


def history_by_hand(student: Student) -> set[Any]:
    """How often each fault was seen at an arrival, by one statement."""
    return set(
        sql(
            "select f.fault_id, count(*) from lessons_seenfault f join lessons_observation o on o.id = f.observation_id"
            " join lessons_look k on k.id = o.look_id join lessons_lesson l on l.id = k.lesson_id"
            " where l.student_id = %s and l.status = 'complete' and k.kind = 'arrival' group by f.fault_id",
            student.pk,
        )
    )


def history_pair(student: Student) -> Pair:
    """Gathering every fault's history."""

    def ours() -> set[Any]:
        named = [row for row in fault_histories(student) if isinstance(row.fault, Fault)]
        counts = {(row.fault.pk, sum(point.seen for point in row.points)) for row in named}
        return {(fault, count) for fault, count in counts if count}

    size = f"{student.lessons.count()} lessons"
    return Pair("fault histories, gathered", size, ours, lambda: history_by_hand(student))


# --- The sheet ----------------------------------------------------------------------------------


def sheet_pair(student: Student) -> Pair:
    """Making the PDF of a sheet: ours, fitting it to one page, against WeasyPrint's own work on the same HTML."""
    sheet = Sheet.objects.valid().filter(lesson__student=student).select_related("lesson")[0]
    content, paper = content_from(sheet.content), Academy.current().paper
    html = next(layouts(content, paper, None))
    return Pair(
        "sheet as PDF",
        f"{len(html):,} characters",
        ours=lambda: pdf_of(content, paper),
        baseline=lambda: weasyprint_alone(html),
        same=lambda one, other: words_of_pdf(one) == words_of_pdf(other),
    )


def weasyprint_alone(html: str) -> bytes:
    """What WeasyPrint makes of it when nobody looks at the number of pages."""
    import weasyprint

    written: bytes = weasyprint.HTML(string=html).write_pdf(pdf_variant=pdf.VARIANT)
    return written


def words_of_pdf(written: bytes) -> int:
    """The size of a PDF in whole kilobytes: two of the same differ in their dates only."""
    return round(len(written) / 1024)


# --- Weight -------------------------------------------------------------------------------------


def weight(page: bytes) -> tuple[int, int]:
    """The bytes of a page's HTML, and of all it loads on a first visit without pictures, both as sent with gzip."""
    html = len(gzip.compress(page))
    names = re.findall(r'(?:href|src)="/static/([^"]+\.(?:css|js))"', page.decode())
    found = [finders.find(name) for name in names]
    return html, html + sum(len(gzip.compress(Path(str(path)).read_bytes())) for path in found)
