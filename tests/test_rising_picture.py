"""A student's picture of one thing: higher is better, a gap is a gap, and no label leaves the picture."""

from datetime import timedelta

from coachbook.loop.progress.for_student import LATEST, RisingPicture, rising, what_got_better
from lessons.history import FaultHistory, JudgedHistory
from lessons.progress.focus_states import Rules, Span
from lessons.progress.judgement import judge_all
from lessons.progress.picture import picture, rows
from lessons.progress.words import STUDENT
from tests.test_points import history, week

LETTER = 7  # a letter of a label is narrower


def drawn(letters: str, *spans: Span) -> RisingPicture:
    return rising(picture(rows(history(letters), STUDENT)[-LATEST:], spans, STUDENT))


def test_the_better_it_was_the_higher_it_stands_and_nobody_looked_leaves_a_gap() -> None:
    dots = drawn("cs-mu").dots
    assert [dot.level for dot in dots] == ["0", "1", "2", "any"]
    good, nearly, learning, ungraded = (dot.y for dot in dots)
    assert good < nearly < ungraded < learning, "an SVG counts downwards"
    assert [dot.x for dot in dots] == sorted(dot.x for dot in dots) and dots[2].x - dots[1].x == 2 * 24


def test_each_dot_stands_on_the_line_that_is_named_as_its_row_of_the_table() -> None:
    found = drawn("csm")
    lines = dict(found.rows)
    assert [lines[dot.y] for dot in found.dots] == ["good", "nearly there", "still learning"]
    assert [place.row.word for place in found.places] == ["good", "nearly there", "still learning"]
    assert not found.has_ungraded and drawn("u").has_ungraded


def test_no_label_leaves_the_picture_wherever_a_focus_began_or_ended() -> None:
    for opened in range(-1, 12):
        for letters in ("c" * 12, "c", "cs"):
            span = Span(week(opened), week(opened) + timedelta(days=3))
            found = drawn(letters, span)
            for mark in found.marks:
                long = LETTER * len(mark.line.text)
                left = mark.label_x if mark.anchor == "start" else mark.label_x - long
                assert left + found.names_width >= 0 and left + long + found.names_width <= found.width, (opened, mark)
            assert all(dot.x < found.width - found.names_width and dot.y < found.days for dot in found.dots)


def test_better_is_said_only_where_the_judgement_says_it() -> None:
    """Eight bad, then eight good arrivals are a clear change, alternating ones none; what is closed stands below."""
    for letters, slot, said in (
        ("m" + "m" * 8 + "c" * 8, 1, True),
        ("m" + "mc" * 8, 1, False),
        ("m" + "m" * 8 + "c" * 8, 0, False),
        ("mc", 1, False),
        ("", 1, False),
    ):
        points, spans = history(letters), [Span(week(0), None if slot else week(20))]
        (judgement,) = judge_all([(points, spans)], Rules())
        # Only what the function reads of a history: whether a focus is open.
        found = FaultHistory(0, None, points, spans, "right", slot)  # type: ignore[arg-type]
        assert bool(what_got_better(JudgedHistory(found, judgement))) is said, letters
