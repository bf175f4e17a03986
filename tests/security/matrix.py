"""What every address answers to everybody, by a policy written by hand: a line for each permission, a column an actor.

It is written apart from `coachbook/accounts/gate.py` on purpose: the two must agree.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from django.db import connection
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.conftest import Cast
from tests.security.row import Row

ACTORS = [
    "anonymous", "closed", "student", "other_student", "guardian", "past_guardian", "coach",
    "cover", "assistant", "past_coach", "other_coach", "manager",
]  # fmt: skip
TABLE = """
permission      anon shut self other guard past_g coach cover assist past_c other_c boss
USE_SITE        in   in   ok   ok    ok    ok     ok    ok    ok     ok     ok      ok
READ_RECORD     in   in   ok   404   ok    404    ok    ok    ok     404    404     ok
READ_NOTES      in   in   403  404   403   404    ok    ok    ok     404    404     ok
LOG_LESSONS     in   in   403  404   403   404    ok    ok    ok     404    404     403
REPORT_PRACTICE in   in   ok   404   ok    404    403   403   403    404    404     403
RECORD_SCORES   in   in   ok   404   ok    404    ok    ok    ok     404    404     403
SEND_MESSAGES   in   in   ok   404   ok    404    ok    ok    ok     404    404     ok
GIVE_CONSENT    in   in   403  404   ok    404    403   403   403    404    404     403
MANAGE_COACHES  in   in   403  404   403   404    ok    403   403    404    404     ok
SCHEDULE        in   in   403  404   403   404    ok    ok    ok     404    404     ok
REPORT_ABSENCE  in   in   ok   404   ok    404    ok    ok    ok     404    404     ok
EXPORT_RECORD   in   in   ok   404   ok    404    403   403   403    404    404     ok
ERASE_RECORD    in   in   403  404   ok    404    403   403   403    404    404     ok
CORRECT         in   in   403  404   403   404    ok    ok    ok     404    404     ok
EDIT_STUDENT    in   in   403  404   403   404    ok    ok    403    404    404     ok
VIEW_DIARY      in   in   403  403   403   403    ok    ok    ok     ok     ok      ok
ADD_STUDENT     in   in   403  403   403   403    ok    ok    ok     ok     ok      ok
ADD_PHRASES     in   in   403  403   403   403    ok    ok    ok     ok     ok      ok
EDIT_LIBRARY    in   in   403  403   403   403    ok    ok    ok     ok     ok      ok
MANAGE_LIBRARY  in   in   403  403   403   403    403   403   403    403    403     ok
SEE_OWN_DRILL   in   in   404  404   404   404    ok    404   404    404    404     ok
SEE_GIVEN_DRILL in   in   ok   404   ok    404    ok    ok    ok     404    404     ok
EDIT_OWN_ROW    in   in   403  403   403   403    ok    404   404    404    404     403
SEE_OWN_SKILL   in   in   403  403   403   403    ok    404   404    404    404     ok
HELD_AFTER_OWN  in   in   403  403   403   403    ok    404   404    404    404     ok
MANAGE_ACADEMY  in   in   403  403   403   403    403   403   403    403    403     ok
ACT_AS_COACH    in   in   403  403   403   403    ok    ok    ok     ok     ok      403
SEE_GROUP       in   in   403  403   403   403    ok    404   404    404    404     ok
LEAD_GROUP      in   in   403  403   403   403    ok    404   404    404    404     403
SEE_APPROVAL    in   in   404  404   404   404    ok    ok    404    404     ok     ok
MAKE_LINK       in   in   404  404   404   404    ok    404   404    404     404    404
OWN_CALENDAR    in   in   ok   ok    ok    403    403   403   403    403    403     403
OWN_ADDRESS     in   in   404  404   ok    404    404   404   404    404    404     404
MAILS_OFF       ok   ok   403  403   ok    403    403   403   403    403    403     403
PUBLIC          ok   ok   ok   ok    ok    ok     ok    ok    ok     ok     ok      ok
"""
POLICY = {permission: cells for permission, *cells in map(str.split, TABLE.strip().splitlines()[1:])}
READING = 'INTO "accounts_recordview"'  # that a manager read a junior's record is kept: nothing else writes on a GET
METHODS = ["GET", "POST", "PUT", "PATCH", "DELETE"]


# allauth's own public addresses, by name.
ALLAUTH = {
    "account_login", "account_logout", "account_inactive", "account_reset_password", "account_reset_password_done",
    "account_reset_password_from_key", "account_reset_password_from_key_done",
    "mfa_authenticate",
}  # fmt: skip
ALLAUTH_SIGNED_IN = {
    "account_change_password", "account_reauthenticate", "usersessions_list", "mfa_index", "mfa_activate_totp",
    "mfa_deactivate_totp", "mfa_add_webauthn", "mfa_remove_webauthn", "mfa_view_recovery_codes",
    "mfa_generate_recovery_codes",
}  # fmt: skip
# Those that nobody can use here: a plain 404 for everybody.
ALLAUTH_UNUSED = {
    "account_signup", "account_confirm_email", "account_email_verification_sent", "account_confirm_login_code",
    "account_set_password", "mfa_list_webauthn", "mfa_reauthenticate", "mfa_reauthenticate_webauthn",
}  # fmt: skip


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
    verdict = POLICY[row.permission_for(method)][ACTORS.index(actor)]
    if row.is_hidden and POLICY["READ_RECORD"][ACTORS.index(actor)] == "404":
        verdict = "404"  # to a stranger the student is not there at all
    if verdict == "in":
        return {401} if method == "POST" else {1}
    if method not in row.methods.split():
        return {405}
    return {200, 201, 302, 303, 422} if verdict == "ok" else {int(verdict)}


def reds(
    row: Row, cast: Cast, as_: Callable[[str], Client], methods: list[str], fragments: bool = True
) -> Iterator[str]:
    """The cells of one address that do not answer as the policy says, one after the other as they are asked for."""
    for actor in ACTORS:
        for method in methods:
            for fragment in (False, True) if fragments else (False,):
                url = reverse(row.name, args=row.args(cast))
                answer = ask(as_(actor), method, url, fragment)
                if problem := wrong(row, cast, actor, method, answer):
                    yield f"{method} {row.name} {row.label} as {actor}{' (fragment)' * fragment}: {problem}"


def wrong(row: Row, cast: Cast, actor: str, method: str, answer: Answer) -> str:
    """What is wrong with an answer, or nothing."""
    if answer.status not in expected(row, actor, method):
        return f"{answer.status}, expected {expected(row, actor, method)}"
    if method == "GET" and (written := [sql for sql in answer.writes if not (actor == "manager" and READING in sql)]):
        return f"writes: {written[0][:80]}"
    if row.about and answer.status == 200:
        name = getattr(cast, row.about).name
        if (name in answer.text) != (POLICY["READ_RECORD"][ACTORS.index(actor)] == "ok"):
            return f"{name} {'shown' if name in answer.text else 'not shown'}"
    return ""
