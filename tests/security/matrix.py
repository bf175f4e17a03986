"""What every address answers to everybody, from a policy written by hand: one line an act, one column an actor.

This book is kept apart from `coachbook/accounts/gate.py` on purpose: the two must come to the same sums.
"""

import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

from django.db import connection
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from coachbook.accounts.models import Invitation
from coachbook.loop.models import Sheet
from coachbook.loop.sheet import issue_sheet, share_token
from lessons.models import Focus, Observation, SeenFault
from tests.conftest import Cast
from tests.make import make_fault, make_lesson, make_look, make_prescription, make_skill

TABLE = """
act       anonymous closed student other_student guardian coach cover assistant other_coach manager
ENTER     in        in     ok      ok            ok       ok    ok    ok        ok          ok
READ      in        in     ok      404           ok       ok    ok    ok        404         ok
NOTES     in        in     403     404           403      ok    ok    ok        404         ok
TEACH     in        in     403     404           403      ok    ok    ok        404         403
PRACTISE  in        in     ok      404           ok       403   403   403       404         403
ARRANGE   in        in     403     404           403      ok    ok    403       404         ok
ADD       in        in     403     403           403      ok    ok    ok        ok          ok
RUN       in        in     403     403           403      403   403   403       403         ok
PUBLIC    ok        ok     ok      ok            ok       ok    ok    ok        ok          ok
"""
ACTORS, *LINES = [line.split()[1:] for line in TABLE.strip().splitlines()]
POLICY = dict(zip([line.split()[0] for line in TABLE.strip().splitlines()[1:]], LINES, strict=True))
METHODS = ["GET", "POST", "PUT", "PATCH", "DELETE"]


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

    def act_of(self, method: str) -> str:
        return self.post if method == "POST" and self.post else self.act

    @property
    def is_about_a_student(self) -> bool:
        return self.act in ("READ", "NOTES", "TEACH", "ARRANGE", "PRACTISE") or self.name == "student_move"


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
    entry = prescription.entries.first() or prescription.entries.create(day=timezone.localdate(), amount=5)
    return [cast.student.key, prescription.key, entry.key]


def some_user(cast: Cast) -> list[object]:
    return [cast.other_coach.user.key]


def fresh_invitation(cast: Cast) -> list[object]:
    return [Invitation.issue(cast.other_student.user, by=cast.manager, at=timezone.now())]


ROWS = [
    Row("home", "ENTER"),
    Row("appearance", "ENTER"),
    Row("students", "ENTER", about="student"),
    Row("student_new", "ADD"),
    Row("student", "READ", args=own_student, about="student"),
    Row("student_details", "ARRANGE", "GET POST", args=own_student),
    Row("student_details", "ADD", "GET POST", args=lambda cast: [uuid.uuid4()], label="new"),
    Row("student_invite", "ARRANGE", "GET POST", args=own_student),
    Row("lesson_new", "TEACH", args=own_student),
    Row("lesson", "NOTES", "GET POST", args=own_lesson, post="TEACH"),
    Row("sheet", "READ", args=own_sheet, about="student"),
    Row("sheet_pdf", "READ", args=own_sheet),
    Row("sheet_void", "TEACH", "POST", args=own_sheet),
    Row("shared_sheet", "PUBLIC", args=shared_token),
    Row("progress", "READ", args=own_student, about="student"),
    Row("progress_explore", "READ", args=own_history, about="student"),
    Row("today", "READ", args=own_student, about="student"),
    Row("practice_report", "PRACTISE", "POST", args=own_entry),
    Row("practice_strike", "PRACTISE", "POST", args=own_entry),
    Row("caseload", "RUN"),
    Row("coach_caseload", "RUN", args=lambda cast: [cast.coach.user.key]),
    Row("student_move", "RUN", "GET POST", args=own_student),
    Row("drills", "ENTER"),
    Row("drill", "ENTER", args=lambda cast: ["putting-ball-gate"]),
    Row("people", "RUN"),
    Row("person_invite", "RUN", "GET POST"),
    Row("person_link", "RUN", "POST", args=some_user),
    Row("person_close", "RUN", "POST", args=some_user),
    Row("person_reopen", "RUN", "POST", args=some_user),
    Row("invitation", "PUBLIC", "GET POST", args=fresh_invitation),
]
# allauth's own public addresses, by name. Nobody signs up: that page says so.
ALLAUTH = {
    "account_login", "account_logout", "account_signup", "account_inactive", "account_reset_password",
    "account_reset_password_done", "account_reset_password_from_key", "account_reset_password_from_key_done",
    "account_confirm_email", "account_confirm_login_code", "account_email_verification_sent",
}  # fmt: skip
ALLAUTH_SIGNED_IN = {
    "account_change_password",
    "account_set_password",
    "account_reauthenticate",
}


