"""People: those who sign in, those who teach, those who are taught."""

from datetime import date
from typing import ClassVar, Self

from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models
from django.db.models import Prefetch, Q
from django.db.models.functions import Lower
from simple_history.models import HistoricalRecords

from coachbook.accounts.models.base import Area, Keyed, PlayingSides, sides_known


class People(UserManager["User"]):
    """Those who sign in."""

    def for_list(self) -> models.QuerySet["User"]:
        """Everybody by name, with what each is here."""
        return self.select_related("coach", "student").prefetch_related("guardianships__student").order_by("name")


class User(Keyed, AbstractUser):
    """Someone who signs in, by e-mail or user name; what they are follows from the rows tied to them."""

    first_name = None  # type: ignore[assignment]  # people have one name, in the order they say it
    last_name = None  # type: ignore[assignment]  # the same
    name = models.CharField(max_length=120)
    is_manager = models.BooleanField(default=False)
    history = HistoricalRecords(excluded_fields=["password", "last_login"])

    objects: ClassVar[People] = People()

    class Meta:
        constraints = [
            models.UniqueConstraint(Lower("username"), name="one_user_a_username"),
            models.UniqueConstraint(Lower("email"), name="one_user_an_email", condition=~Q(email="")),
        ]

    def __str__(self) -> str:
        return self.name or self.username

    @property
    def is_coach(self) -> bool:
        """Whether this person teaches here."""
        return hasattr(self, "coach")

    @property
    def role(self) -> str:
        """What this person is here, in one or two words."""
        roles = [
            ("manager", self.is_manager),
            ("coach", self.is_coach),
            ("student", hasattr(self, "student")),
        ]
        return ", ".join(word for word, holds in roles if holds) or "guardian"


class CoachQuerySet(models.QuerySet["Coach"]):
    """Those who teach."""

    def teaching(self) -> Self:
        """Those whose accounts are open."""
        return self.filter(user__is_active=True)

    def named(self) -> Self:
        """By name, with their accounts."""
        return self.select_related("user").order_by("user__name", "pk")


class Coach(models.Model):
    """Someone who teaches at the academy."""

    user = models.OneToOneField(User, on_delete=models.PROTECT, related_name="coach")

    objects = CoachQuerySet.as_manager()

    def __str__(self) -> str:
        return self.user.name


class StudentQuerySet(models.QuerySet["Student"]):
    """Students by how they belong to a person."""

    def present(self) -> Self:
        """Without those whose page was merged into another one's."""
        return self.filter(merged_into=None)

    def named(self, words: str) -> Self:
        """The students whose name holds every one of the words."""
        return self.filter(*(Q(name__icontains=word) for word in words.replace("\0", " ").split()))

    def for_list(self, on: date) -> Self:
        """With their accounts and the coaches who care for them on a day."""
        from coachbook.accounts.models.relationships import Care, Pause

        cares = Care.objects.in_force(on).select_related("coach__user")
        pauses = Prefetch("pauses", Pause.objects.in_force(on), to_attr="pauses_now")
        return self.select_related("user").prefetch_related(Prefetch("cares", cares), pauses)


class Student(Keyed, PlayingSides):
    """Someone who is taught, with or without an account."""

    class Status(models.TextChoices):
        ACTIVE = "active"
        LEFT = "left", "has left"

    user = models.OneToOneField(User, on_delete=models.PROTECT, null=True, blank=True, related_name="student")
    name = models.CharField(max_length=120)
    birth_year = models.PositiveSmallIntegerField("year of birth", null=True, blank=True)
    status = models.CharField(max_length=6, choices=Status, default=Status.ACTIVE)
    # What is asked once, and may all stay empty.
    putting_grip = models.CharField("usual grip when putting", max_length=80, blank=True)
    chipping_grip = models.CharField("usual grip when chipping", max_length=80, blank=True)
    pitching_grip = models.CharField("usual grip when pitching", max_length=80, blank=True)
    bunker_grip = models.CharField("usual grip in bunkers", max_length=80, blank=True)
    putter_length = models.DecimalField("putter length, inches", max_digits=4, decimal_places=2, null=True, blank=True)
    putter_loft = models.DecimalField("putter loft, degrees", max_digits=3, decimal_places=1, null=True, blank=True)
    putter_lie = models.DecimalField("putter lie, degrees", max_digits=3, decimal_places=1, null=True, blank=True)
    equipment = models.CharField("anything else about their clubs", max_length=120, blank=True)
    practice_place = models.CharField("where they can practise", max_length=200, blank=True)
    practice_minutes = models.PositiveSmallIntegerField("minutes a day they can practise", null=True, blank=True)
    practice_days = models.PositiveSmallIntegerField("days a week they can practise", null=True, blank=True)
    limits = models.CharField("pain or limits they told of", max_length=200, blank=True)
    # Written down from a name and a playing side in the middle of a day; false once somebody completed it.
    walked_in = models.BooleanField("written down as a walk-in", default=False, editable=False)
    merged_into = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, editable=False, related_name="merged"
    )
    history = HistoricalRecords()

    objects = StudentQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(
                name="student_sides_known",
                condition=sides_known(),
            ),
            models.CheckConstraint(name="student_has_a_name", condition=~Q(name="")),
            models.CheckConstraint(name="not_merged_into_itself", condition=~Q(merged_into=models.F("id"))),
        ]

    def __str__(self) -> str:
        return self.name

    def is_junior(self, on: date, adult_at: int = 18) -> bool:
        """Whether somebody else decides for them: until the year in which they come of age is over."""
        return self.birth_year is not None and on.year - self.birth_year <= adult_at

    def is_child(self, on: date, until: int) -> bool:
        """Whether they get a child's sheet and words: until the year in which they reach this age is over."""
        return self.is_junior(on, until)

    @property
    def grips(self) -> list[tuple[Area, str]]:
        """The usual grip of every area in which one is written down."""
        return [(area, grip) for area in Area if (grip := getattr(self, f"{area.value}_grip"))]
