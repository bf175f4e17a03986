"""Stills beside each other: on their page, in the record, on the sheet and in its PDF, and over time."""

import base64
import io
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pikepdf
import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from coachbook.accounts.models import Academy
from coachbook.loop.sheets.content import SheetPair, content_from
from coachbook.loop.sheets.issue import issue_sheet, share_token
from coachbook.loop.sheets.views import pdf_of
from coachbook.loop.stills.beside.focuses import drawn_pairs
from coachbook.loop.stills.beside.gather import in_the_document
from lessons.models import Alignment, Checkpoint, Focus, FocusView, Lesson, ReferenceStill, Still
from lessons.stills.picture import clean_picture
from lessons.stills.rows import sizes_of, write_files
from tests.conftest import Cast
from tests.make import (
    academy_today,
    fresh_key,
    make_checkpoint,
    make_fault,
    make_lesson,
    make_picture,
    make_picture_consent,
    make_skill,
    make_still,
)

Clients = Callable[[str], Client]
pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("media")]
POINTS = {"arrival_1": (20, 80), "arrival_2": (70, 80), "departure_1": (30, 70), "departure_2": (55, 70)}
WAYS = ("across", "down")
TYPED = {f"{name}_{WAYS[place]}": str(point[place]) for name, point in POINTS.items() for place in (0, 1)}
HOW = "Address, face-on, how it should look: Eyes over the ball"
MIRRORED = "(Mirrored for a left-side player: it was taken of a right-side player)"


def make_reference(side: str = "right", club: str = "", **values: Any) -> ReferenceStill:
    picture = clean_picture(make_picture())
    checkpoint = values.pop("checkpoint", None) or make_checkpoint()
    row = ReferenceStill(checkpoint=checkpoint, view="face_on", side=side, club=club, **sizes_of(picture), **values)
    write_files(row, picture)
    row.save()
    return row


@pytest.fixture
def lesson(cast: Cast) -> Lesson:
    """A finished lesson with an arrival and a departure of the address, and one focus."""
    make_picture_consent(cast.student)
    done: dict[str, Any] = {"status": "complete", "completed_at": timezone.now()}
    cast.student.putting_side = "left"
    lesson = make_lesson(cast.student, cast.coach, **done)
    fault = make_fault(make_skill())
    Focus.objects.create(student=cast.student, opened_in=lesson, slot=1, area="putting", fault=fault)
    make_still(lesson, moment="arrival", caption="Ball too far up")
    make_still(lesson, moment="departure", data=make_picture(640, 480))
    return lesson


def pair_address(lesson: Lesson, name: str = "stills_beside") -> str:
    return reverse(name, args=[lesson.student.key, lesson.key, make_checkpoint().key, "face_on"])


def still(moment: str) -> Still:
    return Still.objects.get(moment=moment)


def text(page: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.content.decode().split("<main")[1]))


# --- The page of a pair ---------------------------------------------------------------------------


def test_arrival_stands_left_departure_right_and_how_it_should_look_beside_them(lesson: Lesson, as_: Clients) -> None:
    make_reference(caption="Eyes over the ball")
    html = as_("coach").get(pair_address(lesson)).content.decode()
    panels = re.findall(r'<figcaption>(.*?)</figcaption>\s*<svg[^>]*aria-label="(.*?)"', html)
    assert panels == [
        ("Arrival", "Address, face-on, on arrival: Ball too far up"),
        ("Departure", "Address, face-on, on departure"),
        ("How it should look", f"{HOW} {MIRRORED}"),
    ]
    assert "matrix(-1 0 0 1 480 0)" in html  # the reference in a mirror
    assert reverse("still_picture", args=[lesson.student.key, lesson.key, still("arrival").key]) in html
    for actor in ("student", "guardian"):
        words = text(as_(actor).get(pair_address(lesson)))
        assert "Address, seen from the front" in words and "fault" not in words.lower() and "Align" not in words


