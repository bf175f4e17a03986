"""A skill or fault that was merged into another is counted as it everywhere; rows keep what they were logged with."""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from coachbook.accounts.models import Academy, Coach, Student
from coachbook.caseload.findings.gather import gather_findings
from coachbook.loop.phrases.meant import read_phrases
from lessons.arrivals import arrivals_of
from lessons.derived import recompute_all, recompute_for_merged
from lessons.history import fault_histories, judged_histories, rules_of
from lessons.joined import read_skills
from lessons.load import load_catalogue
from lessons.models import Fault, Focus, MonthCount, Observation, Outcome, Phrase, SeenFault, Skill
from lessons.models.catalogue import load_skills
from lessons.sentence.catalogue import shipped_phrases
from tests.conftest import Cast
from tests.make import academy_today, make_drill, make_fault, make_look, make_skill, make_student
from tests.test_derived import DEGREES, taught

Clients = Callable[[str], Client]
# Two skills, each with what the arrival and the departure of a lesson showed of its faults; the newest lesson last.
OLD_CODES: list[dict[str, tuple[str, str]]] = [
    {"wrist-bends": ("m", "s")},
    {"wrist-bends": ("s", "c"), "hands-flick": ("m", "-")},  # the worse of two degrees counts
    {"hands-flick": ("c", "c"), "wrist-bends": ("u", "-")},  # seen, though the other skill was good
    {"hands-flick": ("c", "-")},  # one of the two skills was looked at
    {},  # nobody looked
    {"hands-flick": ("u", "s"), "wrist-bends": ("s", "m")},  # what was graded says more than what was not
]
AS_ONE: list[tuple[str, str]] = [("m", "s"), ("m", "c"), ("u", "c"), ("c", "-"), ("-", "-"), ("s", "m")]


@pytest.fixture
def wrist(cast: Cast) -> Fault:
    """The fault that stays, of the skill that stays."""
    return make_fault(make_skill("lead-wrist", name="Wrist"), "wrist-bends", name="Wrist bends back")


@pytest.fixture
def flick(wrist: Fault) -> Fault:
    """The fault that is taken over, of a skill that is taken over, too."""
    return make_fault(make_skill("hands-quiet", name="Hands", position=3), "hands-flick", name="Hands flick")


def take_over(flick: Fault, wrist: Fault) -> None:
    Skill.take_over({flick.skill.code: wrist.skill.code})
    Fault.take_over({flick.code: wrist.code})


def old_history(student: Student, cast: Cast, wrist: Fault, flick: Fault) -> None:
    """The same lessons as `one_history`, logged under two skills."""
    faults = {fault.code: fault for fault in (wrist, flick)}
    for number, seen in enumerate(OLD_CODES):
        lesson = taught(student, cast, 70 - 7 * number, "--", wrist)
        for code, letters in seen.items():
            for kind, letter in zip(("arrival", "departure"), letters, strict=True):
                see(lesson, kind, letter, faults[code])


def see(lesson: Any, kind: str, letter: str, fault: Fault) -> None:
    if letter == "-":
        return
    look = lesson.looks.filter(kind=kind).first() or make_look(lesson, kind)
    observation = Observation.objects.create(
        look=look, skill=fault.skill, verdict="good" if letter == "c" else "not_good"
    )
    if letter in DEGREES:
        SeenFault.objects.create(observation=observation, fault=fault, degree=DEGREES[letter])


def one_history(student: Student, cast: Cast, wrist: Fault, coach: Coach | None = None) -> None:
    for number, letters in enumerate(AS_ONE):
        taught(student, cast, 70 - 7 * number, "".join(letters), wrist, coach=coach or cast.coach)


def judged(student: Student) -> list[Any]:
    rows = judged_histories(student, rules_of(Academy.current()))
    return [(row.history.fault, row.history.points, row.history.spans, row.judgement) for row in rows]


