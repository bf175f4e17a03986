"""A focus in a coach's own words is looked at, counted and drawn like one on a fault; its words stay in one record."""

import uuid
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Coach, Student
from coachbook.corrections.models import Correction
from coachbook.loop.log.own_words import FocusRow
from lessons.derived import recompute_all
from lessons.history import OwnWords, fault_histories, judge_histories, judged_histories, rules_of
from lessons.log import find_completion_problems
from lessons.models import Fault, Focus, Lesson, Look, MonthCount, Outcome, SeenFocus, Session
from tests.conftest import Cast
from tests.make import make_fault, make_lesson, make_look, make_skill, make_student, this_time
from tests.test_brief import STORIES
from tests.test_log import HTMX, Page, message_beside
from tests.test_progress import DEGREES, DONE, look_at, open_focus, page_of, weeks
from tests.test_progress_page import text_of

Clients = Callable[[str], Client]
PENCIL = "Zanzibar pencil grip"


@pytest.fixture
def elsewhere(cast: Cast) -> Fault:
    return make_fault(make_skill(name="Lead wrist"), name="{Lead} hand stops", goal="{Lead} hand leads on")


def own_words(lesson: Lesson, what: str = PENCIL, slot: int = 1, **values: Any) -> Focus:
    about = {"student": lesson.student, "area": "putting", "what": what, "slot": slot, "opened_in": lesson}
    return Focus.objects.create(**{**about, **values})


def show(lesson: Lesson, letter: str, focus: Focus, kind: str = "arrival") -> None:
    """A look at a focus that showed: m clear, s slight, u not good and not graded, c good, - not looked at."""
    if letter != "-":
        look = lesson.looks.filter(kind=kind).first() or make_look(lesson, kind)
        SeenFocus.objects.create(look=look, focus=focus, degree={**DEGREES, "c": "good"}[letter])


def lessons_of(student: Student, coach: Coach, number: int) -> list[Lesson]:
    """One lesson a week, the last one on 1 June 2026."""
    return [make_lesson(student, coach, days_ago=7 * (number - 1 - n), **DONE) for n in range(number)]


def practise(cast: Cast, letters: str, **values: Any) -> tuple[Focus, list[Lesson]]:
    """A focus opened in the first of some weekly lessons, and what each arrival showed of it."""
    lessons = lessons_of(cast.student, cast.coach, len(letters))
    focus = own_words(lessons[0], **values)
    for lesson, letter in zip(lessons, letters, strict=True):
        show(lesson, letter, focus)
    return focus, lessons


