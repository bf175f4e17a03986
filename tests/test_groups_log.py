"""The log of a group: the same for everyone, what differs stays, and a sheet for each student who came."""

import io
import re
import uuid
from collections.abc import Callable
from typing import Any

import pikepdf
import pypdfium2
import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.caseload.gather import students_by_coach
from coachbook.diary.scheduling import Plan, create_appointments
from coachbook.loop.models import Sheet
from drills.models import Drill, Prescription
from drills.practice.prescribe import replace_prescriptions
from lessons.history import fault_histories
from lessons.models import Fault, Focus, Lesson
from tests.conftest import Cast
from tests.group_page import APART, CLOCK, GATE, GIVEN, SQUEEZE, Group, own_focus, text
from tests.library import load_library
from tests.make import academy_today, make_lesson, make_look, make_prescription, make_skill, make_student

pytestmark = pytest.mark.long

Clients = Callable[[str], Client]


@pytest.fixture(autouse=True)
def catalogue(cast: Cast) -> None:
    load_library()


@pytest.fixture
def rosalind(cast: Cast) -> Student:
    return make_student("Rosalind Tuftle", coach=cast.coach)


@pytest.fixture
def fresh(cast: Cast, as_: Clients, rosalind: Student) -> Group:
    return Group(as_("coach"), [cast.student, rosalind])


@pytest.fixture
def group(fresh: Group) -> Group:
    assert fresh.begin().status_code == 302
    return fresh


# --- The same for everyone ----------------------------------------------------------------------


def test_the_same_for_everyone_reaches_all_who_are_here(group: Group) -> None:
    answer = group.send(keep="Good rhythm", next_time="Longer putts", given=GIVEN, areas=["putting", "chipping"])
    assert answer.status_code == 302
    for student in group.students:
        lesson = group.lesson(student)
        assert (lesson.keep, lesson.next_time) == ("Good rhythm", "Longer putts")
        assert lesson.areas == ["putting", "chipping"] and lesson.attendance == "kept"
        given = Prescription.objects.get(lesson=lesson)
        assert (given.focus.fault.code, given.focus.feel, given.drill.code) == (APART, "One hand", GATE)  # type: ignore[union-attr]
        assert (given.amount, given.per_week, given.days) == (8, 4, 14) and given.student == student


def test_what_is_the_same_for_everyone_is_shown_again(group: Group) -> None:
    group.send(keep="Good rhythm", given=GIVEN)
    page = text(group.client.get(group.address))
    shown = ["Good rhythm", 'value="Putting: Hands apart"', f'value="{Drill.objects.get(code=GATE)}"']
    assert [words for words in shown if words not in page] == []


def test_saving_again_changes_what_was_given_and_doubles_nothing(group: Group) -> None:
    group.send(keep="Good rhythm", given=GIVEN)
    group.send(keep="Soft hands", given={**GIVEN, "fault": SQUEEZE, "drill": CLOCK})
    assert {lesson.keep for lesson in Lesson.objects.all()} == {"Soft hands"}
    assert [focus.fault.code for focus in Focus.objects.all()] == [SQUEEZE, SQUEEZE]  # type: ignore[union-attr]
    assert [row.drill.code for row in Prescription.objects.all()] == [CLOCK, CLOCK]


def test_sending_the_same_twice_is_harmless(group: Group) -> None:
    for _ in range(2):
        assert group.send(keep="Good rhythm", given=GIVEN).status_code == 302
    assert (Focus.objects.count(), Prescription.objects.count(), Lesson.objects.count()) == (2, 2, 2)


def test_what_is_left_blank_later_is_withdrawn(group: Group) -> None:
    group.send(keep="Good rhythm", given=GIVEN)
    group.send()
    assert not Focus.objects.exists() and not Prescription.objects.exists()
    assert {lesson.keep for lesson in Lesson.objects.all()} == {""}


def test_what_differs_stays(group: Group, cast: Cast, rosalind: Student) -> None:
    group.send(keep="Good rhythm", next_time="Longer putts", given=GIVEN)
    Lesson.objects.filter(student=rosalind).update(keep="Her own quiet eyes")
    Focus.objects.filter(student=rosalind).update(feel="A bird in the hands")
    Prescription.objects.filter(student=rosalind).update(amount=3)
    group.send(keep="Soft hands", next_time="Uphill", given={**GIVEN, "feel": "Light", "drill": CLOCK})
    own, other = group.lesson(rosalind), group.lesson(cast.student)
    assert (own.keep, own.next_time, other.keep) == ("Her own quiet eyes", "Uphill", "Soft hands")
    assert Focus.objects.get(student=rosalind).feel == "A bird in the hands"
    assert Focus.objects.get(student=cast.student).feel == "Light"
    assert (own.prescriptions.get().amount, own.prescriptions.get().drill.code) == (3, GATE)
    assert other.prescriptions.get().drill.code == CLOCK