def test_points_that_are_typed_bring_both_to_one_scale(lesson: Lesson, as_: Clients) -> None:
    page = as_("coach").get(pair_address(lesson))
    assert "Not aligned" in page.content.decode()
    for _ in range(2):  # the same again is still one row
        answer = as_("coach").post(pair_address(lesson, "stills_align"), TYPED)
        assert answer.status_code == 302 and answer["Location"] == pair_address(lesson)
    assert Alignment.objects.get().arrival_points == [[20, 80], [70, 80]]
    html = as_("coach").get(pair_address(lesson)).content.decode()
    # 50 % of 480 pixels against 25 % of 640: one and a half times; then 30 % of 640 lies at 20 % of 480.
    assert "matrix(1.5 0 0 1.5 -192 8)" in html and "Not aligned" not in html
    assert 'name="arrival_1_across" value="20' in html or 'value="20.0" ' in html


def test_points_that_make_no_sense_are_refused_beside_the_field_and_nothing_is_lost(
    lesson: Lesson, as_: Clients
) -> None:
    for change, words in (
        ({"arrival_2_across": "21"}, "too close"),
        ({"departure_1_down": ""}, "Type a number"),
        ({"arrival_1_down": "101"}, "less than or equal to 100"),
        ({"arrival_1_down": "nan"}, "number"),
    ):
        answer = as_("coach").post(pair_address(lesson, "stills_align"), TYPED | change)
        assert answer.status_code == 422 and words in answer.content.decode(), change
        assert 'value="55"' in answer.content.decode()
    assert not Alignment.objects.exists()


def test_the_wipe_is_a_form_without_a_script(lesson: Lesson, as_: Clients) -> None:
    for asked, place in (("?wipe=30", 30), ("", 50), ("?wipe=999", 100), ("?wipe=x", 50), ("?wipe=-4", 50)):
        html = as_("student").get(pair_address(lesson) + asked).content.decode()
        assert f'<rect x="{place}%"' in html and f'<line x1="{place}%"' in html, asked


def test_without_a_departure_there_is_no_wipe_and_nothing_to_align(lesson: Lesson, as_: Clients) -> None:
    still("departure").set_hidden(timezone.now())
    html = as_("coach").get(pair_address(lesson)).content.decode()
    assert "There is no picture of the departure yet." in html and 'id="wiped"' not in html
    assert as_("coach").post(pair_address(lesson, "stills_align"), TYPED).status_code == 404


def test_the_page_is_no_way_round_the_gate_or_a_consent(lesson: Lesson, as_: Clients) -> None:
    other = make_lesson(lesson.student, lesson.session.coach, days_ago=3)
    for where in (
        pair_address(other),
        pair_address(lesson).replace("face_on", "down_line"),
        pair_address(lesson).replace("face_on", "%00"),
        pair_address(lesson).replace("face_on", "above"),
    ):
        assert as_("coach").get(where).status_code == 404, where
    assert as_("other_coach").get(pair_address(lesson)).status_code == 404
    for name in ("stills_align", "stills_focus"):
        assert as_("student").post(pair_address(lesson, name), TYPED).status_code == 403
    Lesson.objects.filter(pk=lesson.pk).update(status="draft")
    assert as_("student").get(pair_address(lesson)).status_code == 404
    Lesson.objects.filter(pk=lesson.pk).update(status="complete")
    lesson.student.consents.filter(purpose="photos").update(withdrawn_at=timezone.now())
    assert as_("coach").get(pair_address(lesson)).status_code == 404


def test_pages_with_pairs_cost_few_queries(lesson: Lesson, as_: Clients, django_assert_max_num_queries: Any) -> None:
    for name in ("Impact", "Finish", "Top"):
        checkpoint = make_checkpoint(name)
        make_reference(checkpoint=checkpoint)
        for moment in ("arrival", "departure"):
            make_still(lesson, checkpoint=checkpoint, moment=moment)
    sheet = issue_sheet(lesson=lesson, at=timezone.now())
    pages = [pair_address(lesson)]
    pages += [reverse(name, args=[lesson.student.key, lesson.key]) for name in ("lesson", "stills_pairs")]
    pages += [reverse("stills_over_time", args=[lesson.student.key])]
    pages += [reverse("sheet", args=[lesson.student.key, sheet.key])]
    for where in pages:
        as_("coach").get(where)
        with django_assert_max_num_queries(12):
            assert as_("coach").get(where).status_code == 200


# --- Which reference ------------------------------------------------------------------------------


