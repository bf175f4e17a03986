"""Scored tests and rounds of the invented students, whose balls roll as the model of a putter says."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from random import Random
from zoneinfo import ZoneInfo

from simple_history.utils import bulk_create_with_history

from coachbook.accounts.models import Academy, Student, User
from coachbook.demo.builder import by as written_by
from drills.models import Ball, Design, Round, ScoredTest
from drills.putting.hole import gate_error_deg, largest_error_deg
from drills.putting.observations import TOLERANCE_M
from lessons.models import Lesson

SEED = 11
STEP_M = 0.9
TESTED = ("Caspian Thornlace", "Alder Quimble", "Linnet Oxpebble", "Emeka Larkwren", "Quentin Duskbee", "Umar Hollybow")
CHIPPER = "Caspian Thornlace"
PLAYERS = ("Caspian Thornlace", "Umar Hollybow")


@dataclass(frozen=True)
class Putter:
    """How a student putts on a day: errors of the start line in degrees and of pace as a share, each with its bias."""

    line_deg: float
    line_bias_deg: float
    pace: float
    pace_bias: float

    def after(self, share: float) -> "Putter":
        """The same student when so much of the errors is left."""
        return Putter(self.line_deg * share, self.line_bias_deg * share, self.pace * share, self.pace_bias * share)


def fill(on: date) -> None:
    """Give some students their tests of the last months: in lessons at arrival and departure, and alone."""
    designs = {design.kind: design for design in Design.objects.filter(archived=False)}
    for student in Student.objects.filter(name__in=TESTED).select_related("user").order_by("name"):
        rng = Random(f"{SEED} {student.name}")
        putter = Putter(rng.uniform(1.2, 3), rng.gauss(0, 0.6), rng.uniform(0.1, 0.22), rng.gauss(-0.06, 0.04))
        lessons = student.lessons.complete().select_related("session__coach__user").order_by("-session__starts_at")
        for number, lesson in enumerate(lessons[:4]):
            left = 0.75 + 0.08 * number  # the latest comes first
            in_lesson(student, lesson, designs["gate" if number % 2 else "leaves"], putter.after(left), rng)
        alone(student, on, designs, putter, rng)
        if student.name in PLAYERS:
            play(student, on, rng)


def in_lesson(student: Student, lesson: Lesson, design: Design, putter: Putter, rng: Random) -> None:
    """A test at arrival, and the same again at departure, a little better."""
    at, coach = lesson.session.starts_at, lesson.session.coach.user
    for moment, share in ((ScoredTest.Moment.ARRIVAL, 1.0), (ScoredTest.Moment.DEPARTURE, 0.85)):
        test = begun(student, design, Academy.current().today(at), coach, lesson=lesson, moment=moment, done_at=at)
        test.stimp_ft = lesson.session.green_speed
        roll(test, putter.after(share), rng)


def alone(student: Student, on: date, designs: dict[str, Design], putter: Putter, rng: Random) -> None:
    """What they counted at home, some days apart."""
    by = student.user or student.guardianships.get().guardian
    kinds = ["counted", "leaves", "ladder"] + (["chips"] if student.name == CHIPPER else [])
    for number, kind in enumerate(kinds):
        day = on - timedelta(days=5 + 9 * number)
        test = begun(student, designs[kind], day, by, done_at=evening_of(day))
        test.stimp_ft = Decimal("8.5") if number else None
        roll(test, putter.after(0.8), rng)


def evening_of(day: date) -> datetime:
    """When what was done alone is written down."""
    return datetime.combine(day, time(18), ZoneInfo(Academy.current().time_zone))


def begun(student: Student, design: Design, day: date, by: User, **values: object) -> ScoredTest:
    """A test that is not written yet."""
    side = student.side(design.area)
    told = {"student": student, "design": design, "day": day, "by": by, "side": side, "width_m": design.width_m}
    told["past_m"] = design.aim_m if design.has_aim else None
    return ScoredTest(**told, step_m=STEP_M, **values)


def roll(test: ScoredTest, putter: Putter, rng: Random) -> None:
    """Roll all balls of a test, and write it down."""
    assert test.done_at
    written_by(test, test.by, test.done_at).save()
    places = [distance for distance in test.design.distances_m for _ in range(test.design.balls)]
    balls = [ball_of(test, distance, putter, rng) for distance in places]
    for number, ball in enumerate(balls, 1):
        ball.number = number
    Ball.objects.bulk_create(balls)


def ball_of(test: ScoredTest, distance_m: float, putter: Putter, rng: Random) -> Ball:
    """What becomes of one ball, as far as the kind of test notes it."""
    line = rng.gauss(putter.line_bias_deg, putter.line_deg)
    aim = distance_m + (test.past_m or 0.0)
    stops = rng.gauss(aim * (1 + putter.pace_bias), aim * putter.pace) - distance_m
    miss = Ball.Miss.PUSH if line > 0 else Ball.Miss.PULL
    ball = Ball(test=test, distance_m=distance_m, result=Ball.Result.MISSED)
    if test.design.kind == Design.Kind.GATE:
        through = abs(line) <= gate_error_deg(distance_m, test.width_m or 0)
        ball.result = Ball.Result.THROUGH if through else Ball.Result.BESIDE
        ball.miss = Ball.Miss.UNRECORDED if through else miss
    elif test.design.kind == Design.Kind.CHIPS:
        ball.leave_m = STEP_M * round(abs(rng.gauss(0, 0.16 * distance_m)) / STEP_M)
    elif test.design.has_hole and abs(line) <= largest_error_deg(distance_m) and 0 <= stops <= TOLERANCE_M:
        ball.result = Ball.Result.HOLED
    elif test.design.kind == Design.Kind.COUNTED:
        ball.length, ball.miss = Ball.Length.SHORT if stops < 0 else Ball.Length.PAST, miss
    else:
        ball.leave_m = round(STEP_M * round(max(stops, -distance_m) / STEP_M), 3)
    return ball


def play(student: Student, on: date, rng: Random) -> None:
    """A round every other week, with ever fewer putts."""
    by = student.user
    rounds = [
        Round(
            student=student,
            day=on - timedelta(days=14 * back + 2),
            putts=rng.randrange(30, 34) + back // 2,
            three_putts=rng.randrange(0, 3) + back // 5,
            tried=rng.randrange(6, 10),
            made=rng.randrange(1, 5),
            by=by,
        )
        for back in range(10)
    ]
    bulk_create_with_history([written_by(row, by, evening_of(row.day)) for row in rounds], Round)