def outcomes_of(student: Student) -> list[tuple[Any, ...]]:
    return list(Outcome.objects.filter(student=student).order_by("day").values_list("fault", "verdict", "day", "days"))


def test_a_history_with_old_codes_is_the_history_of_the_survivor(cast: Cast, wrist: Fault, flick: Fault) -> None:
    old, one = cast.student, make_student("Wilhelmina", coach=cast.coach)
    old_history(old, cast, wrist, flick)
    one_history(one, cast, wrist)
    for student, fault in ((old, flick), (one, wrist)):
        lesson = student.lessons.order_by("session__starts_at").first()
        Focus.objects.create(student=student, slot=1, area="putting", fault=fault, opened_in=lesson)
    assert len(judged(old)) == 2
    with CaptureQueriesContext(connection) as before:
        fault_histories(old)
    rows = [list(model.objects.order_by("pk").values()) for model in (Observation, SeenFault, Focus)]
    take_over(flick, wrist)
    with CaptureQueriesContext(connection) as after:
        fault_histories(old)
    assert judged(old) == judged(one) != []
    assert len(after) <= len(before)
    recompute_all()
    assert outcomes_of(old) == outcomes_of(one) != []
    assert [list(model.objects.order_by("pk").values()) for model in (Observation, SeenFault, Focus)] == rows


def months_of(coach: Coach) -> list[tuple[Any, ...]]:
    rows = MonthCount.objects.filter(coach=coach).order_by("month", "fault")
    return list(rows.values_list("month", "fault", "looked", "slight", "clear", "not_graded"))


def test_counts_of_the_academy_follow_a_merge_and_its_taking_back(cast: Cast, wrist: Fault, flick: Fault) -> None:
    one = make_student("Wilhelmina", coach=cast.other_coach)
    old_history(cast.student, cast, wrist, flick)
    one_history(one, cast, wrist, cast.other_coach)
    recompute_all()
    apart = months_of(cast.coach), outcomes_of(cast.student)
    flick.skill.merge_into(wrist.skill)
    flick.merge_into(wrist)
    recompute_for_merged([flick.skill, flick])
    assert months_of(cast.coach) == months_of(cast.other_coach) != apart[0]
    assert outcomes_of(cast.student) == outcomes_of(one) != apart[1]
    for row in (flick.skill, flick):
        row.refresh_from_db()
        row.take_merge_back()
        assert (row.archived, row.merged_into) == (False, None)
    recompute_for_merged([flick.skill, flick])
    assert (months_of(cast.coach), outcomes_of(cast.student)) == apart


def test_only_what_a_merge_touches_is_recomputed(cast: Cast, wrist: Fault, flick: Fault) -> None:
    taught(cast.student, cast, 20, "mc", flick)
    taught(cast.student, cast, 10, "c-", flick)
    other = make_student("Wilhelmina", coach=cast.coach)
    taught(other, cast, 20, "mc", make_fault(make_skill(name="Stance"), name="Too wide"))
    taught(other, cast, 10, "c-", Fault.objects.get(name="Too wide"))
    recompute_all()
    Outcome.objects.filter(student=other).update(days=3)  # what a recomputing would put right
    take_over(flick, wrist)
    recompute_for_merged([flick.skill, flick])
    assert outcomes_of(cast.student)[0][:2] == (wrist.pk, "held")
    assert [row[3] for row in outcomes_of(other)] == [3]


def test_a_fault_of_another_skill_brings_the_looks_on_which_it_was_seen(cast: Cast, wrist: Fault, flick: Fault) -> None:
    """That its own skill was good says nothing of the skill of the fault that it is counted as."""
    for days_ago, letters in ((30, "m-"), (20, "c-"), (10, "s-")):
        taught(cast.student, cast, days_ago, letters, flick)
    flick.merge_into(wrist)
    (found,) = fault_histories(cast.student)
    assert found.fault == wrist
    assert [point.level for point in found.points] == ["2", "none", "1"]
    recompute_all()
    looked = MonthCount.objects.filter(fault=wrist).values_list("looked", "slight", "clear")
    assert tuple(map(sum, zip(*looked, strict=True))) == (2, 1, 1)
    assert not MonthCount.objects.filter(fault=flick).exists()


