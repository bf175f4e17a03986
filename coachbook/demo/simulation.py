"""How the faults of invented students fade with practice, and creep back without. Pure: no rows, no clock.

Every fault has a hidden strength between 0 and 1. A session of practice takes a share of it away, each fault at
its own speed; a day without practice gives a little back. What a look shows is drawn from the strength of that day.
All rates are invented for the demo and claim nothing about real players.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from random import Random
from typing import Literal, NamedTuple

Degree = Literal["slight", "clear", "not_graded"]
Seen = dict[str, dict[str, Degree]]  # for each skill that was looked at, the faults that showed

QUICK, STEADY, SLOW, NEVER = 0.14, 0.05, 0.018, 0.0  # the share of a strength that one session takes away
CREEP = 0.001  # the share of what was lost that comes back in a day without practice
AT_DEPARTURE = 0.35  # what is left of a strength right after it was worked on
CARRIED, HALVED_IN = 0.25, 14  # how much better the next arrival is for that, and in how many days that halves
CLEAN_TO_CLOSE = 3  # clean arrivals in a row that close a focus


POOL = (
    ("putting-grip", "squeeze"),
    ("putting-ball-position", "back"),
    ("putting-eye-line", "inside"),
    ("putting-posture", "crouched"),
    ("putting-weight", "heels"),
    ("putting-aim", "open"),
    ("putting-aim", "closed"),
    ("putting-lead-wrist", "cups"),
    ("putting-tempo", "rushed"),
    ("putting-length", "hit"),
    ("putting-face", "open"),
    ("putting-finish-hold", "recoils"),
    ("putting-routine", "waits"),
    ("chipping-stance-width", "wide"),
    ("chipping-weight", "trail"),
    ("chipping-ball-position", "back"),
    ("chipping-turn-through", "chest"),
    ("chipping-low-point", "thin"),
    ("chipping-landing", "none"),
    ("chipping-finish-hold", "lost"),
)


@dataclass(frozen=True)
class Habit:
    """A fault as one student has it: how strong at first, how fast it fades, and when it is suddenly back."""

    skill: str
    way: str
    strength: float
    fades: float
    creeps: float = CREEP
    back: int = 0  # days before the year's end, 0 for never

    @property
    def fault(self) -> str:
        """The fault's code."""
        return f"{self.skill}-{self.way}"

    @property
    def area(self) -> str:
        """The part of the game it belongs to."""
        return self.skill.split("-")[0]


@dataclass(frozen=True)
class Story:
    """What a student's year is made of. Days are counted back from the year's end."""

    habits: tuple[Habit, ...] = ()
    diligence: float = 0.7  # the share of the practice asked for that is done
    reports: float = 0.8  # the share of what is done that anybody enters
    first: int = 365
    last: int = 1
    most: int = 99
    slots: tuple[int, ...] = (1, 2)
    paused: int = 0
    unfinished: bool = False  # yesterday's lesson is not written up yet


class Dose(NamedTuple):
    """What a drill asks for: sessions a week, for some days."""

    per_week: int
    days: int


@dataclass
class FocusPeriod:
    """A focus: from which lesson until which (counted from 0) a habit was worked on."""

    habit: Habit
    slot: int
    opened: int
    closed: int | None = None
    clean: int = 0


@dataclass
class GivenDrill:
    """Practice asked for in a lesson: the drill by its place among those of the skill, and the days it was done."""

    work: FocusPeriod
    lesson: int
    drill: int
    dose: Dose
    begins: date
    ended: date | None = None
    done: list[date] = field(default_factory=list)
    reported: list[date] = field(default_factory=list)

    def runs(self, day: date) -> bool:
        """Whether it asks for practice on a day; the lesson's own day is for the lesson."""
        return self.ended is None and self.begins < day < self.begins + timedelta(days=self.dose.days)


@dataclass(frozen=True)
class Visit:
    """One lesson as the coach saw it; no departure where there was no time for it."""

    day: date
    practice_reported: str
    arrival: Seen
    departure: Seen
    is_done: bool = True


@dataclass
class Year:
    """All that happened to one student."""

    visits: list[Visit] = field(default_factory=list)
    works: list[FocusPeriod] = field(default_factory=list)
    given_drills: list[GivenDrill] = field(default_factory=list)

    @property
    def open(self) -> list[FocusPeriod]:
        """What is worked on now."""
        return [work for work in self.works if work.closed is None]


