"""What the record holds of those in care, for the list of who needs attention; its queries never grow."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime
from itertools import takewhile
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from coachbook.accounts.models import Academy, Care, Coach, Consent, Guardianship, Student
from coachbook.accounts.relationships import guardian_condition, junior_consent_condition
from coachbook.caseload.attention.rules import RULES, Facts, Kind, Reason, reasons
from coachbook.caseload.counts import StudentInCare, days_outside
from coachbook.caseload.gather import care_rows, main_cares_on, pause_days, review_days
from coachbook.caseload.models import AttentionRule, Snooze
from coachbook.diary.absences.reporting import without_absent
from coachbook.diary.models import Appointment
from coachbook.family.models import Message
from drills.models import PracticeEntry, Prescription
from lessons.models import Focus, Lesson, Outcome
from lessons.wording import render


@dataclass(frozen=True)
class Line:
    """One line of the list: a student, one reason, and until when it is put off, if it is."""

    facts: Facts
    reason: Reason
    snooze: Snooze | None = None


def numbers_of(academy: Academy) -> dict[Kind, int]:
    """The number of each rule that is on: as the academy chose it, or the usual one."""
    found = {kind: rule.usual for kind, rule in RULES.items()} | {Kind.NOT_SEEN: academy.not_seen_days}
    for row in AttentionRule.objects.all():
        if row.is_on:
            found[Kind(row.kind)] = row.number
        else:
            found.pop(Kind(row.kind), None)
    return found


def attention_lines(academy: Academy, at: datetime, coach: Coach | None) -> list[Line]:
    """Who needs attention among the students of a coach, or of all; what is put off comes last."""
    on, numbers = academy.today(at), numbers_of(academy)
    facts = gather_facts(academy, at, coach)
    snoozes = standing_snoozes({each.student for each in facts}, on)
    lines = [
        Line(each, reason, snoozes.get((each.student, reason.kind)))
        for each in facts
        for reason in reasons(each, numbers)
    ]
    order = list(Kind)
    return sorted(lines, key=lambda line: (line.snooze is not None, order.index(line.reason.kind), line.facts.name))


def standing_snoozes(students: Collection[int], on: date) -> dict[tuple[int, str], Snooze]:
    """What is put off on a day, by student and kind; the latest word counts."""
    rows = Snooze.objects.filter(student__in=students).select_related("by").order_by("pk")
    latest = {(row.student_id, row.kind): row for row in rows}
    return {key: row for key, row in latest.items() if row.until >= on}


def gather_facts(academy: Academy, at: datetime, coach: Coach | None) -> list[Facts]:
    """The facts of each student in main care, once for each coach."""
    on = academy.today(at)
    cares = main_cares_on(on)
    cares = cares.filter(coach=coach) if coach else cares.filter(coach__user__is_active=True)
    named = care_rows(cares, academy, on, coach_name=F("coach__user__name"))
    rows = {(row["coach"], row["student"]): row for row in named}
    students = {student for _, student in rows}
    reviews, pauses, lost = review_days(students, on), pause_days(students, on), lost_in_a_row(students)
    records = {row.pk: row for row in records_of(students, on, at)}
    found = []
    for (coach_pk, student), row in rows.items():
        last = academy.today(row["last_at"]) if row["last_at"] else None
        about = {"on": on, "key": row["key"], "name": row["name"], "in_care_since": row["in_care_since"]}
        in_care = StudentInCare(
            coach=coach_pk,
            student=student,
            last=last,
            reviews=tuple(reviews[student]),
            pauses=tuple(pauses[student]),
            **about,
        )
        found.append(
            Facts(
                student=student,
                coach=row["coach_name"],
                last=last,
                days_unseen=days_outside(last or row["in_care_since"], on, in_care.pauses),
                paused=in_care.paused,
                overdue=next(iter(in_care.overdue), None),
                lost=lost[student],
                **about,
                **facts_of_record(records[student], academy, on),
            )
        )
    return found


def facts_of_record(record: Any, academy: Academy, on: date) -> dict[str, Any]:
    """The facts that were read with a student's row."""
    is_junior = record.is_junior(on, academy.adult_at)
    of_age = date(record.birth_year + academy.adult_at + 1, 1, 1) if is_junior and record.birth_year else None
    return {
        "next_lesson": academy.today(record.next_at) if record.next_at else None,
        "last_report": record.last_report,
        "unanswered": academy.today(record.last_message_at) if record.is_unanswered else None,
        "draft": academy.today(record.draft_at) if record.draft_at else None,
        "draft_key": record.draft_key,
        "is_junior": is_junior,
        "has_guardian": record.has_guardian,
        "unshared": record.has_second_coach and not record.is_shared,
        "of_age": of_age,
    }


def records_of(students: Collection[int], on: date, at: datetime) -> QuerySet[Any]:
    """The rows of some students with what else is asked of each, in one query."""
    booked = Appointment.objects.planned().filter(students=OuterRef("pk"), starts_at__gte=at)
    coming = without_absent(booked, OuterRef(OuterRef("pk"))).order_by("starts_at")
    given = Prescription.objects.in_force(on).filter(pk=OuterRef("prescription"))
    reports = PracticeEntry.objects.filter(Exists(given), prescription__student=OuterRef("pk"), is_void=False)
    reports = reports.order_by("-day")
    messages = Message.objects.filter(student=OuterRef("pk")).order_by("-written_at", "-pk")
    drafts = Lesson.objects.filter(student=OuterRef("pk"), status=Lesson.Status.DRAFT).order_by("session__starts_at")
    second = Care.objects.filter(student=OuterRef("pk")).exclude(role=Care.Role.MAIN).in_force(on)
    writes = Guardianship.objects.filter(student=OuterRef("pk"), guardian=OuterRef("last_author"))
    rows = Student.objects.filter(pk__in=students).annotate(
        next_at=Subquery(coming.values("starts_at")[:1]),
        last_report=Subquery(reports.values("day")[:1]),
        last_message_at=Subquery(messages.values("written_at")[:1]),
        last_author=Subquery(messages.values("written_by")[:1]),
        draft_at=Subquery(drafts.values("session__starts_at")[:1]),
        draft_key=Subquery(drafts.values("key")[:1]),
        has_guardian=guardian_condition(on),
        has_second_coach=Exists(second),
    )
    is_shared = junior_consent_condition(Consent.Purpose.SHARING, on)
    return rows.annotate(is_unanswered=Q(last_author=F("user")) | Exists(writes), is_shared=is_shared)


def lost_in_a_row(students: Collection[int]) -> dict[int, dict[str, int]]:
    """For the fault of each open focus, how many of its latest changes in a row were lost, by student."""
    fault = Coalesce("fault__merged_into", "fault")
    open_ones = Focus.objects.open().filter(student=OuterRef("student")).annotate(counted=fault)
    rows = Outcome.objects.filter(Exists(open_ones.filter(counted=OuterRef("fault"))), student__in=students)
    verdicts: dict[tuple[int, str], list[str]] = defaultdict(list)
    for student, name, verdict in rows.order_by("-day", "-pk").values_list("student", "fault__name", "verdict"):
        verdicts[student, render(name)].append(verdict)
    found: dict[int, dict[str, int]] = defaultdict(dict)
    for (student, name), latest in verdicts.items():
        found[student][name] = len(list(takewhile(lambda verdict: verdict == Outcome.Verdict.LOST, latest)))
    return found
