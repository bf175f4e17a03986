"""What became of the changes for which a drill was given, and how far the drills for one fault are told apart."""

import random
import re
from collections.abc import Callable
from datetime import timedelta
from html import unescape
from typing import Any

import numpy as np
import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from scipy import integrate, stats
from statsmodels.genmod.bayes_mixed_glm import BinomialBayesMixedGLM

from coachbook.accounts.models import Coach, Student
from drills.library.holding.pooling import LEAST_SIZE, MOST_SIZE, MU, SIZE, log_likelihood, pool, posterior
from drills.library.holding.report import Case, DrillLine, FaultReport, compare, tally
from drills.models import Drill, Prescription
from lessons.models import Fault, Focus, Outcome
from lessons.progress.intervals import Share
from tests.conftest import Cast
from tests.make import academy_today, make_care, make_drill, make_fault, make_lesson, make_skill, make_student

Clients = Callable[[str], Client]
ALIKE = 0.05  # in how many of 100 runs any of some drills that are alike may be named, as the page says


def shares(*counts: tuple[int, int]) -> list[Share]:
    return [Share(*each) for each in counts]


def report_of(*counts: tuple[int, int]) -> FaultReport:
    """Drills with so many students of so many with whom it held; the first is the one whose page it is."""
    cases = [
        Case(drill, 1000 * drill + student, "held" if student < seen else "lost")
        for drill, (seen, of) in enumerate(counts)
        for student in range(of)
    ]
    lines, pooled = compare(cases, {drill: (f"Drill {drill}", f"d{drill}") for drill in range(len(counts))}, 0)
    return FaultReport("A fault", lines, pooled, 0, 0)


# --- Partial pooling ------------------------------------------------------------------------------

TABLES = [
    shares((12, 20), (8, 20), (15, 20)),
    shares((3, 3), (14, 20), (9, 18), (4, 12)),
    shares((20, 30), (5, 25), (16, 30), (11, 24), (9, 16)),
]


def test_one_point_of_the_grid_by_hand() -> None:
    """2 of 3, with 4 students at one half: B(2 + 2, 2 + 1) / B(2, 2) = (3! 2! / 6!) / (1! 1! / 3!) = 1/10."""
    assert np.exp(log_likelihood(Share(2, 3), np.array(0.5), np.array(4.0))) == pytest.approx(0.1)
    assert stats.betabinom.pmf(2, 3, 2, 2) == pytest.approx(3 * 0.1), "three ways to reach it"


@pytest.mark.parametrize("table", TABLES, ids=str)
def test_a_drills_share_is_that_of_the_whole_model(table: list[Share]) -> None:
    """The mean of the first drill's share, against an integral over common share and size by scipy."""
    mu, log_size = np.linspace(0.001, 0.999, 201)[:, None], np.linspace(np.log(LEAST_SIZE), np.log(MOST_SIZE), 101)
    size = np.exp(log_size)
    likelihood = np.prod([stats.betabinom.pmf(s, n, mu * size, (1 - mu) * size) for s, n in table], axis=0)
    means = (mu * size + table[0].seen) / (size + table[0].of)
    whole, moment = (
        integrate.simpson(integrate.simpson(each, x=log_size), x=mu.ravel())
        for each in (likelihood, likelihood * means)
    )
    assert pool(table).drills[0].rate == pytest.approx(moment / whole, abs=0.003)


@pytest.mark.parametrize("table", TABLES, ids=str)
def test_shares_are_moved_about_as_far_as_statsmodels_moves_them(table: list[Share]) -> None:
    """A logistic model with an effect of each drill, fitted by variational Bayes: another prior, the same idea."""
    seen = np.concatenate([np.r_[np.ones(s), np.zeros(n - s)] for s, n in table])
    drill = np.eye(len(table))[np.concatenate([np.full(n, place) for place, (_, n) in enumerate(table)])]
    np.random.seed(1)
    found = BinomialBayesMixedGLM(
        seen, np.ones((len(seen), 1)), drill, np.zeros(len(table), dtype=int), vcp_p=1, fe_p=2
    ).fit_vb()
    theirs = 1 / (1 + np.exp(-(found.fe_mean[0] + found.vc_mean)))
    ours = [each.rate for each in pool(table).drills]
    assert np.abs(theirs - ours).max() < 0.05
    raw = [share.rate for share in table]
    assert all(min(share, pool(table).common) - 1e-9 <= each <= max(share, pool(table).common) + 1e-9
               for share, each in zip(raw, ours, strict=True))  # fmt: skip


@pytest.mark.parametrize("table", [*TABLES, shares((18, 20), (4, 20))], ids=str)
def test_an_interval_holds_the_middle_95_in_100_of_the_distribution(table: list[Share]) -> None:
    weights = posterior(table)
    for share, each in zip(table, pool(table).drills, strict=True):
        a, b = MU * SIZE + share.seen, (1 - MU) * SIZE + share.of - share.seen
        below = [(weights * stats.beta.cdf(end, a, b)).sum() for end in each.interval]
        assert below == pytest.approx([0.025, 0.975], abs=0.002)


