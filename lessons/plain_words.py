"""The trade's words that a twelve-year-old does not know, each with the plain form that students and guardians read.

This is the one place of them. It is meant for words that the program or the catalogue writes; what a person typed
stays as it was typed. Pure.
"""

import re

PLAIN = {
    # Moments of a lesson, and balls hit without one.
    "on arrival": "at the start of the lesson",
    "on departure": "at the end of the lesson",
    "arrival": "start of the lesson",
    "departure": "end of the lesson",
    "alone": "at practice",
    # Scored tests, by the names with which they come; an academy that gives one a name of its own keeps that name.
    "measured leaves": "how close to the hole",
    "ball gate": "through the gate",
    "counted putts": "putts that drop",
    "pace ladder": "near and far",
    "proximity": "chips near the hole",
    "green speed, stimp in feet": "green speed in feet, if you know it",
    "pace, and whether you are short or long": "whether they roll too far, or not far enough",
    "your pace is as good from far as from near": "you judge the distance as well from far as from near",
    "the club with the most loft": "the club whose face looks up the most",
    # What is measured of a skill.
    "stance width": "how far apart your feet are",
    "the middle of the stance": "the middle between your feet",
    "eye line inside the ball": "eyes nearer to you than the ball",
    "face angle to the chosen line": "where the putter face points, beside your line",
    "face angle at impact": "where the putter face points at the hit",
    "path to the start line": "which way the putter swings, beside the start line",
    "loft at impact": "how much the putter face looks up at the hit",
    "shaft lean towards the target": "how far the putter leans towards the hole",
    "shaft lean before the shot": "how far the club leans before the shot",
    "wrist angle change through the ball": "how much the wrist bends through the ball",
    "time back to time through": "time to swing back, for 1 to swing through",
    "putter head travel back": "how far the putter swings back",
    "putter head outside the line, 20 cm into the backswing": "putter outside the line, 20 cm on its way back",
    "strike from the middle of the face": "where the putter face hits the ball, from its middle",
    "head movement along the line": "how much your head moves",
    "break chosen": "how far beside the hole you aim",
    "last look to stroke": "time from the last look to the hit",
    "handle above the top hand": "how much of the handle is above your top hand",
    "low point ahead of the ball": "lowest point of the swing, ahead of the ball",
    "entry behind the ball": "where the club goes into the sand, behind the ball",
    "at the end of the backswing": "when you have swung back",
}
TRADE = re.compile(rf"(?<!\w)({'|'.join(sorted(map(re.escape, PLAIN), key=len, reverse=True))})(?!\w)", re.IGNORECASE)


def plain(words: str) -> str:
    """The same words with each of the trade's in its plain form; a capital stays a capital."""
    return TRADE.sub(plain_form, words)


def plain_form(found: re.Match[str]) -> str:
    """The plain form of one of the trade's words."""
    form = PLAIN[found[0].lower()]
    return form[0].upper() + form[1:] if found[0][0].isupper() else form
