"""Students from a spreadsheet: whatever the spreadsheet wrote, a preview first, then all of it or nothing."""

import csv
import io
import re
from collections.abc import Callable
from html import unescape

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from coachbook.accounts.models import Care, Student, User
from coachbook.csv_file import CsvProblem, read_csv, write_csv
from coachbook.loop.students_file.columns import COLUMNS, LARGEST, MOST_ROWS
from tests.conftest import Cast
from tests.make import make_manager, make_student

Clients = Callable[[str], Client]
HEADER = ["Name", "Year of birth", "Plays from", "Putts from", "Telephone", "Whose number", "E-mail", "Coach"]
ROWS = [
    ["Zoë Märzwind", "2012", "right", "left", "+44 1632 960017", "mother", "", "Ida Fernkettle"],
    ["Owen Tarnbrook", "1980", "left", "", "", "", "owen@example.org", "Cai Meadowtwine"],
]
PICTURE = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(range(256))


def table(rows: list[list[str]] = ROWS, header: list[str] = HEADER, separator: str = ",") -> str:
    file = io.StringIO(newline="")
    csv.writer(file, delimiter=separator).writerows([header, *rows])
    return file.getvalue()


def upload(client: Client, content: bytes | str, **more: str) -> HttpResponse:
    data = content.encode() if isinstance(content, str) else content
    return client.post(reverse("students_file"), {"file": SimpleUploadedFile("students.csv", data), **more})


