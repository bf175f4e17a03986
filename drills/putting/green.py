"""Green speed: what a stimp reading in feet means for a rolling ball. Speeds in m/s, lengths in metres."""

from math import inf, sqrt

RELEASE_MPS = 6.0 * 0.3048  # Holmes (1986), The Physics Teacher 24: 6.00 ft/s, as cited by Penner (2002)
GRAVITY_MPS2 = 9.80665  # standard gravity, CGPM 1901
FOOT_M = 0.3048
CAPTURE_MPS = 1.63  # Holmes (1991), Am. J. Phys. 59, 129-136: the fastest centred ball that drops
SLOWEST_FT, FASTEST_FT = 3.0, 16.0  # readings outside are asked about; common practice, no source


def deceleration_mps2(stimp_ft: float) -> float:
    """How fast a ball slows on a level green, from v^2 = 2 a d. Raises ValueError for a reading of 0 or less."""
    if not 0 < stimp_ft < inf:
        raise ValueError(f"a stimp reading is above 0 ft, not {stimp_ft} ft")
    return RELEASE_MPS**2 / (2 * stimp_ft * FOOT_M)


def rolling_friction(stimp_ft: float) -> float:
    """The coefficient of rolling friction. Penner (2002), Can. J. Phys. 80, 83-96: a = 5/7 of it times g."""
    return 7 * deceleration_mps2(stimp_ft) / (5 * GRAVITY_MPS2)


def roll_m(speed_mps: float, stimp_ft: float) -> float:
    """How far a ball of this speed still rolls."""
    return speed_mps**2 / (2 * deceleration_mps2(stimp_ft))


def speed_at_hole_mps(past_m: float, stimp_ft: float) -> float:
    """The speed at the hole of a ball that would stop so far past it. Raises ValueError for one that stops short."""
    if not 0 <= past_m < inf:
        raise ValueError("a ball that stops short has no speed at the hole")
    return sqrt(2 * deceleration_mps2(stimp_ft) * past_m)


def level_stimp_ft(up_ft: float, down_ft: float) -> float:
    """The reading that a sloped green would show if it were level, from those up and down the slope.

    Raises ValueError for a reading of 0 or less. Brede (1990), USGA Green Section Record 28(6), 10-12.
    """
    if not (0 < up_ft < inf and 0 < down_ft < inf):
        raise ValueError("both readings must be above 0 ft")
    return 2 * up_ft * down_ft / (up_ft + down_ft)


def capture_speed_mps(off_centre: float) -> float:
    """The fastest ball that may drop when it meets the hole so far off centre, as a share of the hole's radius.

    This is a limit of physics; the model of a putt uses a coaching convention instead: how far past the ball may run.
    Raises ValueError outside 0 to 1. Penner (2002), Can. J. Phys. 80, eq. 23.
    """
    if not 0 <= off_centre <= 1:
        raise ValueError("off centre by 0 to 1 of the radius")
    return CAPTURE_MPS * (1 - off_centre**2)
