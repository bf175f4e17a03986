"""The addresses of one person's data as a file, and erased; and of the whole academy's."""

from tests.security.row import Row, own_student

ROWS: list[Row] = [
    Row("student_export", "EXPORT_RECORD", "GET POST", args=own_student),
    Row("erasure", "ERASE_RECORD", args=own_student, about="student"),
    Row("erasure_ask", "ERASE_RECORD", "POST", args=own_student),
    Row("erasure_agree", "ERASE_RECORD", "POST", args=own_student),
    Row("erasure_call_off", "ERASE_RECORD", "POST", args=own_student),
    Row("erasure_carry_out", "MANAGE_ACADEMY", "POST", args=own_student, is_hidden=True),
    Row("data_notice", "USE_SITE"),
    Row("processing_record", "MANAGE_ACADEMY"),
    Row("impact_assessment", "MANAGE_ACADEMY"),
    Row("long_gone", "MANAGE_ACADEMY"),
    Row("academy_file", "MANAGE_ACADEMY"),
    Row("academy_file_save", "MANAGE_ACADEMY", "POST"),
    Row("site_size", "MANAGE_ACADEMY"),
]