def words(answer: HttpResponse) -> str:
    """What the page says, without its marks."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


def take_in(client: Client, page: HttpResponse) -> HttpResponse:
    """What the button of a preview does."""
    found = dict(re.findall(r'name="(table|new)" value="([^"]*)"', page.content.decode()))
    return client.post(reverse("students_file_save"), {name: unescape(value) for name, value in found.items()})


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_table_is_read_as_any_spreadsheet_saves_it(encoding: str, separator: str) -> None:
    assert read_csv(table(separator=separator).encode(encoding), most_rows=9) == [HEADER, *ROWS]


def test_utf_16_is_read_in_both_orders_of_its_bytes() -> None:
    for mark, encoding in ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be")):
        assert read_csv(mark + table().encode(encoding), most_rows=9) == [HEADER, *ROWS]


@given(st.lists(st.lists(st.text(st.characters(codec="utf-8", exclude_categories=["Cc"])), min_size=2), min_size=1))
def test_what_is_written_is_read_again_and_begins_no_formula(rows: list[list[str]]) -> None:
    cleaned = [[cell.strip() for cell in row] for row in rows]
    written = write_csv([["a", "b"], *cleaned])
    assert read_csv(written, most_rows=len(rows))[1:] == cleaned
    for line in csv.reader(io.StringIO(written.decode("utf-8-sig"), newline="")):
        assert not [cell for cell in line if cell.startswith(("=", "+", "-", "@"))]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (PICTURE, "no CSV file"),
        (b"PK\x03\x04\x14\0\x06\0", "no CSV file"),
        (b'Name\n"Ann', "Row 2 cannot be read: a quotation mark"),
        (b'Name\nBo\n"Ann" x\n', "Row 3 cannot be read"),
        (b"Name\n" + b"Ann\n" * 11, "more than 10 rows"),
    ],
    ids=["picture", "workbook", "open quote", "broken quote", "too long"],
)
def test_what_is_no_table_is_refused_in_words(data: bytes, said: str) -> None:
    with pytest.raises(CsvProblem, match=re.escape(said)):
        read_csv(data, most_rows=10)


def test_a_file_of_100_000_rows_is_refused_before_a_student_is_looked_for(cast: Cast, as_: Clients) -> None:
    client, rows = as_("manager"), b"Name\n" + b"Al Oak\n" * 100_000
    for content, said in (
        (rows, f"more than {MOST_ROWS:,} rows"),
        (rows * 2, f"{LARGEST:,} bytes and {MOST_ROWS:,} rows"),
    ):
        with CaptureQueriesContext(connection) as queries:
            answer = upload(client, content)
        assert answer.status_code == 422 and said in words(answer)
        assert not [row for row in queries.captured_queries if 'FROM "accounts_student"' in row["sql"]]


def test_a_manager_takes_in_students_once_they_have_seen_them(cast: Cast, as_: Clients) -> None:
    preview = upload(as_("manager"), table())
    said = words(preview)
    assert preview.status_code == 200 and not Student.objects.filter(name="Zoë Märzwind").exists()
    assert "Row 2 Zoë Märzwind, born in 2012. Putts from the left, chips from the right" in said
    assert "Telephone +44 1632 960017 (mother). Coach: Ida Fernkettle." in said
    assert "Signs in with owen@example.org once invited. Coach: Cai Meadowtwine." in said
    assert take_in(as_("manager"), preview).url == reverse("students")
    zoe, owen = Student.objects.get(name="Zoë Märzwind"), Student.objects.get(name="Owen Tarnbrook")
    assert (zoe.putting_side, zoe.chipping_side, zoe.birth_year, zoe.user) == ("left", "right", 2012, None)
    assert owen.user and owen.user.email == "owen@example.org" and not owen.user.has_usable_password()
    assert owen.bunker_side == "left" and owen.cares.get().coach == cast.other_coach
    for row in (zoe, owen.user, owen.cares.get()):
        assert row.history.get().history_user == cast.manager


def test_the_same_file_again_adds_nobody(cast: Cast, as_: Clients) -> None:
    first = upload(as_("manager"), table())
    take_in(as_("manager"), first)
    before = Student.objects.count(), User.objects.count(), Care.objects.count()
    again = words(upload(as_("manager"), table()))
    assert "Here already 2" in again and "nothing to add" in again
    stale = take_in(as_("manager"), first)  # the first preview once more, from an earlier tab
    assert stale.status_code == 422 and "was changed since this preview" in words(stale)
    assert (Student.objects.count(), User.objects.count(), Care.objects.count()) == before


def test_here_already_is_the_same_name_without_another_year_of_birth(cast: Cast, as_: Clients) -> None:
    for name, year in (("Anna Löwe", None), ("Bo Ash", 2010), ("Cy Elm", 2010)):
        make_student(name, account=False, birth_year=year)
    rows = [["ANNA LOWE", "2011"], ["Bo Ash", ""], ["Cy Elm", "1975"]]
    said = words(
        upload(as_("manager"), table([[*row, "Ida Fernkettle"] for row in rows], ["Name", "Year of birth", "Coach"]))
    )
    assert "New 1 Here already 2" in said and "Row 4 Cy Elm, born in 1975" in said
    assert "Somebody else here has this name, born in another year." in said


WRONG = [
    (["", "2012", "", "", "", "", "", "Ida Fernkettle"], "Row 3, Name:"),
    (["Al Oak", "12", "", "", "", "", "", "Ida Fernkettle"], "Row 3, Year of birth: Type the year in four digits"),
    (["Al Oak", "2012", "up", "", "", "", "", "Ida Fernkettle"], "Row 3, Plays from: Type left or right."),
    (["Al Oak", "", "", "", "call me", "", "", "Ida Fernkettle"], "Row 3, Telephone: Type a telephone number"),
    (["Al Oak", "2012", "", "", "01632 960017", "", "", "Ida Fernkettle"], "Row 3, Whose number: Say whose number"),
    (["Al Oak", "", "", "", "", "", "at home", "Ida Fernkettle"], "Row 3, E-mail: This is no e-mail address."),
    (["Al Oak", "", "", "", "", "", "OWEN@example.org", "Ida Fernkettle"], "Row 3, E-mail: Row 2 has this address"),
    (["owen tarnbrook", "", "", "", "", "", "", "Ida Fernkettle"], "Row 3, Name: This is the same person as in row 2"),
    (["Al Oak", "", "", "", "", "", "", ""], "Row 3, Coach: Every new student needs a coach."),
    (["Al Oak", "", "", "", "", "", "", "Nobody"], "Row 3, Coach: No coach here has this name."),
    (["Al Oak", "", "", "", "", "", "", "Ida Fernkettle", "left"], "Row 3: There are more cells than columns."),
]  # fmt: skip


def test_every_mistake_is_named_by_row_and_column_and_nothing_is_stored(cast: Cast, as_: Clients) -> None:
    before = Student.objects.count()
    for row, said in WRONG:
        answer = upload(as_("manager"), table([ROWS[1], row]))
        assert answer.status_code == 422 and said in words(answer), said
        assert 'name="table"' not in answer.content.decode()
    assert Student.objects.count() == before


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "This file is empty."),
        (b"\n\n", "Row 1, Name: This column is missing."),
        (b"Name\n\n", "There is no student below the first row."),
        (b"Name,Shoe size\nAl Oak,43\n", "There is no column “Shoe size”."),
        (b"Name,name\nAl,Oak\n", "Row 1, Name: This column is there twice."),
        (b"Name\n" + b"Al Oak\n" * 100_000, "more than 2,000 rows"),
        (b"Name\n" + b"x" * LARGEST, "The file is too large: 1,000,000 bytes and 2,000 rows at most."),
        (PICTURE, "This is no CSV file."),
    ],
    ids=["empty", "blank", "header", "unknown", "twice", "100,000 rows", "large", "picture"],
)
def test_a_file_that_cannot_be_taken_in_gets_a_clear_answer(
    content: bytes, said: str, cast: Cast, as_: Clients
) -> None:
    answer = upload(as_("manager"), content)
    assert answer.status_code == 422 and said in words(answer)


def test_a_coach_adds_own_students_only_and_learns_of_others_no_more_than_the_name(cast: Cast, as_: Clients) -> None:
    rows = [["Al Oak"], ["Petra Sallowpipit"]]
    refused = upload(as_("coach"), table(rows, ["Name"]))
    assert refused.status_code == 422 and "Here already 0" in words(refused)
    assert "Row 3, Name: Somebody else at the academy has this name. Add this student" in words(refused)
    other = upload(as_("coach"), table([["Al Oak", "Cai Meadowtwine"]], ["Name", "Coach"]))
    assert "Row 2, Coach: Students whom you add are yours." in words(other)
    take_in(as_("coach"), upload(as_("coach"), table([["Al Oak"]], ["Name"])))
    assert Student.objects.get(name="Al Oak").cares.get().coach == cast.coach


def test_a_preview_is_worth_nothing_to_anybody_else_nor_when_changed(cast: Cast, as_: Clients) -> None:
    page = upload(as_("manager"), table())
    [signed] = re.findall(r'name="table" value="([^"]*)"', page.content.decode())
    make_manager(cast.other_coach.user)
    for client, value in ((as_("other_coach"), signed), (as_("manager"), signed[:-2]), (as_("manager"), "")):
        answer = client.post(reverse("students_file_save"), {"table": value, "new": "2"})
        assert answer.status_code == 422 and "cannot be read any more" in words(answer)
    assert not Student.objects.filter(name="Zoë Märzwind").exists()


def test_many_rows_ask_the_database_no_more_often(cast: Cast, as_: Clients) -> None:
    client, asked = as_("manager"), []
    for number in (2, 300):
        rows = [[f"Student {index}", f"s{index}@example.org", "Ida Fernkettle"] for index in range(number)]
        content = table(rows, ["Name", "E-mail", "Coach"])
        with CaptureQueriesContext(connection) as captured:
            assert upload(client, content).status_code == 200
        asked.append(len(captured))
    assert asked[0] == asked[1] <= 12, captured.captured_queries


def test_the_page_names_every_column_and_the_limits(cast: Cast, as_: Clients) -> None:
    said = words(as_("manager").get(reverse("students_file")))
    assert [column.heading for column in COLUMNS.values() if f"{column.heading} {column.holds}" not in said] == []
    assert str(MOST_ROWS) in said and reverse("students_file") in as_("coach").get(reverse("students")).content.decode()