def test_a_merge_is_kept_flat_and_taken_back_with_what_came_with_it(wrist: Fault, flick: Fault) -> None:
    first = make_fault(wrist.skill, name="Wrist cups")
    first.merge_into(flick)
    assert set(flick.merge_into(wrist)) == {flick, first}
    first.refresh_from_db()
    assert (first.merged_into, flick.merged_into) == (wrist, wrist)
    for row, into in ((wrist, flick), (wrist, first), (wrist, wrist), (flick, flick)):
        with pytest.raises(ValueError, match="itself"):
            row.merge_into(into)
    late = make_fault(wrist.skill, name="Wrist flicks")
    late.merge_into(flick)  # it goes on to where that one went
    assert late.merged_into == wrist
    assert set(flick.take_merge_back()) == {flick, first}
    for row in (first, late):
        row.refresh_from_db()
    assert (first.merged_into, late.merged_into, flick.merged_into) == (flick, wrist, None)


def test_a_shipped_merge_follows_what_the_academy_merged(wrist: Fault, flick: Fault) -> None:
    last = make_fault(wrist.skill, "wrist-all", name="Wrist moves")
    wrist.merge_into(last)
    Fault.take_over({flick.code: wrist.code})
    flick.refresh_from_db()
    assert (flick.merged_into, flick.archived) == (last, True)


