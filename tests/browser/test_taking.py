"""Taking stills in a real Chromium with its own test camera; the clip is recorded in the browser by MediaRecorder."""

import base64
import io
import time
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.files.storage import default_storage
from django.urls import reverse
from PIL import Image
from playwright.sync_api import Locator, Page, Route, expect

from coachbook.accounts.models import Student
from lessons.models import Lesson, Still
from tests.browser.conftest import DESK, PHONE, broken_rules
from tests.make import make_picture

pytestmark = [pytest.mark.browser, pytest.mark.one_database, pytest.mark.usefixtures("media")]
Window = Callable[..., Page]
SignIn = Callable[[Page, str], None]
CHECKPOINTS = ["Address", "End of the backswing", "Impact", "Finish"]
GREYS = [15, 45, 75, 105, 135, 165, 195, 225]  # of the frames of the clip, one after the other
RECORD = """async (greys) => {
  const canvas = Object.assign(document.createElement('canvas'), {width: 320, height: 240});
  const pen = canvas.getContext('2d'), stream = canvas.captureStream(0), parts = [];
  const recorder = new MediaRecorder(stream, {mimeType: 'video/webm; codecs=vp8', videoBitsPerSecond: 4e6});
  recorder.ondataavailable = ({data}) => parts.push(data);
  const over = new Promise((resolve) => { recorder.onstop = resolve; });
  recorder.start();
  for (const grey of greys) {
    pen.fillStyle = `rgb(${grey} ${grey} ${grey})`;
    pen.fillRect(0, 0, 320, 240);
    stream.getVideoTracks()[0].requestFrame();
    await new Promise((resolve) => setTimeout(resolve, 90));
  }
  recorder.stop();
  await over;
  const bytes = new Uint8Array(await new Blob(parts).arrayBuffer());
  return btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(''));
}"""
GREY = """video => {
  const canvas = Object.assign(document.createElement('canvas'), {width: 1, height: 1}), pen = canvas.getContext('2d');
  pen.drawImage(video, 0, 0, 1, 1);
  return pen.getImageData(0, 0, 1, 1).data[0];
}"""


@pytest.fixture
def stills_page(open_window: Window, sign_in: SignIn) -> Callable[..., Page]:
    """The page of the stills of a lesson that nobody has begun yet: of a child whose guardian consents, if not said."""

    def opened(name: str = "Emeka Larkwren", *, camera: bool = True, **window: Any) -> Page:
        page = open_window(**window)
        sign_in(page, "ida")
        if not camera:
            page.route("**/stills/", without_camera)
        page.goto(reverse("stills", args=[Student.objects.get(name=name).key, uuid.uuid4()]))
        return page

    return opened


def without_camera(route: Route) -> None:
    """The page with a policy by which the browser refuses it the camera, as it does when a person says no."""
    if not route.request.is_navigation_request():
        return route.continue_()
    answer = route.fetch()
    return route.fulfill(response=answer, headers={**answer.headers, "permissions-policy": "camera=()"})


def answering(status: int) -> Callable[[Route], None]:
    return lambda route: route.fulfill(status=status, body="<h1>Error</h1>", content_type="text/html")


def said(page: Page) -> Locator:
    return page.locator("#take-said")


def kept(page: Page, number: int) -> None:
    """Wait until so many stills are in the list."""
    expect(page.locator("ul.stills li")).to_have_count(number)


def picture_of(still: Still) -> Image.Image:
    with default_storage.open(still.path) as file:
        return Image.open(io.BytesIO(file.read()))