def names(resolver: URLResolver | None = None) -> Iterator[str]:
    """Every URL name that the site can resolve."""
    for entry in (resolver or get_resolver()).url_patterns:
        if isinstance(entry, URLResolver):
            yield from names(entry)
        elif isinstance(entry, URLPattern):
            yield entry.name or str(entry.pattern)


@dataclass
class Answer:
    """What one request came to, and what it wrote on the way."""

    status: int
    text: str
    writes: list[str]


def ask(client: Client, method: str, url: str, fragment: bool) -> Answer:
    """Send one request, as a page or as an htmx fragment."""
    headers = {"HX-Request": "true", "HX-Current-URL": "http://testserver/"} if fragment else {}
    with writes() as written:
        response = client.generic(method, url, headers=headers)
    redirected = response.headers.get("HX-Redirect") or response.headers.get("Location") or ""
    status = 302 if response.headers.get("HX-Redirect") else response.status_code
    sign_in = status in (301, 302) and reverse("account_login") in redirected
    return Answer(1 if sign_in else status, response.content.decode(errors="replace"), written)


@contextmanager
def writes() -> Iterator[list[str]]:
    """The statements that changed something."""
    written: list[str] = []

    def watch(execute, sql, params, many, context):  # type: ignore[no-untyped-def]
        if sql.lstrip().split(" ")[0].upper() in ("INSERT", "UPDATE", "DELETE", "REPLACE"):
            written.append(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(watch):
        yield written


def expected(row: Row, actor: str, method: str) -> set[int]:
    """The statuses that the policy allows in a cell; 1 stands for the way to the sign-in page."""
    verdict = POLICY[row.act_of(method)][ACTORS.index(actor)]
    if row.name == "student_move" and POLICY["READ"][ACTORS.index(actor)] == "404":
        verdict = "404"  # to a stranger the student is not there at all
    if verdict == "in":
        return {401} if method == "POST" else {1}
    if method not in row.methods.split():
        return {405}
    return {200, 201, 302, 303, 422} if verdict == "ok" else {int(verdict)}


def reds(row: Row, cast: Cast, as_: Callable[[str], Client], methods: list[str], fragments: bool = True) -> list[str]:
    """The cells of one address that do not answer as the policy says."""
    found = []
    for actor in ACTORS:
        for method in methods:
            for fragment in (False, True) if fragments else (False,):
                url = reverse(row.name, args=row.args(cast))
                answer = ask(as_(actor), method, url, fragment)
                if problem := wrong(row, cast, actor, method, answer):
                    found.append(f"{method} {row.name} {row.label} as {actor}{' (fragment)' * fragment}: {problem}")
    return found


def wrong(row: Row, cast: Cast, actor: str, method: str, answer: Answer) -> str:
    """What is wrong with an answer, or nothing."""
    if answer.status not in expected(row, actor, method):
        return f"{answer.status}, expected {expected(row, actor, method)}"
    if method == "GET" and answer.writes:
        return f"writes: {answer.writes[0][:80]}"
    if row.about and answer.status == 200:
        name = getattr(cast, row.about).name
        if (name in answer.text) != (POLICY["READ"][ACTORS.index(actor)] == "ok"):
            return f"{name} {'shown' if name in answer.text else 'not shown'}"
    return ""
