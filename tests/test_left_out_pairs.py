"""What pages of pairs leave out: stills of other lessons, checkpoints and views, and archived references."""

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.loop.sheets.issue import issue_sheet
from coachbook.loop.stills.beside.focuses import sheet_pairs
from lessons.models import Alignment, Focus, FocusView, Lesson, ReferenceStill, Still
from lessons.stills.picture import clean_picture
from lessons.stills.rows import sizes_of, write_files
from tests.conftest import Cast
from tests.make import make_checkpoint, make_picture, make_picture_consent, make_still
from tests.test_left_out_stills import finished, pictures

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("media")]
Clients = Callable[[str], Client]
__all__ = ["pictures"]  # a fixture


def pair_of(lesson: Lesson, name: str = "Address", view: str = "face_on", **values: Any) -> list[Still]:
    """An arrival and a departure."""
    checkpoint = values.pop("checkpoint", None) or make_checkpoint(name)
    shows = {"checkpoint": checkpoint, "view": view, **values}
    return [make_still(lesson, moment=moment, **shows) for moment in ("arrival", "departure")]


def beside(still: Still, name: str = "stills_beside", view: str = "", checkpoint: Any = None) -> str:
    lesson = still.lesson
    key = checkpoint or still.checkpoint.key
    return reverse(name, args=[lesson.student.key, lesson.key, key, view or still.view])


def make_reference(**values: Any) -> ReferenceStill:
    picture = clean_picture(make_picture())
    words = {"checkpoint": make_checkpoint(), "view": "face_on", "side": "right"}
    row = ReferenceStill(**{**words, **values}, **sizes_of(picture))
    write_files(row, picture)
    row.save()
    return row


def test_a_pair_is_of_one_lesson_one_checkpoint_and_one_view(cast: Cast, as_: Clients) -> None:
    make_picture_consent(cast.student)
    lesson, later = finished(cast.student, cast, 7), finished(cast.student, cast)
    own = pair_of(lesson)
    for pair in (pair_of(lesson, view="down_line"), pair_of(lesson, "Top"), pair_of(later)):
        assert as_("coach").get(beside(pair[0])).context["pair"].arrival == pair[0]
    page = as_("coach").get(beside(own[0])).context["pair"]
    assert [page.arrival, page.departure] == own
    assert as_("coach").get(beside(own[0], checkpoint=uuid.uuid4())).status_code == 404
    assert as_("coach").get(beside(own[0], view="overhead")).status_code == 404
    assert as_("coach").get(beside(own[0], checkpoint=make_checkpoint("Impact").key)).status_code == 404
    listed = as_("coach").get(reverse("stills_pairs", args=[cast.student.key, lesson.key])).context["pairs"]
    assert len(listed) == 3 and {pair.latest.lesson for pair, _ in listed} == {lesson}


def test_the_pairs_are_of_the_lesson_of_this_student_at_this_address(pictures: dict[str, Still], as_: Clients) -> None:
    own, theirs = pictures["own"].lesson, pictures["another"].lesson
    earlier = pictures["earlier"].lesson
    for actor in ("coach", "guardian"):
        for lesson in (own, earlier):
            answer = as_(actor).get(reverse("stills_pairs", args=[own.student.key, lesson.key]))
            assert answer.context["lesson"] == lesson and answer.context["plain"] is (actor == "guardian")
        for key in (theirs.key, uuid.uuid4()):
            assert as_(actor).get(reverse("stills_pairs", args=[own.student.key, key])).status_code == 404


def test_a_pair_takes_no_points_of_another_and_no_archived_reference(cast: Cast, as_: Clients) -> None:
    make_picture_consent(cast.student)
    lesson = finished(cast.student, cast)
    own, other = pair_of(lesson), pair_of(lesson, view="down_line")
    points = {"arrival_points": [[10, 20], [50, 60]], "departure_points": [[10, 20], [50, 60]]}
    Alignment.objects.create(arrival=other[0], departure=other[1], **points)
    make_reference(archived=True)
    top = make_reference(checkpoint=make_checkpoint("Top"))
    page = as_("coach").get(beside(own[0])).context["pair"]
    assert page.alignment is None and page.reference is None
    shown = make_reference()
    assert as_("coach").get(beside(own[0])).context["pair"].reference == shown != top


def test_a_single_still_cannot_be_aligned(pictures: dict[str, Still], as_: Clients) -> None:
    typed = {f"{moment}_{n}_{way}": str(10 + 40 * n) for moment in ("arrival", "departure") for n in (1, 2)
             for way in ("across", "down")}  # fmt: skip
    assert as_("coach").post(beside(pictures["own"], "stills_align"), typed).status_code == 404
    assert not Alignment.objects.exists()


