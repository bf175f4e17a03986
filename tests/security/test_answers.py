"""What answers carry and what they keep to themselves; ids are those of OWASP ASVS 5.0.0."""

import re
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from types import SimpleNamespace
from urllib.parse import parse_qs, urlsplit

import pytest
from django.db import OperationalError
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory
from django.urls import reverse

from coachbook import pdf
from coachbook.accounts import gate
from coachbook.accounts.models import Student
from tests.conftest import Cast
from tests.make import make_drill
from tests.security.row import shared_token
from tests.security.rows import ROWS

Clients = Callable[[str], Client]


@pytest.fixture
def answers(cast: Cast, as_: Clients) -> Iterator[Callable[..., HttpResponse]]:
    """Ask as somebody: `answers("coach", "/students/")`."""

    def ask(actor: str, path: str, method: str = "GET", **headers: str) -> HttpResponse:
        return as_(actor).generic(method, path, headers=headers)

    return ask


TEXT = ["/account/login/", "/nowhere/", "/students/", "/static/css/page.css", "/static/js/page.js"]


@pytest.mark.parametrize("path", TEXT)
def test_every_text_names_its_type_and_utf_8(path: str, answers: Callable[..., HttpResponse]) -> None:
    """4.1.1."""
    kind = {"css": "text/css", "js": "text/javascript"}.get(path.split(".")[-1], "text/html")
    with closing(answers("coach", path)) as answer:
        named = answer.headers["Content-Type"].replace('"', "").lower()
        assert named == f"{kind}; charset=utf-8" and b"\0" not in b"".join(answer)


@pytest.mark.parametrize("path", ["/students/", "/account/login/", "/static/css/page.css", "/nowhere/"])
def test_no_other_origin_reads_an_answer(path: str, answers: Callable[..., HttpResponse]) -> None:
    """3.4.2."""
    with closing(answers("coach", path, Origin="https://other.example")) as answer:
        assert not [name for name in answer.headers if name.startswith("Access-Control-")]


@pytest.mark.parametrize("path", ["/", "/account/login/", "/students/", "/static/css/page.css", "/nowhere/"])
@pytest.mark.parametrize("actor", ["anonymous", "coach"])
def test_no_request_comes_back_by_trace(path: str, actor: str, answers: Callable[..., HttpResponse]) -> None:
    """13.4.4."""
    with closing(answers(actor, path, "TRACE", **{"X-Canary": "heron"})) as answer:
        assert answer.status_code in (302, 404, 405) and b"heron" not in b"".join(answer)


@pytest.mark.parametrize(
    "path",
    ["/.git/config", "/static/../.git/HEAD", "/static/..%2f.git/HEAD", "/static/.git/HEAD", "/.env", "/manage.py",
     "/static/../coachbook/settings.py", "/.data/secret_key", "/requirements.txt", "/static//etc/passwd"],
)  # fmt: skip
def test_no_file_of_the_program_is_served(path: str, answers: Callable[..., HttpResponse]) -> None:
    """13.4.1 and 5.3.2."""
    assert answers("anonymous", path).status_code == 404


@pytest.mark.parametrize("path", ["/static/", "/static/js/", "/static/css", "/media/", "/students/.."])
def test_no_folder_is_listed(path: str, answers: Callable[..., HttpResponse]) -> None:
    """13.4.3."""
    answer = answers("manager", path)
    assert answer.status_code == 404 and b"page.css\n" not in answer.content


ASKED_AGAIN = ("calendar_feed", "calendar_feed family", "service_worker", "offline_shell")


def test_no_page_with_a_record_on_it_is_kept_by_a_browser(cast: Cast, as_: Clients) -> None:
    """14.3.2; a calendar program may keep the feed, a browser the worker and the empty page, and each asks again."""
    make_drill("putting-ball-gate")
    kept = {}
    for row in [row for row in ROWS if "GET" in row.methods]:
        answer = as_("manager").get(reverse(row.name, args=row.args(cast)))
        kept[f"{row.name} {row.label}".strip()] = answer.headers.get("Cache-Control", "")
    assert all("no-cache" in kept.pop(name) for name in ASKED_AGAIN)
    assert len(kept) > 40
    assert {name: policy for name, policy in kept.items() if "no-store" not in policy} == {}


def test_files_are_sent_under_names_of_ours(cast: Cast, as_: Clients) -> None:
    """5.4.1 and 5.4.2: a name that a person typed stands in no header."""
    Student.objects.filter(pk=cast.student.pk).update(name='Alder "x"; filename=evil.html')
    for row in ROWS:
        if row.name in ("sheet_pdf", "group_pdf", "month_pdf", "paper_log_pdf", "paper_log_blank_pdf", "calendar_feed"):
            answer = as_("coach").get(reverse(row.name, args=row.args(cast)) + "?filename=evil.html")
            if answer.status_code == 200:
                named = answer.headers["Content-Disposition"]
                assert re.fullmatch(r'inline; filename="[a-z-]+(-\d{4}-\d\d-\d\d)?\.(pdf|ics)"', named), named


def test_a_code_made_for_something_else_opens_no_sheet(cast: Cast) -> None:
    """9.2.2: what is signed for one purpose is worth nothing for another."""
    from django.core import signing

    token = shared_token(cast)[0]
    words = str(token).rsplit(":", 1)[0]
    assert Client().get(reverse("shared_sheet", args=[token])).status_code == 200
    for salt in ("coachbook.other", "django.contrib.messages", ""):
        other = signing.Signer(salt=salt or None).sign(words)
        assert Client().get(reverse("shared_sheet", args=[other])).status_code == 404


