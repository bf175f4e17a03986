"""A student who leaves or comes back, with the appointments that are cancelled and come back."""

from datetime import datetime

from django.db import transaction
from django.http import QueryDict

from coachbook.accounts.models import Academy, Student, User
from coachbook.diary.following.acts import effect_of_leaving
from coachbook.diary.following.forms import FollowForm
from coachbook.diary.following.rearranging import rearrange
from coachbook.diary.following.touched import touched_by
from coachbook.diary.following.undo import bring_back_what_can_be
from coachbook.diary.models import Rearrangement
from coachbook.loop.students.forms import StudentForm

LEAVE = Rearrangement.Reason.LEAVE


def leaving_form(data: QueryDict, form: StudentForm, academy: Academy, at: datetime) -> FollowForm:
    """What becomes of the appointments of a student whose status was set to *has left*; of all others nothing."""
    student = form.instance
    leaves = not form.is_new and student.status == Student.Status.LEFT != form.before.status
    return FollowForm(data, touched_by(effect_of_leaving(student, academy, at), at) if leaves else [])


@transaction.atomic
def save_with_appointments(form: StudentForm, follow: FollowForm, by: User, at: datetime) -> str:
    """Save the details and what becomes of the appointments; which came back with who is back, in words."""
    student = form.save()
    rearrange(follow.decisions, reason=LEAVE, by=by, at=at, student=student)
    if form.is_new or not form.before.status == Student.Status.LEFT != student.status:
        return ""
    return bring_back_what_can_be(Rearrangement.objects.filter(student=student, reason=LEAVE), by=by, at=at).words
