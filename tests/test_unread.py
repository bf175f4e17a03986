"""Nobody unheard: what is new stands where each reader begins, until they have read it, and a note can be answered."""

import re
from collections.abc import Callable
from datetime import timedelta
from html import unescape

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.family.models import Message
from drills.models import PracticeEntry
from lessons.models import Focus
from tests.conftest import Cast
from tests.make import academy_today, make_lesson, make_prescription, make_student, this_time

Clients = Callable[[str], Client]
HEEL = "I cannot come on Monday, my heel hurts."


def noted(cast: Cast, words: str, **values: object) -> PracticeEntry:
    """A report of practice with a note by the student."""
    lesson = make_lesson(cast.student, cast.coach, days_ago=9, status="complete", completed_at=timezone.now())
    focus = Focus.objects.create(student=cast.student, opened_in=lesson, slot=1, area="putting", what="A steady head")
    given = make_prescription(lesson, focus)
    return PracticeEntry.objects.create(prescription=given, amount=10, note=words, **{"day": academy_today(), **values})


def starts_of(cast: Cast, actor: str) -> list[str]:
    """The pages on which somebody's day begins, and the student's own."""
    key = cast.student.key
    if actor in ("student", "guardian"):
        return [reverse(name, args=[key]) for name in ("today", "student")]
    return [reverse("day"), reverse("students")]


def news(client: Client, address: str) -> list[str]:
    """What a page says is new."""
    page = unescape(client.get(address).content.decode())
    of_one = re.findall(r">(New[^<]*: [^<]*)</a>", page)
    return of_one or re.findall(r'<li><a href="[^"]*/messages/">([^<]*)</a>', page)


def thread(client: Client, cast: Cast, **asked: object) -> str:
    return unescape(client.get(reverse("messages", args=[cast.student.key]), asked).content.decode())


def read(client: Client, cast: Cast) -> None:
    """Press the button that says so, as the page gives it."""
    page = thread(client, cast)
    typed = dict(re.findall(r'name="(message|note)" value="(\d+)"', page))
    assert client.post(reverse("messages_read", args=[cast.student.key]), typed).status_code == 302


def write(client: Client, cast: Cast, text: str, **about: object) -> None:
    page = thread(client, cast, **about)
    address = re.findall(r'action="([^"]*/messages/[0-9a-f-]{36}/)"', page)[0]
    answers = re.findall(r'name="answers" value="([^"]*)"', page)
    typed = {"text": text, "answers": answers[0] if answers else ""}
    assert client.post(address, typed).status_code == 302


@pytest.mark.parametrize("actor", ["coach", "cover", "assistant", "guardian"])
def test_what_a_student_writes_stands_where_each_of_them_begins_until_it_is_read(
    actor: str, cast: Cast, as_: Clients
) -> None:
    write(as_("student"), cast, HEEL)
    who = "New from Alder Quimble: 1 message"
    for address in starts_of(cast, actor):
        assert news(as_(actor), address) == [who], address
    thread(as_(actor), cast)
    assert news(as_(actor), starts_of(cast, actor)[0]) == [who], "a page that is only opened by a link reads nothing"
    read(as_(actor), cast)
    for address in starts_of(cast, actor):
        assert news(as_(actor), address) == []
    write(as_("student"), cast, "And on Tuesday?")
    assert news(as_(actor), starts_of(cast, actor)[0]) == [who]


def test_nobody_is_told_of_their_own_words_or_of_others_students(cast: Cast, as_: Clients) -> None:
    write(as_("coach"), cast, "See you.")
    assert news(as_("student"), reverse("today", args=[cast.student.key])) == ["New: 1 message"]
    assert news(as_("coach"), reverse("day")) == []
    for actor in ("other_coach", "past_coach"):
        assert news(as_(actor), reverse("day")) == []


def test_each_reads_for_themselves(cast: Cast, as_: Clients) -> None:
    write(as_("student"), cast, HEEL)
    read(as_("cover"), cast)
    assert news(as_("coach"), reverse("day")) == ["New from Alder Quimble: 1 message"]
    assert news(as_("cover"), reverse("day")) == []


