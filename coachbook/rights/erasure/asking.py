"""Asking that a student be erased, agreeing, calling it off; and what is due."""

from datetime import date, datetime

from django.db import IntegrityError, transaction

from coachbook.accounts.gate import FAMILY, relationships_of
from coachbook.accounts.models import Academy, Student, User
from coachbook.corrections.approvals.people import guardians_of, second_persons
from coachbook.rights.erasure.carry_out import erase_student
from coachbook.rights.models import GRACE, ErasureRequest


def planned_for(student: Student) -> ErasureRequest | None:
    """The erasure that is planned for a student."""
    return student.erasure_requests.planned().select_related("asked_by", "agreed_by").first()


def ask_for_erasure(student: Student, *, by: User, academy: Academy, at: datetime) -> ErasureRequest | None:
    """Plan the erasure; None where one is planned already.

    What a manager asks waits for a second person, where there is one, also of a manager who made themselves a
    guardian; what the family asks does not.
    """
    on = academy.today(at)
    is_self_made = student.guardianships.filter(guardian=by, made_by=by).exists()
    is_family = bool(relationships_of(student) & FAMILY) and not is_self_made
    needs_second = not is_family and bool(second_people(student, by, academy, on))
    try:
        with transaction.atomic():
            about = {"student": student, "asked_by": by, "asked_at": at}
            row = ErasureRequest.objects.create(due_on=on + GRACE, needs_second=needs_second, **about)
            show_on_record(student, row.due_on)
    except IntegrityError:
        return None
    return row


def show_on_record(student: Student, day: date | None) -> None:
    """Keep on the student's own row from when everything is to be erased."""
    student.erase_from = day
    student.save(update_fields=["erase_from"])


def second_people(student: Student, first: User, academy: Academy, on: date) -> list[User]:
    """Who may agree to what a manager asked: the family that decides, or another manager."""
    others = User.objects.filter(is_active=True).exclude(pk=first.pk).order_by("name", "pk")
    if student.is_junior(on, academy.adult_at):
        family = list(guardians_of(others, student, on))
    else:
        family = list(others.filter(pk=student.user_id or 0))
    return second_persons([*family, *others.filter(is_manager=True)], first)


def agree(request: ErasureRequest, *, by: User, at: datetime) -> None:
    """A second person agrees; a second time changes nothing."""
    if request.waits_for_second:
        request.agreed_by, request.agreed_at = by, at
        request.save(update_fields=["agreed_by", "agreed_at"])


@transaction.atomic
def call_off(request: ErasureRequest, *, by: User, at: datetime) -> None:
    """Nothing is erased; who called it off stays."""
    request.called_off_by, request.called_off_at = by, at
    request.save(update_fields=["called_off_by", "called_off_at"])
    show_on_record(request.student, None)


def erase_due(academy: Academy, at: datetime) -> int:
    """Erase everybody whose erasure is due; how many those were."""
    due = list(ErasureRequest.objects.due(academy.today(at)).order_by("pk").values_list("pk", flat=True))
    number = 0
    for pk in due:
        with transaction.atomic():  # not called off in this moment
            request = ErasureRequest.objects.select_for_update().filter(pk=pk, called_off_at=None).first()
            if request:
                erase_student(request.student, at)
                number += 1
    return number
