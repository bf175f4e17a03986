"""What a phone needs to put the site on its home screen: the manifest and the icons.

Source: W3C Web Application Manifest, working draft, w3.org/TR/appmanifest: the media type `application/manifest+json`
and its members, of which some were read there and the others are from memory, so that the list only keeps ours from
growing unnoticed. Of an icon with the purpose `maskable` the safe zone, a circle about its middle, was found at second
hand only ("the inner 80 %"): the drawing keeps inside it because we want it so.
"""

import io
import json
from collections.abc import Callable, Iterator
from contextlib import closing
from math import hypot
from typing import Any

from django.templatetags.static import static
from django.test import Client
from django.urls import reverse
from PIL import Image, ImageChops
from playwright.sync_api import Page

from tests.icons import DRAWN, ICONS, draw

MEMBERS = {
    *("background_color", "dir", "display", "icons", "id", "lang", "name", "orientation", "scope", "short_name"),
    *("shortcuts", "start_url", "theme_color"),
}
SAFE = 0.4  # our own limit: the radius round the middle, as a share of the width, outside which nothing is drawn
PLUM, INK, LEAF = (87, 41, 107), (29, 26, 21), (255, 253, 246)  # of tokens.css


def fetched(path: str) -> Any:
    return Client().get(path)


def manifest() -> dict[str, Any]:
    with closing(fetched(static("manifest.webmanifest"))) as answer:
        assert answer.status_code == 200 and answer["Content-Type"].split(";")[0] == "application/manifest+json"
        found: dict[str, Any] = json.loads(b"".join(answer))
        return found


def test_the_manifest_holds_members_of_the_standard_and_files_that_are_there(db: None) -> None:
    found = manifest()
    assert found.keys() <= MEMBERS and {"name", "short_name", "icons", "theme_color"} <= found.keys()
    assert (found["start_url"], found["scope"], found["display"]) == ("/", "/", "standalone")
    icons = found["icons"]
    assert {(icon["sizes"], icon["purpose"]) for icon in icons} >= {
        ("192x192", "any"), ("512x512", "any"), ("512x512", "maskable"),
    }  # fmt: skip
    for icon in icons:
        with closing(fetched(static(icon["src"]))) as answer:
            assert answer.status_code == 200 and answer["Content-Type"] == icon["type"]
            if icon["type"] == "image/png":
                size = Image.open(io.BytesIO(b"".join(answer))).size
                assert icon["sizes"] == f"{size[0]}x{size[1]}"


def test_every_page_names_the_manifest_and_the_policy_lets_it_load(db: None) -> None:
    answer = Client().get(reverse("account_login"))
    page, policy = answer.content.decode(), answer.headers["Content-Security-Policy"]
    assert f'<link rel="manifest" href="{static("manifest.webmanifest")}">' in page
    assert f'<link rel="apple-touch-icon" href="{static("icons/touch-180.png")}">' in page
    assert "manifest-src 'self'" in policy.split("; ") and "style-src 'self'" in policy
    assert f'content="{manifest()["theme_color"]}" media="(prefers-color-scheme: light)"' in page


def ink_outside(picture: Image.Image, radius: float) -> Iterator[tuple[int, int]]:
    """Where something dark stands further from the middle than the radius; the margin line may run off the edge."""
    pixels, half = picture.convert("RGB").load(), picture.width / 2
    for x in range(picture.width):
        for y in range(picture.height):
            if hypot(x + 0.5 - half, y + 0.5 - half) > radius and sum(pixels[x, y]) < sum(PLUM) - 60:
                yield x, y


def test_a_maskable_icon_is_opaque_and_keeps_its_drawing_in_the_safe_zone() -> None:
    for name in ("maskable-512.png", "touch-180.png"):
        picture = Image.open(ICONS / name)
        assert picture.convert("RGBA").getextrema()[3] == (255, 255) and picture.getpixel((1, 1))[:3] == LEAF
        assert list(ink_outside(picture, SAFE * picture.width)) == []
        assert len(list(ink_outside(picture, 0))) > picture.width, "there is a drawing"


def test_the_pictures_are_those_of_the_drawings(open_window: Callable[..., Page]) -> None:
    page = open_window()
    for name, (drawing, size) in DRAWN.items():
        new, kept = Image.open(io.BytesIO(draw(page, drawing, size))), Image.open(ICONS / name)
        assert new.size == kept.size == (size, size)
        differing = ImageChops.difference(new.convert("RGB"), kept.convert("RGB")).convert("L").point(lambda v: v > 64)
        assert sum(differing.histogram()[1:]) < size, name
