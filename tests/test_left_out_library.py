"""What the pages of tests, rounds and the library leave out: rows of others, what is over, what is out of use."""

import uuid
from collections.abc import Callable
from datetime import timedelta

from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Guardianship, Student
from drills.library.editing.views import fits_of
from drills.library.holding.gather import Survivors, cases_of, verdicts
from drills.library.views import faults_for, listed_drills
from drills.models import Drill, Fit, UsualDrill
from drills.putting.observations import Leaves
from drills.scored_tests.observations import latest_test_balls, latest_tests, observations_of, recent_putting_tests
from drills.scored_tests.recording.views import TAUGHT
from lessons.models import Fault, Focus, Outcome, Session
from tests.conftest import Cast
from tests.make import (
    academy_today,
    make_ball,
    make_checkpoint,
    make_design,
    make_drill,
    make_fault,
    make_guardian,
    make_lesson,
    make_prescription,
    make_skill,
    make_student,
    make_test,
    this_time,
)

Clients = Callable[[str], Client]


# --- Scored tests and rounds ----------------------------------------------------------------------


def test_what_a_reader_may_record(cast: Cast, as_: Clients) -> None:
    """A manager reads tests and rounds, and no form to set one up, to record one or to undo one."""
    empty, key = make_test(cast.student, day=academy_today(), done_at=None), cast.student.key
    for actor, may in [("student", True), ("guardian", True), ("coach", True), ("manager", False)]:
        assert as_(actor).get(reverse("tests", args=[key])).context["may_score"] is may, actor
        assert as_(actor).get(reverse("rounds", args=[key])).context["may_score"] is may, actor
        assert as_(actor).get(reverse("test_new", args=[key])).status_code == (302 if may else 403), actor
        page = as_(actor).get(reverse("scored_test", args=[key, empty.key]))
        assert ("design_choices" in page.context) is may, actor
        page = as_(actor).get(reverse("scored_test", args=[key, uuid.uuid4()]))
        assert page.status_code == (200 if may else 403), actor
        page = as_(actor).get(reverse("scored_test", args=[key, empty.key]), {"plan": "6x20"})
        names = {template.name for template in page.templates}
        assert ("drills/scored_tests/recording/record.html" in names) is may, actor


def test_a_test_is_undone_of_this_student_and_of_late(cast: Cast, as_: Clients) -> None:
    on = academy_today()
    theirs = make_test(cast.other_student, day=on)
    old = make_test(cast.student, day=on - timedelta(days=15))
    new, _ = make_test(cast.student, day=on), make_test(cast.student, day=on, is_void=True)
    rows = as_("coach").get(reverse("tests", args=[cast.student.key])).context["rows"]
    assert [test for test, _ in rows] == [new, old]
    for test in (theirs, old):
        assert as_("coach").post(reverse("test_void", args=[cast.student.key, test.key])).status_code == 404
        test.refresh_from_db()
        assert not test.is_void


def test_balls_are_noted_of_this_student_and_by_those_who_record(cast: Cast, as_: Clients) -> None:
    own, theirs = (
        make_test(student, day=academy_today(), done_at=None) for student in (cast.student, cast.other_student)
    )
    for test in (own, theirs):
        make_ball(test)
    for name, typed in [("test_ball", "2"), ("test_undo", "1"), ("test_done", ""), ("test_void", "")]:
        for actor, test, status in [("manager", own, 403), ("coach", theirs, 404)]:
            answer = as_(actor).post(reverse(name, args=[cast.student.key, test.key]), {"number": typed, "what": "5"})
            assert answer.status_code == status, (name, actor)
    assert as_("coach").get(reverse("scored_test", args=[cast.student.key, theirs.key])).status_code == 404
    for test in (own, theirs):
        test.refresh_from_db()
        assert (test.balls.count(), test.done_at, test.is_void) == (1, None, False)


