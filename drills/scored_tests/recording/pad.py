"""The pad of buttons to note a ball, laid out as the player looks at the hole or gate, and what each tap means."""

import re
from dataclasses import dataclass
from math import ceil

from drills.models import Ball, Design, ScoredTest
from drills.putting.observations import FURTHEST_M
from drills.scored_tests.recording.scoring import BallSeen, ScoringError
from drills.scored_tests.wording import in_steps, leave_words, miss_for_side

STEPS = re.compile(r"[+-]?\d{1,3}(\.5)?")
NO_RESULT = "Tap where the ball went."


@dataclass(frozen=True)
class Key:
    """One button: the word that it sends and its label."""

    word: str
    label: str


@dataclass(frozen=True)
class Further:
    """The entry for a ball that stopped further away than any button: its word, its label, and its question."""

    word: str
    label: str
    ask: str


@dataclass(frozen=True)
class Pad:
    """The rows of buttons from far to near, and the entries for what is further."""

    rows: tuple[tuple[Key, ...], ...]
    further: tuple[Further, ...] = ()


HOLED, MISSED = Key("holed", "Holed"), Key("missed", "Missed, not seen")
GATE = Pad(
    ((Key("left", "Left"), Key("through", "Through"), Key("right", "Right")), (Key("beside", "Beside, side not seen"),))
)
COUNTED = Pad(
    (
        (Key("past-left", "Past left"), Key("past", "Past"), Key("past-right", "Past right")),
        (HOLED,),
        (Key("short-left", "Short left"), Key("short", "Short"), Key("short-right", "Short right")),
        (MISSED,),
    )
)


def pad_for(test: ScoredTest, distance_m: float) -> Pad:
    """The pad for a ball from this distance."""
    if test.design.kind == Design.Kind.GATE:
        return GATE
    if test.design.kind == Design.Kind.COUNTED:
        return COUNTED
    return chips_pad(test) if test.design.kind == Design.Kind.CHIPS else leaves_pad(test, distance_m)


def leaves_pad(test: ScoredTest, distance_m: float) -> Pad:
    """Past the hole above, short of it below; a ball cannot stop behind where it lay."""
    most = max_steps_short(test, distance_m)
    level = (Key("0", "Level"), *([HOLED] if test.design.has_hole else []))
    short = tuple(leave_key(test, -steps) for steps in (1, 2, 3) if steps <= most)
    further = [Further("past", "Further past…", f"How far past? In {step_name(test)}")]
    if most > 3:
        further.append(Further("short", "Further short…", f"How far short? In {step_name(test)}"))
    return Pad((tuple(leave_key(test, steps) for steps in (1, 2, 3)), level, short), tuple(further))


def leave_key(test: ScoredTest, steps: int) -> Key:
    """The button for a leave of whole steps."""
    return Key(f"{steps}", leave_words(test, steps * test.step_m))


def chips_pad(test: ScoredTest) -> Pad:
    """Distances from the hole, in any direction."""
    near, middle, far = (
        tuple(Key(word, in_steps(test, float(word) * test.step_m)) for word in words)
        for words in (("0.5", "1"), ("2", "3"), ("4", "5"))
    )
    further = Further("away", "Further…", f"How far from the hole? In {step_name(test)}")
    return Pad(((HOLED, near[0]), (near[1], *middle), far), (further,))


def step_name(test: ScoredTest) -> str:
    """The unit of leaves, in the plural."""
    return in_steps(test, 2 * test.step_m).split(" ", 1)[1]


def max_steps_short(test: ScoredTest, distance_m: float) -> int:
    """How many steps short a ball from this distance can be at most."""
    return ceil(round(distance_m / test.step_m, 6))


def read_tap(test: ScoredTest, distance_m: float, word: str, far: str = "") -> BallSeen:
    """The ball that a tap describes. Raises ScoringError for what is impossible or not on the pad."""
    if word == "holed" and test.design.has_hole:
        return BallSeen(Ball.Result.HOLED)
    if test.design.kind == Design.Kind.GATE:
        return gate_seen(test, word)
    if test.design.kind == Design.Kind.COUNTED:
        return counted_seen(test, word)
    return leave_seen(test, distance_m, leave_steps(word, far))


def gate_seen(test: ScoredTest, word: str) -> BallSeen:
    """Through the gate, or on which side of it."""
    if word not in ("left", "through", "right", "beside"):
        raise ScoringError(NO_RESULT)
    return BallSeen(Ball.Result.THROUGH if word == "through" else Ball.Result.BESIDE, miss=miss_for_side(test, word))


def counted_seen(test: ScoredTest, word: str) -> BallSeen:
    """How a ball missed, as far as somebody saw it."""
    if word not in {key.word for row in COUNTED.rows for key in row}:
        raise ScoringError(NO_RESULT)
    length, _, side = word.partition("-")
    return BallSeen(Ball.Result.MISSED, length="" if word == "missed" else length, miss=miss_for_side(test, side))


def leave_steps(word: str, far: str) -> float:
    """The leave in steps, from a tap or a typed number; short of the hole is negative."""
    typed = far.strip().replace(",", ".") if word in ("past", "short", "away") else word
    if not STEPS.fullmatch(typed):
        raise ScoringError(
            "Type a number, such as 5 or 4.5." if far or word in ("past", "short", "away") else NO_RESULT
        )
    if word in ("past", "short", "away") and float(typed) <= 0:
        raise ScoringError("Type a number above 0.")
    return -float(typed) if word == "short" else float(typed)


def leave_seen(test: ScoredTest, distance_m: float, steps: float) -> BallSeen:
    """The leave in metres. Raises ScoringError where no ball can stop."""
    leave_m, is_chip = round(steps * test.step_m, 4), test.design.kind == Design.Kind.CHIPS
    if leave_m > FURTHEST_M or (is_chip and leave_m <= 0):
        raise ScoringError(f"A ball that stopped {in_steps(test, abs(leave_m))} away cannot be noted.")
    if -steps > max_steps_short(test, distance_m):
        raise ScoringError("A ball cannot stop behind where it lay.")
    length = "" if is_chip or not steps else Ball.Length.PAST if steps > 0 else Ball.Length.SHORT
    return BallSeen(Ball.Result.MISSED, length=length, leave_m=leave_m)
