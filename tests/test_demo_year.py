"""The demo's year: its stories hold, coaches could have written its rows, and nothing in it depends on the clock."""

import re
import time
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.core.management import call_command
from django.db.models import Model

from coachbook.accounts.models import Care, Pause, Student
from coachbook.demo import people, year
from coachbook.demo.measuring import FAULT_MEASURES, GOOD_MEASURES
from coachbook.demo.simulation import (
    NEVER,
    POOL,
    QUICK,
    SLOW,
    STEADY,
    Dose,
    Habit,
    Learner,
    Story,
    Year,
    draw_degree,
    lesson_days,
    pass_day,
    simulate_year,
)
from coachbook.demo.stories import DRAWN, STORIES
from coachbook.loop.models import Sheet
from coachbook.management.commands import demo
from drills.load import load_drills
from drills.models import Ball, PracticeEntry, Prescription, ScoredTest
from lessons.load import load_catalogue
from lessons.measures import limit_question
from lessons.models import (
    Fault,
    Focus,
    Lesson,
    Look,
    MonthCount,
    Observation,
    Outcome,
    SeenFault,
    SeenFocus,
    Session,
    Skill,
    Still,
)

ON = date(2026, 6, 1)
ZONE = ZoneInfo("Europe/Dublin")
NOT_FOR_STUDENTS = re.compile(r"\b(faults?|marked|bad|badly|wrong|lead|trail)\b", re.IGNORECASE)
WRITTEN = [Session, Lesson, Look, Observation, SeenFault, Focus, SeenFocus, Prescription, PracticeEntry, Sheet]
SOME_DAYS = [ON + timedelta(days=days) for days in range(0, 365, 19)]


# --- The simulation, without a database ---------------------------------------------------------


def year_of(story: Story, on: date = ON, seed: int = 1) -> Year:
    rng = Random(seed)
    doses = defaultdict(lambda: [Dose(3, 30)])
    return simulate_year(story, lesson_days(story, 2, on, rng), on=on, doses=doses, rng=rng)


def left_after(habit: Habit, days: int, practises: bool) -> float:
    learner = Learner(Story(), ON, {}, Random(1), {habit: habit.strength})
    for _ in range(days):
        pass_day(learner, ON - timedelta(days=99), {habit} if practises else set())
    return learner.strength[habit]


def arrivals(year: Year, habit: Habit) -> list[tuple[date, bool]]:
    """The days on which its skill was looked at, and whether it was seen."""
    looks = [(visit.day, visit.arrival[habit.skill]) for visit in year.visits if habit.skill in visit.arrival]
    return [(day, habit.fault in faults) for day, faults in looks]


def test_faults_fade_at_their_own_speeds() -> None:
    after = [left_after(Habit("s", "w", 0.9, speed), 20, practises=True) for speed in (QUICK, STEADY, SLOW, NEVER)]
    assert after == sorted(after) and after[0] < 0.1 < after[1] < 0.5 < after[2] < after[3] == 0.9


def test_without_practice_a_little_comes_back() -> None:
    learner = Learner(Story(), ON, {}, Random(1), {(habit := Habit("s", "w", 0.9, QUICK)): 0.2})
    for _ in range(60):
        pass_day(learner, ON, set())
    assert 0.2 < learner.strength[habit] < 0.3


def test_a_look_shows_what_is_there() -> None:
    rng = Random(1)
    assert not any(draw_degree(0.05, rng) for _ in range(500))
    assert all(draw_degree(0.85, rng) for _ in range(500))
    weak, strong = (Counter(draw_degree(strength, rng) for _ in range(500)) for strength in (0.4, 0.9))
    assert weak["clear"] < weak["slight"] < weak[None]
    assert strong["clear"] > 5 * strong["slight"]


def test_a_departure_looks_better_than_the_arrival_and_the_next_arrival_less_so() -> None:
    story = Story((Habit("putting-grip", "apart", 0.9, NEVER),))
    before = after = then = 0
    for seed in range(60):
        visits = year_of(story, seed=seed).visits
        for visit, following in pairwise(visits):
            if visit.departure:
                before += bool(visit.arrival["putting-grip"])
                after += bool(visit.departure["putting-grip"])
                then += bool(following.arrival["putting-grip"])
    assert after < 0.5 * before and after < 0.5 * then


