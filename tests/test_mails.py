"""The page on which a person chooses their e-mail, the links that stop it, and what pages say of e-mail."""

import ast
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as site
from django.core import signing
from django.test import Client
from django.urls import reverse

from coachbook.accounts.models import Student, User
from coachbook.digests.consents import switch
from coachbook.digests.models import DigestConsent, Kind
from coachbook.digests.unsubscribe import off_token
from coachbook.loop.sheets.issue import SALT
from tests.conftest import Cast
from tests.make import this_time

Clients = Callable[[str], Client]
FILES = "django.core.mail.backends.filebased.EmailBackend"  # what the settings choose without EMAIL_HOST


@pytest.fixture
def address(cast: Cast) -> str:
    """The guardian has an address."""
    User.objects.filter(pk=cast.guardian.pk).update(email="maud@example.org")
    return reverse("mails")


def standing(user: User) -> set[str]:
    return set(user.digest_consents.filter(withdrawn_at=None).values_list("kind", flat=True))


# --- Choosing -------------------------------------------------------------------------------------


def test_nothing_is_on_until_somebody_switches_it_on_and_each_kind_goes_off_again(
    address: str, cast: Cast, as_: Clients, django_assert_max_num_queries: Any
) -> None:
    client = as_("guardian")
    assert 'href="/account/mails/"' in client.get(reverse("account")).content.decode()
    with django_assert_max_num_queries(12):
        page = client.get(address).content.decode()
    assert page.count('type="checkbox"') == 5 and "checked" not in page
    assert client.post(address, {"kinds": ["messages", "tomorrow"]}).status_code == 302
    assert standing(cast.guardian) == {"messages", "tomorrow"}
    assert client.get(address).content.decode().count("checked") == 2
    first = DigestConsent.objects.get(kind="messages")
    assert "one a day at most, when there are messages that you have not read" in first.text_shown
    client.post(address, {"kinds": ["messages"]})
    client.post(address, {"kinds": ["messages", "sheets"]})
    assert standing(cast.guardian) == {"messages", "sheets"}
    assert DigestConsent.objects.get(kind="messages") == first and DigestConsent.objects.count() == 3
    client.post(address, {})
    assert standing(cast.guardian) == set()


@pytest.mark.parametrize(
    ("actor", "kinds"),
    [
        ("guardian", {"messages", "sheets", "changes", "tomorrow", "practice"}),
        ("coach", {"messages", "notes", "absences", "changes", "tomorrow"}),
        ("manager", {"messages"}),
        ("past_guardian", set()),
        ("student", set()),
    ],
)
def test_each_is_offered_what_is_theirs_to_hear(actor: str, kinds: set[str], cast: Cast, as_: Clients) -> None:
    User.objects.filter(pk=cast.user(actor).pk).update(email="somebody@example.org")
    page = as_(actor).get(reverse("mails")).content.decode()
    assert set(re.findall(r'name="kinds" value="(\w+)"', page)) == kinds
    for kind in set(Kind.values) - kinds:
        assert as_(actor).post(reverse("mails"), {"kinds": [kind]}).status_code == 422
    assert not DigestConsent.objects.exists()


def test_of_a_junior_guardians_decide_and_an_adult_decides_alone(cast: Cast, as_: Clients) -> None:
    User.objects.filter(pk=cast.user("student").pk).update(email="alder@example.org")
    assert "your guardians choose this" in as_("student").get(reverse("mails")).content.decode()
    Student.objects.filter(pk=cast.student.pk).update(age_group="adult")
    assert as_("student").post(reverse("mails"), {"kinds": ["messages"]}).status_code == 302
    assert standing(cast.user("student")) == {"messages"}


def test_without_an_address_nothing_can_be_switched_on(cast: Cast, as_: Clients) -> None:
    answer = as_("guardian").post(reverse("mails"), {"kinds": ["messages"]})
    assert answer.status_code == 422 and "has no e-mail address" in answer.content.decode()
    assert not DigestConsent.objects.exists()


# --- The links that stop it -----------------------------------------------------------------------


@pytest.fixture
def on(cast: Cast) -> set[str]:
    switch(cast.guardian, list(Kind), list(Kind), this_time(days_ago=1))
    return set(Kind.values)


def test_a_look_at_the_link_changes_nothing_and_its_button_needs_no_sign_in(cast: Cast, on: set[str]) -> None:
    visitor = Client(enforce_csrf_checks=True)
    link = reverse("mails_off", args=[off_token(cast.guardian)])
    page = visitor.get(link)
    assert page.status_code == 200 and "Stop it" in page.content.decode() and standing(cast.guardian) == on
    assert page.headers["Cache-Control"] == "private, no-store" and "Maud" not in page.content.decode()
    assert visitor.post(link, {"List-Unsubscribe": "One-Click"}).status_code == 200
    assert standing(cast.guardian) == set()


def changed(token: str) -> str:
    return token[:-1] + ("A" if token[-1] != "A" else "B")


