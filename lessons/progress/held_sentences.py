"""What became of changes made in a lesson, in words."""

from collections.abc import Callable, Iterable, Sequence

from lessons.progress.held import Held, Outcome, count_verdicts
from lessons.progress.judgement import Judgement
from lessons.progress.points import LookPoint
from lessons.progress.sentences import FEW, percent, share_words

SPANS = ("up to 14 days", "15 to 28 days", "over 28 days")
PRACTICE = {"none": "none", "some": "some", "most": "most", "all": "all", "": "not asked"}


def whether_held(found: Judgement) -> str:
    """What became of the changes, where the looks allow to say; empty where there were none."""
    if found.results and found.has_selective_looks:
        return "Whether changes hold is not known: it is mostly looked at when it is there."
    return held_words(found.held, found.anyway)


def held_words(held: Held, anyway: float | None = None) -> str:
    """How many changes were still there at the next arrival, and how many would have been anyway; empty for none."""
    if not held.total:
        return ""
    anyway_too = anyway_words(held, anyway)
    if held.total == 1:
        became = "held until" if held.held else "held partly until" if held.partly else "was lost by"
        return f"The one change made in a lesson {became} the next arrival{anyway_too}."
    return f"Of {held.total} changes made in a lesson, {held_parts(held)} by the next arrival{anyway_too}."


def anyway_words(held: Held, anyway: float | None) -> str:
    """How many would have looked good without any change, as half a sentence; empty where none held."""
    if not held.held or (anyway is None and held.total == 1):
        return ""
    if anyway is None:
        return "; too few other arrivals to say how many would have looked good anyway"
    of = held.total if held.total > 1 else 10
    expected = round(anyway * of / held.total)
    return f"; {f'about {expected} of {of}' if expected else 'hardly any'} would have looked good anyway"


def held_parts(held: Held) -> str:
    """The counts of held, partly and lost."""
    lost = "none was" if not held.lost else "1 was" if held.lost == 1 else f"{held.lost} were"
    return f"{held.held or 'none'} held, {held.partly or 'none'} held partly, {lost} lost"


def held_numbers(held: Held) -> str:
    """The share of changes that held with its interval, from eight changes on."""
    return "" if held.total < FEW else f"held on {share_words(held.share)}"


def anyway_numbers(found: Judgement) -> str:
    """From what it follows how many would have looked good anyway; empty where that is not said."""
    if not found.held.held or found.anyway is None or found.has_selective_looks:
        return ""
    rate = percent(found.anyway / found.held.total)
    return (
        f"{rate} would have looked good anyway: so often it was as good on the arrivals around each change, five on "
        "either side, above all on those that followed no change. Where good and bad days come in streaks, it is less"
    )


def held_by_days(results: Sequence[Outcome]) -> list[tuple[str, Held]]:
    """Outcomes counted by the days until the arrival that showed them, without empty groups."""
    return grouped(results, SPANS, lambda result: SPANS[(result.days > 14) + (result.days > 28)])


def held_by_practice(results: Sequence[Outcome], points: Sequence[LookPoint]) -> list[tuple[str, Held]]:
    """Outcomes counted by the practice reported on the arrival that showed them, without empty groups."""
    return grouped(results, PRACTICE.values(), lambda result: PRACTICE[points[result.now].practice_reported])


def grouped(
    results: Sequence[Outcome], names: Iterable[str], name_of: Callable[[Outcome], str]
) -> list[tuple[str, Held]]:
    """Outcomes counted by name, in the order of the names."""
    found = ((name, count_verdicts(each.verdict for each in results if name_of(each) == name)) for name in names)
    return [(name, held) for name, held in found if held.total]
