"""What the pages of the family and of groups leave out: other students, other families, other lessons."""

import uuid
from collections.abc import Callable, Iterator
from datetime import date
from html import unescape
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Guardianship, Student
from coachbook.diary.models import Appointment
from coachbook.family.messages.thread import has_children, readers_of
from coachbook.family.messages.unread import mark_read, pauses_and_unread, unread_by, unread_of
from coachbook.groups.models import GroupDefaults, GroupMember
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.issue import issue_sheet
from drills.models import PracticeEntry
from lessons.models import Focus, Lesson, Session
from tests.conftest import Cast
from tests.group_page import Group, text
from tests.make import (
    academy_today,
    make_care,
    make_coach,
    make_consent,
    make_guardian,
    make_lesson,
    make_pause,
    make_prescription,
    make_still,
    make_student,
    this_time,
)
from tests.test_left_out_diary import DAY, NINE, planned

Clients = Callable[[str], Client]


@pytest.fixture(autouse=True)
def spring(cast: Cast) -> Iterator[None]:
    """Monday 22 March 2027 at the academy, nine o'clock."""
    with time_machine.travel(NINE, tick=False):
        yield


# --- Threads --------------------------------------------------------------------------------------


def test_who_reads_a_thread_is_who_has_to_do_with_this_student(cast: Cast) -> None:
    """With consent to share, without, and of age; another family has everything otherwise."""
    theirs = make_guardian("Wenna Larkspindle", cast.other_student)
    make_consent(cast.other_student, theirs)
    grown = make_student("Wren Canarybird", coach=cast.other_coach, age_group="adult")
    make_care(make_coach("Nan Larchquill"), cast.other_student, role="cover")
    make_care(make_coach("Asa Plumquill"), cast.student, until=date(2025, 1, 1), since=date(2024, 1, 1))

    def named(student: Student) -> list[list[str]]:
        found = readers_of(Student.objects.get(pk=student.pk), cast.academy, academy_today())
        return [[user.name for user in group] for group in (found.guardians, found.coaches, found.managers)]

    managers = ["Odile Bramblewing"]
    shared = ["Bram Saltquill", "Ida Fernkettle", "Noor Appleknot"]
    assert named(cast.student) == [["Maud Plumsilk"], shared, managers]
    cast.student.consents.update(withdrawn_at=timezone.now())
    assert named(cast.student) == [["Maud Plumsilk"], ["Ida Fernkettle"], managers]
    Student.objects.filter(pk=cast.student.pk).update(age_group="adult")
    assert named(cast.student) == [[], shared, managers]
    assert named(grown) == [[], ["Cai Meadowtwine"], managers]
    assert [user.name for user in readers_of(cast.student, cast.academy, academy_today()).student] == ["Alder Quimble"]


def test_who_may_add_a_guardian_is_led_there_from_a_thread(cast: Cast, as_: Clients) -> None:
    cast.student.guardianships.all().delete()
    for actor, leads in [("coach", True), ("manager", True), ("student", False)]:
        page = as_(actor).get(reverse("messages", args=[cast.student.key]))
        assert page.context["may_edit"] is leads, actor


def test_a_guardian_has_children_who_are_there_and_their_own(cast: Cast) -> None:
    def has(user: Any) -> bool:
        return has_children(user, cast.academy, academy_today())

    assert has(cast.guardian) and not has(cast.past_guardian) and not has(cast.coach.user)
    Student.objects.filter(pk=cast.student.pk).update(merged_into=cast.other_student)
    assert not has(cast.guardian)


def noted(student: Student, **values: Any) -> PracticeEntry:
    """A note that came with practice."""
    coach = student.cares.get(role="main").coach
    lesson = make_lesson(student, coach, status="complete", completed_at=timezone.now())
    about = {"student": student, "opened_in": lesson, "slot": 1, "area": "putting", "what": "Soft hands"}
    drill = make_prescription(lesson, student.focuses.first() or Focus.objects.create(**about), begins=academy_today())
    entry: PracticeEntry = drill.entries.create(**{"day": academy_today(), "amount": 5, "note": "A heron"} | values)
    return entry