def words_of(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return text_of(answer.content.decode())


# --- What follows from the looks ----------------------------------------------------------------


def test_the_same_looks_come_to_the_same_judgement_as_of_a_fault(cast: Cast, elsewhere: Fault) -> None:
    for arrivals, departures, spans in STORIES.values():
        student = make_student(coach=cast.coach, account=False)
        lessons = lessons_of(student, cast.coach, len(arrivals))
        for first, last in spans:
            closed_in = None if last is None else lessons[last]
            focus = own_words(lessons[first], closed_in=closed_in)
            open_focus(lessons[first], elsewhere, slot=2, closed_in=closed_in)
        for lesson, *letters in zip(lessons, arrivals, departures, strict=True):
            for kind, letter in zip(("arrival", "departure"), letters, strict=True):
                look_at(lesson, letter, elsewhere, kind)
                show(lesson, letter, focus, kind)
        own, named = judged_histories(student, rules_of(Academy.current()))
        assert isinstance(own.history.fault, OwnWords) and own.history.fault.name == PENCIL
        since_opened = replace(named.history, points=named.history.points[spans[0][0] :])
        assert (own.history.points, own.history.spans) == (since_opened.points, since_opened.spans)
        (expected,) = judge_histories([since_opened], rules_of(Academy.current()))
        assert own.judgement == expected.judgement and own.judgement.state == named.judgement.state


def test_only_arrivals_of_finished_lessons_to_which_they_came_count(cast: Cast) -> None:
    focus, lessons = practise(cast, "msc")
    show(lessons[0], "c", focus, "course")
    show(lessons[0], "c", focus, "clip")
    for values in ({"status": "draft", "completed_at": None}, {**DONE, "attendance": "absent"}):
        Lesson.objects.filter(pk=lessons[1].pk).update(**values)
        (found,) = fault_histories(cast.student)
        assert [(point.level, point.departure) for point in found.points] == [("2", "none"), ("0", "none")]


def test_the_same_words_opened_again_are_one_history_and_other_words_are_another(cast: Cast) -> None:
    lessons = lessons_of(cast.student, cast.coach, 4)
    first = own_words(lessons[0], "Pencil grip", closed_in=lessons[1])
    second = own_words(lessons[2], " pencil GRIP")
    own_words(lessons[2], "Pencil grip", slot=2, area="chipping")
    for lesson, focus in ((lessons[1], first), (lessons[2], second), (lessons[3], second)):
        show(lesson, "m", focus)
    one, other = fault_histories(cast.student)
    assert [point.level for point in one.points] == ["none", "2", "2", "2"] and len(one.spans) == 2
    assert [point.level for point in other.points] == ["none"] * 2 and len(other.spans) == 1


def test_a_trial_that_was_dropped_has_no_history_and_one_that_was_kept_has(cast: Cast) -> None:
    trial = {"kind": "trial", "decide_on": "2026-07-01", "decision": "dropped"}
    lessons = practise(cast, "mc", **trial)[1]
    Focus.objects.update(closed_in=lessons[1])
    assert fault_histories(cast.student) == []
    Focus.objects.update(decision="kept")
    assert len(fault_histories(cast.student)) == 1


def test_own_words_are_gathered_without_a_query_more(
    cast: Cast, elsewhere: Fault, django_assert_max_num_queries: Any
) -> None:
    lessons = weeks(cast, "mmm", elsewhere)
    show(lessons[1], "s", own_words(lessons[0]))
    student = Student.objects.get(pk=cast.student.pk)
    with django_assert_max_num_queries(4):
        assert len(fault_histories(student)) == 2


def test_the_database_takes_one_look_at_a_focus_and_no_unknown_degree(cast: Cast) -> None:
    focus, lessons = practise(cast, "m")
    look = Look.objects.get()
    for look_of, degree in ((look, "good"), (make_look(lessons[0], "departure"), "splendid")):
        with pytest.raises(IntegrityError), transaction.atomic():
            SeenFocus.objects.create(look=look_of, focus=focus, degree=degree)


# --- The pages ----------------------------------------------------------------------------------


def test_a_coach_reads_state_strip_counts_and_how_sure_this_is(cast: Cast, as_: Clients) -> None:
    practise(cast, "mmsccccc")
    page = page_of(as_("coach"), cast.student)
    words = text_of(page)
    assert f"1 focus is open: 1 holding. {PENCIL} holding" in words
    assert "Seen on 3 of the 8 arrivals where it was looked at." in words
    assert "These are a coach’s own words: seen means that it was not good yet." in words
    assert page.count('<g class="level-2"') == 2 and page.count('<g class="level-0"') == 5
    assert f"How sure is this? {PENCIL}" in words


def test_a_focus_on_a_fault_says_nothing_of_own_words(cast: Cast, elsewhere: Fault, as_: Clients) -> None:
    open_focus(weeks(cast, "mm", elsewhere)[0], elsewhere)
    assert "own words" not in text_of(page_of(as_("coach"), cast.student))


@pytest.mark.parametrize("actor", ["student", "guardian"])
def test_a_student_reads_how_it_goes_in_kind_words(actor: str, cast: Cast, as_: Clients) -> None:
    lessons = practise(cast, "mmscu", what="The {lead} hand low")[1]
    own_words(lessons[0], "A {smile}", slot=2)
    words = text_of(page_of(as_(actor), cast.student))
    assert "The left hand low" in words and "A {smile}" in words and "You are working on 2 things now." in words
    assert "still learning" in words and "Good on 1 of the last 5 times we looked" in words
    assert not {"slight", "clear", "fault", "seen"} & set(words.lower().split())


def test_it_can_be_zoomed_into_here_and_nowhere_else(cast: Cast, as_: Clients) -> None:
    focus, _ = practise(cast, "msc")
    address = reverse("progress_explore", args=[cast.student.key, focus.key])
    assert address in page_of(as_("coach"), cast.student)
    assert PENCIL in words_of(as_("coach"), address) and PENCIL in words_of(as_("student"), address)
    assert as_("other_coach").get(address).status_code == 404
    other = reverse("progress_explore", args=[make_student("Linnet Mopple", coach=cast.coach).key, focus.key])
    assert as_("coach").get(other).status_code == 404


def test_the_brief_says_state_last_look_and_what_became_of_changes(cast: Cast, as_: Clients) -> None:
    focus, lessons = practise(cast, "mmm", kind="trial", decide_on="2026-06-20")
    for lesson in lessons[:2]:
        show(lesson, "c", focus, "departure")
    words = words_of(as_("coach"), reverse("brief", args=[cast.student.key]))
    assert "Does not hold: the last 2 changes were lost by the next arrival." in words
    assert "arrival clear" in words and "not counted" not in words and "Trial" in words
    assert "none held, none held partly, 2 were lost by the next arrival." in words


def test_a_trial_that_a_draft_drops_says_so_in_the_brief(cast: Cast, as_: Clients) -> None:
    practise(cast, "m", kind="trial", decide_on="2026-06-20")
    draft = make_lesson(cast.student, cast.coach)
    Focus.objects.update(closed_in=draft, decision="dropped")
    words = words_of(as_("coach"), reverse("brief", args=[cast.student.key]))
    assert "Dropped in a log that is not finished: opened 1 Jun 2026." in words


# --- Whose words they are -----------------------------------------------------------------------


def test_the_words_of_one_student_are_in_no_other_record_and_in_no_finding(cast: Cast, as_: Clients) -> None:
    focus, lessons = practise(cast, "mmc")
    show(lessons[0], "c", focus, "departure")
    other = make_student("Linnet Mopple", coach=cast.coach)
    make_lesson(other, cast.coach, **DONE)
    pages = [reverse(name, args=[other.key]) for name in ("progress", "brief", "student")]
    pages += [reverse("lesson", args=[other.key, uuid.uuid4()]), reverse("academy_progress")]
    for address in pages:
        assert "Zanzibar" not in words_of(as_("manager" if address == pages[-1] else "coach"), address)
    assert fault_histories(other) == []
    recompute_all()
    assert not Outcome.objects.exists() and not MonthCount.objects.exists()


def test_two_students_with_the_same_words_have_a_history_each(cast: Cast) -> None:
    practise(cast, "mm")
    other = make_student("Linnet Mopple", coach=cast.coach)
    lesson = make_lesson(other, cast.coach, **DONE)
    show(lesson, "c", own_words(lesson))
    levels = [[point.level for point in fault_histories(who)[0].points] for who in (cast.student, other)]
    assert levels == [["2", "2"], ["0"]]


# --- The log ------------------------------------------------------------------------------------


def test_a_log_is_finished_by_what_was_seen_of_its_own_student_s_own_words_alone(cast: Cast, elsewhere: Fault) -> None:
    """A moved lesson holds looks at another student's focus, and words may become a fault of the catalogue."""
    lesson, theirs = make_lesson(cast.student, cast.coach), make_lesson(make_student(coach=cast.coach), cast.coach)
    earlier = make_lesson(cast.student, cast.coach, days_ago=7, **DONE)
    mine, another = own_words(earlier), own_words(theirs)
    fault = Focus.objects.create(student=cast.student, fault=elsewhere, slot=2, opened_in=earlier)
    for focus, is_missing in ((another, True), (fault, True), (mine, False)):
        show(lesson, "c", focus)
        missing = [anchor for anchor, _ in find_completion_problems(lesson)]
        assert missing == (["id_keep"] if is_missing else []), focus


@pytest.fixture
def focus(cast: Cast) -> Focus:
    """A focus in own words that was opened a week ago, and not good on arrival then."""
    lesson = make_lesson(cast.student, cast.coach, **DONE)
    Session.objects.filter(pk=lesson.session_id).update(starts_at=this_time(days_ago=7))
    focus = own_words(lesson)
    show(lesson, "s", focus)
    return focus


@pytest.fixture
def page(focus: Focus, cast: Cast, as_: Clients) -> Page:
    return Page(as_("coach"), cast.student)


def here() -> Lesson:
    return Lesson.objects.latest("pk")


def stored() -> list[tuple[str, str]]:
    found = SeenFocus.objects.filter(look__lesson=here()).order_by("look__kind")
    return [(row.look.kind, row.degree) for row in found]


def degrees_of(row: FocusRow) -> list[tuple[Focus, list[str]]]:
    """What a row is drawn with: the focus, and its degree at each look."""
    return [(fault.fault, [degree for _, degree in fault.looks]) for fault in row.first]


def test_a_log_holds_a_row_for_each_look_and_what_was_seen_last_time(page: Page, focus: Focus) -> None:
    form = page.answer.context["lesson_form"]
    (row,) = form.own_words_rows
    assert str(row.skill) == PENCIL and row.last_time == [("arrival", "slight")]
    assert [look.name for look in row.looks] == [f"a.focus-{focus.key}", f"d.focus-{focus.key}"]
    assert degrees_of(row) == [(focus, ["", ""])]
    assert form.open_rows == [(form.continuing[0], row)] and form.other_own_words == []


def test_what_was_seen_of_it_is_stored_with_its_history(page: Page, focus: Focus, cast: Cast) -> None:
    name = focus.code
    assert page.see("a", name, "clear").see("d", f"{name}.good", "on").send(HTMX).status_code == 201
    assert stored() == [("arrival", "clear"), ("departure", "good")]
    page.see("a", name, "not_graded").send(HTMX, count="2")
    assert stored() == [("arrival", "not_graded"), ("departure", "good")]
    page.open()
    (row,) = page.answer.context["lesson_form"].own_words_rows
    assert [look.seen.good for look in row.looks] == [False, True] and degrees_of(row) == [(focus, ["not_graded", ""])]
    history = SeenFocus.objects.get(degree="not_graded").history.all()  # type: ignore[attr-defined]
    assert [(past.history_type, past.history_user) for past in history] == [
        ("~", cast.coach.user),
        ("+", cast.coach.user),
    ]


def test_what_is_cleared_is_not_looked_at_and_its_history_stays(page: Page, focus: Focus) -> None:
    page.see("a", focus.code, "slight").send(HTMX)
    page.see("a", focus.code, "splendid").send(HTMX, count="2")
    assert stored() == [] and not here().looks.exists()
    assert SeenFocus.history.filter(history_type="-").count() == 1  # type: ignore[attr-defined]


def test_a_look_that_holds_something_else_stays(page: Page, focus: Focus, cast: Cast) -> None:
    skill = make_skill("grip")
    page.see("a", focus.code, "slight").see("a", "grip.good", "on").send(HTMX)
    page.see("a", "grip.good", "").type(**{"a.grip.good": []}).send(HTMX, count="2")
    assert stored() == [("arrival", "slight")] and not skill.observations.exists()
    page.see("a", "grip.good", "on").see("a", focus.code, "").send(HTMX, count="3")
    assert stored() == [] and skill.observations.count() == 1


def test_good_and_not_good_at_once_is_an_error_beside_the_row(page: Page, focus: Focus) -> None:
    answer = page.see("a", focus.code, "slight").see("a", f"{focus.code}.good", "on").send(HTMX, keep="Calm")
    assert answer.status_code == 422
    assert message_beside(answer, f"a-{focus.code}") == "It cannot be good and not good at once: clear one of the two."
    assert stored() == [] and here().keep == "Calm"


def test_a_departure_needs_an_arrival_before_the_lesson_is_finished(page: Page, focus: Focus) -> None:
    answer = page.see("d", f"{focus.code}.good", "on").send(done="1")
    assert answer.status_code == 422
    (problem,) = answer.context["lesson_form"].problems
    assert problem[0] == f"d-{focus.code}" and problem[1].startswith(f"{PENCIL}: not looked at on arrival")
    assert page.see("a", focus.code, "slight").send(done="1", count="2").status_code == 302


def test_a_look_at_it_alone_is_enough_to_finish(page: Page, focus: Focus, cast: Cast) -> None:
    assert page.see("a", f"{focus.code}.good", "on").send(done="1").status_code == 302
    (found,) = fault_histories(cast.student)
    assert [point.level for point in found.points] == ["1", "0"]


def test_its_area_stays_ticked(page: Page, focus: Focus) -> None:
    Focus.objects.update(area="chipping")
    answer = page.see("a", focus.code, "slight").send(HTMX)
    assert answer.status_code == 422 and "Chipping was looked at" in answer.content.decode()


def test_a_look_at_the_focus_of_another_student_is_not_stored(page: Page, cast: Cast) -> None:
    other = own_words(make_lesson(cast.other_student, cast.other_coach, **DONE))
    page.see("a", other.code, "clear").send(HTMX)
    assert not SeenFocus.objects.filter(focus=other).exists()


def test_a_focus_on_a_fault_has_no_row_of_its_own(page: Page, focus: Focus, elsewhere: Fault) -> None:
    Focus.objects.update(fault=elsewhere)
    page.open()
    assert page.answer.context["lesson_form"].own_words_rows == []


def test_an_old_log_keeps_what_it_saw_of_a_focus_that_was_closed_since(page: Page, focus: Focus, cast: Cast) -> None:
    page.see("a", focus.code, "clear").send(done="1")
    Session.objects.filter(lessons=here()).update(starts_at=this_time(days_ago=3))
    earlier = Lesson.objects.get(pk=here().pk)
    later = make_lesson(cast.student, cast.coach, **DONE)
    Session.objects.filter(pk=later.session_id).update(starts_at=timezone.now())
    Focus.objects.update(closed_in=later)
    page.open()
    (row,) = page.answer.context["lesson_form"].own_words_rows
    assert degrees_of(row) == [(focus, ["clear", ""])]
    assert page.answer.context["lesson_form"].other_own_words == [row]
    page.typed["day"] = Academy.current().today(this_time(days_ago=3)).isoformat()
    page.see("a", focus.code, "slight").send(keep="More")
    assert [row.degree for row in SeenFocus.objects.filter(look__lesson=earlier)] == ["slight"]


def test_it_is_looked_at_on_the_course_too(focus: Focus, cast: Cast, as_: Clients) -> None:
    address = reverse("lesson", args=[cast.student.key, uuid.uuid4()])
    Page(as_("coach"), cast.student, f"{address}?kind=course").see("c", focus.code, "slight").send()
    assert stored() == [("course", "slight")]


def test_a_log_with_own_words_costs_at_most_twelve_queries(
    page: Page, focus: Focus, as_: Clients, django_assert_max_num_queries: Any
) -> None:
    page.see("a", focus.code, "clear").send(done="1")
    with django_assert_max_num_queries(12):
        assert as_("coach").get(page.address).status_code == 200


# --- When lessons move --------------------------------------------------------------------------


def move(cast: Cast, as_: Clients, lesson: Lesson, to: Student) -> Correction:
    address = reverse("lesson_move", args=[lesson.student.key, lesson.key])
    assert as_("coach").post(address, {"to": to.pk}).status_code == 302
    return Correction.objects.get()


@pytest.fixture
def logged(page: Page, focus: Focus) -> Lesson:
    """A finished lesson in which a focus of the student was looked at."""
    page.see("a", focus.code, "clear").send(done="1")
    return here()


@pytest.fixture
def right(cast: Cast) -> Student:
    return make_student("Linnet Mopple", coach=cast.coach)


def test_a_lesson_that_moves_leaves_what_it_saw_of_another_students_words(
    logged: Lesson, right: Student, cast: Cast, as_: Clients
) -> None:
    correction = move(cast, as_, logged, right)
    assert fault_histories(right) == []
    assert len(fault_histories(cast.student)[0].points) == 1
    address = reverse("lesson", args=[right.key, logged.key])
    assert "Zanzibar" not in as_("coach").get(address).content.decode()
    assert as_("coach").post(reverse("correction_undo", args=[cast.student.key, correction.key])).status_code == 302
    assert [point.level for point in fault_histories(cast.student)[0].points] == ["1", "2"]


def test_a_lesson_that_moves_to_somebody_with_the_same_focus_counts_there(
    logged: Lesson, right: Student, cast: Cast, as_: Clients
) -> None:
    before = make_lesson(right, cast.coach, days_ago=30, **DONE)
    own_words(before, f" {PENCIL.upper()}")
    correction = move(cast, as_, logged, right)
    assert [point.level for point in fault_histories(right)[0].points] == ["none", "2"]
    assert as_("coach").post(reverse("correction_undo", args=[cast.student.key, correction.key])).status_code == 302
    assert [point.level for point in fault_histories(right)[0].points] == ["none"]
    assert [point.level for point in fault_histories(cast.student)[0].points] == ["1", "2"]