@dataclass
class Learner:
    """A student in the middle of their year, with the hidden strength of every habit."""

    story: Story
    on: date
    doses: Mapping[str, Sequence[Dose]]
    rng: Random
    strength: dict[Habit, float]
    year: Year = field(default_factory=Year)
    fresh: list[Habit] = field(default_factory=list)  # worked on in the latest lesson


def lesson_days(story: Story, weekday: int, on: date, rng: Random) -> list[date]:
    """The days of a student's lessons before `on`: always on one weekday, two or three weeks apart."""
    last = on - timedelta(days=story.last)
    day, days = last - timedelta(days=(last.weekday() - weekday) % 7), list[date]()
    while day >= on - timedelta(days=story.first) and len(days) < story.most:
        days.append(day)
        day -= timedelta(days=rng.choice((14, 14, 21)))
    return days[::-1]


def simulate_year(
    story: Story, days: Sequence[date], *, on: date, doses: Mapping[str, Sequence[Dose]], rng: Random
) -> Year:
    """A student's year: what every lesson showed, what was worked on, when they practised.

    `doses` holds, for each fault's code, what each of the drills for it asks for. The same arguments and the same
    state of `rng` give the same year.
    """
    learner = Learner(story, on, doses, rng, {habit: habit.strength for habit in story.habits})
    for number, day in enumerate(days):
        give_lesson(learner, number, day)
        rest = on - timedelta(days=story.paused)
        practise(learner, day, days[number + 1] if number + 1 < len(days) else rest)
    if story.unfinished:
        yesterday = on - timedelta(days=1)
        begun = Visit(
            yesterday, practice_reported(learner, yesterday), look_at_arrival(learner, yesterday), {}, is_done=False
        )
        learner.year.visits.append(begun)
    return learner.year


def give_lesson(learner: Learner, number: int, day: date) -> None:
    """One lesson: practice reported, arrival, what to work on, practice asked for, departure."""
    practice, arrival = practice_reported(learner, day), look_at_arrival(learner, day)
    close_focus(learner, number, arrival)
    open_focus(learner, number, arrival)
    give_drill(learner, number, day)
    learner.fresh = [work.habit for work in learner.year.open]
    learner.year.visits.append(Visit(day, practice, arrival, look_at_departure(learner, arrival)))


def draw_degree(strength: float, rng: Random) -> Degree | None:
    """What one look shows of a habit: never anything up to 0.05, always something from 0.85."""
    if rng.random() >= (strength - 0.05) / 0.8:
        return None
    if rng.random() < 0.04:
        return "not_graded"
    return "clear" if rng.random() < strength else "slight"


def look(strengths: Mapping[Habit, float], rng: Random) -> Seen:
    """What is there to be seen of some habits, skill by skill."""
    seen: Seen = {}
    for habit, strength in strengths.items():
        faults = seen.setdefault(habit.skill, {})
        if degree := draw_degree(strength, rng):
            faults[habit.fault] = degree
    return seen


def look_at_arrival(learner: Learner, day: date) -> Seen:
    """The first look of a lesson: a little of the last lesson is left, and not every skill is noticed."""
    days = (day - learner.year.visits[-1].day).days if learner.year.visits else 0
    left = 1 - CARRIED * 0.5 ** (days / HALVED_IN)
    today = {habit: now * (left if habit in learner.fresh else 1) for habit, now in learner.strength.items()}
    there = look(today, learner.rng)
    noticed = {skill: faults for skill, faults in there.items() if notices(learner, skill, bool(faults))}
    return noticed | other_looks(learner)


def notices(learner: Learner, skill: str, shows: bool) -> bool:
    """Whether the coach looks: always at what is worked on, mostly at what was, else mostly when it is bad.

    Until there is anything to work on, nothing bad goes unnoticed.
    """
    worked = [work for work in learner.year.works if work.habit.skill == skill]
    if any(work.closed is None for work in worked):
        return True
    bad, good = (1.0, 0.75) if worked else (0.6, 0.08) if learner.year.works else (1.0, 0.3)
    return learner.rng.random() < (bad if shows else good)


def other_looks(learner: Learner) -> Seen:
    """Now and then a thing of one day, which nobody will see again."""
    areas, own = {habit.area for habit in learner.strength}, {habit.skill for habit in learner.strength}
    others = [(skill, way) for skill, way in POOL if skill.split("-")[0] in areas and skill not in own]
    if learner.rng.random() > 0.25 or not others:
        return {}
    skill, way = learner.rng.choice(others)
    return {skill: {f"{skill}-{way}": "slight"} if learner.rng.random() < 0.75 else {}}