def test_a_test_belongs_to_a_lesson_or_a_group_of_these_days_and_only_a_coach_sets_it_there(
    cast: Cast, as_: Clients
) -> None:
    kinds = [Session.Kind.LESSON, Session.Kind.GROUP, *(kind for kind in Session.Kind if kind not in TAUGHT)]
    lessons = [make_lesson(cast.student, cast.coach) for _ in kinds]
    old = make_lesson(cast.student, cast.coach)
    for lesson, kind in zip(lessons, kinds, strict=True):
        Session.objects.filter(pk=lesson.session_id).update(kind=kind, starts_at=timezone.now())
    Session.objects.filter(pk=old.session_id).update(starts_at=this_time(days_ago=4))
    address = reverse("scored_test", args=[cast.student.key, uuid.uuid4()])
    page = as_("coach").get(address).content.decode()
    assert [str(lesson.key) in page for lesson in lessons] == [kind in TAUGHT for kind in kinds] and len(kinds) > 2
    assert str(old.key) not in page
    for actor in ("student", "guardian"):
        page = as_(actor).get(address).content.decode()
        assert not any(str(lesson.key) in page for lesson in lessons), actor


def test_recent_tests_are_finished_ones_of_this_student_of_one_side_and_of_these_weeks(cast: Cast) -> None:
    student, on = cast.student, academy_today()
    own = make_test(student, day=on - timedelta(days=60))
    make_ball(own)
    chips, other_side = make_design(area="chipping"), "left" if own.side == "right" else "right"
    make_test(student, chips, day=on, side=own.side)
    make_test(student, day=on, side=other_side)
    make_test(student, day=on - timedelta(days=61))
    make_test(student, day=on + timedelta(days=1))
    unfinished, undone = make_test(student, day=on, done_at=None), make_test(student, day=on, is_void=True)
    theirs = make_test(cast.other_student, day=on, side=own.side)
    for test in (unfinished, undone, theirs):
        make_ball(test, "holed")
    assert recent_putting_tests(student, on, own.side) == [own]
    assert not {unfinished, undone, theirs} & set(latest_tests(student, 9)) and len(latest_tests(student, 9)) == 5
    student.scored_tests.exclude(pk__in=[own.pk, unfinished.pk, undone.pk]).delete()
    assert [ball.test for ball in latest_test_balls(student)] == [own]
    make_ball(own, "holed")
    [seen] = observations_of(own)
    assert isinstance(seen, Leaves) and seen.holed == 1


def test_a_result_is_of_a_finished_test_of_this_student(cast: Cast, as_: Clients) -> None:
    no = [
        make_test(cast.student, done_at=None),
        make_test(cast.student, is_void=True),
        make_test(cast.other_student),
    ]
    own = make_test(cast.student)
    make_ball(own)
    for key in (*(test.key for test in no), uuid.uuid4()):
        assert as_("coach").get(reverse("test_result", args=[cast.student.key, key])).status_code == 404
    for actor, teaches in [("student", False), ("guardian", False), ("coach", True), ("manager", True)]:
        for address in (
            reverse("test_result", args=[cast.student.key, own.key]),
            reverse("test_results", args=[cast.student.key]),
        ):
            assert as_(actor).get(address).context["teaches"] is teaches, actor


def test_rounds_are_undone_and_drawn_of_this_student_alone(cast: Cast, as_: Clients) -> None:
    on = academy_today()
    own = cast.student.rounds.create(day=on, holes=9, putts=17, by=cast.coach.user)
    theirs = cast.other_student.rounds.create(day=on, holes=9, putts=18, by=cast.coach.user)
    make_test(cast.student, day=on - timedelta(days=1))
    make_test(cast.student, day=on - timedelta(days=2), done_at=None)
    make_test(cast.other_student, day=on - timedelta(days=3))
    address, key = reverse("rounds", args=[cast.student.key]), cast.student.key
    assert as_("coach").get(address).context["picture"].test_days == [on - timedelta(days=1)]
    for name in ("round_void", "round_report"):
        assert as_("coach").post(reverse(name, args=[key, theirs.key]), {"putts": "20"}).status_code == 404
    assert as_("manager").post(reverse("round_void", args=[key, own.key])).status_code == 403
    assert as_("manager").post(reverse("round_report", args=[key, uuid.uuid4()])).status_code == 403
    assert as_("coach").post(reverse("round_void", args=[key, own.key])).status_code == 303
    theirs.refresh_from_db()
    own.refresh_from_db()
    assert (own.is_void, theirs.is_void) == (True, False)


