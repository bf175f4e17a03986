"""Drills are added and changed in the site: by a coach their own, by a manager those of the academy."""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.http import QueryDict
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from drills.library.editing.editor import DrillEditor
from drills.library.editing.save import FIELDS
from drills.library.editing.words import as_wording, put_in_brackets
from drills.load import load_drills
from drills.models import Drill, Fit
from lessons.models import Fault, Focus
from tests.conftest import Cast
from tests.crawl import Reader
from tests.library import load_library
from tests.make import academy_today, make_drill, make_fault, make_lesson, make_prescription, make_skill

Clients = Callable[[str], Client]
NEW = reverse("drill_new") + "?area=putting"
FRAME = {"drawing-left": "-50", "drawing-bottom": "-50", "drawing-right": "150", "drawing-top": "50"}
DRAWING = {
    "drawing-view": "top", **FRAME, "drawing-words": "A ball at your [lead] foot, and a hole.",
    "pieces-0-piece": "ball", "pieces-0-x": "0", "pieces-0-y": "0",
    "pieces-1-piece": "hole", "pieces-1-x": "100", "pieces-1-y": "0,5",
}  # fmt: skip
OWN = {
    "name": "Quiet roll", "purpose": "Your [lead] wrist stays steady.", "equipment": "three balls",
    "setup": "Stand 1 m from a hole.", "steps": "Look at the hole.\n\nRoll a ball.\n", "feel": "Slow.",
    "mark": "8 of 10 in.", "tip": "Look once more.", "caution": "Nobody in front.", "game": "Ten goals.",
    "child_minutes": "5", "kind": "feel", "schedule": "blocked", "places": ["green"], "items": ["tees"],
    "other_items": "Spoon, tees", "minutes": "10", "dose_amount": "20", "dose_unit": "balls", "dose_per_week": "3",
    "dose_days": "30", **DRAWING,
}  # fmt: skip


def typed_in(editor: DrillEditor, edition: str = "") -> dict[str, Any]:
    """What a browser would send of a page."""
    forms = (*editor.forms, editor.drawing.pieces.management_form)
    fields = [field for form in forms for field in form]
    return {"edition": edition} | {
        field.html_name: field.value() for field in fields if field.value() is not None and field.value() is not False
    }


def on_page(client: Client, page: str, **values: Any) -> dict[str, Any]:
    context = client.get(page).context
    return typed_in(context["editor"], context["edition"]) | values


def text_of(answer: Any) -> str:
    return Reader(answer.content.decode()).text


@pytest.fixture
def fault(cast: Cast) -> Fault:
    return make_fault(make_skill(), "too-fast", name="Too fast")


def add_own(client: Client, **values: Any) -> Drill:
    """A drill that a coach adds."""
    assert client.post(NEW, on_page(client, NEW, **OWN) | values).status_code == 302
    return Drill.objects.latest("pk")


# --- Adding and changing --------------------------------------------------------------------------


@pytest.mark.history
def test_a_coach_adds_a_drill_of_their_own(cast: Cast, as_: Clients, fault: Fault) -> None:
    drill = add_own(as_("coach"), **{"fit-too-fast": "first"})
    assert (drill.owner, drill.code, drill.edition) == (cast.coach, "own-quiet-roll", 1)
    assert drill.purpose == "Your {lead} wrist stays steady." and drill.steps == ["Look at the hole.", "Roll a ball."]
    assert drill.items == ["tees", "spoon"] and drill.places == ["green"]
    assert drill.drawing["frame"] == [-50, -50, 150, 50] and drill.drawing["words"].startswith("A ball at your {lead}")
    assert drill.drawing["pieces"][1] == {"piece": "hole", "x": 100, "y": 0.5}
    fit = drill.fits.get()
    assert (fit.fault, fit.is_first, fit.is_wrong) == (fault, True, False)
    assert drill.history.get().history_user == cast.coach.user == fit.history.get().history_user
    assert "left wrist" in text_of(as_("coach").get(reverse("drill", args=[drill.code]) + "?side=right"))


