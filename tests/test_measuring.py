"""What is measured in a still: against examples worked by hand, reference methods, and drawn scenes."""

import math
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from scipy.optimize import least_squares

from lessons.measuring import Estimate, Frame, Kind, MeasuringError, Point, estimate, marks_for, shown
from lessons.measuring.circle import fit_circle
from lessons.measuring.estimate import NORMAL_95, TAP_PX, scale_for
from lessons.measuring.kinds import BALL_CM, value_of
from lessons.measuring.plane import rotated
from lessons.measuring.shown import step_for
from tests.measuring_scene import FRAME, Scene, find_edge, find_marks, tapped

STILL = Frame(1200, 1600)


def ring(x: float, y: float, radius: float, count: int = 6) -> list[Point]:
    turns = [2 * math.pi * index / count for index in range(count)]
    return [Point(x + radius * math.cos(angle), y + radius * math.sin(angle)) for angle in turns]


# --- Values worked by hand ------------------------------------------------------------------------


def test_angle_between_two_lines_by_hand() -> None:
    """One line goes (300, 0), the other (300, 300): cos = 300·300 / (300 · 300·√2) = 1/√2, so 45°."""
    lines = [Point(300, 300), Point(600, 300), Point(300, 300), Point(600, 600)]
    assert estimate(Kind.ANGLE, lines, STILL).size == pytest.approx(45)
    back = [Point(300, 300), Point(600, 300), Point(600, 600), Point(300, 300)]  # the second line the other way
    assert estimate(Kind.ANGLE, back, STILL).size == pytest.approx(135)


def test_angle_to_the_vertical_by_hand() -> None:
    """From (500, 900) to (600, 700): 100 across and 200 up, so atan(100 / 200) = 26.565°, to the right."""
    lean = estimate(Kind.UPRIGHT, [Point(500, 900), Point(600, 700)], STILL)
    assert lean.value == pytest.approx(26.565, abs=0.001) and shown(lean).text.endswith(", to the right")
    assert estimate(Kind.UPRIGHT, [Point(600, 700), Point(500, 900)], STILL).value == pytest.approx(lean.value)


def test_distance_by_a_known_length_by_hand() -> None:
    """A putter of 87 cm is 580 px long, so a centimetre is 580 / 87 = 6.667 px, and 300 px are 45 cm."""
    points = [Point(400, 1300), Point(700, 1300), Point(800, 700), Point(800, 1280)]
    assert estimate(Kind.LENGTH, points, STILL, 87).value == pytest.approx(45)


def test_distance_by_the_ball_by_hand() -> None:
    """The ball is 40 px wide and 4.267 cm across at least (Rules of Golf, Equipment Rules, part 4): 300 px are
    300 / 40 · 4.267 = 32.0025 cm. At 840 px from the middle of a lens of 0.7 · 1600 = 1120 px, it is seen at
    cos = 1120 / √(1120² + 840²) = 0.8 of the axis: longer by 1 / 0.8 one way, wider by 1.125 in the mean."""
    points = [Point(400, 1300), Point(700, 1300), *ring(600, 800, 20)]
    assert estimate(Kind.BALL, points, STILL).value == pytest.approx(32.0025)
    off = [Point(400, 1300), Point(700, 1300), *ring(800 + 504, 800 + 672, 20)]  # 840 = √(504² + 672²)
    assert estimate(Kind.BALL, off, Frame(1600, 1600)).value == pytest.approx(32.0025 * 1.125)


def test_ratio_by_hand() -> None:
    """300 px beside 3-4-5 times 30, 150 px: twice as long."""
    points = [Point(400, 1300), Point(700, 1300), Point(100, 100), Point(190, 220)]
    assert estimate(Kind.RATIO, points, STILL).value == pytest.approx(2)


def test_two_coordinates_are_turned_from_the_first_towards_the_second() -> None:
    """A quarter turn takes (3, 4) to (-4, 3); 60° takes (2, 0) to (1, √3)."""
    assert rotated(3, 4, 90) == pytest.approx((-4, 3))
    assert rotated(2, 0, 60) == pytest.approx((1, math.sqrt(3)))


def test_a_ball_is_drawn_where_it_gives_the_scale_and_nowhere_else() -> None:
    points = [Point(400, 1300), Point(700, 1300), *ring(600, 800, 20)]
    ball = marks_for(Kind.BALL, points).ball
    assert ball and ball.radius == pytest.approx(20) and ball.middle.distance(Point(600, 800)) < 0.01
    for kind in set(Kind) - {Kind.BALL}:
        assert marks_for(kind, [*points[:2], Point(100, 100), Point(190, 220)]).ball is None


