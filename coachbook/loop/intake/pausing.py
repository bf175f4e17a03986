"""A pause and the appointments of its days: they give way together, and come back together."""

from datetime import datetime, timedelta

from django.db import transaction

from coachbook.accounts.models import Academy, Pause, User
from coachbook.diary.following.forms import FollowForm
from coachbook.diary.following.rearranging import rearrange
from coachbook.diary.following.undo import Back, bring_back_what_can_be
from coachbook.diary.models import Rearrangement
from coachbook.diary.scheduling import day_bounds
from coachbook.loop.intake.forms import PauseForm, end_pause


@transaction.atomic
def save_pause(form: PauseForm, follow: FollowForm, by: User, at: datetime) -> Pause | None:
    """Save the pause and what becomes of the appointments, or None where it overlaps another."""
    if pause := form.save_pause():
        rearrange(follow.decisions, reason=Rearrangement.Reason.PAUSE, by=by, at=at, pause=pause)
    return pause


@transaction.atomic
def end_with_appointments(pause: Pause, academy: Academy, by: User, at: datetime) -> tuple[bool, Back]:
    """End a pause, or delete one that has not begun: whether anything changed, and which appointments came back."""
    on, mine = academy.today(at), Rearrangement.objects.filter(pause=pause)
    if pause.since <= on and pause.until is not None and pause.until <= on:
        return False, Back(0, 0)
    later_than = None if pause.since > on else day_bounds(academy, on)[0] + timedelta(days=1)
    back = bring_back_what_can_be(mine, by=by, at=at, later_than=later_than)
    return end_pause(pause=pause, on=on), back
