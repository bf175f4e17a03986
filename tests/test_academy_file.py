"""The whole academy as a file: out and in again without loss, no formula in it, and no bad file taken in by half."""

import csv
import io
import json
import re
import threading
import zipfile
from collections.abc import Callable
from datetime import UTC
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from allauth.mfa.models import Authenticator
from django.apps import apps
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st

from coachbook.accounts.models import Invitation, RecordView, Student, User
from coachbook.csv_file import LONGEST_CELL, read_rows, write_rows
from coachbook.diary.models import CalendarFeed
from coachbook.operations.backups.databases import one_moment
from coachbook.operations.backups.rows import count_tables, models_stored
from coachbook.rights.academy_file import cells
from coachbook.rights.academy_file.archive import save_academy
from coachbook.rights.academy_file.cells import CellProblem, Column
from coachbook.rights.academy_file.reading import FileProblem
from coachbook.rights.academy_file.tables import COLUMNS_LEFT_OUT, LEFT_OUT, tables
from coachbook.rights.academy_file.take_in import take_in_academy
from coachbook.rights.models import AcademyFile
from lessons.models import Lesson
from tests.conftest import Cast
from tests.make import academy_today, make_design, make_drill, make_fault, make_lesson, make_skill
from tests.whole_record import make_whole_record

Clients = Callable[[str], Client]
FORMULAS = "=+-@＝＋－＠"
many = settings(max_examples=100, deadline=None)

# --- Cells, pure --------------------------------------------------------------------------------

awkward = st.text(st.sampled_from("'\"=+-@\t\r\n\0 ,;é＝\u2028\ufeff1"), max_size=8)
texts = st.one_of(awkward, st.text(st.characters(codec="utf-8")))
documents = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
    max_leaves=5,
)
VALUES = {
    cells.TEXT: texts,
    cells.WHOLE_NUMBER: st.integers(-(2**63), 2**63 - 1),
    cells.DECIMAL: st.decimals(allow_nan=False, allow_infinity=False, places=2),
    cells.FLOAT: st.floats(allow_nan=False, allow_infinity=False),
    cells.YES_NO: st.booleans(),
    cells.DAY: st.dates(),
    cells.TIME: st.times().map(lambda value: value.replace(fold=0)),
    cells.MOMENT: st.datetimes(timezones=st.just(UTC)).map(lambda value: value.replace(fold=0)),
    cells.KEY: st.uuids(),
    cells.DOCUMENT: documents,
}
COLUMNS = [Column(kind.name, kind.name, kind, is_optional) for kind in VALUES for is_optional in (False, True)]
ROWS = st.tuples(
    *(st.none() | VALUES[column.kind] if column.is_optional else VALUES[column.kind] for column in COLUMNS)
)


def through_a_file(rows: list[list[Any]]) -> tuple[list[list[str]], list[list[str]]]:
    """The rows as they are read again, and as any program reads them that knows RFC 4180."""
    file = io.StringIO(newline="")
    write_rows(file, rows)
    again, elsewhere = (io.StringIO(file.getvalue(), newline="") for _ in range(2))
    return list(read_rows(again)), list(csv.reader(elsewhere))


@many
@given(st.lists(ROWS, min_size=1, max_size=2))
def test_every_value_of_every_kind_comes_back_and_no_words_begin_a_formula(rows: list[tuple[Any, ...]]) -> None:
    """Nothing is not empty words; a negative number stays a number, and words that look like one stay words."""
    written = [[column.cell(value) for column, value in zip(COLUMNS, row, strict=True)] for row in rows]
    read, seen = through_a_file(written)
    values = [tuple(column.value(cell) for column, cell in zip(COLUMNS, row, strict=True)) for row in read]
    assert [list(map(repr, row)) for row in values] == [list(map(repr, row)) for row in rows]
    for row in seen:
        for column, cell in zip(COLUMNS, row, strict=True):
            is_number = column.kind in (cells.WHOLE_NUMBER, cells.DECIMAL, cells.FLOAT)
            assert is_number or not cell.lstrip('"\n\r\t\0 \u2028').startswith(tuple(FORMULAS)), cell
            assert not cell.startswith(("\t", "\r", "\n", "\0"))


