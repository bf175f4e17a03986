"""The server's side of the outbox: what is sent again takes effect once, and no answer is taken for a success."""

import json
import re
import shutil
import uuid
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from django.utils import timezone

from coachbook.outbox.models import Receipt
from coachbook.outbox.once import KEPT
from coachbook.static_storage import StaticStorage
from drills.models import Ball, PracticeEntry, Prescription
from lessons.log import close_focus, open_focus
from lessons.models import Focus, Lesson, SeenFocus
from tests.conftest import Cast
from tests.make import (
    academy_today,
    fresh_key,
    make_design,
    make_fault,
    make_lesson,
    make_prescription,
    make_skill,
    this_time,
)

Clients = Callable[[str], Client]


def send(client: Client, person: Any, address: str, typed: dict[str, Any], key: object = None, age: int = 0) -> Any:
    """A form as an outbox sends it."""
    headers = {"Outbox-Key": str(key or uuid.uuid4()), "Outbox-Person": str(person.key), "Outbox-Age": str(age)}
    return client.post(address, typed, headers=headers)


@pytest.fixture
def given(cast: Cast) -> Prescription:
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now())
    fault = make_fault(make_skill())
    focus = open_focus(lesson=lesson, key=fresh_key(), values={"area": "putting", "fault": fault})
    return make_prescription(lesson, focus, begins=academy_today() - timedelta(days=9))


def report_address(given: Prescription, entry: object = None) -> str:
    return f"/students/{given.student.key}/practice/{given.key}/{entry or uuid.uuid4()}/"


def test_an_entry_counts_once_however_often_it_comes(cast: Cast, as_: Clients, given: Prescription) -> None:
    student, address, key = as_("student"), report_address(given), uuid.uuid4()
    answers = [send(student, cast.user("student"), address, {"amount": 7}, key) for _ in range(3)]
    assert [answer.status_code for answer in answers] == [201, 200, 200]
    assert {tuple(answer.json().items()) for answer in answers} == {
        (("key", str(key)), ("to", f"/students/{given.student.key}/practice/"))
    }
    assert PracticeEntry.objects.get().amount == 7 and Receipt.objects.count() == 1


def test_nothing_is_sent_in_another_persons_name_nor_signed_out(cast: Cast, as_: Clients, given: Prescription) -> None:
    address, owner = report_address(given), cast.user("student")
    for actor in ("guardian", "anonymous"):
        answer = send(as_(actor), owner, address, {"amount": 7})
        assert answer.status_code == 401, actor
    assert not PracticeEntry.objects.exists() and not Receipt.objects.exists()
    assert send(as_("student"), owner, address, {}, "no key").status_code == 400
    key = uuid.uuid4()
    assert send(as_("student"), owner, address, {}, key).status_code == 201
    other = report_address(given)
    answer = send(as_("guardian"), cast.user("guardian"), other, {"another": "on"}, key)
    assert answer.status_code == 409 and Receipt.objects.count() == 1, "a key belongs to one person"


def test_an_open_log_saves_nothing_as_somebody_else_who_signed_in_on_that_phone(cast: Cast, as_: Clients) -> None:
    address = log_address(cast, uuid.uuid4())
    page = as_("coach").get(address).content.decode()
    [header] = re.findall(r"hx-headers='([^']+)'", page)
    named, typed = json.loads(header), log_form(uuid.uuid4(), 1, "Calm rhythm")
    assert named == {"Outbox-Person": str(cast.user("coach").key)}
    answer = as_("cover").post(address, typed, headers={**named, "HX-Request": "true"})
    assert answer.status_code == 401 and answer.headers["HX-Retarget"] == "#notice"
    assert "Somebody else is signed in here now" in answer.content.decode()
    assert not Lesson.objects.exists()
    assert as_("coach").post(address, typed, headers=named).status_code == 302
    assert Lesson.objects.get().keep == "Calm rhythm"


