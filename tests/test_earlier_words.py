"""Words that were overwritten: read again and restored by those who may read them, and by nobody else."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Student
from lessons.models import Focus, Lesson, Look, Observation
from tests.conftest import Cast
from tests.make import make_fault, make_lesson, make_look, make_skill

Clients = Callable[[str], Client]
CANARY = "heron-before"


@pytest.fixture
def lesson(cast: Cast) -> Lesson:
    return make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())


def overwrite(row: Any, by: Any = None, **values: str) -> Any:
    """Store these values, then other ones in their place; returns the change as the history has it."""
    readers = {name: value for name, value in values.items() if "reader" in name}
    for words in (values, {**dict.fromkeys(values, "heron-after"), **readers}):
        vars(row).update(_history_user=by, **words)
        row.save()
    return row.history.first()


def page_of(change: Any, student: Student, kind: str = "lesson", name: str = "earlier_words") -> str:
    return reverse(name, args=[student.key, kind, change.history_id])


def restore(client: Client, change: Any, student: Student, field: str, kind: str = "lesson", base: str = "") -> Any:
    """Press the button of the page, as it was drawn."""
    base = base or client.get(page_of(change, student, kind)).context["change"].base
    return client.post(page_of(change, student, kind, "words_restore"), {"field": field, "base": base})


def links(client: Client, student: Student) -> str:
    return client.get(reverse("changes", args=[student.key])).content.decode()


# --- Reading --------------------------------------------------------------------------------------


@pytest.mark.parametrize("field", ["keep", "next_time"])
@pytest.mark.parametrize("actor", ["coach", "cover", "assistant", "manager"])
def test_what_every_coach_reads_is_read_again_in_one_tap(
    actor: str, field: str, lesson: Lesson, cast: Cast, as_: Clients
) -> None:
    change = overwrite(lesson, cast.coach.user, **{field: CANARY})
    assert page_of(change, cast.student) in links(as_(actor), cast.student)
    assert CANARY not in links(as_(actor), cast.student)
    page = as_(actor).get(page_of(change, cast.student)).content.decode()
    assert CANARY in page and "heron-after" in page and "Ida Fernkettle changed a lesson" in page


READS = {
    "coach": {"coach", "manager"},
    "academy": {"coach", "cover", "assistant", "manager"},
    "student": {"coach", "cover", "assistant", "manager"},
}


@pytest.mark.parametrize("reader", READS)
@pytest.mark.parametrize("kind", ["lesson", "observation"])
def test_a_note_is_shown_to_those_for_whom_it_is(
    kind: str, reader: str, lesson: Lesson, cast: Cast, as_: Clients
) -> None:
    change = overwritten_note(kind, lesson, reader)
    for actor in ("coach", "cover", "assistant", "manager"):
        answer = as_(actor).get(page_of(change, cast.student, kind))
        may = actor in READS[reader]
        assert (answer.status_code == 200 and CANARY in answer.content.decode()) == may, actor
        assert (page_of(change, cast.student, kind) in links(as_(actor), cast.student)) == may, actor
        assert may or restore(as_(actor), change, cast.student, "note", kind, base="x").status_code == 404


def overwritten_note(kind: str, lesson: Lesson, reader: str) -> Any:
    if kind == "lesson":
        return overwrite(lesson, note=CANARY, note_reader=reader)
    seen = Observation(look=make_look(lesson), skill=make_skill(), verdict="good")
    return overwrite(seen, words=CANARY, reader=reader)


@pytest.mark.parametrize(("then", "now"), [("academy", "coach"), ("coach", "student")])
def test_a_note_that_was_or_is_private_is_kept_from_other_coaches(
    then: str, now: str, lesson: Lesson, cast: Cast, as_: Clients
) -> None:
    change = overwrite(lesson, note=CANARY, note_reader=then)
    lesson.note_reader = now
    lesson.save()
    for actor, status in [("coach", 200), ("manager", 200), ("cover", 404), ("assistant", 404)]:
        assert as_(actor).get(page_of(change, cast.student)).status_code == status, actor


def test_a_line_that_holds_more_than_the_note_shows_the_rest(lesson: Lesson, cast: Cast, as_: Clients) -> None:
    change = overwrite(lesson, note=CANARY, keep="open-before")
    page = as_("cover").get(page_of(change, cast.student)).content.decode()
    assert "open-before" in page and CANARY not in page
    assert restore(as_("cover"), change, cast.student, "note").status_code == 422
    assert Lesson.objects.get().note == "heron-after"


@pytest.mark.parametrize(("actor", "status"), [("student", 403), ("guardian", 403), ("other_coach", 404)])
def test_who_reads_no_notes_reads_no_earlier_words(
    actor: str, status: int, lesson: Lesson, cast: Cast, as_: Clients
) -> None:
    change = overwrite(lesson, keep=CANARY)
    for answer in (
        as_(actor).get(page_of(change, cast.student)),
        restore(as_(actor), change, cast.student, "keep", base="x"),
    ):
        assert answer.status_code == status and CANARY not in answer.content.decode()


def test_a_lesson_that_was_moved_shows_its_words_under_its_own_student_alone(
    lesson: Lesson, cast: Cast, as_: Clients
) -> None:
    change = overwrite(lesson, keep=CANARY)
    lesson.student = cast.other_student
    lesson.save()
    assert as_("coach").get(page_of(change, cast.student)).status_code == 404
    assert page_of(change, cast.student) not in links(as_("coach"), cast.student)
    assert CANARY in as_("manager").get(page_of(change, cast.other_student)).content.decode()


@pytest.mark.parametrize("number", [0, 2**62, 2**63, 10**30])
@pytest.mark.parametrize("kind", ["lesson", "focus", "observation", "user"])
def test_a_change_that_is_none(kind: str, number: int, cast: Cast, as_: Clients) -> None:
    assert as_("coach").get(reverse("earlier_words", args=[cast.student.key, kind, number])).status_code == 404


def test_a_row_that_was_added_has_no_earlier_words(lesson: Lesson, cast: Cast, as_: Clients) -> None:
    assert as_("coach").get(page_of(lesson.history.last(), cast.student)).status_code == 404


# --- Restoring ------------------------------------------------------------------------------------


def test_a_restored_text_is_a_change_of_its_own(lesson: Lesson, cast: Cast, as_: Clients) -> None:
    change, before = overwrite(lesson, keep=CANARY), lesson.history.count()
    answer = restore(as_("cover"), change, cast.student, "keep")
    assert answer.status_code == 302 and answer.headers["Location"] == reverse("changes", args=[cast.student.key])
    lesson.refresh_from_db()
    assert (lesson.keep, lesson.version) == (CANARY, 1) and lesson.history.count() == before + 1
    assert lesson.history.first().history_user == cast.cover.user
    assert "This is what it says now." in as_("coach").get(page_of(change, cast.student)).content.decode()


def test_what_was_changed_since_is_not_overwritten(lesson: Lesson, cast: Cast, as_: Clients) -> None:
    change = overwrite(lesson, keep=CANARY)
    base = as_("coach").get(page_of(change, cast.student)).context["change"].base
    lesson.keep = "newer words"
    lesson.save()
    answer = restore(as_("coach"), change, cast.student, "keep", base=base)
    page = answer.content.decode()
    assert answer.status_code == 422 and "changed since" in page and CANARY in page and "newer words" in page
    assert Lesson.objects.get().keep == "newer words"
    assert restore(as_("coach"), change, cast.student, "keep", base=answer.context["change"].base).status_code == 302


def test_a_log_that_was_saved_since_counts_as_changed(lesson: Lesson, cast: Cast, as_: Clients) -> None:
    change = overwrite(lesson, keep=CANARY)
    base = as_("coach").get(page_of(change, cast.student)).context["change"].base
    Lesson.objects.update(version=7)
    assert restore(as_("coach"), change, cast.student, "keep", base=base).status_code == 422


@pytest.mark.parametrize("field", ["", "status", "note_reader", "page"])
def test_only_words_are_restored(field: str, lesson: Lesson, cast: Cast, as_: Clients) -> None:
    assert restore(as_("coach"), overwrite(lesson, keep=CANARY), cast.student, field).status_code == 422


def test_a_restored_note_is_for_the_fewest_of_its_readers(lesson: Lesson, cast: Cast, as_: Clients) -> None:
    change = overwrite(lesson, note=CANARY, note_reader="coach")
    lesson.note_reader = "student"
    lesson.save()
    assert restore(as_("coach"), change, cast.student, "note").status_code == 302
    lesson.refresh_from_db()
    assert (lesson.note, lesson.note_reader) == (CANARY, "coach")


@pytest.mark.parametrize("field", ["what", "feel", "reason"])
def test_the_words_of_a_focus(field: str, lesson: Lesson, cast: Cast, as_: Clients) -> None:
    about = {"student": cast.student, "opened_in": lesson, "slot": 1, "area": "putting"}
    focus = Focus(fault=make_fault(make_skill()), **about)
    change = overwrite(focus, **{field: CANARY})
    assert CANARY in as_("assistant").get(page_of(change, cast.student, "focus")).content.decode()
    assert restore(as_("coach"), change, cast.student, field, "focus").status_code == 302
    focus.refresh_from_db()
    assert getattr(focus, field) == CANARY


def test_what_the_database_refuses_says_what_to_do(lesson: Lesson, cast: Cast, as_: Clients) -> None:
    about = {"student": cast.student, "opened_in": lesson, "slot": 1, "area": "putting", "fault": None}
    focus = Focus.objects.create(what="", **about | {"fault": make_fault(make_skill())})
    focus.what, focus.fault = "Soft hands", None
    focus.save()
    answer = restore(as_("coach"), focus.history.first(), cast.student, "what", "focus")
    assert answer.status_code == 422 and "Copy the words into the log" in answer.content.decode()
    focus.refresh_from_db()
    assert focus.what == "Soft hands"


@pytest.mark.parametrize("is_look_gone", [False, True])
def test_words_that_were_deleted_with_their_row_come_back_not_graded(
    is_look_gone: bool, lesson: Lesson, cast: Cast, as_: Clients
) -> None:
    look, skill = make_look(lesson), make_skill()
    Observation.objects.create(look=look, skill=skill, verdict="good", words=CANARY, measure=7).delete()
    if is_look_gone:
        look.delete()
    change = Observation.history.first()
    assert page_of(change, cast.student, "observation") in links(as_("coach"), cast.student)
    assert restore(as_("coach"), change, cast.student, "words", "observation").status_code == 302
    row = Observation.objects.get()
    assert (row.words, row.reader, row.verdict, row.look.kind) == (CANARY, "coach", "not_graded", "arrival")
    assert (row.skill, row.look.lesson) == (skill, lesson) and Look.objects.count() == 1


def test_words_written_anew_in_their_place_stay(lesson: Lesson, cast: Cast, as_: Clients) -> None:
    about = {"look": make_look(lesson), "skill": make_skill(), "verdict": "good"}
    Observation.objects.create(**about, words=CANARY).delete()
    change = Observation.history.first()
    Observation.objects.create(**about, words="written anew")
    assert restore(as_("coach"), change, cast.student, "words", "observation").status_code == 422
    assert Observation.objects.get().words == "written anew"


def test_a_measure_is_restored_as_a_number_and_words_in_place_of_it(lesson: Lesson, cast: Cast, as_: Clients) -> None:
    row = Observation.objects.create(
        look=make_look(lesson), skill=make_skill(), verdict="good", measure=Decimal("-31.5")
    )
    row.measure, row.measure_words = None, "wide"
    row.save()
    to_words = Observation.history.first()
    page = as_("coach").get(page_of(to_words, cast.student, "observation")).content.decode()
    assert "<blockquote>−31.5</blockquote>" in page
    assert restore(as_("coach"), to_words, cast.student, "measure", "observation").status_code == 302
    row.refresh_from_db()
    assert (row.measure, row.measure_words) == (Decimal("-31.5"), "")
    to_number = Observation.history.first()
    assert restore(as_("coach"), to_number, cast.student, "measure_words", "observation").status_code == 302
    row.refresh_from_db()
    assert (row.measure, row.measure_words) == (None, "wide")


# --- Among the rows of others -----------------------------------------------------------------------


@pytest.fixture
def decoys(cast: Cast) -> Callable[[], None]:
    """Other lessons of both students with everything that a lesson has, made before and after one's own."""

    def make() -> None:
        for student in (cast.student, cast.other_student):
            other = make_lesson(student, cast.coach, keep="decoy")
            seen = {"skill": make_skill(), "verdict": "good", "words": "decoy"}
            Observation.objects.create(look=make_look(other, "departure"), **seen)
            slot = 1 + student.focuses.count()
            Focus.objects.create(student=student, opened_in=other, slot=slot, area="putting", what="x", reason="y")

    return make