def test_unread_is_what_this_reader_has_not_read_of_this_student(cast: Cast) -> None:
    reader, now = cast.coach.user, timezone.now()

    def unread() -> list[tuple[str, int, int]]:
        found = unread_by(reader, Student.objects.all(), now)
        assert [unread_of(row.student, reader, now) for row in found] == found
        counts = [(row.student.name, row.messages, row.notes) for row in found]
        for name, *both in counts:
            _, one = pauses_and_unread(Student.objects.get(name=name), reader, academy_today(), now)
            assert [one.messages, one.notes] == both
        return counts

    for student in (cast.student, cast.other_student):
        row, entry = student.messages.create(written_by=cast.manager, text="A heron"), noted(student)
        mark_read(cast.manager, student, row.pk, entry.pk)
    mark_read(reader, cast.other_student, row.pk, entry.pk)
    cast.student.messages.create(written_by=reader, text="My own")
    cast.student.messages.create(written_by=cast.manager, text="Long ago", written_at=this_time(days_ago=61))
    for values in ({"note": ""}, {"is_void": True}, {"day": academy_today() - 61 * DAY}):
        noted(cast.student, **values)
    assert unread() == [("Alder Quimble", 1, 1)]
    Guardianship.objects.create(guardian=reader, student=cast.other_student)
    noted(cast.other_student, source="guardian")
    assert unread() == [("Alder Quimble", 1, 1)], "who reported it for their child has no need to read it"
    noted(cast.student, source="guardian")
    noted(cast.other_student, source="student")
    assert unread() == [("Alder Quimble", 1, 2), ("Petra Sallowpipit", 0, 1)]


def test_a_thread_has_the_notes_and_the_pauses_of_its_student(cast: Cast, as_: Clients) -> None:
    own = noted(cast.student)
    noted(cast.other_student)
    for values in ({"note": ""}, {"is_void": True}, {"day": academy_today() - 61 * DAY}):
        noted(cast.student, **values)
    assert as_("coach").get(reverse("messages", args=[cast.student.key])).context["notes"] == [own]
    today = academy_today()
    make_pause(cast.other_student, today)
    make_pause(cast.student, today - 9 * DAY, today - DAY)
    make_pause(cast.student, today + DAY)
    assert pauses_and_unread(cast.student, cast.guardian, today, timezone.now())[0] == []


# --- Consent and guardians ------------------------------------------------------------------------


def test_pictures_that_are_told_of_with_a_consent_are_the_students_own(cast: Cast, as_: Clients, media: Any) -> None:
    make_consent(cast.student, cast.guardian, "photos")
    guardian, still = as_("guardian"), make_still(make_lesson(cast.other_student, cast.other_coach))
    address = reverse("consent_withdraw", args=[cast.student.key, "photos"])
    assert guardian.post(address).url == reverse("consents", args=[cast.student.key])  # type: ignore[attr-defined]
    assert guardian.get(reverse("consents", args=[cast.student.key])).context["pictures"] == 0
    own = make_still(make_lesson(cast.student, cast.coach))
    for actor, pictures in [("guardian", 1), ("coach", 0), ("student", 0)]:
        assert as_(actor).get(reverse("consents", args=[cast.student.key])).context["pictures"] == pictures, actor
    assert "pictures" in guardian.post(address).url and own.pk != still.pk  # type: ignore[attr-defined]


def test_consents_rest_while_this_child_has_no_guardian_whoever_else_has_one(cast: Cast, as_: Clients) -> None:
    make_guardian("Wenna Larkspindle", cast.other_student)
    address = reverse("consents", args=[cast.student.key])
    assert as_("coach").get(address).context["is_suspended"] is False
    cast.student.guardianships.update(ended_on=date(2025, 1, 1))
    assert as_("coach").get(address).context["is_suspended"] is True
    Student.objects.filter(pk=cast.student.pk).update(age_group="adult")
    assert as_("coach").get(address).context["is_suspended"] is False


def test_an_adult_gives_no_consent_that_nobody_asks_for(cast: Cast, as_: Clients) -> None:
    Student.objects.filter(pk=cast.student.pk).update(age_group="adult")
    address = reverse("consent_give", args=[cast.student.key, "sharing"])
    assert as_("student").post(address, {"text": "Anything"}).status_code == 404


def test_only_the_guardianship_that_is_named_ends(cast: Cast, as_: Clients) -> None:
    theirs, key = make_guardian("Wenna Larkspindle", cast.other_student), cast.student.key
    cast.student.guardianships.exclude(guardian=cast.guardian).delete()
    for person in (uuid.uuid4(), theirs.key):
        assert as_("manager").post(reverse("guardian_end", args=[key, person])).status_code == 404
    assert not Guardianship.objects.exclude(ended_on=None).exists()


# --- Groups ---------------------------------------------------------------------------------------


@pytest.fixture
def rosalind(cast: Cast) -> Student:
    return make_student("Rosalind Tuftle", coach=cast.coach)


@pytest.fixture
def group(cast: Cast, as_: Clients, rosalind: Student) -> Group:
    """A group that was begun, and another one of the same coach with others in it."""
    others = Group(as_("coach"), [make_student(f"Child {number}", coach=cast.coach) for number in (1, 2)])
    group = Group(as_("coach"), [cast.student, rosalind])
    others.begin(place="Far green")
    others.send(keep="Far words", areas=["chipping"])
    assert group.begin().status_code == 302
    return group


