"""What a log may store, function by function and at every bound; the pages that send it are tested in test_log.py."""

import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, models
from django.db.models.signals import post_save
from django.http import QueryDict

from coachbook.loop.log.save import finish_lesson, is_superseded, page_and_count, parse_count
from coachbook.loop.models import Sheet
from drills.library.fitting import Fitting, OfferedDrill, UsualDose
from drills.models import Drill, Prescription
from drills.practice.prescribe import Dose, given_last, prescribe, replace_prescriptions, usual_prescription
from lessons.log import (
    NoteVisibility,
    close_focus,
    complete,
    find_completion_problems,
    is_around,
    open_focus,
    reopen_focus,
)
from lessons.models import Fault, Focus, Lesson, Look, Observation, SeenFault, SeenFocus, Session, StillMeasure
from lessons.observations import ObservationChanges, ObservationValues, by_model
from tests.conftest import Cast
from tests.make import make_drill, make_fault, make_lesson, make_look, make_prescription, make_skill

AT = datetime(2026, 6, 10, 9, tzinfo=UTC)
DAY = date(2026, 6, 1)
DONE: dict[str, Any] = {"status": "complete", "completed_at": AT}
WORDS: dict[str, Any] = {"area": "putting", "what": "Eyes still"}


@pytest.fixture
def lesson(cast: Cast) -> Lesson:
    return make_lesson(cast.student, cast.coach)


def opened(lesson: Lesson, **values: Any) -> Focus:
    """A focus that a lesson opens."""
    return open_focus(lesson=lesson, key=uuid.uuid4(), values=WORDS | values)


def refused(act: Callable[[], object]) -> dict[str, list[str]]:
    """Why something is refused, by the name of its field."""
    with pytest.raises(ValidationError) as found:
        act()
    return found.value.message_dict if hasattr(found.value, "error_dict") else {"": found.value.messages}


@contextmanager
def failing(model: type[models.Model]) -> Iterator[None]:
    """A database that fails right after a row of this model was written."""

    def fail(**_: object) -> None:
        raise RuntimeError

    post_save.connect(fail, sender=model)
    try:
        with pytest.raises(RuntimeError):
            yield
    finally:
        post_save.disconnect(fail, sender=model)


# --- Who reads a note -----------------------------------------------------------------------------


def test_what_a_coach_keeps_for_themselves_is_read_by_them_and_by_managers(lesson: Lesson, cast: Cast) -> None:
    readable = {}
    for actor in ("coach", "cover", "manager"):
        visibility = NoteVisibility.of(cast.user(actor), lesson)
        readable[actor] = [reader for reader in ("coach", "academy", "student") if visibility.can_read(reader)]
        assert [word for word, _ in visibility.choices] == readable[actor]
        assert visibility.default_reader == readable[actor][0], "as few people as possible"
    assert readable == {
        "coach": ["coach", "academy", "student"],
        "cover": ["academy", "student"],
        "manager": ["coach", "academy", "student"],
    }
    assert NoteVisibility.of(cast.manager, lesson).choices[0][1] == "Ida Fernkettle and the managers"
    assert NoteVisibility.of(cast.coach.user, lesson).choices[0][1] == "me and the managers"
    assert NoteVisibility.of(cast.cover.user, lesson).refusal.startswith("Ida Fernkettle has a private note here")


# --- Focuses --------------------------------------------------------------------------------------


def test_focuses_take_the_first_free_of_three_slots_the_third_with_a_reason(lesson: Lesson) -> None:
    first, second = opened(lesson), opened(lesson)
    assert refused(lambda: opened(lesson)) == {"reason": ["A third focus needs a reason."]}
    third = opened(lesson, reason="A match on Sunday")
    assert [focus.slot for focus in (first, second, third)] == [1, 2, 3]
    assert refused(lambda: opened(lesson, reason="x")) == {
        "fault": ["Three focuses are open already. Close one first."]
    }
    close_focus(focus=second, lesson=lesson)
    assert opened(lesson).slot == 2, "a closed one makes room"


