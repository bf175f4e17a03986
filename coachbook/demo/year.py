"""A year of lessons at the invented academy, written down as its coaches would have. Nobody here exists."""

import zoneinfo
from copy import copy
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from random import Random
from typing import Any, TypeVar

from django.db import transaction
from django.db.models import Model
from simple_history.utils import bulk_create_with_history

from coachbook.accounts.models import Academy, Area, Care, Coach, Pause, Student, User
from coachbook.demo import people
from coachbook.demo.fading import Course, Dose, Seen, Visit, Work, Year, lesson_days, live
from coachbook.demo.stories import story_of
from coachbook.demo.words import GUARDIAN_NOTES, KEEP, NEXT_TIME, NOTES, OWN_NOTES, PLACES, TRIAL, WORDS
from coachbook.loop.sheets.content import issue_sheet
from drills.models import Drill, PracticeEntry, Prescription
from lessons.derived import reckon_all
from lessons.models import Fault, Focus, Lesson, Look, Observation, SeenFault, Session, Skill

Row = TypeVar("Row", bound=Model)
SEED = 7
SHEETS = 3  # of each student, for their latest lessons
KNOWN = 400  # days for which the academy knows its students
CHILD = 13  # under this age a guardian reports, and drills are short games
COVERED, COVER_FROM, COVER_UNTIL = "Dilys Harrowgate", 190, 130  # days back
TRYING, DECIDES_IN = "Magnus Featherhay", 9

# --- The book -----------------------------------------------------------------------------------


@dataclass
class Book:
    """The catalogue, and all rows of the year that are not written yet."""

    zone: zoneinfo.ZoneInfo
    skills: dict[str, Skill]
    faults: dict[str, Fault]
    drills: dict[str, list[Drill]]
    sessions: dict[tuple[int, datetime], Session] = field(default_factory=dict)
    lessons: list[Lesson] = field(default_factory=list)
    looks: list[Look] = field(default_factory=list)
    observations: list[Observation] = field(default_factory=list)
    seen: list[SeenFault] = field(default_factory=list)
    focuses: list[Focus] = field(default_factory=list)
    prescriptions: list[Prescription] = field(default_factory=list)
    entries: list[PracticeEntry] = field(default_factory=list)
    closed: list[tuple[Focus, Lesson]] = field(default_factory=list)
    replaced: list[tuple[Prescription, Lesson]] = field(default_factory=list)


@dataclass
class Page:
    """One student's part of the book, while it is filled; `slot` gives their weekday and hour."""

    book: Book
    student: Student
    slot: int
    is_child: bool
    reporter: User | None
    rng: Random
    lessons: list[Lesson] = field(default_factory=list)

    def turn(self, words: tuple[str, ...]) -> str:
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
    book = open_book()
    known_since = datetime.combine(on - timedelta(days=KNOWN), time(12), book.zone)
    Student.history.update(history_date=known_since)
    pages = [fill_page(book, person, on, seed) for person in people.STUDENTS]
    write(book)
    reckon_all()
    for page in pages:
        hand_out(page.lessons)
    return True


def open_book() -> Book:
    """An empty book beside the catalogue."""
    skills = {skill.code: skill for skill in Skill.objects.prefetch_related("drills")}
    return Book(
        zone=zoneinfo.ZoneInfo(Academy.current().time_zone),
        skills=skills,
        faults={fault.code: fault for fault in Fault.objects.all()},
        drills={code: list(skill.drills.all()) for code, skill in skills.items()},
    )


def fill_page(book: Book, person: people.Person, on: date, seed: int) -> Page:
    """One student's year, from their story to its rows."""
    page = open_page(book, person, Random(f"{seed} {person.name}"))
    story = story_of(person.name, page.rng)
    days = lesson_days(story, page.slot % 5, on, Random(f"{seed} {page.slot}"))
    doses = {code: [Dose(d.dose_per_week, d.dose_days) for d in drills] for code, drills in book.drills.items()}
    year = live(story, days, on=on, doses=doses, rng=page.rng)
    cares = list(page.student.cares.select_related("coach__user"))
    for number, visit in enumerate(year.visits):
        add_lesson(page, visit, coach_on(cares, visit.day), phase_of(page, year, number))
    focuses = [add_focus(page, work) for work in year.works]
    for course in year.courses:
        add_course(page, course, focuses[year.works.index(course.work)])
    if person.name == TRYING:
        add_trial(page, on)
    if story.paused:
        pause(page, on - timedelta(days=story.paused))
    return page