def test_a_focus_that_their_own_log_made_another_one_stays(group: Group, rosalind: Student) -> None:
    group.send(given=GIVEN)
    Focus.objects.filter(student=rosalind).update(fault=None, what="Breathe out first")
    group.send(given={**GIVEN, "fault": SQUEEZE})
    assert Focus.objects.get(student=rosalind).what == "Breathe out first"
    group.send()
    assert Focus.objects.get().what == "Breathe out first"


def test_an_open_focus_on_the_same_thing_gets_the_drill_and_no_second_focus(
    group: Group, cast: Cast, rosalind: Student
) -> None:
    before = own_focus(rosalind, cast, APART)
    group.send(given=GIVEN)
    assert rosalind.focuses.get() == before
    assert group.lesson(rosalind).prescriptions.get().focus == before
    group.send(given={**GIVEN, "fault": SQUEEZE})
    assert group.lesson(rosalind).prescriptions.get().focus.fault.code == SQUEEZE  # type: ignore[union-attr]
    assert rosalind.focuses.filter(closed_in=None).count() == 2
    group.send()
    assert rosalind.focuses.get() == before and not Prescription.objects.exists()


@pytest.fixture
def practising(fresh: Group, cast: Cast, rosalind: Student) -> Focus:
    """What a student of the group practises since a lesson of her own, before the group begins."""
    focus = own_focus(rosalind, cast, APART)
    make_prescription(focus.opened_in, focus, drill=Drill.objects.get(code=CLOCK), amount=6)
    assert fresh.begin().status_code == 302
    return focus


def drills_now(student: Student) -> list[tuple[str, int]]:
    """What a student practises today, drill and amount, the earliest first."""
    return list(student.prescriptions.in_force(academy_today()).values_list("drill__code", "amount"))


def test_a_focus_for_everyone_without_a_drill_leaves_the_one_they_have(
    practising: Focus, fresh: Group, rosalind: Student
) -> None:
    for given in ({"fault": APART}, GIVEN, {"fault": APART}):
        fresh.send(given=given, done="1")
        assert drills_now(rosalind) == [(CLOCK, 6)]
    assert rosalind.prescriptions.get().lesson == practising.opened_in


def test_one_who_did_not_come_goes_on_with_what_they_had(practising: Focus, fresh: Group, rosalind: Student) -> None:
    fresh.send(absent=(rosalind,), given=GIVEN, done="1")
    in_force = rosalind.prescriptions.in_force(academy_today())
    assert in_force.get().lesson == practising.opened_in and drills_now(rosalind) == [(CLOCK, 6)]
    fresh.send(given={**GIVEN, "fault": SQUEEZE}, members={rosalind: {"adds_drill": "on"}}, done="1")
    assert drills_now(rosalind) == [(CLOCK, 6), (GATE, 8)]


def test_three_open_focuses_are_an_error_in_the_row_and_the_rest_is_saved(
    group: Group, cast: Cast, rosalind: Student
) -> None:
    codes = list(Fault.objects.exclude(code=APART).values_list("code", flat=True)[:3])
    for number, code in enumerate(codes, 1):
        own_focus(rosalind, cast, code, number)
    answer = group.send(keep="Good rhythm", given=GIVEN, done="1")
    assert answer.status_code == 422
    beside = re.findall(rf'id="row-{group.lesson(rosalind).key}_error">(.*?)</div>', text(answer), re.DOTALL)
    assert "Three focuses are open" in beside[0] and "Everything else is saved" in text(answer)
    assert group.lesson(rosalind).keep == "Good rhythm" and group.lesson(rosalind).status == "draft"
    assert group.lesson(cast.student).status == "complete"
    assert Sheet.objects.get().lesson.student == cast.student


def test_an_area_in_which_something_was_seen_stays_ticked(group: Group, cast: Cast) -> None:
    group.send(areas=["putting", "chipping"])
    skill = make_skill(area="chipping")
    make_look(group.lesson(cast.student)).observations.create(skill=skill, verdict="good")
    group.send(areas=["putting"])
    assert [group.lesson(student).areas for student in group.students] == [["putting", "chipping"], ["putting"]]


def test_an_area_in_which_own_words_were_looked_at_stays_ticked(group: Group, cast: Cast) -> None:
    group.send(areas=["putting", "chipping"])
    lesson = group.lesson(cast.student)
    about = {"student": cast.student, "opened_in": lesson, "slot": 1, "area": "chipping", "what": "Quiet feet"}
    make_look(lesson).seen_focuses.create(focus=Focus.objects.create(**about), degree="good")
    group.send(areas=["putting"])
    assert [group.lesson(student).areas for student in group.students] == [["putting", "chipping"], ["putting"]]


