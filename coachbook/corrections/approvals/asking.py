"""Asking a second person: a request with what was stored at that time, and notices to everybody concerned."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.db import IntegrityError, transaction

from coachbook.accounts.models import Academy, Student, User
from coachbook.corrections.approvals.needs import AGE_FIELDS, guardians_on
from coachbook.corrections.approvals.people import Concerned, people_concerned
from coachbook.corrections.models import WAIT, ApprovalNotice, ApprovalRequest, Correction

Kind = ApprovalRequest.Kind


def age_request(student: Student, *, by: User, values: dict[str, Any]) -> ApprovalRequest:
    """A request, not saved, for another year of birth, or another answer to child or adult."""
    return ApprovalRequest(kind=Kind.AGE, student=student, asked_by=by, values=values)


def merge_request(
    duplicate: Student, *, into: Student, by: User, reason: str, chosen: Mapping[str, str] | None = None
) -> ApprovalRequest:
    """A request, not saved, to merge a duplicate; `chosen` is what becomes of its coming appointments."""
    values = {"reason": reason, "appointments": dict(chosen or {})}
    return ApprovalRequest(kind=Kind.MERGE, student=into, other_student=duplicate, asked_by=by, values=values)


def access_request(person: User, *, by: User, names: dict[str, str]) -> ApprovalRequest:
    """A request, not saved, for a new link, and perhaps another address or user name, of an account in use."""
    return ApprovalRequest(kind=Kind.ACCESS, person=person, asked_by=by, values=names)


def undo_request(correction: Correction, *, by: User) -> ApprovalRequest:
    """A request, not saved, to undo a correction that needed a second person."""
    about = {"student": correction.student, "other_student": correction.other_student, "person": correction.person}
    return ApprovalRequest(kind=Kind.UNDO, correction=correction, asked_by=by, **about)


@transaction.atomic
def ask(request: ApprovalRequest, academy: Academy, at: datetime) -> tuple[ApprovalRequest, bool]:
    """Save a request and its notices, and whether it is new: while one waits, it is the answer to the next.

    Where nobody can be asked, the change takes effect by itself after `WAIT`, unless somebody concerned refuses.
    """
    on = academy.today(at)
    concerned = people_concerned(request, academy, on)
    request.asked_at, request.facts = at, facts_of(request, on)
    request.takes_effect_at = None if concerned.deciding else at + WAIT
    try:
        with transaction.atomic():
            request.save()
    except IntegrityError:
        return waiting_like(request), False
    notify(request, concerned)
    return request, True


def notify(request: ApprovalRequest, concerned: Concerned) -> None:
    """Notify everybody concerned who was not yet."""
    notices = [ApprovalNotice(request=request, person=one) for one in concerned.notified]
    ApprovalNotice.objects.bulk_create(notices, ignore_conflicts=True)


def waiting_like(request: ApprovalRequest) -> ApprovalRequest:
    """The request that waits already for the same student, account or correction."""
    waiting = ApprovalRequest.objects.waiting().filter(kind=request.kind)
    if request.kind == Kind.UNDO:
        return waiting.get(correction=request.correction)
    return waiting.get(person=request.person, student=request.student)


def facts_of(request: ApprovalRequest, on: date) -> dict[str, Any]:
    """What is stored now of all that the change concerns: if it differs later, the change is not made."""
    if request.kind == Kind.UNDO:
        return {}  # undoing looks for itself whether anything was changed since
    if request.kind == Kind.ACCESS:
        assert request.person_id
        person = User.objects.get(pk=request.person_id)
        return {"email": person.email, "username": person.username, "is_active": person.is_active}
    students = Student.objects.filter(pk__in=[request.student_id, request.other_student_id]).order_by("pk")
    names = AGE_FIELDS if request.kind == Kind.AGE else (*AGE_FIELDS, "user_id")
    return {
        str(student.pk): {
            **{name: getattr(student, name) for name in names},
            "merged": student.merged_into_id,
            "guardians": sorted(guardians_on(student, on)) if request.kind == Kind.MERGE else [],
        }
        for student in students
    }