@pytest.mark.parametrize("on", SOME_DAYS, ids=str)
def test_whoever_never_practises_keeps_the_fault_on_any_day(on: date) -> None:
    story = STORIES["Gideon Puddlefern"]
    lived = year_of(story, on, seed=on.toordinal())
    assert not any(course.done for course in lived.given_drills)
    assert {visit.practice_reported for visit in lived.visits[1:]} == {"none"}
    seen = [seen for _, seen in arrivals(lived, story.habits[0])]
    assert len(seen) > 15 and all(seen)


@pytest.mark.parametrize("on", SOME_DAYS, ids=str)
def test_one_fault_is_months_clean_and_comes_back_on_any_day(on: date) -> None:
    story = STORIES["Linnet Oxpebble"]
    looks = arrivals(year_of(story, on, seed=on.toordinal()), story.habits[0])
    back = on - timedelta(days=story.habits[0].back)
    clean = [seen for day, seen in looks if on - timedelta(days=200) < day < back]
    assert looks[0][1]
    assert len(clean) > 1 and not any(clean)
    assert all(seen for day, seen in looks if day > back) and looks[-1][1]


def test_the_same_seed_gives_the_same_year_and_another_one_another() -> None:
    story = STORIES["Alder Quimble"]
    assert year_of(story, seed=1) == year_of(story, seed=1) != year_of(story, seed=2)


# --- The year as it is written ------------------------------------------------------------------


@dataclass
class Filled:
    """The academy with its year, and the processor time that took: other work on the machine does not count."""

    seconds: float


@pytest.fixture(scope="module")
def filled(django_db_setup: None, django_db_blocker: Any) -> Iterator[Filled]:
    """Built once for all tests of this file, and taken away after them."""
    with django_db_blocker.unblock():
        load_catalogue()
        load_drills()
        begun = time.process_time()
        demo.fill(ON)
        seconds = time.process_time() - begun
    yield Filled(seconds)
    with django_db_blocker.unblock():
        call_command("flush", interactive=False, verbosity=0)


@pytest.fixture
def academy(filled: Filled, db: None) -> Filled:
    return filled


def lessons_of(name: str) -> list[Lesson]:
    found = Lesson.objects.complete().filter(student__name=name).select_related("session__coach__user", "student")
    return list(found.order_by("session__starts_at"))


def day_of(lesson: Lesson) -> date:
    return lesson.session.starts_at.astimezone(ZONE).date()


def seen_on_arrival(name: str, code: str) -> list[tuple[date, str]]:
    """The arrivals at which the fault's skill was looked at, each with the degree, or nothing for clean."""
    fault = Fault.objects.get(code=code)
    found = Observation.objects.filter(skill=fault.skill, look__kind="arrival", look__lesson__in=lessons_of(name))
    return [
        (day_of(row.look.lesson), next((seen.degree for seen in row.seen_faults.all() if seen.fault == fault), ""))
        for row in found.select_related("look__lesson__session").order_by("look__lesson__session__starts_at")
    ]


def entries_of(name: str) -> list[PracticeEntry]:
    return list(PracticeEntry.objects.filter(prescription__student__name=name).select_related("prescription"))


def rows(model: type[Model]) -> Counter[tuple[Any, ...]]:
    """All rows without what may differ: their own keys, and the numbers of the rows they point to."""
    names = [field.name for field in model._meta.concrete_fields if not field.is_relation and field.name != "id"]
    names = [name for name in names if name not in ("key", "content", "unsaved")]
    owners = {"student": "student__name", "fault": "fault__code", "skill": "skill__code", "drill": "drill__code"}
    named = [path for name, path in owners.items() if name in {field.name for field in model._meta.concrete_fields}]
    return Counter(model._default_manager.values_list(*names, *named))


REGULAR = [
    person.name
    for person in people.STUDENTS
    if not (told := DRAWN.get(person.name)) or (told.first, told.most, told.last < 30) == (365, 99, True)
]


def test_every_story_is_of_somebody_and_every_fault_of_the_catalogue(academy: Filled) -> None:
    assert STORIES.keys() | DRAWN.keys() <= {person.name for person in people.STUDENTS}
    habits = [habit for story in STORIES.values() for habit in story.habits]
    for skill, way in {*POOL, *((habit.skill, habit.way) for habit in habits)}:
        fault = Fault.objects.get(code=f"{skill}-{way}")
        assert fault.skill.code == skill and fault.skill.area == skill.split("-")[0]
        assert fault.drills.exists()


