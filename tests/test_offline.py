"""What a phone keeps for days without a network, and the worker with its versioned files."""

import json
import re
import shutil
from collections.abc import Callable
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest
from django.contrib.staticfiles.storage import StaticFilesStorage
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from coachbook.accounts.models import Coach, Guardianship, Student
from coachbook.diary.models import Appointment
from coachbook.loop.sheets.issue import issue_sheet, void_sheet
from coachbook.offline import files
from coachbook.offline.names import short_name
from coachbook.static_storage import StaticStorage
from drills.models import PracticeEntry
from lessons.models import Focus
from tests.conftest import Cast
from tests.library import load_library
from tests.make import academy_today, make_lesson, make_prescription, make_student

Clients = Callable[[str], Client]
LIMITS = "Heron-canary: a sore knee"


def plan(coach: Coach, *students: Student) -> None:
    """An appointment of now."""
    row = Appointment.objects.create(coach=coach, starts_at=timezone.now(), minutes=60, made_by=coach.user)
    row.students.add(*students)


def test_a_coachs_phone_keeps_short_names_and_open_focuses_of_who_comes(cast: Cast, as_: Clients) -> None:
    load_library()
    Student.objects.filter(pk=cast.student.pk).update(limits=LIMITS, name="Ottoline Mary Brackenrow")
    lesson = make_lesson(cast.student, cast.coach, note="Heron-canary")
    Focus.objects.create(
        student=cast.student, slot=1, area="putting", what="Quiet eyes", feel="Look later", opened_in=lesson
    )
    plan(cast.coach, cast.student, cast.other_student)  # the second one is out of reach
    client = as_("coach")
    with CaptureQueriesContext(connection) as captured:
        answer = client.get("/offline/day/")
    assert len(captured) <= 12
    assert "no-store" in answer["Cache-Control"]
    day = answer.json()
    assert [visit["student"] for visit in day["visits"]] == [str(cast.student.key)]
    [kept] = day["students"].values()
    assert kept["name"] == "Ottoline B."
    assert [(focus["title"], focus["feel"]) for focus in kept["focuses"]] == [("Quiet eyes", "Look later")]
    assert "canary" not in answer.content.decode()
    assert "Brackenrow" not in answer.content.decode()
    assert cast.other_student.name.split()[0] not in answer.content.decode()


def test_a_students_phone_keeps_their_own_sheet_and_none_that_was_withdrawn(cast: Cast, as_: Clients) -> None:
    own, others = (
        make_lesson(student, cast.coach, days_ago=days, status="complete", completed_at=timezone.now(), keep=keep)
        for student, days, keep in ((cast.student, 9, "Quiet eyes"), (cast.other_student, 1, "Heron-canary"))
    )
    sheet = issue_sheet(lesson=own, at=timezone.now())
    issue_sheet(lesson=others, at=timezone.now())
    answer = as_("student").get("/offline/day/")
    assert answer.json()["sheet"]["key"] == str(sheet.key) and "canary" not in answer.content.decode()
    void_sheet(sheet=sheet, reason="Wrong drill", at=timezone.now())
    assert as_("student").get("/offline/day/").json()["sheet"] is None


def test_blank_forms_are_about_nobody_and_are_sent_again_only_where_they_changed(cast: Cast, as_: Clients) -> None:
    load_library()
    plan(cast.coach, cast.student)
    forms = as_("coach").get("/offline/day/").json()["forms"]
    for name, text in forms["blanks"].items():
        assert cast.student.name not in text, name
        assert str(cast.student.key) not in text, name
    assert 'name="a.putting-lead-wrist.good"' in forms["blanks"]["log"]
    again = as_("coach").get("/offline/day/", {"forms": forms["version"]}).json()["forms"]
    assert again == {"version": forms["version"], "blanks": None}


def test_others_keep_only_what_is_theirs(cast: Cast, as_: Clients) -> None:
    load_library()
    day = as_("student").get("/offline/day/").json()
    assert (day["kind"], day["student"], day["sheet"]) == ("student", str(cast.student.key), None)
    assert day["on"] == academy_today().isoformat()
    assert as_("manager").get("/offline/day/").json()["kind"] == "none"
    assert Client().get("/offline/day/").status_code == 302


