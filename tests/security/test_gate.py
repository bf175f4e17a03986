"""The gate asked directly: its policy against that of the matrix, each condition on students who differ in one thing.

Whoever is named in a set below was put there by hand, from what the functions promise and `DEVELOPERS.md` says.
"""

import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db.models import Q
from django.http import Http404
from django.test import RequestFactory

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Academy, Care, Consent, Guardianship, Student, User
from coachbook.accounts.relationships import (
    KEEPS_NONE,
    Relationship,
    Viewer,
    guardian_condition,
    junior_condition,
    junior_consent_condition,
    pictures_condition,
    relationship_conditions,
)
from tests.conftest import Cast
from tests.make import make_care, make_coach, make_guardian, make_student, make_user
from tests.security.matrix import ACTORS, POLICY
from tests.security.row import OF_A_STUDENT

DAY = date(2026, 6, 10)
AT = datetime(2026, 6, 10, 9, tzinfo=UTC)
ACADEMY = Academy(adult_at=18)
CHILD, ADULT = {"birth_year": 2015}, {"birth_year": 1980}


def who(condition: Any) -> set[str]:
    """The names of the students for whom a condition holds."""
    return {student.name for student in Student.objects.filter(condition)}


def names_in(words: str) -> set[str]:
    return set(words.split())


# --- The policy -----------------------------------------------------------------------------------


def request_of(user: User) -> Any:
    """A request as the middleware hands it on."""
    request: Any = RequestFactory().get("/")
    request.user, request.academy, request.juniors_read = User.objects.get(pk=user.pk), Academy.current(), []
    return request


def answer(ask: Callable[..., object], *args: object) -> str:
    """What the gate answers, in the words of the matrix."""
    try:
        ask(*args)
    except Http404:
        return "404"
    except PermissionDenied:
        return "403"
    return "ok"


def test_the_gate_answers_as_the_policy_of_the_matrix_says(cast: Cast) -> None:
    key, actors = cast.student.key, ACTORS[2:]
    requests = {actor: request_of(cast.user(actor)) for actor in actors}
    for permission in (permission for permission in Permission if permission.name in POLICY):
        expected = dict(zip(ACTORS, POLICY[permission.name], strict=True))
        if permission.name in OF_A_STUDENT:
            found = {actor: answer(gate.get_student, requests[actor], permission, key) for actor in actors}
            listed = {actor for actor in actors if cast.student in gate.get_students(requests[actor], permission)}
            assert listed == {actor for actor in actors if expected[actor] == "ok"}, permission
        else:
            found = {actor: answer(gate.require, requests[actor], permission) for actor in actors}
        assert found == {actor: expected[actor] for actor in actors}, permission


def test_what_a_page_offers_is_what_the_policy_allows(cast: Cast) -> None:
    for actor in ("student", "guardian", "coach", "cover", "assistant", "manager"):
        read = gate.get_student(request_of(cast.user(actor)), Permission.READ_RECORD, cast.student.key)
        offered = {name for name in OF_A_STUDENT if gate.is_allowed(read, Permission[name])}
        assert read == cast.student
        assert offered == {name for name in OF_A_STUDENT if POLICY[name][ACTORS.index(actor)] == "ok"}, actor


def test_an_adult_decides_what_a_guardian_decides_for_a_junior(cast: Cast) -> None:
    """Of consents, and of the erasure of their record."""
    Student.objects.filter(pk=cast.student.pk).update(birth_year=1980)
    for permission in (Permission.GIVE_CONSENT, Permission.ERASE_RECORD):
        requests = {actor: request_of(cast.user(actor)) for actor in ("student", "guardian", "coach")}
        found = {
            actor: answer(gate.get_student, request, permission, cast.student.key)
            for actor, request in requests.items()
        }
        assert found == {"student": "ok", "guardian": "404", "coach": "403"}, permission


def test_a_student_who_is_not_there_is_nobodys(cast: Cast) -> None:
    for actor in ("coach", "manager"):
        assert answer(gate.get_student, request_of(cast.user(actor)), Permission.READ_RECORD, uuid.uuid4()) == "404"
    assert not gate.get_students(request_of(cast.coach.user)).filter(pk=cast.other_student.pk)


def test_who_is_nothing_to_a_student_has_no_relationship_to_one_that_was_not_read(cast: Cast) -> None:
    assert gate.relationships_of(None) == gate.relationships_of(cast.student) == set()
    assert not gate.is_allowed(cast.student, Permission.READ_RECORD)


def test_a_calendar_shows_the_students_of_its_coach_alone(cast: Cast) -> None:
    found = gate.get_students_of_coach(cast.cover, cast.academy, Permission.LOG_LESSONS, DAY)
    assert list(found) == [cast.student]
    assert not gate.get_students_of_coach(cast.past_coach, cast.academy, Permission.LOG_LESSONS, DAY)
    assert not gate.get_students_of_coach(cast.coach, cast.academy, Permission.REPORT_PRACTICE, DAY)
    Student.objects.filter(pk=cast.student.pk).update(merged_into=cast.other_student)
    assert not gate.get_students_of_coach(cast.cover, cast.academy, Permission.LOG_LESSONS, DAY)