def test_who_is_asked_says_who_is_signed_in_and_nothing_to_others(cast: Cast, as_: Clients) -> None:
    answer = as_("student").get("/outbox/who/")
    assert answer.json()["person"] == str(cast.user("student").key) and answer.json()["token"]
    assert answer.headers["Cache-Control"] == "private, no-store"
    assert as_("anonymous").get("/outbox/who/").status_code == 302


def test_practice_of_yesterday_stays_of_yesterday_whatever_the_phones_clock_says(
    cast: Cast, as_: Clients, given: Prescription
) -> None:
    client, person = as_("student"), cast.user("student")
    yesterday = (timezone.now() - this_time(days_ago=1)).total_seconds()  # no 24 hours where the clocks change
    for age, expected in ((round(yesterday), 1), (0, 0), (10**8, None), ("x", 0)):
        PracticeEntry.objects.all().delete()
        answer = send(client, person, report_address(given), {}, age=age)  # type: ignore[arg-type]  # junk, too
        found = [(academy_today() - entry.day).days for entry in PracticeEntry.objects.all()]
        assert found == ([] if expected is None else [expected]), age
        assert answer.status_code == (422 if expected is None else 201)


def test_two_reports_of_a_day_are_a_conflict_that_shows_both(cast: Cast, as_: Clients, given: Prescription) -> None:
    client, person, address = as_("student"), cast.user("student"), report_address(given)
    assert send(client, person, address, {"amount": 7}).status_code == 201
    for again in (report_address(given), address):
        answer = send(client, person, again, {"amount": 8, "note": "Windy out there"})
        words = answer.content.decode()
        assert answer.status_code == 409 and "Windy out there" in words, again
    assert PracticeEntry.objects.get().amount == 7 and Receipt.objects.count() == 1


def log_address(cast: Cast, key: object) -> str:
    return f"/students/{cast.student.key}/lessons/{key}/"


def log_form(page: object, count: int, keep: str, **more: Any) -> dict[str, Any]:
    return {"putting": "on", "day": academy_today().isoformat(), "page": page, "count": count, "keep": keep, **more}


def test_a_log_that_two_coaches_wrote_is_a_conflict_with_both_versions(cast: Cast, as_: Clients) -> None:
    address, page = log_address(cast, uuid.uuid4()), uuid.uuid4()
    assert send(as_("coach"), cast.user("coach"), address, log_form(page, 1, "Calm rhythm")).status_code == 201
    as_("cover").post(address, log_form(uuid.uuid4(), 1, "Quiet hands", base=1))
    key = uuid.uuid4()
    answer = send(as_("coach"), cast.user("coach"), address, log_form(page, 2, "Calm rhythm, soft hands"), key)
    words = answer.content.decode()
    assert answer.status_code == 409 and "<td>Quiet hands</td><td>Calm rhythm, soft hands</td>" in words
    assert Lesson.objects.get().keep == "Quiet hands"
    over = log_form(page, 3, "Calm rhythm, soft hands", over=1)
    assert send(as_("coach"), cast.user("coach"), address, over).status_code == 201
    assert Lesson.objects.get().keep == "Calm rhythm, soft hands"
    assert "Quiet hands" in [row.keep for row in Lesson.history.all()], "restored on the page of changes"  # type: ignore[attr-defined]


def test_an_earlier_form_of_a_page_that_saved_since_changes_nothing(cast: Cast, as_: Clients) -> None:
    address, page = log_address(cast, uuid.uuid4()), uuid.uuid4()
    as_("coach").post(address, log_form(page, 4, "Calm rhythm, soft hands"))
    late = send(as_("coach"), cast.user("coach"), address, log_form(page, 2, "Calm rhythm"))
    assert late.status_code == 201 and Lesson.objects.get().keep == "Calm rhythm, soft hands"
    done = send(as_("coach"), cast.user("coach"), address, log_form(page, 3, "Calm rhythm", done=1))
    assert done.status_code == 409 and Lesson.objects.get().status == "draft", "what was finished is not passed over"


