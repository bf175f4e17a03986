"""A slip of paper for somebody without e-mail: a user name and a code, typed once, in place of a link."""

import html
import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth import hashers
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts import one_time_codes as codes
from coachbook.accounts.forms import OneTimeCodeForm
from coachbook.accounts.models import Invitation, Student, User
from coachbook.accounts.one_time_codes import ALPHABET, Slip, find_by_code, issue_slip, new_code
from coachbook.accounts.views import people
from tests.conftest import Cast
from tests.make import PASSWORD, make_student, this_time

Clients = Callable[[str], Client]
CHOSEN = {"new_password1": "three dry bunkers", "new_password2": "three dry bunkers"}
CODE = re.compile(r'class="code">([A-Z]{4} [A-Z]{4} [A-Z]{4})<')
ADDRESS = "/people/code/"


def code_in(page: str) -> str:
    found = CODE.search(page)
    assert found
    return found[1]


def typed(username: str, code: str, client: Client | None = None) -> object:
    return (client or Client()).post(ADDRESS, {"username": username, "code": code})


@pytest.fixture
def slip(cast: Cast) -> tuple[str, str]:
    """The user name and the code of a slip for the student."""
    return cast.student.user.username, issue_slip(cast.student.user, by=cast.coach.user, at=timezone.now()).code


def status_of(username: str, code: str) -> int:
    return typed(username, code).status_code  # type: ignore[attr-defined,no-any-return]


def test_a_child_without_an_address_gets_a_slip_and_signs_in(cast: Cast, as_: Clients) -> None:
    student = make_student("Flora Larkwren", coach=cast.coach, account=False)
    page = as_("coach").post(reverse("student_invite", args=[student.key]), {"username": "flora"}).content.decode()
    code, child = code_in(page), Client()
    assert "http://testserver/people/code/" in page and "/people/invitation/" not in page
    assert "flora" in page and "Flora Larkwren" in page and "For the grown-up" in page
    answer = typed("flora", code, child)
    link = answer.url  # type: ignore[attr-defined]
    assert "four words that you will remember" in child.get(link).content.decode()
    assert child.post(link, CHOSEN).url == reverse("home")  # type: ignore[attr-defined]
    assert child.get(reverse("today", args=[student.key])).status_code == 200
    assert Client().login(username="flora", password=CHOSEN["new_password1"])


def test_a_manager_prints_one_for_somebody_who_lost_the_first(cast: Cast, as_: Clients) -> None:
    user = cast.student.user
    user.set_unusable_password()
    user.save()
    page = as_("manager").post(reverse("person_link", args=[cast.student.user.key])).content.decode()
    assert status_of(user.username, code_in(page)) == 302


def test_who_has_an_address_and_who_works_here_keep_the_link(cast: Cast, as_: Clients) -> None:
    User.objects.filter(pk=cast.student.user.pk).update(email="alder@example.org", password="!")
    User.objects.filter(pk=cast.coach.user.pk).update(password="!")
    for user in (cast.student.user, cast.coach.user):
        page = as_("manager").post(reverse("person_link", args=[user.key])).content.decode()
        assert not CODE.search(page)
        assert ("/people/invitation/" in page) == (user == cast.coach.user), "a mailed link is shown to nobody"
    assert not Invitation.objects.exclude(code_hash="").exists()


@pytest.mark.parametrize("change", [str.lower, str.swapcase, lambda c: c.replace(" ", ""), lambda c: f" {c} ",
                                    lambda c: c.replace(" ", "-")])  # fmt: skip
def test_case_and_spaces_of_a_code_do_not_matter(change: Callable[[str], str], slip: tuple[str, str]) -> None:
    assert status_of(slip[0].upper(), change(slip[1])) == 302


def test_a_code_works_once(slip: tuple[str, str]) -> None:
    client = Client()
    link = typed(*slip, client).url  # type: ignore[attr-defined]
    assert client.post(link, CHOSEN).status_code == 302
    assert status_of(*slip) == 422
    assert Client().get(link).status_code == 404


