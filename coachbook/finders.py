"""Static files that come with an installed package."""

from collections.abc import Iterable, Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from django.contrib.staticfiles.finders import BaseFinder
from django.core.checks import CheckMessage
from django.core.files.storage import FileSystemStorage

NAME = "plotly.min.js"


def package_data() -> Path:
    """Where the installed plotly keeps its script; found without importing it."""
    spec = find_spec("plotly")
    if spec is None or spec.origin is None:
        raise ModuleNotFoundError("plotly is not installed: see requirements.txt")
    return Path(spec.origin).parent / "package_data"


class PlotlyFinder(BaseFinder):
    """Offers the one script of plotly as plotly/plotly.min.js, and nothing else of the package."""

    def __init__(self, app_names: Any = None, *args: Any, **kwargs: Any) -> None:
        self.storage = FileSystemStorage(location=package_data())
        self.storage.prefix = "plotly"  # type: ignore[attr-defined]  # collectstatic puts it before the name

    def check(self, **kwargs: Any) -> list[CheckMessage]:
        """Nothing to configure."""
        return []

    def find(self, path: str, find_all: bool = False, **kwargs: Any) -> Any:
        """The script's file, as a list where all are asked for; an empty list for every other path."""
        if path != f"plotly/{NAME}":
            return []
        found = self.storage.path(NAME)
        return [found] if find_all else found

    def list(self, ignore_patterns: Iterable[str] | None) -> Iterator[tuple[str, FileSystemStorage]]:
        """The one file there is."""
        yield NAME, self.storage
