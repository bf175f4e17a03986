"""The shapes that rows of every room share: areas, playing sides, addresses."""

import uuid
from functools import reduce
from operator import and_, or_

from django.db import models
from django.db.models import Q


class Area(models.TextChoices):
    """Part of the short game."""

    PUTTING = "putting"
    CHIPPING = "chipping"
    PITCHING = "pitching"
    BUNKER = "bunker"


class Side(models.TextChoices):
    """The side a player plays from: a right-side player stands with the left side nearer the target."""

    RIGHT = "right"
    LEFT = "left"


class Keyed(models.Model):
    """A row that has an address: the key stands in the URL, the row number never does."""

    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)

    class Meta:
        abstract = True


class Areas(models.Model):
    """Which areas something covers, at least one."""

    putting = models.BooleanField(default=True)
    chipping = models.BooleanField(default=True)
    pitching = models.BooleanField(default=True)
    bunker = models.BooleanField(default=True)

    class Meta:
        abstract = True

    @property
    def areas(self) -> list[Area]:
        """The areas covered, in the trade's order."""
        return [area for area in Area if getattr(self, area.value)]


class PlayingSides(models.Model):
    """The side a player plays from, asked for each area: some putt left and chip right."""

    putting_side = models.CharField("putts from the", max_length=5, choices=Side, default=Side.RIGHT)
    chipping_side = models.CharField("chips from the", max_length=5, choices=Side, default=Side.RIGHT)
    pitching_side = models.CharField("pitches from the", max_length=5, choices=Side, default=Side.RIGHT)
    bunker_side = models.CharField("plays bunkers from the", max_length=5, choices=Side, default=Side.RIGHT)

    class Meta:
        abstract = True

    def side(self, area: str) -> Side:
        """The side played from in one area."""
        return Side(getattr(self, f"{area}_side"))

    @property
    def sides(self) -> dict[Area, Side]:
        """The side of every area."""
        return {area: self.side(area) for area in Area}


def known(field: str, choices: type[models.TextChoices]) -> Q:
    """The condition that a column holds one of its choices."""
    return Q(**{f"{field}__in": choices.values})


def sides_known() -> Q:
    """The condition that every area's side is one of the two."""
    return reduce(and_, [known(f"{area}_side", Side) for area in Area.values])


def some_area() -> Q:
    """The condition that at least one area is covered."""
    return reduce(or_, [Q(**{area: True}) for area in Area.values])
