"""Texts written once with the markers lead and trail, open and closed, and rendered for a player's own side.

A text holds markers in braces. A coach reads the trade's words for them; a player reads left or right.
`{open}` and `{closed}` speak of the face, the aim and the start line: open is to the right for a right-side
player. A stance that the trade calls open is the other way round, so it is written with feet and hips.
"""

import re

SideWord = str  # "left" or "right"

COACH = {"lead": "lead", "trail": "trail", "open": "open", "closed": "closed", "push": "push", "pull": "pull"}
RIGHT_SIDE_PLAYER = {
    "lead": "left",
    "trail": "right",
    "open": "to the right",
    "closed": "to the left",
    "push": "miss to the right",
    "pull": "miss to the left",
}
MARKER = re.compile(r"\{(\w+)\}")


def mirrored(words: str) -> str:
    """The same text with left and right exchanged."""
    return re.sub(r"\b(left|right)\b", lambda found: {"left": "right", "right": "left"}[found[0]], words)


LEFT_SIDE_PLAYER = {marker: mirrored(words) for marker, words in RIGHT_SIDE_PLAYER.items()}
READERS = {None: COACH, "right": RIGHT_SIDE_PLAYER, "left": LEFT_SIDE_PLAYER}


def render(wording: str, side: SideWord | None = None) -> str:
    """The text as a player of that side reads it, or in the trade's words without a side.

    A marker with a capital (`{Lead}`) gives a capital. Raises KeyError for a marker that does not exist
    and for a side that is neither left nor right.
    """
    words = READERS[side]

    def chosen(found: re.Match[str]) -> str:
        marker = found[1]
        text = words[marker.lower()]
        return text[0].upper() + text[1:] if marker[0].isupper() else text

    return MARKER.sub(chosen, wording)


def render_typed(words: str, side: SideWord | None = None) -> str:
    """Text that a person may have typed: known markers are rendered, other braces stay as they were typed."""
    try:
        return render(words, side)
    except KeyError:
        return words
