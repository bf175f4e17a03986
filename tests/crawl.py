"""Everything a person reads by following links: its text, and what screen readers say or a pointer shows."""

import re
from collections import Counter
from collections.abc import Iterator
from datetime import date
from html.parser import HTMLParser
from urllib.parse import urlsplit

import pypdfium2
from django.test import Client
from django.urls import Resolver404, resolve

from tests.make import academy_today

SPOKEN = {"alt", "title", "aria-label", "aria-description", "aria-roledescription", "placeholder", "value", "label"}
SILENT = {"script", "style", "template"}
FEW = 5


class Reader(HTMLParser):
    """The words of a page and the links on it."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.words: list[str] = []
        self.links: list[str] = []
        self.silent = 0
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.silent += tag in SILENT
        hidden = ("type", "hidden") in attrs
        for name, value in attrs:
            if name in SPOKEN and value and not hidden:
                self.words.append(value)
            if name == "href" and tag == "a" and value:
                self.links.append(value)

    def handle_endtag(self, tag: str) -> None:
        self.silent -= tag in SILENT

    def handle_data(self, data: str) -> None:
        if not self.silent:
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


def pdf_text(data: bytes) -> str:
    """The words of a PDF, with its line ends taken out."""
    document = pypdfium2.PdfDocument(data)
    words = " ".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    return " ".join(words.split())


def read(client: Client, address: str) -> tuple[str, list[str]]:
    """The words at an address and the links from there."""
    answer = client.get(address)
    if answer.status_code != 200:
        return "", [answer.headers["Location"]] if answer.status_code in (301, 302, 303) else []
    if answer.headers["Content-Type"] == "application/pdf":
        return pdf_text(answer.content), []
    page = Reader(answer.content.decode())
    return page.text, page.links


def is_near(path: str) -> bool:
    """Whether an address is within days of today, or a week: there is a day before every day, and one after it."""
    asked = re.search(r"day=(\d{4}-\d\d-\d\d)", path)
    days = 8 if "/week/" in path else 3
    return asked is None or abs((date.fromisoformat(asked[1]) - academy_today()).days) <= days


def is_one_of_many(path: str, met: Counter[str]) -> bool:
    """Whether an address is one of hundreds that show a row of the library in the same way: a few are enough."""
    try:
        found = resolve(urlsplit(path).path)
    except Resolver404:
        return False
    if not found.func.__module__.startswith("drills.library"):
        return False
    met[found.view_name] += 1
    return met[found.view_name] > FEW


def crawl(client: Client, start: str = "/") -> Iterator[tuple[str, str]]:
    """Every page within reach, as (address, words)."""
    waiting, met = [start], {start}
    of_library = Counter[str]()
    while waiting:
        address = waiting.pop(0)
        words, links = read(client, address)
        yield address, words
        for link in links:
            path = re.sub(r"^http://testserver|#.*$", "", link)
            if path.startswith("/") and path not in met and "logout" not in path and is_near(path):
                met.add(path)
                if not is_one_of_many(path, of_library):
                    waiting.append(path)
