"""Catalogue rows that come with the program and whose texts an academy may change."""

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Self

from django.db import models
from simple_history.utils import bulk_create_with_history

Shipped = tuple[str, dict[str, Any], dict[str, models.Model]]  # the code, the values, the rows that it belongs to


class ShippedRow(models.Model):
    """A catalogue row: its code never changes; a new version or the academy may change its texts."""

    code = models.SlugField(max_length=60, unique=True)
    position = models.PositiveSmallIntegerField(default=0)
    archived = models.BooleanField(default=False)
    shipped = models.JSONField(default=dict, editable=False)

    class Meta:
        abstract = True

    @classmethod
    def ship(cls, code: str, values: Mapping[str, Any], **links: models.Model) -> Self:
        """Create or update the row; one that a person has changed since is left as it is."""
        return cls.ship_all([(code, {**values}, links)])[0]

    @classmethod
    def ship_all(cls, rows: Sequence[Shipped]) -> list[Self]:
        """The same for many rows, in two writes for all that are new."""
        stored: dict[str, Self] = cls._default_manager.in_bulk([code for code, *_ in rows], field_name="code")
        added = [row for row in rows if row[0] not in stored]
        new = [cls(code=code, shipped=values, **values, **links) for code, values, links in added]
        for code, values, _ in rows:
            if code in stored:
                stored[code].update_texts(values)
        created = {row.code: row for row in bulk_create_with_history(new, cls)}
        return [(stored | created)[code] for code, *_ in rows]

    def update_texts(self, values: dict[str, Any]) -> None:
        """Take the texts of a new version, unless a person has changed them."""
        if self.shipped != values and not self.is_edited:
            for name, value in {**values, "shipped": values}.items():
                setattr(self, name, value)
            self.save()

    @property
    def is_edited(self) -> bool:
        """Whether a person has changed a text since it was shipped."""
        return any(getattr(self, name, None) != value for name, value in self.shipped.items())


def tables(folder: Path, name: str) -> Iterator[dict[str, Any]]:
    """Every `[[name]]` table of the folder's TOML files, with the area of its file and its position in it."""
    for path in sorted(folder.glob("*.toml")):
        content = tomllib.loads(path.read_text(encoding="utf-8"))
        for position, table in enumerate(content[name]):
            yield {"area": content["area"], "position": position, **table}


def without(row: Mapping[str, Any], *names: str) -> dict[str, Any]:
    """A table without some of its values."""
    return {name: value for name, value in row.items() if name not in names}
