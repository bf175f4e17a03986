"""Stills: a picture of one checkpoint of the stroke in a lesson, and the academy's own reference for it.

The files lie in Django's storage under names of 128 random bits; a row is the only way to one.
"""

import secrets
from datetime import datetime

from django.db import models
from django.db.models import Q
from django.utils import timezone
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import Area, KeyedModel, Side, User, is_one_of
from lessons.models.reasoned_history import ReasonedHistory
from lessons.models.record import Lesson
from lessons.stills import SMALL_EDGE


def file_name() -> str:
    """A name that nobody can guess: 128 random bits as 32 hexadecimal digits."""
    return secrets.token_hex(16)


class View(models.TextChoices):
    """From where the camera looks; common practice of the trade."""

    FACE_ON = "face_on", "face-on"
    DOWN_THE_LINE = "down_line", "down the line"

    @property
    def plain(self) -> str:
        """The same for a student and their family."""
        return "seen from the front" if self is View.FACE_ON else "seen along the line of the ball"


class Checkpoint(KeyedModel):
    """A moment of the stroke at which a still is taken; each area has a set of its own, which the academy edits."""

    area = models.CharField(max_length=8, choices=Area)
    name = models.CharField(max_length=40)
    position = models.PositiveSmallIntegerField(default=0)
    archived = models.BooleanField(default=False)
    history = HistoricalRecords()

    class Meta:
        ordering = ["area", "position", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["area", "name"], name="a_checkpoint_once_an_area"),
            models.CheckConstraint(name="checkpoint_area_known", condition=is_one_of("area", Area)),
        ]

    def __str__(self) -> str:
        return self.name


def seen_words(checkpoint: Checkpoint, view: str, *, plain: bool = False) -> str:
    """A checkpoint and a view in the trade's words or in plain ones: "Address, face-on"."""
    return f"{checkpoint}, {View(view).plain if plain else View(view).label}"


def stroke_order(checkpoint: Checkpoint, view: str) -> tuple[int, int, int, int]:
    """Where a checkpoint and a view stand in every list of stills."""
    return list(Area).index(Area(checkpoint.area)), checkpoint.position, checkpoint.pk, list(View).index(View(view))


class Picture(KeyedModel):
    """What is kept of a picture: two files under one random name, and the size of the larger one in pixels."""

    name = models.CharField("name of its files", max_length=32, unique=True, default=file_name, editable=False)
    width = models.PositiveIntegerField(editable=False)
    height = models.PositiveIntegerField(editable=False)
    bytes = models.PositiveIntegerField("bytes of both files", editable=False)
    caption = models.CharField(max_length=120, blank=True)

    class Meta:
        abstract = True

    @property
    def path(self) -> str:
        """Where the picture lies in the storage."""
        return f"stills/{self.name}.jpg"

    @property
    def thumbnail_path(self) -> str:
        """Where its thumbnail lies in the storage."""
        return f"stills/{self.name}-small.jpg"

    @property
    def thumbnail_width(self) -> int:
        """Pixels across its thumbnail, about: a page keeps so much room for it."""
        return round(self.width * self.thumbnail_scale)

    @property
    def thumbnail_height(self) -> int:
        """Pixels down its thumbnail, about."""
        return round(self.height * self.thumbnail_scale)

    @property
    def thumbnail_scale(self) -> float:
        """How much smaller its thumbnail is."""
        return min(1.0, SMALL_EDGE / max(self.width, self.height))


class StillQuerySet(models.QuerySet["Still"]):
    """Stills filtered by whether they may be seen."""

    def shown(self) -> "StillQuerySet":
        """Those that nobody has hidden, the newest first."""
        return self.filter(hidden_at=None).select_related("checkpoint", "lesson").order_by("-taken_at", "-pk")

    def taken_away(self) -> "StillQuerySet":
        """Those that a coach took away and that can be put back, the last one first."""
        return self.exclude(hidden_at=None).select_related("checkpoint", "lesson").order_by("-hidden_at", "-pk")


class Still(Picture):
    """A still of one checkpoint, seen from one view, on arrival or on departure. Its key is made where it is taken,
    so that what is sent twice is one row."""

    class Moment(models.TextChoices):
        ARRIVAL = "arrival"
        DEPARTURE = "departure"

    lesson = models.ForeignKey(Lesson, on_delete=models.PROTECT, related_name="stills")
    moment = models.CharField(max_length=9, choices=Moment)
    checkpoint = models.ForeignKey(Checkpoint, on_delete=models.PROTECT, related_name="stills")
    view = models.CharField(max_length=9, choices=View)
    club = models.CharField(max_length=40, blank=True)
    taken_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+", editable=False)
    taken_at = models.DateTimeField(default=timezone.now, editable=False)
    # Hidden since consent was withdrawn, or since a coach took it away; its files go when somebody decides so.
    hidden_at = models.DateTimeField(null=True, blank=True, editable=False)
    history = ReasonedHistory()

    objects = StillQuerySet.as_manager()

    class Meta:
        ordering = ["-taken_at", "-pk"]
        constraints = [
            models.CheckConstraint(name="still_moment_known", condition=Q(moment__in=("arrival", "departure"))),
            models.CheckConstraint(name="still_view_known", condition=is_one_of("view", View)),
        ]

    def __str__(self) -> str:
        return self.words

    def set_hidden(self, at: datetime | None) -> None:
        """Take it away, or with None put it back."""
        self.hidden_at = at
        self.save(update_fields=["hidden_at"])

    @property
    def words(self) -> str:
        """What it shows, for those who cannot see it: "Address, face-on, on arrival"."""
        return self.words_for(plain=False)

    def words_for(self, *, plain: bool) -> str:
        """The same in the trade's words, or in plain ones."""
        shown = f"{seen_words(self.checkpoint, self.view, plain=plain)}, on {self.moment}"
        return f"{shown}: {self.caption}" if self.caption else shown


class ReferenceStill(Picture):
    """The academy's own picture of how a checkpoint should look, taken of a player of one side."""

    checkpoint = models.ForeignKey(Checkpoint, on_delete=models.PROTECT, related_name="references")
    view = models.CharField(max_length=9, choices=View)
    club = models.CharField(max_length=40, blank=True)
    side = models.CharField(max_length=5, choices=Side)
    # No picture of a person without whose consent it is, and the academy's word that it may show them.
    shows_person = models.BooleanField("what it shows", default=False)
    consent_note = models.CharField("whose consent", max_length=200, blank=True)
    may_show = models.BooleanField(default=False)
    archived = models.BooleanField(default=False)
    added_at = models.DateTimeField(default=timezone.now, editable=False)
    history = HistoricalRecords()

    class Meta:
        ordering = ["checkpoint__area", "checkpoint__position", "view", "club", "-pk"]
        constraints = [
            models.CheckConstraint(name="reference_view_known", condition=is_one_of("view", View)),
            models.CheckConstraint(name="reference_side_known", condition=is_one_of("side", Side)),
            models.CheckConstraint(
                name="reference_of_a_person_has_consent",
                condition=Q(shows_person=False) | (Q(may_show=True) & ~Q(consent_note="")),
            ),
        ]

    def __str__(self) -> str:
        seen = filter(None, (seen_words(self.checkpoint, self.view), self.club))
        return f"{', '.join(seen)}: how it should look"
