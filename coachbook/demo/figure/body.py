"""Where the joints of the figure are in space, for a posture and a build. Pure.

A point is (along, out, up) in centimetres from the middle between the heels: along the line to the target, out
towards the ball, up from the ground. The player of the other side is the same body seen in a mirror.
"""

import math
from dataclasses import dataclass, fields, replace

from coachbook.demo.figure.posture import Posture

Point = tuple[float, float, float]

# An adult of about 175 cm; all invented.
FOOT, ANKLE_OUT, ANKLE_UP = 26.0, 6.0, 8.0
SHIN, THIGH, HIP = 43.0, 43.0, 11.0
SPINE, SHOULDER, SHOULDER_DOWN = 50.0, 19.0, 4.0
UPPER_ARM, FOREARM = 30.0, 34.0
NECK, HEAD = 19.0, 10.5
ABOVE_HANDS = 12.0  # of the handle
BEHIND_BALL = 3.0
HEEL_TO_TOE = 9.0
BALL_ROLLED = 55.0  # where the ball is at the finish


@dataclass(frozen=True)
class Build:
    """How large a player is beside an adult, and how long the club is in centimetres."""

    size: float = 1.0
    club: float = 86.0


@dataclass(frozen=True)
class Body:
    """The joints, and the ends of the club. `size` is that of the build; the ball is always as large."""

    size: float
    lead_heel: Point
    lead_toe: Point
    lead_ankle: Point
    lead_knee: Point
    lead_hip: Point
    trail_heel: Point
    trail_toe: Point
    trail_ankle: Point
    trail_knee: Point
    trail_hip: Point
    hips: Point
    neck: Point
    head: Point
    peak: Point  # of the cap: where the player looks
    lead_shoulder: Point
    lead_elbow: Point
    trail_shoulder: Point
    trail_elbow: Point
    hands: Point
    handle: Point
    club_head: Point
    toe: Point  # of the club's head
    ball: Point


def add(a: Point, b: Point, times: float = 1.0) -> Point:
    """a + times * b."""
    return (a[0] + times * b[0], a[1] + times * b[1], a[2] + times * b[2])


def dot(a: Point, b: Point) -> float:
    """The scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Point, b: Point) -> Point:
    """The vector product."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def unit(a: Point) -> Point:
    """The same direction, of length 1."""
    return add((0.0, 0.0, 0.0), a, 1 / math.hypot(*a))


def tilted(along: float, out: float) -> Point:
    """The upward direction that is seen tilted by these degrees, face-on and down the line."""
    return unit((math.tan(math.radians(along)), math.tan(math.radians(out)), 1.0))


def joint_between(start: Point, end: Point, first: float, second: float, towards: Point) -> Point:
    """The knee or elbow between two ends, of limbs so long, bent in a direction; straight where they cannot reach."""
    line = add(end, start, -1)
    far = math.hypot(*line)
    if far >= first + second:
        return add(start, line, first / (first + second))
    before = (first**2 - second**2 + far**2) / (2 * far)
    ahead = unit(line)
    sideways = unit(add(towards, ahead, -dot(towards, ahead)))
    return add(add(start, ahead, before), sideways, math.sqrt(max(0.0, first**2 - before**2)))


def swung(point: Point, axis: Point, degrees: float) -> Point:
    """A vector turned about an axis of length 1 (Rodrigues' rotation formula)."""
    angle = math.radians(degrees)
    turned = add(add((0.0, 0.0, 0.0), point, math.cos(angle)), cross(axis, point), math.sin(angle))
    return add(turned, axis, dot(axis, point) * (1 - math.cos(angle)))


def stand(posture: Posture, build: Build, *, finished: bool = False) -> Body:
    """The body of a build in a posture; smaller, it does all smaller but for what the demo measures in centimetres."""
    small = replace(
        posture, stance_width=posture.stance_width / build.size, eyes_inside=posture.eyes_inside / build.size
    )
    whole = stand_adult(small, build.club / build.size, finished)
    points = {
        field.name: add((0.0, 0.0, 0.0), getattr(whole, field.name), build.size)
        for field in fields(whole)
        if field.name != "size"
    }
    return Body(size=build.size, **points)


