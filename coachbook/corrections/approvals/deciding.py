"""Deciding what waits: the change is made as it was asked, or not at all if the facts have changed since."""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from coachbook.accounts.forms import NewUserForm
from coachbook.accounts.models import Academy, User
from coachbook.accounts.notices import record_new_address
from coachbook.corrections.approvals.asking import Kind, facts_of, notify
from coachbook.corrections.approvals.people import people_concerned
from coachbook.corrections.merge import merge_students
from coachbook.corrections.merged_appointments import touched_by_merge
from coachbook.corrections.models import ApprovalNotice, ApprovalRequest, Correction
from coachbook.corrections.move import move_back
from coachbook.corrections.recorder import ChangeRecorder
from coachbook.corrections.undo import undo_correction
from coachbook.diary.following.rearranging import decide as decide_appointments

Outcome = ApprovalRequest.Outcome
STALE = "What is stored was changed since this was asked."


@transaction.atomic
def decide(
    request: ApprovalRequest, *, by: User, outcome: ApprovalRequest.Outcome, academy: Academy, at: datetime
) -> tuple[ApprovalRequest, bool]:
    """Decide a request, and whether it was this decision: of two at once the first one counts."""
    row = ApprovalRequest.objects.select_for_update().get(pk=request.pk)
    if not row.is_waiting:
        return row, False
    finish(row, outcome, by, academy, at)
    return row, True


def settle_due(academy: Academy, at: datetime) -> list[ApprovalRequest]:
    """Make the changes that nobody refused in time, each as a whole; this is all that lets them take effect."""
    return [row for due in ApprovalRequest.objects.due(at) if (row := settle(due, academy, at))]


@transaction.atomic
def settle(request: ApprovalRequest, academy: Academy, at: datetime) -> ApprovalRequest | None:
    """Let one due request take effect, unless somebody was faster, or whoever asked has no account any more.

    Where somebody can be asked by now, such as a new guardian, that person decides.
    """
    row = ApprovalRequest.objects.select_for_update().get(pk=request.pk)
    if not row.is_due(at):
        return None
    concerned = people_concerned(row, academy, academy.today(at))
    if row.asked_by.is_active and concerned.deciding:
        row.takes_effect_at = None
        row.save(update_fields=["takes_effect_at"])
        notify(row, concerned)
        return row
    finish(row, Outcome.ELAPSED if row.asked_by.is_active else Outcome.STALE, None, academy, at)
    return row


def finish(
    row: ApprovalRequest, outcome: ApprovalRequest.Outcome, by: User | None, academy: Academy, at: datetime
) -> None:
    """Make the change where that is the outcome, keep what was decided, and renew the notices."""
    if outcome in (Outcome.APPROVED, Outcome.ELAPSED):
        try:
            with transaction.atomic():
                row.result = make_change(row, academy, at)
        except (ValidationError, IntegrityError):
            outcome = Outcome.STALE
    row.outcome, row.decided_by, row.decided_at = outcome, by, at
    row.save(update_fields=["outcome", "decided_by", "decided_at", "result"])
    ApprovalNotice.objects.get_or_create(request=row, person=row.asked_by)
    row.notices.update(seen_at=None)
    row.notices.filter(person=by).update(seen_at=at)


def make_change(row: ApprovalRequest, academy: Academy, at: datetime) -> Correction | None:
    """Make the change in the name of whoever asked, so that it can be undone.

    Raises ValidationError where it is not possible any more.
    """
    on = academy.today(at)
    if facts_of(row, on) != row.facts:
        raise ValidationError(STALE)
    if row.kind == Kind.MERGE:
        assert row.student and row.other_student
        touched = touched_by_merge(row.other_student, row.student, academy, at)
        people: dict[str, Any] = {"duplicate": row.other_student, "into": row.student, "by": row.asked_by}
        people["decisions"] = decide_appointments(touched, row.values.get("appointments", {}))
        return merge_students(reason=row.values["reason"], at=at, on=on, **people)
    if row.kind == Kind.UNDO and row.correction:
        undo_by_kind(row.correction, by=row.asked_by, at=at, academy=academy)
        return None
    return change_age(row, at) if row.kind == Kind.AGE else change_access(row, at)


def change_age(row: ApprovalRequest, at: datetime) -> Correction:
    """Store another year of birth, or another answer to child or adult."""
    recorder = ChangeRecorder(row.asked_by)
    assert row.student
    recorder.change(row.student, **row.values)
    summary = "The year of birth was changed" if "birth_year" in fields_of(recorder) else "Child or adult was changed"
    about: dict[str, Any] = {"student": row.student, "by": row.asked_by, "at": at, "summary": summary}
    return Correction.objects.create(kind=Correction.Kind.AGE, changes=recorder.entries, **about)


def change_access(row: ApprovalRequest, at: datetime) -> Correction:
    """Store another address or user name, where one was asked for; whoever decided then makes the link."""
    recorder, names = ChangeRecorder(row.asked_by), row.values
    assert row.person_id
    person = User.objects.select_related("student").get(pk=row.person_id)
    before = person.email
    if names and not NewUserForm(names, instance=User.objects.get(pk=person.pk)).is_valid():
        raise ValidationError(STALE)
    if names:
        recorder.change(person, **names)
        record_new_address(person, before, at)
    about: dict[str, Any] = {"student": getattr(person, "student", None), "person": person, "by": row.asked_by}
    summary = "The name to sign in was changed" if recorder.entries else "A new link to sign in was made"
    return Correction.objects.create(
        kind=Correction.Kind.ACCESS, at=at, summary=summary, changes=recorder.entries, **about
    )


def fields_of(recorder: ChangeRecorder) -> set[str]:
    """The names of the fields that were changed."""
    return {entry["field"] for entry in recorder.entries}


@transaction.atomic
def undo_by_kind(correction: Correction, *, by: User, at: datetime, academy: Academy) -> None:
    """Undo a correction: a moved lesson also concerns later sheets, and a new way into an account its unused link."""
    if correction.kind == Correction.Kind.MOVED:
        move_back(correction=correction, by=by, at=at, academy=academy)
        return
    if correction.kind == Correction.Kind.ACCESS and correction.person:
        ended, _ = correction.person.invitations.filter(accepted_at=None, expires_at__gt=at).delete()
        if not ended and not correction.changes:
            raise ValidationError("The link was used, or has expired: there is nothing left to undo.")
    undo_correction(correction=correction, by=by, at=at)
