"""One thread a student, read by the family, the coaches and the managers; sent once, and never changed."""

import re
import uuid
from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.apps import apps
from django.core.exceptions import FieldDoesNotExist
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Consent, Student, User
from coachbook.family.messages.thread import readers_of
from coachbook.family.models import Message
from coachbook.loop.sheets.issue import issue_sheet
from lessons.models import Focus, Observation, SeenFault
from tests.conftest import Cast
from tests.crawl import Reader, crawl
from tests.make import (
    academy_today,
    make_drill,
    make_fault,
    make_guardian,
    make_lesson,
    make_look,
    make_prescription,
    make_skill,
)

Clients = Callable[[str], Client]
READERS = ["student", "guardian", "coach", "cover", "assistant", "manager"]
OTHERS = ["other_student", "past_guardian", "past_coach", "other_coach"]


def page_of(cast: Cast) -> str:
    return reverse("messages", args=[cast.student.key])


def fresh(cast: Cast) -> str:
    return reverse("message_write", args=[cast.student.key, uuid.uuid4()])


def send_address(page: str) -> str:
    """Where the form of a page sends to."""
    found = re.search(r'action="(/students/[\w-]+/messages/[\w-]+/)"', page)
    assert found
    return found[1]


@pytest.mark.parametrize("actor", READERS)
def test_all_of_them_read_what_one_writes(actor: str, cast: Cast, as_: Clients) -> None:
    address = send_address(as_(actor).get(page_of(cast)).content.decode())
    assert as_(actor).post(address, {"text": "Rain at four. Shall we move?"}).url == page_of(cast)  # type: ignore[attr-defined]
    for reader in READERS:
        assert "Rain at four. Shall we move?" in as_(reader).get(page_of(cast)).content.decode(), reader
    assert Message.objects.get().written_by == cast.user(actor)


@pytest.mark.parametrize("actor", OTHERS)
def test_everybody_else_finds_no_thread_and_writes_none(actor: str, cast: Cast, as_: Clients) -> None:
    assert as_(actor).get(page_of(cast)).status_code == 404
    assert as_(actor).post(fresh(cast), {"text": "Hello"}).status_code == 404
    assert not Message.objects.exists()


def named(cast: Cast) -> set[str]:
    people = readers_of(cast.student, cast.academy, academy_today()).people
    return {person.name for person in people}


def let_in(cast: Cast, as_: Clients) -> set[str]:
    """Those of the cast whom the gate lets read the thread."""
    actors = [actor for actor in [*READERS, *OTHERS] if as_(actor).get(page_of(cast)).status_code == 200]
    return {cast.user(actor).name for actor in actors}


def test_the_page_names_everybody_who_reads_it_and_nobody_else(cast: Cast, as_: Clients) -> None:
    """With and without consent to share, and once the child is of age."""
    page = Reader(as_("student").get(page_of(cast)).content.decode()).text
    readers = page.split("Read by ")[1].split(". There are no private")[0]
    assert set(re.split(", | and ", readers)) == named(cast) == let_in(cast, as_)
    Consent.objects.update(withdrawn_at=timezone.now())
    assert named(cast) == let_in(cast, as_) and cast.cover.user.name not in named(cast)
    cast.student.birth_year = academy_today().year - 19
    cast.student.save()
    assert named(cast) == let_in(cast, as_) and cast.guardian.name not in named(cast)


def test_a_closed_account_reads_nothing_and_is_not_named(cast: Cast) -> None:
    User.objects.filter(pk=cast.cover.user_id).update(is_active=False)
    assert cast.cover.user.name not in named(cast) and cast.closed.name not in named(cast)


# --- Writing ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "message"),
    [("", "required"), ("  \n ", "required"), ("x" * 2001, "at most 2000"), ("a\0b", "Null characters")],
)
def test_an_invalid_text_is_refused_beside_the_field_and_stays(
    words: str, message: str, cast: Cast, as_: Clients
) -> None:
    answer = as_("coach").post(fresh(cast), {"text": words})
    page = answer.content.decode()
    assert answer.status_code == 422 and message in page and 'id="id_text_error"' in page
    assert not words.strip() or words.replace("\0", "") in page.replace("\0", "")
    assert not Message.objects.exists()