@pytest.mark.history
def test_every_save_is_an_edition_with_its_history(cast: Cast, as_: Clients, fault: Fault) -> None:
    drill = add_own(as_("coach"), **{"fit-too-fast": "mends"})
    page = reverse("drill_edit", args=[drill.code])
    for values, edition in (({"feel": "Slower."}, 2), ({"fit-too-fast": "wrong"}, 3), ({"pieces-1-DELETE": "on",
                            "pieces-2-piece": "tee", "pieces-2-x": "9", "pieces-2-y": "9"}, 4), ({}, 4)):  # fmt: skip
        assert as_("coach").post(page, on_page(as_("coach"), page, **values)).status_code == 302
        drill.refresh_from_db()
        assert drill.edition == edition, values
        assert drill.history.count() == edition
    assert drill.fits.get().is_wrong and drill.fits.get().history.count() == 2
    assert [piece["piece"] for piece in drill.drawing["pieces"]] == ["ball", "tee"]
    assert as_("coach").post(page, on_page(as_("coach"), page, **{"fit-too-fast": ""})).status_code == 302
    assert not drill.fits.exists() and Fit.history.count() == 3  # type: ignore[attr-defined]  # simple-history


def test_a_copy_begins_with_everything_but_the_name(cast: Cast, as_: Clients, fault: Fault) -> None:
    source = make_drill("putting-gate", name="Gate", items=["coin"], places=["green"], drawing={})
    Fit.objects.create(drill=source, fault=fault, is_wrong=True)
    page = reverse("drill_new") + "?copy=putting-gate"
    typed = on_page(as_("coach"), page, name="My gate")
    assert as_("coach").post(page, typed).status_code == 302
    copy = Drill.objects.get(name="My gate")
    assert copy.items == ["coin"] and copy.owner == cast.coach and copy.fits.get().is_wrong
    private = make_drill("own-secret", owner=cast.other_coach)
    assert as_("coach").get(reverse("drill_new") + f"?copy={private.code}").status_code == 404


def test_a_manager_adds_and_changes_drills_of_the_academy(cast: Cast, as_: Clients, fault: Fault) -> None:
    assert add_own(as_("manager")).owner is None
    drill = make_drill("putting-gate", name="Gate", places=["green"])
    page = reverse("drill_edit", args=[drill.code])
    assert as_("manager").post(page, on_page(as_("manager"), page, name="The gate")).status_code == 302
    assert as_("coach").get(page).status_code == 403 == as_("coach").post(page).status_code
    drill.refresh_from_db()
    assert drill.name == "The gate"


def test_a_drill_that_ships_can_be_opened_and_saved_as_it_is(cast: Cast) -> None:
    load_library()
    rows = list(Drill.objects.filter(archived=False).prefetch_related("fits__fault"))
    assert len(rows) > 30
    for drill in rows[::4]:
        if not drill.places:
            continue
        before, fits = {name: getattr(drill, name) for name in FIELDS}, list(drill.fits.all())
        data = QueryDict(mutable=True)
        for name, value in typed_in(DrillEditor(None, drill, fits)).items():
            data.setlist(name, value if isinstance(value, list) else [value])
        editor = DrillEditor(data, drill, fits)
        assert editor.is_valid(), (drill.code, [field.errors for field in editor.visible_fields() if field.errors])
        assert {name: getattr(drill, name) for name in FIELDS} == before and editor.description == drill.drawing
        assert not editor.fits.changed_data


def test_a_new_version_leaves_alone_which_faults_the_academy_chose(cast: Cast, as_: Clients) -> None:
    load_library()
    drill = Drill.objects.filter(archived=False, fits__is_wrong=False)[0]
    code = drill.fits.filter(is_wrong=False)[0].fault.code
    page = reverse("drill_edit", args=[drill.code])
    typed = on_page(as_("manager"), page, **{f"fit-{code}": "wrong"})
    assert as_("manager").post(page, typed | {"places": ["green"]}).status_code == 302
    load_drills()
    assert drill.fits.get(fault__code=code).is_wrong


# --- Bad input ------------------------------------------------------------------------------------

