"""A year of lessons at the invented academy, written down as its coaches would have. Nobody here exists."""

import zoneinfo
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from random import Random

from django.db import transaction

from coachbook.accounts.models import Academy, Area, Care, Coach, Pause, Student, User
from coachbook.demo import people
from coachbook.demo.builder import YearBuilder, after, by, by_coach, write
from coachbook.demo.measuring import measure
from coachbook.demo.phrases import GUARDIAN_NOTES, KEEP, NEXT_TIME, NOTES, OWN_NOTES, PLACES, TRIAL, TRIED, WORDS
from coachbook.demo.simulation import (
    Dose,
    FocusPeriod,
    GivenDrill,
    Seen,
    Visit,
    Year,
    lesson_days,
    simulate_year,
)
from coachbook.demo.stories import story_of
from coachbook.loop.sheets.issue import issue_sheet
from drills.library.fitting import fitting_drills, read_offered
from drills.models import Drill, PracticeEntry, Prescription
from lessons.derived import recompute_all
from lessons.models import Fault, Focus, Lesson, Look, Observation, SeenFault, SeenFocus, Session, Skill

SEED = 7
SHEETS = 3  # of each student, for their latest lessons
KNOWN = 400  # days for which the academy knows its students
CHILD = 13  # under this age a guardian reports, and drills are short games
COVERED, COVER_FROM, COVER_UNTIL = "Dilys Harrowbell", 190, 130  # days back
TRYING, DECIDES_IN = "Magnus Feathercup", 9

# --- The rows ------------------------------------------------------------------------------------


@dataclass
class StudentYear:
    """One student's rows while they are built; `slot` gives their weekday and hour."""

    builder: YearBuilder
    student: Student
    slot: int
    is_child: bool
    reporter: User | None
    rng: Random
    tape: Random  # draws what is measured; a source of its own leaves all else as it was before anything was
    lessons: list[Lesson] = field(default_factory=list)

    def next_phrase(self, words: tuple[str, ...]) -> str:
        """One of some sentences, another one than last time."""
        return words[(len(self.lessons) + self.slot) % len(words)]


@transaction.atomic
def fill(on: date, seed: int = SEED) -> bool:
    """Give the invented academy its year up to a day, where nobody has taught yet; touch nothing where somebody has.

    The same day and the same seed give the same rows, but for their keys.
    """
    if Session.objects.exists():
        return False
    cover_for_a_while(on)
    builder = start_builder()
    known_since = datetime.combine(on - timedelta(days=KNOWN), time(12), builder.zone)
    Student.history.update(history_date=known_since)
    years = [add_student_year(builder, person, on, seed) for person in people.STUDENTS]
    write(builder)
    recompute_all()
    for student_year in years:
        issue_sheets(student_year.lessons)
    return True


def start_builder() -> YearBuilder:
    """An empty builder beside the catalogue."""
    offered, faults = read_offered(), {fault.code: fault for fault in Fault.objects.filter(archived=False)}
    whole = Drill.objects.in_bulk()
    return YearBuilder(
        zone=zoneinfo.ZoneInfo(Academy.current().time_zone),
        skills={skill.code: skill for skill in Skill.objects.all()},
        faults=faults,
        drills={code: [whole[drill.pk] for drill in fitting_drills(fault, offered)] for code, fault in faults.items()},
    )


def add_student_year(builder: YearBuilder, person: people.Person, on: date, seed: int) -> StudentYear:
    """One student's year, from their story to its rows."""
    student_year = start_student_year(
        builder, person, Random(f"{seed} {person.name}"), Random(f"{seed} {person.name} measured")
    )
    story = story_of(person.name, student_year.rng)
    days = lesson_days(story, student_year.slot % 5, on, Random(f"{seed} {student_year.slot}"))
    doses = {code: [Dose(d.dose_per_week, d.dose_days) for d in drills] for code, drills in builder.drills.items()}
    year = simulate_year(story, days, on=on, doses=doses, rng=student_year.rng)
    cares = list(student_year.student.cares.select_related("coach__user"))
    for number, visit in enumerate(year.visits):
        add_lesson(student_year, visit, coach_on(cares, visit.day), phase_of(student_year, year, number))
    focuses = [add_focus(student_year, work) for work in year.works]
    for given_drill in year.given_drills:
        add_course(student_year, given_drill, focuses[year.works.index(given_drill.work)])
    if person.name == TRYING:
        add_trial(student_year, on)
    if story.paused:
        pause(student_year, on - timedelta(days=story.paused))
    return student_year


def start_student_year(builder: YearBuilder, person: people.Person, rng: Random, tape: Random) -> StudentYear:
    """A student's year without lessons; children of one guardian share an hour, everybody else has their own."""
    families = [set(other.guardians) & set(person.guardians) or other is person for other in people.STUDENTS]
    student = Student.objects.select_related("user").get(name=person.name)
    is_child = person.age is not None and person.age < CHILD
    guardian = User.objects.filter(guardianships__student=student).order_by("pk").first()
    slot = next(number for number, here in enumerate(families) if here)
    return StudentYear(builder, student, slot, is_child, guardian if is_child else student.user, rng, tape)


