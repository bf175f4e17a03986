"""What the code of the site never does, read from its syntax trees; ids are those of OWASP ASVS 5.0.0.

A requirement that is met because something is absent is met only as long as it stays absent.
"""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from django.apps import apps
from django.conf import settings
from django.db import models

from coachbook.bootstrap import PIN

ROOT = Path(settings.BASE_DIR)
# Commands that a person runs on the machine itself; no request reaches them.
COMMANDS = (
    *("coachbook/bootstrap.py", "coachbook/system_packages.py", "coachbook/management/", "coachbook/demo/"),
    *(f"coachbook/operations/backups/{name}.py" for name in ("databases", "make", "manifest", "restore", "rows")),
    *("coachbook/operations/growth/copy.py", "coachbook/operations/growth/places.py"),
    *("coachbook/operations/asking.py", "coachbook/operations/site_settings.py"),
    *("lessons/progress/calibration.py", "lessons/progress/state_calibration.py", "lessons/progress/scenarios.py"),
    "lessons/progress/streak_calibration.py",
    "coachbook/digests/sending.py",
    *("drills/putting/calibration.py", "drills/putting/scenarios.py", "drills/scored_tests/results/calibration.py"),
)


@cache
def modules() -> dict[str, ast.Module]:
    """The syntax tree of every module that answers requests."""
    files = (file for folder in ("coachbook", "lessons", "drills") for file in (ROOT / folder).rglob("*.py"))
    named = {file.relative_to(ROOT).as_posix(): file for file in files}
    return {
        name: ast.parse(file.read_text())
        for name, file in sorted(named.items())
        if not name.startswith(COMMANDS) and "/migrations/" not in name
    }


def imported() -> Iterator[tuple[str, str]]:
    """Every module that is imported, as (importing file, name)."""
    for file, tree in modules().items():
        for node in ast.walk(tree):
            if isinstance(node, ast.Import):
                yield from ((file, alias.name) for alias in node.names)
            if isinstance(node, ast.ImportFrom):
                yield from ((file, f"{node.module}.{alias.name}") for alias in node.names)


def importing(*names: str) -> list[str]:
    """The files that import one of these modules, or something of it."""
    return sorted({file for file, name in imported() if any(f"{name}.".startswith(f"{one}.") for one in names)})


def calls() -> Iterator[tuple[str, str, ast.Call]]:
    """Every call, as (file, what is called, node)."""
    for file, tree in modules().items():
        for node in ast.walk(tree):
            if isinstance(node, ast.Call):
                yield file, ast.unparse(node.func), node


def calling(*endings: str) -> list[str]:
    """The files that call a function or a method of one of these names."""
    return sorted({file for file, called, _ in calls() if called.split(".")[-1] in endings})


def test_the_modules_are_read() -> None:
    assert len(modules()) > 100 and "coachbook/accounts/gate.py" in modules()
    assert importing("secrets") == [
        "coachbook/accounts/devices.py",
        "coachbook/accounts/one_time_codes.py",
        "coachbook/accounts/tokens.py",
        "coachbook/settings.py",
        "lessons/models/stills.py",
    ]


def test_no_request_starts_a_program() -> None:
    """1.2.5."""
    assert importing("subprocess", "os.system", "os.popen", "pty", "commands") == []
    assert calling("system", "popen", "spawn", "execv") == []


def test_no_module_runs_text_as_code() -> None:
    """1.3.2."""
    assert [(file, called) for file, called, _ in calls() if called in ("eval", "exec", "compile", "__import__")] == []


def test_templates_are_files_of_ours() -> None:
    """1.3.7: no template is made of text that somebody typed."""
    assert importing("django.template.Template", "django.template.engines", "jinja2", "string.Template") == []
    assert calling("from_string", "Template") == []