def test_the_focus_with_a_reason_becomes_the_third_whichever_was_begun_first(lesson: Lesson, cast: Cast) -> None:
    first, second = opened(lesson, reason="A match on Sunday"), opened(lesson)
    third = opened(lesson)
    first.refresh_from_db()
    assert (first.slot, second.slot, third.slot) == (3, 2, 1)
    close_focus(focus=first, lesson=lesson)
    assert refused(lambda: opened(lesson)) == {"reason": ["A third focus needs a reason."]}, "it is closed"
    later = make_lesson(cast.student, cast.coach, days_ago=-7)
    Focus.objects.filter(pk=second.pk).update(reason="She asked")
    assert refused(lambda: opened(later)) == {"reason": ["A third focus needs a reason."]}, "of another lesson"


def test_who_takes_the_reason_of_the_third_away_is_asked_for_it(lesson: Lesson) -> None:
    """Though another one has a reason, too: that one has its place already."""
    opened(lesson, reason="She asked")
    opened(lesson)
    third = opened(lesson, reason="A match on Sunday")
    again = refused(lambda: open_focus(lesson=lesson, key=third.key, values=WORDS | {"reason": ""}))
    assert again == {"reason": ["A third focus needs a reason."]}


def test_a_focus_is_opened_as_a_whole_or_not_at_all(lesson: Lesson) -> None:
    first, _ = opened(lesson, reason="A match on Sunday"), opened(lesson)
    with pytest.raises(IntegrityError):
        opened(lesson, what="")  # by then the first would be the third
    first.refresh_from_db()
    assert first.slot == 1 and Focus.objects.count() == 2


def test_a_focus_is_changed_in_the_lesson_that_opened_it_alone(lesson: Lesson, cast: Cast) -> None:
    focus, other = opened(lesson), opened(lesson, what="Feet together")
    changed = open_focus(lesson=lesson, key=focus.key, values=WORDS | {"feel": "Soft"})
    assert (changed.pk, Focus.objects.get(pk=focus.pk).feel, changed.slot) == (focus.pk, "Soft", 1)
    later = make_lesson(cast.student, cast.coach, days_ago=-7)
    said = {"": ["Another lesson opened or closed this focus, so it cannot be changed here."]}
    values = WORDS | {"feel": "Soft"}
    assert open_focus(lesson=later, key=focus.key, values=values) == focus, "nothing changes"
    assert refused(lambda: open_focus(lesson=later, key=focus.key, values=values | {"feel": "Firm"})) == said
    close_focus(focus=focus, lesson=later)
    assert refused(lambda: open_focus(lesson=lesson, key=focus.key, values=values | {"feel": "Firm"})) == said
    close_focus(focus=other, lesson=lesson)
    assert open_focus(lesson=lesson, key=other.key, values={"feel": "Firm"}).feel == "Firm"
    theirs = make_lesson(cast.other_student, cast.other_coach)
    assert "fault" in refused(lambda: open_focus(lesson=theirs, key=focus.key, values=values))


def test_closing_a_trial_decides_it_and_closing_another_one_decides_nothing(lesson: Lesson) -> None:
    trial, fix = opened(lesson, kind="trial", decide_on=DAY), opened(lesson)
    for focus in (trial, fix):
        close_focus(focus=focus, lesson=lesson, decision="kept")
        focus.refresh_from_db()
    assert [(focus.closed_in, focus.decision) for focus in (trial, fix)] == [(lesson, "kept"), (lesson, "")]


def test_a_focus_opens_again_in_the_first_free_slot(lesson: Lesson) -> None:
    first, second = opened(lesson, kind="trial", decide_on=DAY), opened(lesson)
    close_focus(focus=first, lesson=lesson, decision="kept")
    close_focus(focus=second, lesson=lesson)
    for focus, slot in ((second, 1), (first, 2)):
        reopen_focus(focus=focus)
        focus.refresh_from_db()
        assert (focus.slot, focus.closed_in, focus.decision) == (slot, None, "")


def test_as_a_third_it_opens_again_with_its_reason_only_and_never_as_a_fourth(lesson: Lesson) -> None:
    closed, reasoned = opened(lesson), opened(lesson, reason="She asked")
    for focus in (closed, reasoned):
        close_focus(focus=focus, lesson=lesson)
    opened(lesson), opened(lesson)
    said = {"decision": ["Two others are open now. Close one of them first."]}
    assert refused(lambda: reopen_focus(focus=closed)) == said
    reopen_focus(focus=reasoned)
    assert Focus.objects.get(pk=reasoned.pk).slot == 3
    said = {"decision": ["Three focuses are open already. Close one first."]}
    assert refused(lambda: reopen_focus(focus=closed)) == said


