"""The file of one student: a page to read without a network, the same as tables, and as JSON for a program."""

import io
import json
import zipfile
from datetime import datetime

from django.core.files.storage import default_storage
from django.core.serializers.json import DjangoJSONEncoder
from django.template.loader import render_to_string

from coachbook.accounts.models import Student
from coachbook.csv_file import write_csv
from coachbook.rights.export.gather import Table, in_words
from lessons.models import Still

Pictures = dict[str, Still]  # by the name of the file in the ZIP


def archive(student: Student, tables: list[Table], pictures: Pictures, *, academy: str, at: datetime) -> bytes:
    """The ZIP: `read-me-first.html`, `record.json`, `tables/<kind>.csv`, and the pictures by the keys of their rows."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("read-me-first.html", page(student, tables, list(pictures), academy, at))
        for name, still in pictures.items():
            write_picture(packed, name, still)
        packed.writestr("record.json", document(student, tables, academy, at))
        for table in tables:
            cells = [[in_words(value) for value in row] for row in table.rows]
            packed.writestr(f"tables/{table.kind.name}.csv", write_csv([table.headings, *cells]))
    return file.getvalue()


def write_picture(packed: zipfile.ZipFile, name: str, still: Still) -> None:
    """Write the file of a still, which is packed already; one that is gone is left out."""
    try:
        with default_storage.open(still.path) as file:
            packed.writestr(name, file.read(), zipfile.ZIP_STORED)
    except FileNotFoundError:
        return


def page(student: Student, tables: list[Table], pictures: list[str], academy: str, at: datetime) -> str:
    """Everything on one page."""
    shown = [
        (table.kind.title, [[*zip(table.headings, map(in_words, row), strict=True)] for row in table.rows])
        for table in tables
    ]
    context = {"student": student, "academy": academy, "at": at, "shown": shown, "pictures": pictures}
    return render_to_string("rights/export/read_me_first.html", context)


def document(student: Student, tables: list[Table], academy: str, at: datetime) -> str:
    """Everything as JSON."""
    content = {
        "format": "coachbook student",
        "version": 1,
        "academy": academy,
        "made_at": at,
        "student": student.key,
        "kinds": {
            table.kind.name: [dict(zip(table.headings, row, strict=True)) for row in table.rows] for table in tables
        },
    }
    return json.dumps(content, cls=DjangoJSONEncoder, ensure_ascii=False, indent=1)
