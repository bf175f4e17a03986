"""Measuring in a still: kept once beside the picture, entered as the measure of a skill, taken away and put back."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.corrections.edits import edits_of, undo_edit
from coachbook.rights.erasure.carry_out import erase_student
from lessons.models import Lesson, Look, Observation, SeenFault, Skill, Still, StillMeasure
from lessons.stills.erasing import erase_stills
from tests.conftest import Cast
from tests.library import load_library
from tests.make import fresh_key, make_lesson, make_look, make_picture, make_picture_consent, make_skill, make_still

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("media")]
Clients = Callable[[str], Client]

STANCE = "putting-stance-width"
# In a picture of 480 x 640: 150 px beside a putter of 290 px and 87 cm, so 45 cm.
POINTS = {"x0": "100", "y0": "520", "x1": "250", "y1": "520", "x2": "330", "y2": "240", "x3": "330", "y3": "530"}
SENT = {"kind": "length", "known_cm": "87 cm", **POINTS}


@pytest.fixture
def still(cast: Cast) -> Still:
    load_library()
    make_picture_consent(cast.student)
    return make_still(make_lesson(cast.student, cast.coach), data=make_picture())


def address(name: str, still: Still, *more: Any) -> str:
    return reverse(name, args=[still.lesson.student.key, still.lesson.key, still.key, *more])


def keep(client: Client, still: Still, key: Any = None, **sent: str) -> Any:
    return client.post(address("still_measure", still, key or fresh_key()), {**SENT, **sent})


def stored(still: Still, code: str = STANCE) -> Observation | None:
    return Observation.objects.filter(look__lesson=still.lesson, skill__code=code).select_related("look").first()


def test_what_is_measured_is_kept_once_and_entered_in_the_log(still: Still, as_: Clients) -> None:
    """The value by hand: 150 / 290 · 87 cm = 45 cm."""
    client, key = as_("coach"), fresh_key()
    for _ in range(2):
        answer = keep(client, still, key, skill=STANCE)
        assert answer.status_code == 302 and answer["Location"].startswith(address("still_measures", still))
    row = StillMeasure.objects.get()
    assert row.value == pytest.approx(45) and row.points[0] == [100.0, 520.0]
    observation = stored(still)
    assert observation and observation.read_from == row and observation.look.kind == "arrival"
    assert observation.measure == row.for_skill and abs(observation.measure - 45) <= 1
    assert observation.look.means == "film" and observation.verdict == "not_graded"
    page = client.get(address("still_measures", still)).content.decode()
    assert f"Stance width: <strong>{row.shown.text}</strong>" in page and row.shown.range in page
    assert 'class="mark" d="M100.0 520.0L250.0 520.0"' in page


def test_the_log_and_the_record_say_that_it_was_read_from_the_picture(still: Still, as_: Clients) -> None:
    client = as_("coach")
    keep(client, still, skill=STANCE)
    lesson = still.lesson
    log = reverse("lesson", args=[lesson.student.key, lesson.key])
    assert "Read from the picture. To about 2 cm." in client.get(log).content.decode()
    Lesson.objects.filter(pk=lesson.pk).update(status="complete", completed_at=lesson.session.starts_at)
    assert "cm, read from the picture" in client.get(log).content.decode()


def test_a_number_typed_over_it_was_not_read_from_the_picture(still: Still, as_: Clients) -> None:
    client = as_("coach")
    keep(client, still, skill=STANCE)
    observation = stored(still)
    assert observation
    log = reverse("lesson", args=[still.lesson.student.key, still.lesson.key])
    lesson = Lesson.objects.get()
    typed = {"putting": "on", "base": str(lesson.version), "page": str(fresh_key()), "count": "1"}
    same = {**typed, f"a.{STANCE}.measure": str(observation.measure.normalize()), f"a.{STANCE}.words": "Fine."}
    client.post(log, same)
    assert (found := stored(still)) and found.read_from and found.words == "Fine.", "an edit beside it leaves it"
    client.post(log, {**same, "count": "2", f"a.{STANCE}.measure": "38"})
    assert (found := stored(still)) and (found.measure, found.read_from) == (Decimal(38), None)


def test_what_was_logged_of_the_skill_stays(still: Still, as_: Clients) -> None:
    skill = Skill.objects.get(code=STANCE)
    look = make_look(still.lesson)
    said = {"verdict": "not_good", "words": "Too wide.", "reader": "academy", "measure": 40}
    before = Observation.objects.create(look=look, skill=skill, **said)
    SeenFault.objects.create(observation=before, fault=skill.faults.first(), degree="clear")
    client = as_("coach")
    keep(client, still, skill=STANCE)
    page = client.get(address("still_measures", still)).content.decode()
    assert "Entered in the log, on arrival, in place of 40 cm." in page
    after = stored(still)
    assert after and (after.pk, after.verdict, after.words, after.reader) == (
        before.pk,
        "not_good",
        "Too wide.",
        "academy",
    )
    assert after.seen_faults.get().degree == "clear" and after.measure != 40


def test_a_log_that_is_open_elsewhere_is_asked_before_it_overwrites_the_number(still: Still, as_: Clients) -> None:
    client = as_("coach")
    log = reverse("lesson", args=[still.lesson.student.key, still.lesson.key])
    first_page = {"putting": "on", "base": str(Lesson.objects.get().version), "page": str(fresh_key()), "count": "1"}
    client.post(log, {**first_page, f"a.{STANCE}.good": "on"})
    keep(client, still, skill=STANCE)
    answer = client.post(log, {**first_page, "count": "2", f"a.{STANCE}.good": "on"})
    assert answer.status_code == 422 and (found := stored(still)) and found.measure is not None


def test_taken_away_and_put_back(still: Still, as_: Clients) -> None:
    client = as_("coach")
    keep(client, still, skill=STANCE)
    row = StillMeasure.objects.get()
    page = client.post(address("still_measure_void", still, row.key), follow=True).content.decode()
    assert "Taken away: Stance width" in page and "Put back" in page
    assert stored(still) is None and not Look.objects.exists(), "the number went with it"
    client.post(address("still_measure_restore", still, row.key))
    assert (found := stored(still)) and found.read_from == row
    client.post(address("still_measure_void", still, row.key))
    look = make_look(still.lesson)
    Observation.objects.create(look=look, skill=row.skill, verdict="not_graded", measure=40)
    page = client.post(address("still_measure_restore", still, row.key), follow=True).content.decode()
    assert "Another number stands there now" in page
    row.refresh_from_db()
    assert row.voided_at and (found := stored(still)) and found.measure == 40


def test_outside_the_limits_it_is_asked_about_and_kept_by_a_tick(still: Still, as_: Clients) -> None:
    """The library asks about a stance of more than 80 cm; 250 / 290 · 87 cm = 75 cm, with 100 cm 86."""
    client = as_("coach")
    wide = {"skill": STANCE, "x0": "20", "x1": "270", "known_cm": "100"}
    answer = keep(client, still, **wide)
    html = answer.content.decode()
    assert answer.status_code == 422 and "is more than most (5 to 80 cm)" in html and not StillMeasure.objects.exists()
    asked = answer.context["form"].asked
    assert f'name="keep_anyway" value="{asked}"' in html and 'value="20"' in html, "nothing typed is lost"
    assert keep(client, still, **wide, keep_anyway=asked).status_code == 302
    assert (found := stored(still)) and found.skill.measured.value(found.measure) == asked


def test_units_and_signs(still: Still, as_: Clients) -> None:
    """A centimetre is 10 mm; a skill with numbers on both sides of 0 says on which side this one lies."""
    client = as_("coach")
    values = {"measure_low": -500, "measure_high": 500, "measure_step": 1, "measure": "strike"}
    skill = make_skill(measure_unit="mm", **values)
    seconds = make_skill(measure_unit="s", **{**values, "measure": "finish held"})
    keep(client, still, skill=skill.code, below_zero="on")
    found, row = stored(still, skill.code), StillMeasure.objects.get()
    assert found and found.measure == -10 * row.shown.value
    assert keep(client, still, skill=seconds.code).status_code == 422, "no length is a time"
    answer = keep(client, still, skill=STANCE, below_zero="on")
    assert answer.status_code == 422 and "This is never below 0." in answer.content.decode()


def test_a_finished_lesson_has_no_departure_without_an_arrival(still: Still, as_: Clients) -> None:
    client, lesson = as_("coach"), still.lesson
    Lesson.objects.filter(pk=lesson.pk).update(status="complete", completed_at=lesson.session.starts_at)
    Still.objects.update(moment="departure")
    answer = keep(client, still, skill=STANCE)
    assert answer.status_code == 422 and "not looked at on arrival" in answer.content.decode()
    assert not StillMeasure.objects.exists() and stored(still) is None
    assert keep(client, still).status_code == 302, "beside the picture it may stay"


WRONG = [
    ({"x0": ""}, "Place this point, or type its two numbers."),
    ({"x0": "481"}, "A point lies in the picture: 480 at most."),
    ({"y0": "-1"}, "A point lies in the picture: 0 or more."),
    ({"x0": "NaN"}, "Type a number of pixels."),
    ({"x0": "left"}, "Type a number of pixels."),
    ({"x1": "100", "y1": "520"}, "at least 10 pixels from each other"),
    ({"y2": "500"}, "The known length is at least 40 pixels long"),
    ({"known_cm": ""}, "Type the known length."),
    ({"known_cm": "3 feet"}, "Type a length, such as 86 cm or 34 in."),
    ({"known_cm": "2"}, "from 5 to 300 cm"),
    ({"skill": "no-skill"}, "Select a valid choice"),
    ({"name": "x" * 41}, "at most 40 characters"),
]


def test_what_cannot_be_measured_is_refused_beside_its_field_and_nothing_is_lost(still: Still, as_: Clients) -> None:
    client = as_("coach")
    for sent, why in WRONG:
        answer = keep(client, still, **sent)
        html = answer.content.decode()
        assert answer.status_code == 422 and why in html, sent
        assert 'value="250"' in html or "x1" in sent
    edge = {f"x{n}": "300" for n in range(2, 7)} | {f"y{n}": "300" for n in range(2, 7)}
    ball = keep(client, still, kind="ball", **edge)
    assert ball.status_code == 422 and "edge of the ball" in ball.content.decode()
    half = keep(client, still, kind="ball", **{**edge, "x7": "20"})
    assert half.status_code == 422 and "Each point needs both of its numbers." in half.content.decode()
    assert not StillMeasure.objects.exists()


def test_compute_only_keeps_nothing(still: Still, as_: Clients) -> None:
    answer = keep(as_("coach"), still, compute="1")
    assert answer.status_code == 200 and answer.context["form"].shown.text in answer.content.decode()
    assert not StillMeasure.objects.exists()


def test_inches_and_the_length_of_the_putter(still: Still, as_: Clients) -> None:
    """An inch is 2.54 cm exactly (international yard and pound agreement of 1959): 34 in are 86.36 cm."""
    student = still.lesson.student
    type(student).objects.filter(pk=student.pk).update(putter_length=Decimal(34))
    client = as_("coach")
    assert 'value="86.36 cm"' in client.get(address("still_measures", still)).content.decode()
    keep(client, still, known_cm="34 in")
    assert StillMeasure.objects.get().known_cm == Decimal("86.36")


def test_each_kind_has_a_page_within_twelve_queries(
    still: Still, as_: Clients, django_assert_max_num_queries: Any
) -> None:
    client = as_("coach")
    for name in ("", "left shoulder"):
        keep(client, still, name=name)
    keep(client, still, skill=STANCE)
    for kind in ("angle", "upright", "length", "ball", "ratio", "nonsense"):
        with django_assert_max_num_queries(12):
            assert client.get(address("still_measures", still), {"kind": kind}).status_code == 200
    with django_assert_max_num_queries(12):
        page = client.get(address("still", still)).content.decode()
    assert page.count('class="mark-number"') == 3 and "Left shoulder" in page


def test_what_was_measured_of_several_stills_in_one_query(
    still: Still, as_: Clients, django_assert_num_queries: Any
) -> None:
    other = make_still(still.lesson)
    keep(as_("coach"), still, skill=STANCE)
    with django_assert_num_queries(1):
        found = StillMeasure.objects.by_still([still, other])
        assert [str(row) for row in found[still.pk]] == [f"Stance width: {found[still.pk][0].shown.text}"]
    assert found[other.pk] == []


def test_a_still_of_another_moment_takes_its_numbers_along(still: Still, as_: Clients) -> None:
    client = as_("coach")
    keep(client, still, skill=STANCE)
    shows = {"checkpoint": str(still.checkpoint_id), "view": still.view, "club": "", "caption": ""}
    assert client.post(address("still_change", still), {**shows, "moment": "departure"}).status_code == 302
    found = stored(still)
    assert found and found.look.kind == "departure" and found.read_from
    Observation.objects.create(look=make_look(still.lesson), skill=found.skill, verdict="not_graded", measure=40)
    answer = client.post(address("still_change", still), {**shows, "moment": "arrival"})
    assert answer.status_code == 422 and "Another number stands there now" in answer.content.decode()
    assert Still.objects.get().moment == "departure"


def test_a_still_that_is_erased_leaves_the_number_and_nothing_of_the_picture(still: Still, as_: Clients) -> None:
    keep(as_("coach"), still, skill=STANCE)
    erase_stills([still])
    assert (found := stored(still)) and found.measure is not None and found.read_from_id is None
    assert not StillMeasure.objects.exists() and not StillMeasure.history.exists()
    assert not Observation.history.exclude(read_from=None).exists()


def test_in_a_finished_lesson_it_is_an_edit_that_can_be_undone(still: Still, as_: Clients, cast: Cast) -> None:
    lesson = still.lesson
    Lesson.objects.filter(pk=lesson.pk).update(status="complete", completed_at=lesson.session.starts_at)
    keep(as_("coach"), still, skill=STANCE)
    [edit] = edits_of(Lesson.objects.get())
    assert edit.by == cast.coach.user.name
    undo_edit(lesson=lesson, edit=edit, by=cast.coach.user)
    assert stored(still) is None and StillMeasure.objects.get().voided_at is None, "the picture keeps its marks"


def test_a_student_is_erased_with_what_was_measured(still: Still, as_: Clients) -> None:
    keep(as_("coach"), still, skill=STANCE)
    erase_student(still.lesson.student, timezone.now())
    assert not StillMeasure.history.exists() and not Observation.history.exists() and not Still.objects.exists()


def test_the_family_reads_what_was_measured_and_changes_nothing(still: Still, as_: Clients) -> None:
    keep(as_("coach"), still, name="{lead} knee")
    Lesson.objects.update(status="complete", completed_at=still.lesson.session.starts_at)
    page = as_("student").get(address("still", still)).content.decode()
    assert "Left knee: <strong>" in page and "Take away" not in page and ">Measure<" not in page
