"""What waits for whom: counted from the record, for each person whatever came since their last digest."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Exists, OuterRef, Q

from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Academy, Pause, Student, StudentQuerySet, User
from coachbook.diary.absences.reporting import free_among
from coachbook.diary.calendar.practice_days import expected_days
from coachbook.diary.models import Absence, Appointment, AppointmentQuerySet
from coachbook.diary.scheduling import day_bounds
from coachbook.digests.consents import kinds_for, own_students, students_for, switched_on
from coachbook.digests.models import Digest, Kind
from coachbook.family.messages.unread import by_family
from coachbook.family.models import Message, ThreadReading
from coachbook.loop.models import Sheet
from drills.models import PracticeEntry


@dataclass(frozen=True)
class Reader:
    """For whom something is counted, and until when; read with the academy's time zone in force."""

    user: User
    academy: Academy
    at: datetime

    @property
    def on(self) -> date:
        """The academy's day."""
        return self.academy.today(self.at)

    @property
    def family(self) -> StudentQuerySet:
        """Those for whom the person decides; who has left or pauses is left in peace."""
        paused = Exists(Pause.objects.in_force(self.on).filter(student=OuterRef("pk")))
        students = own_students(self.user, self.academy, self.on)
        return students.exclude(status=Student.Status.LEFT).exclude(paused)

    def taught(self, permission: Permission) -> StudentQuerySet:
        """Those whom the person reaches as a coach or manager."""
        return students_for(self.user, self.academy, self.on, permission)


def people_due(academy: Academy, at: datetime) -> list[tuple[User, dict[Kind, int]]]:
    """Everybody who gets a digest now, with its counts; whoever had one today gets none."""
    on, last = academy.today(at), Digest.objects.last_sent()
    done = Digest.objects.exclude(pk__in=Digest.objects.kept()).filter(day=on)
    people = User.objects.filter(is_active=True, digest_consents__withdrawn_at=None, digest_consents__isnull=False)
    people = people.exclude(email="").exclude(pk__in=done.values("person")).distinct()
    found = []
    for user in people.select_related("coach", "student").order_by("pk"):
        if news := news_of(Reader(user, academy, at), last.get(user.pk)):
            found.append((user, news))
    return found


def news_of(reader: Reader, last: datetime | None) -> dict[Kind, int]:
    """How many of each kind came since the last digest, and since the kind was switched on; without noughts."""
    wanted = switched_on(reader.user)
    kinds = [kind for kind in kinds_for(reader.user, reader.academy, reader.on) if kind in wanted]
    counts = {kind: COUNTS[kind](reader, max(wanted[kind], last or wanted[kind])) for kind in kinds}
    return {kind: count for kind, count in counts.items() if count}


def messages(reader: Reader, since: datetime) -> int:
    """Messages of others that the person has not read."""
    theirs = Q(student__in=reader.family) | Q(student__in=reader.taught(Permission.READ_NOTES))
    read = ThreadReading.objects.filter(
        reader=reader.user, student=OuterRef("student"), last_message__gte=OuterRef("pk")
    )
    rows = Message.objects.filter(theirs, written_at__gt=since, written_at__lte=reader.at)
    return rows.exclude(written_by=reader.user).exclude(Exists(read)).count()


def notes(reader: Reader, since: datetime) -> int:
    """Notes that came with practice and that the coach has not read; when they came, their history says."""
    student = OuterRef("prescription__student")
    read = ThreadReading.objects.filter(reader=reader.user, student=student, last_note__gte=OuterRef("pk"))
    came = PracticeEntry.history.filter(
        id=OuterRef("pk"), history_type="+", history_date__gt=since, history_date__lte=reader.at
    )
    rows = PracticeEntry.objects.filter(Exists(came), is_void=False).exclude(note="").exclude(by_family(reader.user))
    return rows.filter(prescription__student__in=reader.taught(Permission.LOG_LESSONS)).exclude(Exists(read)).count()


def absences(reader: Reader, since: datetime) -> int:
    """Absences of a coach's students that others reported, and that are not over."""
    rows = Absence.objects.standing().filter(reported_at__gt=since, reported_at__lte=reader.at)
    rows = rows.filter(last_day__gte=reader.on, student__in=reader.taught(Permission.LOG_LESSONS))
    return rows.exclude(reported_by=reader.user).count()


def sheets(reader: Reader, since: datetime) -> int:
    """Practice sheets that were given out, and hold."""
    rows = Sheet.objects.valid().filter(lesson__student__in=reader.family, lesson__status="complete")
    return rows.filter(issued_at__gt=since, issued_at__lte=reader.at).count()


def own_appointments(reader: Reader) -> AppointmentQuerySet:
    """The appointments of the person as a coach, and those of whoever they decide for."""
    own = Q(coach__user=reader.user) | Q(students__in=reader.family)
    return Appointment.objects.filter(pk__in=Appointment.objects.filter(own).values("pk"))


def changes(reader: Reader, since: datetime) -> int:
    """Appointments to come that somebody else planned, moved or cancelled."""
    rows = own_appointments(reader).filter(changed_at__gt=since, changed_at__lte=reader.at, starts_at__gt=reader.at)
    by_reader = Q(changed_by=reader.user) | Q(changed_by=None, made_by=reader.user)
    return rows.filter(status__in=("planned", "cancelled")).exclude(by_reader).count()


def tomorrow(reader: Reader, since: datetime) -> int:
    """The appointments of tomorrow to which somebody can come; they are counted on the day before alone."""
    first, before = day_bounds(reader.academy, reader.on + timedelta(days=1))
    rows = own_appointments(reader).planned().filter(starts_at__gte=first, starts_at__lt=before)
    found = list(rows.prefetch_related("students"))
    return len(found) - len(free_among(found))


def practice(reader: Reader, since: datetime) -> int:
    """How many of the family have a practice day today, and nothing reported for it yet."""
    students = list(reader.family)
    days = expected_days(students, reader.on, reader.on)
    reported = PracticeEntry.objects.filter(prescription__student__in=students, day=reader.on, is_void=False)
    done = set(reported.values_list("prescription__student", flat=True))
    return len({pk for pk, found in days.items() if found} - done)


COUNTS: Mapping[Kind, Callable[[Reader, datetime], int]] = {
    Kind.MESSAGES: messages,
    Kind.NOTES: notes,
    Kind.ABSENCES: absences,
    Kind.SHEETS: sheets,
    Kind.CHANGES: changes,
    Kind.TOMORROW: tomorrow,
    Kind.PRACTICE: practice,
}
