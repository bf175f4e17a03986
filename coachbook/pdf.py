"""The one door to WeasyPrint, which needs libraries of the system that may be missing."""

import contextlib
import io
import sys

WHAT_TO_TYPE = "brew install pango" if sys.platform == "darwin" else "apt install libpango-1.0-0 libpangoft2-1.0-0"


def problem() -> str:
    """Why no PDF can be made on this machine and what to type, or nothing."""
    try:
        with contextlib.redirect_stdout(io.StringIO()):  # it prints a banner before it fails
            import weasyprint  # noqa: F401  # takes most of a second, so only where a PDF is asked for
    except OSError:
        return f"No PDF: WeasyPrint's system libraries are missing. All else works. Type: {WHAT_TO_TYPE}"
    return ""
