"""How static files are named in production: by a hash of what they contain, in the imports of our modules, too."""

from typing import Any

from whitenoise.storage import CompressedManifestStaticFilesStorage

OURS = "js/*.js"  # scripts that come with a package are served as they are


class StaticStorage(CompressedManifestStaticFilesStorage):  # type: ignore[misc]  # its package has no types
    """Hashed names, which never mean anything else, so that a browser and the service worker may keep them for good."""

    support_js_module_import_aggregation = True
    _, imports = CompressedManifestStaticFilesStorage._js_module_import_aggregation_patterns
    _js_module_import_aggregation_patterns: Any = (OURS, imports)
