"""What people type stays text: no markup, no query, no template, no field that was not offered.

Ids are those of OWASP ASVS 5.0.0.
"""

import html
import inspect
import uuid
from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path

import pytest
from django import forms
from django.conf import settings
from django.test import Client
from django.urls import reverse

from coachbook.accounts.models import Student, User
from coachbook.family.models import Message
from lessons.models import Fault
from tests.conftest import Cast
from tests.make import make_student
from tests.security.row import own_history

Clients = Callable[[str], Client]


def write(client: Client, student: Student, text: str) -> str:
    """Send a message, and read the page that shows it."""
    client.post(reverse("message_write", args=[student.key, uuid.uuid4()]), {"text": text})
    return client.get(reverse("messages", args=[student.key])).content.decode()


@pytest.mark.parametrize(
    "text", ["%3Cb%3E", "%253Cb%253E", "&lt;b&gt;", "&amp;lt;b&amp;gt;", "\\u003cb\\u003e", "+a%20b"]
)
def test_what_looks_encoded_is_decoded_no_further(text: str, cast: Cast, as_: Clients) -> None:
    """1.1.1: once, on the way in; it is stored and shown as it was typed."""
    page = write(as_("coach"), cast.student, text)
    assert Message.objects.get().text == text and html.escape(text) in page
    search = as_("coach").get(reverse("students"), {"q": text}).content.decode()
    assert f'value="{html.escape(text)}"' in search


@pytest.mark.parametrize(
    "text", ["{{ 7|add:7 }} {% now 'Y' %}", "{lead} {open}", "${7*7} #{7*7} <%= 7*7 %>", "{0.__class__} %s %(x)s"]
)
def test_a_template_that_somebody_types_is_text(text: str, cast: Cast, as_: Clients) -> None:
    """1.3.5, 1.3.7 and 1.3.10."""
    assert html.escape(text) in write(as_("coach"), cast.student, text)


@pytest.mark.parametrize(
    "words", ["' OR '1'='1", "%", "_", "x' UNION SELECT password FROM accounts_user --", '"; DROP TABLE x; --']
)
def test_a_query_that_somebody_types_finds_nobody(words: str, cast: Cast, as_: Clients) -> None:
    """1.2.4."""
    page = as_("manager").get(reverse("students"), {"q": words}).content.decode()
    assert cast.student.name not in page and Student.objects.count() == 2


def test_words_end_no_script(cast: Cast, as_: Clients) -> None:
    """1.2.3: the numbers of a chart stand in the page as JSON."""
    args = own_history(cast)
    Fault.objects.update(name="</script><script>heron()</script>", goal="</script><!-- heron", plain="]]> heron")
    page = as_("coach").get(reverse("progress_explore", args=args)).content.decode()
    assert "heron" in page and "<script>heron" not in page and "</script><!--" not in page


def test_a_field_that_was_not_offered_is_not_taken(cast: Cast, as_: Clients) -> None:
    """15.3.3: neither a role nor a password nor a link to somebody else's account."""
    sly = {"is_manager": "on", "is_superuser": "on", "is_active": "", "password": "x", "user": cast.manager.pk,
           "pk": cast.other_student.pk, "id": cast.other_student.pk, "key": cast.other_student.key}  # fmt: skip
    student = make_student("Flora Larkwren", coach=cast.coach, account=False)
    as_("coach").post(reverse("student_invite", args=[student.key]), {"username": "flora", **sly})
    page = as_("coach").get(reverse("student_details", args=[student.key]))
    typed = {field.html_name: field.value() for field in page.context["form"] if field.value() is not None}
    assert as_("coach").post(reverse("student_details", args=[student.key]), {**typed, **sly}).status_code == 302
    flora = User.objects.get(username="flora")
    assert not flora.is_manager and flora.is_active and not flora.has_usable_password()
    student.refresh_from_db()
    assert student.user == flora and Student.objects.get(name="Petra Sallowpipit").pk == cast.other_student.pk


def test_a_value_in_the_address_is_none_of_the_form(cast: Cast, as_: Clients) -> None:
    """15.3.7: and of a value that is sent twice the last one counts, once."""
    address = reverse("person_invite") + "?role=manager&name=Sly+Fox&username=sly"
    assert as_("manager").post(address, {"name": "Wren Alderjay"}).status_code == 422
    typed = {"name": ["Sly Fox", "Wren Alderjay"], "role": ["manager", "coach"], "username": ["sly", "wren"]}
    as_("manager").post(address, typed)
    wren = User.objects.get(username="wren")
    assert wren.name == "Wren Alderjay" and wren.is_coach and not wren.is_manager
    assert not User.objects.filter(username="sly").exists()


@pytest.mark.parametrize(
    "number", ["9" * 30, "-" + "9" * 30, "1e309", "2147483648", "9223372036854775808", "NaN", "0x10"]
)
def test_no_number_is_too_large_for_an_answer(number: str, cast: Cast, as_: Clients) -> None:
    """1.4.2."""
    round_report = reverse("round_report", args=[cast.student.key, uuid.uuid4()])
    typed = dict.fromkeys(["holes", "putts", "three_putts", "tried", "made"], number)
    assert as_("coach").post(round_report, typed).status_code == 422
    for address in (reverse("students"), reverse("caseload"), reverse("messages", args=[cast.student.key])):
        asked = dict.fromkeys(["page", "days", "since", "day"], number)
        assert as_("manager").get(address, asked).status_code in (200, 422)
    assert not cast.student.rounds.exists()


def test_a_text_that_is_too_long_is_refused_and_stays_on_the_page(cast: Cast, as_: Clients) -> None:
    """1.3.3: letter 4,001 is one too many, and no browser cuts it off."""
    address = reverse("lesson", args=[cast.student.key, uuid.uuid4()])
    drawn = as_("coach").get(address).context
    typed = {"page": drawn["page"], "base": str(drawn["base"]), "count": "1", "putting": "on", "note": "n" * 4001}
    typed["day"] = drawn["lesson_form"].today.isoformat()
    answer = as_("coach").post(address, typed)
    text = answer.content.decode()
    assert answer.status_code == 422 and "n" * 4001 in text and "at most 4000 characters" in text
    assert "maxlength" not in text.split('name="note"')[1].split(">")[0]


def own_forms() -> Iterator[type[forms.BaseForm]]:
    """Every class of forms of ours."""
    for folder in ("coachbook", "lessons", "drills"):
        for file in sorted(Path(settings.BASE_DIR, folder).rglob("*.py")):
            if "forms" in file.stem or file.stem in ("views", "academy", "sign_in"):
                module = import_module(".".join(file.relative_to(settings.BASE_DIR).with_suffix("").parts))
                for _, found in inspect.getmembers(module, inspect.isclass):
                    is_whole = hasattr(found, "base_fields")  # what forms share by inheritance has no fields yet
                    if issubclass(found, forms.BaseForm) and found.__module__ == module.__name__ and is_whole:
                        yield found


def test_every_text_has_a_greatest_length() -> None:
    """1.3.3 and 2.2.1."""
    found = [(form, name, field) for form in own_forms() for name, field in form.base_fields.items()]
    texts = [(form, name, field) for form, name, field in found if isinstance(field, forms.CharField)]
    assert len(texts) > 20
    endless = [f"{form.__qualname__}.{name}" for form, name, field in texts if not field.max_length]
    endless = [name for name in endless if "password" not in name]  # of any length: see test_passwords
    assert sorted(set(endless)) == []