def coach_on(cares: list[Care], day: date) -> Coach:
    """Who teaches on a day: a coach who covers, or else the main one."""
    covers = [care for care in cares if care.role == Care.Role.COVER and care.since <= day]
    covers = [care for care in covers if care.until is None or day <= care.until]
    mains = [care for care in cares if care.role == Care.Role.MAIN]
    return (covers or mains)[0].coach


def phase_of(student_year: StudentYear, year: Year, number: int) -> str:
    """What kind of skill a lesson was mostly about."""
    works = [work for work in year.works if work.opened <= number and (work.closed is None or work.closed >= number)]
    codes = [work.habit.skill for work in works] or list(year.visits[number].arrival)
    return student_year.builder.skills[student_year.rng.choice(codes)].phase if codes else Skill.Phase.MOTION


# --- Its rows -----------------------------------------------------------------------------------


def session_of(student_year: StudentYear, visit: Visit, coach: Coach) -> Session:
    """The session on that day; a sibling's, where there is one."""
    hour = 13 + student_year.slot // 5 if visit.is_done else 18
    starts_at = datetime.combine(visit.day, time(hour), student_year.builder.zone)
    known = student_year.builder.sessions.get((coach.pk, starts_at))
    if known:
        known.kind = Session.Kind.GROUP
        return known
    session = Session(coach=coach, starts_at=starts_at, place=student_year.rng.choice(PLACES))
    session.planned_minutes = 30 if student_year.is_child else 60
    session.green_speed = Decimal(student_year.rng.randrange(16, 21)) / 2 if student_year.rng.random() < 0.4 else None
    student_year.builder.sessions[coach.pk, starts_at] = by(session, coach.user, after(session))
    return session


def add_lesson(student_year: StudentYear, visit: Visit, coach: Coach, phase: str) -> None:
    """A lesson with its looks, as the sides were; one that is not written up yet stays a draft."""
    session = session_of(student_year, visit, coach)
    areas = {student_year.builder.skills[code].area for code in visit.arrival} or {Area.PUTTING.value}
    values: dict[str, object] = {area: area in areas for area in Area.values}
    if visit.is_done:
        values |= {
            "keep": student_year.next_phrase(KEEP[phase]),
            "next_time": student_year.next_phrase(NEXT_TIME[phase]),
        }
        values |= {"note": student_year.rng.choice(NOTES) if student_year.rng.random() < 0.4 else ""}
        values |= {"status": Lesson.Status.COMPLETE, "completed_at": after(session)}
    lesson = Lesson.for_student(student_year.student, session, practice_reported=visit.practice_reported, **values)
    student_year.builder.lessons.append(by_coach(lesson, lesson))
    student_year.lessons.append(lesson)
    add_look(student_year, lesson, Look.Kind.ARRIVAL, visit.arrival)
    add_look(student_year, lesson, Look.Kind.DEPARTURE, visit.departure)


def add_look(student_year: StudentYear, lesson: Lesson, kind: str, seen: Seen) -> None:
    """One look with what it showed; none where nothing was looked at."""
    if not seen:
        return
    means = Look.Means.FILM if student_year.rng.random() < 0.2 else Look.Means.EYE
    look = by_coach(Look(lesson=lesson, kind=kind, means=means), lesson)
    student_year.builder.looks.append(look)
    for code, faults in seen.items():
        verdict = Observation.Verdict.NOT_GOOD if faults else Observation.Verdict.GOOD
        words = student_year.rng.choice(WORDS) if faults and student_year.rng.random() < 0.15 else ""
        skill = student_year.builder.skills[code]
        number = measure(code, faults, skill.measure_step or 0, skill.measure_low or 0, student_year.tape)
        observation = Observation(look=look, skill=skill, verdict=verdict, words=words, measure=number)
        student_year.builder.observations.append(by_coach(observation, lesson))
        for fault, degree in faults.items():
            row = SeenFault(observation=observation, fault=student_year.builder.faults[fault], degree=degree)
            student_year.builder.seen.append(by_coach(row, lesson))


def add_focus(student_year: StudentYear, work: FocusPeriod) -> Focus:
    """A focus from the lesson that opened it to the one that closed it."""
    lesson, fault = student_year.lessons[work.opened], student_year.builder.faults[work.habit.fault]
    focus = Focus(student=student_year.student, slot=work.slot, area=work.habit.area, fault=fault, opened_in=lesson)
    if work.closed is not None:
        focus.closed_in = student_year.lessons[work.closed]
        student_year.builder.closed.append((focus, focus.closed_in))
    student_year.builder.focuses.append(by_coach(focus, lesson))
    return focus


