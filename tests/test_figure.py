"""The demo's figure: what is drawn is what was asked, in every posture; and its stills are kept as anybody's are."""

import io
import itertools
import math
from datetime import date
from random import Random

import pytest
from django.core.files.storage import default_storage
from PIL import Image

from coachbook.accounts.models import Academy, Coach, Consent, Student
from coachbook.demo import people, stills
from coachbook.demo.figure import faults
from coachbook.demo.figure.body import FOREARM, SHIN, THIGH, UPPER_ARM, Body, Build, Point, joint_between, stand, swung
from coachbook.demo.figure.drawing import BALL, Camera, draw_figure
from coachbook.demo.figure.posture import GOOD, STAGES, Posture, Stage
from coachbook.demo.measuring import FAULT_MEASURES, GOOD_MEASURES
from coachbook.demo.simulation import POOL
from lessons.models import Fault, Lesson, Look, Observation, ReferenceStill, SeenFault, Session, Skill, Still
from lessons.stills.picture import drawn
from lessons.stills.rows import shown_stills
from tests.library import load_library
from tests.make import academy_today, make_lesson, this_time

ADULT, CHILD = Build(), Build(0.76, 68)
DRAWN = [*faults.FROM_ADDRESS, *faults.IN_THE_STROKE]


def postures() -> list[tuple[Stage, Posture]]:
    """Every stage, good, with each fault that is drawn, and with each two of different skills."""
    found = []
    for area in GOOD:
        codes = [code for code in DRAWN if code.startswith(area)]
        pairs = itertools.combinations(codes, 2)
        apart = [pair for pair in pairs if pair[0].rsplit("-", 1)[0] != pair[1].rsplit("-", 1)[0]]
        for stage in STAGES:
            for some in [(), *((code,) for code in codes), *apart[::7]]:
                found.append((stage, faults.posture_with(area, stage, dict.fromkeys(some, "clear"))))
    return found


def bodies() -> list[tuple[Posture, Build, Body]]:
    return [
        (posture, build, stand(posture, build, finished=stage == "finish"))
        for stage, posture in postures()
        for build in (ADULT, CHILD)
    ]


def angle(start: Point, end: Point, across: int) -> float:
    """Degrees from the vertical, seen so that this coordinate goes to the right."""
    return math.degrees(math.atan2(end[across] - start[across], end[2] - start[2]))


def test_every_body_is_whole_and_stands_as_asked() -> None:
    for posture, build, body in bodies():
        size = build.size
        assert angle(body.hips, body.neck, 1) == pytest.approx(posture.bend, abs=1e-6)
        assert angle(body.hips, body.neck, 0) == pytest.approx(posture.spine_side, abs=1e-6)
        assert body.lead_toe[0] - body.trail_toe[0] == pytest.approx(posture.stance_width)
        for side in ("lead", "trail"):
            hip, knee, ankle, shoulder, elbow = (
                getattr(body, f"{side}_{name}") for name in ("hip", "knee", "ankle", "shoulder", "elbow")
            )
            lengths = (math.dist(hip, knee), math.dist(knee, ankle), math.dist(shoulder, elbow))
            assert lengths == pytest.approx((THIGH * size, SHIN * size, UPPER_ARM * size))
            assert math.dist(elbow, body.hands) <= FOREARM * size + 1e-6  # and never torn off
            assert knee[1] > hip[1] - 8 * size  # a knee bends forward
        assert math.dist(body.handle, body.club_head) == pytest.approx(build.club)


def test_at_address_the_club_stands_behind_the_ball_and_leans_as_asked() -> None:
    for area, code in [(area, code) for area in GOOD for code in (*faults.FROM_ADDRESS, "") if code.startswith(area)]:
        posture = faults.posture_with(area, "address", {code: "clear"} if code else {})
        body = stand(posture, ADULT)
        assert abs(body.club_head[2]) < 1 and body.club_head[0] == pytest.approx(body.ball[0] - 3, abs=0.1)
        assert angle(body.club_head, body.hands, 0) == pytest.approx(posture.shaft_lean, abs=0.2)
        assert body.ball[0] == posture.ball_ahead


def test_what_the_demo_measures_is_what_its_stills_show() -> None:
    """Centimetres of `demo/measuring.py`, for an adult and for a child."""
    checked = 0
    for skill, number in {
        "putting-stance-width": "stance_width",
        "chipping-stance-width": "stance_width",
        "putting-eye-line": "eyes_inside",
    }.items():
        area = skill.split("-")[0]
        expected: dict[tuple[str, str], float] = {("", ""): GOOD_MEASURES[skill]}
        for code, (slight, clear) in FAULT_MEASURES.items():
            if code.startswith(skill):
                expected |= {(code, "slight"): slight, (code, "clear"): clear}
        for (code, degree), centimetres in expected.items():
            posture = faults.posture_with(area, "address", {code: degree} if code else {})
            assert getattr(posture, number) == pytest.approx(centimetres, abs=1), (code, degree)
            for build in (ADULT, CHILD):
                body = stand(posture, build)
                apart, inside = body.lead_heel[0] - body.trail_heel[0], body.ball[1] - body.head[1]
                seen = apart if number == "stance_width" else inside
                assert seen == pytest.approx(centimetres, abs=1.5), (code, degree, build)
                checked += 1
    assert checked >= 18