def test_two_thousand_characters_pass_with_each_lines_end_as_one(cast: Cast, as_: Clients) -> None:
    assert as_("coach").post(fresh(cast), {"text": "x" * 999 + "\r\n" + "y" * 1000}).status_code == 302
    assert len(Message.objects.get().text) == 2000


def test_a_message_is_sent_once(cast: Cast, as_: Clients) -> None:
    address = fresh(cast)
    for _ in range(2):
        assert as_("coach").post(address, {"text": "See you on Friday."}).status_code == 302
    assert Message.objects.count() == 1


def test_another_text_to_a_used_address_is_not_lost(cast: Cast, as_: Clients) -> None:
    address = fresh(cast)
    as_("coach").post(address, {"text": "See you on Friday."})
    answer = as_("coach").post(address, {"text": "No, on Saturday."})
    page = answer.content.decode()
    assert answer.status_code == 422 and "No, on Saturday." in page and send_address(page) != address
    assert Message.objects.get().text == "See you on Friday."
    assert as_("coach").post(send_address(page), {"text": "No, on Saturday."}).status_code == 302


def test_the_address_of_somebody_elses_message_is_not_there(cast: Cast, as_: Clients) -> None:
    address = fresh(cast)
    as_("coach").post(address, {"text": "See you on Friday."})
    assert as_("guardian").post(address, {"text": "See you on Friday."}).status_code == 404
    key = Message.objects.get().key
    elsewhere = reverse("message_write", args=[cast.other_student.key, key])
    assert as_("manager").post(elsewhere, {"text": "See you on Friday."}).status_code != 302
    assert Message.objects.count() == 1


def test_who_writes_about_a_student_that_has_left_reads_that_first_and_nothing_is_lost(
    cast: Cast, as_: Clients
) -> None:
    assert "has left the academy" not in as_("coach").get(page_of(cast)).content.decode()
    cast.student.status = Student.Status.LEFT
    cast.student.save()
    assert "Alder Quimble has left the academy." in as_("coach").get(page_of(cast)).content.decode()
    assert "You have left the academy" in as_("student").get(page_of(cast)).content.decode()
    as_("coach").post(fresh(cast), {"text": "Your putter is still here"})
    assert Message.objects.get().text == "Your putter is still here"


def test_a_text_is_shown_as_typed_and_never_as_html(cast: Cast, as_: Clients) -> None:
    as_("coach").post(fresh(cast), {"text": "<b>Roll</b> it & wait {lead}"})
    page = as_("student").get(page_of(cast)).content.decode()
    assert "&lt;b&gt;Roll&lt;/b&gt; it &amp; wait {lead}" in page and "<b>Roll" not in page


def test_nobody_writes_to_a_junior_while_no_guardian_can_read_it(cast: Cast, as_: Clients) -> None:
    """Safeguarding: an adult and a junior have no private channel."""
    cast.student.birth_year = academy_today().year - 9
    cast.student.save()
    cast.student.guardianships.update(ended_on=date(2025, 1, 1))
    assert "Send it" not in as_("coach").get(page_of(cast)).content.decode()
    for actor in ("coach", "student", "manager"):
        answer = as_(actor).post(fresh(cast), {"text": "Just us"})
        assert answer.status_code == 422 and "Just us" in answer.content.decode()
        assert "No guardian can read this yet" in answer.content.decode()
    assert not Message.objects.exists()
    make_guardian("Second Parent", cast.student)
    assert as_("coach").post(fresh(cast), {"text": "All of us"}).status_code == 302


def test_a_guardian_whose_account_is_closed_does_not_count(cast: Cast, as_: Clients) -> None:
    User.objects.filter(pk=cast.guardian.pk).update(is_active=False)
    cast.student.birth_year = academy_today().year - 9
    cast.student.save()
    assert as_("coach").post(fresh(cast), {"text": "Just us"}).status_code == 422


# --- Reading ------------------------------------------------------------------------------------