# --- Uncertainty ----------------------------------------------------------------------------------


def test_uncertainty_of_an_angle_by_hand() -> None:
    """A point moved across its line by d turns a line of length L by d / L radians, so two ends at 2 px leave
    2·√2 / L; two lines of 300 px and 400 px leave √(2·4/300² + 2·4/400²) = 0.011785 rad = 0.6752°."""
    lines = [Point(300, 300), Point(600, 300), Point(300, 300), Point(300, 700)]
    assert estimate(Kind.ANGLE, lines, STILL).from_taps == pytest.approx(0.6752, abs=0.0005)


def test_uncertainty_of_a_distance_by_hand() -> None:
    """Relative, a length of L px has 2·√2 / L: √(8/300² + 8/580²) · 45 cm = 0.4776 cm. A putter right within 0.5 cm
    has 0.5 / √3 (JCGM 100:2008, 4.3.7) of 87 cm: 0.3318 % of 45 cm = 0.1493 cm."""
    points = [Point(400, 1300), Point(700, 1300), Point(800, 700), Point(800, 1280)]
    found = estimate(Kind.LENGTH, points, STILL, 87)
    assert found.from_taps == pytest.approx(0.4776, abs=0.0005)
    assert found.from_scale == pytest.approx(0.1493, abs=0.0005)
    half = NORMAL_95 * found.uncertainty
    assert found.interval == pytest.approx((45 - half, 45 + half))


def test_tilt_by_hand() -> None:
    """A camera yawed by t shows a plane at x px from its middle larger by x·tan t / f, to first order. Two lengths
    300 px to the left and to the right of the middle differ by 600·t/f; f = 0.7 · 1600 px = 1120 px, and
    t = 3° / √3 = 0.030230 rad: 1.6195 % of a ratio of 1. Upright lines are not shortened by a yaw, and a pitch
    moves both alike, as does a roll."""
    points = [Point(300, 700), Point(300, 900), Point(900, 700), Point(900, 900)]
    assert estimate(Kind.RATIO, points, STILL).from_tilt == pytest.approx(0.016195, abs=0.00005)


def test_a_roll_turns_the_vertical_as_far_as_the_camera() -> None:
    """A line in the middle of the picture leans by the roll itself: 3° / √3 = 1.7321°."""
    line = [Point(600, 1000), Point(600, 600)]
    assert estimate(Kind.UPRIGHT, line, STILL).from_tilt == pytest.approx(1.7321, abs=0.001)


CASES = {
    Kind.ANGLE: [Point(300, 400), Point(620, 330), Point(350, 420), Point(480, 900)],
    Kind.UPRIGHT: [Point(500, 900), Point(560, 500)],
    Kind.LENGTH: [Point(400, 1300), Point(700, 1320), Point(800, 700), Point(830, 1280)],
    Kind.RATIO: [Point(400, 1300), Point(700, 1320), Point(800, 700), Point(830, 1280)],
    Kind.BALL: [Point(400, 1300), Point(700, 1320), *ring(560, 1320, 30, 7)],
}


@pytest.mark.parametrize("kind", list(Kind))
def test_taps_against_monte_carlo(kind: Kind) -> None:
    """JCGM 101:2008: draw the inputs, look at the spread of the values. 2,000 draws tell a spread within 4 % or so."""
    random, points = np.random.default_rng(20_26), CASES[kind]
    scale = scale_for(kind, points, STILL, 87).cm
    draws = [value_of(kind, tapped(points, random, TAP_PX), scale) for _ in range(2_000)]
    found = estimate(kind, points, STILL, 87)
    assert float(np.std(draws)) == pytest.approx(found.from_taps, rel=0.06)
    assert float(np.mean(draws)) == pytest.approx(found.value, abs=found.from_taps / 5)


def test_parallel_lines_are_as_unsure_as_others() -> None:
    """The size of an angle has a corner at 0; its slope there is not the slope of the angle."""
    lines = [Point(300, 300), Point(600, 300), Point(300, 500), Point(600, 500)]
    found = estimate(Kind.ANGLE, lines, STILL)
    assert found.size == 0 and found.from_taps == pytest.approx(math.degrees(math.sqrt(16) / 300), rel=0.001)
    opposite = [*lines[:2], lines[3], lines[2]]
    straight = estimate(Kind.ANGLE, opposite, STILL)
    assert straight.size == 180 and straight.from_taps == pytest.approx(found.from_taps)
    assert found.interval[0] == 0 and straight.interval[1] == 180