def test_sql_is_written_by_the_orm() -> None:
    """1.2.4: one module joins queries that the ORM wrote; their values stay beside them."""
    assert calling("raw", "extra", "RawSQL", "cursor", "execute", "executemany") == [
        "coachbook/backends/sqlite3/base.py",  # the settings of a connection
        "coachbook/caseload/findings/gather.py",
    ]
    assert importing("django.db.models.expressions.RawSQL", "django.db.RawSQL", "sqlite3", "psycopg") == [
        "coachbook/backends/sqlite3/base.py",  # which opens connections
        "coachbook/checks.py",  # which asks for the version and no more
        "coachbook/outages.py",  # which knows the drivers' errors
    ]
    executed = [node for _, called, node in calls() if called == "cursor.execute"]
    assert [len(node.args) for node in executed] == [2] and isinstance(executed[0].args[0], ast.Name)


def test_no_pattern_is_made_of_what_somebody_typed() -> None:
    """1.2.9: each pattern is written out, or made of escaped words."""
    functions = ("compile", "match", "fullmatch", "search", "sub", "subn", "split", "findall", "finditer")
    patterns = [
        (file, ast.unparse(node.args[0]))
        for file, called, node in calls()
        if called in {f"re.{name}" for name in functions} and not isinstance(node.args[0], ast.Constant)
    ]
    assert [found for found in patterns if "re.escape" not in found[1]] == []
    words = [node.arg for tree in modules().values() for node in ast.walk(tree) if isinstance(node, ast.keyword)]
    assert not [word for word in words if word and word.endswith(("__regex", "__iregex"))]


def test_no_format_is_made_of_what_somebody_typed() -> None:
    """1.3.10: what is formatted is a constant, or words that come with the program."""
    formatted = {f"{file}: {called}" for file, called, _ in calls() if called.endswith((".format", ".format_map"))}
    assert formatted == {
        "coachbook/corrections/approvals/wording.py: CONSENTS_STAY.format",
        "coachbook/family/consents.py: SEEN.format",
        "coachbook/caseload/findings/gather.py: SUMS_OVER_STUDENTS.format",  # two columns, named in the module
        "coachbook/loop/sheets/gather.py: words.format",  # CAUTIONS
        "coachbook/logs.py: super().format",  # of a log record, by the format of the settings
        "drills/putting/coach_text.py: SHIFTED.format",
        "drills/putting/coach_text.py: TEN.format",
        "drills/putting/coach_text.py: wanted.format",  # sentences of the module, with numbers
        "drills/scored_tests/designs/forms.py: AIM.format",
        "drills/putting/student_text.py: sentence.format",  # sentences of the module
    }


def test_nothing_is_read_that_could_be_code() -> None:
    """1.5.2: neither pickles nor YAML; sessions and signed values are JSON or plain text."""
    assert importing("pickle", "marshal", "shelve", "dill", "yaml", "jsonpickle") == []
    assert settings.SESSION_SERIALIZER.endswith("JSONSerializer")


def test_no_xml_is_parsed() -> None:
    """1.5.1, and 1.2.7 with it: drawings are built as XML, and nothing that builds them reads any."""
    assert importing("lxml", "defusedxml", "bs4", "html5lib") == []
    building = importing("xml")
    assert building == ["drills/library/drawing/canvas.py", "drills/library/drawing/draw.py"]
    reading = re.compile(r"fromstring|iterparse|XMLParser|XMLPullParser|XMLID|\bXML\(|\.parse\(|minidom|\bsax\b|expat")
    assert [name for name in building if reading.search((ROOT / name).read_text())] == []


def test_tables_are_exported_at_one_place() -> None:
    """1.2.10: where no cell begins a formula (test_caseload.py); whoever adds another one writes that test, too."""
    assert importing("csv", "openpyxl", "xlsxwriter", "pandas") == ["coachbook/csv_file.py"]


def test_no_memory_is_managed_by_hand() -> None:
    """1.4.1 and 1.4.3."""
    assert importing("ctypes", "cffi", "mmap") == []


def test_no_request_asks_another_machine() -> None:
    """1.3.6, 13.2.4, 13.2.5 and 15.3.2: only Django's own mail and database connections go out."""
    clients = ("urllib.request", "http.client", "requests", "httpx", "aiohttp", "socket", "smtplib", "ftplib", "ldap")
    assert importing(*clients) == []


