"""No write slips past the history: rows of tracked models are saved one by one, or in bulk with their history."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from django.apps import apps
from django.db import models

from lessons.models import Look, Observation
from tests.conftest import Cast
from tests.make import make_lesson, make_look, make_skill

ROOT = Path(__file__).resolve().parents[1]
# What the history does not see: it is written when a row is saved, or deleted by Django's own delete().
PAST_HISTORY = ("update", "bulk_create", "bulk_update", "aupdate", "abulk_create", "abulk_update", "_raw_delete")
TRACKED = {model for model in apps.get_models() if hasattr(model._meta, "simple_history_manager_attribute")}
BY_NAME = {model.__name__: model for model in apps.get_models()}
# Writes of which the text does not say the model, or that may stand all the same: by module and text, with the reason.
ALLOWED = {
    ("coachbook/caseload/counts.py", "paused.update"): "a set",
    ("coachbook/accounts/models/invitation.py", "cls.objects.filter(token_hash=hash_token(token)).update"): (
        "an invitation, of which no history is kept"
    ),
    ("coachbook/accounts/notices.py", "unseen.update"): "notices of a changed sign-in, which are rows of history",
    ("coachbook/rights/erasure/carry_out.py", "rows._raw_delete"): "an erasure, which takes the history as well",
    ("coachbook/rights/erasure/carry_out.py", "old._raw_delete"): "the history of what is erased",
    (
        "coachbook/rights/erasure/carry_out.py",
        "model._base_manager.filter(history_user__in=part).update",
    ): "who made a change, in the history itself",
    ("lessons/stills/erasing.py", "type(row).history.filter(**{name: erased}).update"): (
        "what a row pointed to before that was erased, in the history itself"
    ),
    ("coachbook/rights/academy_file/take_in.py", "table.model._base_manager.bulk_create"): (
        "the rows of a file, which brings their history along"
    ),
    (
        "coachbook/corrections/approvals/views.py",
        "ApprovalRequest.objects.filter(pk=row.pk, link_made_at=None).update",
    ): ("of several at once, the first alone makes the link; the invitation says who"),
    ("coachbook/loop/log/save.py", "Lesson.objects.filter(pk=lesson.pk, version=read).update"): (
        "the version, on condition that it is still the one read; the words come with their history"
    ),
}
INVENTED = "coachbook/demo/"  # the rows of the demo and of the bench, which write the history that they want


class Write(NamedTuple):
    """One call that the history does not see."""

    path: str
    text: str  # what it is called on, and its name
    model: Any  # as far as the text says it
    fields: set[str]


def writes_in(path: Path) -> Iterator[Write]:
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in PAST_HISTORY:
            fields = {keyword.arg or "" for keyword in node.keywords}
            text = ast.unparse(node.func)
            yield Write(str(path.relative_to(ROOT)), text, model_of(text), fields)


def model_of(text: str) -> Any:
    """The model of a manager or of related rows, as the text of a call names it."""
    if found := re.match(r"(\w+)\.(?:objects|_default_manager|_base_manager)\b", text):
        return BY_NAME.get(found[1])
    names = set(re.findall(r"\.(\w+)", text))
    related = {
        relation.get_accessor_name(): relation.related_model
        for model in apps.get_models()
        for relation in model._meta.related_objects
        if relation.related_name and not relation.related_name.startswith("+")
    }
    return next((related[name] for name in names if name in related), None)


def is_past_history(write: Write) -> bool:
    """Whether a write may change something that the history should hold."""
    if write.model is None:
        return True
    if write.model not in TRACKED:
        return False
    if not write.text.endswith("update") or "bulk" in write.text:
        return True
    return not write.fields or not write.fields.isdisjoint(tracked_fields(write.model))


def tracked_fields(model: type[models.Model]) -> set[str]:
    history = getattr(model, model._meta.simple_history_manager_attribute).model  # type: ignore[attr-defined]
    return {field.name for field in history._meta.get_fields()} | {""}


def program() -> list[Path]:
    paths = [path for folder in ("coachbook", "lessons", "drills") for path in sorted((ROOT / folder).rglob("*.py"))]
    return [path for path in paths if "migrations" not in path.parts and INVENTED not in str(path)]


def test_no_write_of_the_program_slips_past_the_history() -> None:
    found = {(write.path, write.text) for path in program() for write in writes_in(path) if is_past_history(write)}
    assert found == set(ALLOWED), "save the rows one by one, or use simple_history.utils.bulk_update_with_history"


@pytest.mark.parametrize(
    ("text", "slips"),
    [
        ("Lesson.objects.filter(pk=1).update(version=2)", False),
        ("Lesson.objects.filter(pk=1).update(version=2, keep='x')", True),
        ("Lesson.objects.filter(pk=1).update(**values)", True),
        ("student.lessons.filter(status='draft').update(keep='x')", True),
        ("Observation.objects.bulk_create(rows)", True),
        ("Lesson.objects.bulk_update(rows, ['version'])", True),
        ("rows.update(keep='x')", True),
        ("Student.objects.all()._raw_delete('default')", True),
        ("Invitation.objects.filter(pk=1).update(expires_at=at)", False),
        ("coach.calendar_feeds.filter(ended_at=None).update(ended_at=at)", False),
    ],
)
def test_what_would_slip_past_is_seen(text: str, slips: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "m.py").write_text(text)
    monkeypatch.setattr("tests.test_tracked_writes.ROOT", tmp_path)
    assert [is_past_history(write) for write in writes_in(tmp_path / "m.py")] == [slips]


def test_nothing_is_written_in_sql() -> None:
    sums = ROOT / "coachbook/caseload/findings/gather.py"  # it reads sums of sums, which the ORM cannot
    pragmas = ROOT / "coachbook/backends/sqlite3/base.py"  # the settings of a connection
    copied = ROOT / "coachbook/operations/backups/databases.py"  # names a snapshot, and checks a copy
    moved = ROOT / "coachbook/operations/growth/copy.py"  # writes into another database, every history with its rows
    assert [
        path
        for path in program()
        if path not in (pragmas, copied, moved) and re.search(r"\.cursor\(\)|\.execute\(|\.raw\(", path.read_text())
    ] == [sums]
    assert not re.search(r"\b(insert|update|delete)\b .*\b(into|set|from)\b", sums.read_text())


def test_rows_that_are_deleted_together_stay_in_the_history(cast: Cast) -> None:
    for days in range(3):
        look = make_look(make_lesson(cast.student, cast.coach, days_ago=days))
        Observation.objects.create(look=look, skill=make_skill(), verdict="good", words=f"words {days}")
    Look.objects.filter(lesson__student=cast.student).delete()
    assert Look.history.filter(history_type="-").count() == 3
    deleted = Observation.history.filter(history_type="-").values_list("words", flat=True)
    assert set(deleted) == {"words 0", "words 1", "words 2"}