def test_equal_drills_draw_together_and_unlike_ones_stay_apart() -> None:
    alike, unlike = pool(shares((10, 20), (10, 20), (10, 20))), pool(shares((20, 20), (5, 20), (6, 20), (5, 20)))
    assert alike.added > 2 * unlike.added
    assert alike.common == pytest.approx(0.5, abs=0.01)
    assert unlike.drills[0].rate > 0.85 and unlike.drills[1].rate < 0.35


def test_a_drill_without_students_is_at_the_common_share() -> None:
    found = pool(shares((0, 0), (12, 20), (11, 20)))
    assert found.drills[0].rate == pytest.approx(found.common)
    with pytest.raises(ValueError, match="no drills"):
        pool([])


# --- Which drills are named -----------------------------------------------------------------------


@pytest.mark.parametrize(("drills", "most", "rate"), [(2, 20, 0.5), (4, 40, 0.7), (8, 120, 0.6)])
def test_of_drills_that_are_alike_hardly_ever_one_is_named(drills: int, most: int, rate: float) -> None:
    """100 pages of drills that all hold equally often: the share of pages that name any stays below the stated one."""
    generator = np.random.default_rng(13)
    named = 0
    for _ in range(100):
        of = generator.integers(8, most + 1, drills)
        seen = generator.binomial(of, rate)
        found = pool([Share(int(s), int(n)) for s, n in zip(seen, of, strict=True)])
        named += any(each.interval.low > found.common or each.interval.high < found.common for each in found.drills)
    assert named / 100 < ALIKE


def test_a_drill_that_really_is_better_is_named_once_enough_were_shown() -> None:
    """Else the test above would hold for a page that never names anything."""
    report = report_of((28, 30), (9, 30), (11, 30))
    assert [line.name for line in report.more] == ["Drill 0"]
    assert report.words.startswith("After “Drill 0” more changes held than is common for this fault.")
    few = report_of((2, 30), (24, 30), (25, 30))
    assert "After “Drill 0” fewer changes held" in few.words


def test_fewer_than_eight_students_are_never_named_or_given_in_percent() -> None:
    for of in (1, 3, 7):
        for others in ((0, 50), (50, 50)):
            report = report_of((of, of), others, others)
            assert "Drill 0" not in report.words and report.this not in [bar.line for bar in report.bars]
            assert "%" not in report.this.numbers and f"{of} of {of} by itself" in report.this.numbers
    assert report_of((3, 3), (5, 5)).words.startswith("Cannot tell yet")
    assert report_of((3, 3)).pool is None


def test_words_and_picture_say_the_same() -> None:
    """A drill is named exactly where its line in the picture lies to one side of the common share."""
    generator = random.Random(4)
    stood_out = 0
    for _ in range(60):
        counts = []
        for _ in range(generator.randint(2, 5)):
            of, rate = generator.randint(1, 60), generator.random()
            counts.append((sum(generator.random() < rate for _ in range(of)), of))
        report = report_of(*counts)
        for bar in report.bars:
            aside = bar.low > report.common_at + 0.1 or bar.high < report.common_at - 0.1
            assert not aside or f"“{bar.line.name}”" in report.words
            assert not (bar.low < report.common_at - 0.1 and bar.high > report.common_at + 0.1) or (
                f"“{bar.line.name}”" not in report.words
            )
            stood_out += aside
    assert stood_out > 15


# --- Students, not cases --------------------------------------------------------------------------


def test_a_student_counts_once_with_the_first_time_that_was_shown() -> None:
    """Given until it holds, a drill would look better than it is."""
    cases = [
        Case(1, 7, None),
        Case(1, 7, "lost"),
        Case(1, 7, "held"),
        Case(1, 8, "partly"),
        Case(1, 9, None),
        Case(2, 7, "held"),
    ]
    assert tally(cases) == {1: (3, (0, 1, 1)), 2: (1, (1, 0, 0))}


def test_a_line_without_arrivals_says_so() -> None:
    assert DrillLine("Ladder", "ladder", 2, tally([Case(1, 1, None)])[1][1]).counts == "nobody yet"


# --- The page -------------------------------------------------------------------------------------


@pytest.fixture
def fault(db: None) -> Fault:
    return make_fault(make_skill(name="Weight"), name="Weight on the heels")


