"""An account that is closed or reopened, with the appointments that are moved or cancelled and come back."""

from datetime import date, datetime

from django.db import transaction

from coachbook.accounts.models import Care, User
from coachbook.accounts.views.people import set_active
from coachbook.diary.following.forms import FollowForm
from coachbook.diary.following.rearranging import rearrange
from coachbook.diary.following.undo import Back, bring_back_what_can_be
from coachbook.diary.models import Rearrangement

CLOSE = Rearrangement.Reason.CLOSE


def students_in_care(user: User, on: date) -> int:
    """How many students a coach has as main coach."""
    return Care.objects.in_force(on).filter(coach__user=user, role=Care.Role.MAIN).values("student").distinct().count()


@transaction.atomic
def close_with_appointments(user: User, follow: FollowForm, by: User, at: datetime) -> None:
    """Close an account with what becomes of the appointments."""
    set_active(user, False)
    rearrange(follow.decisions, reason=CLOSE, by=by, at=at, person=user)


@transaction.atomic
def reopen_with_appointments(user: User, by: User, at: datetime) -> Back:
    """Reopen an account, and which appointments came back."""
    set_active(user, True)
    return bring_back_what_can_be(Rearrangement.objects.filter(person=user, reason=CLOSE), by=by, at=at)
