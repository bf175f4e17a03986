"""What the invented people write. What a student reads says what to do, needs no side, and names nothing bad."""

TRIAL = {"what": "The longer putter for every putt", "feel": "It swings like the pendulum of a tall clock."}
KEEP = {
    "setup": (
        "You stand the same way every time now. Check it once, then forget it and play.",
        "Light, quiet hands at the start. Begin every practice from there.",
        "Taking your time before the ball pays off. Keep the same order.",
        "Steady, easy feet today. That is the place to start from.",
    ),
    "motion": (
        "An even beat on nearly every ball. Hum it if that helps.",
        "Short and smooth suits you. Keep that length.",
        "Remember how little effort the last ten balls took.",
        "The ball came off softly and rolled true. Keep that gentle pace.",
    ),
    "finish": (
        "You held the end of nearly every stroke. Keep counting to two.",
        "Quiet eyes until the ball was well on its way. Lovely.",
        "Standing tall and still at the end suits you.",
    ),
    "mind": (
        "You chose first and then played. Keep that order.",
        "The same few steps before each ball make you calm. Keep them.",
    ),
}
NEXT_TIME = {
    "setup": (
        "We start with how you stand, before any ball.",
        "A few balls with no advice first, and a look at your hands.",
        "We see whether the new start feels like your own by then.",
    ),
    "motion": (
        "Ten balls without advice, to see whether the easy swing is still there.",
        "Short ones first, then twice as far with the same beat.",
        "We count how many roll out to the same spot.",
    ),
    "finish": (
        "Does the end of the stroke stay still when it counts? We play for points.",
        "We look at the last second of each stroke first.",
    ),
    "mind": ("You tell me your plan before each ball.", "Three holes of your choice, one ball each."),
}
NOTES = (
    "Came straight from work and was tired.",
    "Windy; I saw less than usual.",
    "Asks good questions and likes numbers.",
    "Better in the second half; began too fast.",
    "One thing at a time next week, I said too much.",
    "Film helped more than words.",
    "Plays a match soon, so nothing new before that.",
)
WORDS = (
    "Comes and goes, worse on short ones.",
    "Only on the first few balls.",
    "Clear on film.",
    "Less with a target to look at.",
    "On every ball today.",
)
OWN_NOTES = (
    "Easier than last time.",
    "On the rug at home.",
    "Windy, so I stopped a bit early.",
    "Missed the first few, then fine.",
    "Tired today.",
)
GUARDIAN_NOTES = ("Wanted to go on playing.", "Needed reminding, then had fun.", "Beat the old record twice.")
PLACES = ("The practice green", "The practice green", "The chipping green", "The studio")