def look_at_departure(learner: Learner, arrival: Seen) -> Seen:
    """The last look: at what was worked on, much better than on arrival; in some lessons there is no time for it."""
    if learner.rng.random() < 0.15:
        return {}
    worked = {habit.skill for habit in learner.fresh} & arrival.keys()
    now = {habit: value * AT_DEPARTURE for habit, value in learner.strength.items() if habit.skill in worked}
    return look(now, learner.rng)


def close_focus(learner: Learner, number: int, arrival: Seen) -> None:
    """Close what was clean on enough arrivals in a row, but never the last thing there is to practise."""
    for work in learner.year.open:
        work.clean = 0 if work.habit.fault in arrival[work.habit.skill] else work.clean + 1
    ripe = [work for work in learner.year.open if work.clean >= CLEAN_TO_CLOSE]
    if len(ripe) == len(learner.year.open) and not worst_habit(learner, arrival):
        del ripe[:1]
    for work in ripe:
        work.closed = number


def open_focus(learner: Learner, number: int, arrival: Seen) -> None:
    """Take the worst_habit thing seen into a free slot, one a lesson."""
    taken = {work.slot for work in learner.year.open}
    free = [slot for slot in learner.story.slots if slot not in taken]
    if free and (habit := worst_habit(learner, arrival)):
        learner.year.works.append(FocusPeriod(habit, free[0], number))


def worst_habit(learner: Learner, arrival: Seen) -> Habit | None:
    """The worst_habit thing seen that is not at work; what was closed before comes back only when it is clear."""
    at_work = {work.habit.skill for work in learner.year.open}
    before = {work.habit for work in learner.year.works}
    degrees = {habit: arrival.get(habit.skill, {}).get(habit.fault) for habit in learner.story.habits}
    found = [habit for habit, degree in degrees.items() if degree and habit.skill not in at_work]
    found = [habit for habit in found if habit not in before or degrees[habit] == "clear"]
    return max(found, key=lambda habit: (degrees[habit] != "slight", habit.strength), default=None)


def give_drill(learner: Learner, number: int, day: date) -> None:
    """End what earlier lessons gave, and give one drill for each open focus, another one every third time."""
    for given_drill in learner.year.given_drills:
        given_drill.ended = given_drill.ended or day
    for work in learner.year.open:
        earlier = sum(given_drill.work is work for given_drill in learner.year.given_drills)
        drill = earlier // 3 % len(learner.doses[work.habit.fault])
        dose = learner.doses[work.habit.fault][drill]
        learner.year.given_drills.append(GivenDrill(work, number, drill, dose, day))


def practise(learner: Learner, lesson: date, until: date) -> None:
    """Live from a lesson's day up to the day before `until`; diligence has better and worse weeks."""
    mood = learner.story.diligence * learner.rng.uniform(0.7, 1.2)
    for number in range(1, (until - lesson).days):
        day = lesson + timedelta(days=number)
        running = [given_drill for given_drill in learner.year.given_drills if given_drill.runs(day)]
        done = [given_drill for given_drill in running if learner.rng.random() < mood * given_drill.dose.per_week / 7]
        for given_drill in done:
            given_drill.done.append(day)
            if learner.rng.random() < learner.story.reports:
                given_drill.reported.append(day)
        pass_day(learner, day, {given_drill.work.habit for given_drill in done})


def pass_day(learner: Learner, day: date, practised: set[Habit]) -> None:
    """One day's change of every strength."""
    for habit, now in learner.strength.items():
        if habit.back and day >= learner.on - timedelta(days=habit.back):
            learner.strength[habit] = habit.strength
        elif habit in practised:
            learner.strength[habit] = now * (1 - habit.fades)
        else:
            learner.strength[habit] = now + habit.creeps * (habit.strength - now)


def practice_reported(learner: Learner, day: date) -> str:
    """What the student tells at arrival of the practice since; now and then nobody asks."""
    given_drills = [given_drill for given_drill in learner.year.given_drills if given_drill.ended is None]
    asked = sum(c.dose.per_week / 7 * (min(c.dose.days, (day - c.begins).days) - 1) for c in given_drills)
    if not asked or (learner.story.diligence and learner.rng.random() < 0.1):
        return ""
    share = sum(len(given_drill.done) for given_drill in given_drills) / asked
    return "none" if not share else "some" if share < 0.45 else "most" if share < 0.85 else "all"
