"""Erasing stills for good: rows with their history first, then files; and the files that belong to no row."""

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from django.core.files.storage import default_storage
from django.db import transaction
from django.db.models import SET_NULL, Model

from lessons.models import ReferenceStill, Still
from lessons.stills.rows import delete_files

FOLDER = "stills"
KEPT_AWAY = timedelta(days=30)  # from when a coach took a still away until it is erased
IN_PROGRESS = timedelta(days=1)  # a file as young may be waiting for its row


@transaction.atomic
def erase_stills(stills: Iterable[Still]) -> int:
    """Erase stills with all that was noted on them; their files go once the rows are gone for sure."""
    number = 0
    for still in stills:
        erase_row(still)
        transaction.on_commit(partial(delete_files, still))
        number += 1
    return number


def erase_row(row: Model) -> None:
    """Delete a row with its history, those that are nothing without it first."""
    for relation in row._meta.related_objects:
        for child in relation.related_model._base_manager.filter(**{relation.field.name: row}):
            if relation.on_delete is SET_NULL:
                let_go(child, relation.field.name, row)
            else:
                erase_row(child)
    key, history = row.pk, getattr(type(row), "history", None)
    row.delete()
    if history is not None:
        history.filter(**{row._meta.pk.attname: key}).delete()


def let_go(row: Any, name: str, erased: Model) -> None:
    """Let a row, and what it was before, no longer point to one that is erased."""
    setattr(row, name, None)
    row.save(update_fields=[name])
    type(row).history.filter(**{name: erased}).update(**{name: None})


def due_stills(at: datetime) -> Any:
    """The stills that were taken away so long ago that they are erased now."""
    return Still.objects.filter(hidden_at__lt=at - KEPT_AWAY).order_by("pk")


def orphans(at: datetime) -> Iterator[str]:
    """The files of pictures to which no row belongs, without those that may be waiting for theirs."""
    names = {name for model in (Still, ReferenceStill) for name in model._base_manager.values_list("name", flat=True)}
    try:
        _, files = default_storage.listdir(FOLDER)
    except FileNotFoundError:
        return
    for file in sorted(files):
        path = f"{FOLDER}/{file}"
        if file.partition(".")[0].partition("-")[0] not in names and is_old(path, at):
            yield path


def is_old(path: str, at: datetime) -> bool:
    """Whether a file was written so long ago that its row should be there."""
    return default_storage.get_modified_time(path) < at - IN_PROGRESS