def chosen(page: Page, data: bytes | Path, name: str = "IMG_0001.jpg") -> None:
    """Choose a file, say what it shows, and keep it."""
    file: Any = {"name": name, "mimeType": "image/jpeg", "buffer": data} if isinstance(data, bytes) else data
    page.get_by_label("Picture", exact=True).set_input_files(file)
    page.get_by_label("Checkpoint").select_option(label="Address")
    page.get_by_label("down the line").check()
    page.get_by_role("button", name="Keep it").click()


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_four_stills_are_four_shutters(size: dict[str, int], stills_page: Callable[..., Page]) -> None:
    page = stills_page(size=size)
    page.get_by_role("button", name="Take a picture").click()
    for checkpoint in CHECKPOINTS:
        page.get_by_role("button", name=f"Take: {checkpoint}, face-on, on arrival").click()
        if checkpoint != CHECKPOINTS[-1]:
            page.get_by_role("button", name=f"Take: {CHECKPOINTS[CHECKPOINTS.index(checkpoint) + 1]}").wait_for()
    kept(page, 4)
    rows = list(Still.objects.order_by("pk"))
    assert [str(row.checkpoint) for row in rows] == CHECKPOINTS
    assert {(row.moment, row.view) for row in rows} == {("arrival", "face_on")}
    assert Lesson.objects.get().status == "draft"  # which the first one began
    shown = page.locator('[data-part="camera"] video').evaluate("v => [v.videoWidth, v.videoHeight]")
    assert max(shown) > 1600 and (rows[0].width, rows[0].height) == (1600, 1600 * shown[1] // shown[0])
    colours = picture_of(rows[0]).convert("RGB").getcolors(10**6) or []
    assert len(colours) > 10  # the test camera's picture, no empty one
    assert broken_rules(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    page.get_by_role("button", name="Close the camera").click()
    assert page.locator('[data-part="camera"] video').evaluate("v => v.srcObject") is None
    page.reload()
    assert page.get_by_label("face-on").is_checked()  # as in the last one


def test_without_the_camera_it_says_what_to_do_and_a_picture_can_be_chosen(stills_page: Callable[..., Page]) -> None:
    page = stills_page(camera=False, watched=False)
    page.get_by_role("button", name="Take a picture").click()
    expect(said(page)).to_contain_text("This site may not use the camera. Allow it in the browser’s settings")
    expect(said(page)).to_contain_text("choose a picture below")
    expect(page.locator('[data-part="camera"]')).to_be_hidden()
    assert broken_rules(page) == []
    turned = io.BytesIO()
    exif = Image.Exif()
    exif[0x0112] = 6  # a quarter of a turn to the right (JEITA CP-3451, Orientation)
    Image.open(io.BytesIO(make_picture(2400, 1800))).save(turned, "JPEG", exif=exif)
    chosen(page, turned.getvalue())
    kept(page, 1)
    still = Still.objects.get()
    assert (still.width, still.height) == (1200, 1600)  # made small on the phone, upright
    light, dark = (picture_of(still).convert("L").getpixel(spot) for spot in ((1100, 100), (100, 100)))
    assert light > dark + 50  # the lighter square of the upper left is in the upper right now


def test_an_adult_is_asked_once(stills_page: Callable[..., Page]) -> None:
    page = stills_page("Alder Quimble")
    page.get_by_role("button", name="Take a picture").click()
    page.get_by_role("button", name="Take: Address").click()
    expect(said(page)).to_contain_text("Ask first")
    page.get_by_label("Alder Quimble agrees").check()
    for checkpoint in ("Address", "End of the backswing"):
        page.get_by_role("button", name=f"Take: {checkpoint}").click()
    kept(page, 2)
    assert not page.get_by_label("Alder Quimble agrees").count()


def recorded(page: Page) -> dict[str, Any]:
    clip = base64.b64decode(page.evaluate(RECORD, GREYS))
    return {"name": "swing.webm", "mimeType": "video/webm", "buffer": clip}


def until_grey(video: Locator, grey: int) -> None:
    """Wait until the frame of this grey is shown."""
    until = time.monotonic() + 5
    while abs((shown := video.evaluate(GREY)) - grey) > 8:
        assert time.monotonic() < until, f"{shown} instead of {grey}"


def test_a_clip_is_looked_through_frame_by_frame_and_stays_on_the_phone(stills_page: Callable[..., Page]) -> None:
    page, sent = stills_page(), []
    page.on("request", lambda request: sent.append(request) if request.method == "POST" else None)
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="From a clip").click()
    chooser.value.set_files(recorded(page))
    expect(said(page)).to_contain_text("The clip stays on this device")
    video = page.locator('[data-part="clip"] video')
    on, back = (page.get_by_role("button", name=f"Frame {name}") for name in ("after", "before"))

    def grey_after(button: Locator, then: int) -> None:
        button.click()
        until_grey(video, then)

    assert abs(video.evaluate(GREY) - GREYS[0]) < 8
    for grey in GREYS[1:6]:  # no frame is left out
        grey_after(on, grey)
    for grey in (GREYS[4], GREYS[3]):
        grey_after(back, grey)
    assert broken_rules(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.get_by_label("Place in the clip").focus()
    page.keyboard.press("ArrowRight")
    until_grey(video, GREYS[4])
    page.get_by_role("button", name="Use this frame: Address").click()
    kept(page, 1)
    assert abs(picture_of(Still.objects.get()).convert("L").getpixel((160, 120)) - GREYS[4]) < 8
    assert len(sent) == 1 and b"swing" not in (sent[0].post_data_buffer or b"")


def test_a_clip_that_cannot_be_played_says_which_can(stills_page: Callable[..., Page]) -> None:
    page = stills_page()
    page.locator("#take-tools [type=file]").set_input_files(
        {"name": "swing.mov", "mimeType": "video/quicktime", "buffer": b"\0\0\0\x14ftypqt  " + bytes(500)}
    )
    expect(said(page)).to_contain_text("This browser cannot play swing.mov (video/quicktime). It plays ")
    expect(said(page)).to_contain_text("WebM (VP8)")
    expect(said(page)).to_contain_text("take a screenshot")
    expect(page.locator('[data-part="clip"]')).to_be_hidden()


@pytest.mark.parametrize("broken", ["on its way", "on its way back"])
def test_what_was_cut_off_is_sent_again_and_kept_once(broken: str, stills_page: Callable[..., Page]) -> None:
    page, tries = stills_page(watched=False), []

    def cut(route: Route) -> None:
        if route.request.method != "POST" or tries:
            return route.continue_()
        tries.append(route.request.url)
        if broken == "on its way back":
            route.fetch(max_redirects=0)
        return route.abort()

    page.route("**/stills/**", cut)
    chosen(page, make_picture())
    row = page.locator("#on-their-way li")
    expect(row).to_contain_text("Address, down the line, on arrival: not sent yet: no connection")
    assert Still.objects.count() == (broken == "on its way back")
    kept(page, 1)  # by itself
    expect(row).to_have_count(0)
    assert str(Still.objects.get().key) in tries[0]
    assert len(default_storage.listdir("stills")[1]) == 2


def test_what_the_server_does_not_take_waits_here_and_says_why(stills_page: Callable[..., Page], media: Path) -> None:
    page = stills_page(watched=False)
    for status, words in {507: "the server’s disk is full", 413: "more than the server takes", 500: "just now"}.items():
        page.route("**/stills/*/", answering(status))
        chosen(page, make_picture())
        row = page.locator("#on-their-way li").last
        expect(row).to_contain_text("not kept: ")
        expect(row).to_contain_text(words)
        page.unroute_all()
        row.get_by_role("button", name="Send again").click()
        expect(page.locator("#on-their-way li")).to_have_count(0)
    kept(page, 3)
    heic = b"\0\0\0\x18ftypheic" + bytes(2000)
    chosen(page, heic, "IMG_7.heic")
    expect(page.locator("#on-their-way li")).to_contain_text("Set the camera of the phone to JPEG")
    page.get_by_role("button", name="Leave it out").click()
    large = media.parent / "IMG_8.heic"
    large.write_bytes(heic + bytes(40 * 10**6))
    chosen(page, large)
    expect(said(page)).to_contain_text(
        "IMG_8.heic has 40 MB, and this browser cannot make it smaller; 12 MB may be sent."
    )
    assert Still.objects.count() == 3
