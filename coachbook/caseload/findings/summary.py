"""What an academy's findings come to, in three sentences: the commonest fault, what changes held, the coaches. Pure."""

from collections.abc import Iterable, Sequence

from coachbook.caseload.findings.clusters import Tally
from coachbook.caseload.findings.faults import FaultLine
from coachbook.caseload.findings.report import CoachComparison
from lessons.progress.held import Held
from lessons.progress.held_sentences import anyway_words
from lessons.progress.words import counted


def common_words(lines: Iterable[FaultLine]) -> str:
    """On which fault most students work, and how often it was seen."""
    line = max(lines, key=lambda line: (line.working, line.looks.share.seen, line.name), default=None)
    if line is None or not line.working:
        return "No student works on a fault from the list of skills now."
    students = counted(line.working, "student")
    most = f"Most students work on “{line.name}”: {students} now"
    if line.is_withheld or not line.looks.looked:
        return f"{most}."
    return f"{most}, and it was seen on {line.looks.share.seen} of {line.looks.looked} looks."


def changes_words(every: Tally, anyway: float | None) -> str:
    """What became of all changes, and how many would have looked good anyway."""
    held, of = every.share
    if not of:
        return "No change made in a lesson has met a next arrival in this time."
    too = anyway_words(Held(held, every.partly, of - held - every.partly), anyway)
    return f"Of {counted(of, 'change')}, {every.parts} by the next arrival{too}."


def coaches_words(coaches: Sequence[tuple[str, CoachComparison]]) -> str:
    """Whether any coach's changes lie outside what chance does."""
    outside = [name for name, comparison in coaches if comparison.is_outside]
    if outside:
        return f"More or fewer changes held than chance explains with {' and '.join(outside)}: ask before you conclude."
    if any(comparison.chance for _, comparison in coaches):
        return "No coach’s changes held more or less often than chance explains."
    return "Too few changes to set any coach beside what chance does."