@pytest.mark.parametrize("name", REGULAR)
def test_a_regular_student_comes_every_two_or_three_weeks(academy: Filled, name: str) -> None:
    days = [day_of(lesson) for lesson in lessons_of(name)]
    assert 19 <= len(days) <= 25
    assert {(later - day).days for day, later in pairwise(days)} <= {14, 21}
    assert (ON - days[-1]).days < 14


def test_whoever_never_practises_is_told_so_and_reports_nothing(academy: Filled) -> None:
    looks = seen_on_arrival("Gideon Puddlefern", "putting-tempo-rushed")
    assert len(looks) > 15 and all(degree for _, degree in looks)
    assert entries_of("Gideon Puddlefern") == []
    assert {lesson.practice_reported for lesson in lessons_of("Gideon Puddlefern")[1:]} == {"none"}


def test_one_student_s_fault_is_back_after_months(academy: Filled) -> None:
    looks = seen_on_arrival("Linnet Oxpebble", "putting-finish-eyes-early")
    recent = [degree for day, degree in looks if day > ON - timedelta(days=60)]
    quiet = [degree for day, degree in looks if ON - timedelta(days=200) < day <= ON - timedelta(days=60)]
    assert looks[0][1] and len(quiet) > 1 and not any(quiet)
    assert recent and all(recent)


def test_one_practises_and_it_never_moves(academy: Filled) -> None:
    looks = seen_on_arrival("Quentin Duskbee", "putting-lead-wrist-cups")
    assert len(entries_of("Quentin Duskbee")) > 80
    assert all(degree for _, degree in looks[-6:])


def test_faults_of_those_who_practise_are_seen_less_in_the_end(academy: Filled) -> None:
    thirds = {"first": [0, 0], "last": [0, 0]}
    stories = {**{name: Story() for name in REGULAR}, **STORIES, **DRAWN}
    diligent = [n for n in REGULAR if stories[n].diligence >= 0.6 and n not in ("Linnet Oxpebble", "Quentin Duskbee")]
    for name in diligent:
        lessons = lessons_of(name)
        third = len(lessons) // 3
        worked = set(
            Focus.objects.filter(student__name=name, fault__isnull=False).values_list("fault__code", flat=True)
        )
        for code in worked:
            for day, degree in seen_on_arrival(name, code):
                when = "first" if day < day_of(lessons[third]) else "last" if day >= day_of(lessons[-third]) else ""
                if when:
                    thirds[when][0] += bool(degree)
                    thirds[when][1] += 1
    (seen_first, looked_first), (seen_last, looked_last) = thirds.values()
    assert len(diligent) >= 8 and min(looked_first, looked_last) > 100
    assert seen_last / looked_last < 0.6 * seen_first / looked_first


def test_the_brand_new_have_no_lesson_and_one_has_two(academy: Filled) -> None:
    assert not Lesson.objects.filter(student__name="Hattie Birdpenny").exists()
    assert len(lessons_of("Otis Marlpin")) == 2


def test_one_paused_some_weeks_ago(academy: Filled) -> None:
    student = Student.objects.get(name="Thea Brackenloom")
    [pause] = Pause.objects.in_force(ON)
    assert pause.student == student and pause.until is None
    paused_on = pause.since
    assert 21 <= (ON - paused_on).days <= 60
    assert day_of(lessons_of(student.name)[-1]) <= paused_on
    assert max(entry.day for entry in entries_of(student.name)) <= paused_on


def test_one_was_not_seen_for_more_than_sixty_days(academy: Filled) -> None:
    gone = [person.name for person in people.STUDENTS if (found := lessons_of(person.name)) and late(found[-1])]
    assert gone == ["Petra Sallowpipit"]


def late(lesson: Lesson) -> bool:
    return (ON - day_of(lesson)).days > 60


