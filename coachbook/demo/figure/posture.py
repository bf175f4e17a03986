"""How the figure stands at each checkpoint of a putt and of a chip where nothing is wrong. Pure.

All numbers are invented for the demo's drawings, near what is common practice of the trade; none is advice.
"""

from dataclasses import dataclass, replace
from typing import Literal

Stage = Literal["address", "back", "impact", "finish"]
STAGES: tuple[Stage, ...] = ("address", "back", "impact", "finish")


@dataclass(frozen=True)
class Posture:
    """Centimetres and degrees. Along: towards the target; out: from the heels towards the ball."""

    stance_width: float  # between the middles of the feet
    ball_ahead: float  # of the middle of the stance
    toes_to_ball: float
    bend: float  # of the spine from the vertical, seen down the line
    eyes_inside: float  # how far the head is on the near side of the ball
    shaft_lean: float  # towards the target, seen face-on
    spine_side: float = 0  # of the spine from the vertical towards the target, seen face-on
    hips_along: float = 0
    hips_out: float = -4
    hips_down: float = 9  # how far bent knees let the hips sink
    lead_foot_back: float = 0  # drawn back from the line
    hands_out: float = -2  # from under the chest
    elbows_out: float = 15  # from pointing at the ground
    head_along: float = 0
    head_up: float = 0
    look: float = 0  # from the ball towards the target
    chest_turn: float = 0  # of the shoulders towards the target
    swing: float = 0  # of arms and club about the chest, towards the target
    hinge: float = 0  # of the club beyond the arms, towards the target


PUTT = Posture(stance_width=34, ball_ahead=5, toes_to_ball=22, bend=42, eyes_inside=2, shaft_lean=2)
CHIP = Posture(
    stance_width=22,
    ball_ahead=-1,
    toes_to_ball=27,
    bend=37,
    eyes_inside=13,
    shaft_lean=7,
    spine_side=2,
    hips_along=4,
    hips_down=11,
    lead_foot_back=4,
    elbows_out=8,
)

GOOD: dict[str, dict[Stage, Posture]] = {
    "putting": {
        "address": PUTT,
        "back": replace(PUTT, swing=-24, chest_turn=-8),
        "impact": replace(PUTT, shaft_lean=3),
        "finish": replace(PUTT, swing=26, chest_turn=9),
    },
    "chipping": {
        "address": CHIP,
        "back": replace(CHIP, swing=-42, hinge=-22, chest_turn=-26),
        "impact": replace(CHIP, hips_along=6, shaft_lean=9, chest_turn=12),
        "finish": replace(CHIP, hips_along=8, swing=44, chest_turn=42, look=35, spine_side=0),
    },
}