def test_a_note_from_practice_is_news_and_is_answered_beside_it(cast: Cast, as_: Clients) -> None:
    """The answer is a message, read by the student and the guardian as all others are."""
    note = noted(cast, "Is the string too low?")
    assert news(as_("coach"), reverse("day")) == ["New from Alder Quimble: 1 note from practice"]
    assert news(as_("student"), reverse("today", args=[cast.student.key])) == [], "it is the student's own"
    page = thread(as_("coach"), cast)
    assert "Is the string too low?" in page and f"?answers={note.key}#id_text" in page
    asked = thread(as_("coach"), cast, answers=note.key)
    assert "<b>Your answer to:</b> Is the string too low?" in asked
    write(as_("coach"), cast, "At the height of your knee.", answers=note.key)
    assert Message.objects.get().answers == note
    for actor in ("student", "guardian"):
        beside = thread(as_(actor), cast).split("Is the string too low?")[1].split("</li>")[0]
        assert "At the height of your knee." in beside
    assert news(as_("student"), reverse("today", args=[cast.student.key])) == ["New: 1 message"]
    read(as_("coach"), cast)
    assert news(as_("coach"), reverse("day")) == []


def test_a_guardians_note_is_news_to_the_student_and_not_to_the_guardian(cast: Cast, as_: Clients) -> None:
    noted(cast, "She liked it.", source="guardian")
    assert news(as_("guardian"), reverse("today", args=[cast.student.key])) == []
    assert news(as_("student"), reverse("today", args=[cast.student.key])) == ["New: 1 note from practice"]


def test_what_was_undone_is_old_or_says_nothing_is_no_news(cast: Cast, as_: Clients) -> None:
    entry = noted(cast, "", is_void=False)
    for values in ({"note": ""}, {"note": "Hm.", "is_void": True}, {"note": "Hm.", "day": academy_today()}):
        PracticeEntry.objects.filter(pk=entry.pk).update(**values)
        assert news(as_("coach"), reverse("day")) == []
    long_ago = {"is_void": False, "day": academy_today() - timedelta(days=90)}
    PracticeEntry.objects.filter(pk=entry.pk).update(**long_ago)
    Message.objects.create(
        student=cast.student,
        written_by=cast.guardian,
        text="Old",
        written_at=this_time(days_ago=90),
    )
    assert news(as_("coach"), reverse("day")) == []


def test_another_students_note_is_answered_by_nobody_here(cast: Cast, as_: Clients) -> None:
    note = noted(cast, "Is the string too low?")
    other = make_student("Wilf Tarkle", coach=cast.coach, birth_year=1990)
    address = reverse("messages", args=[other.key])
    assert "string" not in as_("coach").get(address, {"answers": str(note.key)}).content.decode()
    send = re.findall(r'action="([^"]*/messages/[0-9a-f-]{36}/)"', as_("coach").get(address).content.decode())[0]
    as_("coach").post(send, {"text": "Hello", "answers": str(note.key)})
    assert Message.objects.get().answers is None


@pytest.mark.parametrize("typed", [{}, {"message": "-1", "note": "x"}, {"message": "9" * 30}, {"message": "٣"}])
def test_odd_numbers_read_nothing(cast: Cast, as_: Clients, typed: dict[str, str]) -> None:
    write(as_("student"), cast, HEEL)
    as_("coach").post(reverse("messages_read", args=[cast.student.key]), typed)
    assert news(as_("coach"), reverse("day")) == ["New from Alder Quimble: 1 message"]


def test_nobody_reads_what_is_still_to_be_written(cast: Cast, as_: Clients) -> None:
    write(as_("student"), cast, HEEL)
    as_("coach").post(reverse("messages_read", args=[cast.student.key]), {"message": "999999", "note": "999999"})
    assert news(as_("coach"), reverse("day")) == []
    write(as_("student"), cast, "And on Tuesday?")
    assert news(as_("coach"), reverse("day")) == ["New from Alder Quimble: 1 message"]


def test_many_threads_take_one_query_and_500_messages_are_counted(cast: Cast, as_: Clients) -> None:
    texts = [Message(student=cast.student, written_by=cast.guardian, text=f"{n}") for n in range(500)]
    Message.objects.bulk_create(texts)
    counts = []
    for number in range(3):
        student = make_student(f"Student {number}", coach=cast.coach)
        Message.objects.create(student=student, written_by=student.user, text="Hello")
        with CaptureQueriesContext(connection) as queries:
            found = news(as_("coach"), reverse("day"))
        assert found[0] == "Alder Quimble: 500 messages" and len(found) == number + 2
        counts.append(len(queries))
    assert counts[1] == counts[2] <= 12