# --- The circle -----------------------------------------------------------------------------------


def test_circle_against_a_reference_library() -> None:
    """scipy's least squares over middle and radius, from the same points."""
    random = np.random.default_rng(7)
    for count in (5, 6, 8):
        points = tapped(ring(400, 500, 30, count), random)

        def off(guess: np.ndarray, points: list[Point] = points) -> list[float]:
            return [math.hypot(point.x - guess[0], point.y - guess[1]) - guess[2] for point in points]

        best = least_squares(off, [400.0, 500.0, 30.0], xtol=1e-12, ftol=1e-12, gtol=1e-12).x
        found = fit_circle(points)
        assert (found.middle.x, found.middle.y, found.radius) == pytest.approx(tuple(best), abs=1e-3)


# --- What is refused ------------------------------------------------------------------------------

FAR = [Point(100, 100), Point(900, 900)]
REFUSED = [
    (Kind.UPRIGHT, [Point(500, 500), Point(500, 500)], None, "at least 10 pixels"),
    (Kind.UPRIGHT, [Point(500, 500)], None, "Place 2 points; 1 are there."),
    (Kind.UPRIGHT, FAR + FAR, None, "Place 2 points"),
    (Kind.UPRIGHT, [Point(-1, 500), Point(500, 500)], None, "lies in the picture"),
    (Kind.UPRIGHT, [Point(math.nan, 500), Point(500, 500)], None, "lies in the picture"),
    (Kind.UPRIGHT, [Point(500, math.inf), Point(500, 500)], None, "lies in the picture"),
    (Kind.ANGLE, [*FAR, Point(5, 5), Point(7, 7)], None, "at least 10 pixels"),
    (Kind.LENGTH, [*FAR, Point(500, 500), Point(500, 520)], 87.0, "at least 40 pixels"),
    (Kind.LENGTH, FAR + FAR, None, "from 5 to 300 cm"),
    (Kind.LENGTH, FAR + FAR, 0.0, "from 5 to 300 cm"),
    (Kind.LENGTH, FAR + FAR, math.nan, "from 5 to 300 cm"),
    (Kind.BALL, [*FAR, *ring(500, 500, 20, 4)], None, "Place 7 points"),
    (Kind.BALL, [*FAR, *ring(500, 500, 5)], None, "at least 16 pixels"),
    (Kind.BALL, [*FAR, *ring(500, 500, 20, 12)[:6]], None, "all round the ball"),
    (Kind.BALL, [*FAR, *[Point(500 + 10 * step, 500) for step in range(5)]], None, "ball"),
    (Kind.BALL, [*FAR, *[Point(500, 500)] * 5], None, "ball"),
]


@pytest.mark.parametrize(("kind", "points", "known", "why"), REFUSED)
def test_points_that_say_nothing_are_refused_with_words(
    kind: Kind, points: list[Point], known: float | None, why: str
) -> None:
    with pytest.raises(MeasuringError, match=why):
        estimate(kind, points, STILL, known)


# --- As it is shown -------------------------------------------------------------------------------


def of_length(value: float, uncertainty: float) -> Estimate:
    return Estimate(Kind.LENGTH, value, uncertainty, 0, 0)


def test_a_value_is_never_shown_finer_than_its_uncertainty_and_never_outside_its_interval() -> None:
    """The 1-2-5 row is common practice; the promise is checked for many values."""
    assert [step_for(sd) for sd in (0.004, 0.3, 0.5, 0.66, 1.3, 2.1)] == [
        Decimal(step) for step in ("0.01", "0.5", "0.5", "1", "2", "5")
    ]
    for uncertainty in np.geomspace(0.01, 90, 40):
        for value in np.linspace(5, 299, 37):
            found = of_length(float(value), float(uncertainty))
            told = shown(found)
            low, high = found.interval
            assert float(told.low) - 1e-9 <= low <= float(told.value) + 1e-9
            assert float(told.value) - 1e-9 <= high <= float(told.high) + 1e-9
            assert float(step_for(float(uncertainty))) >= uncertainty
            assert told.value % step_for(float(uncertainty)) == 0


def test_a_value_reads_with_its_unit_and_interval() -> None:
    told = shown(of_length(43.7, 0.66))
    assert (told.text, told.range) == ("44 cm", "42 to 45 cm")
    assert shown(Estimate(Kind.UPRIGHT, -12.2, 0.4, 0, 0)).text == "12.0°, to the left"
    assert shown(Estimate(Kind.UPRIGHT, -1.2, 1.8, 0, 0)).text == "2°", "it may as well lean to the right"


