"""The addresses of one person's data: as a file, and erased."""

from tests.security.row import Row, own_student

ROWS: list[Row] = [
    Row("student_export", "EXPORT_RECORD", "GET POST", args=own_student, about="student"),
]