def test_a_limb_bends_and_a_vector_turns_as_geometry_says() -> None:
    """Hand-worked: the triangle 3-4-5, and a quarter of a turn about the vertical."""
    assert joint_between((0, 0, 0), (5, 0, 0), 3, 4, (0, 0, -1)) == pytest.approx((1.8, 0, -2.4))
    assert joint_between((0, 0, 0), (9, 0, 0), 3, 4, (0, 0, -1)) == pytest.approx((27 / 7, 0, 0))
    assert swung((1, 0, 0), (0, 0, 1), 90) == pytest.approx((0, 1, 0))


def test_every_drawn_fault_changes_the_picture_and_is_in_the_catalogue(db: None) -> None:
    load_library()
    assert set(DRAWN) <= set(Fault.objects.values_list("code", flat=True))
    for code in DRAWN:
        area = code.split("-")[0]
        told = [stage for stage in STAGES if faults.posture_with(area, stage, {code: "slight"}) != GOOD[area][stage]]
        assert told and ("address" in told) == (code in faults.FROM_ADDRESS), code
    shown = [f"{skill}-{way}" in DRAWN for skill, way in POOL]
    assert sum(shown) >= 11  # of twenty; grip, aim of a face, tempo and what somebody thinks are no lines
    assert faults.posture_with("putting", "address", {"putting-routine-waits": "clear"}) == GOOD["putting"]["address"]


def test_a_left_side_player_is_the_mirror_image() -> None:
    body = stand(GOOD["chipping"]["finish"], ADULT, finished=True)
    for view in ("face_on", "down_line"):
        camera = Camera(view, zoom=1.02, aside=3)
        right, left = (list(draw_figure(body, camera, is_left=is_left))[3:] for is_left in (False, True))
        width = camera.size[0]
        for one, other in zip(right, left, strict=True):
            mirrored = [number for x, y in one.spots for number in (width - x, y)]
            assert mirrored == pytest.approx([number for spot in other.spots for number in spot])


def test_a_drawing_has_the_size_and_the_scale_that_it_says() -> None:
    body, camera = stand(GOOD["putting"]["address"], ADULT), Camera("face_on", zoom=1.03)
    image = Image.open(io.BytesIO(drawn(camera.size, draw_figure(body, camera))))
    assert image.size == camera.size
    x, y = camera.spot((body.ball[0], body.ball[1], BALL), is_left=False)
    assert min(image.getpixel((round(x), round(y)))) > 240  # the ball is white
    across = [image.getpixel((column, round(y))) for column in range(round(x), image.size[0])]
    edge = next(number for number, pixel in enumerate(across) if max(pixel) < 120)
    assert edge / camera.scale == pytest.approx(BALL, abs=0.5)  # and as large as the rules ask
    greys = {image.convert("L").getpixel((5, place)) for place in (5, image.size[1] - 5)}
    assert max(greys) - min(greys) > 15  # ground and sky are told apart without colours


@pytest.fixture
def one_lesson(db: None) -> Lesson:
    """A finished lesson of the demo's left-side putter: crouched on arrival, better on departure."""
    load_library()
    people.fill(academy_today())
    student = Student.objects.get(name="Caspian Thornlace")
    coach = Coach.objects.get(user__name=people.COACHES[0])
    lesson = make_lesson(student, coach, status="complete", completed_at=this_time(days_ago=9), putting=True)
    Session.objects.update(starts_at=this_time(days_ago=9))
    lesson.session.refresh_from_db()
    posture = Skill.objects.get(code="putting-posture")
    for kind in ("arrival", "departure"):
        look = Look.objects.create(lesson=lesson, kind=kind)
        good = kind == "departure"
        row = Observation.objects.create(look=look, skill=posture, verdict="good" if good else "not_good")
        if not good:
            crouched = Fault.objects.get(code="putting-posture-crouched")
            SeenFault.objects.create(observation=row, fault=crouched, degree="clear")
    return lesson


def test_the_stills_show_what_the_lesson_showed_and_may_be_shown(one_lesson: Lesson, media: object) -> None:
    on, student = academy_today(), one_lesson.student
    stills.fill(on)
    rows = list(shown_stills(student, Academy.current(), on))
    assert len(rows) == 4 and {row.moment for row in rows} == {"arrival", "departure"}
    assert {str(row.checkpoint) for row in rows} == {"Address"}  # the fault is there from address on
    consent = Consent.objects.get(student=student)
    assert consent.given_by == one_lesson.session.coach.user and consent.given_at < this_time(days_ago=1)
    assert ReferenceStill.objects.count() == 16
    for row in [*rows, *ReferenceStill.objects.all()]:
        for path, size in ((row.path, max(row.width, row.height)), (row.thumbnail_path, 320)):
            with default_storage.open(path) as file:
                assert max(Image.open(file).size) == size
        assert default_storage.size(row.thumbnail_path) <= 15_000
    assert Still.objects.count() == 4 and Session.objects.count() == 1
    arrival, departure = stills.seen_in(one_lesson).values()
    assert arrival == {"putting-posture-crouched": "clear"} and departure == {}


def test_the_same_seed_takes_the_same_picture_and_another_one_another() -> None:
    shot = stills.Shot("putting", "back", "face_on", True, ADULT, "#7d6a8c")
    same, again, other = (stills.shoot(shot, {}, Random(seed)).large for seed in (1, 1, 2))
    assert same == again != other


def test_a_child_grows() -> None:
    sizes = [
        stills.build_of(Student(birth_year=2030 - age, equipment=""), "putting", date(2030, 6, 1)).size
        for age in range(9, 20)
    ]
    assert sizes == sorted(sizes) and sizes[0] < 0.8 and sizes[-1] == 1
    cut = stills.build_of(Student(birth_year=2018, equipment="31 in, cut down"), "putting", date(2030, 6, 1))
    assert cut.club == pytest.approx(78.74)  # 31 inches