def test_a_pair_is_shown_for_an_open_focus_of_this_student_in_its_area(cast: Cast, as_: Clients) -> None:
    make_picture_consent(cast.student)
    lesson = finished(cast.student, cast)
    arrival, _ = pair_of(lesson)

    def focus(what: str, student: Student = cast.student, slot: int = 1, **values: Any) -> Focus:
        about = {"area": "putting", "opened_in": finished(student, cast, 3), "what": what, "slot": slot, **values}
        return Focus.objects.create(student=student, **about)

    own = focus("own-focus")
    focus("chipping-focus", slot=2, area="chipping")
    focus("closed-focus", slot=2, closed_in=lesson)
    focus("heron-focus", cast.other_student)
    form = as_("coach").get(beside(arrival)).context["focus_form"]
    assert [each.what for each in form.offered.values()] == ["own-focus"]
    as_("coach").post(beside(arrival, "stills_focus"), {"focus": own.key})
    assert FocusView.objects.get().focus == own
    for actor in ("manager", "guardian", "student"):
        assert "focus_form" not in as_(actor).get(beside(arrival)).context, actor


def test_over_time_the_family_reads_plain_words(pictures: dict[str, Still], cast: Cast, as_: Clients) -> None:
    for actor, plain in [("student", True), ("guardian", True), ("coach", False), ("manager", False)]:
        context = as_(actor).get(reverse("stills_over_time", args=[cast.student.key])).context
        assert context["plain"] is plain and len(context["rows"]) == 2, actor
        pair = as_(actor).get(beside(pictures["own"])).context
        assert pair["plain"] is plain, actor


# --- On the sheet -----------------------------------------------------------------------------------


def test_a_sheet_keeps_the_pair_of_its_own_lesson_of_stills_that_are_shown(cast: Cast) -> None:
    make_picture_consent(cast.student)
    lesson, later = finished(cast.student, cast, 7), finished(cast.student, cast)
    focus = Focus.objects.create(student=cast.student, opened_in=lesson, slot=1, area="putting", what="Soft hands")
    arrival, departure = pair_of(lesson)
    pair_of(later)
    gone = make_still(lesson, moment="arrival")
    gone.set_hidden(timezone.now())
    kept = sheet_pairs(lesson, [focus])[focus.pk]
    assert (kept.arrival, kept.departure) == (str(arrival.key), str(departure.key))


def test_a_focus_for_which_another_pair_was_chosen_leaves_this_one_to_the_next(cast: Cast) -> None:
    """What another student's coach chose for another focus leaves nothing out here."""
    make_picture_consent(cast.student)
    lesson = finished(cast.student, cast)
    arrival, _ = pair_of(lesson)
    focus, theirs = (
        Focus.objects.create(student=student, opened_in=of, slot=1, area="putting", what="Soft hands")
        for student, of in ((cast.student, lesson), (cast.other_student, finished(cast.other_student, cast)))
    )
    FocusView.objects.create(focus=theirs, checkpoint=arrival.checkpoint, view=arrival.view)
    assert focus.pk in sheet_pairs(lesson, [focus])


def test_each_focus_of_a_sheet_has_its_own_pair(cast: Cast, as_: Clients) -> None:
    make_picture_consent(cast.student)
    lesson = finished(cast.student, cast)
    pair_of(lesson)
    pair_of(lesson, checkpoint=make_checkpoint("Landing", area="chipping"))
    for slot, area in enumerate(("putting", "chipping"), 1):
        Focus.objects.create(student=cast.student, opened_in=lesson, slot=slot, area=area, what=f"{area} hands")
    sheet = issue_sheet(lesson=lesson, at=timezone.now())
    page = as_("student").get(reverse("sheet", args=[cast.student.key, sheet.key]))
    shown = [{panel.picture.checkpoint.area for panel in pair.panels} for pair in page.context["pairs"].values()]
    assert sorted(map(sorted, shown)) == [["chipping"], ["putting"]]


# --- The academy's references -----------------------------------------------------------------------


def test_a_reference_is_changed_and_archived_alone(cast: Cast, as_: Clients) -> None:
    first, second = make_reference(caption="first"), make_reference(caption="second")
    client = as_("manager")
    for row in (first, second):
        assert client.get(reverse("reference", args=[row.key])).context["reference"] == row
    assert client.get(reverse("reference", args=[uuid.uuid4()])).context["reference"] is None
    assert client.post(reverse("reference_archive", args=[uuid.uuid4()])).status_code == 404
    assert client.post(reverse("reference_archive", args=[second.key])).status_code == 302
    assert list(ReferenceStill.objects.filter(archived=True)) == [second]
    for name in ("reference_picture", "reference_thumbnail"):
        answers = [
            [as_(actor).get(reverse(name, args=[row.key])).status_code for row in (first, second)]
            for actor in ("manager", "coach", "student")
        ]
        assert answers == [[200, 200], [200, 404], [200, 404]]
    for name, args in [("references", []), ("reference_new", []), ("reference", [first.key])]:
        assert as_("coach").get(reverse(name, args=args)).status_code in (403, 404), name