def stand_adult(posture: Posture, club: float, finished: bool) -> Body:
    """The body at its full size: from the feet to the hips, up the spine, and down the arms to the ball."""
    half = posture.stance_width / 2
    ball = (posture.ball_ahead, FOOT + posture.toes_to_ball, 0.0)
    hips = (posture.hips_along, posture.hips_out, ANKLE_UP + SHIN + THIGH - posture.hips_down)
    spine = tilted(posture.spine_side, posture.bend)
    neck = add(hips, spine, SPINE)
    head = head_over(posture, neck, ball)
    look = swung(unit(add(ball, head, -1)), (0.0, 1.0, 0.0), -posture.look)
    shoulders = shoulders_on(neck, spine, posture.chest_turn)
    swung_club = club_of(posture, neck, ball, club, shoulders)
    hands = swung_club["hands"]
    return Body(
        size=1.0,
        **leg("lead", half, -posture.lead_foot_back, hips),
        **leg("trail", -half, 0.0, hips),
        **arm("lead", shoulders[0], hands, posture.elbows_out),
        **arm("trail", shoulders[1], hands, posture.elbows_out),
        hips=hips,
        neck=neck,
        head=head,
        peak=add(head, look, HEAD * 1.6),
        **swung_club,
        ball=add(ball, (BALL_ROLLED, 0.0, 0.0)) if finished else ball,
    )


def leg(name: str, along: float, out: float, hips: Point) -> dict[str, Point]:
    """One leg, its knee bent forward."""
    ankle = (along, out + ANKLE_OUT, ANKLE_UP)
    hip = add(hips, (math.copysign(HIP, along), 0.0, 0.0))
    knee = joint_between(hip, ankle, THIGH, SHIN, (0.0, 1.0, 0.0))
    ends = {"heel": (along, out, 0.0), "toe": (along, out + FOOT, 0.0), "ankle": ankle, "knee": knee, "hip": hip}
    return {f"{name}_{part}": point for part, point in ends.items()}


def head_over(posture: Posture, neck: Point, ball: Point) -> Point:
    """The middle of the head: as far inside the ball as asked, where the neck reaches."""
    out = max(-0.5, min(0.97, (ball[1] - posture.eyes_inside - neck[1]) / NECK))
    up = NECK * math.sqrt(1 - out**2) + posture.head_up
    return add(neck, (posture.head_along, NECK * out, up))


def club_of(
    posture: Posture, neck: Point, ball: Point, club: float, shoulders: tuple[Point, Point]
) -> dict[str, Point]:
    """The hands and both ends of the club, swung with the arms about the chest."""
    reach = club - ABOVE_HANDS
    behind = add(ball, (-BEHIND_BALL, 0.0, 0.0))
    out = neck[1] + posture.hands_out
    lean = math.radians(posture.shaft_lean)
    up = math.sqrt(reach**2 - (behind[1] - out) ** 2) * math.cos(lean)
    still = (behind[0] + up * math.tan(lean), out, up)
    hang = add(still, neck, -1)
    axis = unit(cross((1.0, 0.0, 0.0), (0.0, hang[1], hang[2])))
    hands = within_reach(neck, swung(hang, axis, -posture.swing), shoulders)
    turned = -posture.swing - posture.hinge
    shaft = unit(swung(add(behind, still, -1), axis, turned))
    head = add(hands, shaft, reach)
    toe = add(head, swung((0.0, 1.0, 0.0), axis, turned), HEEL_TO_TOE)
    return {"hands": hands, "handle": add(hands, shaft, -ABOVE_HANDS), "club_head": head, "toe": toe}


def within_reach(neck: Point, hang: Point, shoulders: tuple[Point, Point]) -> Point:
    """The hands hanging so from the neck, drawn in as far as both arms need."""
    places = (add(neck, hang, 1 - hundredth / 100) for hundredth in range(60))
    return next(place for place in places if all(math.dist(one, place) <= UPPER_ARM + FOREARM for one in shoulders))


def shoulders_on(neck: Point, spine: Point, chest_turn: float) -> tuple[Point, Point]:
    """The lead and the trail shoulder, turned about the spine towards the target."""
    across = swung(unit(add((1.0, 0.0, 0.0), spine, -spine[0])), spine, -chest_turn)
    middle = add(neck, spine, -SHOULDER_DOWN)
    return add(middle, across, SHOULDER), add(middle, across, -SHOULDER)


def arm(name: str, shoulder: Point, hands: Point, elbows_out: float) -> dict[str, Point]:
    """One arm, its elbow bent towards the ground or, as far as asked, away from the other one."""
    away = math.sin(math.radians(elbows_out)) * (1.0 if name == "lead" else -1.0)
    elbow = joint_between(shoulder, hands, UPPER_ARM, FOREARM, (away, -0.3, -math.cos(math.radians(elbows_out))))
    return {f"{name}_shoulder": shoulder, f"{name}_elbow": elbow}