def give(student: Student, coach: Coach, drill: Drill, fault: Fault | None, verdict: str = "", weeks: int = 6) -> Any:
    """Give a drill in a finished lesson some weeks ago; with a verdict the next arrival, a week later, shows it."""
    lesson = make_lesson(student, coach, days_ago=7 * weeks, status="complete", completed_at=timezone.now())
    slot = student.focuses.count() + 1
    about = {"opened_in": lesson, "slot": slot, "area": "putting", "what": "" if fault else "A pencil grip"}
    focus, _ = Focus.objects.get_or_create(student=student, fault=fault, defaults=about)
    began = academy_today() - timedelta(days=7 * weeks)
    Prescription.objects.create(
        student=student, lesson=lesson, focus=focus, drill=drill, amount=10, days=14, begins=began,
        review_on=began + timedelta(days=14),
    )  # fmt: skip
    if verdict and fault:
        after = make_lesson(student, coach, days_ago=7 * weeks - 7, status="complete", completed_at=timezone.now())
        Outcome.objects.create(
            lesson=after, before=lesson, student=student, coach=coach, fault=fault, verdict=verdict,
            day=academy_today() - timedelta(days=7 * weeks - 7), days=7,
        )  # fmt: skip
    return student.prescriptions.last()


def page(client: Client, drill: Drill) -> str:
    answer = client.get(reverse("drill_holding", args=[drill.code]))
    assert answer.status_code == 200
    main = answer.content.decode().split("<main", 1)[1].split("</main>")[0]
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", main)))


def test_a_coach_counts_their_own_students_and_a_manager_all(cast: Cast, as_: Clients, fault: Fault) -> None:
    ladder, gate = make_drill("ladder", name="Ladder"), make_drill("gate", name="Gate")
    own = give(cast.student, cast.coach, ladder, fault, "held")
    own.entries.create(day=own.begins, amount=10)
    own.entries.create(day=own.begins + timedelta(days=1), amount=10, is_void=True)
    stranger = make_student("Wren Fallowfoot", coach=cast.other_coach)
    give(stranger, cast.other_coach, ladder, fault, "lost")
    give(stranger, cast.other_coach, ladder, fault, "held", weeks=3)
    give(cast.other_student, cast.other_coach, gate, fault)
    words = page(as_("coach"), ladder)
    assert "Given to 1 student of yours." in words and "1 student: 1 held, none held partly, none was lost" in words
    assert "1 of 6 sessions reported. Not reported does not mean not done." in words, "14 days at 3 a week"
    assert "No other drill was given for this fault yet" in words
    words = page(as_("manager"), ladder)
    assert "Given to 2 students." in words and "2 students: 1 held, none held partly, 1 was lost" in words
    assert "Gate 1 student Nobody yet" in words and "Cannot tell yet" in words
    assert "this is no test of a drill" in words
    for name in (cast.student.name, stranger.name, cast.other_student.name):
        assert name not in words


def test_what_was_merged_counts_with_what_it_was_merged_into(cast: Cast, as_: Clients, fault: Fault) -> None:
    ladder = make_drill("ladder", name="Ladder")
    old = make_drill("old-ladder", name="Old ladder", merged_into=ladder, archived=True)
    twin = make_fault(fault.skill, name="Heels down", merged_into=fault, archived=True)
    give(cast.student, cast.coach, old, twin, "held")
    give(make_student(coach=cast.coach), cast.coach, ladder, fault, "partly")
    for drill in (ladder, old):
        words = page(as_("coach"), drill)
        assert "2 students: 1 held, 1 held partly, none was lost" in words and "Heels down" not in words


def test_a_focus_in_own_words_is_counted_and_compared_with_nothing(cast: Cast, as_: Clients) -> None:
    ladder = make_drill("ladder", name="Ladder")
    give(cast.student, cast.coach, ladder, None)
    words = page(as_("coach"), ladder)
    assert "With 1 of them it was for a focus in a coach’s own words" in words and "pencil" not in words


def test_a_drill_that_nobody_was_given_says_so(cast: Cast, as_: Clients) -> None:
    ladder = make_drill("ladder", name="Ladder")
    assert "It was not given to a student of yours yet." in page(as_("coach"), ladder)
    assert "It was not given to any student yet." in page(as_("manager"), ladder)


def test_a_drill_of_another_coach_is_not_there(cast: Cast, as_: Clients) -> None:
    address = reverse("drill_holding", args=[make_drill("own-x", owner=cast.other_coach).code])
    assert as_("coach").get(address).status_code == 404
    assert as_("manager").get(address).status_code == 200
    assert as_("other_coach").get(address).status_code == 200
    assert as_("student").get(address).status_code == 403
    assert as_("coach").get(reverse("drill_holding", args=["no-such-drill"])).status_code == 404


def test_a_page_of_many_students_asks_few_queries(
    cast: Cast, as_: Clients, fault: Fault, django_assert_max_num_queries: Any
) -> None:
    drills = [make_drill(f"drill-of-{number}", name=f"Drill {number}") for number in range(3)]
    other = make_fault(fault.skill, name="Weight on the toes")
    for number in range(30):
        student = make_student(account=False)
        make_care(cast.coach, student)
        give(student, cast.coach, drills[number % 3], fault, "held" if number % 3 else "lost")
        give(student, cast.coach, drills[0], other, "held", weeks=2)
    client = as_("coach")
    with django_assert_max_num_queries(12):
        words = page(client, drills[0])
    assert "“Drill 0” fewer changes held than is common" in words
    assert "<svg" in client.get(reverse("drill_holding", args=[drills[0].code])).content.decode()