def test_after_an_interruption_the_code_works_again(slip: tuple[str, str]) -> None:
    first, second = (typed(*slip).url for _ in range(2))  # type: ignore[attr-defined]
    assert Client().get(first).status_code == 404 and Client().get(second).status_code == 200


def test_a_code_ends_after_a_week_and_when_a_newer_slip_or_link_is_made(cast: Cast, slip: tuple[str, str]) -> None:
    now = timezone.now()
    assert find_by_code(*slip, now + timedelta(days=6, hours=23))
    assert not find_by_code(*slip, now + timedelta(days=7, minutes=1))
    newer = issue_slip(cast.student.user, by=cast.coach.user, at=now).code
    assert not find_by_code(*slip, now + timedelta(seconds=1)) and find_by_code(slip[0], newer, now)
    Invitation.issue(cast.student.user, by=cast.coach.user, at=now + timedelta(seconds=2))
    assert not find_by_code(slip[0], newer, now + timedelta(seconds=3))


def test_every_failure_reads_the_same(cast: Cast, slip: tuple[str, str]) -> None:
    """Wrong, unknown, too old, used, closed, empty of letters."""
    other = cast.other_student.user
    closed = issue_slip(cast.closed, by=cast.manager, at=timezone.now()).code
    old = issue_slip(other, by=cast.manager, at=this_time(days_ago=8)).code
    wrong = "BBBB BBBB BBBB"
    tries = [(slip[0], wrong), ("nobody", wrong), (other.username, old), (cast.closed.username, closed),
             (cast.guardian.username, wrong), (slip[0], "1234"), ("nobody", slip[1])]  # fmt: skip
    pages = set()
    for username, code in tries:
        answer = typed(username, code)
        assert answer.status_code == 422  # type: ignore[attr-defined]
        html = answer.content.decode()  # type: ignore[attr-defined]
        assert OneTimeCodeForm.WRONG in html and 'id="id_code_error"' in html
        assert f'value="{username}"' in html and code not in html
        pages.add(re.sub(r'name="csrfmiddlewaretoken" value="\w+"', "", html.replace(username, "")))
    assert len(pages) == 1


