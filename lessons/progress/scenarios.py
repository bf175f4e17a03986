"""What happens on a green, simulated: streaks, one history read again and again, a second coach, a stricter eye.

What is counted are the words that a page would say. A look copies the one before with a probability `copies`; such
looks have that correlation from one to the next, while the fault is seen as often as without it.
"""

from collections.abc import Iterable, Sequence
from random import Random

from lessons.progress.calibration import OPENED, SimulatedStudent
from lessons.progress.focus_states import Rules, Span
from lessons.progress.judgement import judge_all
from lessons.progress.points import Degree, LookPoint
from lessons.progress.sentences import trend_words

BETTER = ("Rarer", "Milder")  # the first words of a sentence that says so
WORSE = ("More often", "Clearer")
PAGE = 6  # faults on a page
ARRIVALS = 24  # on each of which the history is read again
STRICTER: dict[Degree | None, Degree] = {None: "slight", "slight": "clear"}

History = Sequence[LookPoint]


def steady(seen: float, clear: float = 0.5) -> SimulatedStudent:
    """A student with the same chances throughout."""
    return SimulatedStudent((seen, seen), (clear, clear))


def fading_student(clear: tuple[float, float] = (0.5, 0.5)) -> SimulatedStudent:
    """A student whose fault is seen ever less: at first in nine looks of ten, at last in one."""
    return SimulatedStudent((0.9, 0.1), clear)


def streaky(student: SimulatedStudent, number: int, copies: float, rng: Random) -> list[LookPoint]:
    """So many looks at a student, each of which shows what the last one showed with this probability."""
    found = student.looks(number, rng)
    for place in range(1, number):
        if rng.random() < copies:
            found[place] = seen_as(found[place], found[place - 1].degree)
    return found


def seen_as(point: LookPoint, degree: Degree | None) -> LookPoint:
    """The same look, had it shown this."""
    return LookPoint(point.day, True, degree, point.coach)


def with_second_coach(points: History, first: str = "Ida", second: str = "Cai") -> list[LookPoint]:
    """The same looks, the later half of them by another coach."""
    half = len(points) // 2
    coaches = [first] * half + [second] * (len(points) - half)
    return [replace_coach(point, coach) for point, coach in zip(points, coaches, strict=True)]


def replace_coach(point: LookPoint, coach: str) -> LookPoint:
    """The same look by this coach."""
    return LookPoint(point.day, True, point.degree, coach)


def stricter_later(points: History, share: float, rng: Random) -> list[LookPoint]:
    """The same looks by an eye that marks one degree more in the later half, in this share of looks."""
    half = len(points) // 2
    later = [
        seen_as(point, STRICTER.get(point.degree, point.degree)) if rng.random() < share else point
        for point in points[half:]
    ]
    return [*points[:half], *later]


def milder_later(points: History, share: float, rng: Random) -> list[LookPoint]:
    """The same by an eye that was stricter at first."""
    degrees = [point.degree for point in stricter_later(points[::-1], share, rng)[::-1]]
    return [seen_as(point, degree) for point, degree in zip(points, degrees, strict=True)]


def page_words(histories: Iterable[History]) -> list[str]:
    """What a page says of these histories, judged together."""
    found = judge_all([(points, [Span(OPENED, None)]) for points in histories], Rules())
    return [trend_words(each.trend) for each in found if each.trend]


def says(histories: Iterable[History], words: tuple[str, ...] = BETTER) -> bool:
    """Whether a page says so of any of them."""
    return any(each.startswith(words) for each in page_words(histories))


def ever_says(histories: Sequence[History], words: tuple[str, ...] = BETTER) -> bool:
    """Whether it says so after any of the arrivals, read again after each."""
    longest = max(map(len, histories))
    return any(says([points[:number] for points in histories], words) for number in range(2, longest + 1))


def share_called(student: SimulatedStudent, number: int, copies: float, tries: int, faults: int = 1) -> float:
    """The share of pages of so many faults on which any is called better after so many looks."""
    rng = Random(f"{student} {number} {copies} {faults}")
    pages = ([streaky(student, number, copies, rng) for _ in range(faults)] for _ in range(tries))
    return sum(map(says, pages)) / tries


def share_ever_called(student: SimulatedStudent, copies: float, tries: int, faults: int = 1) -> float:
    """The share of pages on which any fault is called better at some time over the arrivals."""
    rng = Random(f"{student} ever {copies} {faults}")
    pages = ([streaky(student, ARRIVALS, copies, rng) for _ in range(faults)] for _ in range(tries))
    return sum(map(ever_says, pages)) / tries
