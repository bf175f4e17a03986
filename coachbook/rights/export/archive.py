"""The file of one student: a page to read without a network, the same as tables, and as JSON for a program."""

import io
import json
import zipfile
from datetime import datetime

from django.core.serializers.json import DjangoJSONEncoder
from django.template.loader import render_to_string

from coachbook.accounts.models import Student
from coachbook.csv_file import write_csv
from coachbook.rights.export.gather import Table, in_words


def archive(student: Student, tables: list[Table], *, academy: str, at: datetime) -> bytes:
    """The ZIP: `read-me-first.html`, `record.json`, and `tables/<kind>.csv`."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("read-me-first.html", page(student, tables, academy, at))
        packed.writestr("record.json", document(student, tables, academy, at))
        for table in tables:
            cells = [[in_words(value) for value in row] for row in table.rows]
            packed.writestr(f"tables/{table.kind.name}.csv", write_csv([table.headings, *cells]))
    return file.getvalue()


def page(student: Student, tables: list[Table], academy: str, at: datetime) -> str:
    """Everything on one page."""
    shown = [
        (table.kind.title, [[*zip(table.headings, map(in_words, row), strict=True)] for row in table.rows])
        for table in tables
    ]
    context = {"student": student, "academy": academy, "at": at, "shown": shown}
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