@pytest.mark.parametrize(
    "typed, given, beside",
    [
        ({"areas": []}, {}, "id_areas"),
        ({}, {"fault": APART, "drill": GATE, "amount": "999"}, "amount"),
        ({}, {"fault": APART, "per_week": "9"}, "per_week"),
        ({}, {"fault": "no-such-fault"}, "fault"),
        ({}, {"drill": GATE}, "fault"),
        ({}, {"feel": "Light as a leaf"}, "fault"),
        ({}, {"what": "x" * 201}, "what"),
        ({"keep": "a\0b"}, {}, "id_keep"),
    ],
)
def test_an_error_in_the_same_for_everyone_is_shown_beside_its_field_and_nothing_is_lost(
    group: Group, rosalind: Student, typed: dict[str, Any], given: dict[str, Any], beside: str
) -> None:
    answer = group.send(absent=(rosalind,), given=given, **{"next_time": "Longer putts", **typed})
    field = beside if beside.startswith("id_") else f"id_{group.block()}-{beside}"
    found = re.search(rf'id="{field}_error"[^>]*>(.*?)</div>', text(answer), re.DOTALL)
    assert answer.status_code == 422 and found and "error" in found[1]
    assert "Nothing is saved yet" in text(answer) and "Longer putts" in text(answer)
    assert re.search(rf'value="{group.lesson(rosalind).key}"[^>]*checked', text(answer))
    assert group.lesson(rosalind).attendance == "kept" and group.lesson(rosalind).next_time == ""
    assert not Focus.objects.exists()


def test_a_log_that_stands_open_elsewhere_does_not_write_over_the_group(group: Group, cast: Cast) -> None:
    lesson = group.lesson(cast.student)
    address = reverse("lesson", args=[cast.student.key, lesson.key])
    opened = group.client.get(address).context
    typed = {"page": opened["page"], "base": str(opened["base"]), "count": "1", "putting": "on", "keep": ""}
    group.send(keep="Good rhythm")
    assert group.client.post(address, {**typed, "day": academy_today().isoformat()}).status_code == 422
    assert group.lesson(cast.student).keep == "Good rhythm"


# --- Who came, and done -------------------------------------------------------------------------


def test_finishing_creates_a_sheet_for_each_student_who_came(group: Group) -> None:
    answer = group.send(keep="Good rhythm", given=GIVEN, done="1")
    assert answer.url == reverse("group_sheets", args=[group.key])
    assert {lesson.status for lesson in Lesson.objects.all()} == {"complete"} and Sheet.objects.count() == 2
    page = text(group.client.get(answer.url))
    for sheet in Sheet.objects.all():
        assert reverse("sheet_pdf", args=[sheet.lesson.student.key, sheet.key]) in page
        assert sheet.content["keep"] == "Good rhythm" and len(sheet.content["focuses"]) == 1


def test_finishing_twice_issues_one_sheet_each_and_a_change_a_new_one(group: Group) -> None:
    for _ in range(2):
        group.send(keep="Good rhythm", done="1")
    assert Sheet.objects.count() == 2
    group.send(keep="Soft hands", done="1")
    assert {sheet.content["keep"] for sheet in Sheet.objects.valid()} == {"Soft hands"}
    assert (Sheet.objects.valid().count(), Sheet.objects.count()) == (2, 4)


def test_all_sheets_come_as_one_pdf_with_a_page_each(group: Group, cast: Cast, rosalind: Student) -> None:
    late = make_student("Wilf Tarkle", coach=cast.coach)
    group.send(student=str(late.key), add="1")
    group.send(absent=(late,), keep="Good rhythm", given=GIVEN, done="1")
    answer = group.client.get(reverse("group_pdf", args=[group.key]))
    assert answer.status_code == 200 and answer.headers["Cache-Control"] == "no-store"
    with pikepdf.open(io.BytesIO(answer.content)) as file:
        assert len(file.pages) == 2 and str(file.docinfo["/Title"]) == "Practice sheets of Saturday juniors"
        assert file.Root.MarkInfo.Marked
    pages = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(answer.content)]
    names = ["Alder Quimble", "Rosalind Tuftle"]
    assert [[name for name in [*names, "Wilf Tarkle"] if name in page] for page in pages] == [[name] for name in names]


def test_no_pdf_before_there_is_a_sheet_nor_on_a_machine_that_makes_none(
    group: Group, monkeypatch: pytest.MonkeyPatch
) -> None:
    address = reverse("group_pdf", args=[group.key])
    assert group.client.get(address).url == reverse("group_sheets", args=[group.key])  # type: ignore[attr-defined]
    group.send(keep="Good rhythm", done="1")
    monkeypatch.setattr("coachbook.pdf.problem", lambda: "No PDF: type this.")
    answer = group.client.get(address)
    assert answer.status_code == 503 and "No PDF: type this." in text(answer)