def test_designs_are_listed_of_the_academy_and_ones_own(cast: Cast, as_: Clients) -> None:
    rows = {
        "academy": make_design(),
        "archived": make_design(archived=True),
        "own": make_design(owner=cast.coach),
        "own archived": make_design(owner=cast.coach, archived=True),
        "other": make_design(owner=cast.other_coach),
    }
    for actor, names in [("coach", {"academy", "own", "own archived"}), ("manager", set(rows))]:
        found = as_(actor).get(reverse("designs")).context["by_area"]
        assert {row.pk for _, of_area in found for row, *_ in of_area} == {rows[name].pk for name in names}, actor
    assert as_("student").get(reverse("designs")).status_code == 403
    assert as_("student").get(reverse("design_new")).status_code == 403


def test_a_new_design_begins_as_the_academys_first_of_its_kind_that_is_in_use(cast: Cast, as_: Clients) -> None:
    make_design(kind="ladder", distances_m=[3.0], position=0)
    make_design(distances_m=[4.0], archived=True, position=1)
    make_design(distances_m=[5.0], owner=cast.other_coach, position=2)
    make_design(distances_m=[6.0], position=3)
    form = as_("coach").get(reverse("design_new"), {"kind": "leaves"}).context["form"]
    assert form.instance.distances_m == [6.0]


# --- The library ----------------------------------------------------------------------------------


def test_whose_drills_are_listed(cast: Cast) -> None:
    at = timezone.now()
    rows = {
        "academy": make_drill(),
        "archived": make_drill(archived=True),
        "merged": make_drill(archived=True, merged_into=make_drill(owner=cast.cover)),
        "own": make_drill(owner=cast.coach),
        "own offered": make_drill(owner=cast.coach, offered_at=at),
        "own archived": make_drill(owner=cast.coach, archived=True),
        "other": make_drill(owner=cast.other_coach),
        "other offered": make_drill(owner=cast.other_coach, offered_at=at),
        "other archived": make_drill(owner=cast.other_coach, archived=True),
        "other offered, archived": make_drill(owner=cast.other_coach, offered_at=at, archived=True),
        "academy, once offered": make_drill(offered_at=at),
    }
    named = {row.pk: name for name, row in rows.items()}
    for actor, whose, names in [
        ("coach", "own", {"own", "own offered"}),
        ("coach", "archived", {"own archived"}),
        ("coach", "", {"academy", "academy, once offered", "own", "own offered"}),
        ("manager", "own", set()),
        ("manager", "offered", {"own offered", "other offered"}),
        ("manager", "coaches", {"own", "own offered", "other", "other offered"}),
        ("manager", "archived", {"archived"}),
        ("student", "archived", set()),
    ]:
        found = {named.get(row.pk) for row in listed_drills(cast.user(actor), whose)}
        assert found - {None} == names, (actor, whose)


def test_faults_are_searched_for_whose_skill_is_in_use(cast: Cast) -> None:
    fault = make_fault(make_skill())
    make_fault(make_skill(archived=True))
    make_fault(make_skill(), archived=True)
    assert list(faults_for(cast.coach.user)) == [fault]
    assert not faults_for(cast.student.user).exists()


