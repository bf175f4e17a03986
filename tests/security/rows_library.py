"""The addresses of the library as a file, and of what held after a drill."""

from tests.security.row import Row
from tests.security.rows_drills import academy_drill, own_drill

ROWS: list[Row] = [
    Row("library_file", "EDIT_LIBRARY", "GET POST"),
    Row("library_out", "EDIT_LIBRARY"),
    Row("library_take_in", "EDIT_LIBRARY", "POST"),
    Row("drill_holding", "EDIT_LIBRARY", args=academy_drill),
    Row("drill_holding", "HELD_AFTER_OWN", args=own_drill, label="own"),
]
