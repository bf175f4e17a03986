"""What mails leave out: what is of other families and coaches, of other days, read already, or no news."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.utils import timezone

from coachbook.accounts.models import Guardianship, Student, User
from coachbook.diary.models import Absence, Appointment
from coachbook.digests.consents import switch
from coachbook.digests.models import Digest, Kind
from coachbook.digests.sending import send_digests
from coachbook.family.messages.unread import mark_read
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.issue import issue_sheet, void_sheet
from drills.models import PracticeEntry
from lessons.models import Focus, Lesson
from tests.conftest import Cast
from tests.make import (
    academy_today,
    make_care,
    make_guardian,
    make_lesson,
    make_pause,
    make_prescription,
    make_student,
    this_time,
)
from tests.post_office import Box, serving, text_of

DAY = timedelta(days=1)
IDA, MAUD = "ida.fernkettle@example.org", "maud.plumsilk@example.org"


@pytest.fixture
def office(settings: Any) -> Iterator[Box]:
    settings.SITE_ADDRESS = "https://book.example"
    with serving(Box(), settings) as box:
        yield box


@pytest.fixture
def other_guardian(cast: Cast) -> User:
    return make_guardian("Wenna Larkspindle", cast.other_student)


def switch_on(*people: User, kinds: list[Kind] | None = None, days_ago: int = 1) -> None:
    """An address, and the kinds (or all), as if chosen some days ago."""
    for user in people:
        user.email = f"{user.username}@example.org"
        user.save(update_fields=["email"])
        switch(user, kinds or list(Kind), list(Kind), this_time(days_ago=days_ago))


def sent(office: Box, at: datetime | None = None) -> dict[str, list[str]]:
    """What is sent at a moment as if nothing had been sent that day: to each address, the lines of its mail."""
    Digest.objects.all().delete()
    office.envelopes.clear()
    send_digests(at or timezone.now())
    return {mail["To"]: [line[2:] for line in text_of(mail).splitlines() if line[:2] == "- "] for mail in office.mails}


# --- What happens to a student --------------------------------------------------------------------


def message(student: Student, by: User, text: str = "The heron flew") -> Any:
    return student.messages.create(written_by=by, text=text)


def finished(student: Student) -> Lesson:
    coach = student.cares.get(role="main").coach
    return make_lesson(student, coach, status="complete", completed_at=timezone.now())


def sheet(student: Student) -> Sheet:
    return issue_sheet(lesson=finished(student), at=timezone.now())


def practised(student: Student, **values: Any) -> PracticeEntry:
    lesson = finished(student)
    focus = student.focuses.first() or Focus.objects.create(
        student=student, opened_in=lesson, slot=1, area="putting", what="Soft hands"
    )
    given = make_prescription(lesson, focus, begins=academy_today())
    about = {"day": academy_today(), "amount": 5, "note": "The heron flew", "source": "student"}
    entry: PracticeEntry = given.entries.create(**about | values)
    return entry


def absent(student: Student, by: User, **values: Any) -> Absence:
    about = {"first_day": academy_today() + 9 * DAY, "last_day": academy_today() + 9 * DAY}
    return Absence.objects.create(student=student, reported_by=by, **about | values)


def planned(student: Student, *, by: User, days: int = 5, **values: Any) -> Appointment:
    about = {"coach": student.cares.get(role="main").coach, "made_by": by, "starts_at": this_time(days_ago=-days)}
    row = Appointment.objects.create(**about | values)
    row.students.add(student)
    return row


def everything(student: Student, manager: User) -> None:
    """Something of each kind but practice: somebody hears of each."""
    message(student, manager)
    sheet(student)
    practised(student)
    absent(student, manager)
    planned(student, by=manager)
    planned(student, by=manager, days=1, changed_at=this_time(days_ago=9))


OF_FAMILY = [
    "1 message that you have not read",
    "1 new practice sheet",
    "1 lesson planned, moved or cancelled",
    "1 lesson tomorrow",
]
OF_COACH = [
    "1 message that you have not read",
    "1 note that came with practice",
    "1 report that a student cannot come",
    "1 lesson planned, moved or cancelled",
    "1 lesson tomorrow",
]


# --- Whose it is ----------------------------------------------------------------------------------


def test_nobody_hears_of_what_happens_to_a_student_of_others(cast: Cast, office: Box, other_guardian: User) -> None:
    switch_on(cast.guardian, cast.coach.user, cast.other_coach.user, other_guardian)
    everything(cast.other_student, cast.manager)
    theirs = {"wenna.larkspindle@example.org": OF_FAMILY, "cai.meadowtwine@example.org": OF_COACH}
    assert sent(office) == theirs
    everything(cast.student, cast.manager)
    assert sent(office) == theirs | {MAUD: OF_FAMILY, IDA: OF_COACH}


def test_a_pause_of_another_student_or_of_last_month_stops_no_mail(cast: Cast, office: Box) -> None:
    switch_on(cast.guardian, kinds=[Kind.MESSAGES])
    make_pause(cast.other_student, academy_today())
    make_pause(cast.student, academy_today() - 40 * DAY, academy_today() - 30 * DAY)
    message(cast.student, cast.coach.user)
    assert list(sent(office)) == [MAUD]


def test_of_three_children_a_guardian_hears_of_the_one_who_neither_pauses_nor_left(cast: Cast, office: Box) -> None:
    switch_on(cast.guardian)
    pauses, left = make_student(coach=cast.coach), make_student(coach=cast.coach, status="left")
    make_pause(pauses, academy_today())
    for child in (pauses, left):
        Guardianship.objects.create(guardian=cast.guardian, student=child)
        message(child, cast.coach.user)
    assert sent(office) == {}
    message(cast.student, cast.coach.user)
    assert sent(office) == {MAUD: ["1 message that you have not read"]}


# --- What was read --------------------------------------------------------------------------------


def test_what_another_reader_read_or_what_was_read_of_another_student_is_unread(cast: Cast, office: Box) -> None:
    make_care(cast.coach, cast.other_student, role="cover")
    Student.objects.filter(pk=cast.other_student.pk).update(age_group="adult")  # whom a second coach may read
    switch_on(cast.coach.user, kinds=[Kind.MESSAGES, Kind.NOTES])
    for student in (cast.student, cast.other_student):
        row, entry = message(student, cast.manager), practised(student)
        mark_read(cast.manager, student, row.pk, entry.pk)
    mark_read(cast.coach.user, cast.other_student, row.pk, entry.pk)
    assert sent(office) == {IDA: OF_COACH[:2]}


def test_what_came_after_somebody_last_read_is_unread(cast: Cast, office: Box) -> None:
    switch_on(cast.coach.user, kinds=[Kind.MESSAGES, Kind.NOTES])
    row, entry = message(cast.student, cast.manager), practised(cast.student)
    mark_read(cast.coach.user, cast.student, row.pk, entry.pk)
    assert sent(office) == {}
    row, entry = message(cast.student, cast.manager), practised(cast.student)
    assert sent(office) == {IDA: OF_COACH[:2]}
    mark_read(cast.coach.user, cast.student, row.pk, entry.pk)
    assert sent(office) == {}


# --- When it came ---------------------------------------------------------------------------------


def set_all_to(at: datetime) -> None:
    """Everything came at this moment."""
    for model, name in [
        (Absence, "reported_at"),
        (Sheet, "issued_at"),
        (Appointment, "changed_at"),
        (PracticeEntry.history, "history_date"),
    ]:
        getattr(model, "objects", model).update(**{name: at})
    for student in Student.objects.all():
        student.messages.update(written_at=at)


def test_what_came_before_a_kind_was_switched_on_is_no_news(cast: Cast, office: Box) -> None:
    switch_on(cast.guardian, cast.coach.user)
    everything(cast.student, cast.manager)
    Appointment.objects.filter(starts_at__lt=this_time(days_ago=-2)).delete()
    set_all_to(this_time(days_ago=2))
    assert sent(office) == {}
    set_all_to(timezone.now() - timedelta(minutes=1))
    assert sent(office) == {MAUD: OF_FAMILY[:3], IDA: OF_COACH[:4]}


def test_what_comes_while_mails_are_sent_is_left_to_the_next_one(cast: Cast, office: Box) -> None:
    """Counted now, it would be counted once more tomorrow."""
    switch_on(cast.guardian, cast.coach.user)
    now = timezone.now()
    everything(cast.student, cast.manager)
    Appointment.objects.filter(starts_at__lt=this_time(days_ago=-2)).delete()
    set_all_to(now + timedelta(minutes=1))
    assert sent(office, now) == {}
    assert sent(office, now + timedelta(minutes=2)) == {MAUD: OF_FAMILY[:3], IDA: OF_COACH[:4]}


def test_an_old_note_is_no_news_because_it_was_changed_or_another_came(cast: Cast, office: Box) -> None:
    switch_on(cast.coach.user, kinds=[Kind.NOTES])
    old = practised(cast.student)
    PracticeEntry.history.update(history_date=this_time(days_ago=2))
    practised(cast.student, note="")
    old.amount = 6
    old.save()
    assert sent(office) == {}


# --- What is no news ------------------------------------------------------------------------------


def test_practice_that_was_taken_back_and_practice_without_a_word_are_no_notes(cast: Cast, office: Box) -> None:
    switch_on(cast.coach.user, kinds=[Kind.NOTES])
    entry = practised(cast.student)
    practised(cast.student, note="")
    assert sent(office) == {IDA: ["1 note that came with practice"]}
    entry.is_void = True
    entry.save()
    assert sent(office) == {}


def test_nobody_hears_of_what_they_did_themselves(cast: Cast, office: Box) -> None:
    """A coach who is also the guardian of a student: of the notes only those of others are news."""
    coach = cast.coach.user
    Guardianship.objects.create(guardian=coach, student=cast.student)
    switch_on(coach, kinds=[Kind.MESSAGES, Kind.NOTES, Kind.ABSENCES, Kind.CHANGES])
    message(cast.student, coach)
    practised(cast.student, source="guardian")
    absent(cast.student, coach)
    row = planned(cast.student, by=coach)
    planned(cast.student, by=cast.manager, changed_by=coach)
    assert sent(office) == {}
    row.changed_by = cast.manager
    row.save()
    practised(cast.student, source="student")
    assert sent(office) == {IDA: ["1 note that came with practice", "1 lesson planned, moved or cancelled"]}


def test_an_absence_that_is_over_or_withdrawn_is_no_news(cast: Cast, office: Box) -> None:
    switch_on(cast.coach.user, kinds=[Kind.ABSENCES])
    yesterday = academy_today() - DAY
    absent(cast.student, cast.guardian, first_day=yesterday, last_day=yesterday)
    absent(cast.student, cast.guardian, withdrawn_at=timezone.now(), withdrawn_by=cast.guardian)
    assert sent(office) == {}
    absent(cast.student, cast.guardian, first_day=yesterday, last_day=academy_today())
    assert sent(office) == {IDA: ["1 report that a student cannot come"]}


def test_a_sheet_that_was_withdrawn_or_whose_lesson_is_open_again_is_no_news(cast: Cast, office: Box) -> None:
    switch_on(cast.guardian, kinds=[Kind.SHEETS])
    first, second = sheet(cast.student), sheet(cast.student)
    assert sent(office) == {MAUD: ["2 new practice sheets"]}
    void_sheet(sheet=first, reason="a slip", at=timezone.now())
    assert sent(office) == {MAUD: ["1 new practice sheet"]}
    Lesson.objects.filter(pk=second.lesson_id).update(status="draft", completed_at=None)
    assert sent(office) == {}


def test_a_lesson_that_was_kept_or_has_begun_is_no_change(cast: Cast, office: Box) -> None:
    """A coach logs a lesson before its time: it is kept, and no news to the family; a cancelled one is."""
    switch_on(cast.guardian, kinds=[Kind.CHANGES])
    planned(cast.student, by=cast.manager, status="kept")
    planned(cast.student, by=cast.manager, days=0)
    assert sent(office, timezone.now() + timedelta(minutes=1)) == {}
    planned(cast.student, by=cast.manager, status="cancelled")
    planned(cast.student, by=cast.manager)
    assert sent(office) == {MAUD: ["2 lessons planned, moved or cancelled"]}


def test_tomorrow_holds_the_planned_lessons_of_tomorrow_alone(cast: Cast, office: Box) -> None:
    switch_on(cast.guardian, cast.coach.user, kinds=[Kind.TOMORROW])
    for days in (0, 2):
        planned(cast.student, by=cast.manager, days=days)
    planned(cast.student, by=cast.manager, days=1, status="cancelled")
    assert sent(office) == {}
    planned(cast.student, by=cast.manager, days=1)
    assert sent(office) == {MAUD: ["1 lesson tomorrow"], IDA: ["1 lesson tomorrow"]}


def test_practice_of_yesterday_or_of_another_student_does_not_silence_today(cast: Cast, office: Box) -> None:
    switch_on(cast.guardian, kinds=[Kind.PRACTICE])
    entry = practised(cast.student, day=academy_today() - DAY)
    entry.prescription.per_week = 7
    entry.prescription.save()
    practised(cast.other_student)
    assert sent(office) == {MAUD: ["1 practice day today"]}
    entry.day = academy_today()
    entry.save()
    assert sent(office) == {}


# --- Who gets one, and when -----------------------------------------------------------------------


def test_only_who_has_an_open_account_an_address_and_a_kind_switched_on_gets_one(cast: Cast, office: Box) -> None:
    people = [cast.coach.user, cast.cover.user, cast.assistant.user, cast.guardian]
    switch_on(*people)
    User.objects.filter(pk=cast.cover.user.pk).update(is_active=False)
    User.objects.filter(pk=cast.assistant.user.pk).update(email="")
    cast.coach.user.digest_consents.update(withdrawn_at=timezone.now())
    cast.coach.user.digest_consents.filter(kind=Kind.NOTES).update(withdrawn_at=None)
    message(cast.student, cast.manager)
    assert list(sent(office)) == [MAUD]
    assert [row.person for row in Digest.objects.all()] == [cast.guardian], "nothing is taken for sent to the others"


def test_a_run_says_how_many_it_sent(cast: Cast, office: Box, settings: Any) -> None:
    """Whoever had a mail today is not counted again, even where the mail server is away meanwhile."""
    switch_on(cast.guardian, kinds=[Kind.MESSAGES])
    said = []
    for port in (settings.EMAIL_PORT, 1):
        settings.EMAIL_PORT = port
        message(cast.student, cast.coach.user)
        out = StringIO()
        call_command("notify", stdout=out)
        said.append(out.getvalue().strip())
    assert said == ["Sent: 1.", "Sent: 0."]


@pytest.mark.parametrize("state", [Digest.State.SENDING, Digest.State.FAILED])
def test_only_a_mail_that_was_sent_makes_what_was_in_it_old(state: str, cast: Cast, office: Box) -> None:
    switch_on(cast.guardian, cast.coach.user, kinds=[Kind.MESSAGES])
    message(cast.student, cast.manager)
    for person, became in [(cast.guardian, state), (cast.coach.user, Digest.State.SENT)]:
        Digest.objects.create(person=person, day=academy_today(), at=timezone.now(), state=became)
    send_digests(this_time(days_ago=-1))
    assert [mail["To"] for mail in office.mails] == [MAUD]