def test_a_guardian_reads_a_drill_for_the_side_of_their_own_child(cast: Cast, as_: Clients) -> None:
    drill, other = make_drill(), make_drill()
    Fit.objects.create(drill=drill, fault=make_fault(make_skill()))
    Fit.objects.create(drill=other, fault=make_fault(make_skill()))
    past = make_student("Wilf Tarkle", coach=cast.other_coach)
    guardian = make_guardian("Nan Heronquill", past)
    Guardianship.objects.filter(guardian=guardian).update(ended_on=academy_today())
    child = make_student("Wren Canarybird", coach=cast.other_coach, putting_side="left")
    Guardianship.objects.create(guardian=guardian, student=child)
    client = Client()
    client.force_login(guardian)
    assert client.get(reverse("drill", args=[drill.code])).context["side"] == "left"
    assert {shelf.side for shelf in client.get(reverse("drills")).context["by_area"] if shelf.area == "putting"} == {
        "left"
    }
    fits = as_("coach").get(reverse("drill", args=[drill.code])).context["fits"]
    assert [fit.drill for fit in fits] == [drill]
    assert [fit.drill for fit in fits_of(drill)] == [drill]


def test_a_usual_drill_is_ones_own_for_this_fault(cast: Cast, as_: Clients) -> None:
    faults, drill = [make_fault(make_skill()) for _ in range(2)], make_drill()
    dose = {"drill": drill, "amount": 10, "unit": "minutes", "per_week": 3, "days": 30}
    for coach, fault in [(cast.coach, faults[0]), (cast.other_coach, faults[0]), (cast.other_coach, faults[1])]:
        UsualDrill.objects.create(coach=coach, fault=fault, **dose)
    own = UsualDrill.objects.create(coach=cast.coach, fault=faults[1], **dose | {"amount": 20})
    client = as_("coach")
    stored = client.get(reverse("usual_drill", args=[faults[1].code])).context["stored"]
    assert stored == own
    assert as_("cover").get(reverse("usual_drill", args=[faults[1].code])).context["stored"] is None
    UsualDrill.objects.filter(pk=own.pk).delete()
    assert client.get(reverse("usual_drill", args=[faults[1].code])).context["stored"] is None
    for name in ("usual_drill", "usual_reset"):
        assert client.post(reverse(name, args=["no-such-fault"])).status_code == 404
        assert as_("manager").post(reverse(name, args=[faults[0].code])).status_code == 403
    assert as_("manager").get(reverse("usual_drills")).status_code == 403
    client.post(reverse("usual_reset", args=[faults[1].code]))
    assert UsualDrill.objects.count() == 3
    client.post(reverse("usual_reset", args=[faults[0].code]))
    assert {row.coach for row in UsualDrill.objects.all()} == {cast.other_coach} and UsualDrill.objects.count() == 2


def test_one_fault_alone_is_not_taken_for_another(cast: Cast, as_: Clients) -> None:
    fault = make_fault(make_skill())
    UsualDrill.objects.create(
        coach=cast.coach, fault=fault, drill=make_drill(), amount=10, unit="minutes", per_week=3, days=30
    )
    for name in ("usual_drill", "usual_reset"):
        assert as_("coach").post(reverse(name, args=["no-such-fault"])).status_code == 404
    assert as_("coach").get(reverse("fault_new", args=["no-such-skill"])).status_code == 404
    assert UsualDrill.objects.count() == 1


def test_skills_of_an_area_and_what_is_offered(cast: Cast, as_: Clients) -> None:
    at = timezone.now()
    skill, chips = make_skill(), make_skill(area="chipping")
    past = make_skill(archived=True)
    fault, _ = make_fault(skill), make_fault(chips)
    past_fault, _ = make_fault(skill, archived=True), make_fault(chips, archived=True)
    offered = [make_skill(owner=cast.coach, offered_at=at, area="bunker")]
    offered.append(make_fault(skill, owner=cast.coach, offered_at=at))
    make_skill(owner=cast.coach)
    make_fault(skill, owner=cast.coach)
    context = as_("manager").get(reverse("skills"), {"area": "putting"}).context
    assert [row.skill for row in context["of_academy"]] == [skill]
    assert set(context["archived"]) == {past, past_fault}
    assert set(context["offers"]) == set(offered)
    context = as_("cover").get(reverse("skill_row", args=["skill", skill.code])).context
    assert context["faults"] == [fault]
    choices = as_("manager").get(reverse("skill_row_edit", args=["fault", fault.code])).context["form"]
    words = str(choices)
    assert past.code not in words and chips.code not in words
    assert as_("coach").get(reverse("fault_new", args=[past.code])).status_code == 404
    assert as_("coach").get(reverse("fault_new", args=[skill.code])).status_code == 200
    for name, args in [("skills", []), ("skill_new", []), ("fault_new", [skill.code])]:
        assert as_("student").get(reverse(name, args=args)).status_code == 403