def test_files_are_taken_at_three_places_and_kept_at_one() -> None:
    """5.1.1 to 5.4.3 and 14.2.8: a library and a table of students, read as text; and pictures, which are drawn anew.

    A further upload turns this test red.
    """
    taking = {
        file
        for file, tree in modules().items()
        if any(isinstance(node, ast.Attribute) and node.attr == "FILES" for node in ast.walk(tree))
    }
    assert {str(file) for file in taking} == {
        "coachbook/loop/stills/beside/references/views.py",
        "coachbook/loop/stills/views.py",
        "coachbook/loop/students_file/views.py",
        "drills/library/carry/views.py",
    }
    assert {found.split(":")[0] for found in calling("FileField", "FileInput")} == {
        "coachbook/loop/stills/forms.py",
        "coachbook/loop/students_file/forms.py",
        "drills/library/carry/forms.py",
    }
    assert calling("ImageField", "FilePathField", "ClearableFileInput") == []
    # All pack, and reading.py reads what a command is given, row by row; nothing is unpacked onto a disk.
    packing = [f"academy_file/{name}.py" for name in ("archive", "pictures", "reading")] + ["export/archive.py"]
    assert importing("zipfile") == [f"coachbook/rights/{path}" for path in packing]
    assert calling("extractall", "unpack_archive") == []
    assert importing("tarfile", "gzip", "bz2", "lzma", "pickle", "yaml") == []
    fields = [field for model in apps.get_models() for field in model._meta.get_fields()]
    assert len(fields) > 100 and not [field for field in fields if isinstance(field, models.FileField)]


def test_no_file_is_read_at_an_address_that_somebody_typed() -> None:
    """5.3.2: views open no file; those that are sent are made of rows, under names of ours."""
    assert calling("FileResponse", "serve", "sendfile") == []
    assert [file for file, called, _ in calls() if called in ("open", "io.open", "os.open")] == []
    reading = {(file, called) for file, called, _ in calls() if called.endswith((".read_text", ".read_bytes"))}
    assert {file for file, _ in reading} <= READING and all("request" not in called for _, called in reading)


# Each reads files at an address written out in it or in the settings.
READING = {
    "coachbook/offline/files.py",  # static files of ours, by names of ours
    "coachbook/rights/erasure/carry_out.py",  # and mails and keys that the program wrote
    "coachbook/settings.py",
    "coachbook/loop/months/views.py",
    "coachbook/loop/paper/views.py",
    "coachbook/loop/sheets/views.py",
    "lessons/shipped.py",
    "lessons/sentence/catalogue.py",
    "lessons/sentence/cues.py",
    "lessons/sentence/tokens.py",
}


def test_random_numbers_that_guard_something_are_those_of_the_system() -> None:
    """11.5.1 and 6.5.3: the only other ones draw balls for a model."""
    assert importing("random") == []
    drawing = {file for file, called, _ in calls() if "default_rng" in called}
    assert drawing and all(file.startswith("drills/putting/") for file in drawing)
    assert {called for _, called, _ in calls() if called.startswith("secrets.")} == {
        "secrets.choice",
        "secrets.token_hex",  # names of files
        "secrets.token_urlsafe",
    }


def test_hashes_are_sha_256() -> None:
    """11.4.1 and 11.4.3."""
    assert {called for _, called, _ in calls() if re.fullmatch(r"hashlib\.\w+", called)} == {"hashlib.sha256"}


def test_cryptography_is_that_of_libraries() -> None:
    """11.2.1; nothing is encrypted by hand (11.3.1 to 11.3.3), nor is there a key pair (11.6.1)."""
    assert importing("Crypto", "nacl", "OpenSSL", "ssl", "jwt", "hmac") == []
    assert importing("cryptography") == ["coachbook/accounts/second_factor.py"]
    assert {name for _, name, _ in calls() if "Fernet" in name} == {"Fernet", "MultiFernet"}


def test_nothing_of_a_record_is_kept_in_the_cache() -> None:
    """14.2.2: only counts of tries, of forms sent and used codes are kept there."""
    assert importing("django.core.cache", "django.views.decorators.cache.cache_page") == [
        "coachbook/accounts/sign_in.py",
        "coachbook/cache.py",
        "coachbook/throttle.py",
    ]