def open_page(book: Book, person: people.Person, rng: Random) -> Page:
    """A student's empty page; children of one guardian share an hour, everybody else has their own."""
    families = [set(other.guardians) & set(person.guardians) or other is person for other in people.STUDENTS]
    student = Student.objects.select_related("user").get(name=person.name)
    is_child = person.age is not None and person.age < CHILD
    guardian = User.objects.filter(guardianships__student=student).order_by("pk").first()
    slot = next(number for number, here in enumerate(families) if here)
    return Page(book, student, slot, is_child, guardian if is_child else student.user, rng)


def coach_on(cares: list[Care], day: date) -> Coach:
    """Who teaches on a day: a coach who covers, or else the main one."""
    covers = [care for care in cares if care.role == Care.Role.COVER and care.since <= day]
    covers = [care for care in covers if care.until is None or day <= care.until]
    mains = [care for care in cares if care.role == Care.Role.MAIN]
    return (covers or mains)[0].coach


def phase_of(page: Page, year: Year, number: int) -> str:
    """What kind of skill a lesson was mostly about."""
    works = [work for work in year.works if work.opened <= number and (work.closed is None or work.closed >= number)]
    codes = [work.habit.skill for work in works] or list(year.visits[number].arrival)
    return page.book.skills[page.rng.choice(codes)].phase if codes else Skill.Phase.MOTION


# --- Its rows -----------------------------------------------------------------------------------


def by(row: Row, user: User | None, at: datetime) -> Row:
    """The row, with whose hand its history names and when that wrote."""
    vars(row).update(_history_user=user, _history_date=at)
    return row


def by_coach(row: Row, lesson: Lesson) -> Row:
    """The row, written by the lesson's coach right after the lesson."""
    return by(row, lesson.session.coach.user, after(lesson.session))


def after(session: Session) -> datetime:
    """When a session is written up."""
    return session.starts_at + timedelta(minutes=session.planned_minutes + 5)


def session_of(page: Page, visit: Visit, coach: Coach) -> Session:
    """The session on that day; a sibling's, where there is one."""
    hour = 13 + page.slot // 5 if visit.is_done else 18
    starts_at = datetime.combine(visit.day, time(hour), page.book.zone)
    known = page.book.sessions.get((coach.pk, starts_at))
    if known:
        known.kind = Session.Kind.GROUP
        return known
    session = Session(coach=coach, starts_at=starts_at, place=page.rng.choice(PLACES))
    session.planned_minutes = 30 if page.is_child else 60
    session.green_speed = Decimal(page.rng.randrange(16, 21)) / 2 if page.rng.random() < 0.4 else None
    page.book.sessions[coach.pk, starts_at] = by(session, coach.user, after(session))
    return session


def add_lesson(page: Page, visit: Visit, coach: Coach, phase: str) -> None:
    """A lesson with its looks, as the sides were; one that is not written up yet stays a draft."""
    session = session_of(page, visit, coach)
    areas = {page.book.skills[code].area for code in visit.arrival} or {Area.PUTTING.value}
    values: dict[str, object] = {area: area in areas for area in Area.values}
    if visit.is_done:
        values |= {"keep": page.turn(KEEP[phase]), "next_time": page.turn(NEXT_TIME[phase])}
        values |= {"note": page.rng.choice(NOTES) if page.rng.random() < 0.4 else ""}
        values |= {"status": Lesson.Status.COMPLETE, "completed_at": after(session)}
    lesson = Lesson.for_student(page.student, session, practice_told=visit.told, **values)
    page.book.lessons.append(by_coach(lesson, lesson))
    page.lessons.append(lesson)
    add_look(page, lesson, Look.Kind.ARRIVAL, visit.arrival)
    add_look(page, lesson, Look.Kind.DEPARTURE, visit.departure)


def add_look(page: Page, lesson: Lesson, kind: str, seen: Seen) -> None:
    """One look with what it showed; none where nothing was looked at."""
    if not seen:
        return
    means = Look.Means.FILM if page.rng.random() < 0.2 else Look.Means.EYE
    look = by_coach(Look(lesson=lesson, kind=kind, means=means), lesson)
    page.book.looks.append(look)
    for code, faults in seen.items():
        verdict = Observation.Verdict.NOT_SOUND if faults else Observation.Verdict.SOUND
        words = page.rng.choice(WORDS) if faults and page.rng.random() < 0.15 else ""
        observation = Observation(look=look, skill=page.book.skills[code], verdict=verdict, words=words)
        page.book.observations.append(by_coach(observation, lesson))
        for fault, degree in faults.items():
            row = SeenFault(observation=observation, fault=page.book.faults[fault], degree=degree)
            page.book.seen.append(by_coach(row, lesson))


def add_focus(page: Page, work: Work) -> Focus:
    """A focus from the lesson that opened it to the one that closed it."""
    lesson, fault = page.lessons[work.opened], page.book.faults[work.habit.fault]
    focus = Focus(student=page.student, slot=work.slot, area=work.habit.area, fault=fault, opened_in=lesson)
    if work.closed is not None:
        focus.closed_in = page.lessons[work.closed]
        page.book.closed.append((focus, focus.closed_in))
    page.book.focuses.append(by_coach(focus, lesson))
    return focus