def test_what_is_saved_together_is_saved_as_a_whole_or_not_at_all(lesson: Lesson, cast: Cast) -> None:
    focus = opened(lesson)
    close_focus(focus=focus, lesson=lesson)
    with failing(Focus):
        reopen_focus(focus=focus)
    assert Focus.objects.get().closed_in == lesson
    with failing(Prescription):
        prescribe(lesson=lesson, focus=focus, drill=make_drill(), dose=DOSE, begins=DAY)
    assert not Prescription.objects.exists()
    with failing(Sheet):
        finish_lesson(lesson=Lesson.objects.get(), academy=cast.academy, at=AT)
    assert Lesson.objects.get().status == "draft" and not Sheet.objects.exists()


def test_a_log_shows_what_is_open_and_what_it_opened_or_closed_itself(lesson: Lesson, cast: Cast) -> None:
    before, after = (make_lesson(cast.student, cast.coach, days_ago=days) for days in (7, -7))
    cases = {
        "open": (before, None),
        "closed before": (before, before),
        "closed here": (before, lesson),
        "closed later": (before, after),
        "opened here": (lesson, None),
        "opened here, closed later": (lesson, after),
        "opened later": (after, None),
        "opened later, closed later": (after, after),
    }
    for what, (opened_in, closed_in) in cases.items():
        slot = {"open": 1, "opened here": 2}.get(what, 3)
        about = {"student": cast.student, "area": "putting", "slot": slot, "reason": "x"}
        Focus.objects.create(what=what, opened_in=opened_in, closed_in=closed_in, **about)
    shown = set(Focus.objects.filter(is_around(lesson)).values_list("what", flat=True))
    assert shown == {"open", "closed here", "opened here", "opened here, closed later"}
    Session.objects.filter(pk=after.session_id).update(starts_at=lesson.session.starts_at)
    shown = set(Focus.objects.filter(is_around(lesson)).values_list("what", flat=True))
    assert "opened later" in shown and "opened later, closed later" not in shown, "it begins at the same time"


def test_what_a_lesson_opened_stays_on_its_log_although_it_begins_later_than_it_did(lesson: Lesson) -> None:
    """A day that is typed anew is compared before it is saved."""
    opened(lesson)
    lesson.session.starts_at -= timedelta(days=3)
    assert Focus.objects.filter(is_around(lesson)).exists()


# --- Finishing ------------------------------------------------------------------------------------


def anchors(lesson: Lesson) -> list[str]:
    return [anchor for anchor, _ in find_completion_problems(Lesson.objects.get(pk=lesson.pk))]


def test_any_one_thing_is_enough_to_finish_and_without_any_it_is_asked_for(lesson: Lesson, cast: Cast) -> None:
    earlier = make_lesson(cast.student, cast.coach, days_ago=7)
    focus = opened(earlier)
    assert anchors(lesson) == ["id_keep"]
    assert anchors(earlier) == []
    for values in ({"keep": "x"}, {"next_time": "x"}, {"note": "x"}, {"shared_focus": focus}):
        Lesson.objects.filter(pk=lesson.pk).update(**values)
        assert anchors(lesson) == [], values
        Lesson.objects.filter(pk=lesson.pk).update(keep="", next_time="", note="", shared_focus=None)
    close_focus(focus=focus, lesson=lesson)
    assert anchors(lesson) == []
    reopen_focus(focus=focus)
    look = make_look(lesson)
    assert anchors(lesson) == ["id_keep"], "a look that holds nothing"
    Observation.objects.create(look=look, skill=make_skill(), verdict="good")
    make_look(lesson, "course")
    assert anchors(lesson) == []


def test_a_departure_needs_an_arrival_of_the_same_skill(lesson: Lesson) -> None:
    both, alone = make_skill("both"), make_skill("alone")
    arrival, departure = make_look(lesson), make_look(lesson, "departure")
    for look, skill in ((arrival, both), (departure, both), (departure, alone)):
        Observation.objects.create(look=look, skill=skill, verdict="good")
    [(anchor, words)] = find_completion_problems(lesson)
    assert anchor == "d-alone" and words.startswith("Grip: not looked at on arrival")


