"""What is kept of a picture that was sent: pixels alone, upright, of a size that a phone can load."""

import csv
import io
import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from lessons.stills.picture import LARGEST_SMALL, PictureProblem, clean_picture
from tests import hostile
from tests.make import make_picture

# JEITA CP-3451 (Exif 2.2), tag 274: where row 0 and column 0 of the stored pixels lie in the upright picture.
ORIENTATIONS = Path(__file__).parent / "reference/exif_orientation.csv"
WINDOW = 16


def windows(data: bytes) -> set[bytes]:
    """All pieces of 16 bytes."""
    return {data[at : at + WINDOW] for at in range(len(data) - WINDOW + 1)}


def refusal_of(data: bytes) -> str:
    """The words with which a file is refused; empty where it is kept."""
    try:
        clean_picture(data)
    except PictureProblem as refusal:
        return str(refusal)
    return ""


def test_no_hostile_file_is_kept_and_each_is_refused_with_words() -> None:
    assert len(hostile.REFUSED) >= 30
    for name, make in hostile.REFUSED.items():
        words = refusal_of(make()[1])
        assert words.endswith(".") and len(words) < 200, name


def test_a_file_that_is_no_picture_is_refused_by_name() -> None:
    names = {"HEIC": "HEIC", "AVIF": "AVIF", "GIF": "a GIF", "SVG with a script": "an SVG", "film": "a film"}
    for made, name in (names | {"PDF": "a PDF", "web page named as JPEG": "a web page"}).items():
        assert refusal_of(hostile.REFUSED[made]()[1]).startswith(f"This file is {name}."), made


@pytest.mark.filterwarnings("ignore:Corrupt EXIF data")
def test_not_one_byte_that_came_with_a_picture_is_kept() -> None:
    planted = set().union(*map(windows, hostile.METADATA))
    for name, make in hostile.REDRAWN.items():
        data = make()[1]
        clean = clean_picture(data)
        for kept in (clean.large, clean.small):
            with Image.open(io.BytesIO(kept)) as image:
                image.load()
                assert (image.format, image.mode) == ("JPEG", "RGB"), name
                assert not image.getexif() and set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
            assert not windows(kept) & planted, name
    sources = b"".join(make()[1] for make in hostile.REDRAWN.values())
    assert sum(payload in sources for payload in hostile.METADATA) >= 6  # what was looked for had been there


def upright_corner(row0: str, col0: str) -> tuple[int, int]:
    """Where the first stored pixel lies in the upright picture: row and column, 0 or -1."""
    sides = {row0, col0}
    return (0 if "top" in sides else -1), (0 if "left" in sides else -1)


def test_all_eight_orientations_stand_upright() -> None:
    """Red is the first stored pixel, green lies along row 0: the table says where both must come to lie."""
    rows = list(csv.DictReader(ORIENTATIONS.read_text(encoding="utf-8").splitlines()))
    assert [row["value"] for row in rows] == list("12345678")
    stored = np.full((40, 64, 3), 255, np.uint8)
    stored[:20, :32] = (255, 0, 0)
    stored[:20, 32:] = (0, 160, 0)
    for row in rows:
        exif = Image.Exif()
        exif[274] = int(row["value"])
        for kind in ("JPEG", "PNG", "WEBP"):
            file = io.BytesIO()
            Image.fromarray(stored).save(file, kind, exif=exif, quality=95)
            clean = clean_picture(file.getvalue())
            seen = np.asarray(Image.open(io.BytesIO(clean.large)), int)
            swaps = row["row0_is_visual"] in ("left", "right")
            assert (clean.width, clean.height) == ((40, 64) if swaps else (64, 40)), row
            first = upright_corner(row["row0_is_visual"], row["col0_is_visual"])
            # along row 0 means away from column 0, on the side that the table names for row 0
            other = [-1 - first[0], first[1]] if swaps else [first[0], -1 - first[1]]
            assert abs(seen[first] - (255, 0, 0)).max() < 60, (row, kind)
            assert abs(seen[tuple(other)] - (0, 160, 0)).max() < 60, (row, kind)
            assert seen[-1 - first[0], -1 - first[1]].min() > 200, (row, kind)


def test_a_picture_is_kept_small_enough_for_a_phone() -> None:
    noise = Image.fromarray(np.random.default_rng(1).integers(0, 255, (2400, 3200, 3), np.uint8))
    file = io.BytesIO()
    noise.save(file, "JPEG", quality=60)
    clean = clean_picture(file.getvalue())
    assert (clean.width, clean.height) == (1600, 1200)
    assert len(clean.small) <= LARGEST_SMALL
    small = Image.open(io.BytesIO(clean_picture(make_picture(1200, 900)).small))
    assert max(small.size) == 320
    assert clean_picture(make_picture(200, 100)).width == 200  # nothing is made larger


def test_sixteen_bits_and_see_through_look_as_they_did() -> None:
    grey = Image.open(io.BytesIO(clean_picture(hostile.REDRAWN["16 bits of grey"]()[1]).large))
    assert all(abs(value - 40_000 // 256) <= 2 for value in grey.getpixel((5, 5)))
    file = io.BytesIO()
    Image.new("RGBA", (20, 20), (0, 0, 0, 0)).save(file, "PNG")
    clear = Image.open(io.BytesIO(clean_picture(file.getvalue()).large))
    assert min(clear.getpixel((5, 5))) > 250  # white paper, not the black that lay hidden in it


def test_one_module_reads_pictures() -> None:
    """What runs reads and draws them there alone."""
    root = Path(__file__).resolve().parents[1]
    modules = [path for folder in ("coachbook", "lessons", "drills") for path in (root / folder).rglob("*.py")]
    imports = re.compile(r"^\s*(from|import) PIL\b", re.MULTILINE)
    found = [path.relative_to(root).as_posix() for path in modules if imports.search(path.read_text())]
    assert found == ["lessons/stills/picture.py"]
