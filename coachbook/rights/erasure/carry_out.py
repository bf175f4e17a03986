"""Erasing a student: all rows about them, their history, their account and sessions, and the traces in files."""

import logging
import uuid
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import Any

from django.apps import apps
from django.conf import settings
from django.contrib.sessions.models import Session as WebSession
from django.db import DEFAULT_DB_ALIAS, connections, transaction
from django.db.models import Model
from django.utils import timezone

from coachbook.accounts.models import Student, User
from coachbook.backends.sqlite3.base import DatabaseWrapper
from coachbook.corrections.models import Correction
from coachbook.rights.erasure.belongs import history_of, students_merged_into
from coachbook.rights.erasure.collect import Rows, collect, in_parts, sessions_of
from coachbook.rights.models import Erasure
from lessons.models import Session, Still
from lessons.stills.rows import delete_files

logger = logging.getLogger(__name__)
# Keys of erased students, kept beside the database as well: an older backup of it does not know them.
ERASED_KEYS = "erased_students.txt"


def erase_student(student: Student, at: datetime) -> Erasure:
    """Erase everything about a student, or nothing if anything fails; what is kept says only that it happened."""
    keys, words = [one.key for one in students_merged_into(student)], words_of(student)
    with transaction.atomic():
        rows = collect(student)
        pictures = list(Still.objects.filter(pk__in=rows[Still]))
        clear_sessions(sessions_of(rows[Student]))
        end_web_sessions(rows[User])
        for model, found in rows.items():
            if model is not User:
                delete(model, found)
        clear_corrections(rows)
        delete_accounts(rows[User])
        erasures = [Erasure.objects.get_or_create(student_key=key, defaults={"erased_at": at})[0] for key in keys]
        transaction.on_commit(lambda: remember(keys))
        transaction.on_commit(lambda: delete_mails(words))
        transaction.on_commit(lambda: delete_pictures(pictures))
    logger.warning("A student was erased: %s", erasures[0].pk)
    return erasures[0]


def overwrite_deleted() -> bool:
    """Write the database's file anew without what was deleted; False where that has to wait.

    PostgreSQL frees it by itself, and a dump holds no deleted row.
    """
    database = connections[DEFAULT_DB_ALIAS]
    if not isinstance(database, DatabaseWrapper):
        return True
    return not database.in_atomic_block and database.overwrite_deleted()


def repeat_erasures(keys: Iterable[uuid.UUID] = ()) -> int:
    """After a restore from a backup: erase again whoever was erased since it was made; how many those were.

    `keys` are further keys of students, such as those of the site that was replaced, beside those known here.
    """
    students = Student.objects.filter(key__in={*keys, *known_keys()}).order_by("pk")
    number = 0
    for student in students:
        if Student.objects.filter(pk=student.pk).exists():  # not erased together with the one before
            erase_student(student, timezone.now())
            number += 1
    if number:
        overwrite_deleted()
    return number


def known_keys() -> set[uuid.UUID]:
    """The keys of all erased students, from the database and from the files beside it and beside the backups."""
    kept = {key for folder in (settings.DATA_DIR, settings.BACKUP_DIR) for key in keys_in(folder)}
    return {*Erasure.objects.values_list("student_key", flat=True), *kept}


def keys_in(folder: Path) -> set[uuid.UUID]:
    """The keys that are kept in a folder."""
    path = folder / ERASED_KEYS
    return set(map(uuid.UUID, path.read_text().split())) if path.exists() else set()


def keep_keys(folder: Path) -> None:
    """Keep the keys of all erased students beside the backups: those made before an erasure do not know of it."""
    if keys := known_keys():
        (folder / ERASED_KEYS).write_text("".join(f"{key}\n" for key in sorted(keys)))


# --- Parts --------------------------------------------------------------------------------------