def test_saving_a_group_writes_no_other_lesson(group: Group, cast: Cast) -> None:
    """Nor is one that is open elsewhere told that it was changed."""
    own = make_lesson(cast.student, cast.coach, page="a page", keep="Earlier")
    elsewhere = [own, *Lesson.objects.filter(keep="Far words")]
    before = [(row.version, row.page, row.keep, row.areas) for row in elsewhere]
    group.send(keep="Good rhythm", areas=["putting"])
    group.send(keep="Good rhythm", areas=["putting"])
    after = [Lesson.objects.get(pk=row.pk) for row in elsewhere]
    assert [(row.version, row.page, row.keep, row.areas) for row in after] == before
    assert {group.lesson(student).keep for student in group.students} == {"Good rhythm"}


def test_what_is_the_same_for_everyone_is_that_of_this_group(group: Group, cast: Cast) -> None:
    page = text(group.client.get(group.address))
    assert "Far words" not in page
    group.send(keep="Good rhythm")
    assert sorted(GroupDefaults.objects.values_list("keep", flat=True)) == ["Far words", "Good rhythm"]


def test_what_was_chosen_for_one_student_is_theirs_alone(group: Group, cast: Cast, rosalind: Student) -> None:
    group.send(keep="Good rhythm", members={cast.student: {"skips_focus": "on"}})
    group.send(keep="Good rhythm", members={rosalind: {"skips_focus": "on"}})
    chosen = GroupMember.objects.filter(skips_focus=True).values_list("lesson__student__name", flat=True)
    assert list(chosen) == ["Rosalind Tuftle"]
    assert not GroupMember.objects.filter(lesson__student__name__startswith="Child", skips_focus=True).exists()


def test_who_comes_later_is_added_whatever_lessons_they_had(group: Group, cast: Cast) -> None:
    late = make_student("Wilf Tarkle", coach=cast.coach)
    make_lesson(late, cast.coach)
    for _ in range(2):
        group.send(student=str(late.key), add="1")
    assert Lesson.objects.filter(session__key=group.key).count() == 3 and late.lessons.count() == 2


def test_lessons_elsewhere_do_not_fill_a_group(group: Group, cast: Cast) -> None:
    for _ in range(20):
        make_lesson(cast.other_student, cast.other_coach)
    late = make_student("Wilf Tarkle", coach=cast.coach)
    assert group.send(student=str(late.key), add="1").status_code == 302
    assert late.lessons.count() == 1


def test_who_did_not_come_loses_the_sheet_of_this_lesson_alone(group: Group, cast: Cast, rosalind: Student) -> None:
    issued = [
        issue_sheet(lesson=make_lesson(student, cast.coach, status="complete", completed_at=timezone.now()), at=NINE)
        for student in (cast.student, cast.other_student)
    ]
    assert group.send(keep="Good rhythm", done="1").status_code == 302
    issued += Sheet.objects.filter(lesson__student=rosalind)
    group.send(absent=(cast.student,), keep="Good rhythm", done="1")
    for sheet in issued:
        sheet.refresh_from_db()
        assert sheet.voided_at is None
    assert group.lesson(cast.student).sheets.get().void_reason == "did not come"


def test_the_same_group_again_has_those_of_it_whom_the_coach_teaches(group: Group, cast: Cast, as_: Clients) -> None:
    """Nobody of another group, and not the coach's own child, whom they no longer teach."""
    child = make_student("Wren Canarybird", coach=cast.coach, birth_year=2016)
    group.send(student=str(child.key), add="1")
    child.cares.update(until=date(2020, 1, 2))
    Guardianship.objects.create(guardian=cast.coach.user, student=child)
    Session.objects.update(starts_at=this_time(days_ago=7))
    group.client.get(group.address)  # which says who was added
    for address in (reverse("group", args=[uuid.uuid4()]), reverse("day")):
        assert "Canarybird" not in text(as_("coach").get(address)), address
    as_("coach").post(reverse("group_again", args=[group.key]))
    names = Session.objects.latest("starts_at").lessons.values_list("student__name", flat=True)
    assert sorted(names) == ["Alder Quimble", "Rosalind Tuftle"]


def test_a_group_of_an_appointment_is_of_the_one_that_is_named(group: Group, cast: Cast, as_: Clients) -> None:
    row = planned(cast, *group.students, at=NINE)
    taken = planned(cast, *group.students, at=NINE, coach=cast.cover)
    for key in (uuid.uuid4(), taken.key):
        assert as_("coach").post(reverse("group_of_appointment", args=[key])).status_code == 404
    Appointment.objects.exclude(pk=row.pk).delete()
    assert as_("coach").post(reverse("group_of_appointment", args=[uuid.uuid4()])).status_code == 404
    assert Session.objects.count() == 2


def test_a_fresh_address_is_no_group_that_somebody_began(group: Group, as_: Clients) -> None:
    fresh = reverse("group", args=[uuid.uuid4()])
    assert "group_form" not in as_("coach").get(fresh).context
    assert as_("manager").get(fresh).status_code == 403
    assert "Rosalind" not in unescape(as_("cover").get(fresh).content.decode())