BAD: list[tuple[dict[str, Any], str]] = [
    ({"steps": " \n"}, "Write at least one step."),
    ({"steps": "One.\n" + "x" * 301}, "Step 2: Ensure this value has at most 300 characters"),
    ({"name": "GATÉ"}, "There is already a drill with this name."),
    ({"name": "a drill of mine"}, "There is already a drill with this name."),
    ({"feel": "Your [led] hand"}, "“[led]” is not known."),
    ({"feel": "Your {trial} hand"}, "“{trial}” is not known."),
    ({"feel": "Your [lead hand"}, "A bracket stands alone."),
    ({"steps": "Look.\nRoll } it."}, "Step 2: A bracket stands alone."),
    ({"tip": "Hold with the lead hand."}, "reads “lead” as it stands"),
    ({"steps": "Look.\nStep to the left."}, "reads “left” as it stands"),
    ({"minutes": "0"}, "Type a whole number from 1 to 120."),
    ({"dose_days": "many"}, "Type a whole number from 1 to 365."),
    ({"child_minutes": ""}, "Say how many minutes a child plays it."),
    ({"places": []}, "Choose at least one place."),
    ({"other_items": "x" * 31}, "is too long: 30 letters at most."),
    ({"pieces-0-x": "400"}, "Piece 1, x: This is outside the frame, which goes from -50 to 150 cm."),
    ({"pieces-0-x": "near"}, "Piece 1, x: Write a number."),
    ({"pieces-1-piece": ""}, "Piece 2, piece: Choose a piece"),
    ({"pieces-1-size": "4"}, "Piece 2, size: A hole has no such field."),
    ({"pieces-1-DELETE": "on"}, "A drawing needs at least 2 pieces."),
    ({"drawing-right": "-40"}, "The frame is 10 cm wide"),
    ({"drawing-words": ""}, "Write the words."),
    ({"drawing-view": ""}, "Choose how the drawing is seen"),
    ({"pieces-TOTAL_FORMS": "99"}, "at most"),
    ({"pieces-TOTAL_FORMS": "x"}, "ManagementForm"),
]


def test_bad_input_has_a_message_and_loses_nothing(cast: Cast, as_: Clients, fault: Fault) -> None:
    make_drill(name="Gate")
    make_drill("own-mine", name="A drill of mine", owner=cast.coach)
    make_drill("own-theirs", name="Quiet roll", owner=cast.other_coach)  # which this coach does not see
    make_drill(name="Quiet roll", area="chipping")
    client = as_("coach")
    good = on_page(client, NEW, **OWN)
    for values, message in BAD:
        answer = client.post(NEW, good | values)
        assert answer.status_code == 422, values
        assert message in text_of(answer), (values, text_of(answer))
        shown = answer.content.decode()
        assert "Your [lead] wrist stays steady." in shown and "Ten goals." in shown
        for value in values.values():
            for line in str(value).split("\n") if isinstance(value, str) else ():
                assert line.strip() in shown, values
    assert Drill.objects.count() == 4
    assert client.post(NEW, good).status_code == 302, "it was all right without"


def test_a_side_without_brackets_may_be_meant_or_put_in_brackets(cast: Cast, as_: Clients) -> None:
    client = as_("coach")
    typed = on_page(client, NEW, **OWN | {"tip": "The lead hand, not the [trail] one.", "steps": "Lead with it."})
    assert "Put lead and trail in brackets" in text_of(client.post(NEW, typed))
    answer = client.post(NEW, typed | {"brackets": "1"})
    assert answer.status_code == 200 and not Drill.objects.exists()
    assert "The [lead] hand, not the [trail] one." in answer.content.decode()
    assert "[Lead] with it." in answer.content.decode()
    assert client.post(NEW, typed | {"is_meant": "on"}).status_code == 302
    assert Drill.objects.get().tip == "The lead hand, not the {trail} one."


def test_brackets_and_markers_are_the_same_to_whoever_types_them() -> None:
    assert as_wording("[Lead] and {trail}, [ open ]") == "{Lead} and {trail}, {open}"
    assert put_in_brackets("Lead, {lead}, [trail] and trail; leader") == "[Lead], {lead}, [trail] and [trail]; leader"


@pytest.mark.history
def test_the_second_of_two_who_change_a_drill_sees_both_versions(cast: Cast, as_: Clients) -> None:
    drill = make_drill("putting-gate", name="Gate", places=["green"], feel="Calm.", tip="Old.")
    page = reverse("drill_edit", args=[drill.code])
    first, second = (
        on_page(as_("manager"), page, **{name: words}) for name, words in (("feel", "Soft."), ("tip", "New."))
    )
    assert as_("manager").post(page, first).status_code == 302
    answer = as_("manager").post(page, second)
    words = text_of(answer)
    assert answer.status_code == 422 and cast.manager.name in words and "Save this page instead" in words
    assert {(row.label, row.stored, row.typed) for row in answer.context["differences"]} == {
        ("Feel", "Soft.", "Calm."), ("Tip", "Old.", "New.")
    }  # fmt: skip
    drill.refresh_from_db()
    assert (drill.feel, drill.tip, drill.edition) == ("Soft.", "Old.", 1)
    again = typed_in(answer.context["editor"], answer.context["edition"])
    assert as_("manager").post(page, again).status_code == 302
    drill.refresh_from_db()
    assert (drill.feel, drill.tip, drill.edition) == ("Calm.", "New.", 2)