def test_what_was_seen_of_somebody_elses_words_or_of_a_fault_is_no_look_at_own_words(
    lesson: Lesson, cast: Cast
) -> None:
    """A lesson that was moved keeps them; and a focus may have become one on a fault since."""
    theirs = opened(make_lesson(cast.other_student, cast.other_coach))
    named = opened(make_lesson(cast.student, cast.coach, days_ago=7), fault=make_fault(make_skill()))
    look = make_look(lesson)
    for focus in (theirs, named):
        SeenFocus.objects.create(look=look, focus=focus, degree="slight")
    assert anchors(lesson) == ["id_keep"]
    Focus.objects.filter(pk=named.pk).update(fault=None)
    assert anchors(lesson) == []


def test_a_clip_says_when_it_was_filmed_and_nothing_else_is_asked_that(lesson: Lesson) -> None:
    Lesson.objects.update(keep="x")
    found = {}
    for kind in Session.Kind.values:
        for filmed_on in (None, DAY):
            Session.objects.update(kind=kind, filmed_on=filmed_on)
            found[kind, filmed_on] = anchors(lesson)
    assert {case for case, missing in found.items() if missing} == {("clip", None)}
    assert found["clip", None] == ["id_filmed_on"]


def test_a_lesson_is_complete_since_it_was_finished_first(lesson: Lesson) -> None:
    complete(lesson, AT)
    complete(lesson, AT + timedelta(days=1))
    lesson.refresh_from_db()
    assert (lesson.status, lesson.completed_at) == ("complete", AT)


# --- Looks ----------------------------------------------------------------------------------------


def seen(**values: Any) -> ObservationValues:
    return ObservationValues(**{"good": False, "degrees": {}} | values)


@pytest.mark.parametrize(
    ("values", "is_blank", "is_measured"),
    [
        ({}, True, False),
        ({"reader": "academy"}, True, False),
        ({"good": True}, False, False),
        ({"degrees": {Fault(pk=1): "slight"}}, False, False),
        ({"measure": Decimal(0)}, False, True),
        ({"measure_words": "a hand"}, False, True),
        ({"words": "Calm"}, False, False),
    ],
)
def test_a_skill_was_looked_at_where_any_one_thing_is_logged(
    values: dict[str, Any], is_blank: bool, is_measured: bool
) -> None:
    assert (seen(**values).is_blank, seen(**values).is_measured) == (is_blank, is_measured)


def test_the_verdict_follows_from_what_was_ticked() -> None:
    found = [seen(**values).verdict for values in ({"degrees": {Fault(pk=1): "clear"}}, {"good": True}, {"words": "x"})]
    assert found == ["not_good", "good", "not_graded"]


def test_nothing_changes_where_there_is_nothing_to_write() -> None:
    changes = [ObservationChanges(Lesson(), {}, **{name: [Look()]}) for name in ("created", "updated", "deleted")]
    assert [bool(each) for each in [*changes, ObservationChanges(Lesson(), {})]] == [True, True, True, False]


def test_rows_are_written_before_those_that_point_to_them_and_no_kind_without_any() -> None:
    look, observation, fault = Look(), Observation(), SeenFault()
    assert by_model([fault, observation, look]) == [(Look, [look]), (Observation, [observation]), (SeenFault, [fault])]
    assert by_model([]) == []


def store(lesson: Lesson, skill: Any, kind: str = "arrival", **values: Any) -> ObservationChanges:
    """Save what was seen of one skill at one look, as it is stored before."""
    looks = {look.kind: look for look in lesson.looks.all()}
    changes = ObservationChanges(lesson, looks)
    if isinstance(skill, Focus):
        of_focus = SeenFocus.objects.filter(look__lesson=lesson, look__kind=kind, focus=skill).first()
        changes.add_focus(kind, "eye", skill, seen=seen(**values), before=of_focus)
    else:
        before = Observation.objects.filter(look__lesson=lesson, look__kind=kind, skill=skill).first()
        changes.add(kind, "eye", skill, seen=seen(**values), before=before)
    changes.write()
    return changes


