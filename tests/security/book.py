"""One address of the matrix, and what of the cast its arguments are made of."""

from collections.abc import Callable
from dataclasses import dataclass, field

from django.utils import timezone

from coachbook.accounts.models import Invitation
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.content import issue_sheet, share_token
from lessons.models import Focus, Observation, SeenFault
from tests.conftest import Cast
from tests.make import academy_today, make_fault, make_lesson, make_look, make_prescription, make_skill

OF_A_STUDENT = ("READ", "NOTES", "TEACH", "ARRANGE", "PRACTISE", "SCORE", "SPEAK", "CONSENT", "LEND", "BOOK")


@dataclass(frozen=True)
class Row:
    """One address: whose act it is, which methods it takes, and about which of the cast it is."""

    name: str
    act: str
    methods: str = "GET"
    about: str = ""
    args: Callable[[Cast], list[object]] = field(default=lambda cast: [])
    label: str = ""
    post: str = ""  # another act where a POST is one
    is_hidden: bool = False  # whether a stranger to the student reads 404 where the act alone would say 403

    def act_of(self, method: str) -> str:
        return self.post if method == "POST" and self.post else self.act

    @property
    def is_about_a_student(self) -> bool:
        """Whether a student's key stands in the address."""
        return self.act in OF_A_STUDENT or self.is_hidden


def own_student(cast: Cast) -> list[object]:
    return [cast.student.key]


def own_lesson(cast: Cast) -> list[object]:
    """A finished lesson of the student, made once, with everything that hangs on it."""
    if not cast.student.lessons.exists():
        lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())
        skill = make_skill()
        fault = make_fault(skill)
        seen = Observation.objects.create(look=make_look(lesson), skill=skill, verdict="unsound")
        SeenFault.objects.create(observation=seen, fault=fault, degree="slight")
        focus = Focus.objects.create(student=cast.student, opened_in=lesson, slot=1, area="putting", fault=fault)
        make_prescription(lesson, focus)
        issue_sheet(lesson=lesson, at=timezone.now())
    return [cast.student.key, cast.student.lessons.get().key]


def own_sheet(cast: Cast) -> list[object]:
    own_lesson(cast)
    sheet = Sheet.objects.standing().first() or issue_sheet(lesson=cast.student.lessons.get(), at=timezone.now())
    return [cast.student.key, sheet.key]


def shared_token(cast: Cast) -> list[object]:
    own_sheet(cast)
    return [share_token(Sheet.objects.standing().get())]


def own_history(cast: Cast) -> list[object]:
    own_lesson(cast)
    return [cast.student.key, SeenFault.objects.get().fault_id]


def own_entry(cast: Cast) -> list[object]:
    own_lesson(cast)
    prescription = cast.student.prescriptions.get()
    entry = prescription.entries.first() or prescription.entries.create(day=academy_today(), amount=5)
    return [cast.student.key, prescription.key, entry.key]


def some_user(cast: Cast) -> list[object]:
    return [cast.other_coach.user.key]


def fresh_invitation(cast: Cast) -> list[object]:
    return [Invitation.issue(cast.other_student.user, by=cast.manager, at=timezone.now())]
