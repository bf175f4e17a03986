"""The door for a web server."""

import os
from typing import Any

import django
from django.core.handlers.wsgi import WSGIHandler, WSGIRequest
from django.utils.http import parse_header_parameters

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coachbook.settings")


class Utf8Request(WSGIRequest):
    """A request read as UTF-8, as our pages send it, whatever it says: not every encoding of Python is one of text."""

    def _set_content_type_params(self, meta: dict[str, Any]) -> None:
        self.content_type, self.content_params = parse_header_parameters(meta.get("CONTENT_TYPE", ""))


class Application(WSGIHandler):
    """Django's own handler, with requests that are read as UTF-8."""

    request_class = Utf8Request


django.setup(set_prefix=False)
application = Application()