def test_an_empty_lesson_is_not_finished_and_the_row_says_so(group: Group) -> None:
    answer = group.send(done="1")
    assert answer.status_code == 422 and text(answer).count("Nothing is logged yet") >= 2
    assert not Sheet.objects.exists()


def test_who_did_not_come_gets_nothing_and_their_practice_goes_on(group: Group, cast: Cast, rosalind: Student) -> None:
    earlier = own_focus(rosalind, cast, SQUEEZE)
    practised = make_prescription(earlier.opened_in, earlier)
    group.send(absent=(rosalind,), keep="Good rhythm", given=GIVEN, done="1")
    lesson = group.lesson(rosalind)
    assert (lesson.attendance, lesson.status, lesson.keep) == ("absent", "complete", "")
    assert Sheet.objects.get().lesson.student == cast.student
    assert rosalind.focuses.get() == earlier and rosalind.prescriptions.get().ended_on is None
    assert practised.focus == earlier


def test_one_who_did_not_come_never_counts_as_an_arrival(group: Group, rosalind: Student) -> None:
    group.send(keep="Good rhythm", given=GIVEN, done="1")
    assert [len(history.points) for history in fault_histories(rosalind)] == [1]
    group.send(absent=(rosalind,), keep="Good rhythm", given=GIVEN, done="1")
    assert [len(history.points) for history in fault_histories(rosalind)] == [0]


def test_a_group_to_which_they_did_not_come_is_not_their_last_lesson(
    group: Group, cast: Cast, rosalind: Student
) -> None:
    last = make_lesson(rosalind, cast.coach, days_ago=9, status="complete", completed_at=timezone.now())
    group.send(absent=(rosalind,), keep="Good rhythm", done="1")
    on = academy_today()
    charges = {charge.name: charge for charge in students_by_coach(cast.academy, on)[cast.coach.pk]}
    assert charges["Rosalind Tuftle"].last == timezone.localdate(last.session.starts_at)
    assert charges["Alder Quimble"].last == on
    log = group.client.get(group.client.get(reverse("lesson_new", args=[rosalind.key])).url)  # type: ignore[attr-defined]
    assert log.context["lesson_form"].last == last
    assert "did not come" in text(group.client.get(reverse("student", args=[rosalind.key])))


def test_an_earlier_lesson_finished_later_is_not_replaced_by_one_to_which_they_did_not_come(
    group: Group, cast: Cast, rosalind: Student
) -> None:
    group.send(absent=(rosalind,), keep="Good rhythm", done="1")
    focus = own_focus(rosalind, cast, APART)
    row = make_prescription(focus.opened_in, focus)
    replace_prescriptions(lesson=focus.opened_in, academy=cast.academy)
    row.refresh_from_db()
    assert row.ended_on is None


def test_one_ticked_absent_later_gives_back_what_was_given(group: Group, cast: Cast, rosalind: Student) -> None:
    group.send(keep="Good rhythm", given=GIVEN)
    group.send(absent=(rosalind,), keep="Good rhythm", given=GIVEN)
    assert group.lesson(rosalind).keep == "" and not rosalind.focuses.exists()
    group.send(keep="Good rhythm", given=GIVEN)
    assert group.lesson(rosalind).keep == "Good rhythm" and rosalind.focuses.count() == 1


def test_a_sheet_of_one_who_was_not_there_after_all_is_withdrawn(group: Group, cast: Cast, rosalind: Student) -> None:
    group.send(keep="Good rhythm", given=GIVEN, done="1")
    group.send(absent=(rosalind,), keep="Good rhythm", given=GIVEN, done="1")
    assert Sheet.objects.valid().get().lesson.student == cast.student
    assert not rosalind.focuses.open().exists() and not rosalind.prescriptions.exists()


def test_reported_practice_is_never_taken_away(group: Group, rosalind: Student) -> None:
    group.send(given=GIVEN, done="1")
    rosalind.prescriptions.get().entries.create(day=academy_today(), amount=5)
    answer = group.send(absent=(rosalind,), given=GIVEN)
    assert answer.status_code == 422 and "Practice was reported" in text(answer)
    assert rosalind.prescriptions.get().entries.count() == 1


def test_a_finished_group_kept_its_appointment(fresh: Group, cast: Cast, rosalind: Student) -> None:
    plan = Plan(cast.coach, [cast.student, rosalind], [timezone.now()], 60, "")
    row = create_appointments(key=uuid.uuid4(), plan=plan, by=cast.coach.user, at=timezone.now())
    fresh.begin()
    fresh.send(keep="Good rhythm", done="1")
    row.refresh_from_db()
    assert row.status == "kept"
