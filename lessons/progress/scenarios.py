"""What happens on a green, simulated: streaks, repeated reading, other eyes, one-sided looks, bad days to begin with.

What is counted are the words that a page would say. A look copies the one before with a probability `copies`; such
looks have that correlation from one to the next, while the fault is seen as often as without it.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import timedelta
from random import Random

from lessons.progress.calibration import OPENED, Row, SimulatedStudent
from lessons.progress.judgement import trend_since, weigh
from lessons.progress.points import Degree, LookPoint
from lessons.progress.trend_sentences import trend_words

BETTER = ("Rarer", "Milder")  # the first words of a sentence that says so
WORSE = ("More often", "Clearer")
PAGE = 6  # faults on a page
RECORD = 10  # looks before a focus is opened
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


def noted_one_kind(points: History, seen: bool, at_first: bool) -> list[LookPoint]:
    """The same looks by a coach who in one half of the arrivals notes only the bad days (`seen`), or only the good."""
    half = len(points) // 2
    return [
        point if point.seen is seen or (place < half) is not at_first else not_looked_at(point)
        for place, point in enumerate(points)
    ]


def looked_less_later(points: History, share: float, rng: Random) -> list[LookPoint]:
    """The same looks, of the later half only this share, whatever they showed."""
    half = len(points) // 2
    later = (point if rng.random() < share else not_looked_at(point) for point in points[half:])
    return [*points[:half], *later]


def not_looked_at(point: LookPoint) -> LookPoint:
    """The same arrival without a look."""
    return LookPoint(point.day, False, None, point.coach)


def opened_on_a_bad_day(
    student: SimulatedStudent, number: int, copies: float, rng: Random, degree: Degree | None = None
) -> list[LookPoint]:
    """So many looks after a focus was opened on a day that saw it; each copies the last with this probability."""
    opening = LookPoint(OPENED, True, degree or ("clear" if rng.random() < student.clear[0] else "slight"), "")
    after = student.looks(number, rng)
    for place in range(number):
        if rng.random() < copies:
            after[place] = seen_as(after[place], (after[place - 1] if place else opening).degree)
    return [opening, *after]


def opened_after_record(student: SimulatedStudent, number: int, copies: float, rng: Random) -> list[LookPoint]:
    """The same with looks before, at first chances, as many as it takes from RECORD on until one sees the fault."""
    steadily = SimulatedStudent((student.seen[0],) * 2, (student.clear[0],) * 2)
    before = streaky(steadily, 10 * RECORD, copies, rng)
    opening = next((place for place, point in enumerate(before) if place >= RECORD and point.seen), len(before) - 1)
    after = opened_on_a_bad_day(student, number, copies, rng, before[opening].degree)
    return [shifted(point, opening) for point in before[:opening]] + after


def shifted(point: LookPoint, weeks: int) -> LookPoint:
    """The same look so many weeks and one earlier."""
    return LookPoint(point.day - timedelta(weeks=weeks + 1), True, point.degree, point.coach)


def page_words(histories: Iterable[History]) -> list[str]:
    """What a page says of the trends of these histories, weighed together."""
    return [trend_words(trend) for trend in weigh([trend_since(points, OPENED) for points in histories])]


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


# --- The table of `calibrate` -------------------------------------------------------------------

COPIES = {0.0: ("<= 5.5%", "<= 8%"), 0.3: ("<= 5.5%", "<= 8%"), 0.5: ("<= 5.5%", "<= 15%"), 0.7: ("", "")}
STEADY = (steady(0.4), steady(0.7), steady(0.85))
FADES = {"degrees stay": (0.5, 0.5), "degrees fade, too": (0.9, 0.1), "slight only": (0.0, 0.0)}


def trend_rows(tries: int) -> Iterator[Row]:
    """Streaks, repeated reading, power, a second coach and an eye that changes, each of so many pages."""
    for copies, (one, page) in COPIES.items():
        name = f"copies {copies:.0%}: rarer"
        looks = (share_called(student, number, copies, 2 * tries) for student in STEADY for number in (12, 20, 30))
        yield Row(f"{name}, one history, the worst", max(looks), one)
        yield Row(f"{name}, a page of six", share_called(steady(0.7), ARRIVALS, copies, tries, PAGE), page)
        ever = (share_ever_called(student, copies, 3 * tries) for student in STEADY[1:])
        yield Row(f"{name}, ever over 24 arrivals", max(ever), page)
        yield Row(f"{name}, ever, a page of six", share_ever_called(steady(0.7), copies, tries // 2, PAGE))
    for name, clear in FADES.items():
        for number, mark in ((12, ""), (20, ">= 25%"), (30, ">= 45%"), (40, "")):
            yield Row(f"fades, {name}: {number} looks", share_called(fading_student(clear), number, 0, tries), mark)
    yield from eye_rows(tries)
    yield from looking_rows(tries)
    yield from opening_rows(tries)


def eye_rows(tries: int) -> Iterator[Row]:
    """A coach who is stricter or kinder than the one before, or than before."""
    rng = Random(tries)
    pages = [
        page_words([with_second_coach(stricter_later(steady(0.4).looks(24, rng), 0.7, rng))]) for _ in range(tries)
    ]
    yield Row("stricter second coach: anything called", share_of(pages, is_called), "<= 5.5%")
    yield Row("stricter second coach: named", share_of(pages, lambda words: "Cai" in words), ">= 90%")
    for name, eye in (("stricter", stricter_later), ("kinder", milder_later)):
        pages = [page_words([eye(steady(0.4).looks(24, rng), 0.7, rng) for _ in range(PAGE)]) for _ in range(tries)]
        seen = sum(f"a {name} eye looks" in " ".join(page) for page in pages) / tries
        yield Row(f"{name} half-way, a page of six: seen", seen, ">= 90%")
    pages = [page_words([steady(0.5).looks(24, rng) for _ in range(PAGE)]) for _ in range(tries)]
    yield Row("an eye that stays: thought to change", share_of(pages, lambda words: "eye looks" in words))


def looking_rows(tries: int) -> Iterator[Row]:
    """Steady students who are noted on bad or on good days only in one half, and fading ones who are looked at less."""
    rng = Random(f"looking {tries}")
    for seen, kind in ((True, "there"), (False, "good")):
        for at_first, name in ((True, "at first"), (False, "later")):
            drawn = (noted_one_kind(steady(0.5).looks(36, rng), seen, at_first) for _ in range(2 * tries))
            called = share_of([page_words([points]) for points in drawn], is_called)
            yield Row(f"noted {name} only when {kind}, 36 arrivals: anything called", called, "<= 5.5%")
    for share in (1.0, 0.8, 0.65, 0.5):
        drawn = (looked_less_later(fading_student().looks(36, rng), share, rng) for _ in range(2 * tries))
        called = share_of([page_words([points]) for points in drawn], is_called)
        yield Row(f"fades, 36 arrivals, later looked at on {share:.0%}: called", called, "printed")


def opening_rows(tries: int) -> Iterator[Row]:
    """Steady and fading students whose focus was opened on a bad day, which the next looks resemble where they copy.

    Leaving out the first look after it, or taking off half of the fall that it brings, makes 6 of 100 at 50 % about 5
    and 16 at 70 % about 12; of faults that fade in the simulated academy 65 of 100 are then called in place of 77.
    Where there are looks before the opening, a fall has to stand beside these as well, which costs one or two.
    """
    for copies, mark in {0.0: "<= 5.5%", 0.3: "<= 5.5%", 0.5: "printed", 0.7: "printed"}.items():
        yield Row(
            f"opened on a bad day, copies {copies:.0%}: rarer, the worst",
            worst_after(share_after_bad, copies, tries),
            mark,
        )
    for copies, mark in {0.0: "<= 5.5%", 0.3: "<= 5.5%", 0.5: "<= 5.5%", 0.7: "printed"}.items():
        yield Row(
            f"the same after {RECORD} looks, copies {copies:.0%}: rarer, the worst",
            worst_after(share_after_record, copies, tries),
            mark,
        )
    for number, mark in ((20, ">= 25%"), (30, ">= 45%")):
        power = share_after_bad(fading_student(), number, 0.0, 4 * tries)
        yield Row(f"opened on a bad day, fades: {number} looks", power, mark)
        power = share_after_record(fading_student(), number, 0.0, 4 * tries)
        yield Row(f"the same after {RECORD} looks, fades: {number} looks", power, mark)


def worst_after(share: Callable[[SimulatedStudent, int, float, int], float], copies: float, tries: int) -> float:
    """The highest share of steady students that are called better."""
    return max(share(steady(rate), number, copies, 2 * tries) for rate in (0.2, 0.4, 0.7) for number in (20, 30))


def share_after_record(student: SimulatedStudent, number: int, copies: float, tries: int) -> float:
    """The same with a record of looks before it was opened."""
    rng = Random(f"{student} {number} {copies} record")
    return sum(says([opened_after_record(student, number, copies, rng)]) for _ in range(tries)) / tries


def share_after_bad(student: SimulatedStudent, number: int, copies: float, tries: int) -> float:
    """The share called better after so many looks, of those whose focus was opened on a bad day."""
    rng = Random(f"{student} {number} {copies} opened")
    return sum(says([opened_on_a_bad_day(student, number, copies, rng)]) for _ in range(tries)) / tries


def is_called(words: str) -> bool:
    """Whether a sentence says that something changed."""
    return words.startswith((*BETTER, *WORSE))


def share_of(pages: Sequence[list[str]], holds: Callable[[str], bool]) -> float:
    """The share of pages of which this holds for any sentence."""
    return sum(any(map(holds, page)) for page in pages) / len(pages)