def test_the_valid_rows_of_a_log_with_a_mistake_are_stored_and_it_is_no_success(cast: Cast, as_: Clients) -> None:
    address, key = log_address(cast, uuid.uuid4()), uuid.uuid4()
    typed = log_form(uuid.uuid4(), 1, "Calm rhythm", day="2099-01-01")
    answer = send(as_("coach"), cast.user("coach"), address, typed, key)
    assert answer.status_code == 422 and "This day is in the future." in answer.content.decode()
    assert Lesson.objects.get().keep == "Calm rhythm" and not Receipt.objects.exists()
    mended = send(as_("coach"), cast.user("coach"), address, {**typed, "day": academy_today().isoformat()}, key)
    assert mended.status_code == 201


def test_a_finished_log_whose_receipt_was_lost_is_answered_again_and_nothing_is_doubled(
    cast: Cast, as_: Clients
) -> None:
    """As where the server was killed between the save and its receipt."""
    address, key, typed = log_address(cast, uuid.uuid4()), uuid.uuid4(), log_form(uuid.uuid4(), 2, "Calm", done=1)
    first = send(as_("coach"), cast.user("coach"), address, typed, key)
    Receipt.objects.all().delete()
    again = send(as_("coach"), cast.user("coach"), address, typed, key)
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json()["to"] == again.json()["to"]  # type: ignore[attr-defined]
    lesson = Lesson.objects.get()
    assert (lesson.status, lesson.keep, lesson.sheets.count()) == ("complete", "Calm", 1)


def test_a_student_who_moved_away_meanwhile_is_a_refusal_and_no_success(cast: Cast, as_: Clients) -> None:
    address = log_address(cast, uuid.uuid4())
    cast.student.cares.filter(coach=cast.coach).update(until=academy_today() - timedelta(days=1))
    answer = send(as_("coach"), cast.user("coach"), address, log_form(uuid.uuid4(), 1, "Calm rhythm"))
    assert answer.status_code == 404 and not Lesson.objects.exists() and not Receipt.objects.exists()


def of_focus(focus: Focus, **typed: str) -> dict[str, str]:
    return {"focus": str(focus.key), **{f"focus-{focus.key}-{name}": value for name, value in typed.items()}}


def close_elsewhere(cast: Cast, focus: Focus, decision: str = "") -> None:
    """Another coach closes it in a lesson of their own, while a log that speaks of it waits on a phone."""
    lesson = make_lesson(cast.student, cast.cover, status="complete", completed_at=timezone.now())
    close_focus(focus=focus, lesson=lesson, decision=decision)


def test_a_focus_closed_by_another_coach_meanwhile_is_said_and_no_words_are_lost(cast: Cast, as_: Clients) -> None:
    before = make_lesson(cast.student, cast.coach, days_ago=9, status="complete", completed_at=timezone.now())
    values = {"area": "putting", "what": "Soft hands", "feel": "As if asleep"}
    focus = open_focus(lesson=before, key=fresh_key(), values=values)
    address, page, person = log_address(cast, uuid.uuid4()), uuid.uuid4(), cast.user("coach")
    close_elsewhere(cast, focus)
    spoken = of_focus(focus, decision="open", feel="Like holding a bird") | {f"a.{focus.code}": "clear"}
    answer = send(as_("coach"), person, address, log_form(page, 2, "Calm rhythm", done=1, **spoken))
    words = answer.content.decode()
    assert answer.status_code == 422 and "Bram Saltquill decided on 1 June 2026: close it." in words
    assert "Like holding a bird" in words and "Soft hands" in words
    assert (Lesson.objects.get(key=address.split("/")[-2]).keep, Focus.objects.get().feel) == (
        "Calm rhythm",
        "As if asleep",
    )
    assert SeenFocus.objects.get().degree == "clear", "what was seen is stored as ever"
    assert not Receipt.objects.exists() and Focus.objects.get().closed_in
    assert "Like holding a bird" in as_("coach").get(f"{address}?edit").content.decode(), (
        "whoever opens the log reads it"
    )
    agreed = spoken | of_focus(focus, decision="close", feel="Like holding a bird")
    assert send(as_("coach"), person, address, log_form(page, 3, "Calm rhythm", done=1, **agreed)).status_code == 201
    focus = Focus.objects.get()
    assert focus.closed_in and focus.closed_in.session.coach == cast.cover, "closed once, where it was closed"
    assert focus.feel == "Like holding a bird" and "As if asleep" in [row.feel for row in focus.history.all()]  # type: ignore[attr-defined]