# --- The preview ----------------------------------------------------------------------------------


def test_a_preview_shows_both_sides_and_stores_nothing(cast: Cast, as_: Clients) -> None:
    client = as_("coach")
    typed = on_page(client, NEW, **OWN) | {"preview": "1", "mark": ""}
    for headers in ({}, {"HX-Request": "true"}):
        with CaptureQueriesContext(connection) as asked:
            answer = client.post(NEW, typed, headers=headers)
        shown = answer.content.decode()
        assert answer.status_code == 200 and len(asked) <= 12
        assert "Your left wrist stays steady." in shown and "Your right wrist stays steady." in shown
        assert shown.count("Ten goals.") >= 2 and shown.count("<svg") == 2
        assert ("<form" in shown) == (not headers)
    assert not Drill.objects.exists()


def test_a_piece_outside_its_frame_is_said_beside_its_row_while_somebody_types(cast: Cast, as_: Clients) -> None:
    typed = on_page(as_("coach"), NEW, **OWN) | {"preview": "1", "pieces-1-y": "60"}
    shown = as_("coach").post(NEW, typed, headers={"HX-Request": "true"}).content.decode()
    row = shown.split('id="pieces-1-problems" hx-swap-oob="true"')[1].split("</div>")[0]
    assert "This is outside the frame, which goes from -50 to 50 cm." in row and "<svg" not in shown
    assert "outside" not in shown.split('id="pieces-0-problems"')[1].split("</div>")[0]


# --- In use, archived, offered --------------------------------------------------------------------


def test_a_drill_in_use_is_archived_and_stays_with_whoever_has_it(cast: Cast, as_: Clients, fault: Fault) -> None:
    drill = make_drill("own-roll", name="Quiet roll", owner=cast.coach, offered_at=timezone.now())
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())
    focus = Focus.objects.create(student=cast.student, opened_in=lesson, slot=1, area="putting", fault=fault)
    make_prescription(lesson, focus, drill=drill, begins=academy_today())
    answer = as_("coach").post(reverse("row_archive", args=["drill", drill.code]), follow=True)
    drill.refresh_from_db()
    assert drill.archived and drill.offered_at is None and "Archived: Quiet roll" in text_of(answer)
    assert drill not in Drill.offered_to(cast.coach)
    assert "Quiet roll" in text_of(as_("student").get(reverse("today", args=[cast.student.key])))
    assert as_("student").get(reverse("drill", args=[drill.code])).status_code == 200
    other = make_drill(name="quiet roll")
    answer = as_("coach").post(reverse("row_restore", args=["drill", drill.code]), follow=True)
    assert "Another has this name by now" in text_of(answer)
    other.delete()
    as_("coach").post(reverse("row_restore", args=["drill", drill.code]))
    assert drill in Drill.offered_to(cast.coach)


def test_what_was_merged_is_not_brought_back(cast: Cast, as_: Clients) -> None:
    kept = make_drill(name="Gate")
    drill = make_drill(name="Narrow gate", archived=True, merged_into=kept)
    answer = as_("manager").post(reverse("row_restore", args=["drill", drill.code]), follow=True)
    drill.refresh_from_db()
    assert drill.archived and "merged into Gate" in text_of(answer)


def test_a_coach_offers_a_drill_and_takes_the_offer_back(cast: Cast, as_: Clients) -> None:
    drill = make_drill("own-roll", name="Quiet roll", owner=cast.coach)
    as_("coach").post(reverse("row_offer", args=["drill", drill.code]))
    drill.refresh_from_db()
    assert drill.offered_at and drill.owner == cast.coach
    assert "offered to the academy" in text_of(as_("manager").get(reverse("drills") + "?whose=coaches"))
    as_("coach").post(reverse("row_keep", args=["drill", drill.code]))
    drill.refresh_from_db()
    assert drill.offered_at is None
    academys = make_drill(name="Gate")
    assert as_("manager").post(reverse("row_offer", args=["drill", academys.code])).status_code == 403
