"""Wordings from a player's own side. Which way open and closed point: common practice, no source."""

import pytest

from lessons.wording import LEFT_SIDE_PLAYER, RIGHT_SIDE_PLAYER, mirrored, render


def test_the_coach_reads_the_words_of_the_trade() -> None:
    assert render("{Lead} wrist, face {open}, a {push}") == "Lead wrist, face open, a push"


@pytest.mark.parametrize(
    ("wording", "right", "left"),
    [
        ("{lead} hand", "left hand", "right hand"),
        ("{trail} foot", "right foot", "left foot"),
        ("{Trail} knee", "Right knee", "Left knee"),
        ("The face points {open}.", "The face points to the right.", "The face points to the left."),
        ("The face points {closed}.", "The face points to the left.", "The face points to the right."),
        ("A {push}.", "A miss to the right.", "A miss to the left."),
        ("A {pull}.", "A miss to the left.", "A miss to the right."),
    ],
)
def test_a_player_reads_left_and_right_from_their_own_side(wording: str, right: str, left: str) -> None:
    assert render(wording, "right") == right
    assert render(wording, "left") == left


def test_the_two_sides_are_mirror_images() -> None:
    assert {marker: mirrored(words) for marker, words in LEFT_SIDE_PLAYER.items()} == RIGHT_SIDE_PLAYER


def test_words_without_markers_stay_as_they_are() -> None:
    assert render("Leave it left.", "left") == "Leave it left."


@pytest.mark.parametrize(("wording", "side"), [("{leda} hand", "left"), ("{lead} hand", "both")])
def test_an_unknown_marker_or_side_is_an_error(wording: str, side: str) -> None:
    with pytest.raises(KeyError):
        render(wording, side)  # type: ignore[arg-type]
