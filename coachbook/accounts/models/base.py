"""Abstract models and conditions that the models of every app share: areas, playing sides, keys for addresses."""

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


class KeyedModel(models.Model):
    """A row with an address of its own: its URL holds this key, never the row number."""

    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)

    class Meta:
        abstract = True


class AreaFlags(models.Model):
    """Which areas something covers, one column each; at least one is true."""

    putting = models.BooleanField(default=True)
    chipping = models.BooleanField(default=True)
    pitching = models.BooleanField(default=True)
    bunker = models.BooleanField(default=True)

    class Meta:
        abstract = True

    @property
    def areas(self) -> list[Area]:
        """The areas covered, from putting to bunker."""
        return [area for area in Area if getattr(self, area.value)]


class PlayingSides(models.Model):
    """The side a player plays from, one column for each area: some putt left and chip right."""

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


def is_one_of(field: str, choices: type[models.TextChoices]) -> Q:
    """The condition that a column holds one of its choices."""
    return Q(**{f"{field}__in": choices.values})


def sides_are_valid() -> Q:
    """The condition that every area's side is one of the two."""
    return reduce(and_, [is_one_of(f"{area}_side", Side) for area in Area.values])


def covers_an_area() -> Q:
    """The condition that at least one area is covered."""
    return reduce(or_, [Q(**{area: True}) for area in Area.values])
