"""Who in the invented academy has which habits, and what is told about them."""

from dataclasses import replace
from random import Random

from coachbook.demo.simulation import NEVER, POOL, QUICK, SLOW, STEADY, Habit, Story

STORIES = {
    "Alder Quimble": Story(
        (
            Habit("putting-grip", "apart", 0.95, QUICK),
            Habit("putting-grip", "squeeze", 0.8, STEADY),
            Habit("putting-length", "braked", 0.92, SLOW),
            Habit("chipping-weight", "trail", 0.9, SLOW),
            Habit("putting-routine", "changes", 0.8, SLOW),
        ),
        diligence=0.8,
        reports=0.9,
    ),
    "Caspian Thornlace": Story(
        (
            Habit("putting-lead-wrist", "cups", 0.95, STEADY),
            Habit("chipping-low-point", "fat", 0.92, SLOW),
            Habit("putting-aim", "open", 0.85, QUICK),
            Habit("chipping-wrists", "scoop", 0.8, STEADY),
        ),
    ),
    # Never practises: what was there stays.
    "Gideon Puddlefern": Story(
        (
            Habit("putting-tempo", "rushed", 1.0, STEADY),
            Habit("putting-finish-eyes", "early", 0.95, STEADY),
            Habit("putting-grip", "squeeze", 0.6, QUICK),
        ),
        diligence=0,
    ),
    # Months clean, then it is back.
    "Linnet Oxpebble": Story(
        (
            Habit("putting-finish-eyes", "early", 1.0, 0.3, creeps=0, back=60),
            Habit("putting-ball-position", "back", 0.8, STEADY),
            Habit("chipping-landing", "none", 0.75, SLOW),
        ),
        diligence=0.9,
    ),
    # Practises, and one thing never moves.
    "Quentin Duskbee": Story(
        (
            Habit("putting-lead-wrist", "cups", 1.0, NEVER),
            Habit("putting-eye-line", "inside", 0.85, QUICK),
            Habit("chipping-stance-width", "wide", 0.8, STEADY),
        ),
        diligence=0.8,
    ),
}
# What is told of those whose faults are drawn.
DRAWN = {
    "Beatrix Mossbud": Story(diligence=0.6, last=3, unfinished=True),
    "Dilys Harrowbell": Story(diligence=0.55),
    "Emeka Larkwren": Story(diligence=0.75, reports=0.9),
    "Flora Larkwren": Story(diligence=0.6, first=200),
    "Hattie Birdpenny": Story(most=0),
    "Otis Marlpin": Story(most=2, reports=0),
    "Magnus Feathercup": Story(slots=(1,)),
    "Petra Sallowpipit": Story(diligence=0.5, last=75),
    "Rosalind Elderlamp": Story(diligence=0.25, reports=0.5),
    "Thea Brackenloom": Story(last=40, paused=36),
    "Umar Hollybow": Story(diligence=0.95, reports=0.95),
    "Wilf Tarkle": Story(first=230),
    "Xanthe Ploversong": Story(first=150, diligence=0.9),
}


def story_of(name: str, rng: Random) -> Story:
    """A student's story; what it leaves open is drawn."""
    if name in STORIES:
        return STORIES[name]
    drawn = DRAWN.get(name) or Story(diligence=rng.uniform(0.45, 0.9), reports=rng.uniform(0.6, 0.95))
    speeds = rng.sample((QUICK, STEADY, STEADY, SLOW), 4)
    ways = dict(rng.sample(POOL, 4)).items()
    habits = [
        Habit(skill, way, rng.uniform(0.75, 0.97), speed) for (skill, way), speed in zip(ways, speeds, strict=False)
    ]
    return replace(drawn, habits=tuple(habits))
