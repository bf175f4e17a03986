"""What the database itself refuses to store, and what it freezes."""

from datetime import date
from importlib import import_module

import pytest
from django.apps import apps
from django.db import IntegrityError, transaction

from coachbook.accounts.models import Academy, Care, Consent, Student, User
from lessons.models import Focus, Lesson, Observation, SeenFault, Skill
from tests.conftest import Cast
from tests.make import make_care, make_fault, make_lesson, make_look, make_skill, make_student, make_user


@pytest.fixture
def lesson(cast: Cast) -> Lesson:
    return make_lesson(cast.student, cast.coach)


def focus(lesson: Lesson, slot: int, **values: object) -> Focus:
    return Focus.objects.create(
        student=lesson.student,
        opened_in=lesson,
        slot=slot,
        area="putting",
        **{"what": "Hold it lightly", **values},
    )


def refused(act, *args: object, **values: object) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(IntegrityError), transaction.atomic():
        act(*args, **values)


@pytest.mark.parametrize("kind", ["arrival", "departure"])
def test_two_arrivals_or_departures_in_a_lesson(lesson: Lesson, kind: str) -> None:
    make_look(lesson, kind)
    refused(make_look, lesson, kind)


def test_any_number_of_looks_in_between(lesson: Lesson) -> None:
    assert [make_look(lesson, "during") for _ in range(3)]


def test_a_prompted_arrival(lesson: Lesson) -> None:
    refused(make_look, lesson, "arrival", prompted=True)


def test_a_third_focus_without_a_reason(lesson: Lesson) -> None:
    focus(lesson, 1)
    focus(lesson, 2)
    refused(focus, lesson, 3)
    focus(lesson, 3, reason="Plays a match on Sunday")


def test_a_fourth_focus_at_all(lesson: Lesson) -> None:
    for slot in (1, 2, 3):
        focus(lesson, slot, reason="Plays a match on Sunday")
    for slot in (0, 1, 2, 3, 4):
        refused(focus, lesson, slot, reason="Another match")


def test_a_trial_takes_a_slot_like_any_focus(lesson: Lesson) -> None:
    focus(lesson, 1, kind="trial", decide_on=date(2026, 7, 1))
    refused(focus, lesson, 1)


def test_a_closed_focus_frees_its_slot(lesson: Lesson) -> None:
    first = focus(lesson, 1)
    first.closed_in = lesson
    first.save()
    assert focus(lesson, 1)


@pytest.mark.parametrize(
    "values",
    [{"kind": "trial"}, {"what": ""}, {"decision": "kept"}],
    ids=["a trial without its day", "a focus on nothing", "a decision without a trial"],
)
def test_a_focus_that_says_too_little(lesson: Lesson, values: dict[str, object]) -> None:
    refused(focus, lesson, 1, **values)


def test_a_skill_twice_in_a_look_and_a_fault_twice_in_an_observation(lesson: Lesson) -> None:
    skill = make_skill()
    seen = {"look": make_look(lesson), "skill": skill, "verdict": "not_good"}
    observation = Observation.objects.create(**seen)
    refused(Observation.objects.create, **seen)
    fault = make_fault(skill)
    SeenFault.objects.create(observation=observation, fault=fault)
    refused(SeenFault.objects.create, observation=observation, fault=fault)


def test_one_observation_can_show_two_faults_each_with_its_degree(lesson: Lesson) -> None:
    skill = make_skill()
    observation = Observation.objects.create(look=make_look(lesson), skill=skill, verdict="not_good")
    for degree in ("slight", "clear"):
        SeenFault.objects.create(observation=observation, fault=make_fault(skill), degree=degree)
    assert observation.seen_faults.count() == 2


def test_the_side_is_frozen_on_the_lesson(cast: Cast) -> None:
    lesson = make_lesson(make_student(putting_side="left"), cast.coach)
    Student.objects.filter(pk=lesson.student_id).update(putting_side="right")
    lesson.refresh_from_db()
    assert (lesson.side("putting"), lesson.side("chipping")) == ("left", "right")


def test_a_side_that_does_not_exist(db: None) -> None:
    refused(make_student, putting_side="both")


def test_a_lesson_of_no_area(cast: Cast) -> None:
    refused(make_lesson, cast.student, cast.coach, putting=False, chipping=False, pitching=False, bunker=False)