def test_a_focus_belongs_to_the_lesson_that_opened_it(decoys: Callable[[], None], cast: Cast, as_: Clients) -> None:
    decoys()
    lesson = make_lesson(cast.student, cast.coach)
    about = {
        "student": cast.student,
        "opened_in": lesson,
        "slot": 2,
        "area": "putting",
        "fault": make_fault(make_skill()),
    }
    change = overwrite(Focus(**about), feel=CANARY)
    found = as_("coach").get(page_of(change, cast.student, "focus")).context["change"]
    assert found.lesson == lesson and found.row.what == ""


def test_what_is_saved_elsewhere_is_no_change_here_and_is_left_alone(
    decoys: Callable[[], None], lesson: Lesson, cast: Cast, as_: Clients
) -> None:
    change = overwrite(lesson, keep=CANARY)
    base = as_("coach").get(page_of(change, cast.student)).context["change"].base
    decoys()
    assert restore(as_("coach"), change, cast.student, "keep", base=base).status_code == 302
    others = Lesson.objects.exclude(pk=lesson.pk)
    assert set(others.values_list("keep", "version")) == {("decoy", 0)}


@pytest.mark.parametrize("is_look_gone", [False, True])
def test_deleted_words_come_back_in_their_own_look_beside_those_of_others(
    is_look_gone: bool, decoys: Callable[[], None], cast: Cast, as_: Clients
) -> None:
    decoys()
    lesson, skill = make_lesson(cast.student, cast.coach), make_skill()
    look, elsewhere = make_look(lesson), make_look(make_lesson(cast.student, cast.coach))
    Observation.objects.create(look=elsewhere, skill=skill, verdict="good", words="decoy")
    own = Observation.objects.create(look=look, skill=skill, verdict="good", words=CANARY, measure=7)
    number = own.pk
    own.delete()
    if is_look_gone:
        look.delete()
    else:
        Observation.objects.create(look=look, skill=make_skill(), verdict="good", words="decoy")
    decoys()
    change = Observation.history.get(id=number, history_type="-")
    assert as_("coach").get(page_of(change, cast.student, "observation")).context["change"].lesson == lesson
    assert restore(as_("coach"), change, cast.student, "words", "observation").status_code == 302
    row = Observation.objects.get(words=CANARY)
    assert (row.look.lesson, row.look.kind, row.skill) == (lesson, "arrival", skill)
    assert Observation.objects.filter(words="decoy").count() == (5 if is_look_gone else 6)


def test_neither_page_asks_more_the_more_was_changed(lesson: Lesson, cast: Cast, as_: Clients) -> None:
    client = as_("manager")

    def queries(address: str) -> int:
        client.get(address)
        with CaptureQueriesContext(connection) as asked:
            assert client.get(address).status_code == 200
        return len(asked)

    pages = [reverse("changes", args=[cast.student.key]), page_of(overwrite(lesson, keep="one"), cast.student)]
    few = [queries(page) for page in pages]
    for number in range(5):
        overwritten_note("observation", make_lesson(cast.student, cast.coach), "academy")
        overwrite(lesson, keep=str(number))
    assert [queries(page) for page in pages] == few and max(few) <= 12, few