def test_the_newest_stands_last_fifty_to_a_page_in_the_same_number_of_queries(
    cast: Cast, as_: Clients, django_assert_max_num_queries: Callable[..., object]
) -> None:
    now = timezone.now()
    for number in range(60):
        values = {"written_by": cast.coach.user, "written_at": now - timedelta(minutes=60 - number)}
        Message.objects.create(student=cast.student, text=f"Word number {number}.", **values)
    client = as_("guardian")
    with django_assert_max_num_queries(18):  # type: ignore[attr-defined]
        page = client.get(page_of(cast)).content.decode()
    assert page.index("Word number 10.") < page.index("Word number 59.") and "Word number 9." not in page
    earlier = client.get(page_of(cast), {"page": "2"}).content.decode()
    assert "Word number 9." in earlier and "Word number 10." not in earlier
    assert client.get(page_of(cast), {"page": "many"}).status_code == 200


@pytest.mark.parametrize("actor", ["student", "guardian", "coach"])
def test_the_thread_is_one_tap_from_the_students_page_and_from_today(actor: str, cast: Cast, as_: Clients) -> None:
    for name in ("student", "today"):
        page = as_(actor).get(reverse(name, args=[cast.student.key])).content.decode()
        assert f'href="{page_of(cast)}"' in page


# --- No other way from a coach to a child ---------------------------------------------------------

# Every text that a coach writes and a student reads. What is new here must be read by the guardians, too.
WRITTEN = {
    "lessons.Lesson.note": "note-canary",
    "lessons.Lesson.keep": "keep-canary",
    "lessons.Focus.what": "what-canary",
    "lessons.Focus.feel": "feel-canary",
    "lessons.Observation.words": "words-canary",
    "drills.Prescription.feel": "given-canary",
    "family.Message.text": "message-canary",
}


@pytest.fixture
def taught(cast: Cast) -> None:
    """A lesson with text in every field."""
    done = {"status": "complete", "completed_at": timezone.now(), "note_reader": "student"}
    words = {"note": WRITTEN["lessons.Lesson.note"], "keep": WRITTEN["lessons.Lesson.keep"]}
    lesson = make_lesson(cast.student, cast.coach, **done, **words)
    skill = make_skill()
    values = {"words": WRITTEN["lessons.Observation.words"], "reader": "student"}
    for kind in ("arrival", "departure"):
        seen = Observation.objects.create(look=make_look(lesson, kind), skill=skill, verdict="not_good", **values)
        SeenFault.objects.create(observation=seen, fault=make_fault(skill), degree="slight")
    focus = Focus.objects.create(
        student=cast.student,
        opened_in=lesson,
        slot=1,
        area="putting",
        what=WRITTEN["lessons.Focus.what"],
        feel=WRITTEN["lessons.Focus.feel"],
    )
    given = {"feel": WRITTEN["drills.Prescription.feel"], "drill": make_drill(), "begins": academy_today()}
    make_prescription(lesson, focus, **given)
    issue_sheet(lesson=lesson, at=timezone.now())
    Message.objects.create(student=cast.student, written_by=cast.coach.user, text=WRITTEN["family.Message.text"])


def found_by(client: Client, cast: Cast) -> dict[str, set[str]]:
    """The coach's texts on each page about the student that a person reaches by following links."""
    pages = crawl(client)
    own = {re.sub(r"began=\d+", "began", at): words for at, words in pages if f"/{cast.student.key}/" in at and words}
    found = {address: set(re.findall(r"\w+-canary", words)) for address, words in own.items()}
    return {address: words for address, words in found.items() if words}  # an address for a fresh row is new each time


def test_guardians_read_every_word_of_a_coach_that_their_child_reads(cast: Cast, taught: None, as_: Clients) -> None:
    child, guardian = found_by(as_("student"), cast), found_by(as_("guardian"), cast)
    assert set.union(*child.values()) == set(WRITTEN.values())
    assert child == guardian


def test_every_field_named_above_is_there() -> None:
    for name in WRITTEN:
        app, model, field = name.split(".")
        try:
            apps.get_model(app, model)._meta.get_field(field)
        except FieldDoesNotExist:
            pytest.fail(name)