def add_trial(page: Page, on: date) -> None:
    """A change for every stroke, taken on in the last lesson but one, whose decision day is still to come."""
    lesson, day = page.lessons[-2], on + timedelta(days=DECIDES_IN)
    trial = Focus(student=page.student, slot=2, kind=Focus.Kind.TRIAL, area=Area.PUTTING, opened_in=lesson, **TRIAL)
    trial.decide_on = day
    page.book.focuses.append(by_coach(trial, lesson))


def add_course(page: Page, course: Course, focus: Focus) -> None:
    """A drill with its dose for a focus, and what was reported of it."""
    lesson = page.lessons[course.lesson]
    drill = page.book.drills[course.work.habit.skill][course.drill]
    game = page.is_child and drill.child_minutes
    row = Prescription(
        student=page.student,
        lesson=lesson,
        focus=focus,
        drill=drill,
        feel=focus.feel,
        amount=drill.child_minutes if game else drill.dose_amount,
        unit=Drill.Unit.MINUTES if game else drill.dose_unit,
        per_week=drill.dose_per_week,
        days=drill.dose_days,
        begins=course.begins,
        review_on=course.begins + timedelta(days=drill.dose_days),
        ended_on=course.ended,
    )
    page.book.prescriptions.append(by_coach(row, lesson))
    if course.ended:
        page.book.replaced.append((row, page.lessons[course.lesson + 1]))
    if page.reporter:
        page.book.entries += [entry(page, row, day, page.reporter) for day in course.reported]


def entry(page: Page, given: Prescription, day: date, reporter: User) -> PracticeEntry:
    """One day's practice, as the student or a guardian reported it that evening."""
    notes = GUARDIAN_NOTES if page.is_child else OWN_NOTES
    row = PracticeEntry(
        prescription=given,
        day=day,
        amount=max(1, round(given.amount * page.rng.choice((0.6, 0.8, 1, 1, 1, 1.2)))),
        score=f"{page.rng.randrange(3, 10)} of 10" if page.rng.random() < 0.25 else "",
        note=page.rng.choice(notes) if page.rng.random() < 0.12 else "",
        source=PracticeEntry.Source.GUARDIAN if page.is_child else PracticeEntry.Source.STUDENT,
    )
    return by(row, reporter, datetime.combine(day, time(20), page.book.zone))


# --- Into the database --------------------------------------------------------------------------


def cover_for_a_while(on: date) -> None:
    """Some weeks in which a second coach taught somebody."""
    student = Student.objects.get(name=COVERED)
    again = student.cares.filter(role=Care.Role.COVER).latest("since")
    since, until = on - timedelta(days=COVER_FROM), on - timedelta(days=COVER_UNTIL)
    Care.objects.create(coach=again.coach, student=student, role=Care.Role.COVER, since=since, until=until)


def pause(page: Page, since: date) -> None:
    """Let a student pause."""
    coach = page.lessons[-1].session.coach.user
    rest = Pause(student=page.student, reason=Pause.Reason.WINTER, since=since)
    by(rest, coach, datetime.combine(since, time(18), page.book.zone)).save()


def write(book: Book) -> None:
    """Write all rows, each with its history."""
    bulk_create_with_history(list(book.sessions.values()), Session)
    bulk_create_with_history(book.lessons, Lesson)
    bulk_create_with_history(book.looks, Look)
    bulk_create_with_history(book.observations, Observation)
    bulk_create_with_history(book.seen, SeenFault)
    write_ended(Focus, book.focuses, "closed_in", book.closed)
    write_ended(Prescription, book.prescriptions, "ended_on", book.replaced)
    bulk_create_with_history(book.entries, PracticeEntry)


def write_ended(model: Any, rows: list[Row], ending: str, ended: list[tuple[Row, Lesson]]) -> None:
    """Write rows that began in a lesson and, some of them, ended in a later one: their history tells both."""
    model.objects.bulk_create(rows)
    begun = [copy(row) for row in rows]
    for row in begun:
        setattr(row, ending, None)
    model.history.bulk_history_create(begun)
    model.history.bulk_history_create([by_coach(row, lesson) for row, lesson in ended], update=True)


def hand_out(lessons: list[Lesson]) -> None:
    """Issue the sheets of a student's latest lessons, each when its lesson was written up."""
    done = [lesson for lesson in lessons if lesson.status == Lesson.Status.COMPLETE]
    for lesson in done[-SHEETS:]:
        at = after(lesson.session)
        sheet = issue_sheet(lesson=lesson, at=at)
        sheet.history.update(history_date=at, history_user=lesson.session.coach.user)