def delete(model: type[Model], keys: set[Any]) -> None:
    """Delete rows together with their history: deleted one by one, each would leave its words there."""
    history, name = history_of(model), model._meta.pk.attname
    for part in in_parts(keys):
        rows = model._base_manager.filter(pk__in=part)
        rows._raw_delete(rows.db)
        if history:
            old = history.objects.filter(**{f"{name}__in": part})
            old._raw_delete(old.db)


def clear_sessions(keys: set[int]) -> None:
    """Leave of sessions without another student that the coach taught at that time, and no words."""
    for session in Session.objects.filter(pk__in=keys):
        session.name = session.place = session.surface = ""
        session.save(update_fields=["name", "place", "surface"])
        Session.history.filter(id=session.pk).delete()


def clear_corrections(rows: Rows) -> None:
    """Take out of corrections that stay, as that of a caseload handed over, what they keep of rows that are erased."""
    erased = {(model._meta.label, pk) for model, found in rows.items() for pk in found}
    for correction in Correction.objects.all():
        left = [entry for entry in correction.changes if (entry["model"], entry["pk"]) not in erased]
        if len(left) < len(correction.changes):
            correction.changes = left
            correction.save(update_fields=["changes"])


def end_web_sessions(users: set[int]) -> None:
    """Delete the sessions in which these people are signed in."""
    signed_in = {str(pk) for pk in users}
    for session in WebSession.objects.iterator():
        if session.get_decoded().get("_auth_user_id") in signed_in:
            session.delete()


def delete_accounts(users: set[int]) -> None:
    """Delete accounts; one to which something of others points stays without name, address and password."""
    for part in in_parts(users):
        for model in apps.get_models():
            if hasattr(model, "history_user_id"):
                model._base_manager.filter(history_user__in=part).update(history_user=None)
    for user in User.objects.filter(pk__in=users):
        if is_pointed_to(user):
            empty_account(user)
            User.history.filter(id=user.pk).delete()
        else:
            delete(User, {user.pk})


def is_pointed_to(user: User) -> bool:
    """Whether a row that stays names this account."""
    fields = (
        (model, field.name)
        for model in apps.get_models(include_auto_created=True)
        for field in model._meta.concrete_fields
        if field.related_model is User and not model.__name__.startswith("Historical")
    )
    return any(model._base_manager.filter(**{name: user}).exists() for model, name in fields)


def empty_account(user: User) -> None:
    """Take from an account what says whose it was, and every way into it."""
    user.name, user.email, user.username = "Erased account", "", f"erased-{uuid.uuid4().hex[:12]}"
    user.added_address = ""
    user.is_active, user.sessions_ended_at, user.last_login = False, timezone.now(), None
    user.set_unusable_password()
    user.save()


def words_of(student: Student) -> set[str]:
    """By what mails name a student: names and addresses, the earlier ones as well."""
    students = [one.pk for one in students_merged_into(student)]
    names = Student.objects.filter(pk__in=students).values_list("name", "user__email")
    earlier = Student.history.filter(id__in=students).values_list("name", flat=True)
    users = Student.objects.filter(pk__in=students).values("user")
    addresses = User.history.filter(id__in=users).values_list("email", flat=True)
    return {word for row in names for word in row if word} | {*earlier} | {*filter(None, addresses)}


def delete_mails(words: set[str]) -> None:
    """Delete the mails in the folder for mails, where no mail server is set, that name the student."""
    for path in settings.EMAIL_FILE_PATH.glob("*.log"):
        text = path.read_text(errors="replace")
        if any(word in text for word in words):
            path.unlink()


def delete_pictures(stills: Iterable[Still]) -> None:
    """Delete the files of these stills; one that the storage does not delete now has no row, and is cleaned up."""
    for still in stills:
        delete_files(still)


def remember(keys: Iterable[uuid.UUID]) -> None:
    """Add the keys of erased students to the file beside the database."""
    with (settings.DATA_DIR / ERASED_KEYS).open("a") as file:
        file.writelines(f"{key}\n" for key in keys)