def test_a_changed_or_foreign_address_is_a_clear_page_and_changes_nothing(cast: Cast, on: set[str]) -> None:
    token = off_token(cast.guardian, Kind.SHEETS)
    of_a_sheet = signing.Signer(salt=SALT).sign(f"{cast.guardian.key.hex}.all")
    other_kind = token.replace(".sheets:", ".all:")
    unknown = off_token(User(username="nobody"))
    for bad in (changed(token), of_a_sheet, other_kind, unknown, token.split(":")[0], "x", "%00", "…"):
        for method in ("get", "post"):
            answer = getattr(Client(), method)(reverse("mails_off", args=[bad]))
            assert answer.status_code == 404 and "Nothing was changed" in answer.content.decode()
    assert standing(cast.guardian) == on


def test_whoever_is_signed_in_as_somebody_else_stops_nobodys_mail(cast: Cast, as_: Clients, on: set[str]) -> None:
    link = reverse("mails_off", args=[off_token(cast.guardian)])
    answer = as_("coach").post(link)
    assert answer.status_code == 403 and "belongs to another account" in answer.content.decode()
    assert standing(cast.guardian) == on
    assert as_("guardian").post(link).status_code == 200 and standing(cast.guardian) == set()


# --- No page promises a mail that nobody sends ----------------------------------------------------

PROMISE = re.compile(
    r"mailed|by e-mail|we (will )?(e-?mail|send)|e-mails? (is|are|goes|go) |sends? a link|send the link|on its way"
    r"|check your e-mail|is sent|are sent|spam",
    re.IGNORECASE,
)
TEMPLATES = Path(site.BASE_DIR) / "templates"
# Of these the words speak of something else, or of what was done.
OTHERWISE = {
    "accounts/invited.html": "it is given whether the invitation was mailed",
    "loop/log/log.html": "what was typed is sent to the site",
    "family/messages/messages.html": "a message is sent to a thread",
}


def words_of(path: Path) -> str:
    return re.sub(r"\{#.*?#\}|\{% comment %\}.*?\{% endcomment %\}", "", path.read_text(), flags=re.DOTALL)


def test_every_page_that_speaks_of_mail_asks_whether_there_is_a_mail_server() -> None:
    pages = {path.relative_to(TEMPLATES).as_posix(): words_of(path) for path in TEMPLATES.rglob("*.html")}
    speaking = {name for name, words in pages.items() if PROMISE.search(words)}
    assert len(speaking) > 8 and set(OTHERWISE) <= speaking
    assert [name for name in sorted(speaking - set(OTHERWISE)) if "has_mail_server" not in pages[name]] == []


def test_no_module_promises_a_mail_but_those_that_ask_first() -> None:
    found = set()
    for folder in ("coachbook", "drills", "lessons"):
        for path in (Path(site.BASE_DIR) / folder).rglob("*.py"):
            tree = ast.parse(path.read_text())
            docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
            texts = [n for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str)]
            if any(PROMISE.search(text.value) and id(text) not in docs for text in texts):
                found.add(path.relative_to(site.BASE_DIR).as_posix())
    asking = {name for name in found if "has_mail_server" in (Path(site.BASE_DIR) / name).read_text()}
    otherwise = {
        "coachbook/demo/phrases.py",  # what a coach of the demo notes about a putt
        "lessons/plain_words.py",  # of a ball
        "lessons/stills/picture.py",  # of a picture that was cut off on its way here
        "coachbook/loop/students_file/columns.py",  # which says that nobody is sent a mail
    }
    assert found - asking == otherwise
    assert {"coachbook/accounts/adapter.py", "coachbook/family/consents.py"} <= asking


def test_without_a_mail_server_no_page_says_that_something_is_mailed(cast: Cast, as_: Clients, settings: Any) -> None:
    settings.EMAIL_BACKEND, settings.EMAIL_HOST = FILES, ""
    User.objects.update(email="")
    User.objects.filter(pk=cast.guardian.pk).update(email="maud@example.org")
    User.objects.filter(pk=cast.user("student").pk).update(email="alder@example.org", last_login=this_time(days_ago=1))
    pages = {
        "anonymous": ["account_login", "account_reset_password", "account_reset_password_done"],
        "guardian": ["account", "mails", "account_change_password"],
        "manager": ["person_invite", "people", "caseload"],
    }
    texts = {name: as_(actor).get(reverse(name)).content.decode() for actor, names in pages.items() for name in names}
    key = cast.student.key
    texts["student_invite"] = as_("coach").get(reverse("student_invite", args=[key])).content.decode()
    answer = as_("coach").post(reverse("student_invite", args=[key]), {"email": "new@example.org"})
    texts["access"] = answer.content.decode()
    typed = {"name": "Wren Alderjay", "role": "coach", "email": "wren@example.org"}
    texts["invited"] = as_("manager").post(reverse("person_invite"), typed).content.decode()
    texts["forgotten"] = (
        Client().post(reverse("account_reset_password"), {"email": "maud@example.org"}, follow=True).content.decode()
    )
    assert {name: found[0] for name, text in texts.items() if (found := PROMISE.search(text))} == {}
    assert "sends no e-mail at present" in texts["mails"] and "No mail server is set up" in texts["forgotten"]