def test_a_trial_waits_for_its_day(academy: Filled) -> None:
    trial = Focus.objects.get(kind="trial")
    assert trial.closed_in is None and trial.decision == ""
    assert trial.decide_on is not None and trial.decide_on > ON
    assert day_of(trial.opened_in) < ON and trial.what and not NOT_FOR_STUDENTS.search(trial.what + trial.feel)
    looks = trial.seen.order_by("pk").values_list("look__kind", flat=True)
    assert [*looks] == ["departure", "arrival", "arrival", "arrival"]


def test_guardians_report_for_children_and_nobody_for_those_without_account(academy: Filled) -> None:
    for name, guardian in (("Emeka Larkwren", "ngozi"), ("Flora Larkwren", "ngozi"), ("Wilf Tarkle", "joss")):
        entries = entries_of(name)
        assert entries and {entry.source for entry in entries} == {"guardian"}
        assert entries[0].history.first().history_user.username == guardian  # type: ignore[attr-defined]
    assert {entry.source for entry in entries_of("Alder Quimble")} == {"student"}
    assert entries_of("Otis Marlpin") == []


def test_sides_are_frozen_area_by_area(academy: Filled) -> None:
    lessons = lessons_of("Caspian Thornlace")
    assert {(lesson.side("putting"), lesson.side("chipping")) for lesson in lessons} == {("left", "right")}
    assert any(lesson.putting for lesson in lessons) and any(lesson.chipping for lesson in lessons)
    for name in ("Beatrix Mossbud", "Ivo Chalkribbon"):
        assert {side for lesson in lessons_of(name) for side in lesson.sides.values()} == {"left"}
    assert {side for lesson in lessons_of("Alder Quimble") for side in lesson.sides.values()} == {"right"}


def test_a_second_coach_taught_one_student_while_covering(academy: Filled) -> None:
    lessons = lessons_of("Dilys Harrowbell")
    covered = [lesson for lesson in lessons if lesson.session.coach.user.name == "Bram Saltquill"]
    assert 2 <= len(covered) < len(lessons) / 2
    for lesson in covered:
        cares = Care.objects.filter(coach=lesson.session.coach, student=lesson.student, role="cover")
        assert cares.in_force(day_of(lesson)).exists()
    others = Lesson.objects.exclude(student__name="Dilys Harrowbell").select_related("session", "student")
    for lesson in others:
        assert lesson.student.cares.filter(role="main", coach=lesson.session.coach_id).exists()


def test_siblings_share_an_hour(academy: Filled) -> None:
    together = Session.objects.filter(kind="group")
    assert together.count() == len(lessons_of("Flora Larkwren"))
    for session in together:
        names = session.lessons.values_list("student__name", flat=True)
        assert sorted(names) == ["Emeka Larkwren", "Flora Larkwren"]


def test_lessons_are_on_weekday_afternoons_and_never_two_at_once(academy: Filled) -> None:
    done = list(Session.objects.filter(lessons__status="complete").distinct())
    for session in done:
        begins = session.starts_at.astimezone(ZONE)
        assert begins.weekday() < 5 and 12 <= begins.hour < 18
        assert ON - timedelta(days=366) < begins.date() < ON
    for coach in {session.coach_id for session in done}:
        times = sorted(
            (s.starts_at, s.starts_at + timedelta(minutes=s.planned_minutes)) for s in done if s.coach_id == coach
        )
        assert all(end <= begins for (_, end), (begins, _) in pairwise(times))


def test_one_lesson_of_yesterday_lies_unfinished(academy: Filled) -> None:
    draft = Lesson.objects.get(status="draft")
    assert day_of(draft) == ON - timedelta(days=1)
    assert draft.completed_at is None and not draft.keep and not draft.sheets.exists()
    assert [look.kind for look in draft.looks.all()] == ["arrival"] and draft.looks.get().observations.exists()


def test_one_or_two_focuses_are_open_and_every_one_is_looked_at_on_arrival(academy: Filled) -> None:
    for person in people.STUDENTS:
        focuses = list(Focus.objects.filter(student__name=person.name).select_related("fault__skill"))
        lessons = lessons_of(person.name)
        number = {lesson.pk: place for place, lesson in enumerate(lessons)}
        spans = [(focus, number[focus.opened_in_id], number.get(focus.closed_in_id, 99)) for focus in focuses]
        assert not lessons or focuses
        for place, lesson in enumerate(lessons):
            standing = [focus for focus, opened, closed in spans if opened <= place < closed]
            assert len(standing) <= 2 and len({focus.slot for focus in standing}) == len(standing)
            looked = set(
                Observation.objects.filter(look__lesson=lesson, look__kind="arrival").values_list("skill", flat=True)
            )
            continuing = [focus for focus, opened, closed in spans if opened < place <= closed and focus.fault]
            assert {focus.fault.skill_id for focus in continuing if focus.fault} <= looked
        if lessons:
            assert 1 <= sum(closed == 99 for _, _, closed in spans) <= 2