def test_loading_a_merge_that_ships_recomputes_what_follows(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    row = {"area": "putting", "phase": "motion", "position": 0, "look": "Look.", "goal": "Good."}
    fault = {"goal": "Quiet", "plain": "Quiet.", "feel": "Quiet.", "costs": []}
    skills = [
        {**row, "code": code, "name": code, "fault": [{**fault, "code": f"{code}-moves", "name": code}]}
        for code in "ab"
    ]
    load_skills(skills)
    moves = Fault.objects.get(code="b-moves")
    taught(cast.student, cast, 20, "mc", moves)
    taught(cast.student, cast, 10, "c-", moves)
    recompute_all()
    merged = {**skills[0], "was": ["b"], "fault": [{**skills[0]["fault"][0], "was": ["b-moves"]}]}
    monkeypatch.setattr("lessons.load.tables", lambda *_: [merged])
    load_catalogue()
    assert [row[0] for row in outcomes_of(cast.student)] == [Fault.objects.get(code="a-moves").pk]


def test_a_measure_is_counted_with_the_survivor_where_it_is_the_same_measure(
    cast: Cast, wrist: Fault, flick: Fault
) -> None:
    width = {"measure": "Width", "measure_unit": "cm", "measure_low": 5, "measure_high": 90, "measure_step": 1}
    Skill.objects.filter(pk__in=[wrist.skill_id, flick.skill_id]).update(**width)
    lesson = taught(cast.student, cast, 10, "--", wrist)
    Observation.objects.create(look=make_look(lesson), skill=flick.skill, verdict="not_graded", measure=30)
    take_over(flick, wrist)
    assert set(arrivals_of(cast.student).measured) == {wrist.skill_id}
    Skill.objects.filter(pk=flick.skill_id).update(measure="Distance")
    assert set(arrivals_of(cast.student).measured) == {flick.skill_id}


def test_pages_say_the_name_of_the_survivor(cast: Cast, as_: Clients, wrist: Fault, flick: Fault) -> None:
    lesson = taught(cast.student, cast, 10, "m-", flick)
    Focus.objects.create(student=cast.student, slot=1, area="putting", fault=flick, opened_in=lesson)
    take_over(flick, wrist)
    recompute_all()
    for name in ("progress", "brief"):
        text = as_("coach").get(reverse(name, args=[cast.student.key])).content.decode()
        assert "Wrist bends back" in text and "Hands flick" not in text, name
    found = gather_findings(cast.academy, academy_today(), None)
    (line,) = (line for area in found.areas for line in area.common)
    assert (line.name, line.skill, line.working) == ("Wrist bends back", "Wrist", 1)


# --- What a log offers ---------------------------------------------------------------------------


def names() -> dict[str, list[str]]:
    return {skill.name: [fault.name for fault in skill.faults.all()] for skill in read_skills()}


def test_faults_of_a_merged_skill_are_offered_with_the_survivor(wrist: Fault, flick: Fault) -> None:
    flick.skill.merge_into(wrist.skill)
    with CaptureQueriesContext(connection) as asked:
        assert names() == {"Wrist": ["Wrist bends back", "Hands flick"]}
    assert len(asked) == 1
    flick.merge_into(wrist)
    assert names() == {"Wrist": ["Wrist bends back"]}


def test_a_coach_is_offered_their_own_and_what_a_student_works_on(cast: Cast, wrist: Fault, flick: Fault) -> None:
    Skill.objects.filter(pk=flick.skill_id).update(owner=cast.coach)
    Fault.objects.filter(pk=flick.pk).update(owner=cast.coach)
    make_fault(wrist.skill, name="Wrist cups", owner=cast.coach)
    shared = {"Wrist": ["Wrist bends back"]}
    own = {"Wrist": ["Wrist bends back", "Wrist cups"], "Hands": ["Hands flick"]}

    def offered(**asked: Any) -> dict[str, list[str]]:
        return {skill.name: sorted(map(str, skill.faults.all())) for skill in read_skills(**asked)}

    assert offered() == offered(coach=cast.other_coach) == shared
    assert offered(coach=cast.coach) == own
    lesson = taught(cast.student, cast, 10, "m-", flick)
    Focus.objects.create(student=cast.student, slot=1, area="putting", fault=flick, opened_in=lesson)
    worked_on = shared | {"Hands": ["Hands flick"]}
    assert offered(coach=cast.other_coach, students=[cast.student]) == worked_on
    Focus.objects.update(closed_in=lesson)
    assert offered(coach=cast.other_coach, students=[cast.student]) == shared


# --- Words for the note ---------------------------------------------------------------------------


def test_words_for_a_merged_row_stand_for_the_survivor(cast: Cast, as_: Clients, wrist: Fault, flick: Fault) -> None:
    Phrase.objects.create(code=flick.code, words="fly swat")
    Phrase.objects.create(code=flick.skill.code, words="hands of stone")
    drill, other = make_drill(name="Ladder"), make_drill(name="Rungs")
    Phrase.objects.create(code=other.code, words="the rungs")
    take_over(flick, wrist)
    other.merge_into(drill)
    with CaptureQueriesContext(connection) as asked:
        read = set(read_phrases())
    assert len(asked) == 1
    assert read == {(wrist.code, "fly swat"), (wrist.skill.code, "hands of stone"), (drill.code, "the rungs")}
    html = as_("coach").get(reverse("phrases")).content.decode()
    assert "no longer in the catalogue" not in html
    for name in ("<p>Putting: Wrist bends back</p>", "<p>Putting: Wrist, good</p>", "<p>Drill: Ladder</p>"):
        assert name in html
    again = as_("coach").post(reverse("phrases"), {"meant": drill.code, "words": "fly swat"}).content.decode()
    assert "These words stand for “Putting: Wrist bends back” already." in again


def test_shipped_words_of_a_row_that_an_academy_merged_stand_for_the_survivor(wrist: Fault) -> None:
    shipped = make_fault(wrist.skill, "putting-grip-apart", name="Hands apart")
    assert read_phrases() == ()
    shipped.merge_into(wrist)
    assert {code for code, _ in read_phrases()} == {wrist.code}
    assert [words for _, words in read_phrases()] == list(shipped_phrases()["putting-grip-apart"]["phrases"])
