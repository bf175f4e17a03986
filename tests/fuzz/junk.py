"""Junk: values that no form offers, bodies that no browser sends, headers that are none; all from one seed."""

import json
from random import Random
from urllib.parse import quote_from_bytes

FORM = "application/x-www-form-urlencoded"
MULTIPART = "multipart/form-data"
BOUNDARY = "xxx"
Pairs = list[tuple[str, bytes]]

WORDS: list[str] = [
    *("", " ", "\0", "a\0b", "\r\nBcc: everybody@example.org", "a\nb", "\t", "\x1b[2J", "\u202e", "\ufeff", "\u2028"),
    *("x" * 70_000, "a " * 1100, "😀" * 3000, "%00", "%", "'", '"; DROP TABLE', "<script>alert(1)</script>", "{{ 7 }}"),
    *("../../etc/passwd", "null", "None", "true", "on", "[]", "{}", "[" * 5000, "é" * 200, "ﬀ", "İ", "ß" * 130),
]
NUMBERS: list[str] = [
    *(
        "NaN",
        "nan",
        "Infinity",
        "-inf",
        "1e999",
        "1e-999",
        "9" * 400,
        "-1",
        "0",
        "-0",
        "1.5",
        "1,5",
        "0x10",
        "1_000",
        "١٢",
    ),
    *("2147483648", "-2147483649", "9223372036854775808", "1e18", "99999", "0.0000001", "²", "½", "  7  ", "+3", "1/0"),
]
DAYS: list[str] = [
    *(
        "0001-01-01",
        "9999-12-31",
        "10000-01-01",
        "0000-00-00",
        "2026-02-30",
        "2026-06-01T10:00",
        "1900-01-01",
        "-1-1-1",
    ),
    *("31/12/9999", "01.02.03", "24:00", "23:59:60", "00:00", "99:99", "2037-03-29", "02:30", "12:00:00.999999999"),
]
KEYS: list[str] = [
    *("not-a-key", "00000000-0000-0000-0000-000000000000", "g" * 32, "urn:uuid:12345678-1234-5678-1234-567812345678"),
    *("{12345678-1234-5678-1234-567812345678}", "1234", "12345678123456781234567812345678", "-".join(["f" * 8] * 5)),
]
ZONES: list[str] = [
    "Pacific/Kiritimati",
    "Pacific/Pago_Pago",
    "Africa/Monrovia",
    "Nowhere/None",
    "../localtime",
    "Europe",
]
BYTES: list[bytes] = [
    b"\xff\xfe",
    b"\xed\xa0\x80",
    b"\xed\xbf\xbf\xed\xa0\x80",
    b"\xc0\x80",
    b"\x80" * 50,
    b"a\xf4\x90\x80\x80",
]
CHARSETS = [
    "utf-16",
    "utf-7",
    "utf-32",
    "no",
    "",
    "idna",
    "punycode",
    "rot13",
    "hex",
    "base64",
    "undefined",
    "\xff",
    "cp037",
]
ADDRESSES = [
    "http://[::1",
    "http://[",
    "\xff",
    "//x",
    "http://testserver:99999/",
    "javascript:1",
    "",
    "http://testserver/\x00",
]
HEADERS = [
    "HX-Current-URL",
    "HX-Target",
    "HX-Trigger",
    "HX-Prompt",
    "HX-Boosted",
    "Referer",
    "Origin",
    "X-Forwarded-For",
]
MORE_HEADERS = ["If-None-Match", "If-Modified-Since", "Accept", "Accept-Language", "Accept-Encoding", "Range", "Cookie"]
NAMES = ["", "csrfmiddlewaretoken", "done", "usual", "next", "a" * 3000, "a[]", "__proto__", "\ud800", "key", "0"]


def word(random: Random) -> bytes:
    """One value of any kind."""
    kinds: list[list[str]] = [WORDS, NUMBERS, DAYS, KEYS, ZONES]
    if random.random() < 0.12:
        return random.choice(BYTES)
    return random.choice(random.choice(kinds)).encode("utf-8", "surrogatepass")


def spoiled(pairs: Pairs, random: Random) -> Pairs:
    """What a form would send, with some of it spoiled: other values, doubled, left out, or added to."""
    found = list(pairs)
    for _ in range(random.choice((1, 1, 2, 3, 8))):
        place = random.randrange(len(found)) if found else 0
        match random.randrange(6) if found else 5:
            case 0 | 1 | 2:
                found[place] = (found[place][0], word(random))
            case 3:
                found.insert(place, (found[place][0], word(random)))
            case 4:
                del found[place]
            case _:
                found.append((random.choice(NAMES), word(random)))
    if random.random() < 0.005:
        found += [(f"n{number}", b"1") for number in range(3500)]
    return found


def urlencoded(pairs: Pairs) -> bytes:
    quoted = [
        (quote_from_bytes(name.encode("utf-8", "surrogatepass")), quote_from_bytes(value)) for name, value in pairs
    ]
    return "&".join(f"{name}={value}" for name, value in quoted).encode()


def multipart(pairs: Pairs, random: Random, *, is_broken: bool) -> bytes:
    """The pairs in parts, some of them files; broken, it ends anywhere."""
    parts = []
    for name, value in pairs:
        file = random.choice((b"", b"", b'; filename="x.png"', b"; filename*=utf-16''%ff", b'; filename="\0"'))
        more = random.choice(
            (b"", b"", b"Content-Transfer-Encoding: base64\r\n", b"Content-Type: text/plain; charset=no\r\n")
        )
        head = b'Content-Disposition: form-data; name="' + name.encode("utf-8", "replace")[:200] + b'"' + file
        parts.append(b"--" + BOUNDARY.encode() + b"\r\n" + head + b"\r\n" + more + b"\r\n" + value + b"\r\n")
    whole = b"".join(parts) + b"--" + BOUNDARY.encode() + b"--\r\n"
    return whole[: random.randrange(len(whole))] if is_broken else whole


def body(pairs: Pairs, random: Random) -> tuple[bytes, str]:
    """A body and its content type."""
    found = spoiled(pairs, random)
    kind = random.random()
    if kind < 0.72:
        return urlencoded(found), FORM
    if kind < 0.80:
        return urlencoded(found), f"{random.choice((FORM, 'text/plain'))}; charset={random.choice(CHARSETS)}"
    if kind < 0.94:
        charset = f"; charset={random.choice(CHARSETS)}" if random.random() < 0.3 else ""
        boundary = random.choice([BOUNDARY] * 8 + ["", "y", "\xff", '"', "x" * 300])
        return multipart(found, random, is_broken=kind > 0.88), f"{MULTIPART}; boundary={boundary}{charset}"
    deep = "[" * 20_000 + "]" * 20_000
    texts = [deep, json.dumps(dict.fromkeys("abc", float("nan"))), '{"a":' * 3000, ""]
    return random.choice(texts).encode(), random.choice(("application/json", FORM, ";", "", "text/\xff", MULTIPART))


def headers(random: Random) -> dict[str, str]:
    """A few headers; every other request says that it comes from htmx."""
    found = {"HX-Request": "true"} if random.random() < 0.5 else {}
    for _ in range(random.choice((0, 0, 1, 3))):
        value = random.choice([*ADDRESSES, *NUMBERS[:6], "a" * 5000, "é"])
        found[random.choice([*HEADERS, *MORE_HEADERS])] = value
    return found
