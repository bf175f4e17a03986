"""E-mail notices by a real mail server: what is counted, for whom, when, and never twice."""

import threading
from collections.abc import Callable, Iterator
from datetime import timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, SignInChange, Student, User
from coachbook.accounts.notices import record_change
from coachbook.diary.models import Absence, Appointment
from coachbook.digests import sending
from coachbook.digests.consents import switch
from coachbook.digests.gather import people_due
from coachbook.digests.models import Digest, Kind
from coachbook.family.messages.unread import mark_read
from coachbook.loop.sheets.issue import issue_sheet
from lessons.models import Focus
from tests.conftest import Cast, make_cast
from tests.library import load_library
from tests.make import academy_today, make_lesson, make_manager, make_pause, make_prescription, this_time
from tests.post_office import Box, free_port, serving, text_of

Clients = Callable[[str], Client]
CANARIES = ("Alder", "Quimble", "Ida", "Fernkettle", "heron", "Yips", "tremor", "Lower Green", "measles")


@pytest.fixture
def office(settings: Any) -> Iterator[Box]:
    settings.SITE_ADDRESS = "https://book.example"
    with serving(Box(), settings) as box:
        yield box


def switch_on(user: User, *kinds: Kind, days_ago: int = 1) -> None:
    """An address, and the kinds, as if chosen some days ago."""
    user.email = f"{user.username}@example.org"
    user.save(update_fields=["email"])
    switch(user, kinds or list(Kind), list(Kind), this_time(days_ago=days_ago))


def write(cast: Cast, by: User, text: str = "The heron flew") -> Any:
    return cast.student.messages.create(written_by=by, text=text)


def notify() -> None:
    call_command("notify", stdout=StringIO())


# --- What is counted, and for whom ----------------------------------------------------------------


def test_nothing_is_sent_unless_it_was_switched_on(cast: Cast, office: Box) -> None:
    User.objects.filter(pk=cast.guardian.pk).update(email="maud@example.org")
    write(cast, cast.coach.user)
    notify()
    switch_on(cast.guardian, Kind.SHEETS)
    notify()
    assert office.envelopes == [] and not Digest.objects.exists()


def plan(cast: Cast, *, days: int = 1, **values: Any) -> Appointment:
    about = {
        "coach": cast.coach,
        "made_by": cast.manager,
        "starts_at": this_time(days_ago=-days),
        "place": "Lower Green",
    }
    row = Appointment.objects.create(**{**about, **values})
    row.students.add(cast.student)
    return row


def give_sheet(cast: Cast) -> None:
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())
    issue_sheet(lesson=lesson, at=timezone.now())


def report_absence(cast: Cast, **values: Any) -> Absence:
    about = {"first_day": academy_today(), "last_day": academy_today(), "words": "measles", "reason": "ill"}
    return Absence.objects.create(student=cast.student, reported_by=cast.guardian, **{**about, **values})


def send_note(cast: Cast) -> None:
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())
    focus = Focus.objects.create(student=cast.student, opened_in=lesson, slot=1, area="putting", what="Yips and tremor")
    given = make_prescription(lesson, focus, begins=academy_today())
    given.entries.create(day=academy_today(), amount=5, note="The heron flew", source="guardian")


def everything(cast: Cast) -> None:
    for each in (give_sheet, report_absence, send_note):
        each(cast)
    for by in (cast.coach.user, cast.guardian, cast.coach.user):
        write(cast, by)
    plan(cast, days=3)