def test_a_guardians_phone_keeps_first_names_and_the_drills_of_each_child(cast: Cast, as_: Clients) -> None:
    """However many children: each in their own week, with nothing else of their record."""
    Student.objects.filter(pk=cast.student.pk).update(limits=LIMITS)
    sister, on = make_student("Flora Brackenrow", coach=cast.coach), academy_today()
    Guardianship.objects.create(student=sister, guardian=cast.guardian)
    for student, amount, begun in ((cast.student, 7, 3), (sister, 9, 1)):
        done = {"status": "complete", "completed_at": timezone.now(), "note": "Heron-canary", "keep": "Heron-canary"}
        lesson = make_lesson(student, cast.coach, **done)
        focus = Focus.objects.create(student=student, slot=1, area="putting", what="Quiet eyes", opened_in=lesson)
        given = make_prescription(lesson, focus, amount=amount, begins=on - timedelta(days=begun), per_week=5)
        PracticeEntry.objects.create(prescription=given, day=on - timedelta(days=2), amount=5, source="guardian")
    client = as_("guardian")
    with CaptureQueriesContext(connection) as captured:
        answer = client.get("/offline/day/")
    assert len(captured) <= 12
    day, words = answer.json(), answer.content.decode()
    assert (day["kind"], [child["name"] for child in day["children"]]) == ("guardian", ["Alder", "Flora"])
    found = [(drill["amount"], drill["week"], drill["today"]) for child in day["children"] for drill in child["drills"]]
    assert found == [(7, "1 of 5 this week", []), (9, "0 of 5 this week", [])], "each week from its own first day"
    assert not [word for word in ("canary", "Quimble", "Brackenrow", "Quiet eyes") if word in words]
    assert as_("past_guardian").get("/offline/day/").json()["kind"] == "none"


@pytest.mark.parametrize(("name", "short"), [("Ottoline", "Ottoline"), ("Ottoline Mary Brackenrow", "Ottoline B.")])
def test_a_short_name_is_the_first_with_an_initial(name: str, short: str) -> None:
    assert short_name(name) == short


def test_the_worker_is_for_the_whole_site_and_asked_for_anew(db: None, client: Client) -> None:
    answer = client.get("/worker.js")
    assert (answer["Cache-Control"], answer["Service-Worker-Allowed"]) == ("no-cache", "/")
    assert answer["Content-Type"].startswith("text/javascript")
    assert "worker-src 'self'" in answer["Content-Security-Policy"]
    site = json.loads(answer.content.decode().removeprefix("const SITE = ").split(";\n")[0])
    for address in [site["shell"], *site["files"]]:
        with closing(client.get(address)) as found:
            assert found.status_code == 200, address


def test_the_version_changes_with_any_file(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    before = files.hash_of_all()
    assert files.hash_of_all() == before
    changed = tmp_path / "worker.js"
    changed.write_text("// another one")
    monkeypatch.setattr(files, "WORKER", changed)
    assert files.hash_of_all() != before


def test_modules_import_one_another_by_hashed_names_that_the_worker_keeps(tmp_path: Path) -> None:
    storage, source = StaticStorage(location=tmp_path), StaticFilesStorage(location=files.STATIC)
    names = [str(path.relative_to(files.STATIC)) for path in files.STATIC.rglob("*.js")]
    shutil.copytree(files.STATIC / "js", tmp_path / "js")
    done = storage.post_process({name: (source, name) for name in names})
    hashed = {name: found for name, found, _ in done if found.endswith(".js")}  # the others are compressed
    kept = {hashed[name] for name in files.kept_files() if name.endswith(".js")}
    root = Path(storage.location)
    imports = {
        str((root / name).parent.joinpath(found).resolve().relative_to(root.resolve()))
        for name in kept
        for found in re.findall(r' from "([^"]+)"', (root / name).read_text(encoding="utf-8"))
    }
    assert len(imports) > 10
    assert imports <= kept
