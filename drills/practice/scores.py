"""A student's scores in one drill: the last, the best, the mark, whether it is time for the next one, and a picture.

All functions are pure. Only scores out of as many as the mark is are compared with it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from drills.practice.marks import TIMES, Mark, score_in_words

WIDTH, HEIGHT, LEFT, RIGHT, EDGE = 300, 80, 24, 52, 8  # units of the picture, about a pixel on the narrowest phone
SHOWN = 30  # so many scores at most, the latest


@dataclass(frozen=True)
class Score:
    """One score on a day."""

    day: date
    score: int
    of: int | None

    @property
    def words(self) -> str:
        """The score in words."""
        return score_in_words(self.score, self.of)


@dataclass(frozen=True)
class Dot:
    """A score in the picture."""

    x: float
    y: float


@dataclass(frozen=True)
class ScorePicture:
    """Dots over time with the mark as a line."""

    dots: tuple[Dot, ...]
    line: float  # the height of the mark
    mark: int
    ends: tuple[tuple[int, float], ...]  # the lowest and the highest number with their heights
    first: date
    last: date


@dataclass(frozen=True)
class Scores:
    """The scores in a drill, the oldest first, and its mark."""

    mark: Mark
    scores: tuple[Score, ...]

    @classmethod
    def of(cls, mark: Mark, scores: Iterable[Score]) -> "Scores":
        """The latest of the scores that can be compared with the mark."""
        alike = sorted((score for score in scores if score.of == mark.of), key=lambda score: score.day)
        return cls(mark, tuple(alike[-SHOWN:]))

    @property
    def last(self) -> Score:
        """The latest score. Raises IndexError where there is none."""
        return self.scores[-1]

    @property
    def best(self) -> int:
        """The best score. Raises ValueError where there is none."""
        return self.mark.best([score.score for score in self.scores])

    @property
    def words(self) -> str:
        """Last, best and mark in a sentence."""
        if not self.scores:
            return f"The mark is {self.mark.words}. No score yet."
        return f"Last {self.last.score}, best {self.best}. The mark is {self.mark.words}."

    @property
    def latest_first(self) -> list[Score]:
        """The rows of the table."""
        return list(reversed(self.scores))

    def is_due_for_more(self, since: date) -> bool:
        """Whether the mark was met on each of the last three days with a score, counted from `since`."""
        by_day = {score.day: score.score for score in self.scores if score.day >= since}
        latest = [by_day[day] for day in sorted(by_day)[-TIMES:]]
        return len(latest) == TIMES and all(map(self.mark.is_met_by, latest))

    @property
    def picture(self) -> ScorePicture | None:
        """The picture, from two scores on."""
        if len(self.scores) < 2:
            return None
        low, high = self.range
        first, last = self.scores[0].day, self.last.day
        days = max(1, (last - first).days)

        def height(score: int) -> float:
            return round(EDGE + (high - score) * (HEIGHT - 2 * EDGE) / (high - low), 1)

        def across(day: date) -> float:
            return round(LEFT + (day - first).days * (WIDTH - LEFT - RIGHT) / days, 1)

        dots = tuple(Dot(across(score.day), height(score.score)) for score in self.scores)
        ends = tuple((number, height(number)) for number in (low, high))
        return ScorePicture(dots, height(self.mark.count), self.mark.count, ends, first, last)

    @property
    def range(self) -> tuple[int, int]:
        """The lowest and the highest number of the picture: 0 and all of them, or what was scored and the mark."""
        if self.mark.of:
            return 0, self.mark.of
        numbers = [self.mark.count, *(score.score for score in self.scores)]
        return (min(numbers), max(numbers)) if min(numbers) < max(numbers) else (min(numbers) - 1, max(numbers) + 1)