@pytest.mark.parametrize("username", ["nobody", "alder.quimble", "maud.plumsilk"])
def test_every_try_costs_one_run_of_the_hasher(
    username: str, cast: Cast, slip: tuple[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    hasher = type(hashers.get_hasher())
    runs: list[str] = []
    encode = hasher.encode

    def counted(self: object, password: str, *args: object, **kwargs: object) -> str:
        runs.append(password)
        return encode(self, password, *args, **kwargs)

    monkeypatch.setattr(hasher, "encode", counted)
    assert find_by_code(username, "BBBB BBBB BBBB", timezone.now()) is None
    assert runs == ["BBBBBBBBBBBB"]


@pytest.mark.parametrize(
    ("username", "code", "field"),
    [("", "BBBB", "username"), ("x", "", "code"), ("x" * 151, "B", "username"), ("x", "B" * 61, "code"),
     ("a\0b", "B", "username"), ("x", "B\0", "code")],
)  # fmt: skip
def test_an_invalid_value_is_reported_beside_its_field(username: str, code: str, field: str, db: None) -> None:
    answer = typed(username, code)
    assert answer.status_code == 422  # type: ignore[attr-defined]
    assert f'id="id_{field}_error"' in answer.content.decode()  # type: ignore[attr-defined]


def test_the_sixth_try_for_a_name_waits_and_others_still_sign_in(cast: Cast, slip: tuple[str, str]) -> None:
    """Five in five minutes a user name, whatever its capitals, and whether it exists or not (ASVS v5.0.0-6.3.1)."""
    other = issue_slip(cast.other_student.user, by=cast.manager, at=timezone.now()).code
    for name in (slip[0], "nobody"):
        assert [status_of(name, "BBBB BBBB BBBB") for _ in range(5)] == [422] * 5
        answer = typed(name.upper(), slip[1])
        page = answer.content.decode()  # type: ignore[attr-defined]
        assert answer.status_code == 429  # type: ignore[attr-defined]
        assert OneTimeCodeForm.TOO_MANY in page and f'value="{name.upper()}"' in page and slip[1] not in page
    assert status_of(cast.other_student.user.username, other) == 302


def test_the_twenty_first_try_of_a_minute_from_one_address_waits(cast: Cast, slip: tuple[str, str]) -> None:
    assert {status_of(f"nobody{number}", "BBBB BBBB BBBB") for number in range(20)} == {422}
    assert status_of(*slip) == 429


def test_a_code_has_twelve_letters_none_of_which_look_alike() -> None:
    assert not set(ALPHABET) & set("AEIOULVQ") and len(set(ALPHABET)) == len(ALPHABET) >= 18
    drawn = {new_code() for _ in range(200)}
    assert len(drawn) == 200 and all(re.fullmatch(rf"[{ALPHABET}]{{4}}( [{ALPHABET}]{{4}}){{2}}", c) for c in drawn)


def test_the_code_itself_is_not_stored(cast: Cast, slip: tuple[str, str]) -> None:
    kept = str(list(Invitation.objects.values()))
    assert slip[1] not in kept and codes.normalise(slip[1]) not in kept


def test_a_closed_account_stays_closed_and_a_new_password_ends_the_slip(
    cast: Cast, as_: Clients, slip: tuple[str, str]
) -> None:
    new = {"oldpassword": PASSWORD, "password1": "three dry bunkers", "password2": "three dry bunkers"}
    assert as_("student").post(reverse("account_change_password"), new).status_code == 302
    assert status_of(*slip) == 422
    code = issue_slip(cast.guardian, by=cast.manager, at=timezone.now()).code
    as_("manager").post(reverse("person_close", args=[cast.guardian.key]))
    assert status_of(cast.guardian.username, code) == 422
    as_("manager").post(reverse("person_reopen", args=[cast.guardian.key]))
    assert status_of(cast.guardian.username, code) == 422


def test_neither_code_nor_name_gets_into_the_log(slip: tuple[str, str], caplog: pytest.LogCaptureFixture) -> None:
    for checks in (True, False):
        Client(enforce_csrf_checks=checks).post(ADDRESS, {"username": slip[0], "code": "BBBB CCCC DDDD"})
    assert len(caplog.records) >= 2
    assert "BBBB" not in caplog.text and slip[0] not in caplog.text


def test_the_sign_in_page_links_to_it(db: None) -> None:
    assert f'href="{ADDRESS}"' in Client().get(reverse("account_login")).content.decode()
    assert Client().get(ADDRESS).status_code == 200


@pytest.mark.parametrize(
    ("reader", "words", "others"),
    [
        ("guardian", "This slip opens a page of your own", "For the grown-up"),
        ("child", "For the grown-up", "a page of your own"),
        ("adult", "ask your coach for a new one", "For the grown-up"),
    ],
)
def test_a_slip_speaks_to_whoever_gets_it_and_its_square_opens_the_same_invitation(
    reader: str, words: str, others: str, cast: Cast, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Either way, code or square, opens the account once; a square is drawn anew from the link and compared."""
    issued: list[Slip] = []

    def kept(*args: Any, **more: Any) -> Slip:
        issued.append(issue_slip(*args, **more))
        return issued[-1]

    monkeypatch.setattr(people, "issue_slip", kept)
    user = cast.guardian if reader == "guardian" else cast.student.user
    Student.objects.filter(pk=cast.student.pk).update(age_group=reader if reader in ("child", "adult") else "")
    User.objects.filter(pk=user.pk).update(password="!")
    page = as_("manager").post(reverse("person_link", args=[user.key])).content.decode()
    [slip] = issued
    assert words in page and others not in page and slip.code in page and slip.token not in page
    link = reverse("invitation", args=[slip.token])
    assert f'src="{people.code_to_scan(f"http://testserver{link}")}"' in html.unescape(page)
    assert Client().post(link, CHOSEN).status_code == 302
    assert status_of(user.username, slip.code) == 422 and Client().get(link).status_code == 404