def test_a_trial_that_two_coaches_decide_otherwise_is_said(cast: Cast, as_: Clients) -> None:
    before = make_lesson(cast.student, cast.coach, days_ago=9, status="complete", completed_at=timezone.now())
    values = {"area": "putting", "what": "Lead hand low", "kind": "trial", "decide_on": academy_today()}
    focus = open_focus(lesson=before, key=fresh_key(), values=values)
    close_elsewhere(cast, focus, "dropped")
    for count, (decision, status) in enumerate((("open", 422), ("kept", 422), ("dropped", 201)), 1):
        spoken = of_focus(focus, decision=decision, decide_on=academy_today().isoformat())
        typed = log_form("one page", count, "Calm rhythm", **spoken)
        answer = send(as_("coach"), cast.user("coach"), log_address(cast, before.session.key), typed)
        assert answer.status_code == status, decision
        assert status == 201 or "Bram Saltquill decided on 1 June 2026: drop it." in answer.content.decode()
    assert Focus.objects.get().decision == "dropped"


def test_a_ball_undone_and_noted_again_stays_when_the_undoing_comes_again(cast: Cast, as_: Clients) -> None:
    design, root = make_design(kind="counted", distances_m=[1.0]), f"/students/{cast.student.key}/tests/{uuid.uuid4()}/"
    set_up = {"design": design.pk, "unit": "m", "width_unit": "cm", "step": "step", "moment": "home"}
    client, person, undoing = as_("student"), cast.user("student"), uuid.uuid4()
    steps: list[tuple[str, dict[str, Any], object, int]] = [
        ("", set_up, None, 201),
        ("balls/", {"number": 1, "what": "holed"}, None, 201),
        ("undo/", {"number": 1}, undoing, 201),
        ("balls/", {"number": 1, "what": "short"}, None, 201),
        ("undo/", {"number": 1}, undoing, 200),
        ("balls/", {"number": 1, "what": "past"}, None, 409),
    ]
    answers = [send(client, person, root + part, typed, key) for part, typed, key, _ in steps]
    assert [answer.status_code for answer in answers] == [status for *_, status in steps]
    assert "Its result: short. Tapped on this phone: past." in answers[-1].content.decode()
    assert Ball.objects.get().length == "short"


def test_receipts_go_after_a_time(cast: Cast, as_: Clients, given: Prescription) -> None:
    person = cast.user("student")
    old = Receipt.objects.create(person=person, at=timezone.now() - KEPT - timedelta(days=1))
    send(as_("student"), person, report_address(given), {})
    assert old not in Receipt.objects.all() and Receipt.objects.count() == 1


def test_signing_out_leaves_the_storage_where_another_person_still_has_something_to_send(
    cast: Cast, as_: Clients
) -> None:
    for others, said in (("", '"cache", "storage"'), ("wait", '"cache"')):
        client = Client()
        client.force_login(cast.user("student"))
        assert client.post("/account/logout/", {"others": others}).headers["Clear-Site-Data"] == said


def test_modules_import_each_other_by_names_that_hold_their_version(tmp_path: Path) -> None:
    """Else a page would load a module twice, once by either name, or one of another version."""
    shutil.copytree(Path(settings.BASE_DIR) / "static" / "js", tmp_path / "js")
    storage = StaticStorage(location=tmp_path, base_url="/static/")
    names = [file.relative_to(tmp_path).as_posix() for file in tmp_path.rglob("*.js")]
    list(storage.post_process({name: (storage, name) for name in names}))
    imported = [
        name
        for file in tmp_path.rglob("*.????????????.js")
        for name in re.findall(r'from "\./([^"]+)"', file.read_text())
    ]
    assert len(imported) > 10 and [name for name in imported if not re.search(r"\.[0-9a-f]{12}\.js$", name)] == []