def test_formulas_are_made_safe_as_owasp_asks() -> None:
    """OWASP's page on CSV injection: = + - @, their wide forms, a tab, CR and LF; ASVS 5.0.0, 1.2.10: NUL as well."""
    words = [f"{first}{start}1" for first in ("", '"', "'", "\n", ' "\t', " \0") for start in FORMULAS]
    words += [f"{start}words" for start in "\t\r\n\0"]
    read, seen = through_a_file([[word, "1-1", "a=b", "'quoted'"] for word in words])
    assert [row[0] for row in seen] == [f"'{word}" for word in words]
    assert read == [[word, "1-1", "a=b", "'quoted'"] for word in words]
    assert through_a_file([[-3, -2.5, Decimal("-1.50")]])[1] == [["-3", "-2.5", "-1.50"]]


def test_a_cell_may_be_longer_than_the_limit_of_the_standard_library() -> None:
    long = "é" * 200_000
    assert through_a_file([[long, "x"]])[0] == [[long, "x"]] and 10 * len(long) < LONGEST_CELL


@pytest.mark.parametrize(
    ("kind", "cell"),
    [
        (cells.WHOLE_NUMBER, "1.5"), (cells.WHOLE_NUMBER, "١"), (cells.WHOLE_NUMBER, "9" * 20),
        (cells.WHOLE_NUMBER, ""),
        (cells.DECIMAL, "1,5"), (cells.FLOAT, "nan"), (cells.FLOAT, "1e999"), (cells.FLOAT, "1_0"),
        (cells.YES_NO, "TRUE"),
        (cells.DAY, "30.06.2026"), (cells.DAY, "2026-02-30"), (cells.MOMENT, "2026-06-30T10:00:00"), (cells.KEY, "12"),
        (cells.DOCUMENT, "{'a': 1}"), (cells.DOCUMENT, "[" * 100_000), (cells.DOCUMENT, ""),
    ],
)  # fmt: skip
def test_a_cell_that_holds_no_such_value_is_refused_with_an_example(kind: cells.Kind, cell: str) -> None:
    with pytest.raises(CellProblem, match=re.escape(f"is no {kind.name} ({kind.says})")):
        Column("x", "x", kind).value(cell)


def test_what_a_database_would_cut_off_is_refused() -> None:
    with pytest.raises(CellProblem, match="4 letters; 3 at most"):
        Column("x", "x", cells.TEXT, longest=3).value("four")
    with pytest.raises(CellProblem, match="40000 does not lie between 0 and 32767"):
        Column("x", "x", cells.WHOLE_NUMBER, limits=(0, 32767)).value("40000")


# --- Which tables -------------------------------------------------------------------------------


def test_every_table_is_in_the_file_or_left_out_with_a_reason() -> None:
    labels = {model._meta.label for model in apps.get_models(include_auto_created=True) if model._meta.managed}
    assert {table.model._meta.label for table in tables()} | set(LEFT_OUT) == labels
    assert not {table.model._meta.label for table in tables()} & set(LEFT_OUT)
    assert all(len(reason) > 7 for reason in [*LEFT_OUT.values(), *COLUMNS_LEFT_OUT.values()])


def test_no_column_is_a_secret_and_each_pointer_leads_to_a_file() -> None:
    columns = [(table.path, column) for table in tables() for column in table.columns]
    secret = re.compile("password|hash|token|secret|session_key")
    assert [(path, column.name) for path, column in columns if secret.search(column.name)] == []
    paths = [table.path for table in tables()]
    assert {column.points_to for _, column in columns} - {""} <= set(paths) and len(set(paths)) == len(paths)


def test_each_file_says_what_its_rows_are() -> None:
    """In the words of the model, whose first sentence is read by whoever opens the file."""
    assert [table.path for table in tables() if not re.fullmatch(r"[A-Z].{10,150}[.?]", table.about)] == []
    assert [table.path for table in tables() if re.search(r"\w+\.py|`|_", table.about)] == []