# --- A drawn scene --------------------------------------------------------------------------------

PUTTER_CM = 86.0
STANCE, PUTTER = [(-24.0, 6.0), (23.0, 6.5)], [(38.0, 3.0), (38.0, 3.0 + PUTTER_CM)]
ARM, SHAFT = [(5.0, 120.0), (-2.0, 75.0)], [(-2.0, 75.0), (14.0, 8.0)]
MARKS = [*STANCE, *PUTTER, *ARM, *SHAFT[1:]]
WIDTH_CM = math.dist(*STANCE)


def scene(random: np.random.Generator, tilt: float = 3.0) -> Scene:
    """A camera at 1.9 to 2.4 m, with some lens, turned by up to three degrees about each axis."""
    pitch, yaw, roll = random.uniform(-tilt, tilt, 3)
    away, focal = random.uniform(190, 240), random.uniform(0.72, 0.85)
    return Scene(away, random.uniform(-8, 8), random.uniform(75, 100), focal, pitch, yaw, roll, MARKS)


def angle_of(one: list[tuple[float, float]], other: list[tuple[float, float]]) -> float:
    (a, b), (c, d) = np.array(one), np.array(other)
    first, second = b - a, d - c
    return math.degrees(math.acos(first @ second / np.linalg.norm(first) / np.linalg.norm(second)))


def test_scenes_of_known_geometry() -> None:
    """A hundred pictures: the width lies in its own interval in 93 at least, and the angle is right within a degree."""
    inside = {Kind.LENGTH: 0, Kind.BALL: 0, Kind.ANGLE: 0, Kind.UPRIGHT: 0}
    for number in range(100):
        random = np.random.default_rng(1_000 + number)
        picture = scene(random).drawn()
        marks, edge = find_marks(picture, len(MARKS)), find_edge(picture, 8)
        arm, shaft = marks[4:6], marks[5:7]
        exact = estimate(Kind.ANGLE, [*arm, *shaft], FRAME)
        assert abs(exact.size - angle_of(ARM, SHAFT)) < 1
        found = {
            Kind.LENGTH: (estimate(Kind.LENGTH, tapped(marks[:4], random), FRAME, PUTTER_CM), WIDTH_CM),
            Kind.BALL: (estimate(Kind.BALL, tapped([*marks[:2], *edge], random), FRAME), WIDTH_CM),
            Kind.ANGLE: (estimate(Kind.ANGLE, tapped([*arm, *shaft], random), FRAME), angle_of(ARM, SHAFT)),
            Kind.UPRIGHT: (estimate(Kind.UPRIGHT, tapped(shaft, random), FRAME), angle_of(SHAFT, [(0, 1), (0, 0)])),
        }
        for kind, (value, truth) in found.items():
            low, high = value.interval
            inside[kind] += low <= truth <= high
        low, high = found[Kind.LENGTH][0].interval
        assert (high - low) / 2 <= 1.5
    assert min(inside.values()) >= 93, inside
    assert inside[Kind.LENGTH] < 100, "an interval that never misses is too wide"


def test_a_level_camera_sees_the_truth() -> None:
    level = Scene(marks=MARKS)
    picture = level.drawn()
    marks, edge = find_marks(picture, len(MARKS)), find_edge(picture, 8)
    assert estimate(Kind.LENGTH, marks[:4], FRAME, PUTTER_CM).value == pytest.approx(WIDTH_CM, abs=0.1)
    assert estimate(Kind.ANGLE, marks[4:6] + marks[5:7], FRAME).size == pytest.approx(angle_of(ARM, SHAFT), abs=0.1)
    assert estimate(Kind.BALL, [*marks[:2], *edge], FRAME).value == pytest.approx(WIDTH_CM, rel=0.03)


def test_a_tilt_that_is_not_allowed_for_shows() -> None:
    """The interval is not so wide that it holds anything: at 12 degrees of yaw and pitch the width is outside it."""
    tilted = replace(Scene(marks=MARKS), yaw=9.0, pitch=-9.0, focal=0.6)
    found = estimate(Kind.LENGTH, find_marks(tilted.drawn(), len(MARKS))[:4], FRAME, PUTTER_CM)
    assert not found.interval[0] <= WIDTH_CM <= found.interval[1]


def test_the_ball_is_that_of_the_rules() -> None:
    """Rules of Golf, Equipment Rules, part 4: not less than 1.680 inches; an inch is 2.54 cm exactly."""
    assert pytest.approx(1.680 * 2.54, abs=0.001) == BALL_CM