def test_what_is_stored_of_a_look_is_what_was_logged_last(lesson: Lesson) -> None:
    skill = make_skill()
    apart, tight = make_fault(skill), make_fault(skill)
    store(lesson, skill, degrees={apart: "slight", tight: "clear"}, words="Calm", reader="academy")
    store(lesson, skill, degrees={apart: "clear"}, words="Calmer")
    row = Observation.objects.get()
    assert (row.verdict, row.words, row.reader) == ("not_good", "Calmer", "academy"), "who reads it stays as it was"
    assert [(each.fault, each.degree) for each in row.seen_faults.all()] == [(apart, "clear")]
    assert (row.look.kind, row.look.means) == ("arrival", "eye")
    assert not store(lesson, skill, degrees={apart: "clear"}, words="Calmer"), "the same again"
    assert row.history.count() == 2 and row.seen_faults.get().history.count() == 2  # type: ignore[attr-defined]
    store(lesson, skill, "departure", good=True, measure=Decimal(31))
    assert lesson.looks.count() == 2 and Observation.objects.get(verdict="good").measure == 31
    assert not is_written_though_refused(lesson, skill, good=True, degrees={apart: "slight"})


def is_written_though_refused(lesson: Lesson, skill: Any, **values: Any) -> bool:
    """Whether anything was written although it is good and not good at once."""
    before = Observation.objects.count() + SeenFocus.objects.count()
    [message] = refused(lambda: store(lesson, skill, "course", **values))[""]
    assert message.endswith("clear one of the two.")
    return Observation.objects.count() + SeenFocus.objects.count() != before


def test_what_is_cleared_leaves_neither_a_row_nor_an_empty_look_of_its_lesson(lesson: Lesson, cast: Cast) -> None:
    grip, stance, focus = make_skill(), make_skill(), opened(lesson)
    elsewhere = make_look(make_lesson(cast.student, cast.coach, days_ago=7))
    for skill in (grip, stance, focus):
        store(lesson, skill, **({"degrees": {skill: "slight"}} if skill is focus else {"good": True}))
    left = []
    for skill in (grip, stance, focus):
        store(lesson, skill)
        left.append((Observation.objects.count(), SeenFocus.objects.count(), lesson.looks.count()))
    assert left == [(1, 1, 1), (0, 1, 1), (0, 0, 0)]
    assert not store(lesson, grip) and not store(lesson, focus), "there is nothing to clear"
    assert Look.objects.get() == elsewhere, "a look of another lesson is not this one's to delete"
    store(lesson, focus, degrees={focus: "slight"})
    store(lesson, grip, good=True)
    store(lesson, focus)
    assert (Observation.objects.count(), lesson.looks.count()) == (1, 1)


def test_a_focus_in_own_words_is_good_or_shows_how_far_from_it(lesson: Lesson) -> None:
    focus = opened(lesson)
    store(lesson, focus, degrees={focus: "clear"})
    assert SeenFocus.objects.get().degree == "clear"
    assert not store(lesson, focus, degrees={focus: "clear"}), "the same again"
    store(lesson, focus, good=True)
    assert SeenFocus.objects.get().degree == "good" and lesson.looks.count() == 1
    assert not is_written_though_refused(lesson, focus, good=True, degrees={focus: "clear"})


def test_a_number_was_read_from_a_still_until_another_one_is_typed_over_it(lesson: Lesson) -> None:
    still = StillMeasure(pk=7)
    before = Observation(measure=Decimal(31), read_from_id=5)
    typed = {"same": Decimal(31), "other": Decimal(32), "none": None}
    looks = {"arrival": Look(pk=1)}

    def read(before: Observation | None, **values: Any) -> int | None:
        changes = ObservationChanges(lesson, dict(looks))
        row = before or Observation(look=looks["arrival"], skill=make_skill())
        changes.add("arrival", "eye", row.skill if before is None else make_skill(), seen=seen(**values), before=before)
        kept = before or changes.created[0]
        return kept.read_from_id  # type: ignore[attr-defined,no-any-return]

    found = {}
    for name, number in typed.items():
        before.measure, before.read_from_id = Decimal(31), 5
        found[name] = read(before, measure=number, words="x")
    assert found == {"same": 5, "other": None, "none": None}
    assert read(before, measure=Decimal(32), read_from=still) == 7
    assert read(None, measure=Decimal(31)) is None


# --- Drills and doses -----------------------------------------------------------------------------

DOSE = Dose(10, "minutes", 3, 30)


