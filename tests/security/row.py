"""One address of the matrix, and the rows of the cast that stand in it."""

from collections.abc import Callable
from dataclasses import dataclass, field

from django.utils import timezone

from coachbook.accounts.models import Invitation, NewAddress
from coachbook.digests.unsubscribe import off_token
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.issue import issue_sheet, share_token
from lessons.models import Focus, Observation, SeenFault
from tests.conftest import Cast
from tests.make import academy_today, make_fault, make_lesson, make_look, make_prescription, make_skill

OF_A_STUDENT = (
    *("READ_RECORD", "READ_NOTES", "LOG_LESSONS", "EDIT_STUDENT", "REPORT_PRACTICE", "RECORD_SCORES"),
    *("SEND_MESSAGES", "GIVE_CONSENT", "MANAGE_COACHES", "SCHEDULE", "REPORT_ABSENCE", "CORRECT"),
    *("EXPORT_RECORD", "ERASE_RECORD"),
)


@dataclass(frozen=True)
class Row:
    """One address: the permission it needs, the methods it takes, and whose name its page shows."""

    name: str
    permission: str
    methods: str = "GET"
    about: str = ""
    args: Callable[[Cast], list[object]] = field(default=lambda cast: [])
    label: str = ""
    post: str = ""  # the permission that a POST needs, where it is another
    is_hidden: bool = False  # whether a stranger to the student reads 404 where the permission alone would give 403

    def permission_for(self, method: str) -> str:
        return self.post if method == "POST" and self.post else self.permission

    @property
    def is_about_a_student(self) -> bool:
        """Whether a student's key stands in the address."""
        return self.permission in OF_A_STUDENT or self.is_hidden


def own_student(cast: Cast) -> list[object]:
    return [cast.student.key]


def own_lesson(cast: Cast) -> list[object]:
    """A finished lesson of the student, made once, with everything that belongs to it."""
    if not cast.student.lessons.exists():
        lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())
        skill = make_skill()
        fault = make_fault(skill)
        seen = Observation.objects.create(look=make_look(lesson), skill=skill, verdict="not_good")
        SeenFault.objects.create(observation=seen, fault=fault, degree="slight")
        focus = Focus.objects.create(student=cast.student, opened_in=lesson, slot=1, area="putting", fault=fault)
        make_prescription(lesson, focus)
        issue_sheet(lesson=lesson, at=timezone.now())
    return [cast.student.key, cast.student.lessons.get().key]


def own_sheet(cast: Cast) -> list[object]:
    own_lesson(cast)
    sheet = Sheet.objects.valid().first() or issue_sheet(lesson=cast.student.lessons.get(), at=timezone.now())
    return [cast.student.key, sheet.key]


def shared_token(cast: Cast) -> list[object]:
    own_sheet(cast)
    return [share_token(Sheet.objects.valid().get())]


def own_history(cast: Cast) -> list[object]:
    own_lesson(cast)
    return [cast.student.key, SeenFault.objects.get().fault_id]


def own_words_history(cast: Cast) -> list[object]:
    lesson = cast.student.lessons.get(key=own_lesson(cast)[1])
    about = {"slot": 2, "area": "putting", "what": "A pencil grip", "opened_in": lesson}
    return [cast.student.key, cast.student.focuses.get_or_create(fault=None, defaults=about)[0].key]


def own_entry(cast: Cast) -> list[object]:
    own_lesson(cast)
    prescription = cast.student.prescriptions.get()
    entry = prescription.entries.first() or prescription.entries.create(day=academy_today(), amount=5)
    return [cast.student.key, prescription.key, entry.key]


def own_month(cast: Cast) -> list[object]:
    on = academy_today()
    return [cast.student.key, on.year, on.month]


def some_user(cast: Cast) -> list[object]:
    return [cast.other_coach.user.key]


def guardians_mails(cast: Cast) -> list[object]:
    """The address by which the guardian's mails are switched off; who is signed in as somebody else is refused."""
    return [off_token(cast.guardian)]


def guardians_address(cast: Cast) -> list[object]:
    """The address by which the guardian confirms a new e-mail address; it leads nobody else anywhere."""
    return [NewAddress.issue(cast.guardian, "maud@example.org", timezone.now())]


def fresh_invitation(cast: Cast) -> list[object]:
    return [Invitation.issue(cast.other_student.user, by=cast.manager, at=timezone.now())]