def test_the_reference_is_that_of_the_club_then_of_the_side_then_the_newest(lesson: Lesson, as_: Clients) -> None:
    def shown() -> str:
        html = as_("coach").get(pair_address(lesson)).content.decode()
        return "".join(re.findall(r'<figcaption>How it .*?<p class="small">(.*?)</p>', html, re.DOTALL))

    assert shown() == ""
    make_reference(caption="A", archived=True)
    assert shown() == ""
    make_reference(caption="B", side="right")
    assert shown() == "B. Mirrored for a left-side player: it was taken of a right-side player."
    make_reference(caption="C", side="left")
    assert shown() == "C."
    make_reference(caption="D", side="right", club="8 iron")
    Still.objects.update(club="8 Iron")
    assert shown().startswith("D. Club: 8 iron. Mirrored")
    Still.objects.update(club="Putter")
    assert shown().startswith("C.")  # of another club is none
    ReferenceStill.objects.filter(club="").delete()
    assert shown() == ""


def test_a_reference_of_a_left_side_player_is_mirrored_for_a_right_side_one(lesson: Lesson, as_: Clients) -> None:
    Lesson.objects.update(putting_side="right")
    make_reference(side="left")
    html = as_("coach").get(pair_address(lesson)).content.decode()
    assert "Mirrored for a right-side player: it was taken of a left-side player." in html
    assert "matrix(-1 0 0 1 480 0)" in html


# --- The managers' pages of references ------------------------------------------------------------


def sent(**values: Any) -> dict[str, Any]:
    picture = SimpleUploadedFile("x.jpg", make_picture(), "image/jpeg")
    shows = {"checkpoint": make_checkpoint().pk, "view": "face_on", "side": "right", "caption": "Level shoulders"}
    return {"picture": picture, **shows, "shows_person": "False", **values}


def test_a_manager_adds_changes_and_archives_a_reference(cast: Cast, as_: Clients) -> None:
    client, key = as_("manager"), fresh_key()
    new = client.get(reverse("reference_new"))
    assert new.status_code == 302 and client.get(new["Location"]).status_code == 200
    for _ in range(2):
        assert client.post(reverse("reference", args=[key]), sent()).status_code == 302
    row = ReferenceStill.objects.get()
    assert (row.key, row.width, row.height, row.shows_person) == (key, 480, 640, False)
    assert len(default_storage.listdir("stills")[1]) == 2
    assert "Level shoulders" in client.get(reverse("references")).content.decode()
    page = client.get(reverse("reference", args=[key]))
    assert page.status_code == 200 and 'type="file"' not in page.content.decode()
    assert client.post(reverse("reference", args=[key]), sent(caption="Weight even")).status_code == 302
    row.refresh_from_db()
    assert row.caption == "Weight even"
    for name in ("reference_picture", "reference_thumbnail"):
        file = as_("student").get(reverse(name, args=[key]))
        assert file.content[:3] == b"\xff\xd8\xff" and file["Cache-Control"] == "private, no-store"
    client.post(reverse("reference_archive", args=[key]))
    assert as_("student").get(reverse("reference_picture", args=[key])).status_code == 404
    assert client.get(reverse("reference_picture", args=[key])).status_code == 200
    assert "Show again" in client.get(reverse("references")).content.decode()
    client.post(reverse("reference_archive", args=[key]))
    assert not ReferenceStill.objects.get().archived


def test_no_person_without_whose_consent_it_is_and_the_academys_word(cast: Cast, as_: Clients) -> None:
    where = reverse("reference", args=[fresh_key()])
    person = {"shows_person": "True", "consent_note": "Our coach, in writing on 2 May", "may_show": "on"}
    for left_out, words in (
        ("shows_person", "Say whether it shows a person."),
        ("consent_note", "Say who agreed"),
        ("may_show", "only once the academy says"),
        ("picture", "Choose a picture."),
    ):
        posted = sent(**person)
        posted.pop(left_out)
        answer = as_("manager").post(where, posted)
        assert answer.status_code == 422 and words in answer.content.decode(), left_out
    assert not ReferenceStill.objects.exists() and not default_storage.exists("stills")
    assert as_("manager").post(where, sent(**person)).status_code == 302
    row = ReferenceStill.objects.get()
    assert row.may_show and row.consent_note == "Our coach, in writing on 2 May"
    for change in ({"may_show": False}, {"consent_note": ""}):  # nor past the form
        with pytest.raises(IntegrityError), transaction.atomic():
            ReferenceStill.objects.update(**change)
    gif = SimpleUploadedFile("a.jpg", b"GIF89a")
    refused = as_("manager").post(reverse("reference", args=[fresh_key()]), sent(picture=gif))
    assert refused.status_code == 422 and "This file is a GIF" in refused.content.decode()


