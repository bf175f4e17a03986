"""What each fault changes of the figure. Pure.

What is there from address on stays until the finish; what comes with the stroke is drawn where it shows. A fault that
no line can show (when somebody hurries, what somebody thinks) has no entry and changes nothing.
"""

from collections.abc import Mapping
from dataclasses import replace

from coachbook.demo.figure.posture import GOOD, Posture, Stage

Change = dict[str, float]  # what a clear fault adds, by the name of the posture's number
SHARE = {"slight": 0.5, "not_graded": 0.75, "clear": 1.0}  # of it, for a degree

FROM_ADDRESS: dict[str, Change] = {
    "putting-stance-width-narrow": {"stance_width": -20},
    "putting-stance-width-wide": {"stance_width": 20},
    "putting-ball-position-back": {"ball_ahead": -14, "shaft_lean": 5},
    "putting-ball-position-forward": {"ball_ahead": 12, "shaft_lean": -4},
    "putting-alignment-feet-lead-back": {"lead_foot_back": 10},
    "putting-alignment-feet-trail-back": {"lead_foot_back": -10},
    "putting-alignment-shoulders-lead-back": {"chest_turn": 16},
    "putting-alignment-shoulders-trail-back": {"chest_turn": -16},
    "putting-eye-line-inside": {"eyes_inside": 6},
    "putting-eye-line-outside": {"eyes_inside": -6},
    "putting-hand-height-low": {"hands_out": -9, "bend": 5},
    "putting-hand-height-high": {"hands_out": 9},
    "putting-posture-crouched": {"bend": 11, "hips_down": 7, "hips_out": -4},
    "putting-posture-far": {"toes_to_ball": 12, "bend": 4},
    "putting-posture-near": {"toes_to_ball": -10, "bend": -7},
    "putting-weight-heels": {"hips_out": -7},
    "putting-weight-toes": {"hips_out": 6},
    "putting-weight-trail": {"hips_along": -8, "spine_side": -3},
    "putting-elbows-out": {"elbows_out": 70},
    "putting-elbows-stiff": {"bend": -6, "elbows_out": -10},
    "putting-shaft-lean-back": {"shaft_lean": -9},
    "putting-shaft-lean-forward": {"shaft_lean": 9},
    "chipping-stance-width-wide": {"stance_width": 22},
    "chipping-stance-line-square": {"lead_foot_back": -4},
    "chipping-weight-trail": {"hips_along": -12, "spine_side": -5},
    "chipping-ball-position-back": {"ball_ahead": -10, "shaft_lean": 5},
    "chipping-ball-position-forward": {"ball_ahead": 11, "shaft_lean": -5},
    "chipping-distance-far": {"toes_to_ball": 8, "bend": 4},
    "chipping-distance-near": {"toes_to_ball": -9, "bend": -5},
    "chipping-body-aim-towards": {"chest_turn": 18},
    "chipping-body-aim-away": {"chest_turn": -18},
    "chipping-handle-much": {"shaft_lean": 10},
    "chipping-handle-none": {"shaft_lean": -8},
}

IN_THE_STROKE: dict[str, dict[Stage, Change]] = {
    "putting-lead-wrist-cups": {"impact": {"shaft_lean": -8}, "finish": {"hinge": 34, "swing": -6}},
    "putting-tempo-rushed": {"back": {"swing": 7}, "finish": {"swing": 9}},
    "putting-length-braked": {"back": {"swing": -14}, "finish": {"swing": -16}},
    "putting-length-hit": {"back": {"swing": 13}, "finish": {"swing": 9}},
    "putting-takeaway-inside": {"back": {"chest_turn": -18}},
    "putting-loft-added": {"impact": {"shaft_lean": -9}},
    "putting-loft-taken": {"impact": {"shaft_lean": 8}},
    "putting-sway-head": {"back": {"head_along": -8}, "impact": {"head_along": 4}, "finish": {"head_along": 8}},
    "putting-sway-hips": {"back": {"hips_along": -9}, "finish": {"hips_along": 9}},
    "putting-finish-hold-recoils": {"finish": {"swing": -18}},
    "putting-finish-hold-falls": {"finish": {"hips_along": -10, "hips_out": -6, "spine_side": -6}},
    "putting-finish-eyes-early": {"impact": {"look": 45, "head_up": 3}, "finish": {"look": 70, "head_up": 5}},
    "putting-finish-posture-rises": {"impact": {"bend": -7}, "finish": {"bend": -14, "hips_down": -4}},
    "chipping-weight-drifts": {
        "back": {"hips_along": -10},
        "impact": {"hips_along": -8},
        "finish": {"hips_along": -14},
    },
    "chipping-arms-chest-alone": {"back": {"chest_turn": 24}, "finish": {"chest_turn": -34}},
    "chipping-turn-through-hip": {"finish": {"hips_along": -10, "chest_turn": -18}},
    "chipping-turn-through-chest": {"impact": {"chest_turn": -12}, "finish": {"chest_turn": -38, "look": -25}},
    "chipping-wrists-scoop": {"impact": {"shaft_lean": -17, "spine_side": -4}, "finish": {"hinge": 48, "swing": -14}},
    "chipping-low-point-fat": {"impact": {"hips_along": -9, "spine_side": -5, "shaft_lean": -7}},
    "chipping-low-point-thin": {"impact": {"bend": -6, "shaft_lean": -9}, "finish": {"hinge": 20}},
    "chipping-arms-in-shorten": {"impact": {"bend": -4, "elbows_out": 50}, "finish": {"elbows_out": 70, "swing": -10}},
    "chipping-length-long": {"back": {"swing": -34, "hinge": -20, "chest_turn": -14}},
    "chipping-speed-brakes": {"back": {"swing": -20}, "finish": {"swing": -22}},
    "chipping-speed-jabs": {"back": {"swing": 16}, "finish": {"swing": -14}},
    "chipping-finish-hold-lost": {"finish": {"swing": -26, "hips_along": -8}},
    "chipping-finish-eyes-early": {"impact": {"look": 50, "head_up": 4}, "finish": {"look": 30, "head_up": 4}},
}


def change_of(fault: str, stage: Stage) -> Change:
    """What a clear fault adds to the posture at one stage; nothing where it cannot be drawn."""
    return FROM_ADDRESS.get(fault) or IN_THE_STROKE.get(fault, {}).get(stage, {})


def posture_with(area: str, stage: Stage, faults: Mapping[str, str]) -> Posture:
    """The posture of a stage with the faults that show, each with its degree; those of another area change nothing."""
    posture = GOOD[area][stage]
    for fault, degree in faults.items():
        if fault.startswith(f"{area}-"):
            for name, added in change_of(fault, stage).items():
                posture = replace(posture, **{name: getattr(posture, name) + added * SHARE[degree]})
    return posture