def given(lesson: Lesson, focus: Focus, drill: Drill | None, dose: Dose | None = DOSE) -> Prescription | None:
    """The drill that a focus has after it was given."""
    prescribe(lesson=lesson, focus=focus, drill=drill, dose=dose, begins=DAY)
    return Prescription.objects.filter(lesson=lesson, focus=focus).first()


def test_a_drill_is_given_changed_and_taken_away_for_its_focus_alone(lesson: Lesson, cast: Cast) -> None:
    focus, other = opened(lesson, feel="Soft"), opened(lesson)
    gate, ladder = make_drill(), make_drill()
    first = given(lesson, focus, gate)
    assert first and (first.drill, first.amount, first.unit, first.per_week, first.days) == (gate, 10, "minutes", 3, 30)
    assert (first.feel, first.begins, first.review_on) == ("Soft", DAY, date(2026, 7, 1)), "thirty days from the first"
    assert (first.student, first.history.count()) == (cast.student, 1)
    second = given(lesson, other, ladder, Dose(20, "balls", 2, 7, "8 of 10"))
    assert second and (second.pk != first.pk, second.mark) == (True, "8 of 10")
    again = given(lesson, focus, gate)
    assert again and (again.pk, again.history.count()) == (first.pk, 1), "the same again writes nothing"
    changed = given(lesson, focus, gate, Dose(10, "minutes", 4, 30))
    assert changed and (changed.pk, changed.per_week, changed.history.count()) == (first.pk, 4, 2)
    later = make_lesson(cast.student, cast.coach, days_ago=-7)
    assert given(later, focus, ladder).pk != first.pk  # type: ignore[union-attr]
    assert given(lesson, focus, None) is None and given(lesson, other, ladder, None) is None
    assert given(lesson, focus, None) is None, "taken away twice"
    assert [row.lesson for row in Prescription.objects.all()] == [later]


def test_a_drill_with_reported_practice_stays_in_its_unit_until_the_next_lesson(lesson: Lesson) -> None:
    focus, gate = opened(lesson), make_drill()
    row = given(lesson, focus, gate)
    assert row
    row.entries.create(day=DAY, amount=5)
    for drill, dose in ((None, None), (gate, None), (make_drill(), DOSE), (gate, Dose(10, "balls", 3, 30))):
        assert "drill" in refused(lambda: given(lesson, focus, drill, dose)), (drill, dose)  # noqa: B023
    assert Prescription.objects.get() == row and given(lesson, focus, gate) == row
    assert given(lesson, focus, gate, Dose(12, "minutes", 5, 14)).amount == 12  # type: ignore[union-attr]


def test_a_dose_is_said_in_words_and_a_drill_brings_its_own() -> None:
    drill = Drill(dose_amount=20, dose_unit="balls", dose_per_week=2, dose_days=14)
    assert Dose.usual_of(drill) == Dose(20, "balls", 2, 14)
    assert DOSE.words == "10 minutes, 3 times a week, for 30 days"


@pytest.fixture
def weeks(cast: Cast) -> dict[str, Lesson]:
    """Three finished lessons, a week apart."""
    days = {"first": 14, "second": 7, "third": 0}
    return {name: make_lesson(cast.student, cast.coach, days_ago=ago, **DONE) for name, ago in days.items()}


def prescribed(lesson: Lesson, **values: Any) -> Prescription:
    """A drill that a lesson gave for a focus of its own, which is closed so that there is room for others."""
    about = {"student": lesson.student, "slot": 1, "closed_in": lesson}
    focus = values.pop("focus", None) or Focus.objects.create(opened_in=lesson, **WORDS, **about)
    return make_prescription(lesson, focus, **values)


def ends(cast: Cast, lesson: Lesson) -> dict[int, date | None]:
    """The day on which each prescription ends after a lesson was finished."""
    replace_prescriptions(lesson=lesson, academy=cast.academy)
    return dict(Prescription.objects.values_list("pk", "ended_on"))


def day_of(lesson: Lesson) -> date:
    return lesson.session.starts_at.date()