def test_focuses_come_and_go(academy: Filled) -> None:
    assert Focus.objects.exclude(closed_in=None).count() > 40
    for focus in Focus.objects.exclude(closed_in=None).select_related("opened_in__session", "closed_in__session"):
        assert focus.closed_in is not None
        assert focus.opened_in.session.starts_at < focus.closed_in.session.starts_at
        assert focus.opened_in.student_id == focus.closed_in.student_id == focus.student_id


def test_looks_say_what_they_can(academy: Filled) -> None:
    for row in Observation.objects.prefetch_related("seen_faults__fault"):
        seen = row.seen_faults.all()
        assert row.verdict == ("not_good" if seen else "good")
        assert all(fault.fault.skill_id == row.skill_id for fault in seen)
        assert row.reader == "coach"
    degrees = Counter(SeenFault.objects.values_list("degree", flat=True))
    assert degrees["clear"] and degrees["slight"] and degrees["not_graded"] < degrees["slight"]
    for lesson in Lesson.objects.prefetch_related("looks__observations__skill"):
        skills = {look.kind: {row.skill for row in look.observations.all()} for look in lesson.looks.all()}
        assert skills.get("departure", set()) <= skills.get("arrival", set())
        assert all(getattr(lesson, skill.area) for found in skills.values() for skill in found)


def test_what_was_measured_agrees_with_what_was_seen_and_stays_within_its_limits(academy: Filled) -> None:
    assert set(GOOD_MEASURES) <= {skill.code for skill in Skill.objects.exclude(measure_unit="")}
    assert set(FAULT_MEASURES) <= set(Fault.objects.values_list("code", flat=True))
    rows = Observation.objects.filter(measure__isnull=False).select_related("skill", "look")
    assert {row.look.kind for row in rows} == {"arrival", "departure"} and len(rows) > 50
    for row in rows:
        assert row.skill.measured and limit_question(row.measure, row.skill.measured) == "", row.measure
    wide = rows.filter(skill__code="chipping-stance-width")
    clear = wide.filter(seen_faults__degree="clear").values_list("measure", flat=True)
    assert min(clear) > max(wide.filter(verdict="good").values_list("measure", flat=True))


def test_other_skills_are_noted_mostly_when_they_are_bad(academy: Filled) -> None:
    verdicts: Counter[str] = Counter()
    for row in Observation.objects.filter(look__kind="arrival").select_related("look__lesson"):
        if not Focus.objects.filter(student=row.look.lesson.student_id, fault__skill=row.skill_id).exists():
            verdicts[row.verdict] += 1
    assert verdicts["not_good"] > 2 * verdicts["good"] > 0


def test_drills_mend_the_fault_and_end_when_replaced(academy: Filled) -> None:
    days = {person.name: [day_of(lesson) for lesson in lessons_of(person.name)] for person in people.STUDENTS}
    given = Prescription.objects.select_related("lesson__session", "focus__fault__skill", "drill", "student")
    for row in given.prefetch_related("drill__fits"):
        assert [fit.is_wrong for fit in row.drill.fits.all() if fit.fault_id == row.focus.fault_id] == [False]
        assert row.begins == day_of(row.lesson) and row.review_on == row.begins + timedelta(days=row.days)
        assert (row.per_week, row.days) == (row.drill.dose_per_week, row.drill.dose_days)
        assert row.ended_on == next((day for day in days[row.student.name] if day > row.begins), None)


def test_a_child_practises_by_the_minute(academy: Filled) -> None:
    of_children = Prescription.objects.filter(student__name__in=("Emeka Larkwren", "Flora Larkwren", "Wilf Tarkle"))
    games = of_children.filter(drill__child_minutes__gt=0)
    assert games and all((row.unit, row.amount) == ("minutes", row.drill.child_minutes) for row in games)