def test_what_a_guardian_and_a_coach_are_sent(cast: Cast, office: Box) -> None:
    """Each hears of what others did, as often as they did it, and a mail goes to its reader alone."""
    switch_on(cast.guardian)
    switch_on(cast.coach.user)
    everything(cast)
    plan(cast, days=1, changed_at=this_time(days_ago=9))
    Absence.objects.all().update(first_day=academy_today(), last_day=academy_today())
    notify()
    mails = {mail["To"]: text_of(mail) for mail in office.mails}
    assert set(mails) == {"maud.plumsilk@example.org", "ida.fernkettle@example.org"}
    assert [envelope.rcpt_tos for envelope in office.envelopes] == [[mail["To"]] for mail in office.mails]
    of_guardian = [line for line in mails["maud.plumsilk@example.org"].splitlines() if line.startswith("- ")]
    assert of_guardian == [
        "- 2 messages that you have not read",
        "- 1 new practice sheet",
        "- 1 lesson planned, moved or cancelled",
        "- 1 lesson tomorrow",
    ]
    of_coach = [line for line in mails["ida.fernkettle@example.org"].splitlines() if line.startswith("- ")]
    assert of_coach == [
        "- 1 message that you have not read",
        "- 1 note that came with practice",
        "- 1 report that a student cannot come",
        "- 1 lesson planned, moved or cancelled",
        "- 1 lesson tomorrow",
    ]


def test_no_word_of_a_juniors_record_is_in_a_mail(cast: Cast, office: Box) -> None:
    for user in (cast.guardian, cast.assistant.user, cast.manager):
        switch_on(user)
    everything(cast)
    plan(cast)
    notify()
    assert len(office.mails) == 3
    for mail, envelope in zip(office.mails, office.envelopes, strict=True):
        raw = bytes(envelope.content or b"").decode()  # type: ignore[arg-type]
        assert not [word for word in CANARIES if word.casefold() in (raw + text_of(mail)).casefold()]
        assert str(cast.student.key) not in raw and cast.student.key.hex not in raw


def test_an_appointment_to_which_the_student_cannot_come_is_none_of_tomorrow(cast: Cast, office: Box) -> None:
    switch_on(cast.coach.user, Kind.TOMORROW)
    plan(cast)
    tomorrow = academy_today() + timedelta(days=1)
    report_absence(cast, first_day=tomorrow, last_day=tomorrow)
    notify()
    assert office.envelopes == []