def test_no_form_takes_every_field() -> None:
    """15.3.3: each form names the fields that it takes."""
    taken = [
        (file, ast.unparse(node))
        for file, tree in modules().items()
        for node in ast.walk(tree)
        if (isinstance(node, ast.Assign) and ast.unparse(node) in ("fields = '__all__'",))
        or (isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "exclude")
    ]  # fmt: skip
    assert taken == []


def test_nobody_asks_whether_a_value_came_by_post_or_by_address() -> None:
    """15.3.7: what is in the address is read as such, what was posted as such."""
    read = {node.attr for tree in modules().values() for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    assert {"GET", "POST"} <= read and not {"REQUEST", "QUERY_PARAMS"} & read


def test_types_are_checked_strictly() -> None:
    """15.3.5."""
    assert "strict = True" in (ROOT / ".mypy.ini").read_text()
    assert re.search(r"mypy coachbook lessons drills", (ROOT / ".ci/run").read_text())
    unchecked = [file for file, tree in modules().items() if "mypy: ignore-errors" in ast.unparse(tree)]
    assert unchecked == []


# --- Scripts ------------------------------------------------------------------------------------


@cache
def scripts() -> dict[str, str]:
    folder = ROOT / "static/js"
    return {file.relative_to(folder).as_posix(): file.read_text() for file in (ROOT / "static").rglob("*.js")}


OUTBOX = {f"outbox/{name}.js" for name in ("files", "forms", "outbox", "page", "parts", "sender", "store", "strip")}
OFFLINE = {path.relative_to(ROOT / "static/js").as_posix() for path in (ROOT / "static/js/offline").glob("*.js")}
WORKER = "offline/worker.js"  # a script of its own, at an address of its own
MODULES = {
    *OUTBOX,
    *OFFLINE - {WORKER},
    "log_outbox.js",
    "score.js",
    "sign_out.js",
}  # strict by being modules
# What is not sent yet waits in the browser, a deviation from 14.3.3, and is sent to the forms' own addresses.
OF_THE_OUTBOX = {
    "postMessage": {"outbox/outbox.js"},
    "onmessage": {"outbox/outbox.js"},
    "BroadcastChannel": {"outbox/outbox.js"},
    "indexedDB": {"offline/kept.js", "outbox/outbox.js", "outbox/store.js", "sign_out.js"},
    "fetch(": {"log_choices.js", "offline/keep.js", WORKER, "outbox/forms.js", "outbox/sender.js", "take.js"},
    "caches.": {WORKER},  # static files and the empty page
}
TAKING = {
    "take.js",
    *(f"taking/{name}.js" for name in ("camera", "clip", "sender", "shrink", "waiting")),
}  # strict: modules
# A request that says how much of a picture is sent, to the form's own address; `fetch` cannot.
OF_TAKING = {"XMLHttpRequest": {"taking/sender.js"}}


@pytest.mark.parametrize(
    "name",
    ["page.js", "log.js", "explore.js", "passkey.js", "sheet.js", "drill_edit.js", "side_words.js", "practice.js",
     "log_marks.js", "log_choices.js", "beside.js", WORKER],
)  # fmt: skip
def test_each_script_is_strict(name: str) -> None:
    """15.3.5."""
    assert '"use strict";' in scripts()[name] and not re.search(r"[^=!]==[^=]|!=[^=]", scripts()[name])


def test_no_other_script_is_there() -> None:
    assert set(scripts()) == {
        *MODULES,
        WORKER,
        "log_marks.js",
        "log_choices.js",
        *TAKING,
        "page.js",
        "log.js",
        "explore.js",
        "passkey.js",
        "sheet.js",
        "drill_edit.js",
        "side_words.js",
        "practice.js",
        "beside.js",
        "measure.js",
    }


@pytest.mark.parametrize(
    "way",
    [
        *("innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "createContextualFragment"),  # 3.2.2
        *("eval(", "new Function", 'setTimeout("', "import("),  # 1.3.2
        *("postMessage", '"message"', "onmessage", "BroadcastChannel"),  # 3.5.5
        *("localStorage", "sessionStorage", "indexedDB", "caches.", "document.cookie ="),  # 14.3.3
        *("__proto__", "Object.assign", "prototype", "constructor["),  # 15.3.6
        *('"paste"', '"copy"', "onpaste", "clipboardData", "clipboard.read", "execCommand"),  # 6.2.7
        *("fetch(", "XMLHttpRequest", "sendBeacon", "new WebSocket", "EventSource", "importScripts"),  # 14.2.3
    ],
)
def test_no_script_goes_a_way_that_is_unsafe(way: str) -> None:
    assert {name for name, text in scripts().items() if way in text} == OF_THE_OUTBOX.get(way, set()) | OF_TAKING.get(
        way, set()
    )


@pytest.mark.parametrize("name", sorted({*MODULES, *TAKING}))
def test_each_module_compares_strictly(name: str) -> None:
    """15.3.5; a message in a channel comes from this origin alone."""
    assert re.search(r"^(import|export) ", scripts()[name], re.M)
    assert not re.search(r"[^=!]==[^=]|!=[^=]", scripts()[name])


def test_the_clipboard_is_only_written_and_by_one_button() -> None:
    """6.2.7: no script stands between a person and what they paste; one copies a link of the page when it is tapped."""
    uses = [(name, use) for name, text in scripts().items() for use in re.findall(r".*clipboard.*", text)]
    assert {name for name, _ in uses} == {"page.js"} and len(uses) == 2
    assert sum(use.count("navigator.clipboard.writeText(text.textContent)") for _, use in uses) == 1
    assert sum(use.count("button.hidden = !navigator.clipboard;") for _, use in uses) == 1


def test_a_script_sets_a_field_of_an_object_by_a_name_of_ours_alone() -> None:
    """15.3.6: a name that somebody typed could be that of a prototype."""
    set_by_name = [
        found for text in scripts().values() for found in re.findall(r"(?<!const )\[([^\]]+)\]\s*=[^=]", text)
    ]
    assert set_by_name == ['"X-CSRFToken"']


def test_pages_keep_no_history_in_the_browser() -> None:
    """14.3.3: htmx would keep whole pages in the browser's storage."""
    assert '"historyCacheSize": 0' in (ROOT / "templates/base.html").read_text()


def test_pages_embed_nothing_that_needs_a_plugin() -> None:
    """3.7.1."""
    pages = [file.read_text() for file in (ROOT / "templates").rglob("*.html")]
    assert len(pages) > 50
    assert not [page for page in pages if re.search(r"<(object|embed|applet|iframe|frame|marquee)\b", page)]


# --- Packages -----------------------------------------------------------------------------------


def pins(name: str) -> dict[str, str]:
    lines = (line.split("#")[0].strip() for line in (ROOT / name).read_text().splitlines())
    found = {line: PIN.match(line) for line in lines if line and not line.startswith("-r")}
    assert [line for line, pin in found.items() if pin is None] == []
    return {pin[1].lower().replace("_", "-"): pin[3] for pin in found.values() if pin}


def test_every_package_that_runs_is_named_with_its_version() -> None:
    """15.1.2: what the chosen ones bring along is pinned as they are."""
    from importlib.metadata import requires

    from packaging.requirements import Requirement

    chosen, wanting = pins("requirements.txt"), []
    for name in chosen:
        for text in requires(name) or []:
            needed = Requirement(text)
            if needed.marker is None or needed.marker.evaluate({"extra": ""}):
                wanting += [needed.name] if needed.name.lower().replace("_", "-") not in chosen else []
    assert len(chosen) > 25 and wanting == []


def test_packages_come_from_the_one_index() -> None:
    """15.1.2: no other index, no address, no file."""
    text = (ROOT / "requirements.txt").read_text() + (ROOT / "tests/requirements.txt").read_text()
    assert not re.search(r"--(extra-)?index-url|--find-links|git\+|https?://|file:", text)