def test_one_student_twice_in_a_session(lesson: Lesson) -> None:
    refused(Lesson.for_student(lesson.student, lesson.session).save)


def test_care_that_ends_before_it_begins(cast: Cast) -> None:
    refused(
        make_care,
        cast.coach,
        cast.other_student,
        role="cover",
        since=date(2026, 5, 2),
        until=date(2026, 5, 1),
    )


def test_two_main_coaches_for_one_area(cast: Cast) -> None:
    refused(make_care, cast.other_coach, cast.student)
    Care.objects.filter(student=cast.student, role="main").update(chipping=False, pitching=False, bunker=False)
    assert make_care(cast.other_coach, cast.student, putting=False)


def test_a_second_academy(cast: Cast) -> None:
    refused(Academy.objects.create, pk=2)


def test_two_people_with_one_address_or_name_whatever_the_capitals(db: None) -> None:
    make_user("Ida", email="ida@example.org")
    make_user("Bram")
    make_user("Noor")  # two without an address are no clash
    refused(make_user, "Other", email="IDA@example.org")
    refused(make_user, "Other", username="IDA")


def test_consent_once_at_a_time_and_with_its_text(cast: Cast) -> None:
    given = {"student": cast.student, "purpose": "photos", "given_by": cast.guardian, "text_shown": "May we?"}
    consent = Consent.objects.create(**given)
    refused(Consent.objects.create, **given)
    refused(Consent.objects.create, **{**given, "purpose": "email", "text_shown": ""})
    consent.withdrawn_at = consent.given_at
    consent.save()
    assert Consent.objects.create(**given)


@pytest.mark.history
def test_every_change_is_kept_with_who_made_it(cast: Cast) -> None:
    student = cast.student
    student.putting_grip = "Lead hand low"
    student.save()
    assert [row.putting_grip for row in student.history.all()] == ["Lead hand low", ""]


def test_a_junior_stays_one_until_the_year_of_coming_of_age_is_over(db: None) -> None:
    student = make_student(birth_year=2008)
    assert student.is_junior(date(2026, 12, 31))
    assert not student.is_junior(date(2027, 1, 1))
    assert make_student().is_junior(date(2026, 1, 1)), "of whom nobody knows the age is a junior until it is known"
    assert not make_student(age_group="adult").is_junior(date(2026, 1, 1))
    assert make_student(age_group="adult", birth_year=2015).is_junior(date(2026, 1, 1)), "a year decides"
    assert not make_student().is_known_junior(date(2026, 1, 1), 18), "pages do not speak to a child by mistake"
    assert make_student(age_group="child").is_known_junior(date(2026, 1, 1), 18)
    assert not make_student().is_child(date(2026, 1, 1), 12), "the sheet for a child needs a year"


def test_passwords_are_not_in_the_history(cast: Cast) -> None:
    assert not hasattr(User.history.first(), "password")  # type: ignore[attr-defined]


# --- Rows of an earlier version -----------------------------------------------------------------


def test_earlier_words_are_renamed_in_rows_in_history_and_in_what_was_shipped(lesson: Lesson) -> None:
    """And back again; an unchanged skill stays unchanged, so that a new version may still update it."""
    migration = import_module("lessons.migrations.0005_plain_words")
    skill = make_skill()
    fault = make_fault(skill)
    seen = Observation.objects.create(look=make_look(lesson), skill=skill, verdict="not_good")
    SeenFault.objects.create(observation=seen, fault=fault, degree="clear")
    old = {"area": skill.area, "name": skill.name, "sound": skill.goal}
    Skill.objects.filter(pk=skill.pk).update(shipped=old)
    for step in (migration.restore_values, migration.rename_values, migration.rename_shipped_goal):
        step(apps, None)
        if step is migration.restore_values:
            assert (stored_verdicts(), stored_degrees()) == ({"unsound"}, {"marked"})
    assert (stored_verdicts(), stored_degrees()) == ({"not_good"}, {"clear"})
    skill.refresh_from_db()
    assert skill.shipped == {"area": skill.area, "name": skill.name, "goal": skill.goal} and not skill.is_edited


def stored_verdicts() -> set[str]:
    return {row.verdict for rows in (Observation.objects, Observation.history) for row in rows.all()}


def stored_degrees() -> set[str]:
    return {row.degree for rows in (SeenFault.objects, SeenFault.history) for row in rows.all()}