# --- In the record, and on the sheet --------------------------------------------------------------


def test_the_record_shows_the_pairs(lesson: Lesson, as_: Clients) -> None:
    record, pairs = (reverse(name, args=[lesson.student.key, lesson.key]) for name in ("lesson", "stills_pairs"))
    html = as_("manager").get(record).content.decode()
    assert f'hx-get="{pairs}"' in html and f'href="{pairs}"' in html  # in it with a script, a step away without one
    page = as_("manager").get(pairs).content.decode()
    part = as_("manager").get(pairs, headers={"HX-Request": "true"}).content.decode()
    assert "<main" in page and "<main" not in part
    for found in (page, part):
        assert pair_address(lesson) in found
        assert 'aria-label="Address, face-on, on arrival: Ball too far up"' in found
    Still.objects.update(hidden_at=timezone.now())
    assert pair_address(lesson) not in as_("manager").get(pairs).content.decode()
    Still.objects.all().delete()
    assert pairs not in as_("manager").get(record).content.decode()


def sheet_pages(lesson: Lesson, client: Client) -> tuple[str, bytes]:
    """The phone page and the PDF of the valid sheet."""
    key = lesson.sheets.valid().get().key
    page = client.get(reverse("sheet", args=[lesson.student.key, key])).content.decode()
    pdf = client.get(reverse("sheet_pdf", args=[lesson.student.key, key]))
    return page, pdf.content


def images_of(data: bytes) -> list[Any]:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert len(pdf.pages) == 1
        streams = [each for each in pdf.objects if isinstance(each, pikepdf.Stream)]
        return [each.read_raw_bytes() for each in streams if each.get("/Subtype") == "/Image"]


def test_a_sheet_keeps_keys_and_shows_what_may_be_shown_on_the_day(lesson: Lesson, as_: Clients) -> None:
    sheet = issue_sheet(lesson=lesson, at=timezone.now())
    kept = sheet.content["focuses"][0]["pair"]
    assert kept == {
        "arrival": str(still("arrival").key),
        "departure": str(still("departure").key),
        "name": "Address, seen from the front",
    }
    page, data = sheet_pages(lesson, as_("guardian"))
    assert (
        'aria-label="Address, seen from the front, on arrival: Ball too far up"' in page and "fault" not in page.lower()
    )
    assert len(images_of(data)) == 2
    shared = Client().get(reverse("shared_sheet", args=[share_token(sheet)])).content.decode()
    assert "Sign in to see them." in shared and "small.jpg" not in shared
    lesson.student.consents.filter(purpose="photos").update(withdrawn_at=timezone.now())
    page, data = sheet_pages(lesson, as_("guardian"))
    assert "the pictures are no longer shown" in page and "<image" not in page and not images_of(data)


def test_a_file_that_is_gone_is_a_line_in_the_pdf(lesson: Lesson, as_: Clients) -> None:
    issue_sheet(lesson=lesson, at=timezone.now())
    default_storage.delete(still("departure").path)
    assert not images_of(sheet_pages(lesson, as_("coach"))[1])


