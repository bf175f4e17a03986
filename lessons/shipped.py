"""Catalogue rows that come with the program and whose texts an academy may change."""

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Self

from django.db import models


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
        row: Self | None = cls._default_manager.filter(code=code).first()
        if row is None:
            return cls._default_manager.create(code=code, shipped=dict(values), **values, **links)
        if row.shipped != values and not row.is_edited:
            for name, value in {**values, "shipped": dict(values)}.items():
                setattr(row, name, value)
            row.save()
        return row

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