def test_a_checkpoint_is_changed_that_is_named_and_added_at_the_end_of_its_area(cast: Cast, as_: Clients) -> None:
    first, last = make_checkpoint("Reach", position=901), make_checkpoint("Stop", area="chipping", position=990)
    client = as_("manager")
    assert client.get(reverse("checkpoint", args=[last.key])).context["checkpoint"] == last
    assert client.get(reverse("checkpoint", args=[first.key])).context["checkpoint"] == first
    fresh = reverse("checkpoint", args=[uuid.uuid4()])
    assert client.get(fresh).status_code == 404
    assert client.get(fresh, {"area": "tennis"}).status_code == 404
    assert client.get(fresh, {"area": "putting"}).context["checkpoint"].position == 902
    for address in (fresh, reverse("checkpoints")):
        assert as_("coach").get(address, {"area": "putting"}).status_code == 403


def test_what_held_counts_finished_lessons_of_students_within_reach(cast: Cast, as_: Clients) -> None:
    fault, other = (make_fault(make_skill(name=name), name=name) for name in ("Weight", "Grip"))
    drill, second = make_drill(name="Ladder"), make_drill(name="Gate")
    own_child = make_student("Wren Canarybird", coach=cast.other_coach, birth_year=timezone.now().year - 10)
    Guardianship.objects.create(guardian=cast.coach.user, student=own_child)
    for student, given, about, status in [
        (cast.student, drill, fault, "complete"),
        (make_student(coach=cast.coach), drill, fault, "draft"),
        (make_student(coach=cast.coach), second, other, "complete"),
        (cast.other_student, drill, fault, "complete"),
        (own_child, drill, fault, "complete"),
    ]:
        done = timezone.now() if status == "complete" else None
        lesson = make_lesson(student, cast.coach, status=status, completed_at=done)
        focus = Focus.objects.create(student=student, slot=1, area="putting", fault=about, opened_in=lesson)
        make_prescription(lesson, focus, drill=given, begins=academy_today() - timedelta(days=9))
        after = make_lesson(student, cast.coach, status="complete", completed_at=timezone.now())
        day = academy_today()
        Outcome.objects.create(
            lesson=after, before=lesson, student=student, coach=cast.coach, fault=about, verdict="held", day=day, days=9
        )
    holding = as_("coach").get(reverse("drill_holding", args=[drill.code])).context["holding"]
    assert (holding.given, holding.own_words) == (1, 0)
    [report_] = holding.reports
    assert len(report_.lines) == 1
    drills, faults, mine = Survivors(Drill), Survivors(Fault), Student.objects.filter(pk=cast.student.pk)
    assert len(verdicts(mine, faults, {fault.pk})) == 1 and not verdicts(mine, faults, {other.pk})
    assert set(cases_of(mine, drills, faults, {fault.pk})) == {fault.pk}
    assert not cases_of(mine, drills, faults, {other.pk})
    assert as_("student").get(reverse("drill_holding", args=[drill.code])).status_code == 403


def test_a_family_neither_carries_the_library_nor_adds_to_it(cast: Cast, as_: Clients) -> None:
    for actor in ("student", "guardian"):
        for name in ("library_file", "library_out", "drill_new"):
            assert as_(actor).get(reverse(name)).status_code == 403, (actor, name)
        assert as_(actor).post(reverse("library_take_in")).status_code == 403, actor
