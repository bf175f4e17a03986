"""Issue a sheet, void it, and share it by a link."""

from datetime import date, datetime, timedelta

from django.core import signing
from django.db import transaction

from coachbook.accounts.models import Academy
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.content import as_stored, content_from
from coachbook.loop.sheets.gather import content_of
from lessons.models import Lesson

SHARED_BEYOND_DOSE, SHARED_AT_MOST = 30, 120
SALT = "coachbook.loop.sheet"  # never changed: it would end every link that was handed out
REPLACED = "replaced by a newer issue"


@transaction.atomic
def issue_sheet(*, lesson: Lesson, at: datetime) -> Sheet:
    """Issue the sheet of a complete lesson; the one before it becomes void."""
    if lesson.status != Lesson.Status.COMPLETE:
        raise ValueError("A lesson that is not complete has no sheet.")
    Lesson.objects.select_for_update().get(pk=lesson.pk)  # two issues at once: the second waits, and replaces
    for standing in lesson.sheets.valid():
        void_sheet(sheet=standing, reason=REPLACED, at=at)
    content = as_stored(content_of(lesson, Academy.current()))
    return Sheet.objects.create(lesson=lesson, content=content, issued_at=at)


def void_sheet(*, sheet: Sheet, reason: str, at: datetime) -> None:
    """Void a sheet and its shared link; one that is void already keeps its first reason."""
    if sheet.voided_at is None:
        sheet.voided_at, sheet.void_reason = at, reason
        sheet.save(update_fields=["voided_at", "void_reason"])


def shared_until(sheet: Sheet) -> date:
    """The academy's last day on which a shared link opens the sheet: 30 days after the dose, 120 days at most."""
    days = max([drill.days for drill in content_from(sheet.content).drills], default=0)
    return Academy.current().today(sheet.issued_at) + timedelta(days=min(days + SHARED_BEYOND_DOSE, SHARED_AT_MOST))


def share_token(sheet: Sheet) -> str:
    """A signed token that opens this one sheet, to read only, until its last day."""
    return signing.Signer(salt=SALT).sign(f"{sheet.key.hex}.{shared_until(sheet):%Y%m%d}")


def find_shared(token: str, at: datetime) -> tuple[Sheet | None, bool]:
    """The sheet that a token was made for, and whether it still opens it; no sheet for a forged token."""
    try:
        key, until = signing.Signer(salt=SALT).unsign(token).split(".")
    except signing.BadSignature:
        return None, False
    done = Sheet.objects.filter(lesson__status=Lesson.Status.COMPLETE)
    sheet = done.filter(key=key).first()
    return sheet, sheet is not None and sheet.voided_at is None and f"{Academy.current().today(at):%Y%m%d}" <= until
