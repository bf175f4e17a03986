"""Marks and scores as numbers: read from words, compared, and made one harder.

A mark is read from what counts as done well: `8 of 10 balls ...`, `16 putts or fewer`, `14 or more`. Where
the words hold no such number, a score is kept in words. All functions are pure.
"""

import re
from dataclasses import dataclass

OF = re.compile(r"\b(\d{1,3}) of (?:the |your )?(\d{1,3})\b")
FEWER = re.compile(r"\b(\d{1,3})(?: \w+)? or fewer\b")
MORE = re.compile(r"\b(\d{1,3})(?: \w+)? or more\b")
MOST = 999
TIMES = 3  # met on so many days, one after the other, a mark is worth raising; common practice, no source


@dataclass(frozen=True)
class Mark:
    """What counts as done well, as a number: `count` of `of`, or without `of` a count.

    `is_fewest` where less is better; `counts_more` where the words count a second thing, which no one number shows.
    """

    count: int
    of: int | None = None
    is_fewest: bool = False
    counts_more: bool = False

    @property
    def most(self) -> int:
        """The greatest score that can be."""
        return self.of or MOST

    @property
    def words(self) -> str:
        """The mark in a few words: `8 of 10`, `16 or fewer`."""
        return (
            f"{self.count} or {'fewer' if self.is_fewest else 'more'}"
            if self.of is None
            else score_in_words(self.count, self.of)
        )

    def is_met_by(self, score: int) -> bool:
        """Whether a score is at the mark or better."""
        return score <= self.count if self.is_fewest else score >= self.count

    def best(self, scores: list[int]) -> int:
        """The best of some scores. Raises ValueError for none."""
        return min(scores) if self.is_fewest else max(scores)


def read_mark(words: str) -> Mark | None:
    """The mark in a text, or None if it holds no number to reach. The first number counts."""
    found = [(int(one[1]), int(one[2])) for one in OF.finditer(words)]
    if found:
        count, of = found[0]
        return Mark(count, of, counts_more=len(found) > 1) if count <= of else None
    if fewer := FEWER.search(words):
        return Mark(int(fewer[1]), is_fewest=True)
    more = MORE.search(words)
    return Mark(int(more[1])) if more else None


def harder(words: str) -> str:
    """The same words with a mark one harder; empty where they hold none, count two things, or cannot be harder."""
    mark = read_mark(words)
    if mark is None or mark.counts_more:
        return ""
    count = mark.count - 1 if mark.is_fewest else mark.count + 1
    if not 1 <= count <= mark.most:
        return ""
    pattern = OF if mark.of else FEWER if mark.is_fewest else MORE
    return pattern.sub(lambda found: found[0].replace(found[1], str(count), 1), words, count=1)


def score_in_words(score: int, of: int | None) -> str:
    """A score in words: `8 of 10`, or the count alone."""
    return str(score) if of is None else f"{score} of {of}"