# --- Out and in again ---------------------------------------------------------------------------

AWKWARD = "=1+1\r\n\"two\", '+3'\n\t@é＝ \u2028"


def make_academy_full_of_rows(cast: Cast) -> None:
    """A row in nearly every table, with words that a spreadsheet or a reader of CSV might break."""
    make_fault(make_skill())
    make_drill("putting-ball-gate")
    make_design()
    make_whole_record(cast.student, cast.coach, cast.manager)
    lesson = cast.student.lessons.latest("pk")
    for words in (AWKWARD, "", "'", "''=", "\ufeff-1"):
        lesson.keep = words
        lesson.save()
    lesson.unsaved = {"words": AWKWARD, "nothing": None, "numbers": [1, 2.5, -0.0001, True], "\u2028": {}}
    lesson.save()
    make_lesson(cast.student, cast.coach, days_ago=30).delete()  # its history points to a row that is gone
    Student.history.filter(id=cast.student.pk).update(history_change_reason="")
    AcademyFile.objects.create(at=timezone.now(), by=cast.manager)


def save(path: Path) -> Path:
    with path.open("w+b") as file:
        save_academy(file, timezone.now())
    return path


def empty_place() -> None:
    """Delete every row of the academy; the keys that point to them are checked at the end of a transaction only."""
    for model in models_stored():
        if not model._meta.label.startswith(("auth.", "contenttypes.")):
            rows = model._base_manager.all()
            rows._raw_delete(rows.db)


def count_saved() -> dict[str, Any]:
    """The tables of the file that are saved as a whole."""
    counted = count_tables("default")
    return {name: counted[name] for name in (t.model._meta.db_table for t in tables() if t.model is not User)}


@pytest.mark.history
@pytest.mark.both_databases
def test_out_and_in_again_without_loss(cast: Cast, tmp_path: Path) -> None:
    """Every row and value, by the checksums of backups; of accounts all but the password and the last sign-in."""
    make_academy_full_of_rows(cast)
    before, users = count_saved(), list(User.objects.order_by("pk").values())
    assert len([name for name, table in before.items() if table["rows"]]) > 60
    path = save(tmp_path / "academy.zip")
    empty_place()
    rows = take_in_academy(path)
    assert count_saved() == before and rows == sum(table["rows"] for table in before.values()) + len(users)
    kept = [{**user, "password": None, "last_login": None} for user in users]
    assert [{**user, "password": None} for user in User.objects.order_by("pk").values()] == kept
    assert not [user for user in User.objects.all() if user.has_usable_password()]
    assert set(Lesson.history.values_list("keep", flat=True)) >= {AWKWARD, "", "'", "''=", "\ufeff-1"}
    Student.objects.create(name="Somebody new")  # numbered behind those that were taken in
    connection.check_constraints()


@pytest.mark.both_databases
def test_what_is_saved_is_of_one_moment_while_somebody_writes(transactional_db: None, tmp_path: Path) -> None:
    Student.objects.create(name="First")
    with one_moment():
        before = Student.objects.count()
        writer = threading.Thread(target=add_student)
        writer.start()
        writer.join(timeout=30)
        assert not writer.is_alive()  # nobody waits for the file
        during = Student.objects.count()
    assert (before, during, Student.objects.count()) == (1, 1, 2)
    with transaction.atomic():
        Student.objects.create(name="Third")  # the connection writes as before


def add_student() -> None:
    with transaction.atomic():
        Student.objects.create(name="Second")
    connection.close()


# --- Bad files ----------------------------------------------------------------------------------

Change = Callable[[dict[str, bytes]], object]
STUDENT, LESSON = "tables/student.csv", "tables/lesson.csv"


