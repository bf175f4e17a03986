"""What the invented people write. What a student reads says what to do and needs no side."""

TRIAL = {"what": "The longer putter for every putt", "feel": "It swings like the pendulum of a tall clock."}
# What the arrivals after the one on which the trial began showed of it; on that departure it was good.
TRIED = ("slight", "good", "good")
KEEP = {
    "setup": (
        "You stand the same way every time now. Check it once, then play.",
        "Your hands were light and quiet at the start. Begin every practice like that.",
        "You take your time before each ball. Keep the same order.",
        "Your feet were steady and relaxed today. Stand like that before every ball.",
    ),
    "motion": (
        "An even beat on nearly every ball. Hum it if that helps.",
        "Short and smooth suits you. Keep that length.",
        "Remember how little effort the last ten balls took.",
        "The ball came off softly and rolled straight. Keep that gentle pace.",
    ),
    "finish": (
        "You held your finish after nearly every stroke. Keep counting to two.",
        "Your eyes stayed still until the ball was well on its way.",
        "You stood tall and still at the end. Keep that.",
    ),
    "mind": (
        "You decided first and then played. Keep that order.",
        "The same few steps before each ball keep you calm. Stay with them.",
    ),
}
NEXT_TIME = {
    "setup": (
        "We start with how you stand, before any ball.",
        "First a few balls with no advice, then we look at your hands.",
        "We check whether the new set-up feels natural by then.",
    ),
    "motion": (
        "Ten balls without advice, to see whether the easy swing is still there.",
        "We begin with short ones, then go twice as far with the same rhythm.",
        "We count how many balls stop at the same spot.",
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
    "I said too much today; one thing at a time next week.",
    "Film helped more than words.",
    "Has a match soon, so nothing new before that.",
)
WORDS = (
    "Comes and goes, more often on short ones.",
    "Only on the first few balls.",
    "Clear on film.",
    "Less when there is a target to look at.",
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