def test_practice_is_reported_within_its_dose_once_a_day(academy: Filled) -> None:
    entries = PracticeEntry.objects.select_related("prescription")
    assert entries.count() > 1000
    assert len({(entry.prescription_id, entry.day) for entry in entries}) == entries.count()
    for entry in entries:
        given = entry.prescription
        assert given.begins < entry.day < min(given.ended_on or ON, given.begins + timedelta(days=given.days))


def test_the_last_three_lessons_have_their_sheet(academy: Filled) -> None:
    for person in people.STUDENTS:
        lessons = lessons_of(person.name)
        assert [lesson.sheets.count() for lesson in lessons] == [0] * (len(lessons) - 3) + [1] * min(3, len(lessons))
    for sheet in Sheet.objects.select_related("lesson"):
        assert sheet.issued_at == sheet.lesson.completed_at and sheet.voided_at is None


def test_a_student_never_reads_what_is_bad(academy: Filled) -> None:
    for lesson in Lesson.objects.complete():
        assert lesson.keep and lesson.next_time
        for text in (lesson.keep, lesson.next_time):
            assert not NOT_FOR_STUDENTS.search(text) and not re.search(r"\b(left|right)\b|[{}]", text)
    for sheet in Sheet.objects.all():
        assert not re.search(r"fault|\bmarked\b|\b(lead|trail)\b|[{}]{2}|\{\w+\}", spoken(sheet.content), re.IGNORECASE)
    for entry in PracticeEntry.objects.exclude(note=""):
        assert not NOT_FOR_STUDENTS.search(entry.note)


def spoken(content: Any) -> str:
    """All words of a sheet's content, without the names of its fields."""
    if isinstance(content, dict):
        return " ".join(spoken(value) for value in content.values())
    return " ".join(map(spoken, content)) if isinstance(content, list) else str(content)


def test_words_vary_from_lesson_to_lesson(academy: Filled) -> None:
    for name in REGULAR:
        kept = [lesson.keep for lesson in lessons_of(name)]
        assert len(set(kept)) > 2 and all(one != other for one, other in pairwise(kept))


@pytest.mark.parametrize("model", WRITTEN)
def test_the_history_tells_who_wrote_and_when(academy: Filled, model: type[Model]) -> None:
    history = model.history  # type: ignore[attr-defined]
    assert history.filter(history_type="+").count() == model._default_manager.count() > 0
    assert not history.filter(history_user=None).exists()
    assert not history.filter(history_date__date__gt=ON).exists()


@pytest.mark.parametrize("model, ending", [(Focus, "closed_in"), (Prescription, "ended_on")])
def test_the_history_tells_beginning_and_end(academy: Filled, model: type[Model], ending: str) -> None:
    for row in model._default_manager.exclude(**{ending: None}):
        ended, begun = row.history.all()
        assert getattr(begun, ending) is None and getattr(ended, ending) == getattr(row, ending)
        assert begun.history_date < ended.history_date


def test_it_takes_no_longer_than_a_person_waits(academy: Filled) -> None:
    assert academy.seconds < 8


def test_running_it_again_changes_nothing(academy: Filled) -> None:
    before = [(model._default_manager.count(), model.history.count()) for model in WRITTEN]  # type: ignore[attr-defined]
    demo.fill(ON + timedelta(days=1))
    assert not year.fill(ON)
    assert [(m._default_manager.count(), m.history.count()) for m in WRITTEN] == before  # type: ignore[attr-defined]


def unwrite() -> None:
    """Take the year away again, with what follows from it and the tests of its lessons, and nothing else."""
    for model in (Still, Ball, ScoredTest, MonthCount, Outcome, *reversed(WRITTEN)):
        model._default_manager.all()._raw_delete("default")  # no cascade, no history: it is undone anyway
    Care.objects.filter(role="cover", until__isnull=False).delete()
    Student.objects.update(status="active")


def test_the_same_day_and_seed_give_the_same_rows(academy: Filled) -> None:
    before = {model: rows(model) for model in WRITTEN}
    sheets = sorted(map(spoken, Sheet.objects.values_list("content", flat=True)))
    unwrite()
    assert year.fill(ON)
    assert all(rows(model) == before[model] for model in WRITTEN)
    assert sorted(map(spoken, Sheet.objects.values_list("content", flat=True))) == sheets
