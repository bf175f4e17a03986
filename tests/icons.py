"""The icons of the home screen, drawn from our SVG by Chromium: `python -m tests.icons` writes them anew."""

import base64
import os
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

ICONS = Path(__file__).parent.parent / "static/icons"
# Each picture, the drawing that it is made from, and its width and height in pixels.
DRAWN = {
    "icon-192.png": ("favicon.svg", 192),
    "icon-512.png": ("favicon.svg", 512),
    "maskable-512.png": ("full.svg", 512),
    "touch-180.png": ("full.svg", 180),
}


def draw(page: Page, drawing: str, size: int) -> bytes:
    """A drawing as a PNG of this size; what it leaves open stays transparent."""
    source = base64.b64encode((ICONS / drawing).read_bytes()).decode()
    page.set_viewport_size({"width": size, "height": size})
    page.set_content(f'<body style="margin:0"><img width={size} src="data:image/svg+xml;base64,{source}">')
    return page.screenshot(omit_background=True)


def main() -> None:
    with sync_playwright() as playwright, playwright.chromium.launch(executable_path=os.environ["CHROMIUM"]) as browser:
        page = browser.new_page()
        for name, (drawing, size) in DRAWN.items():
            (ICONS / name).write_bytes(draw(page, drawing, size))


if __name__ == "__main__":
    main()