@pytest.mark.parametrize("reader", ["guardian", "student"])
def test_a_practice_day_is_said_to_who_decides_until_practice_is_reported(
    reader: str, cast: Cast, office: Box, settings: Any
) -> None:
    """A dose of every day asks for a session today; of a junior the guardian hears, of an adult nobody else."""
    switch_on(cast.guardian, Kind.PRACTICE)
    switch_on(cast.student.user, Kind.PRACTICE)
    if reader == "student":
        Student.objects.filter(pk=cast.student.pk).update(age_group="adult")
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())
    focus = Focus.objects.create(student=cast.student, opened_in=lesson, slot=1, area="putting", what="Yips and tremor")
    given = make_prescription(lesson, focus, begins=academy_today(), per_week=7)
    entry = given.entries.create(day=academy_today(), amount=5)
    notify()
    assert office.envelopes == []
    entry.is_void = True
    entry.save()
    notify()
    notify()
    [mail] = office.mails
    assert mail["To"] == cast.user(reader).email and "- 1 practice day today" in text_of(mail)
    assert mail["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert [word for word in CANARIES if word in text_of(mail).replace(cast.user(reader).name, "")] == []


def test_what_was_read_withdrawn_or_over_is_no_news(cast: Cast, office: Box) -> None:
    switch_on(cast.guardian)
    switch_on(cast.coach.user, Kind.ABSENCES, Kind.MESSAGES)
    row = write(cast, cast.coach.user)
    mark_read(cast.guardian, cast.student, row.pk, 0)
    report_absence(cast, withdrawn_at=timezone.now(), withdrawn_by=cast.guardian)
    plan(cast, starts_at=timezone.now() - timedelta(minutes=1))
    cast.student.messages.create(written_by=cast.guardian, text="Long ago", written_at=this_time(days_ago=2))
    notify()
    assert office.envelopes == []


def leave(cast: Cast) -> None:
    Student.objects.filter(pk=cast.student.pk).update(status=Student.Status.LEFT)


def pause(cast: Cast) -> None:
    make_pause(cast.student, academy_today())


def close_account(cast: Cast) -> None:
    User.objects.filter(pk=cast.guardian.pk).update(is_active=False)


def end_guardianship(cast: Cast) -> None:
    cast.student.guardianships.filter(guardian=cast.guardian).update(ended_on=academy_today())


def come_of_age(cast: Cast) -> None:
    Student.objects.filter(pk=cast.student.pk).update(age_group="adult")


@pytest.mark.parametrize("ends", [leave, pause, close_account, end_guardianship, come_of_age])
def test_who_has_left_pauses_or_no_longer_decides_is_sent_nothing_and_nothing_is_lost(
    ends: Callable[[Cast], None], cast: Cast, office: Box
) -> None:
    switch_on(cast.guardian)
    ends(cast)
    write(cast, cast.coach.user)
    plan(cast)
    notify()
    assert office.envelopes == [] and cast.student.messages.count() == 1


def test_a_juniors_own_account_gets_none_and_an_adults_does(cast: Cast, office: Box) -> None:
    user = cast.user("student")
    switch_on(user)
    write(cast, cast.coach.user)
    notify()
    assert office.envelopes == []
    come_of_age(cast)
    notify()
    assert [mail["To"] for mail in office.mails] == [user.email]


def test_five_hundred_unread_messages_are_one_short_mail(cast: Cast, office: Box) -> None:
    switch_on(cast.guardian)
    message = cast.student.messages.model
    rows = [message(student=cast.student, written_by=cast.coach.user, text="Well done") for _ in range(500)]
    message.objects.bulk_create(rows)
    notify()
    (mail,) = office.mails
    assert "- 500 messages that you have not read" in text_of(mail) and len(text_of(mail)) < 1200


# --- RFC 8058, read back as a mail program would --------------------------------------------------


def off_link(mail: Any) -> str:
    """The path of the address in List-Unsubscribe."""
    header = mail["List-Unsubscribe"].strip()  # a long one stands on a line of its own (RFC 5322, 2.2.3)
    assert header.startswith("<https://book.example/") and header.endswith(">") and header.count("<") == 1
    return str(header)[1:-1].removeprefix("https://book.example")


def test_the_headers_of_rfc_8058_switch_everything_off_with_one_post(cast: Cast, office: Box) -> None:
    """Sections 3.1 and 3.2: an HTTPS address, this very pair of key and value, no cookie, and no redirect."""
    switch_on(cast.guardian)
    write(cast, cast.coach.user)
    notify()
    (mail,) = office.mails
    assert mail["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert len(mail.get_all("List-Unsubscribe")) == len(mail.get_all("List-Unsubscribe-Post")) == 1
    program = Client(enforce_csrf_checks=True)
    body = {"List-Unsubscribe": "One-Click"}
    for _ in range(2):  # again is harmless
        answer = program.post(off_link(mail), body)
        assert answer.status_code == 200 and not answer.cookies and "Stopped" in answer.content.decode()
    urlencoded = program.post(off_link(mail), "List-Unsubscribe=One-Click", "application/x-www-form-urlencoded")
    assert urlencoded.status_code == 200
    assert not cast.guardian.digest_consents.filter(withdrawn_at=None).exists()
    write(cast, cast.coach.user)
    Digest.objects.all().delete()
    notify()
    assert len(office.envelopes) == 1


def test_a_link_beside_a_line_stops_that_kind_and_its_page_writes_nothing(cast: Cast, office: Box) -> None:
    switch_on(cast.guardian)
    write(cast, cast.coach.user)
    notify()
    lines = text_of(office.mails[0]).splitlines()
    after = lines[lines.index("- 1 message that you have not read") + 1]
    (path,) = [word.removeprefix("https://book.example") for word in after.split() if "://" in word]
    page = Client().get(path).content.decode()
    assert "Stop it" in page and "messages that you have not read" in page
    standing = cast.guardian.digest_consents.filter(withdrawn_at=None)
    assert standing.count() == len(Kind)
    assert Client().post(path).status_code == 200
    assert set(Kind) - {Kind(row.kind) for row in standing.all()} == {Kind.MESSAGES}


# --- Once a day, and never twice ------------------------------------------------------------------


def test_one_mail_a_day_and_on_the_next_day_only_what_is_new(cast: Cast, office: Box) -> None:
    switch_on(cast.guardian, Kind.MESSAGES)
    write(cast, cast.coach.user)
    notify()
    write(cast, cast.coach.user)
    notify()
    assert len(office.mails) == 1
    for days, sent in ((1, 2), (2, 2)):
        sending.send_digests(this_time(days_ago=-days))
        assert len(office.mails) == sent
    assert "- 1 message that" in text_of(office.mails[1])


@pytest.mark.both_databases
@pytest.mark.django_db(transaction=True)
def test_two_runs_at_the_same_time_send_one(office: Box, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both have seen that it is due before either sends."""
    load_library()
    cast = make_cast()
    switch_on(cast.guardian)
    write(cast, cast.coach.user)
    barrier, problems = threading.Barrier(2, timeout=10), []

    def due_for_both(academy: Academy, at: Any) -> Any:
        found = people_due(academy, at)
        barrier.wait()
        return found

    def run() -> None:
        try:
            sending.send_digests(timezone.now())
        except Exception as error:
            problems.append(error)
        finally:
            connection.close()

    monkeypatch.setattr(sending, "people_due", due_for_both)
    threads = [threading.Thread(target=run) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert problems == [] and len(office.envelopes) == 1
    assert [row.state for row in Digest.objects.all()] == [Digest.State.SENT]


def test_a_crash_between_sending_and_remembering_sends_no_second_mail(
    cast: Cast, office: Box, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was in it is counted once more on the next day, since nobody knows that it arrived."""
    switch_on(cast.guardian, Kind.MESSAGES)
    write(cast, cast.coach.user)

    class PowerCut(BaseException):
        pass

    def cut(digest: Digest, mail: Any, connection: Any) -> str:
        connection.send_messages([mail])
        raise PowerCut

    monkeypatch.setattr(sending, "deliver", cut)
    with pytest.raises(PowerCut):
        notify()
    monkeypatch.undo()
    notify()
    assert len(office.envelopes) == 1
    sending.send_digests(this_time(days_ago=-1))
    assert "- 1 message that" in text_of(office.mails[1]) and len(office.mails) == 2


def test_a_line_that_breaks_once_the_mail_was_taken_sends_no_second_one(cast: Cast, office: Box) -> None:
    for user in (cast.guardian, cast.assistant.user):
        switch_on(user)
    office.breaks_off = True
    write(cast, cast.coach.user)
    notify()
    office.breaks_off = False
    notify()
    assert sorted(mail["To"] for mail in office.mails) == ["maud.plumsilk@example.org", "noor.appleknot@example.org"]


def test_what_concerns_a_sign_in_is_mailed_beside_the_digest_and_without_being_switched_on(
    cast: Cast, office: Box, django_capture_on_commit_callbacks: Any
) -> None:
    switch_on(cast.guardian, Kind.MESSAGES)
    write(cast, cast.coach.user)
    notify()
    for person in (cast.guardian, cast.assistant.user):
        person.email = f"{person.username}@example.org"
        with django_capture_on_commit_callbacks(execute=True):
            record_change(person, SignInChange.What.PASSWORD, timezone.now())
    subjects = [(mail["To"], mail["Subject"]) for mail in office.mails[1:]]
    about = "A change of your sign-in"
    assert subjects == [("maud.plumsilk@example.org", about), ("noor.appleknot@example.org", about)]
    assert all(mail["List-Unsubscribe"] is None for mail in office.mails[1:])


# --- A mail server that is down, or says no -------------------------------------------------------


def test_a_mail_server_that_is_down_keeps_it_tells_the_manager_and_sends_it_once(
    cast: Cast, as_: Clients, settings: Any, django_assert_max_num_queries: Any
) -> None:
    settings.SITE_ADDRESS = "https://book.example"
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", free_port()
    switch_on(cast.guardian)
    switch_on(cast.coach.user, Kind.ABSENCES)
    write(cast, cast.coach.user)
    report_absence(cast)
    words, manager = "The notices for 2 people have been kept", as_("manager")
    first = None
    for _ in range(2):
        with pytest.raises(CommandError, match="Not sent: 2"):
            notify()
        for page in ("caseload", "attention"):
            first = first or Digest.objects.get(person=cast.guardian)
            with django_assert_max_num_queries(12):
                assert words in manager.get(reverse(page)).content.decode()
    assert first and Digest.objects.get(person=cast.guardian).at == first.at  # managers read since when
    assert words not in as_("coach").get(reverse("attention")).content.decode()
    with serving(Box(), settings) as box:
        notify()
        notify()
    assert len(box.mails) == 2
    assert "have been kept" not in as_("manager").get(reverse("caseload")).content.decode()


def test_what_was_read_while_the_server_was_down_is_neither_sent_nor_told(
    cast: Cast, as_: Clients, settings: Any
) -> None:
    settings.SITE_ADDRESS = "https://book.example"
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", free_port()
    switch_on(cast.guardian, Kind.MESSAGES)
    row = write(cast, cast.coach.user)
    with pytest.raises(CommandError):
        notify()
    mark_read(cast.guardian, cast.student, row.pk, 0)
    with serving(Box(), settings) as box:
        notify()
    assert box.mails == [] and not Digest.objects.exists()


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        ("550 nobody here", "refuses the address of Maud Plumsilk"),
        ("450 later", "The notices for 1 person have been kept"),
    ],
)
def test_one_address_that_is_refused_stops_no_other(
    answer: str, words: str, cast: Cast, as_: Clients, office: Box
) -> None:
    for user in (cast.guardian, cast.assistant.user):
        switch_on(user)
    office.refused["maud.plumsilk@example.org"] = answer
    write(cast, cast.coach.user)
    with pytest.raises(CommandError, match="Not sent: 1"):
        notify()
    assert words in as_("manager").get(reverse("caseload")).content.decode()
    office.refused.clear()
    notify()
    assert sorted(mail["To"] for mail in office.mails) == ["maud.plumsilk@example.org", "noor.appleknot@example.org"]
    assert words not in as_("manager").get(reverse("caseload")).content.decode()


@pytest.mark.parametrize("address", ["", "http://book.example", "book.example"])
def test_without_an_https_address_of_the_site_nothing_is_sent(
    address: str, cast: Cast, office: Box, settings: Any
) -> None:
    settings.SITE_ADDRESS = address
    switch_on(cast.guardian)
    write(cast, cast.coach.user)
    with pytest.raises(CommandError, match="SITE_ADDRESS"):
        notify()
    assert office.envelopes == [] and not Digest.objects.exists()


def test_without_a_mail_server_nothing_is_sent_nor_taken_for_sent(
    cast: Cast, settings: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    settings.EMAIL_BACKEND, settings.EMAIL_HOST = "django.core.mail.backends.filebased.EmailBackend", ""
    switch_on(cast.guardian)
    write(cast, cast.coach.user)
    call_command("notify")
    assert "nothing is sent" in capsys.readouterr().out and not Digest.objects.exists()


def test_a_manager_who_coaches_hears_of_each_message_once(cast: Cast, office: Box) -> None:
    make_manager(cast.coach.user)
    cast.coach.user.refresh_from_db()
    switch_on(cast.coach.user, Kind.MESSAGES)
    write(cast, cast.guardian)
    notify()
    assert "- 1 message that you have not read" in text_of(office.mails[0])
