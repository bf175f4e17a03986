"""The pad on which a ball is noted, laid out as one looks at the hole or gate; and what a tap on it says."""

import re
from dataclasses import dataclass
from math import ceil

from drills.models import Ball, Design, ScoredTest
from drills.putting.observations import FARTHEST_M
from drills.scored_tests.recording.scoring import Refused, Seen
from drills.scored_tests.wording import away, in_steps, leave_words

STEPS = re.compile(r"[+-]?\d{1,3}(\.5)?")
UNSAID = "Tap what became of the ball."


@dataclass(frozen=True)
class Key:
    """One button: the word that it sends and the words on it."""

    word: str
    label: str


@dataclass(frozen=True)
class Farther:
    """A ball that stopped farther away than the buttons say: its word, its name, and what is asked."""

    word: str
    label: str
    ask: str


@dataclass(frozen=True)
class Pad:
    """The rows of buttons from far to near, and the ways to note what is farther."""

    rows: tuple[tuple[Key, ...], ...]
    farther: tuple[Farther, ...] = ()


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


def pad_of(test: ScoredTest, distance_m: float) -> Pad:
    """The pad for a ball from this distance."""
    if test.design.kind == Design.Kind.GATE:
        return GATE
    if test.design.kind == Design.Kind.COUNTED:
        return COUNTED
    return chips_pad(test) if test.design.kind == Design.Kind.CHIPS else leaves_pad(test, distance_m)


def leaves_pad(test: ScoredTest, distance_m: float) -> Pad:
    """Past the hole above, short of it below; no ball stops behind where it lay."""
    room = steps_back(test, distance_m)
    level = (Key("0", "Level"), *([HOLED] if test.design.has_hole else []))
    short = tuple(leave_key(test, -steps) for steps in (1, 2, 3) if steps <= room)
    farther = [Farther("past", "Farther past…", f"How far past? In {steps_named(test)}")]
    if room > 3:
        farther.append(Farther("short", "Farther short…", f"How far short? In {steps_named(test)}"))
    return Pad((tuple(leave_key(test, steps) for steps in (1, 2, 3)), level, short), tuple(farther))


def leave_key(test: ScoredTest, steps: int) -> Key:
    """The button for a leave of whole steps."""
    return Key(f"{steps}", leave_words(test, steps * test.step_m))


def chips_pad(test: ScoredTest) -> Pad:
    """How far from the hole, whichever way."""
    near, middle, far = (
        tuple(Key(word, in_steps(test, float(word) * test.step_m)) for word in words)
        for words in (("0.5", "1"), ("2", "3"), ("4", "5"))
    )
    away = Farther("away", "Farther…", f"How far from the hole? In {steps_named(test)}")
    return Pad(((HOLED, near[0]), (near[1], *middle), far), (away,))


def steps_named(test: ScoredTest) -> str:
    """What leaves are counted in."""
    return in_steps(test, 2 * test.step_m).split(" ", 1)[1]


def steps_back(test: ScoredTest, distance_m: float) -> int:
    """How many steps short a ball from this distance can be at most."""
    return ceil(round(distance_m / test.step_m, 6))


def seen_of(test: ScoredTest, distance_m: float, word: str, far: str = "") -> Seen:
    """What a tap says of a ball. Raises Refused for what cannot be, or was not on the pad."""
    if word == "holed" and test.design.has_hole:
        return Seen(Ball.Result.HOLED)
    if test.design.kind == Design.Kind.GATE:
        return gate_seen(test, word)
    if test.design.kind == Design.Kind.COUNTED:
        return counted_seen(test, word)
    return leave_seen(test, distance_m, leave_steps(word, far))


def gate_seen(test: ScoredTest, word: str) -> Seen:
    """Through the gate, or where else."""
    if word not in ("left", "through", "right", "beside"):
        raise Refused(UNSAID)
    return Seen(Ball.Result.THROUGH if word == "through" else Ball.Result.BESIDE, away=away(test, word))


def counted_seen(test: ScoredTest, word: str) -> Seen:
    """How a ball missed, as far as anybody saw it."""
    if word not in {key.word for row in COUNTED.rows for key in row}:
        raise Refused(UNSAID)
    length, _, way = word.partition("-")
    return Seen(Ball.Result.MISSED, length="" if word == "missed" else length, away=away(test, way))


def leave_steps(word: str, far: str) -> float:
    """The steps that a tap or a typed number says, short of the hole negative."""
    typed = far.strip().replace(",", ".") if word in ("past", "short", "away") else word
    if not STEPS.fullmatch(typed):
        raise Refused("Type a number, such as 5 or 4.5." if far or word in ("past", "short", "away") else UNSAID)
    if word in ("past", "short", "away") and float(typed) <= 0:
        raise Refused("Type a number above 0.")
    return -float(typed) if word == "short" else float(typed)


def leave_seen(test: ScoredTest, distance_m: float, steps: float) -> Seen:
    """A leave in metres, if a ball can stop there."""
    leave_m, is_chip = round(steps * test.step_m, 4), test.design.kind == Design.Kind.CHIPS
    if leave_m > FARTHEST_M or (is_chip and leave_m <= 0):
        raise Refused(f"A ball that stopped {in_steps(test, abs(leave_m))} away cannot be noted.")
    if -steps > steps_back(test, distance_m):
        raise Refused("A ball cannot stop behind where it lay.")
    side = "" if is_chip or not steps else Ball.Length.PAST if steps > 0 else Ball.Length.SHORT
    return Seen(Ball.Result.MISSED, length=side, leave_m=leave_m)
