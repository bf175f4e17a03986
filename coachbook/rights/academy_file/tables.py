"""Which tables the file of an academy holds, with their columns; and what is left out of it, with the reason."""

import re
from dataclasses import dataclass
from functools import cache
from typing import Any

from django.db import models
from django.db.backends.base.operations import BaseDatabaseOperations

from coachbook.operations.backups.rows import models_stored
from coachbook.rights.academy_file import cells
from coachbook.rights.academy_file.cells import Column, Kind

NEVER = "never leave the server: whoever reads the file could open accounts with them"
FRAMEWORK = "made by the program itself when it is installed"
# Tables that are in no file of an academy, with the reason.
LEFT_OUT = {
    "accounts.Invitation": f"links and codes that open an account, kept as hashes, {NEVER}",
    "mfa.Authenticator": f"secrets of second factors {NEVER}",
    "accounts.NewAddress": f"links that confirm an address, kept as hashes, {NEVER}",
    "diary.CalendarFeed": f"links of calendars, kept as hashes, {NEVER}",
    "diary.FamilyFeed": f"links of calendars, kept as hashes, {NEVER}",
    "sessions.Session": f"who is signed in: these {NEVER}",
    "usersessions.UserSession": "on which devices somebody is signed in ends with that",
    "outbox.Receipt": "keys of forms that a phone has sent: what they did stands in the tables",
    "accounts.CacheEntry": "counts of wrong passwords, which end by themselves",
    "account.EmailAddress": "the address stands in the account",
    "account.EmailConfirmation": "not used",
    "accounts.User_groups": "not used",
    "accounts.User_user_permissions": "not used",
    "auth.Group": "not used",
    "auth.Group_permissions": "not used",
    "auth.Permission": FRAMEWORK,
    "contenttypes.ContentType": FRAMEWORK,
}
# Columns of the others that are left out.
COLUMNS_LEFT_OUT = {
    ("accounts.User", "password"): f"passwords, kept as hashes, {NEVER}",
    ("accounts.User", "last_login"): "nobody can sign in with what is in the file: each account is opened anew",
}
# Of a column by what Django calls it; a column that points to a row is one of the kind of that row's key.
KIND_OF: dict[str, Kind] = {
    **dict.fromkeys(("CharField", "TextField", "SlugField", "GenericIPAddressField"), cells.TEXT),
    **dict.fromkeys(BaseDatabaseOperations.integer_field_ranges, cells.WHOLE_NUMBER),
    "DecimalField": cells.DECIMAL,
    "FloatField": cells.FLOAT,
    "BooleanField": cells.YES_NO,
    "DateField": cells.DAY,
    "TimeField": cells.TIME,
    "DateTimeField": cells.MOMENT,
    "UUIDField": cells.KEY,
    "JSONField": cells.DOCUMENT,
}


@dataclass(frozen=True)
class Table:
    """One file: the rows of one table, or what each of them was before."""

    model: Any
    path: str
    columns: tuple[Column, ...]

    @property
    def about(self) -> str:
        """What its rows are, in a sentence."""
        name, words = self.model.__name__, self.model.__doc__ or ""
        if name.startswith("Historical"):
            return f"What each row of {self.path.replace('history', 'tables', 1)} was after each change."
        if words.startswith(f"{name}("):
            return f"Which belong together: {' and '.join(c.points_to for c in self.columns if c.points_to)}."
        return re.split(r"(?<=\.)\s", words.strip().replace("`", ""))[0]


@cache
def tables() -> tuple[Table, ...]:
    """Every table of the file."""
    found = (model for model in models_stored() if model._meta.label not in LEFT_OUT)
    return tuple(sorted(map(table_of, found), key=lambda table: (not table.path.startswith("tables"), table.path)))


def table_of(model: type[models.Model]) -> Table:
    """The file of one table."""
    label = model._meta.label
    fields = [field for field in model._meta.concrete_fields if (label, field.name) not in COLUMNS_LEFT_OUT]
    return Table(model, path_of(model), tuple(map(column_of, fields)))


def path_of(model: type[models.Model]) -> str:
    """The name of its file: `SeenFault` is tables/seen-fault.csv."""
    name = model.__name__.removeprefix("Historical")
    folder = "tables" if name == model.__name__ else "history"
    words = re.sub(r"(?<=[a-z])(?=[A-Z])", "-", name).replace("_", "-").lower()
    return f"{folder}/{words}.csv"


def column_of(field: Any) -> Column:
    """One column, by what the database can hold in it."""
    target = field.target_field if field.is_relation else field
    while target.is_relation:
        target = target.target_field
    name = target.get_internal_type()
    return Column(
        field.name,
        field.attname,
        KIND_OF[name],
        field.null,
        field.max_length,
        BaseDatabaseOperations.integer_field_ranges.get(name),
        path_of(field.related_model) if field.is_relation else "",
    )