def test_a_lesson_ends_what_lessons_before_it_gave_on_its_day(weeks: dict[str, Lesson], cast: Cast) -> None:
    old, over = prescribed(weeks["first"]), prescribed(weeks["first"], ended_on=DAY)
    own, draft = prescribed(weeks["third"]), prescribed(make_lesson(cast.student, cast.coach, days_ago=3))
    other = prescribed(make_lesson(cast.other_student, cast.other_coach, days_ago=3, **DONE))
    late = prescribed(weeks["second"], begins=date(2026, 6, 5))  # begins after the day on which it is replaced
    assert ends(cast, weeks["third"]) == {
        old.pk: day_of(weeks["third"]),
        over.pk: DAY,
        own.pk: None,
        draft.pk: None,
        other.pk: None,
        late.pk: date(2026, 6, 5),
    }


def test_a_lesson_that_is_finished_late_is_ended_by_the_next_one_that_was_kept(
    weeks: dict[str, Lesson], cast: Cast
) -> None:
    Lesson.objects.filter(pk=weeks["second"].pk).update(attendance="absent")
    first, over, third = (
        prescribed(weeks["first"]),
        prescribed(weeks["first"], ended_on=DAY),
        prescribed(weeks["third"]),
    )
    before = prescribed(make_lesson(cast.student, cast.coach, days_ago=21, **DONE))
    found = ends(cast, weeks["first"])
    assert found == {first.pk: day_of(weeks["third"]), over.pk: DAY, third.pk: None, before.pk: None}
    Lesson.objects.filter(pk=weeks["second"].pk).update(attendance="kept")
    Prescription.objects.filter(pk=first.pk).update(ended_on=None)
    assert ends(cast, weeks["first"])[first.pk] == day_of(weeks["second"])


def test_a_group_ends_only_what_it_replaced_or_closed(weeks: dict[str, Lesson], cast: Cast) -> None:
    Session.objects.filter(pk=weeks["third"].session_id).update(kind="group")
    group = Lesson.objects.get(pk=weeks["third"].pk)
    again, closed, kept = (prescribed(weeks["first"]) for _ in range(3))
    prescribed(group, focus=again.focus)
    close_focus(focus=closed.focus, lesson=group)
    found = ends(cast, group)
    assert [found[row.pk] for row in (again, closed, kept)] == [day_of(group), day_of(group), None]


def test_a_lesson_before_a_group_is_ended_only_where_the_group_replaced_it(
    weeks: dict[str, Lesson], cast: Cast
) -> None:
    """And, though a group came since, it ends what was given before it."""
    Session.objects.filter(pk=weeks["third"].session_id).update(kind="group")
    group = Lesson.objects.get(pk=weeks["third"].pk)
    again, kept, before = prescribed(weeks["second"]), prescribed(weeks["second"]), prescribed(weeks["first"])
    by_group = prescribed(group, focus=again.focus)
    found = ends(cast, weeks["second"])
    assert [found[row.pk] for row in (again, kept, before, by_group)] == [
        day_of(group),
        None,
        day_of(weeks["second"]),
        None,
    ]


@pytest.fixture
def fault(db: None) -> Fault:
    return make_fault(make_skill())


def offer(drill: Drill, fault: Fault, **fit: bool) -> OfferedDrill:
    """A drill as it is offered, fitting the fault, or wrong for it, or without a word about it."""
    fits = {fault.pk: Fitting(**{"is_first": False, "is_wrong": False} | fit)} if fit else {}
    return OfferedDrill(drill, fits)


def test_what_is_usual_was_chosen_or_given_last_or_is_the_first_of_the_library(fault: Fault) -> None:
    gate, ladder, coins, wrong = (make_drill(code, dose_amount=amount) for code, amount in DRILLS.items())
    library = [
        offer(wrong, fault, is_wrong=True),
        offer(gate, fault, is_first=True),
        offer(ladder, fault, is_first=False),
        offer(coins, fault),
    ]
    last = Prescription(drill=coins, amount=7, unit="balls", per_week=5, days=14)

    def usual(given: dict[int, Prescription] | None = None, taken: tuple[str, ...] = (), **by_code: UsualDose) -> Any:
        offered = [OfferedDrill(row.drill, row.fits, {fault.pk: by_code[row.drill.code]} if row.drill.code in by_code
                   else {}) for row in library]  # fmt: skip
        found = usual_prescription(fault, offered, given or {}, taken)
        return found and (found.drill, found.dose, found.why)

    assert usual() == (gate, Dose(10, "minutes", 3, 30), "")
    assert usual(taken=("gate",)) == (ladder, Dose(20, "minutes", 3, 30), "")
    assert usual(taken=("gate", "ladder")) == (gate, Dose(10, "minutes", 3, 30), ""), "none is left"
    assert usual({fault.pk: last}) == (coins, Dose(7, "balls", 5, 14), "as I gave it last")
    assert usual({fault.pk + 1: last})[0] == gate, "given for another fault"
    assert usual({fault.pk: Prescription(drill=wrong)})[0] == gate, "wrong for it since"
    assert usual({fault.pk: Prescription(drill=make_drill())})[0] == gate, "no longer offered"
    mine = UsualDose(12, "balls", 2, 21)
    assert usual({fault.pk: last}, ladder=mine) == (ladder, Dose(12, "balls", 2, 21), "my usual")
    assert usual(wrong=mine)[0] == gate, "wrong for it, whoever chose it"
    library[1:3] = []
    assert usual() is None