def test_a_fresh_address_is_a_new_student_for_who_may_add_one_and_a_known_one_is_the_student(cast: Cast) -> None:
    fresh, coach = uuid.uuid4(), request_of(cast.coach.user)
    new = gate.get_or_new_student(coach, Permission.EDIT_STUDENT, fresh)
    assert (new.pk, new.key) == (None, fresh)
    assert gate.get_or_new_student(coach, Permission.EDIT_STUDENT, cast.student.key) == cast.student
    for user, permission, key, expected in (
        (cast.guardian, Permission.EDIT_STUDENT, fresh, "403"),
        (cast.guardian, Permission.EDIT_STUDENT, cast.student.key, "403"),
        (cast.coach.user, Permission.EDIT_STUDENT, cast.other_student.key, "404"),
    ):
        assert answer(gate.get_or_new_student, request_of(user), permission, key) == expected


def test_a_row_of_ones_own_or_none_yet_and_never_somebody_elses(cast: Cast) -> None:
    own, other = cast.student, cast.other_student
    rows = Student.objects.filter(pk__in=[own.pk, make_student().pk])
    assert gate.own_or_new(rows, own.key) == own
    assert gate.own_or_new(rows, uuid.uuid4()) is None
    assert answer(gate.own_or_new, rows, other.key) == "404"
    assert gate.own_or_new(Student.objects.filter(pk=own.pk), own.key) == own


def test_a_managers_reading_is_noted_of_juniors_and_only_of_whom_they_neither_teach_nor_belong_to(cast: Cast) -> None:
    adult = make_student(**ADULT)
    manager = request_of(cast.manager)
    for student in (cast.student, adult, cast.other_student):
        gate.get_student(manager, Permission.READ_RECORD, student.key)
    assert manager.juniors_read == [cast.student, cast.other_student]
    several = request_of(cast.manager)
    gate.note_readings(several, gate.get_students(several))
    assert {*several.juniors_read} == {cast.student, cast.other_student}
    for user in (cast.coach.user, cast.cover.user, cast.assistant.user, cast.guardian, cast.student.user):
        request = request_of(user)  # type: ignore[arg-type]
        gate.get_student(request, Permission.READ_RECORD, cast.student.key)
        assert request.juniors_read == [], user


# --- The conditions -------------------------------------------------------------------------------


def test_a_junior_is_who_is_not_known_to_be_of_age(db: None) -> None:
    """Of age from the year after the one in which they turn 18; the pages and the database say the same of each."""
    ages: dict[str, dict[str, Any]] = {
        "child": CHILD,
        "eighteen": {"birth_year": 2008},
        "nineteen": {"birth_year": 2007},
        "adult": ADULT,
        "unknown": {},
        "ticked-child": {"age_group": "child"},
        "ticked-adult": {"age_group": "adult"},
        "grown-up": {"birth_year": 1980, "age_group": "child"},
        "young": {"birth_year": 2015, "age_group": "adult"},
    }
    students = [make_student(name, account=False, **values) for name, values in ages.items()]
    juniors = who(junior_condition(ACADEMY, DAY))
    assert juniors == names_in("child eighteen unknown ticked-child young")
    assert juniors == {student.name for student in students if student.is_junior(DAY, 18)}


def guarded(name: str, *, by: User | None = None, ended_on: date | None = None, **values: Any) -> Student:
    """A student with one guardian."""
    student = make_student(name, **values)
    guardian = by or make_user()
    Guardianship.objects.create(student=student, guardian=guardian, ended_on=ended_on)
    return student


def consent(student: Student, by: User | None, purpose: str, **values: Any) -> None:
    words = {"text_shown": "The words shown.", **values}
    Consent.objects.create(student=student, given_by=by or make_user(), purpose=purpose, **words)


def guardian_of(student: Student) -> User:
    return student.guardianships.get().guardian


def test_a_guardian_counts_until_it_is_ended_and_while_the_account_is_open(db: None) -> None:
    guarded("guarded")
    guarded("ended", ended_on=DAY)
    guarded("ends-later", ended_on=date(2026, 6, 11))
    guarded("closed", by=make_user(is_active=False))
    make_student("alone")
    assert who(Q(guardian_condition(DAY))) == names_in("guarded ends-later")


def test_a_juniors_consent_counts_while_it_stands_and_a_guardian_could_withdraw_it(db: None) -> None:
    for name in ("given", "withdrawn", "of-another-kind", "own", "none"):
        guarded(name, **CHILD)
    ended = guarded("ended", ended_on=DAY, **CHILD)
    by_name = {student.name: student for student in Student.objects.all()}
    consent(by_name["given"], guardian_of(by_name["given"]), "sharing")
    consent(by_name["withdrawn"], guardian_of(by_name["withdrawn"]), "sharing", withdrawn_at=AT)
    consent(by_name["of-another-kind"], guardian_of(by_name["of-another-kind"]), "photos")
    consent(by_name["own"], by_name["own"].user, "sharing")
    consent(ended, guardian_of(ended), "sharing")
    assert who(junior_consent_condition("sharing", DAY)) == {"given"}
    assert who(junior_consent_condition("photos", DAY)) == {"of-another-kind"}


