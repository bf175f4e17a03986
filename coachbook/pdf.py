"""The one door to WeasyPrint, which needs libraries of the system that may be missing."""

import base64
import contextlib
import io
import sys
import threading
from collections.abc import Iterable
from typing import Any

from coachbook.system_packages import NEEDS, PDFS

PACKAGES = " ".join(need.package for need in NEEDS if need.purpose == PDFS)
WHAT_TO_TYPE = "brew install pango" if sys.platform == "darwin" else f"apt install {PACKAGES}"
VARIANT = "pdf/ua-1"
DPI = 250  # no picture is finer on paper: six pairs of stills stay far below 2 MB
ONE_AT_A_TIME = threading.Lock()  # laying out takes memory


def problem() -> str:
    """Why no PDF can be made on this machine and what to type, or nothing."""
    try:
        with contextlib.redirect_stdout(io.StringIO()):  # it prints a banner before it fails
            import weasyprint  # noqa: F401  # takes most of a second, so only where a PDF is asked for
    except OSError:
        return f"No PDF: WeasyPrint's system libraries are missing. All else works. Type: {WHAT_TO_TYPE}"
    return ""


def style_link(css: str, paper: str) -> str:
    """A style sheet with the size of the paper, as an address that holds it: a document asks for no file."""
    look = f"{css} @page {{ size: {paper} }}"
    return f"data:text/css;base64,{base64.b64encode(look.encode()).decode()}"


def write_pdf(drafts: Iterable[str]) -> bytes:
    """A tagged PDF of the first HTML draft that fits on one page, or of the last, on as many as it takes."""
    document = lay_out(drafts)
    with ONE_AT_A_TIME:
        written: bytes = document.write_pdf(pdf_variant=VARIANT, dpi=DPI)
    return written


def write_together(title: str, several: Iterable[Iterable[str]]) -> bytes:
    """The same of several sheets, one after the other in one file."""
    documents = [lay_out(drafts) for drafts in several]
    together = documents[0].copy([page for document in documents for page in document.pages])
    together.metadata.title = title
    with ONE_AT_A_TIME:
        written: bytes = together.write_pdf(pdf_variant=VARIANT, dpi=DPI)
    return written


def lay_out(drafts: Iterable[str]) -> Any:
    """The first HTML draft that fits on one page, or the last, laid out.

    The drafts say the same ever more densely; each is laid out only if the one before ran over. Neither a file
    nor another machine is asked for anything: what a page shows and how it looks must stand in it.
    """
    import weasyprint
    from weasyprint.urls import URLFetcher

    fetcher = URLFetcher(allowed_protocols={"data"})
    with ONE_AT_A_TIME:
        for draft in drafts:
            document = weasyprint.HTML(string=draft, url_fetcher=fetcher).render(pdf_variant=VARIANT, dpi=DPI)
            if len(document.pages) == 1:
                break
    return document