def unpack(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def pack(files: dict[str, bytes], path: Path) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in files.items():
            packed.writestr(name, content)
    return path


def replace(name: str, old: str, new: str) -> Change:
    """Words in one file replaced once."""

    def change(files: dict[str, bytes]) -> None:
        assert old.encode() in files[name], old
        files[name] = files[name].replace(old.encode(), new.encode(), 1)

    return change


def set_cell(name: str, row: int, column: str, words: str) -> Change:
    """One cell typed over; row 1 is the header."""

    def change(files: dict[str, bytes]) -> None:
        rows = list(csv.reader(io.StringIO(files[name].decode("utf-8-sig"), newline="")))
        rows[row - 1][rows[0].index(column)] = words
        files[name] = written(rows)

    return change


def add_row_again(name: str, number: int) -> Change:
    """A row that stands there twice."""

    def change(files: dict[str, bytes]) -> None:
        rows = list(csv.reader(io.StringIO(files[name].decode("utf-8-sig"), newline="")))
        files[name] = written([*rows, rows[number - 1]])

    return change


def written(rows: list[list[str]]) -> bytes:
    file = io.StringIO(newline="")
    csv.writer(file).writerows(rows)
    return file.getvalue().encode("utf-8-sig")


def set_contents(**values: Any) -> Change:
    def change(files: dict[str, bytes]) -> None:
        files["contents.json"] = json.dumps({**json.loads(files["contents.json"]), **values}).encode()

    return change


BAD: list[tuple[Change, str]] = [
    (lambda files: files.pop(LESSON), "tables/lesson.csv is missing in the ZIP"),
    (lambda files: files.pop("contents.json"), "there is no contents.json in it"),
    (lambda files: files.update({"../outside.csv": b"x"}), "'../outside.csv' is no file of an academy"),
    (lambda files: files.update({"/etc/outside": b"x"}), "'/etc/outside' is no file of an academy"),
    (lambda files: files.update({"tables/x\n.csv": b"x"}), r"'tables/x\\n.csv' is no file of an academy"),
    (lambda files: files.update({"contents.json": b"{"}), "contents.json cannot be read"),
    (lambda files: files.update({"contents.json": b"[" * 100_000}), "contents.json cannot be read"),
    (lambda files: files.update({LESSON: b"0" * 40_000_000}), "bytes large if it were unpacked"),
    (set_contents(format="another"), "does not say “coachbook academy”"),
    (set_contents(format_version=2, program="7.5"), "a newer version of coachbook, 7.5: install that one first"),
    (set_contents(migrations=[["accounts", "9999_unknown"]], program="7.5"), "a newer version of coachbook, 7.5"),
    (set_contents(migrations=5), "contents.json is not as it was saved"),
    (replace(STUDENT, "birth_year", "born"), "tables/student.csv, row 1: 'born' is no column of it"),
    (replace(STUDENT, ",birth_year", ""), "tables/student.csv, row 1: the column birth_year is missing"),
    (replace(STUDENT, "birth_year", "name"), "tables/student.csv, row 1: the column name stands there twice"),
    (replace(STUDENT, "id,key", "key,id"), "tables/student.csv, row 1: the columns must stand in this order: id, key"),
    (replace(STUDENT, "Alder Quimble", '"Alder" Quimble'), "student.csv: Row 2 cannot be read: a quotation mark"),
    (replace(STUDENT, "Alder Quimble", '"Alder Quimble'), "student.csv: Row 2 cannot be read: a quotation mark"),
    (replace(STUDENT, "Alder Quimble", "Alder,Quimble"), "tables/student.csv, row 2: 32 cells in place of 31"),
    (lambda files: files.update({STUDENT: files[STUDENT].replace(b"Alder", b"\xff")}), "is no text in UTF-8"),
    (set_cell(STUDENT, 2, "birth_year", "long ago"), "row 2, column birth_year: “long ago” is no whole number"),
    (set_cell(STUDENT, 3, "id", ""), "tables/student.csv, row 3, column id: “” is no whole number"),
    (set_cell(STUDENT, 2, "name", "x" * 121), "tables/student.csv, row 2, column name: 121 letters; 120 at most"),
    (add_row_again(STUDENT, 2), "tables/student.csv, row 4, column id: Student with this ID already exists."),
    (set_cell("tables/user.csv", 3, "username", "ida.fernkettle"), "tables/user.csv, row 3, column username: "),
    (set_cell(LESSON, 2, "student", "77000"), "row 2, column student: no row of tables/student.csv has the id 77000"),
    (set_cell(LESSON, 2, "putting_side", "up"), "tables/lesson.csv, row 2: "),
    (set_cell(STUDENT, 2, "name", "Somebody Else"), "tables/student.csv is not as it was saved"),
    (lambda files: files.update({LESSON: files[LESSON].split(b"\r\n")[0] + b"\r\n"}), r"holds 0 rows, and \d+ were"),
]  # fmt: skip


@pytest.fixture
def saved(cast: Cast, tmp_path: Path) -> Path:
    """A file with one lesson and the cast, and an empty place for it."""
    make_lesson(cast.student, cast.coach)
    path = save(tmp_path / "academy.zip")
    empty_place()
    return path


@pytest.mark.both_databases
def test_a_bad_file_is_refused_with_its_place_and_nothing_is_taken_in(saved: Path, tmp_path: Path) -> None:
    for number, (spoil, message) in enumerate(BAD):
        files = unpack(saved)
        spoil(files)
        with pytest.raises(FileProblem, match=message):
            take_in_academy(pack(files, tmp_path / f"{number}.zip"))
        assert not any(table.model._base_manager.exists() for table in tables()), message
    take_in_academy(saved)


def test_a_file_that_is_no_whole_zip_is_refused(saved: Path, tmp_path: Path) -> None:
    content = saved.read_bytes()
    damaged = bytearray(content)
    damaged[len(content) // 3] ^= 0xFF
    for number, spoiled in enumerate([b"", b"PK", content[:-30], content[: len(content) // 2], b"x" * 1000, damaged]):
        path = tmp_path / f"{number}.zip"
        path.write_bytes(spoiled)
        with pytest.raises(FileProblem, match="no whole ZIP file"):
            take_in_academy(path)
    for path in (tmp_path / "nothing.zip", tmp_path):
        with pytest.raises(FileProblem, match="cannot be read"):
            take_in_academy(path)
    with zipfile.ZipFile(saved, "a") as packed, pytest.warns(UserWarning, match="Duplicate name"):
        packed.writestr(STUDENT, b"again")
    with pytest.raises(FileProblem, match=f"{STUDENT} stands twice"):
        take_in_academy(saved)
    assert not Student.objects.exists()


def test_a_file_of_an_earlier_version_is_refused(saved: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    newest = frozenset({("accounts", "9999_newest")})
    monkeypatch.setattr("coachbook.rights.academy_file.reading.known_migrations", lambda: newest)
    with pytest.raises(FileProblem, match=r"an earlier version of coachbook, 1\.0: take it in with that one"):
        take_in_academy(saved)


def test_a_place_that_is_not_empty_is_left_as_it_is(cast: Cast, tmp_path: Path) -> None:
    path, before = save(tmp_path / "academy.zip"), count_tables("default")
    with pytest.raises(CommandError, match=r"rows of tables/academy.csv \(1\)(.|\n)*Nothing was taken in"):
        call_command("take_in_academy", path)
    assert count_tables("default") == before


def test_tables_that_were_edited_are_taken_in_when_that_is_said(saved: Path, tmp_path: Path) -> None:
    files = unpack(saved)
    set_cell(STUDENT, 2, "name", "=Alder")(files)
    said = io.StringIO()
    call_command("take_in_academy", pack(files, tmp_path / "edited.zip"), edited=True, stdout=said)
    assert Student.objects.filter(name="=Alder").exists() and "as they stand in the file" in said.getvalue()


# --- The page and the commands ------------------------------------------------------------------


def content_of(answer: Any) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(answer.content)) as packed:
        assert packed.testzip() is None
        return {name: packed.read(name) for name in packed.namelist()}


def test_a_manager_saves_the_academy_and_it_is_kept_who_did(cast: Cast, as_: Clients) -> None:
    answer = as_("manager").post(reverse("academy_file_save"))
    name = f"academy-{academy_today():%Y-%m-%d}.zip"
    assert answer["Content-Disposition"] == f'attachment; filename="{name}"' and "no-store" in answer["Cache-Control"]
    files = content_of(answer)
    assert b"Alder Quimble" in files[STUDENT]
    assert set(files) == {table.path for table in tables()} | {"README.txt", "contents.json"}
    assert AcademyFile.objects.get().by == cast.manager
    read = RecordView.objects.filter(page="academy_file_save", manager=cast.manager, day=academy_today())
    assert {row.student for row in read} == {cast.student, cast.other_student}  # both are juniors
    page = as_("manager").get(reverse("academy_file")).content.decode()
    assert "<li>Odile Bramblewing" in page
    changes = as_("coach").get(reverse("changes", args=[cast.student.key])).content.decode()
    assert "everything of the academy, as a file" in changes


def test_no_secret_is_in_the_file(cast: Cast, as_: Clients) -> None:
    """What opens an account, as it is stored: passwords, links, codes, second factors, sessions, calendars."""
    make_academy_full_of_rows(cast)
    User.objects.filter(pk=cast.student.user_id).update(password="pbkdf2_sha256$planted")
    Invitation.objects.filter(user=cast.student.user).update(token_hash="planted" * 9, code_hash="plantedcode")
    CalendarFeed.objects.create(coach=cast.coach, token_hash="planted" * 9, made_at=timezone.now())
    Authenticator.objects.update(data={"secret": "planted"})
    as_("student").get("/")
    planted = [b"planted", str(as_("student").session.session_key).encode()]
    files = content_of(as_("manager").post(reverse("academy_file_save")))
    assert [name for name, content in files.items() if any(word in content for word in planted)] == []


def test_its_readme_explains_each_file_column_and_kind(cast: Cast, as_: Clients) -> None:
    readme = content_of(as_("manager").post(reverse("academy_file_save")))["README.txt"].decode()
    for table in tables():
        part = readme.split(f"\n{table.path} (", 1)[1].split("\n\n", 1)[0]
        assert table.about in part
        assert [c.name for c in table.columns if f"\n  - {c.name}: {c.kind.name}" not in part] == []
    assert [kind.name for kind in cells.KINDS if f"\n- {kind.name}: {kind.says}\n" not in readme] == []
    assert [reason for reason in {*LEFT_OUT.values(), *COLUMNS_LEFT_OUT.values()} if reason not in readme] == []
    assert "&#x27;" not in readme and max(map(len, readme.splitlines())) <= 200


def test_the_command_writes_a_file_that_its_owner_alone_reads(cast: Cast, tmp_path: Path) -> None:
    path, said = tmp_path / "academy.zip", io.StringIO()
    call_command("save_academy", path, stdout=said)
    assert path.stat().st_mode & 0o777 == 0o600 and "rows in" in said.getvalue()
    assert AcademyFile.objects.get().by is None and list(tmp_path.iterdir()) == [path]
    with pytest.raises(CommandError, match="is there already"):
        call_command("save_academy", path)
    with pytest.raises(CommandError, match="There is no folder"):
        call_command("save_academy", tmp_path / "a/b.zip")
    empty_place()
    call_command("take_in_academy", path, stdout=said)
    assert "every row of every table is as it was saved" in said.getvalue()
    link = re.search(r"/people/invitation/\S+", said.getvalue())
    assert link and "Odile Bramblewing chooses a password here, once" in said.getvalue()
    assert Client().get(link[0]).status_code == 200


def test_who_was_erased_since_is_erased_again(saved: Path, cast: Cast, settings: Any, tmp_path: Path) -> None:
    settings.DATA_DIR, settings.BACKUP_DIR = tmp_path, tmp_path / "backups"
    (tmp_path / "erased_students.txt").write_text(f"{cast.other_student.key}\n")
    said = io.StringIO()
    call_command("take_in_academy", saved, stdout=said)
    assert "Erased again" in said.getvalue() and not Student.objects.filter(pk=cast.other_student.pk).exists()
    assert Student.objects.filter(pk=cast.student.pk).exists()