def test_which_pair_belongs_to_a_focus(lesson: Lesson, as_: Clients) -> None:
    """The one that the coach chose; else the one that was aligned last, each beside one focus only."""
    first = lesson.student.focuses.get()
    about: dict[str, Any] = {"student": lesson.student, "opened_in": lesson, "what": "Thumbs"}
    second = Focus.objects.create(slot=2, area="putting", **about)
    Focus.objects.create(slot=3, reason="x", area="chipping", **about)
    impact = make_checkpoint("Impact")
    for moment in ("arrival", "departure"):
        make_still(lesson, checkpoint=impact, moment=moment)

    def names() -> list[str]:
        focuses = issue_sheet(lesson=lesson, at=timezone.now()).content["focuses"]
        return [focus["pair"]["name"].split(",")[0] if focus["pair"] else "" for focus in focuses]

    assert names() == ["Impact", "Address", ""]  # the newest first, and none of another area
    as_("coach").post(pair_address(lesson, "stills_align"), TYPED)
    assert names() == ["Address", "Impact", ""]
    answer = as_("coach").post(pair_address(lesson, "stills_focus"), {"focus": str(second.key)})
    assert answer.status_code == 302 and FocusView.objects.get().focus == second
    assert names() == ["Impact", "Address", ""]
    assert "Stands beside: Thumbs" in as_("coach").get(pair_address(lesson)).content.decode()
    answer = as_("coach").post(pair_address(lesson, "stills_focus"), {"focus": str(fresh_key())})
    assert answer.status_code == 422
    FocusView.objects.create(focus=first, checkpoint=make_checkpoint("Finish"), view="face_on")
    assert names() == ["", "Address", ""]  # what was chosen was not taken this time


def test_six_pairs_take_less_than_two_megabytes_and_one_page(lesson: Lesson, as_: Clients) -> None:
    """Pictures as large as any that is kept: noise compresses worst."""
    file = io.BytesIO()
    Image.effect_noise((1200, 1600), 90).convert("RGB").save(file, "JPEG", quality=90)
    content = content_from(issue_sheet(lesson=lesson, at=timezone.now()).content)
    focuses = []
    for number in range(1, 7):
        checkpoint = Checkpoint.objects.create(area="putting", name=f"Moment {number}", position=number)
        taken = [make_still(lesson, checkpoint=checkpoint, moment=m, data=file.getvalue()) for m in Still.Moment]
        pair = SheetPair(str(taken[0].key), str(taken[1].key), checkpoint.name)
        focuses.append(replace(content.focuses[0], number=number, pair=pair))
    content = replace(content, focuses=tuple(focuses))
    pairs = drawn_pairs(content, lesson.student, Academy.current(), academy_today(), in_the_document)
    assert sum(len(base64.b64decode(p.source.partition(",")[2])) for d in pairs.values() for p in d.panels) > 2_000_000
    for child in (False, True):
        data = pdf_of(replace(content, child=child), "A4", pairs=pairs)
        with pikepdf.open(io.BytesIO(data)) as pdf:
            assert len(pdf.pages) == 1
        assert len(data) < 2_000_000


# --- Over time ------------------------------------------------------------------------------------


def test_one_checkpoint_through_all_lessons(lesson: Lesson, cast: Cast, as_: Clients) -> None:
    earlier = make_lesson(cast.student, cast.coach, days_ago=30, status="complete", completed_at=timezone.now())
    draft = make_lesson(cast.student, cast.coach, days_ago=-3)
    make_still(earlier, moment="arrival")
    make_still(draft, moment="arrival", caption="Not yet")
    make_still(earlier, moment="arrival", view="down_line")
    where = reverse("stills_over_time", args=[cast.student.key])
    html = as_("student").get(where).content.decode()
    days = re.findall(r"<h3><a [^>]*>(.*?)</a></h3>", html)
    assert days == ["1 Jun 2026", "2 May 2026"]
    assert re.findall(r'alt="(.*?)"', html) == [
        "Address, seen from the front, on arrival: Ball too far up",
        "Address, seen from the front, on departure",
        "Address, seen from the front, on arrival",
    ]
    assert html.count('loading="lazy"') == 3 and "fault" not in html.lower()
    assert "Not yet" in as_("coach").get(where).content.decode()
    one = as_("student").get(f"{where}?show={make_checkpoint().key}-down_line").content.decode()
    assert re.findall(r"<h3><a [^>]*>(.*?)</a></h3>", one) == ["2 May 2026"]
    for asked in ("?show=x", "?show=%00"):
        assert as_("student").get(where + asked).status_code == 200
    for row in Still.objects.all():
        assert default_storage.size(row.thumbnail_path) <= 15_000


def test_without_pictures_it_says_why(cast: Cast, as_: Clients) -> None:
    where = reverse("stills_over_time", args=[cast.student.key])
    assert "no guardian has consented" in text(as_("coach").get(where)) or "No picture" in text(as_("coach").get(where))
    make_picture_consent(cast.student)
    assert "No pictures yet. Your coach can take some" in text(as_("student").get(where))
