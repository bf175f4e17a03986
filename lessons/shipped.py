"""Catalogue rows: those that come with the program, whose texts an academy may change, and those of its own."""

import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Self, cast

from django.db import models
from django.db.models import Q
from django.utils.text import slugify
from simple_history.utils import bulk_create_with_history, get_history_manager_for_model

from coachbook.accounts.models import Coach
from lessons.wording import MARKER

Shipped = tuple[str, dict[str, Any], dict[str, models.Model]]  # the code, the values, the rows that it belongs to


class ShippedRow(models.Model):
    """A catalogue row: its code never changes; a new version or the academy may change its texts.

    A row of a coach's own has an owner until the academy takes it in. What was used is archived, never deleted; what
    was merged stays as it was, and is counted with the row that it was merged into.
    """

    code = models.SlugField(max_length=60, unique=True)
    position = models.PositiveSmallIntegerField(default=0)
    archived = models.BooleanField(default=False)
    shipped = models.JSONField(default=dict, editable=False)
    owner = models.ForeignKey(
        Coach, on_delete=models.PROTECT, null=True, blank=True, related_name="own_%(class)ss", editable=False
    )
    offered_at = models.DateTimeField("offered to the academy", null=True, blank=True, editable=False)
    merged_into = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="merged", editable=False
    )
    edition = models.PositiveIntegerField("how often a person changed it", default=0, editable=False)

    class Meta:
        abstract = True

    @classmethod
    def offered_to(cls, coach: Coach | None) -> models.QuerySet[Self]:
        """The rows that a coach may choose: the academy's and their own; for anybody else the academy's."""
        own = Q(owner=None) | Q(owner=coach) if coach else Q(owner=None)
        return cls._default_manager.filter(own, archived=False)

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

    @classmethod
    def take_over(cls, merges: Mapping[str, str]) -> None:
        """Archive stored rows that a shipped one takes over, as merged into it: codes of before by their new ones.

        Each once: a merge that the academy has undone stays undone.
        """
        survivors = cls._default_manager.in_bulk(set(merges.values()), field_name="code")
        history = get_history_manager_for_model(cls)
        for row in cls._default_manager.filter(code__in=merges):
            survivor = survivors[merges[row.code]]
            was_merged = history.filter(code=row.code, merged_into=survivor.pk).exists()
            if row.merged_into is None and not was_merged:
                row.merge_into(survivor)

    @classmethod
    def code_for(cls, name: str) -> str:
        """A code that no row has, made of the name of a row that a person adds."""
        base = f"own-{slugify(MARKER.sub(lambda found: found[1], name))[:40] or cls._meta.model_name}"
        taken = set(cls._default_manager.filter(code__startswith=base).values_list("code", flat=True))
        numbered = (f"{base}-{number}" for number in range(2, len(taken) + 3))
        return next(code for code in (base, *numbered) if code not in taken)

    @property
    def counted(self) -> Self:
        """The row as which it is counted: what it was merged into, or itself."""
        return cast(Self, self.merged_into or self)

    def merge_into(self, other: Self) -> list[Self]:
        """Archive it and count it as another row from now on, with all that was merged into it; returns all of these.

        No row is merged into one that was merged itself. Raises ValueError where that would be the row itself.
        """
        survivor = other.counted
        if self.pk in (other.pk, survivor.pk):
            raise ValueError(f"{self.code} cannot be merged into itself")
        changed = [self, *self.merged_rows()]
        for row in changed:
            row.archived, row.merged_into = True, survivor
            row.save()
        return changed

    def take_merge_back(self) -> list[Self]:
        """Count it for itself again, and with it what had been merged into it before; returns all of these."""
        survivor, changed = self.counted, [self]
        self.archived, self.merged_into = False, None
        self.save()
        for row in survivor.merged_rows():
            history = get_history_manager_for_model(type(row)).filter(code=row.code)
            before = history.filter(merged_into__isnull=False).exclude(merged_into=survivor.pk).first()
            if before and before.merged_into_id == self.pk:
                row.merged_into = self
                row.save()
                changed.append(row)
        return changed

    def merged_rows(self) -> models.QuerySet[Self]:
        """What was merged into it."""
        return type(self)._default_manager.filter(merged_into=self)

    def update_texts(self, values: dict[str, Any]) -> None:
        """Take the texts of a new version, unless a person has changed the row."""
        if self.shipped != values and not self.is_changed:
            moved = {"position"} if self.position != self.shipped.get("position", self.position) else ()
            for name, value in {**without(values, *moved), "shipped": values}.items():
                setattr(self, name, value)
            self.save()

    @property
    def is_edited(self) -> bool:
        """Whether a person has changed a text since it was shipped; its place among the others is no text."""
        return any(getattr(self, name, None) != value for name, value in without(self.shipped, "position").items())

    @property
    def is_changed(self) -> bool:
        """Whether a person has changed its texts or what belongs to it, so that no new version touches it."""
        return self.edition > 0 or self.is_edited


def tables(folder: Path, name: str) -> Iterator[dict[str, Any]]:
    """Every `[[name]]` table of the folder's TOML files, with the area of its file and its position in it."""
    for path in sorted(folder.glob("*.toml")):
        content = tomllib.loads(path.read_text(encoding="utf-8"))
        for position, table in enumerate(content[name]):
            yield {"area": content["area"], "position": position, **table}


def merges_of(rows: Iterable[Mapping[str, Any]]) -> dict[str, str]:
    """The codes that tables take over, each with the code of its table."""
    return {old: row["code"] for row in rows for old in row.get("was", ())}


def without(row: Mapping[str, Any], *names: str) -> dict[str, Any]:
    """A table without some of its values."""
    return {name: value for name, value in row.items() if name not in names}