def test_pictures_need_a_guardians_consent_of_a_junior_and_anybodys_of_an_adult(db: None) -> None:
    keeps_none = {"text_shown": f"Pictures are taken. {KEEPS_NONE}"}
    elsewhere = guardian_of(guarded("elsewhere", **CHILD))
    cases: dict[str, tuple[dict[str, Any], str, dict[str, Any]]] = {
        "child": (CHILD, "guardian", {}),
        "child-none": (CHILD, "", {}),
        "child-own": (CHILD, "own", {}),
        "child-by-another": (CHILD, "elsewhere", {}),
        "child-withdrawn": (CHILD, "guardian", {"withdrawn_at": AT}),
        "child-sharing": (CHILD, "guardian", {"purpose": "sharing"}),
        "child-old-text": (CHILD, "guardian", keeps_none),
        "child-ended": (CHILD | {"ended_on": DAY}, "guardian", {}),
        "adult": (ADULT, "own", {}),
        "adult-by-guardian": (ADULT | {"ended_on": DAY}, "guardian", {}),
        "adult-none": (ADULT, "", {}),
        "adult-withdrawn": (ADULT, "own", {"withdrawn_at": AT}),
        "adult-sharing": (ADULT, "own", {"purpose": "sharing"}),
        "adult-old-text": (ADULT, "own", keeps_none),
    }
    for name, (values, by, words) in cases.items():
        student = guarded(name, **values)
        giver = {"guardian": guardian_of(student), "own": student.user, "elsewhere": elsewhere}
        if by:
            consent(student, giver[by], **{"purpose": "photos", **words})
    assert who(pictures_condition(ACADEMY, DAY)) == names_in("child adult adult-by-guardian")


def related(user: User, day: date = DAY) -> dict[Relationship, set[str]]:
    """The students to whom a person has each relationship, without those of which there are none."""
    conditions = relationship_conditions(Viewer.of(User.objects.get(pk=user.pk)), ACADEMY, day)
    return {relationship: found for relationship, condition in conditions.items() if (found := who(condition))}


def test_a_student_is_themselves_and_decides_once_they_are_of_age(db: None) -> None:
    child, adult = make_student("child", **CHILD), make_student("adult", **ADULT)
    assert related(child.user) == {Relationship.SELF: {"child"}}  # type: ignore[arg-type]
    assert related(adult.user) == {  # type: ignore[arg-type]
        Relationship.SELF: {"adult"},
        Relationship.ADULT_SELF: {"adult"},
    }
    assert related(make_user()) == {}


def test_a_guardian_decides_for_their_own_juniors(db: None) -> None:
    guardian = make_user()
    for name, values in {"child": CHILD, "of-age": ADULT, "ended": CHILD | {"ended_on": DAY}}.items():
        guarded(name, by=guardian, **values)
    guarded("of-others", **CHILD)
    assert related(guardian) == {Relationship.GUARDIAN: {"child"}}


def test_a_manager_is_one_to_everybody(db: None) -> None:
    make_student("one", **CHILD)
    make_student("other", **ADULT)
    assert related(make_user(is_manager=True)) == {Relationship.MANAGER: {"one", "other"}}


def test_a_coach_is_what_their_care_says_and_a_second_one_of_a_junior_only_by_consent(db: None) -> None:
    coach, other = make_coach(), make_coach()
    for role in Care.Role.values:
        for name, values in {
            "child": CHILD,
            "shared": CHILD,
            "adult": ADULT,
            "ended": ADULT,
            "of-others": ADULT,
        }.items():
            student = guarded(f"{role}-{name}", **values)
            if name == "shared":
                consent(student, guardian_of(student), "sharing")
            until = date(2026, 6, 9) if name == "ended" else None
            make_care(other if name == "of-others" else coach, student, role=role, until=until)
    assert related(coach.user) == {
        Relationship.MAIN_COACH: names_in("main-child main-shared main-adult"),
        Relationship.COVERING_COACH: names_in("cover-shared cover-adult"),
        Relationship.ASSISTANT_COACH: names_in("assistant-shared assistant-adult"),
    }


def test_a_guardian_who_coaches_is_both_and_a_manager_too(cast: Cast) -> None:
    make_guardian("Wren Ashknot", cast.other_student)
    Guardianship.objects.create(guardian=cast.coach.user, student=cast.student)
    User.objects.filter(pk=cast.coach.user.pk).update(is_manager=True)
    assert related(cast.coach.user) == {
        Relationship.GUARDIAN: {cast.student.name},
        Relationship.MAIN_COACH: {cast.student.name},
        Relationship.MANAGER: {cast.student.name, cast.other_student.name},
    }
