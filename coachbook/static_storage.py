"""Static files under names that hold a hash of their content, and modules that import each other by such names."""

from typing import Any

from django.contrib.staticfiles.storage import HashedFilesMixin
from whitenoise.storage import CompressedManifestStaticFilesStorage


class StaticStorage(CompressedManifestStaticFilesStorage):  # type: ignore[misc]  # whitenoise has no types
    """Of our own scripts alone: those of packages name files in ways of their own.

    A module that is found by its plain name could be of another version than the page that asks for it, and would be
    loaded once more beside the one that the page names.
    """

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        _, imports = self._js_module_import_aggregation_patterns
        self.patterns = (*HashedFilesMixin.patterns, ("js/*.js", imports))
        super().__init__(*args, **kwargs)
