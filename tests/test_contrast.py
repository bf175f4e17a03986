"""The inks can be read on the papers.

Formula and thresholds: WCAG 2.2, success criteria 1.4.3, 1.4.6 and 1.4.11, and the definition of relative luminance
(w3.org/TR/WCAG22). reference/contrast_pairs.csv holds pairs whose ratios are printed in W3C texts (column
ratio_in_wcag_text, with the file it stands in); 5.6 for the last of them is cut off there, not rounded.
"""

import csv
import re
from pathlib import Path

import pytest
from django.conf import settings

PAIRS = list(csv.DictReader((Path(__file__).parent / "reference/contrast_pairs.csv").read_text().splitlines()))
TOKENS = Path(settings.BASE_DIR, "static/css/tokens.css").read_text()


def luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def tokens(scheme: str) -> dict[str, str]:
    """The colours of the light or the dark page."""
    light, dark = TOKENS.split("prefers-color-scheme: dark", 1)
    found = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", light))
    return found if scheme == "light" else found | dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", dark))


@pytest.mark.parametrize("pair", [p for p in PAIRS if re.match(r"[\d.]+", p["ratio_in_wcag_text"])], ids=str)
def test_the_formula_gives_what_the_w3c_prints(pair: dict[str, str]) -> None:
    printed = re.match(r"[\d.]+", pair["ratio_in_wcag_text"])
    assert printed
    tolerance = 0.1 if "cut off" in pair["ratio_in_wcag_text"] else 0.05
    assert contrast(pair["foreground"], pair["background"]) == pytest.approx(float(printed[0]), abs=tolerance)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(
    ("ink", "least"), [("ink", 7), ("soft", 7), ("accent", 4.5), ("edge", 3)], ids=["body", "soft", "links", "borders"]
)
@pytest.mark.parametrize("paper", ["paper", "leaf", "shade"])
def test_every_ink_is_read_on_every_paper(scheme: str, ink: str, least: float, paper: str) -> None:
    colours = tokens(scheme)
    assert contrast(colours[ink], colours[paper]) >= least


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_main_button_is_read(scheme: str) -> None:
    colours = tokens(scheme)
    assert contrast(colours["on-accent"], colours["accent"]) >= 4.5
