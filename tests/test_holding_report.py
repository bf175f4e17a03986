"""The report on drills for one fault, asked for plain cases; the model behind it is tested in test_holding."""

import pytest

from drills.library.holding.pooling import Pool, Pooled
from drills.library.holding.report import WIDTH, Case, DrillLine, FaultReport, bar_of, compare, tally
from lessons.progress.held import Held
from lessons.progress.intervals import Interval, Share


def line(name: str, held: int, of: int, low: float = 0.0, high: float = 1.0, given: int = 0) -> DrillLine:
    own = Pooled((low + high) / 2, Interval(low, high))
    return DrillLine(name, name.lower(), given or of, Held(held, 0, of - held), own, name == "This")


def report(*lines: DrillLine, common: float = 0.5, added: float = 10.0) -> FaultReport:
    return FaultReport("Grip", lines, Pool(common, added, ()), 9, 4)


def test_a_student_counts_once_a_drill_with_the_first_verdict_that_is_known() -> None:
    cases = [
        Case(1, 7, None),
        Case(1, 7, "held"),
        Case(1, 7, "lost"),
        Case(1, 8, "partly"),
        Case(1, 9, None),
        Case(2, 7, "lost"),
    ]
    assert tally(cases) == {1: (3, Held(1, 1, 0)), 2: (1, Held(0, 0, 1))}
    assert tally([]) == {}


def test_this_drill_stands_first_and_the_others_by_their_names() -> None:
    cases = [Case(drill, 10 * drill, "held") for drill in (1, 2, 3)]
    names = {1: ("Ladder", "c"), 2: ("Gate", "b"), 3: ("Coins", "a")}
    lines, pooled = compare(cases, names, 1)
    assert [(row.name, row.code, row.is_this) for row in lines] == [
        ("Ladder", "c", True),
        ("Coins", "a", False),
        ("Gate", "b", False),
    ]
    assert pooled and [row.pooled for row in lines] == list(pooled.drills)


def test_drills_are_pooled_once_two_of_them_were_shown() -> None:
    names = {drill: (str(drill), str(drill)) for drill in (1, 2)}
    for verdict, is_pooled in ((None, False), ("lost", True)):
        lines, pooled = compare([Case(1, 1, "held"), Case(2, 2, verdict)], names, 1)  # type: ignore[arg-type]
        assert (pooled is not None, lines[0].pooled is not None) == (is_pooled, is_pooled)


def test_a_drill_is_compared_and_given_in_percent_from_eight_students_on() -> None:
    """What is known of fewer is said as counts."""
    few, enough, alone = line("A", 4, 7), line("A", 4, 8), DrillLine("A", "a", 8, Held(4, 0, 4))
    assert [row.is_enough for row in (few, enough, alone)] == [False, True, False]
    assert few.numbers == "4 of 7 by itself" and DrillLine("A", "a", 3, Held(0, 0, 0)).numbers == "nobody yet"
    assert enough.numbers.startswith("4 of 8") and "together with the others" in enough.numbers
    assert "together" not in alone.numbers and alone.numbers.startswith("4 of 8")
    assert (DrillLine("A", "a", 3, Held(0, 0, 0)).counts, line("A", 1, 1).counts[:10]) == ("nobody yet", "1 student:")
    assert DrillLine("A", "a", 9, Held(2, 3, 1)).share == Share(2, 6), "held partly is not held"


def test_the_picture_has_a_row_for_each_drill_that_is_compared() -> None:
    found = report(line("This", 8, 9, 0.25, 0.75), line("Few", 1, 2), line("Other", 2, 8, 0.1, 0.3))
    this, other = found.bars
    assert (this.low, this.at, this.high) == (WIDTH / 4, WIDTH / 2, WIDTH * 3 / 4)
    assert [bar.line.name for bar in found.bars] == ["This", "Other"] and found.height == 2 * (other.y - this.y)
    for number, bar in enumerate(found.bars):
        row = found.height / 2 * number
        assert row < bar.label_y < bar.y < row + found.height / 2, "its name, and its line below"
    assert found.common_at == WIDTH / 2 and report(line("This", 8, 9), line("Few", 1, 2)).bars == []
    assert FaultReport("Grip", [], None, 0, 0).common_at == 0
    with pytest.raises(ValueError, match="A is not compared"):
        bar_of(DrillLine("A", "a", 0, Held(0, 0, 0)), 0)


def test_a_drill_is_named_where_its_whole_interval_lies_on_one_side() -> None:
    found = report(
        line("This", 8, 9, 0.51, 0.9),
        line("Low", 1, 9, 0.1, 0.49),
        line("On", 5, 9, 0.5, 0.9),
        line("In", 4, 9, 0.1, 0.5),
    )
    assert [row.name for row in found.more] == ["This"] and [row.name for row in found.less] == ["Low"]
    assert found.words == (
        "After “This” more changes held than is common for this fault. "
        "After “Low” fewer changes held than is common for this fault."
    )
    alike = report(line("This", 8, 9, 0.4, 0.9), line("Other", 8, 9, 0.4, 0.9))
    assert alike.words.startswith("Cannot tell these drills apart") and alike.more == alike.less == []
    both = report(line("This", 8, 9, 0.6, 0.9), line("Other", 8, 9, 0.6, 0.9))
    assert both.words == "After “This” and “Other” more changes held than is common for this fault."
    assert "shown by 8 students each" in report(line("This", 8, 9)).words


def test_those_of_whom_nothing_was_shown_and_the_common_share_are_said() -> None:
    found = report(line("Other", 8, 9), line("This", 2, 5, given=7), common=0.62, added=12.4)
    assert (found.this.name, found.unseen) == ("This", 2)
    assert found.common.startswith("The common share is 62%. It draws as if 12 further students at that share")
    assert "1 further student at" in report(line("This", 1, 1), added=0.9).common
    assert FaultReport("Grip", [], None, 0, 0).common == ""