def add_trial(student_year: StudentYear, on: date) -> None:
    """A change for every stroke, looked at on every arrival since, whose decision day is still to come."""
    lessons, day = student_year.lessons[-1 - len(TRIED) :], on + timedelta(days=DECIDES_IN)
    lesson = lessons[0]
    trial = Focus(
        student=student_year.student, slot=2, kind=Focus.Kind.TRIAL, area=Area.PUTTING, opened_in=lesson, **TRIAL
    )
    trial.decide_on = day
    student_year.builder.focuses.append(by_coach(trial, lesson))
    add_seen_focus(student_year, trial, lesson, Look.Kind.DEPARTURE, SeenFocus.Degree.GOOD)
    for later, degree in zip(lessons[1:], TRIED, strict=True):
        add_seen_focus(student_year, trial, later, Look.Kind.ARRIVAL, degree)


def add_seen_focus(student_year: StudentYear, focus: Focus, lesson: Lesson, kind: str, degree: str) -> None:
    """What a look that a lesson had showed of a focus in own words."""
    for look in student_year.builder.looks:
        if look.lesson is lesson and look.kind == kind:
            student_year.builder.seen_focuses.append(by_coach(SeenFocus(look=look, focus=focus, degree=degree), lesson))


def add_course(student_year: StudentYear, given_drill: GivenDrill, focus: Focus) -> None:
    """A drill with its dose for a focus, and what was reported of it."""
    lesson = student_year.lessons[given_drill.lesson]
    drill = student_year.builder.drills[given_drill.work.habit.fault][given_drill.drill]
    game = student_year.is_child and drill.child_minutes
    row = Prescription(
        student=student_year.student,
        lesson=lesson,
        focus=focus,
        drill=drill,
        feel=focus.feel,
        amount=drill.child_minutes if game else drill.dose_amount,
        unit=Drill.Unit.MINUTES if game else drill.dose_unit,
        per_week=drill.dose_per_week,
        days=drill.dose_days,
        begins=given_drill.begins,
        review_on=given_drill.begins + timedelta(days=drill.dose_days),
        ended_on=given_drill.ended,
    )
    student_year.builder.prescriptions.append(by_coach(row, lesson))
    if given_drill.ended:
        student_year.builder.replaced.append((row, student_year.lessons[given_drill.lesson + 1]))
    if student_year.reporter:
        student_year.builder.entries += [
            entry(student_year, row, day, student_year.reporter) for day in given_drill.reported
        ]


def entry(student_year: StudentYear, given: Prescription, day: date, reporter: User) -> PracticeEntry:
    """One day's practice, as the student or a guardian reported it that evening."""
    notes = GUARDIAN_NOTES if student_year.is_child else OWN_NOTES
    amount = max(1, round(given.amount * student_year.rng.choice((0.6, 0.8, 1, 1, 1, 1.2))))
    scored = student_year.rng.randrange(3, 10) if student_year.rng.random() < 0.25 else None
    mark = given.mark_to_reach
    of = mark.of if mark and scored else None
    row = PracticeEntry(
        prescription=given,
        day=day,
        amount=amount,
        score=round(of * scored / 10) if of and scored else None,
        score_of=of,
        note=student_year.rng.choice(notes) if student_year.rng.random() < 0.12 else "",
        source=PracticeEntry.Source.GUARDIAN if student_year.is_child else PracticeEntry.Source.STUDENT,
        reported_on=day,
    )
    return by(row, reporter, datetime.combine(day, time(20), student_year.builder.zone))


# --- Into the database --------------------------------------------------------------------------


def cover_for_a_while(on: date) -> None:
    """Some weeks in which a second coach taught somebody."""
    student = Student.objects.get(name=COVERED)
    again = student.cares.filter(role=Care.Role.COVER).latest("since")
    since, until = on - timedelta(days=COVER_FROM), on - timedelta(days=COVER_UNTIL)
    Care.objects.create(coach=again.coach, student=student, role=Care.Role.COVER, since=since, until=until)


def pause(student_year: StudentYear, since: date) -> None:
    """Let a student pause."""
    coach = student_year.lessons[-1].session.coach.user
    rest = Pause(student=student_year.student, reason=Pause.Reason.WINTER, since=since)
    by(rest, coach, datetime.combine(since, time(18), student_year.builder.zone)).save()


def issue_sheets(lessons: list[Lesson]) -> None:
    """Issue the sheets of a student's latest lessons, each when its lesson was written up."""
    done = [lesson for lesson in lessons if lesson.status == Lesson.Status.COMPLETE]
    for lesson in done[-SHEETS:]:
        at = after(lesson.session)
        sheet = issue_sheet(lesson=lesson, at=at)
        sheet.history.update(history_date=at, history_user=lesson.session.coach.user)
