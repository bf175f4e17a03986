"""A picture as it was sent, made into one that may be kept: the only module that reads pictures.

What is kept is drawn anew on an empty canvas, so that not one byte of what came with the picture is kept: no place, no
camera, no comment, nothing behind its end. Colours are taken as sRGB.
"""

import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from PIL import Image, ImageDraw, ImageFile

from lessons.stills import SMALL_EDGE

MOST_BYTES = 12 * 10**6
MOST_PIXELS = {"JPEG": 50 * 10**6, "PNG": 16 * 10**6, "WEBP": 16 * 10**6}  # only JPEG can be decoded smaller than it is
MOST_SCANS = 100  # passes over one JPEG, each of which costs as much as the whole; common ones have ten at most
LONG_EDGE, LARGEST = 1600, 350_000  # pixels, and bytes that are aimed at
LARGEST_SMALL = 15_000
QUALITIES = (85, 75, 65, 55, 45, 35, 25)

START_OF_SCAN, END_OF_IMAGE = b"\xda", b"\xd9"
NEXT_SEGMENT = re.compile(rb"\xff[\x01-\xcf\xd8-\xfe]")  # neither a byte of the picture nor a restart within it

# The first bytes of the files that are read (PNG: ISO/IEC 15948, 5.2; JPEG: ITU-T T.81, B.2; WebP: RFC 9649).
STARTS = {b"\xff\xd8\xff": "JPEG", b"\x89PNG\r\n\x1a\n": "PNG"}
# Those of files that are refused by name.
OTHER_STARTS = {
    b"GIF8": "a GIF",
    b"%PDF": "a PDF",
    b"BM": "a BMP",
    b"II*\x00": "a TIFF or a raw picture",
    b"MM\x00*": "a TIFF or a raw picture",
    b"8BPS": "a layered drawing",
    b"%!PS": "a PostScript file",
    b"PK\x03\x04": "a ZIP file",
    b"\x1aE\xdf\xa3": "a film",
    b"\x00\x00\x01\x00": "an icon",
}
# Brands of ISO/IEC 14496-12 files, whose bytes 4 to 8 say `ftyp`.
BRANDS = {b"heic": "HEIC", b"heix": "HEIC", b"hevc": "HEIC", b"avif": "AVIF", b"mif1": "HEIC"}
TURN = {  # the value of the tag Orientation (JEITA CP-3451, Exif 2.2), and what makes the picture upright
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
ORIENTATION = 0x0112

TAKEN = "Send a picture as JPEG, PNG or WebP."
HOW = {
    "HEIC": "Set the camera of the phone to JPEG (“most compatible”), or take a screenshot of it and send that.",
    "AVIF": "Take a screenshot of it and send that.",
    "a film": "Open it on the phone, pause where you want, and send a screenshot.",
}


class PictureProblem(ValueError):
    """A file of which no picture is kept; its words are for whoever sent it."""


@dataclass(frozen=True)
class CleanPicture:
    """What is kept of a picture: its size in pixels, and two JPEG files, the picture and its thumbnail."""

    width: int
    height: int
    large: bytes
    small: bytes


def clean_picture(data: bytes) -> CleanPicture:
    """The clean picture of a file as it was sent. Raises PictureProblem, with words, whatever is wrong with it."""
    picture = read_upright(data, format_of(data))
    large, small = shrunk(picture, LONG_EDGE), shrunk(picture, SMALL_EDGE)
    return CleanPicture(*large.size, as_jpeg(large, LARGEST), as_small_jpeg(small))


def format_of(data: bytes) -> str:
    """The format that a file has by its first bytes, whatever its name says. PictureProblem for all but three."""
    if not data:
        raise PictureProblem("The file is empty. Choose it again.")
    if len(data) > MOST_BYTES:
        raise PictureProblem(too_large(len(data)))
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "WEBP"
    found = next((name for start, name in STARTS.items() if data.startswith(start)), "")
    if not found:
        raise PictureProblem(words_for(other_name(data)))
    return found


def too_large(size: int) -> str:
    """What is said of a file with too many bytes."""
    most = MOST_BYTES // 10**6
    return f"The file has {size / 10**6:.0f} MB; a picture may have {most}. Send it in a smaller size, or a screenshot."


def other_name(data: bytes) -> str:
    """What a file is that is not read; empty where it is not known."""
    if data[4:8] == b"ftyp":
        return BRANDS.get(data[8:12], "a film")
    text = data[:1000].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if text.startswith((b"<svg", b"<?xml")) or b"<svg" in text:
        return "an SVG"
    if text.startswith((b"<!doctype", b"<html", b"<script")):
        return "a web page"
    return next((name for start, name in OTHER_STARTS.items() if data.startswith(start)), "")


def words_for(name: str) -> str:
    """What is said of a file that is not read, with what to do."""
    found = f"This file is {name}." if name else "This file is no picture that can be read here."
    return f"{found} {HOW.get(name, TAKEN)}"


def read_upright(data: bytes, kind: str) -> Image.Image:
    """The picture, upright, in RGB, without anything that came with it, no larger than is kept. Or PictureProblem."""
    if kind == "JPEG" and scans_of(data) > MOST_SCANS:
        raise PictureProblem(damaged())
    ImageFile.LOAD_TRUNCATED_IMAGES = False  # WeasyPrint switches it on for the whole process when it is imported
    try:
        if kind == "WEBP":
            check_size(*webp_size(data), kind)  # its decoder takes memory for the whole as soon as it is opened
        with Image.open(io.BytesIO(data), formats=(kind,)) as image:
            check_size(*image.size, kind)
            check_still(image, kind)
            image.draft(None, fitting(image.size, LONG_EDGE))
            image.load()
            return on_canvas(shrunk(plain(image), LONG_EDGE), orientation_of(image))
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise PictureProblem(too_many_pixels(kind)) from error
    except (PictureProblem, MemoryError):
        raise
    except Exception as error:  # Pillow raises errors of a dozen kinds for a file that is not what it says
        raise PictureProblem(damaged()) from error


def scans_of(data: bytes) -> int:
    """How many passes a JPEG announces until its end, whatever lies behind that (ITU-T T.81, B.1.1 and B.2)."""
    at, scans = 2, 0
    while scans <= MOST_SCANS and data[at : at + 1] == b"\xff" and data[at + 1 : at + 2] != END_OF_IMAGE:
        if data[at + 1 : at + 2] == b"\xff":  # any number of these may stand before a marker
            at += 1
            continue
        is_scan = data[at + 1 : at + 2] == START_OF_SCAN
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        if is_scan:
            scans += 1
            found = NEXT_SEGMENT.search(data, at)
            at = found.start() if found else len(data)
    return scans


def webp_size(data: bytes) -> tuple[int, int]:
    """Width and height as the first chunk of a WebP says them (RFC 9649, 2.5 to 2.7)."""
    chunk, body = data[12:16], data[20:30]
    if chunk == b"VP8X":
        return int.from_bytes(body[4:7], "little") + 1, int.from_bytes(body[7:10], "little") + 1
    if chunk == b"VP8L":
        bits = int.from_bytes(body[1:5], "little")
        return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    return int.from_bytes(body[6:8], "little") & 0x3FFF, int.from_bytes(body[8:10], "little") & 0x3FFF


def check_size(width: int, height: int, kind: str) -> None:
    """Refuse by what the header says, before anything is decoded."""
    if width * height > MOST_PIXELS[kind]:
        raise PictureProblem(too_many_pixels(kind))


def check_still(image: Image.Image, kind: str) -> None:
    """Refuse what moves; a JPEG with several pictures in it has its first one shown by every program."""
    if kind != "JPEG" and getattr(image, "n_frames", 1) > 1:
        raise PictureProblem("This picture moves. Send a screenshot of the moment that you want.")


def too_many_pixels(kind: str) -> str:
    """What is said of a picture with too many pixels."""
    return f"The picture has more than {MOST_PIXELS[kind] // 10**6} million pixels. Send it in a smaller size."


def damaged() -> str:
    """What is said of a file that cannot be decoded."""
    return "The picture is damaged or was cut off on its way. Choose it again, or send another."


def plain(image: Image.Image) -> Image.Image:
    """The picture in RGB, or with its transparency in RGBA."""
    if image.mode.startswith(("I", "F")):  # 16 bits a pixel, of which the upper eight are seen
        image = image.point(lambda value: value * (1 / 256)).convert("L")
    see_through = image.mode in ("RGBA", "LA", "PA", "La", "RGBa") or "transparency" in image.info
    return image.convert("RGBA" if see_through else "RGB")


def on_canvas(image: Image.Image, orientation: int) -> Image.Image:
    """The pixels alone, turned upright, on a new white canvas."""
    if orientation in TURN:
        image = image.transpose(TURN[orientation])
    canvas = Image.new("RGB", image.size, "white")
    canvas.paste(image, mask=image.getchannel("A") if image.mode == "RGBA" else None)
    return canvas


def orientation_of(image: Image.Image) -> int:
    """The value of the tag Orientation; 1, upright, where there is none or none that can be read."""
    try:
        return int(image.getexif().get(ORIENTATION, 1))
    except Exception:  # what a camera wrote badly says nothing of how it was held
        return 1


def fitting(size: tuple[int, int], edge: int) -> tuple[int, int]:
    """The size with the same shape whose long edge is no longer than this; never larger than it was."""
    scale = min(1.0, edge / max(size))
    return max(1, round(size[0] * scale)), max(1, round(size[1] * scale))


def shrunk(image: Image.Image, edge: int) -> Image.Image:
    """The picture with a long edge of so many pixels at most."""
    size = fitting(image.size, edge)
    return image if size == image.size else image.resize(size, Image.Resampling.LANCZOS, reducing_gap=2.0)


def as_jpeg(image: Image.Image, aim: int) -> bytes:
    """The picture as JPEG of the best quality that takes no more bytes than are aimed at, or of the least."""
    written = b""
    for quality in QUALITIES:
        file = io.BytesIO()
        image.save(file, "JPEG", quality=quality, optimize=True)
        written = file.getvalue()
        if len(written) <= aim:
            break
    return written


def as_small_jpeg(image: Image.Image) -> bytes:
    """The thumbnail, made smaller until it takes no more bytes than it may."""
    written = as_jpeg(image, LARGEST_SMALL)
    while len(written) > LARGEST_SMALL:
        image = shrunk(image, max(image.size) * 3 // 4)
        written = as_jpeg(image, LARGEST_SMALL)
    return written


# --- Pictures of our own -------------------------------------------------------------------------

FINER = 3  # a drawing is made so many times larger and then shrunk, which makes its edges smooth

Drawn = tuple[Sequence[tuple[float, float]], float, str]  # spots in pixels; width, 0 for a surface; colour


def drawn(size: tuple[int, int], shapes: Iterable[Drawn]) -> bytes:
    """A PNG of shapes, each over those before it; a line has round ends, and with one spot it is a disc."""
    canvas = Image.new("RGB", (size[0] * FINER, size[1] * FINER))
    pen = ImageDraw.Draw(canvas)
    for spots, width, colour in shapes:
        finer = [(x * FINER, y * FINER) for x, y in spots]
        if width:
            draw_line(pen, finer, width * FINER, colour)
        else:
            pen.polygon(finer, fill=colour)
    file = io.BytesIO()
    canvas.reduce(FINER).save(file, "PNG", compress_level=1)
    return file.getvalue()


def draw_line(pen: ImageDraw.ImageDraw, spots: list[tuple[float, float]], width: float, colour: str) -> None:
    """A line through some spots, round at each."""
    if len(spots) > 1:
        pen.line(spots, fill=colour, width=round(width))
    for x, y in spots:
        pen.ellipse((x - width / 2, y - width / 2, x + width / 2, y + width / 2), fill=colour)