DRILLS = {"gate": 10, "ladder": 20, "coins": 30, "wrong": 40}


def test_what_a_coach_gave_last_is_theirs_and_counted_with_the_fault_it_was_merged_into(
    fault: Fault, cast: Cast
) -> None:
    merged = make_fault(fault.skill, merged_into=fault)
    other = make_fault(fault.skill)
    lessons = [make_lesson(cast.student, coach, days_ago=9) for coach in (cast.coach, cast.cover)]
    rows = {}
    for name, lesson, about, begins in (
        ("first", lessons[0], fault, DAY),
        ("last", lessons[0], merged, date(2026, 6, 9)),
        ("between", lessons[0], fault, date(2026, 6, 5)),
        ("other", lessons[0], other, DAY),
        ("own words", lessons[0], None, DAY),
        ("of another coach", lessons[1], fault, date(2026, 6, 20)),
    ):
        values = WORDS | {"student": cast.student, "slot": 1, "fault": about, "closed_in": lesson}
        focus = Focus.objects.create(opened_in=lesson, **values)
        rows[name] = prescribed(lesson, focus=focus, begins=begins)
    assert given_last(cast.coach) == {fault.pk: rows["last"], other.pk: rows["other"]}
    assert given_last(cast.coach, other) == {other.pk: rows["other"]}
    assert given_last(cast.cover) == {fault.pk: rows["of another coach"]}


# --- What a page posts ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("word", "count"),
    [("7", 7), ("0", 0), ("007", 7), ("999999999", 999_999_999), ("1000000000", 0), ("-1", 0), ("1.5", 0), ("", 0),
     (None, 0), ("ten", 0), ("٣", 0), ("1 ", 0)],
)  # fmt: skip
def test_a_count_is_a_whole_number_that_a_column_holds_or_nought(word: str | None, count: int) -> None:
    """The largest of an integer of PostgreSQL is 2147483647 (its manual, Numeric Types): nine digits always fit."""
    assert parse_count(word) == count


def test_the_id_of_a_page_is_cut_to_what_its_column_holds() -> None:
    """A key as text is 36 characters (RFC 9562, 4)."""
    key = str(uuid.uuid4())
    posted = [QueryDict(f"page={page}&count=3") for page in (key, key + "xyz", " %00abc ")]
    assert [page_and_count(data) for data in posted] == [(key, 3), (key, 3), ("abc", 3)]
    assert Lesson._meta.get_field("page").max_length == 36
    assert page_and_count(QueryDict()) == ("", 0)


def test_a_late_form_of_the_same_page_adds_nothing_unless_it_finishes_the_lesson() -> None:
    def is_late(page: str, count: int, done: bool = False, status: str = "draft") -> bool:
        form: Any = SimpleNamespace(lesson=Lesson(page="mine", page_count=5, status=status))
        return is_superseded(form, QueryDict(f"page={page}&count={count}{'&done=1' * done}"))

    assert [is_late("mine", count) for count in (4, 5, 6)] == [True, False, False]
    assert not is_late("theirs", 4) and not is_late("", 4)
    assert [is_late("mine", 4, True, status) for status in ("draft", "complete")] == [False, True]
    nameless: Any = SimpleNamespace(lesson=Lesson(page="", page_count=5))
    assert not is_superseded(nameless, QueryDict("count=4"))