def test_a_sheet_is_signed_by_our_key_and_no_weaker_way(cast: Cast) -> None:
    """9.1.2 and 9.1.3: neither the way nor the key is the token's to choose."""
    from django.core import signing

    token = shared_token(cast)[0]
    words = str(token).rsplit(":", 1)[0]
    salt = "coachbook.loop.sheet"
    weak = signing.Signer(salt=salt, algorithm="sha1").sign(words)
    foreign = signing.Signer(key="another key", salt=salt).sign(words)
    for forged in (weak, foreign, words, f"{words}:", f"{words}:none"):
        assert Client().get(reverse("shared_sheet", args=[forged])).status_code == 404


def test_a_new_key_of_the_site_ends_no_link(cast: Cast, settings: SimpleNamespace) -> None:
    """11.2.2: the key before it still reads what it signed, until it is taken out."""
    address = reverse("shared_sheet", args=shared_token(cast))
    old, settings.SECRET_KEY = settings.SECRET_KEY, "n" * 60
    assert Client().get(address).status_code == 404
    settings.SECRET_KEY_FALLBACKS = [old]
    assert Client().get(address).status_code == 200


# --- When something breaks ----------------------------------------------------------------------


@pytest.fixture
def broken_gate(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A gate that fails whenever it is asked."""
    gate.students_seen_by.cache_clear()
    monkeypatch.setattr(gate, "relationship_conditions", broken)
    yield
    gate.students_seen_by.cache_clear()


def test_what_broke_is_not_shown(cast: Cast, as_: Clients, broken_gate: None) -> None:
    """16.5.1: neither the words of an error nor where it happened."""
    for path in (reverse("students"), reverse("student", args=[cast.student.key])):
        answer = as_("coach").get(path)
        page = answer.content.decode()
        assert answer.status_code == 500 and "<h1>" in page
        assert not re.search(r"heron|Traceback|OperationalError|\.py|SELECT|django", page, re.IGNORECASE)


def broken(*args: object) -> None:
    raise OperationalError("SELECT heron FROM secrets")


def test_a_gate_that_breaks_lets_nobody_through(cast: Cast, as_: Clients, broken_gate: None) -> None:
    """16.5.3."""
    name = cast.student.name
    answer = as_("coach").post(reverse("student_details", args=[cast.student.key]), {"name": "Changed"})
    cast.student.refresh_from_db()
    assert answer.status_code == 500 and cast.student.name == name and name not in answer.content.decode()


def test_an_error_is_logged_with_where_it_happened(
    cast: Cast, as_: Clients, broken_gate: None, caplog: pytest.LogCaptureFixture
) -> None:
    """16.3.4."""
    as_("coach").get(reverse("students"))
    [record] = [record for record in caplog.records if record.levelname == "ERROR"]
    assert record.exc_info and "relationship_conditions" in caplog.text


# --- Headers that somebody may forge ------------------------------------------------------------


@pytest.mark.parametrize(("proxies", "address"), [(0, "10.1.1.1"), (1, "10.3.3.3"), (2, "10.2.2.2")])
def test_an_address_is_the_one_that_our_own_proxies_saw(proxies: int, address: str, settings: SimpleNamespace) -> None:
    """4.1.3 and 15.3.4: what a visitor writes in front of it counts for nothing."""
    from allauth.account.adapter import get_adapter

    settings.ALLAUTH_TRUSTED_PROXY_COUNT = proxies
    headers = {"X-Forwarded-For": "10.9.9.9, 10.2.2.2, 10.3.3.3", "X-Real-IP": "10.8.8.8", "Forwarded": "for=10.7.7.7"}
    request: HttpRequest = RequestFactory().get("/", headers=headers, REMOTE_ADDR="10.1.1.1")
    assert get_adapter(request).get_client_ip(request) == address


def test_the_way_back_after_signing_in_is_one_word_in_its_address(cast: Cast) -> None:
    """1.2.2: an address within an address is encoded."""
    here = "http://testserver/students/?q=a&next=https://other.example/#x"
    answer = Client().get(reverse("students"), headers={"HX-Request": "true", "HX-Current-URL": here})
    asked = parse_qs(urlsplit(answer.headers["HX-Redirect"]).query)
    assert list(asked) == ["next"] and asked["next"][0].startswith("/students/?q=a&next=")


# --- What takes long ----------------------------------------------------------------------------


def test_one_pdf_is_made_at_a_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """15.2.2: four at once would take four times the memory."""
    busy, most = [0], [0]

    class Slow:
        pages = (1,)

        def __init__(self, **words: object) -> None: ...

        def render(self, **words: object) -> "Slow":
            busy[0] += 1
            most[0] = max(most[0], busy[0])
            time.sleep(0.02)
            busy[0] -= 1
            return self

        def write_pdf(self, **words: object) -> bytes:
            self.render()
            return b"%PDF"

    monkeypatch.setattr("weasyprint.HTML", Slow)
    with ThreadPoolExecutor(4) as pool:
        written = list(pool.map(lambda _: pdf.write_pdf(["<p>"]), range(4)))
    assert written == [b"%PDF"] * 4 and most == [1]
